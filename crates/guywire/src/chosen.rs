//! The paths of a command line: what each names, and the workspaces that they stand in.

use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use guywire_workspace::{DiskSource, FileSource, ReadError, Stamp};

use crate::failure::Failure;

/// What makes a folder the root of a workspace.
const SETTINGS: &str = "guywire.toml";

/// A path of the command line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Target {
    /// As it was given.
    pub given: PathBuf,
    /// The true path.
    pub path: PathBuf,
    /// It names a file, not a folder.
    pub is_file: bool,
    /// The root of its workspace: the nearest folder upward with settings, else the folder itself.
    root: PathBuf,
    /// No folder upward has settings.
    homeless: bool,
}

impl Target {
    /// Looks at a path of the command line.
    fn find(given: &Path) -> Result<Target, Failure> {
        let unreadable = |error: io::Error| match error.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => Failure::NoSuchPath(given.to_path_buf()),
            _ => Failure::Unreadable { path: given.to_path_buf(), error },
        };
        let path = std::fs::canonicalize(given).map_err(unreadable)?;
        let is_file = !path.is_dir();
        if !is_file {
            std::fs::read_dir(&path).map_err(unreadable)?;
        }
        let folder = if is_file { path.parent().unwrap_or(&path) } else { &path };
        let home = folder.ancestors().find(|folder| folder.join(SETTINGS).is_file());
        let root = home.unwrap_or(folder).to_path_buf();
        Ok(Target { given: given.to_path_buf(), is_file, root, homeless: home.is_none(), path })
    }

    /// Whether a file is at the path.
    pub(crate) fn covers(&self, file: &Path) -> bool {
        if self.is_file { self.path == file } else { file.starts_with(&self.path) }
    }
}

/// Files as the command line chose them: one without a workspace is read without its neighbors, and a chosen path is read
/// even where listing its workspace leaves it out (hidden or ignored folders).
#[derive(Clone)]
pub(crate) struct Chosen {
    targets: Arc<[Target]>,
    source: Arc<dyn FileSource>,
}

impl Chosen {
    /// What the paths choose on the disk.
    pub(crate) fn find(paths: &[PathBuf]) -> Result<Chosen, Failure> {
        let targets = paths.iter().map(|path| Target::find(path)).collect::<Result<Vec<_>, _>>()?;
        Ok(Chosen { targets: targets.into(), source: Arc::new(DiskSource) })
    }

    /// The same paths elsewhere than on the disk.
    pub(crate) fn at(&self, source: Arc<dyn FileSource>) -> Chosen {
        Chosen { targets: self.targets.clone(), source }
    }

    pub(crate) fn targets(&self) -> &[Target] {
        &self.targets
    }

    /// The roots of the workspaces.
    pub(crate) fn roots(&self) -> Vec<PathBuf> {
        let roots: BTreeSet<&PathBuf> = self.targets.iter().map(|target| &target.root).collect();
        roots.into_iter().cloned().collect()
    }

    /// The files at the chosen paths, links by their own names.
    pub(crate) fn listed(&self) -> impl Iterator<Item = PathBuf> {
        self.targets.iter().flat_map(|target| self.files_of(target).unwrap_or_default())
    }

    fn files_of(&self, target: &Target) -> Result<Vec<PathBuf>, ReadError> {
        if target.is_file { Ok(vec![target.path.clone()]) } else { self.source.list(&target.path) }
    }
}

impl FileSource for Chosen {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        self.source.read(path)
    }

    fn list(&self, root: &Path) -> Result<Vec<PathBuf>, ReadError> {
        let within = || self.targets.iter().filter(|target| target.root == root);
        let alone = within().all(|target| target.is_file && target.homeless);
        let mut found: BTreeSet<PathBuf> = BTreeSet::new();
        if !alone {
            found.extend(self.source.list(root)?);
        }
        for target in within().filter(|target| target.path != root) {
            found.extend(self.files_of(target)?);
        }
        Ok(found.into_iter().collect())
    }

    fn real(&self, path: &Path) -> Result<PathBuf, ReadError> {
        self.source.real(path)
    }

    fn stamp(&self, path: &Path) -> Option<Stamp> {
        self.source.stamp(path)
    }
}
