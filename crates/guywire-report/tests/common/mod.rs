//! Workspaces held in memory, and what the text format says of them.

#![allow(dead_code, clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_report::{Report, Reporter, Text, name_from};
use guywire_workspace::{Budget, MemorySource, Workspace};
use jiff::civil::date;

/// A settled workspace of files below one folder.
pub fn workspace<B: Into<Vec<u8>>>(files: impl IntoIterator<Item = (&'static str, B)>) -> Workspace {
    let source = MemorySource::new(files.into_iter().map(|(name, text)| (Path::new("/harbor").join(name), text)));
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    assert!(workspace.settle(Budget::All, &AtomicBool::new(false)).settled);
    workspace
}

/// Everything found in it.
pub fn report(workspace: &Workspace) -> Report {
    Report::of(workspace, &workspace.files(), &|file| name_from(workspace, file, Path::new("/harbor")))
}

/// The report as a terminal without colors shows it.
pub fn plain(report: &Report) -> String {
    let mut out = anstream::StripStream::new(Vec::new());
    Text.write(report, &mut out).unwrap();
    String::from_utf8(out.into_inner()).unwrap()
}

/// The report as a terminal with colors gets it.
pub fn colored(report: &Report) -> String {
    written(&Text, report)
}

/// The report in a format, as it is written.
pub fn written(reporter: &dyn Reporter, report: &Report) -> String {
    let mut out = Vec::new();
    reporter.write(report, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}
