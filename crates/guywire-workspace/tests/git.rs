//! A revision read from git is what the disk shows when the revision is checked out.

#![allow(clippy::unwrap_used, reason = "tests")]

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;

use guywire_workspace::{DiskSource, FileSource, GitError, GitTree, ReadError, Renamed, Repository};

/// A repository that goes away with the test.
struct Harbor(tempfile::TempDir);

impl Harbor {
    fn new() -> Harbor {
        let harbor = Harbor(tempfile::tempdir().unwrap());
        harbor.git(["init", "--quiet", "--initial-branch=main"]);
        harbor
    }

    fn top(&self) -> PathBuf {
        self.0.path().canonicalize().unwrap()
    }

    fn git<W: AsRef<OsStr>>(&self, words: impl IntoIterator<Item = W>) {
        git(self.0.path(), words);
    }

    fn write(&self, name: impl AsRef<Path>, text: &str) {
        let path = self.top().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    fn commit(&self) {
        self.git(["add", "--all", "--force"]);
        self.git(["commit", "--quiet", "--message", "state"]);
    }

    fn tree(&self, revision: &str) -> GitTree {
        let repository = Repository::around(&self.top()).unwrap();
        repository.tree(&repository.revision(revision).unwrap(), &[self.top()]).unwrap()
    }
}

fn git<W: AsRef<OsStr>>(folder: &Path, words: impl IntoIterator<Item = W>) {
    let mut command = Command::new("git");
    for role in ["AUTHOR", "COMMITTER"] {
        command.env(format!("GIT_{role}_NAME"), "Harbor").env(format!("GIT_{role}_EMAIL"), "harbor@example.org");
    }
    command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
    command.args(["-c", "protocol.file.allow=always"]).arg("-C").arg(folder).args(words);
    let done = command.output().unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
}

/// Lists, reads and follows the same from both.
fn assert_same(tree: &GitTree, root: &Path) {
    let listed = DiskSource.list(root).unwrap();
    assert_eq!(tree.list(root).unwrap(), listed);
    for path in &listed {
        assert_eq!(tree.read(path), DiskSource.read(path), "{}", path.display());
        assert_eq!(tree.real(path).ok(), DiskSource.real(path).ok(), "{}", path.display());
        assert_eq!(tree.stamp(path).map(|stamp| stamp.bytes), size(path), "{}", path.display());
    }
    tree.is_whole().unwrap();
}

fn size(path: &Path) -> Option<u64> {
    std::fs::metadata(path).ok().filter(|about| about.is_file()).map(|about| about.len())
}

#[test]
fn a_commit_is_what_it_leaves_on_the_disk() {
    let harbor = Harbor::new();
    harbor.write("harbor.plan.toml", "[plan]\n");
    harbor.write("common/a b.plan.toml", "\u{feff}[plan]\r\n");
    harbor.write("quay \u{fc}\n2/x.plan.toml", "");
    harbor.write(".hidden/x.plan.toml", "[plan]\n");
    harbor.write("old/x.plan.toml", "[plan]\n");
    harbor.write("old/kept.plan.toml", "[plan]\n");
    harbor.write(".gitignore", "old/*\n!old/kept.plan.toml\nfleet.csv\n");
    harbor.write("fleet.csv", "id,alias\n");
    harbor.write("folder.plan.toml/inside.plan.toml", "[plan]\n");
    harbor.commit();
    assert_same(&harbor.tree("HEAD"), &harbor.top());
    assert_same(&harbor.tree("main"), &harbor.top().join("common"));
    let tree = harbor.tree("HEAD");
    assert_eq!(tree.read(&harbor.top().join("fleet.csv")), Ok(b"id,alias\n".to_vec()), "ignored, but named");
    assert_eq!(tree.read(&harbor.top().join("nowhere.plan.toml")), Err(ReadError::Missing));
    assert_eq!(tree.read(&harbor.top().join("common")), Err(ReadError::Directory));
    assert_eq!(tree.stamp(&harbor.top().join("nowhere.plan.toml")), None);
}

#[test]
fn what_is_not_committed_does_not_count() {
    let harbor = Harbor::new();
    harbor.write("a.plan.toml", "[plan]\n");
    harbor.commit();
    harbor.write("a.plan.toml", "[plan]\ntitle = \"now\"\n");
    harbor.write("b.plan.toml", "[plan]\n");
    harbor.git(["add", "--all"]);
    let tree = harbor.tree("HEAD");
    assert_eq!(tree.list(&harbor.top()).unwrap(), [harbor.top().join("a.plan.toml")]);
    assert_eq!(tree.read(&harbor.top().join("a.plan.toml")), Ok(b"[plan]\n".to_vec()));
}

#[cfg(unix)]
#[test]
fn paths_of_any_bytes_are_read() {
    use std::os::unix::ffi::OsStrExt;
    let harbor = Harbor::new();
    harbor.write(OsStr::from_bytes(b"quay \xFF\t\".plan.toml"), "[plan]\n");
    harbor.commit();
    assert_same(&harbor.tree("HEAD"), &harbor.top());
}

#[cfg(unix)]
#[test]
fn links_lead_where_they_lead_on_the_disk() {
    use std::os::unix::fs::symlink;
    let harbor = Harbor::new();
    let outside = tempfile::tempdir().unwrap();
    let outside_plan = outside.path().canonicalize().unwrap().join("outside.plan.toml");
    std::fs::write(&outside_plan, "[plan]\ntitle = \"outside\"\n").unwrap();
    harbor.write("plans/true.plan.toml", "[plan]\n");
    let link = |target: &Path, name: &str| symlink(target, harbor.top().join(name)).unwrap();
    link(Path::new("plans/true.plan.toml"), "a.plan.toml");
    link(Path::new("a.plan.toml"), "b.plan.toml");
    link(Path::new("plans"), "folder");
    link(Path::new("../plans/../folder/true.plan.toml"), "plans/c.plan.toml");
    link(&harbor.top().join("plans/true.plan.toml"), "absolute.plan.toml");
    link(&outside_plan, "outside.plan.toml");
    link(Path::new("nowhere.plan.toml"), "dangling.plan.toml");
    link(Path::new("plans"), "named.plan.toml");
    harbor.commit();
    assert_same(&harbor.tree("HEAD"), &harbor.top());
    let through = harbor.top().join("folder/true.plan.toml");
    assert_eq!(harbor.tree("HEAD").real(&through), DiskSource.real(&through));

    link(Path::new("y.plan.toml"), "x.plan.toml");
    link(Path::new("x.plan.toml"), "y.plan.toml");
    harbor.commit();
    let circle = harbor.tree("HEAD").read(&harbor.top().join("x.plan.toml"));
    assert!(matches!(circle, Err(ReadError::System(_))), "{circle:?}");
}

#[test]
fn a_submodule_is_read_as_far_as_it_is_checked_out() {
    let (harbor, part) = (Harbor::new(), Harbor::new());
    part.write("groups.plan.toml", "[[talkgroup]]\nname = \"Berths\"\nid = 1201\n");
    part.commit();
    harbor.write("harbor.plan.toml", "[plan]\nshares = [\"common/groups.plan.toml\"]\n");
    harbor.git([
        OsStr::new("submodule"),
        OsStr::new("add"),
        OsStr::new("--quiet"),
        part.top().as_os_str(),
        OsStr::new("common"),
    ]);
    harbor.commit();
    assert_same(&harbor.tree("HEAD"), &harbor.top());

    // The submodule moves on; the revision still names the commit of then.
    let checked_out = harbor.top().join("common");
    std::fs::write(checked_out.join("groups.plan.toml"), "").unwrap();
    git(&checked_out, ["commit", "--quiet", "--all", "--message", "empty"]);
    let groups = checked_out.join("groups.plan.toml");
    assert!(harbor.tree("HEAD").read(&groups).unwrap().starts_with(b"[[talkgroup]]"));

    harbor.git(["submodule", "deinit", "--force", "--quiet", "common"]);
    assert_eq!(harbor.tree("HEAD").read(&groups), Err(ReadError::Missing));
    assert_same(&harbor.tree("HEAD"), &harbor.top());
}

#[test]
fn renames_are_those_of_git() {
    let harbor = Harbor::new();
    harbor.write("south/guywire.toml", "");
    harbor.write("south/a.plan.toml", "[plan]\ntitle = \"Saltmarsh Harbor\"\nrevision = \"2026-11\"\n");
    harbor.write("north/b.plan.toml", "[plan]\ntitle = \"Saltmarsh Harbor, north mole\"\n");
    harbor.commit();
    harbor.git(["mv", "south/a.plan.toml", "south/c.plan.toml"]);
    harbor.git(["mv", "north/b.plan.toml", "north/d.plan.toml"]);
    let repository = Repository::around(&harbor.top()).unwrap();
    let head = repository.revision("HEAD").unwrap();
    let at = |name: &str| harbor.top().join(name);
    let south = Renamed { from: at("south/a.plan.toml"), to: at("south/c.plan.toml") };
    let north = Renamed { from: at("north/b.plan.toml"), to: at("north/d.plan.toml") };
    assert_eq!(repository.renamed(&head, None, &[at("south")]).unwrap(), std::slice::from_ref(&south));
    assert_eq!(repository.renamed(&head, None, &[harbor.top()]).unwrap(), [north.clone(), south.clone()]);
    harbor.commit();
    let now = repository.revision("HEAD").unwrap();
    assert_eq!(repository.renamed(&head, Some(&now), &[harbor.top()]).unwrap(), [north, south]);
    assert_eq!(repository.renamed(&now, Some(&now), &[harbor.top()]).unwrap(), []);
}

#[test]
fn what_is_no_revision_is_named() {
    let harbor = Harbor::new();
    harbor.write("a.plan.toml", "[plan]\n");
    harbor.commit();
    let repository = Repository::around(&harbor.top()).unwrap();
    for wrong in [
        "",
        "nowhere",
        "--all",
        "-h",
        "main..main",
        "HEAD:a.plan.toml",
        "a\0b",
        "0000000000000000000000000000000000000000",
    ] {
        assert_eq!(repository.revision(wrong), Err(GitError::UnknownRevision(wrong.to_owned())), "{wrong:?}");
    }
    for right in ["HEAD", "main", "HEAD^{tree}", ":/state"] {
        assert!(repository.revision(right).is_ok(), "{right}");
    }
    let elsewhere = tempfile::tempdir().unwrap();
    assert!(matches!(Repository::around(elsewhere.path()), Err(GitError::NoRepository(_))));
    let bare = tempfile::tempdir().unwrap();
    git(bare.path(), ["init", "--quiet", "--bare"]);
    assert!(matches!(Repository::around(bare.path()), Err(GitError::NoRepository(_))));
}

/// A clone without the content of old files says so; it fetches nothing.
#[test]
fn an_object_that_is_missing_is_told_and_not_fetched() {
    let (harbor, clone) = (Harbor::new(), tempfile::tempdir().unwrap());
    harbor.write("a.plan.toml", "[plan]\ntitle = \"before\"\n");
    harbor.commit();
    harbor.write("a.plan.toml", "[plan]\ntitle = \"after\"\n");
    harbor.commit();
    harbor.git(["config", "uploadpack.allowFilter", "true"]);
    let url = format!("file://{}", harbor.top().display());
    git(clone.path(), ["clone", "--quiet", "--filter=blob:none", &url, "."]);
    let top = clone.path().canonicalize().unwrap();
    let repository = Repository::around(&top).unwrap();
    let tree = repository.tree(&repository.revision("HEAD~1").unwrap(), std::slice::from_ref(&top)).unwrap();
    assert!(matches!(tree.read(&top.join("a.plan.toml")), Err(ReadError::System(_))));
    assert!(matches!(tree.is_whole(), Err(GitError::Incomplete { .. })));
    let now = repository.tree(&repository.revision("HEAD").unwrap(), std::slice::from_ref(&top)).unwrap();
    assert_eq!(now.read(&top.join("a.plan.toml")), Ok(b"[plan]\ntitle = \"after\"\n".to_vec()));
    now.is_whole().unwrap();
}

/// Nothing that the settings of a repository name is run.
#[cfg(unix)]
#[test]
fn no_program_of_the_repository_runs() {
    use std::os::unix::fs::PermissionsExt;
    let harbor = Harbor::new();
    harbor.write("a.plan.toml", "[plan]\ntitle = \"Saltmarsh Harbor\"\n");
    harbor.write(".gitattributes", "*.toml filter=trap diff=trap\n");
    harbor.commit();
    let (trap, sprung) = (harbor.top().join(".git/trap"), harbor.top().join(".git/sprung"));
    std::fs::write(&trap, format!("#!/bin/sh\necho sprung >'{}'\ncat\n", sprung.display())).unwrap();
    std::fs::set_permissions(&trap, std::fs::Permissions::from_mode(0o755)).unwrap();
    let command = trap.display().to_string();
    for setting in [
        "core.fsmonitor",
        "core.pager",
        "diff.external",
        "diff.trap.textconv",
        "diff.trap.command",
        "filter.trap.smudge",
        "filter.trap.clean",
    ] {
        harbor.git(["config", setting, &command]);
    }
    for hook in ["post-checkout", "post-index-change", "reference-transaction"] {
        std::fs::copy(&trap, harbor.top().join(".git/hooks").join(hook)).unwrap();
    }
    std::fs::rename(harbor.top().join("a.plan.toml"), harbor.top().join("b.plan.toml")).unwrap();
    let repository = Repository::around(&harbor.top()).unwrap();
    let head = repository.revision("HEAD").unwrap();
    let tree = repository.tree(&head, &[harbor.top()]).unwrap();
    assert_eq!(tree.read(&harbor.top().join("a.plan.toml")), Ok(b"[plan]\ntitle = \"Saltmarsh Harbor\"\n".to_vec()));
    repository.renamed(&head, None, &[harbor.top()]).unwrap();
    assert!(!sprung.exists(), "a program of the repository ran");
    harbor.git(["status"]);
    assert!(sprung.exists(), "the trap is none");
}
