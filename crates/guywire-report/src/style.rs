//! Colors, by what they say. Taken out again where the output is no terminal.

use anstyle::{AnsiColor, Style};
use guywire_rules::Level;

pub(crate) const STRONG: Style = Style::new().bold();
pub(crate) const FAINT: Style = Style::new().dimmed();
pub(crate) const REMOVED: Style = AnsiColor::Red.on_default();
pub(crate) const HELP: Style = AnsiColor::Green.on_default();

/// The color of a level.
pub(crate) const fn of_level(level: Level) -> Style {
    match level {
        Level::Error => AnsiColor::Red.on_default().bold(),
        Level::Warning => AnsiColor::Yellow.on_default().bold(),
        Level::Information => AnsiColor::Blue.on_default().bold(),
        Level::Hint | Level::Off => AnsiColor::Cyan.on_default().bold(),
    }
}

/// The text in a style.
pub(crate) fn styled(style: Style, text: &str) -> String {
    format!("{style}{text}{style:#}")
}
