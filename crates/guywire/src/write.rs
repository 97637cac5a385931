//! A file's text replaced on disk: whole or not at all.

use std::fs::{self, File, Metadata};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Why a file was left as it is.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Kept {
    /// Its path leads out of the folders that may be written to.
    #[error("it lies outside the workspace; mend it where it is")]
    Outside,
    /// It may not be written to.
    #[error("it is read-only; allow writing and mend again")]
    ReadOnly,
    /// Somebody wrote to it since it was read.
    #[error("it changed on disk meanwhile; mend again")]
    Changed,
    /// The system refused.
    #[error("{0}")]
    System(#[from] io::Error),
}

/// Puts `after` in the place of `before`, the text that was read from the file at `path`. The new text is written beside
/// the file and renamed over it, so that whoever reads sees one or the other; links are followed, but only to below one of
/// `roots`; permissions are kept.
pub(crate) fn replace(path: &Path, before: &str, after: &str, roots: &[PathBuf]) -> Result<(), Kept> {
    let path = fs::canonicalize(path)?;
    if !roots.iter().filter_map(|root| fs::canonicalize(root).ok()).any(|root| path.starts_with(root)) {
        return Err(Kept::Outside);
    }
    let about = fs::metadata(&path)?;
    if about.permissions().readonly() {
        return Err(Kept::ReadOnly);
    }
    let folder = path.parent().ok_or(Kept::Outside)?;
    let mut beside = tempfile::Builder::new().prefix(".guywire-").suffix(".tmp").tempfile_in(folder)?;
    fill(beside.as_file_mut(), after, &about)?;
    if fs::read(&path)? != before.as_bytes() {
        return Err(Kept::Changed);
    }
    beside.persist(&path).map_err(|refused| refused.error)?;
    Ok(())
}

/// The text is on the disk before it takes the name, else a power cut might leave the name with nothing.
fn fill(file: &mut File, text: &str, like: &Metadata) -> io::Result<()> {
    file.write_all(text.as_bytes())?;
    file.set_permissions(like.permissions())?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> (tempfile::TempDir, Vec<PathBuf>) {
        let folder = tempfile::tempdir().unwrap();
        let roots = vec![folder.path().to_path_buf()];
        (folder, roots)
    }

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_text_is_replaced_and_nothing_is_left_beside_it() {
        let (folder, roots) = folder();
        let path = folder.path().join("a.plan.toml");
        fs::write(&path, "a").unwrap();
        replace(&path, "a", "b", &roots).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "b");
        assert_eq!(names(folder.path()), ["a.plan.toml"]);
    }

    #[test]
    fn what_somebody_else_wrote_is_kept() {
        let (folder, roots) = folder();
        let path = folder.path().join("a.plan.toml");
        fs::write(&path, "theirs").unwrap();
        assert!(matches!(replace(&path, "a", "b", &roots), Err(Kept::Changed)));
        assert_eq!(fs::read_to_string(&path).unwrap(), "theirs");
        assert_eq!(names(folder.path()), ["a.plan.toml"]);
        fs::remove_file(&path).unwrap();
        assert!(matches!(replace(&path, "a", "b", &roots), Err(Kept::System(_))));
        assert!(names(folder.path()).is_empty(), "a file that is gone does not come back");
    }

    #[cfg(unix)]
    #[test]
    fn permissions_are_kept() {
        use std::os::unix::fs::PermissionsExt;
        let (folder, roots) = folder();
        let path = folder.path().join("a.plan.toml");
        for mode in [0o640, 0o664, 0o600] {
            fs::write(&path, "a").unwrap();
            fs::set_permissions(&path, fs::Permissions::from_mode(mode)).unwrap();
            replace(&path, "a", "b", &roots).unwrap();
            assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, mode);
        }
        fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
        assert!(matches!(replace(&path, "b", "c", &roots), Err(Kept::ReadOnly)));
        assert_eq!(fs::read_to_string(&path).unwrap(), "b");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_followed_within_the_roots_only() {
        let (folder, roots) = folder();
        let (elsewhere, _) = self::folder();
        let (inside, outside) = (folder.path().join("true.toml"), elsewhere.path().join("true.toml"));
        for (number, target) in [&inside, &outside].into_iter().enumerate() {
            fs::write(target, "a").unwrap();
            std::os::unix::fs::symlink(target, folder.path().join(format!("{number}.plan.toml"))).unwrap();
        }
        replace(&folder.path().join("0.plan.toml"), "a", "b", &roots).unwrap();
        assert_eq!(fs::read_to_string(&inside).unwrap(), "b");
        assert!(fs::symlink_metadata(folder.path().join("0.plan.toml")).unwrap().is_symlink());
        assert!(matches!(replace(&folder.path().join("1.plan.toml"), "a", "b", &roots), Err(Kept::Outside)));
        assert_eq!(fs::read_to_string(&outside).unwrap(), "a");
    }
}
