//! `guywire compare`: what changed on the air between two git revisions, or one and the working tree.

use guywire_report::{Changes, StateName};
use guywire_workspace::{Repository, Revision, Workspace};

use crate::arguments::Compare;
use crate::chosen::Chosen;
use crate::console;
use crate::failure::Failure;
use crate::plans::Plans;
use crate::revisions::{repository, workspace_at};

/// Prints what changed. Differences are no failure: the code is 0.
pub(crate) fn compare(arguments: &Compare) -> Result<u8, Failure> {
    let chosen = Chosen::find(std::slice::from_ref(&arguments.path))?;
    let repository = repository(&chosen)?;
    let before_revision = repository.revision(&arguments.before)?;
    let after_revision = arguments.after.as_deref().map(|name| repository.revision(name)).transpose()?;
    let state = |revision: Option<&Revision>| -> Result<Workspace, Failure> {
        let mut workspace = match revision {
            Some(revision) => workspace_at(&chosen, &repository, revision)?,
            None => Plans::of(&chosen)?.workspace,
        };
        workspace.settle_values();
        Ok(workspace)
    };
    let (before, after) = rayon::join(|| state(Some(&before_revision)), || state(after_revision.as_ref()));
    let (before, after) = (before?, after?);
    let after_name = after_revision.as_ref().map_or_else(StateName::working_tree, StateName::of);
    let renamed = repository.renamed(&before_revision, after_revision.as_ref(), &chosen.roots())?;
    let comparison = after.compared_with(&before, &renamed);
    let folder = folder(arguments, &repository, &after);
    let states = ((&before, StateName::of(&before_revision)), (&after, after_name));
    let changes = Changes::of(&comparison, states.0, states.1, &folder);
    console::print(|out| arguments.format.reporter().write(&changes, out))?;
    Ok(0)
}

/// The folder that paths are shown from: for people at a terminal the one that they are in, for others the repository's.
fn folder(arguments: &Compare, repository: &Repository, after: &Workspace) -> std::path::PathBuf {
    match arguments.format {
        crate::arguments::CompareFormat::Text => std::env::current_dir().unwrap_or_default(),
        _ if after.roots().is_empty() => std::path::PathBuf::new(),
        _ => repository.top().to_path_buf(),
    }
}
