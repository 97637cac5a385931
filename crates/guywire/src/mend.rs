//! `guywire mend`: safe fixes, in the files or as a preview.

use std::collections::BTreeMap;
use std::io::{self, Write};

use guywire_report::{Lines, name_from, visible, write_diff};
use guywire_rules::{About, Safety};
use guywire_workspace::{Address, Change, MendedFile, Workspace};

use crate::arguments::Mend;
use crate::console;
use crate::failure::Failure;
use crate::plans::Plans;
use crate::why::rule_named;
use crate::write::{Kept, replace};

/// The exit code where a file could not be written.
const NOT_WRITTEN: u8 = 2;

/// Applies the safe fixes of the files at the paths, or shows what they would change. The code is 2 where a file that
/// should have been written was not.
pub(crate) fn mend(arguments: &Mend) -> Result<u8, Failure> {
    let rule = arguments.rule.as_deref().map(rule_named).transpose()?;
    let Plans { mut workspace, files } = Plans::load(&arguments.paths)?;
    let mending = workspace.mend(&files, rule.map(|about| about.name));

    let here = std::env::current_dir().unwrap_or_default();
    let name = |workspace: &Workspace, file| name_from(workspace, file, &here);
    let named: Vec<(String, &MendedFile)> =
        mending.files.iter().map(|mended| (name(&workspace, mended.file), mended)).collect();

    let mut done = named.clone();
    if arguments.preview {
        console::print(|out| preview(&mut workspace, &named, out))?;
    } else {
        done.retain(|(name, mended)| is_written(&workspace, name, mended));
    }
    let told = done.iter().map(|(name, mended)| format!("{}: {}\n", visible(name), counted(&mended.rules)));
    let told =
        told.collect::<String>() + &closing(&done, files.len(), arguments.preview) + &left_over(&mending.circle, rule);
    console::print(|out| out.write_all(told.as_bytes()))?;
    Ok(if done.len() < named.len() { NOT_WRITTEN } else { 0 })
}

/// Writes a file; says so where it is left as it is.
fn is_written(workspace: &Workspace, name: &str, mended: &MendedFile) -> bool {
    let written = match workspace.address(mended.file) {
        Some(Address::Disk(path)) => replace(&path, &mended.before, &mended.after, workspace.roots()),
        _ => Err(Kept::Outside),
    };
    written.map_err(|kept| console::complain(&format!("{name} is not written: {kept}"))).is_ok()
}

/// What is not mended, and why.
fn left_over(circle: &[&str], rule: Option<&About>) -> String {
    let mut told = String::new();
    if !circle.is_empty() {
        told +=
            &format!("These rules undo each other's fixes: {}. Mend one of the places by hand.\n", circle.join(", "));
    }
    if let Some(about) = rule.filter(|about| about.fix != Some(Safety::Safe)) {
        told += &format!("{} has no safe fix: a person decides. See guywire why {}.\n", about.name, about.name);
    }
    told
}

/// The rules with how often a fix of each was taken.
fn counted(rules: &[&'static str]) -> String {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    rules.iter().for_each(|rule| *counts.entry(rule).or_default() += 1);
    let counts =
        counts.into_iter().map(|(rule, count)| if count == 1 { rule.to_owned() } else { format!("{rule} ({count})") });
    counts.collect::<Vec<_>>().join(", ")
}

fn closing(done: &[(String, &MendedFile)], looked_at: usize, preview: bool) -> String {
    let fixes: usize = done.iter().map(|(_, mended)| mended.rules.len()).sum();
    if done.is_empty() {
        return format!("Nothing is mended in {}.\n", number(looked_at, "file"));
    }
    let verb = if preview { "Would apply" } else { "Applied" };
    let (files, fixes) =
        (number(done.len(), "file"), if fixes == 1 { "1 fix".to_owned() } else { format!("{fixes} fixes") });
    format!("{verb} {fixes} in {files}.\n")
}

fn number(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

/// What the files would be changed by. The workspace gets the texts that the files have.
fn preview(workspace: &mut Workspace, files: &[(String, &MendedFile)], out: &mut dyn Write) -> io::Result<()> {
    for (name, mended) in files {
        let new = Lines::of(workspace, mended.file);
        put_back(workspace, mended);
        let old = Lines::of(workspace, mended.file);
        write_diff(name, &old, &new, out)?;
    }
    Ok(())
}

/// What is secret of a text is known of the text that the workspace has.
fn put_back(workspace: &mut Workspace, mended: &MendedFile) {
    if let Some(address) = workspace.address(mended.file) {
        workspace.apply(Change::Open { address, version: 0, text: mended.before.clone() });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_that_undo_each_other_are_named() {
        let told = left_over(&["unknown-key", "wrong-type"], None);
        assert_eq!(
            told,
            "These rules undo each other's fixes: unknown-key, wrong-type. Mend one of the places by hand.\n"
        );
        assert_eq!(left_over(&[], None), "");
    }

    #[test]
    fn fixes_are_counted_by_rule() {
        assert_eq!(counted(&["wrong-type", "unknown-key", "wrong-type"]), "unknown-key, wrong-type (2)");
    }
}
