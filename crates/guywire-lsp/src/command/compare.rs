//! `guywire.compare`: what changed on the air between two git revisions, or one and the texts as they are in the editor.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use guywire_report::{Changes, ChangesReporter, CompareMarkdown, StateName};
use guywire_workspace::{Address, Change, DiskSource, GitError, Repository, Revision, Workspace};
use jiff::civil::Date;
use serde_json::{Map, Value};
use tower_lsp::jsonrpc::{Error, Result};

use super::{Page, address_of, failed};
use crate::address::address;
use crate::door::Scene;
use crate::job::{Canceled, Job, Steps};

/// What makes a folder the root of a workspace.
const SETTINGS: &str = "guywire.toml";
const SHAPE: &str = "[address, revision] or [address, revision, revision]";

/// Why there is no comparison.
#[derive(Debug, thiserror::Error)]
enum CompareError {
    #[error("only files on disk have revisions: save this one, and commit it")]
    NoFile,
    #[error(transparent)]
    Git(#[from] GitError),
    #[error("the folder of the plans cannot be read: {0}")]
    Folder(#[from] std::io::Error),
    #[error("canceled")]
    Canceled(#[from] Canceled),
}

impl From<CompareError> for Error {
    fn from(error: CompareError) -> Self {
        match error {
            CompareError::Canceled(_) => Error::request_cancelled(),
            other => failed(other.to_string()),
        }
    }
}

/// All that the comparison is made of, taken at its place in the order.
struct Comparison {
    plan: PathBuf,
    before: String,
    after: Option<String>,
    /// Folders that the client has open.
    roots: Vec<PathBuf>,
    /// Texts that the client has open, which win over the disk.
    open: Vec<(PathBuf, i32, String)>,
    today: Date,
}

/// Takes note of the texts; git is asked, and plans are read, by the job.
pub(super) fn compare(scene: &Scene<'_>, arguments: &[Value]) -> Result<Job> {
    let url = address_of(arguments, SHAPE)?;
    let Address::Disk(plan) = address(&url) else { return Err(CompareError::NoFile.into()) };
    let revision = |at: usize| match arguments.get(at) {
        Some(Value::String(name)) => Ok(Some(name.clone())),
        None | Some(Value::Null | Value::Object(_)) => Ok(None),
        Some(_) => Err(wrong()),
    };
    let before = revision(1)?.ok_or_else(wrong)?;
    let open = scene.books.iter().filter(|(_, open)| !open.lost).filter_map(|(url, open)| {
        let Address::Disk(path) = address(url) else { return None };
        Some((path, open.version, scene.engine.document(open.file)?.whole_text()))
    });
    let comparison = Comparison {
        plan,
        before,
        after: revision(2)?,
        roots: scene.engine.roots(),
        open: open.collect(),
        today: scene.today,
    };
    Ok(Job { title: "Comparing plans", run: Box::new(move |steps| Ok(comparison.page(steps)?)) })
}

fn wrong() -> Error {
    failed(format!("the arguments are {SHAPE}; a revision is a commit, a branch, a tag, `HEAD~3`"))
}

impl Comparison {
    fn page(&self, steps: &Steps) -> std::result::Result<Page, CompareError> {
        steps.begin(0, "asking git")?;
        let root = self.root()?;
        let roots = [root.clone()];
        let repository = Repository::around(&root)?;
        let revision = |name: &String| repository.revision(name);
        let (was, is) = (revision(&self.before)?, self.after.as_ref().map(revision).transpose()?);
        steps.begin(10, &format!("reading the plans at {}", was.name))?;
        let mut before = self.at(&repository, &was, &root)?;
        let (mut after, name) = match &is {
            Some(revision) => {
                steps.begin(40, &format!("reading the plans at {}", revision.name))?;
                (self.at(&repository, revision, &root)?, StateName::of(revision))
            }
            None => {
                steps.begin(40, "reading the plans as they are")?;
                (self.now(&root), StateName::working_tree())
            }
        };
        let renamed = repository.renamed(&was, is.as_ref(), &roots)?;
        steps.begin(70, "computing")?;
        before.settle_values();
        steps.begin(80, "computing")?;
        after.settle_values();
        steps.begin(90, "comparing")?;
        let comparison = after.compared_with(&before, &renamed);
        let changes = Changes::of(&comparison, (&before, StateName::of(&was)), (&after, name), repository.top());
        steps.begin(100, "writing")?;
        let mut page = Vec::new();
        CompareMarkdown.write(&changes, &mut page)?;
        let markdown = String::from_utf8_lossy(&page).into_owned();
        Ok(Page { name: "guywire-compare".to_owned(), markdown, more: Map::new() })
    }

    /// The nearest folder upward with settings, else the folder that the client has open, else that of the plan; links
    /// followed, as git names it.
    fn root(&self) -> std::result::Result<PathBuf, CompareError> {
        let folder = self.plan.parent().unwrap_or(&self.plan);
        let with_settings = folder.ancestors().find(|folder| folder.join(SETTINGS).is_file());
        let open = || self.roots.iter().map(PathBuf::as_path).filter(|root| folder.starts_with(root));
        let root = with_settings.or_else(|| open().max_by_key(|root| root.components().count())).unwrap_or(folder);
        Ok(std::fs::canonicalize(root)?)
    }

    fn at(
        &self,
        repository: &Repository,
        revision: &Revision,
        root: &Path,
    ) -> std::result::Result<Workspace, CompareError> {
        let roots = [root.to_path_buf()];
        let tree = Arc::new(repository.tree(revision, &roots)?);
        let workspace = Workspace::load(tree.clone(), &roots, self.today);
        // A file that could not be had would look as if it were new.
        tree.is_whole()?;
        Ok(workspace)
    }

    /// The plans on disk, with the texts of the editor.
    fn now(&self, root: &Path) -> Workspace {
        let mut workspace = Workspace::load(Arc::new(DiskSource), &[root.to_path_buf()], self.today);
        for (path, version, text) in &self.open {
            let address = Address::Disk(path.clone());
            let is_there = workspace.file(&address).is_some();
            let is_below =
                || path.parent().and_then(|at| at.canonicalize().ok()).is_some_and(|at| at.starts_with(root));
            if is_there || is_below() {
                workspace.apply(Change::Open { address, version: *version, text: text.clone() });
            }
        }
        workspace
    }
}
