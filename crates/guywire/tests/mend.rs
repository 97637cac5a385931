//! `guywire mend` on real folders: what it writes, what it leaves alone, what it shows.

#![allow(clippy::unwrap_used)]

mod common;

use std::path::{Path, PathBuf};

use common::{Folder, HINT, SOUND};

/// A byte-order mark, CR LF, comments, odd spaces and no line end at the end; what is safe to mend is a number as text.
const ODD: &str = "\u{feff}[plan]\r\ntitle = \"Saltmarsh Harbor\" # the title\r\n\r\n[[channel]]\r\nslot = 1\r\nname   = \"Berths\"\r\nsends = \"digital\"\r\nrx_mhz = \"453.2125\"   # as text\r\n\tnotes = \"Größe ⚓\"";
/// Stands for key material. It is invented and protects nothing.
const MATERIAL: &str = "C0FFEE5A17E0B0A710AD";

fn mended(text: &str) -> String {
    text.replace("\"453.2125\"", "453.2125")
}

fn read(folder: &Folder, name: &str) -> String {
    std::fs::read_to_string(folder.path().join(name)).unwrap()
}

fn folder() -> Folder {
    Folder::with(&[("guywire.toml", ""), ("harbor.plan.toml", ODD), ("quay.plan.toml", SOUND)])
}

fn names(folder: &Folder) -> Vec<PathBuf> {
    folder.state().into_keys().collect()
}

#[test]
fn the_bytes_outside_a_fix_are_kept() {
    let folder = folder();
    let (before, sound) = (names(&folder), folder.state()[&folder.path().join("quay.plan.toml")].clone());
    let run = folder.guywire(&["mend"]);
    assert_eq!((run.code, run.err.as_str()), (Some(0), ""));
    assert_eq!(run.out, "harbor.plan.toml: wrong-type\nApplied 1 fix in 1 file.\n");
    assert_eq!(read(&folder, "harbor.plan.toml"), mended(ODD));
    assert_eq!(names(&folder), before, "nothing is left beside");
    assert_eq!(folder.state()[&folder.path().join("quay.plan.toml")], sound, "a sound file is not touched");

    let state = folder.state();
    let again = folder.guywire(&["mend"]);
    assert_eq!((again.code, again.out.as_str()), (Some(0), "Nothing is mended in 3 files.\n"));
    assert_eq!(folder.state(), state);
}

#[test]
fn several_fixes_are_counted_by_rule() {
    let second =
        "\r\n[[channel]]\r\nname = \"Cranes\"\r\nsends = \"digital\"\r\nrx_mhz = \"453.2125\"\r\nslot = \"2\"\r\n";
    let folder = Folder::with(&[("harbor.plan.toml", &format!("{ODD}\r\n{second}"))]);
    let run = folder.guywire(&["mend"]);
    assert_eq!(run.out, "harbor.plan.toml: wrong-type (3)\nApplied 3 fixes in 1 file.\n");
}

#[test]
fn a_preview_writes_nothing() {
    let folder = folder();
    let state = folder.state();
    let run = folder.guywire(&["mend", "--preview"]);
    assert_eq!((run.code, run.err.as_str()), (Some(0), ""));
    assert_eq!(folder.state(), state);
    insta::assert_snapshot!(run.out);
}

#[test]
fn a_preview_is_a_diff_that_applies() {
    let folder = Folder::with(&[("harbor.plan.toml", &ODD.replace("\r\n", "\n").replace(['\u{feff}', '\t'], ""))]);
    let diff = folder.guywire(&["mend", "--preview"]).out;
    let expected = mended(&read(&folder, "harbor.plan.toml"));
    folder.write("fix.diff", diff.as_bytes());
    let file = std::fs::File::open(folder.path().join("fix.diff")).unwrap();
    let run = common::run(std::process::Command::new("patch").args(["-p1"]).current_dir(folder.path()).stdin(file));
    assert_eq!(run.code, Some(0), "{run:?}\n{diff}");
    assert_eq!(read(&folder, "harbor.plan.toml"), expected);
}

#[test]
fn a_preview_shows_no_secret() {
    let key = format!("[[key]]\r\nvalue = \"{MATERIAL}\" # was {MATERIAL}\r\n");
    let code = format!("\r\n[security]\r\npower_on_code = \"{MATERIAL}\"\r\n");
    let channel = "[[channel]]\r\nrx_mhz = \"453.2125\"\r\n";
    let folder = Folder::with(&[("harbor.plan.toml", &format!("[plan]\r\n{key}{channel}{code}"))]);
    let run = folder.guywire(&["mend", "--preview"]);
    assert!(run.out.contains("+rx_mhz = 453.2125"), "{}", run.out);
    assert_eq!(run.out.matches("[redacted]").count(), 2, "{}", run.out);
    assert!(!run.out.contains(&MATERIAL[..6]), "{}", run.out);
    let run = folder.guywire(&["mend"]);
    assert!(!run.out.contains(&MATERIAL[..6]) && read(&folder, "harbor.plan.toml").contains(MATERIAL), "{}", run.out);
}

