//! The pages of the rules at a terminal.

use std::io::{self, Write};

use guywire_rules::{About, CATALOG, Family, Page, Safety};

use crate::style::{FAINT, STRONG, of_level, styled};

/// Columns that the summaries of the catalog are folded to.
const WIDTH: usize = 100;

/// Writes the page of a rule.
///
/// # Errors
/// What the output said.
pub fn write_page(about: &'static About, out: &mut dyn Write) -> io::Result<()> {
    let level = styled(of_level(about.level), about.level.word());
    writeln!(out, "{} ({level}, {}, since {})\n", styled(STRONG, about.name), about.family.word(), about.since)?;
    let mut code = false;
    for line in Page::of(about).markdown.trim().lines() {
        match (line.strip_prefix("```"), line.strip_prefix("## ")) {
            (Some(info), _) => {
                code = !code;
                if let Some(file) = info.split_whitespace().nth(1).filter(|_| code) {
                    writeln!(out, "  {}", styled(FAINT, &format!("# in {file}")))?;
                }
            }
            (None, Some(heading)) if !code => writeln!(out, "{}", styled(STRONG, heading))?,
            _ if code && !line.is_empty() => writeln!(out, "  {line}")?,
            _ => writeln!(out, "{line}")?,
        }
    }
    write_settings(about, out)
}

fn write_settings(about: &About, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "\n{}", styled(STRONG, "In guywire.toml"))?;
    if about.always {
        writeln!(out, "This rule is always shown: its level can be raised, not lowered, and it cannot be waived.")?;
    } else {
        let levels = "\"off\", \"hint\", \"information\", \"warning\" or \"error\"";
        writeln!(out, "`{} = \"{}\"` in [rules] is the default; {levels}.", about.name, about.level.word())?;
    }
    for option in about.options {
        writeln!(out, "  {} = {}: {}", option.name, option.default, option.doc.trim())?;
    }
    match about.fix {
        None => writeln!(out, "It has no fix: a person decides."),
        Some(Safety::Safe) => writeln!(out, "It has a safe fix: nothing changes on the air."),
        Some(Safety::Choice) => writeln!(out, "It has a fix to choose: it may change what goes on the air."),
    }
}

/// Writes the names of all rules by family, with level and summary.
///
/// # Errors
/// What the output said.
pub fn write_catalog(out: &mut dyn Write) -> io::Result<()> {
    let mut families: Vec<Family> = CATALOG.iter().map(|rule| rule.about().family).collect();
    families.sort_unstable();
    families.dedup();
    for family in families {
        writeln!(out, "{}", styled(STRONG, family.word()))?;
        let mut rules: Vec<&'static About> =
            CATALOG.iter().map(|rule| rule.about()).filter(|about| about.family == family).collect();
        rules.sort_unstable_by_key(|about| about.name);
        for about in rules {
            let level = styled(of_level(about.level), about.level.word());
            writeln!(out, "  {} ({level})", about.name)?;
            folded(&Page::of(about).summary, WIDTH).iter().try_for_each(|line| writeln!(out, "      {line}"))?;
        }
        writeln!(out)?;
    }
    writeln!(out, "{} rules. The page of one: guywire why NAME", CATALOG.len())
}

/// The text in lines of at most `width` characters, cut between words.
fn folded(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::folded;

    #[test]
    fn lines_are_cut_between_words() {
        assert_eq!(folded("a zone has more positions", 10), ["a zone has", "more", "positions"]);
        assert_eq!(folded("", 10), Vec::<String>::new());
    }
}
