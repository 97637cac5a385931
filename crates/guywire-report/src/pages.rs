//! The pages of the rules, at a terminal and as Markdown.

use std::collections::BTreeMap;
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
    settings(about).iter().try_for_each(|line| writeln!(out, "{line}"))
}

/// What can be set of a rule, a sentence a line; options stand apart.
fn settings(about: &About) -> Vec<String> {
    let mut lines = Vec::new();
    if about.always {
        lines.push(
            "This rule is always shown: its level can be raised, not lowered, and it cannot be waived.".to_owned(),
        );
    } else {
        let levels = "\"off\", \"hint\", \"information\", \"warning\" or \"error\"";
        lines.push(format!("`{} = \"{}\"` in [rules] is the default; {levels}.", about.name, about.level.word()));
    }
    for option in about.options {
        lines.push(format!("  {} = {}: {}", option.name, option.default, option.doc.trim()));
    }
    let fix = match about.fix {
        None => "It has no fix: a person decides.",
        Some(Safety::Safe) => "It has a safe fix: nothing changes on the air.",
        Some(Safety::Choice) => "It has a fix to choose: it may change what goes on the air.",
    };
    lines.push(fix.to_owned());
    lines
}

/// The page of a rule as Markdown.
pub fn markdown_page(about: &'static About) -> String {
    let (name, level, family) = (about.name, about.level.word(), about.family.word());
    let page = Page::of(about).markdown;
    let mut out =
        format!("# {name}\n\n{level}, {family}, since {}\n\n{}\n\n## In guywire.toml\n", about.since, page.trim());
    for line in settings(about) {
        match line.strip_prefix("  ") {
            Some(option) => out.push_str(&format!("\n- {option}")),
            None => out.push_str(&format!("\n\n{line}")),
        }
    }
    out.push('\n');
    out
}

/// The names of all rules by family, with level and summary, as Markdown.
pub fn markdown_catalog() -> String {
    let mut out = "# Rules\n".to_owned();
    for (family, rules) in by_family() {
        out.push_str(&format!("\n## {}\n\n", family.word()));
        for about in rules {
            out.push_str(&format!("- `{}` ({}): {}\n", about.name, about.level.word(), Page::of(about).summary));
        }
    }
    out
}

/// All rules by family, in order of name.
fn by_family() -> BTreeMap<Family, Vec<&'static About>> {
    let mut families: BTreeMap<Family, Vec<&'static About>> = BTreeMap::new();
    for rule in CATALOG {
        families.entry(rule.about().family).or_default().push(rule.about());
    }
    families.values_mut().for_each(|rules| rules.sort_unstable_by_key(|about| about.name));
    families
}

/// Writes the names of all rules by family, with level and summary.
///
/// # Errors
/// What the output said.
pub fn write_catalog(out: &mut dyn Write) -> io::Result<()> {
    for (family, rules) in by_family() {
        writeln!(out, "{}", styled(STRONG, family.word()))?;
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
    use super::*;

    #[test]
    fn markdown_holds_what_the_terminal_shows() {
        for rule in CATALOG {
            let about = rule.about();
            let markdown = markdown_page(about);
            assert!(markdown.starts_with(&format!("# {}\n\n", about.name)), "{markdown}");
            assert!(markdown.contains(Page::of(about).markdown.trim()), "{}", about.name);
            settings(about).iter().for_each(|line| assert!(markdown.contains(line.trim()), "{}: {line}", about.name));
        }
    }

    #[test]
    fn the_catalog_names_each_rule_once() {
        let markdown = markdown_catalog();
        for rule in CATALOG {
            assert_eq!(markdown.matches(&format!("\n- `{}` (", rule.about().name)).count(), 1, "{}", rule.about().name);
        }
    }

    #[test]
    fn lines_are_cut_between_words() {
        assert_eq!(folded("a zone has more positions", 10), ["a zone has", "more", "positions"]);
        assert_eq!(folded("", 10), Vec::<String>::new());
    }
}
