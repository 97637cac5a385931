//! Lists as git writes them with `-z`: paths of any bytes, each ended by a zero byte.

use std::path::{Path, PathBuf};

use super::ask::path_of;
use super::{GitError, Renamed, is_object};

/// What an entry of a tree is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// A file.
    File,
    /// A symbolic link; its content is where it leads.
    Link,
    /// A commit of another repository.
    Submodule,
}

/// An entry of a tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Listed {
    pub path: PathBuf,
    pub form: Form,
    pub object: String,
    /// Bytes; none where git does not know them.
    pub bytes: Option<u64>,
}

/// The entries that `ls-tree -r -z -l` wrote.
pub(crate) fn tree(written: &[u8]) -> Result<Vec<Listed>, GitError> {
    written
        .split(|byte| *byte == 0)
        .filter(|entry| !entry.is_empty())
        .map(|one| entry(one).ok_or(GitError::Garbled))
        .collect()
}

/// `MODE TYPE OBJECT SIZE<tab>PATH`
fn entry(written: &[u8]) -> Option<Listed> {
    let tab = written.iter().position(|byte| *byte == b'\t')?;
    let about = std::str::from_utf8(&written[..tab]).ok()?;
    let mut words = about.split_ascii_whitespace();
    let (mode, _, object, bytes) = (words.next()?, words.next()?, words.next()?, words.next()?);
    let form = match mode {
        "120000" => Form::Link,
        "160000" => Form::Submodule,
        _ => Form::File,
    };
    let path = path_of(&written[tab + 1..]);
    is_object(object).then(|| Listed { path, form, object: object.to_owned(), bytes: bytes.parse().ok() })
}

/// The renames among what `--name-status -z` wrote, with paths below `top`.
pub(crate) fn renamed(top: &Path, written: &[u8]) -> Result<Vec<Renamed>, GitError> {
    let mut words = written.split(|byte| *byte == 0).filter(|word| !word.is_empty());
    let mut found = Vec::new();
    while let Some(status) = words.next() {
        let first = words.next().ok_or(GitError::Garbled)?;
        match status[0] {
            b'R' => {
                let second = words.next().ok_or(GitError::Garbled)?;
                found.push(Renamed { from: top.join(path_of(first)), to: top.join(path_of(second)) });
            }
            b'C' => {
                words.next().ok_or(GitError::Garbled)?;
            }
            _ => {}
        }
    }
    found.sort();
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    const OBJECT: &str = "8ab686eafeb1f44702738c8b0f24f2567c36da6d";

    #[test]
    fn entries_of_every_form_are_read() {
        let written = format!(
            "100644 blob {OBJECT}     120\ta b\n\u{fc}.plan.toml\0120000 blob {OBJECT}       7\tlink\0160000 commit {OBJECT}       -\tsub\0"
        );
        let read = tree(written.as_bytes()).unwrap();
        let forms: Vec<_> = read.iter().map(|entry| (entry.form, entry.bytes)).collect();
        assert_eq!(forms, [(Form::File, Some(120)), (Form::Link, Some(7)), (Form::Submodule, None)]);
        assert_eq!(read[0].path, Path::new("a b\n\u{fc}.plan.toml"));
        assert_eq!(tree(b"").unwrap(), []);
    }

    #[test]
    fn what_is_in_another_form_is_refused() {
        for wrong in ["100644 blob x 1\ta\0", "100644\0", "100644 blob 8ab686eafeb1f44702738c8b0f24f2567c36da6d\ta\0"] {
            assert_eq!(tree(wrong.as_bytes()), Err(GitError::Garbled), "{wrong:?}");
        }
        assert_eq!(renamed(Path::new("/r"), b"R100\0a\0"), Err(GitError::Garbled));
    }

    #[test]
    fn renames_are_picked_from_all_changes() {
        let read = renamed(Path::new("/r"), b"M\0x\0R087\0old\0new\0C100\0y\0z\0D\0w\0").unwrap();
        assert_eq!(read, [Renamed { from: "/r/old".into(), to: "/r/new".into() }]);
    }
}
