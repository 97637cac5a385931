//! What may stand on the command line.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use guywire_report::{Reporter, Text};
use guywire_rules::Level;
use jiff::civil::Date;

/// Checks radio channel plans.
///
/// Exit codes: 0 nothing found at the level asked for, 1 something found, 2 could not run.
#[derive(Debug, Parser)]
#[command(name = "guywire", version, arg_required_else_help = false)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub verb: Verb,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Verb {
    /// Say what is wrong with the plans at PATH.
    Check(Check),
    /// Explain a rule, or list all rules.
    Why(Why),
    /// Serve an editor over the Language Server Protocol on standard input and output.
    Serve(Serve),
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// Folders or files; the findings of other files of their workspaces are not shown.
    #[arg(value_name = "PATH", default_value = ".")]
    pub paths: Vec<PathBuf>,
    /// The date that dated rules judge by, as 2026-11-25; today if absent.
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub as_of: Option<Date>,
    /// Exit with 1 from this level on.
    #[arg(long, value_name = "LEVEL", value_enum, default_value_t = Severity::Error)]
    pub fail_on: Severity,
    /// How the findings are written.
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct Why {
    /// The name of a rule; without it, all rules are listed.
    pub rule: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Serve {
    /// Taken and ignored: some editors add it, and standard input and output are all there is.
    #[arg(long)]
    stdio: bool,
}

/// A level that `check` may fail on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Severity {
    Error,
    Warning,
    Information,
}

impl Severity {
    pub(crate) fn level(self) -> Level {
        match self {
            Severity::Error => Level::Error,
            Severity::Warning => Level::Warning,
            Severity::Information => Level::Information,
        }
    }
}

/// An output format: one line here, and a reporter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people, with excerpts.
    Text,
}

impl Format {
    pub(crate) fn reporter(self) -> &'static dyn Reporter {
        match self {
            Format::Text => &Text,
        }
    }
}

fn date(text: &str) -> Result<Date, &'static str> {
    let written_out = text.len() == "2026-11-25".len();
    text.parse().ok().filter(|_| written_out).ok_or("a date is written as 2026-11-25")
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;
    use jiff::civil::date as day;

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn dates_are_whole_and_real() {
        assert_eq!(date("2026-11-25"), Ok(day(2026, 11, 25)));
        for wrong in ["2026-02-30", "2026-11", "25.11.2026", "2026-11-25T10:00", "20261125", ""] {
            assert!(date(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn check_takes_paths_and_options_in_any_order() {
        let parsed = Arguments::try_parse_from(["guywire", "check", "a", "--fail-on", "warning", "b"]).unwrap();
        let Verb::Check(check) = parsed.verb else { panic!("{parsed:?}") };
        assert_eq!(check.paths, [PathBuf::from("a"), PathBuf::from("b")]);
        assert_eq!((check.fail_on, check.as_of), (Severity::Warning, None));
    }
}
