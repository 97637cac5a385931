//! Which files of a tree the disk would not list: hidden ones, and those that `.gitignore` and `.ignore` files leave out.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use ignore::Match;
use ignore::gitignore::{Gitignore, GitignoreBuilder};

/// Names of the files that say what is left out, the one that wins first.
pub(crate) const NAMES: [&str; 2] = [".ignore", ".gitignore"];

/// What the files of [`NAMES`] say, by the folder that each stands in.
#[derive(Debug, Default)]
pub(crate) struct Ignored {
    by_name: [BTreeMap<PathBuf, Gitignore>; NAMES.len()],
}

impl Ignored {
    /// Takes in one of the files of [`NAMES`]. Lines that are no patterns say nothing.
    pub fn add(&mut self, path: &Path, text: &[u8]) {
        let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else { return };
        let Some(number) = NAMES.iter().position(|known| name == *known) else { return };
        let mut builder = GitignoreBuilder::new(folder);
        for line in String::from_utf8_lossy(text).lines() {
            let _ = builder.add_line(None, line);
        }
        if let Ok(patterns) = builder.build() {
            self.by_name[number].insert(folder.to_path_buf(), patterns);
        }
    }

    /// Whether a file below `root` is left out, itself or with a folder on the way.
    pub fn leaves_out(&self, root: &Path, path: &Path) -> bool {
        let below = path.ancestors().take_while(|on_the_way| *on_the_way != root);
        below.enumerate().any(|(number, on_the_way)| self.leaves_out_one(on_the_way, number > 0))
    }

    fn leaves_out_one(&self, path: &Path, is_folder: bool) -> bool {
        match self.said_of(path, is_folder) {
            Match::Ignore(()) => true,
            Match::Whitelist(()) => false,
            Match::None => path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.')),
        }
    }

    /// What the nearest file that speaks of a path says.
    fn said_of(&self, path: &Path, is_folder: bool) -> Match<()> {
        for patterns in &self.by_name {
            let said = path.ancestors().skip(1).filter_map(|folder| patterns.get(folder));
            let mut said = said.map(|patterns| patterns.matched(path, is_folder).map(|_| ()));
            if let Some(said) = said.find(|said| !said.is_none()) {
                return said;
            }
        }
        Match::None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ignored(files: &[(&str, &str)]) -> Ignored {
        let mut ignored = Ignored::default();
        files.iter().for_each(|(path, text)| ignored.add(Path::new(path), text.as_bytes()));
        ignored
    }

    #[test]
    fn the_nearest_file_wins_and_folders_take_what_is_in_them() {
        let ignored = ignored(&[
            ("/r/.gitignore", "old/\n*.tmp.plan.toml\n"),
            ("/r/a/.gitignore", "!kept.tmp.plan.toml\n"),
            ("/r/b/.ignore", "x.plan.toml\n"),
        ]);
        let out = |path: &str| ignored.leaves_out(Path::new("/r"), Path::new(path));
        assert!(out("/r/a/old/x.plan.toml") && out("/r/a/y.tmp.plan.toml") && out("/r/b/x.plan.toml"));
        assert!(!out("/r/a/kept.tmp.plan.toml") && !out("/r/x.plan.toml") && !out("/r/old.plan.toml"));
    }

    #[test]
    fn hidden_files_and_folders_are_left_out_below_the_root() {
        let ignored = ignored(&[]);
        assert!(ignored.leaves_out(Path::new("/r"), Path::new("/r/.a/x.plan.toml")));
        assert!(!ignored.leaves_out(Path::new("/r/.a"), Path::new("/r/.a/x.plan.toml")));
    }
}
