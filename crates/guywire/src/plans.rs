//! The plans that a command is about, read.

use std::path::PathBuf;
use std::sync::Arc;

use guywire_text::FileId;
use guywire_workspace::{Address, Workspace};

use crate::chosen::Chosen;
use crate::failure::Failure;
use crate::run::today;

/// The workspaces of some paths, and the files at them.
pub(crate) struct Plans {
    /// Everything that the files depend on, nothing settled.
    pub workspace: Workspace,
    /// The files at the paths, in path order; at least one.
    pub files: Vec<FileId>,
}

impl Plans {
    /// Reads the workspaces that the paths stand in.
    pub(crate) fn load(paths: &[PathBuf]) -> Result<Plans, Failure> {
        Plans::of(&Chosen::find(paths)?)
    }

    /// Reads the workspaces of what was chosen.
    pub(crate) fn of(chosen: &Chosen) -> Result<Plans, Failure> {
        let workspace = Workspace::load(Arc::new(chosen.clone()), &chosen.roots(), today());
        let files = files(&workspace, chosen)?;
        tracing::info!(files = files.len(), "the plans are read");
        Ok(Plans { workspace, files })
    }
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
