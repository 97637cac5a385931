//! The chosen plans as they were at a revision.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_workspace::{Budget, GitTree, Repository, Revision, Since, Workspace};
use jiff::civil::Date;

use crate::chosen::Chosen;
use crate::failure::Failure;
use crate::run::today;

/// The one repository that holds all that was chosen.
pub(crate) fn repository(chosen: &Chosen) -> Result<Repository, Failure> {
    let mut found: Option<Repository> = None;
    for root in chosen.roots() {
        let repository = Repository::around(&root)?;
        if found.as_ref().is_some_and(|found| found.top() != repository.top()) {
            return Err(Failure::SeveralRepositories);
        }
        found = Some(repository);
    }
    found.ok_or(Failure::SeveralRepositories)
}

/// What was chosen, as it was at a revision; nothing settled.
pub(crate) fn workspace_at(
    chosen: &Chosen,
    repository: &Repository,
    revision: &Revision,
) -> Result<Workspace, Failure> {
    let tree: Arc<GitTree> = Arc::new(repository.tree(revision, &chosen.roots())?);
    let workspace = Workspace::load(Arc::new(chosen.at(tree.clone())), &chosen.roots(), today());
    // A file that could not be had would make everything in it new.
    tree.is_whole()?;
    Ok(workspace)
}

/// Shows of a settled workspace only what a revision did not have.
pub(crate) fn show_since(
    workspace: &mut Workspace,
    chosen: &Chosen,
    name: &str,
    as_of: Option<Date>,
) -> Result<(Revision, Since), Failure> {
    let repository = repository(chosen)?;
    let revision = repository.revision(name)?;
    let mut past = workspace_at(chosen, &repository, &revision)?;
    if let Some(day) = as_of {
        past.judge_by(day);
    }
    past.settle(Budget::Once, &AtomicBool::new(false));
    let renamed = repository.renamed(&revision, None, &chosen.roots())?;
    let since = workspace.show_since(&past, &renamed);
    Ok((revision, since))
}
