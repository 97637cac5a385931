//! Files that are no plans, or plans beyond reason: each is one clear finding at its place, the rest of the workspace is
//! checked, and nothing is written.

#![allow(clippy::unwrap_used)]

mod common;

use common::{Folder, HINT, Run, SOUND};

/// What the rest of the workspace always has.
const WITNESS: &str = "witness.plan.toml:3:1: hint[unused-definition]:";

/// Checks a folder that has a witness too; the findings but the witness, and how the run ended.
fn check(folder: &Folder) -> (Vec<String>, Run) {
    folder.write("witness.plan.toml", HINT.as_bytes());
    let before = folder.state();
    let run = folder.guywire(&["check"]);
    assert_eq!(folder.state(), before, "nothing is written");
    assert_eq!(run.err, "");
    assert!(run.out.lines().any(|line| line.starts_with(WITNESS)), "the rest is checked: {}", run.out);
    let findings = run.out.lines().filter(|line| line.contains(".plan.toml:") && !line.starts_with(' '));
    (findings.filter(|line| !line.starts_with(WITNESS)).map(str::to_owned).collect(), run)
}

/// One finding, which begins so and says this.
fn assert_one(findings: &[String], begins: &str, says: &str) {
    assert_eq!(findings.len(), 1, "{findings:#?}");
    assert!(findings[0].starts_with(begins) && findings[0].contains(says), "{findings:#?}");
}

#[test]
fn a_file_that_is_not_utf_8() {
    let folder = Folder::new();
    folder.write("latin.plan.toml", b"[plan]\ntitle = \"Caf\xE9\"\n");
    let (found, run) = check(&folder);
    assert_one(&found, "latin.plan.toml:1:1: error[file-unreadable]:", "not UTF-8: line 2");
    assert_eq!(run.code, Some(1));
}

#[test]
fn a_file_in_utf_16() {
    for order in [u16::to_le_bytes as fn(u16) -> [u8; 2], u16::to_be_bytes] {
        let folder = Folder::new();
        let bytes: Vec<u8> = format!("\u{FEFF}{SOUND}").encode_utf16().flat_map(order).collect();
        folder.write("wide.plan.toml", &bytes);
        let (found, run) = check(&folder);
        assert_one(&found, "wide.plan.toml:1:1: error[file-unreadable]:", "UTF-16");
        assert_eq!(run.code, Some(1));
    }
}

#[test]
fn an_empty_file() {
    let folder = Folder::new();
    folder.write("new.plan.toml", b"");
    let (found, run) = check(&folder);
    assert_one(&found, "new.plan.toml:1:1: information[file-empty]:", "nothing is written");
    assert_eq!(run.code, Some(0));
}

#[test]
fn a_file_of_200_megabytes() {
    let folder = Folder::new();
    let file = std::fs::File::create(folder.path().join("huge.plan.toml")).unwrap();
    file.set_len(200 * 1024 * 1024).unwrap();
    let (found, run) = check(&folder);
    assert_one(&found, "huge.plan.toml:1:1: error[file-unreadable]:", "209715200 bytes");
    assert_eq!(run.code, Some(1));
}

#[test]
fn a_folder_with_the_name_of_a_plan() {
    let folder = Folder::with(&[("harbor.plan.toml", "[plan]\nshares = [\"x.plan.toml\"]\n")]);
    folder.write("x.plan.toml/inner.plan.toml", b"[plan]\ntitel = 1\n");
    let (found, run) = check(&folder);
    assert!(found.iter().any(|line| line.starts_with("harbor.plan.toml:2:11: error[file-missing]:")), "{found:#?}");
    assert!(
        found.iter().any(|line| line.starts_with("x.plan.toml/inner.plan.toml:2:1: error[unknown-key]:")),
        "{found:#?}"
    );
    assert_eq!(run.code, Some(1));
    assert_eq!(folder.guywire(&["check", "x.plan.toml"]).code, Some(1), "as a path it is a folder");
}

