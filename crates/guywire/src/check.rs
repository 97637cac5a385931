//! `guywire check`: what is wrong with the plans at some paths.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_report::{Report, name_from};
use guywire_text::FileId;
use guywire_workspace::{Address, Budget, Workspace};

use crate::arguments::Check;
use crate::chosen::{Chosen, Target};
use crate::console;
use crate::failure::Failure;
use crate::run::today;

/// Prints the findings of the files at the paths. The code is 1 where one is at the level asked for.
pub(crate) fn check(arguments: &Check) -> Result<u8, Failure> {
    let targets = arguments.paths.iter().map(|path| Target::find(path)).collect::<Result<Vec<_>, _>>()?;
    let chosen = Chosen::new(targets);
    let mut workspace = Workspace::load(Arc::new(chosen.clone()), &chosen.roots(), today());
    if let Some(day) = arguments.as_of {
        workspace.judge_by(day);
    }
    let files = files(&workspace, &chosen)?;
    tracing::info!(files = files.len(), "the plans are read");
    workspace.settle(Budget::All, &AtomicBool::new(false));

    let here = std::env::current_dir().unwrap_or_default();
    let report = Report::of(&workspace, &files, &|file| name_from(&workspace, file, Path::new(&here)));
    console::print(|out| arguments.format.reporter().write(&report, out))?;
    Ok(u8::from(report.reaches(arguments.fail_on.level())))
}

/// The files of the workspace that are at the paths.
fn files(workspace: &Workspace, chosen: &Chosen) -> Result<Vec<FileId>, Failure> {
    let known = workspace.files();
    for target in chosen.targets().iter().filter(|target| target.is_file) {
        let file = workspace.file(&Address::Disk(target.path.clone()));
        if !file.is_some_and(|file| known.contains(&file)) {
            let of_the_language = Workspace::knows(&target.path) || Workspace::knows(&target.given);
            let given = target.given.clone();
            return Err(if of_the_language { Failure::LeftOut(given) } else { Failure::NotOfTheLanguage(given) });
        }
    }
    let linked = chosen.listed().filter_map(|path| workspace.file(&Address::Disk(path))).collect::<Vec<_>>();
    let at_a_path = |file: &FileId| match workspace.address(*file) {
        Some(Address::Disk(path)) => {
            linked.contains(file) || chosen.targets().iter().any(|target| target.covers(&path))
        }
        _ => false,
    };
    let files: Vec<FileId> = known.into_iter().filter(at_a_path).collect();
    if files.is_empty() {
        return Err(Failure::NothingToCheck(chosen.targets().iter().map(|target| target.given.clone()).collect()));
    }
    Ok(files)
}