#[test]
fn one_rule_can_be_chosen() {
    let folder = folder();
    let state = folder.state();
    let run = folder.guywire(&["mend", "--rule", "not-in-megahertz"]);
    assert_eq!(run.code, Some(0));
    assert_eq!(folder.state(), state);
    assert_eq!(folder.guywire(&["mend", "--rule", "wrong-type"]).code, Some(0));
    assert_eq!(read(&folder, "harbor.plan.toml"), mended(ODD));
}

#[test]
fn a_rule_without_a_safe_fix_says_so_and_an_unknown_one_is_an_error() {
    let folder = folder();
    let run = folder.guywire(&["mend", "--rule", "color-code-differs-from-repeater"]);
    assert!(run.code == Some(0) && run.out.contains("has no safe fix"), "{run:?}");
    let run = folder.guywire(&["mend", "--rule", "wrong-typ"]);
    assert_eq!((run.code, run.out.as_str()), (Some(2), ""));
    assert!(run.err.contains("did you mean wrong-type?"), "{run:?}");
}

#[test]
fn only_files_at_the_paths_are_written() {
    let folder =
        Folder::with(&[("guywire.toml", ""), ("a.plan.toml", ODD), ("b/c.plan.toml", ODD), ("notes.txt", ODD)]);
    assert_eq!(folder.guywire(&["mend", "b"]).code, Some(0));
    assert_eq!(read(&folder, "a.plan.toml"), ODD);
    assert_eq!(read(&folder, "b/c.plan.toml"), mended(ODD));
    assert_eq!(folder.guywire(&["mend", "notes.txt"]).code, Some(2));
    assert_eq!(read(&folder, "notes.txt"), ODD);
}

#[test]
fn nothing_to_mend_is_no_failure() {
    let folder = Folder::with(&[("harbor.plan.toml", HINT)]);
    let state = folder.state();
    let run = folder.guywire(&["mend", "."]);
    assert_eq!((run.code, run.out.as_str(), run.err.as_str()), (Some(0), "Nothing is mended in 1 file.\n", ""));
    assert_eq!(folder.state(), state);
}

#[test]
fn more_than_are_shown_of_a_file_are_mended() {
    let plan = |quote: &str| -> String {
        let channels =
            (0..1_100).map(|id| format!("[[talkgroup]]\nname = \"Berths {id}\"\nid = {quote}{}{quote}\n", id + 1));
        format!("[plan]\n{}", channels.collect::<String>())
    };
    let folder = Folder::with(&[("harbor.plan.toml", &plan("\""))]);
    let run = folder.guywire(&["mend"]);
    assert_eq!(run.code, Some(0), "{run:?}");
    assert_eq!(read(&folder, "harbor.plan.toml"), plan(""));
}

#[cfg(unix)]
fn link(target: &Path, folder: &Folder, name: &str) {
    std::os::unix::fs::symlink(target, folder.path().join(name)).unwrap();
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_outside_is_not_followed() {
    let elsewhere = Folder::with(&[("true.plan.toml", ODD)]);
    let folder = folder();
    link(&elsewhere.path().join("true.plan.toml"), &folder, "linked.plan.toml");
    let run = folder.guywire(&["mend"]);
    assert_eq!(read(&elsewhere, "true.plan.toml"), ODD);
    assert_eq!(run.code, Some(2), "{run:?}");
    assert!(run.err.contains("lies outside the workspace"), "{run:?}");
    assert_eq!(read(&folder, "harbor.plan.toml"), mended(ODD), "the others are mended all the same");
}

#[cfg(unix)]
#[test]
fn a_folder_that_leads_outside_is_not_followed() {
    let elsewhere = Folder::with(&[("true.plan.toml", ODD)]);
    let shares = "[plan]\nshares = [\"out/true.plan.toml\"]\n";
    let folder = Folder::with(&[("guywire.toml", ""), ("harbor.plan.toml", shares)]);
    link(elsewhere.path(), &folder, "out");
    folder.guywire(&["mend"]);
    assert_eq!(read(&elsewhere, "true.plan.toml"), ODD);
}

#[cfg(unix)]
#[test]
fn a_link_within_the_workspace_stays_a_link() {
    let folder = Folder::with(&[("guywire.toml", ""), (".true/a.plan.toml", ODD)]);
    link(Path::new(".true/a.plan.toml"), &folder, "linked.plan.toml");
    let run = folder.guywire(&["mend"]);
    assert_eq!(run.code, Some(0), "{run:?}");
    assert_eq!(read(&folder, ".true/a.plan.toml"), mended(ODD));
    assert!(std::fs::symlink_metadata(folder.path().join("linked.plan.toml")).unwrap().is_symlink());
}

#[cfg(unix)]
#[test]
fn a_read_only_file_is_left_and_told_of() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder();
    let path = folder.path().join("harbor.plan.toml");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o444)).unwrap();
    let run = folder.guywire(&["mend"]);
    assert_eq!((run.code, run.out.as_str()), (Some(2), "Nothing is mended in 3 files.\n"));
    assert_eq!(run.err, "guywire: harbor.plan.toml is not written: it is read-only; allow writing and mend again\n");
    assert_eq!(read(&folder, "harbor.plan.toml"), ODD);
}