#[test]
fn plans_that_share_each_other() {
    let folder = Folder::new();
    for (name, next) in [("a", "b"), ("b", "c"), ("c", "a")] {
        folder.write(format!("{name}.plan.toml"), format!("[plan]\nshares = [\"{next}.plan.toml\"]\n").as_bytes());
    }
    let (found, run) = check(&folder);
    assert_eq!(found.len(), 3, "{found:#?}");
    for (line, name) in found.iter().zip(["a", "b", "c"]) {
        assert!(line.starts_with(&format!("{name}.plan.toml:2:11: error[share-cycle]:")), "{found:#?}");
    }
    assert_eq!(run.code, Some(1));
}

#[test]
fn a_model_that_is_not_there() {
    let folder = Folder::with(&[("harbor.plan.toml", "[plan]\nmodel = \"models/hh-uhf.model.toml\"\n")]);
    let (found, run) = check(&folder);
    assert_one(&found, "harbor.plan.toml:2:9: error[file-missing]:", "hh-uhf.model.toml");
    assert_eq!(run.code, Some(1));
}

#[test]
fn brackets_in_brackets_without_end() {
    for text in [
        format!("[plan]\ntitle = {}\n", "[".repeat(100_000)),
        format!("[plan]\ntitle = {}{}\n", "[".repeat(100_000), "]".repeat(100_000)),
        format!("[plan]\ntitle = {}\n", "{ a = ".repeat(100_000)),
        format!("[plan]\n{}title = 1\n", "a.".repeat(100_000)),
        format!("[plan]\n\n[{}a]\n", "a.".repeat(100_000)),
    ] {
        let folder = Folder::with(&[("deep.plan.toml", &text)]);
        let (found, run) = check(&folder);
        assert!(!found.is_empty() && found.len() <= 3, "{found:#?}");
        assert!(found[0].starts_with("deep.plan.toml:") && found[0].contains("error["), "{found:#?}");
        assert!(run.out.lines().all(|line| line.chars().count() < 1_000), "lines that people can read");
        assert_eq!(run.code, Some(1));
    }
}

#[test]
fn a_line_of_a_million_characters() {
    let title = "埠 ".repeat(500_000);
    let folder = Folder::with(&[("long.plan.toml", &format!("[plan]\ntitle = \"{title}\" 1\n"))]);
    let (found, run) = check(&folder);
    assert_one(&found, "long.plan.toml:2:1000012: error[toml-syntax]:", "after the value");
    assert!(run.out.lines().all(|line| line.chars().count() < 400), "{}", run.out);
    assert_eq!(run.code, Some(1));
}

#[cfg(target_os = "linux")]
#[test]
fn a_name_that_is_not_utf_8() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;

    let name = OsStr::from_bytes(b"caf\xE9.plan.toml");
    let folder = Folder::new();
    folder.write(name, b"[plan]\ntitel = 1\n");
    let (found, run) = check(&folder);
    assert_one(&found, "caf\u{FFFD}.plan.toml:2:1: error[unknown-key]:", "titel");
    assert_eq!(run.code, Some(1));
    let alone = common::run(folder.command().arg("check").arg(name));
    assert!(alone.out.starts_with("caf\u{FFFD}.plan.toml:2:1: error[unknown-key]:"), "{}", alone.out);
    let missing = common::run(folder.command().arg("check").arg(OsStr::from_bytes(b"th\xE9.plan.toml")));
    assert_eq!((missing.code, missing.err.contains("th\u{FFFD}.plan.toml")), (Some(2), true), "{}", missing.err);
}

#[cfg(unix)]
#[test]
fn a_link_to_itself() {
    let folder = Folder::new();
    std::os::unix::fs::symlink("loop.plan.toml", folder.path().join("loop.plan.toml")).unwrap();
    std::os::unix::fs::symlink(".", folder.path().join("again")).unwrap();
    let (found, run) = check(&folder);
    assert_one(&found, "loop.plan.toml:1:1: error[file-unreadable]:", "cannot be read");
    assert_eq!(run.code, Some(1));
}
