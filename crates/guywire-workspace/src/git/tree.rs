//! The files of a revision, as the disk would show them had it been checked out.

use std::collections::{BTreeMap, VecDeque};
use std::ffi::OsString;
use std::path::{Component, Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use guywire_plan::{kind_of_path, plain_path};

use super::ask::{ask, path_of};
use super::ignored::{self, Ignored};
use super::list::{self, Form, Listed};
use super::objects::Objects;
use super::{GitError, Repository, Revision};
use crate::source::{DiskSource, FileSource, LARGEST_FILE, ReadError, Stamp};

/// Links that are followed one after another.
const MOST_LINKS: usize = 40;

/// A file or link of the tree.
#[derive(Debug)]
struct Blob {
    object: String,
    bytes: Option<u64>,
    is_link: bool,
    /// Which of the repositories has it.
    repository: usize,
}

/// A revision as a place to read from. Paths are those that the working tree has; what lies outside the repository has no
/// revisions and is read as it is now. Links and submodules are followed as on the disk; a submodule that is not checked
/// out is an empty folder.
pub struct GitTree {
    top: PathBuf,
    revision: Revision,
    /// By path from `top`.
    blobs: BTreeMap<PathBuf, Blob>,
    /// That of the revision, then those of its submodules.
    repositories: Vec<Mutex<Objects>>,
    trouble: Mutex<Option<GitError>>,
}

/// Where a path leads, links followed.
enum Leads {
    /// A path from `top`.
    Inside(PathBuf),
    /// An absolute path.
    Outside(PathBuf),
}

impl GitTree {
    pub(super) fn new(top: &Path, revision: &Revision, roots: &[PathBuf]) -> Result<GitTree, GitError> {
        let mut tree = GitTree {
            top: top.to_path_buf(),
            revision: revision.clone(),
            blobs: BTreeMap::new(),
            repositories: Vec::new(),
            trouble: Mutex::new(None),
        };
        tree.take_in(Path::new(""), &revision.object, roots)?;
        Ok(tree)
    }

    /// What went wrong while the tree was read, if anything did: some of its files are then missing.
    ///
    /// # Errors
    /// The first thing that went wrong.
    pub fn is_whole(&self) -> Result<(), GitError> {
        match &*self.trouble.lock().unwrap_or_else(PoisonError::into_inner) {
            Some(error) => Err(error.clone()),
            None => Ok(()),
        }
    }

    /// Lists the tree of a repository that lies at `at` from the top.
    fn take_in(&mut self, at: &Path, object: &str, roots: &[PathBuf]) -> Result<(), GitError> {
        let folder = self.top.join(at);
        let said = ask(&folder, ["ls-tree", "-r", "-z", "-l", "--full-tree", object])?;
        if !said.worked {
            return Err(self.incomplete(at));
        }
        let repository = self.repositories.len();
        self.repositories.push(Mutex::new(Objects::of(&folder)));
        let mut submodules = Vec::new();
        for Listed { path, form, object, bytes } in list::tree(&said.out)? {
            let path = at.join(path);
            match form {
                Form::Submodule => submodules.push((path, object)),
                form => {
                    self.blobs.insert(path, Blob { object, bytes, is_link: form == Form::Link, repository });
                }
            }
        }
        for (path, object) in submodules {
            let folder = self.top.join(&path);
            if roots.iter().any(|root| folder.starts_with(root)) && is_checked_out(&folder) {
                self.take_in(&path, &object, roots)?;
            }
        }
        Ok(())
    }

    fn incomplete(&self, path: &Path) -> GitError {
        let path = if path.as_os_str().is_empty() { PathBuf::from("its tree") } else { path.to_path_buf() };
        GitError::Incomplete { revision: self.revision.name.clone(), path }
    }

    fn content(&self, path: &Path, blob: &Blob) -> Result<Vec<u8>, ReadError> {
        let mut objects = self.repositories[blob.repository].lock().unwrap_or_else(PoisonError::into_inner);
        let found = objects.content(&blob.object).and_then(|found| found.ok_or_else(|| self.incomplete(path)));
        found.map_err(|error| {
            let told = ReadError::System(error.to_string());
            self.trouble.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert(error);
            told
        })
    }

    /// Whether files lie below a path.
    fn is_folder(&self, path: &Path) -> bool {
        if path.as_os_str().is_empty() {
            return true;
        }
        let mut from_there = self.blobs.range::<Path, _>((std::ops::Bound::Excluded(path), std::ops::Bound::Unbounded));
        from_there.next().is_some_and(|(next, _)| next.starts_with(path))
    }

    /// Follows links on the way to a path and at its end.
    fn follow(&self, path: &Path) -> Result<Leads, ReadError> {
        let mut ahead = steps(&plain_path(path));
        let mut at = PathBuf::new();
        let mut links = 0;
        while let Some(step) = ahead.pop_front() {
            match Path::new(&step).components().next() {
                Some(Component::ParentDir) => {
                    at.pop();
                    continue;
                }
                Some(Component::CurDir) | None => continue,
                Some(_) => at.push(&step),
            }
            let Some(blob) = at.strip_prefix(&self.top).ok().and_then(|inside| self.blobs.get(inside)) else {
                continue;
            };
            if !blob.is_link {
                continue;
            }
            links += 1;
            if links > MOST_LINKS {
                return Err(ReadError::System("its links lead in a circle".to_owned()));
            }
            let target = path_of(&self.content(&at, blob)?);
            at.pop();
            if target.is_absolute() {
                at = PathBuf::new();
            }
            steps(&target).into_iter().rev().for_each(|step| ahead.push_front(step));
        }
        Ok(match at.strip_prefix(&self.top) {
            Ok(inside) => Leads::Inside(inside.to_path_buf()),
            Err(_) => Leads::Outside(at),
        })
    }

    /// The patterns that leave files out, of folders above and below a root.
    fn ignored(&self, root: &Path) -> Ignored {
        let mut ignored = Ignored::default();
        for (path, blob) in &self.blobs {
            let is_one = path.file_name().is_some_and(|name| ignored::NAMES.iter().any(|known| name == *known));
            let path = self.top.join(path);
            let folder = path.parent().unwrap_or(&path);
            if is_one
                && !blob.is_link
                && (folder.starts_with(root) || root.starts_with(folder))
                && let Ok(text) = self.content(&path, blob)
            {
                ignored.add(&path, &text);
            }
        }
        ignored
    }
}

fn steps(path: &Path) -> VecDeque<OsString> {
    path.components().map(|step| step.as_os_str().to_owned()).collect()
}

/// Whether a submodule has a repository of its own there.
fn is_checked_out(folder: &Path) -> bool {
    let own = std::fs::canonicalize(folder);
    Repository::around(folder).is_ok_and(|repository| own.is_ok_and(|own| own == repository.top()))
}

impl FileSource for GitTree {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        let inside = match self.follow(path)? {
            Leads::Inside(inside) => inside,
            Leads::Outside(path) => return DiskSource.read(&path),
        };
        let Some(blob) = self.blobs.get(&inside) else {
            let named = path.strip_prefix(&self.top).is_ok_and(|named| self.blobs.contains_key(named));
            return Err(match (self.is_folder(&inside), named) {
                (true, _) => ReadError::Directory,
                (false, true) => ReadError::System("it is a link that leads nowhere".to_owned()),
                (false, false) => ReadError::Missing,
            });
        };
        match blob.bytes {
            Some(bytes) if bytes > LARGEST_FILE => Err(ReadError::TooLarge { bytes }),
            _ => self.content(&inside, blob),
        }
    }

    fn list(&self, root: &Path) -> Result<Vec<PathBuf>, ReadError> {
        let ignored = self.ignored(root);
        let mut found: Vec<PathBuf> = Vec::new();
        let below = self.blobs.keys().map(|path| self.top.join(path)).filter(|path| path.starts_with(root));
        for path in below.filter(|path| !ignored.leaves_out(root, path)) {
            // As on the disk: whoever made a folder that is named like a plan should hear of it.
            let folders = path.ancestors().skip(1).take_while(|folder| *folder != root);
            found.extend(folders.filter(|folder| kind_of_path(folder).is_some()).map(Path::to_path_buf));
            found.push(path);
        }
        found.sort();
        found.dedup();
        Ok(found)
    }

    fn real(&self, path: &Path) -> Result<PathBuf, ReadError> {
        match self.follow(path)? {
            Leads::Inside(inside) if self.blobs.contains_key(&inside) || self.is_folder(&inside) => {
                Ok(self.top.join(inside))
            }
            Leads::Inside(_) => Err(ReadError::Missing),
            Leads::Outside(path) => DiskSource.real(&path),
        }
    }

    fn stamp(&self, path: &Path) -> Option<Stamp> {
        match self.follow(path).ok()? {
            Leads::Inside(inside) => {
                let bytes = self.blobs.get(&inside)?.bytes.unwrap_or_default();
                Some(Stamp { bytes, modified: None })
            }
            Leads::Outside(path) => DiskSource.stamp(&path),
        }
    }
}

/// Not the content of a file: a tree may be printed while a fault is looked for.
impl std::fmt::Debug for GitTree {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("GitTree").field("top", &self.top).field("revision", &self.revision).finish_non_exhaustive()
    }
}
