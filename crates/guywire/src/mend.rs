//! `guywire mend`: safe fixes, in the files or as a preview.

use std::collections::BTreeMap;
use std::io::{self, Write};

use guywire_report::{Lines, name_from, visible, write_diff};
use guywire_rules::Safety;
use guywire_workspace::{Address, Change, MendedFile, Workspace};

use crate::arguments::Mend;
use crate::console;
use crate::failure::Failure;
use crate::plans::Plans;
use crate::why::rule_named;
use crate::write::replace;

/// The exit code where a file could not be written.
const NOT_WRITTEN: u8 = 2;

/// Applies the safe fixes of the files at the paths, or shows what they would change. The code is 2 where a file that
/// should have been written was not.
pub(crate) fn mend(arguments: &Mend) -> Result<u8, Failure> {
    let rule = arguments.rule.as_deref().map(rule_named).transpose()?;
    let Plans { mut workspace, files } = Plans::load(&arguments.paths)?;
    let mending = workspace.mend(&files, rule.map(|about| about.name));

    let here = std::env::current_dir().unwrap_or_default();
    let names: Vec<String> = mending.files.iter().map(|mended| name_from(&workspace, mended.file, &here)).collect();
    let mut told = String::new();
    let mut code = 0;
    if arguments.preview {
        console::print(|out| preview(&mut workspace, &mending.files, &names, out))?;
    }
    let mut done: Vec<&MendedFile> = Vec::new();
    for (mended, name) in mending.files.iter().zip(&names) {
        if !arguments.preview
            && let Err(kept) = write(&workspace, mended)
        {
            console::complain(&format!("{name} is not written: {kept}"));
            code = NOT_WRITTEN;
            continue;
        }
        done.push(mended);
        told += &format!("{}: {}\n", visible(name), counted(&mended.rules));
    }
    told += &closing(&done, files.len(), arguments.preview);
    if !mending.circle.is_empty() {
        told += &format!(
            "The fixes of these rules undo each other and were left out: {}. Mend one of the places by hand.\n",
            mending.circle.join(", ")
        );
    }
    if let Some(about) = rule.filter(|about| about.fix != Some(Safety::Safe)) {
        told += &format!("{} has no safe fix: a person decides. See guywire why {}.\n", about.name, about.name);
    }
    console::print(|out| out.write_all(told.as_bytes()))?;
    Ok(code)
}

fn write(workspace: &Workspace, mended: &MendedFile) -> Result<(), crate::write::Kept> {
    match workspace.address(mended.file) {
        Some(Address::Disk(path)) => replace(&path, &mended.before, &mended.after, workspace.roots()),
        _ => Err(crate::write::Kept::Outside),
    }
}

/// The rules with how often a fix of each was taken.
fn counted(rules: &[&'static str]) -> String {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    rules.iter().for_each(|rule| *counts.entry(rule).or_default() += 1);
    let counts =
        counts.into_iter().map(|(rule, count)| if count == 1 { rule.to_owned() } else { format!("{rule} ({count})") });
    counts.collect::<Vec<_>>().join(", ")
}

fn closing(done: &[&MendedFile], looked_at: usize, preview: bool) -> String {
    let fixes: usize = done.iter().map(|mended| mended.rules.len()).sum();
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
fn preview(workspace: &mut Workspace, files: &[MendedFile], names: &[String], out: &mut dyn Write) -> io::Result<()> {
    for (mended, name) in files.iter().zip(names) {
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
