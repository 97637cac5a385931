//! The command line: exit codes, paths, what goes to which output.

#![allow(clippy::unwrap_used)]

mod common;

use std::io::{Read, Write};
use std::process::Stdio;

use common::{Folder, HINT, SOUND, WRONG, run};

const SETTINGS: &str = "[workspace]\n";

#[test]
fn the_code_is_0_without_findings_and_1_with() {
    let sound = Folder::with(&[("harbor.plan.toml", SOUND)]);
    let run = sound.guywire(&["check"]);
    assert_eq!((run.code, run.out.as_str(), run.err.as_str()), (Some(0), "", ""));
    let wrong = Folder::with(&[("harbor.plan.toml", WRONG)]);
    let run = wrong.guywire(&["check"]);
    assert_eq!((run.code, run.err.as_str()), (Some(1), ""));
    assert!(run.out.starts_with("harbor.plan.toml:2:1: error[unknown-key]: "), "{}", run.out);
}

#[test]
fn the_code_follows_the_level_asked_for() {
    let code = |plan: &str, level: &str| {
        Folder::with(&[("harbor.plan.toml", plan)]).guywire(&["check", "--fail-on", level]).code
    };
    for level in ["error", "warning", "information"] {
        assert_eq!(code(WRONG, level), Some(1), "{level}");
        assert_eq!(code(HINT, level), Some(0), "{level}");
    }
    let empty = "# nothing yet\n";
    assert_eq!((code(empty, "warning"), code(empty, "information")), (Some(0), Some(1)));
}

#[test]
fn dated_rules_judge_by_the_day_asked_for() {
    let plan = "[plan]\n\n[[key]]\nname = \"harbor-2026\"\nid = 17\nalgorithm = \"aes-256\"\nheld_in = \"vault:harbor/radio/17\"\nrotate_by = 2027-01-12\n\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\nprivacy = \"harbor-2026\"\n";
    let folder = Folder::with(&[("harbor.plan.toml", plan)]);
    // The day asked for wins over the day of the settings.
    let folder_of_a_day =
        Folder::with(&[("harbor.plan.toml", plan), ("guywire.toml", "[workspace]\nas_of = 2020-01-01\n")]);
    let run = folder_of_a_day.guywire(&["check", "--fail-on", "warning", "--as-of", "2027-01-13"]);
    assert!(run.out.contains("[key-past-rotation]"), "{}", run.out);
    let on = |day: &str| folder.guywire(&["check", "--fail-on", "warning", "--as-of", day]);
    assert_eq!(on("2027-01-12").out, "");
    let after = on("2027-01-13");
    assert!(after.code == Some(1) && after.out.contains(":8:13: warning[key-past-rotation]:"), "{}", after.out);
}

#[test]
fn what_could_not_run_is_told_in_one_line_with_code_2() {
    let folder = Folder::with(&[("harbor.plan.toml", SOUND), ("notes.txt", "x"), ("empty/.keep", "")]);
    let cases: &[(&[&str], &str)] = &[
        (&["check", "nowhere"], "nothing at nowhere"),
        (&["check", ".", "harbor.plan.toml/x"], "nothing at harbor.plan.toml/x"),
        (&["check", "notes.txt"], "notes.txt is no file of the plan language"),
        (&["check", "empty"], "nothing to check at empty"),
        (&["check", "--fail-on", "hint"], "--fail-on"),
        (&["check", "--as-of", "tomorrow"], "2026-11-25"),
        (&["check", "--format", "leaflet"], "--format"),
        (&["chek"], "chek"),
        (&[], "subcommand"),
        (&["why", "zone-over-capacty"], "did you mean zone-over-capacity?"),
        (&["why", "nothing-like-it"], "lists them all"),
        (&["check", "a\u{1b}[31m\nb"], "␛[31m␊b"),
    ];
    for (arguments, told) in cases {
        let run = folder.guywire(arguments);
        assert_eq!((run.code, run.out.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(run.err.starts_with("guywire: ") && run.err.contains(told), "{arguments:?}: {}", run.err);
        assert_eq!(run.err.matches('\n').count(), 1, "{}", run.err);
    }
}

#[test]
fn help_and_version_are_no_failure() {
    let folder = Folder::new();
    for arguments in [&["--help"] as &[&str], &["--version"], &["check", "--help"]] {
        let run = folder.guywire(arguments);
        assert_eq!((run.code, run.err.as_str()), (Some(0), ""), "{arguments:?}");
        assert!(run.out.ends_with('\n') && !run.out.ends_with("\n\n"), "{:?}", run.out);
    }
}

#[test]
fn only_findings_below_the_path_are_shown() {
    let folder = Folder::with(&[
        ("guywire.toml", SETTINGS),
        ("north/a.plan.toml", WRONG),
        ("north/b.plan.toml", SOUND),
        ("south/c.plan.toml", WRONG),
    ]);
    let north = folder.guywire(&["check", "north"]);
    assert!(north.out.contains("north/a.plan.toml:2:1:") && !north.out.contains("south"), "{}", north.out);
    assert!(north.out.ends_with("1 error in 1 of 2 files.\n"), "{}", north.out);
    assert_eq!(folder.guywire(&["check", "north/b.plan.toml"]).code, Some(0));
    assert_eq!(folder.guywire(&["check", "north/b.plan.toml", "south"]).code, Some(1));
    let all = folder.guywire(&["check"]);
    assert_eq!(folder.guywire(&["check", "south", "north", "guywire.toml", "north"]).out, all.out);
}

/// A part is judged through the plan that shares it, though only the part is asked for.
#[test]
fn a_file_is_judged_in_its_workspace() {
    let folder = Folder::with(&[
        ("guywire.toml", SETTINGS),
        ("harbor.plan.toml", "[plan]\nmodel = \"hh-uhf.model.toml\"\nshares = [\"common/part.plan.toml\"]\n"),
        (
            "common/part.plan.toml",
            "[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\n\n[[zone]]\nname = \"Harbor\"\nchannels = [\"Berths\", \"\", \"\"]\n",
        ),
        ("hh-uhf.model.toml", "[model]\nname = \"hh-uhf\"\n\n[capacity]\nchannels_per_zone = 2\n"),
    ]);
    let run = folder.guywire(&["check", "common/part.plan.toml"]);
    assert!(run.out.contains("common/part.plan.toml:8:27: error[zone-over-capacity]"), "{}", run.out);
    assert!(run.out.contains("see: hh-uhf.model.toml:5:21:"), "{}", run.out);
}

#[test]
fn a_file_without_a_workspace_is_checked_without_its_neighbors() {
    let folder = Folder::with(&[("harbor.plan.toml", SOUND), ("other.plan.toml", WRONG)]);
    assert_eq!(folder.guywire(&["check", "harbor.plan.toml"]).out, "");
    assert_eq!(folder.guywire(&["check", "other.plan.toml"]).code, Some(1));
}

#[test]
fn hidden_and_ignored_folders_are_checked_where_asked_for() {
    let folder = Folder::with(&[
        ("guywire.toml", SETTINGS),
        (".kept/a.plan.toml", WRONG),
        ("old/b.plan.toml", WRONG),
        (".gitignore", "old/\n"),
    ]);
    assert_eq!(folder.guywire(&["check"]).code, Some(0));
    for path in [".kept", ".kept/a.plan.toml", "old/b.plan.toml"] {
        assert_eq!(folder.guywire(&["check", path]).code, Some(1), "{path}");
    }
}

#[test]
fn a_plan_that_the_settings_leave_out_is_told() {
    let settings = "[workspace]\nplans = [\"north/*.plan.toml\"]\n";
    let folder =
        Folder::with(&[("guywire.toml", settings), ("north/a.plan.toml", SOUND), ("south/b.plan.toml", WRONG)]);
    assert_eq!(folder.guywire(&["check"]).code, Some(0));
    let run = folder.guywire(&["check", "south/b.plan.toml"]);
    assert_eq!(run.code, Some(2));
    assert!(run.err.contains("left out by `plans`"), "{}", run.err);
}

#[cfg(unix)]
#[test]
fn links_are_followed_to_what_they_name() {
    let folder =
        Folder::with(&[("work/guywire.toml", SETTINGS), ("work/a.plan.toml", WRONG), ("kept/b.plan.toml", WRONG)]);
    std::os::unix::fs::symlink("../kept/b.plan.toml", folder.path().join("work/b.plan.toml")).unwrap();
    std::os::unix::fs::symlink("work", folder.path().join("link")).unwrap();
    let (by_name, by_link) = (folder.guywire(&["check", "work"]), folder.guywire(&["check", "link"]));
    assert_eq!(by_name, by_link);
    assert!(
        by_name.out.contains("work/a.plan.toml:2:1:") && by_name.out.contains("kept/b.plan.toml:2:1:"),
        "{}",
        by_name.out
    );
}

#[test]
fn two_runs_say_the_same() {
    let folder = Folder::new();
    for number in 0..40 {
        let plan = format!(
            "{WRONG}\n[[talkgroup]]\nname = \"Berths\"\nid = {number}\nidd = 1\n\n[[talkgroup]]\nname = \"Berths\"\nid = 1\n"
        );
        folder.write(format!("part-{}/{number}.plan.toml", number % 7), plan.as_bytes());
    }
    let first = folder.guywire(&["check"]);
    assert!(first.out.lines().count() > 400, "{}", first.out);
    for _ in 0..3 {
        assert_eq!(folder.guywire(&["check"]), first);
    }
    let places: Vec<&str> = first.out.lines().filter(|line| line.starts_with("part-")).collect();
    let paths: Vec<&str> = places.iter().map(|line| line.split(':').next().unwrap_or_default()).collect();
    assert!(paths.is_sorted(), "{paths:?}");
}

#[test]
fn colors_are_for_terminals_only() {
    let folder = Folder::with(&[("harbor.plan.toml", WRONG)]);
    assert!(!folder.guywire(&["check"]).out.contains('\u{1b}'));
    let forced = run(folder.command().arg("check").env("CLICOLOR_FORCE", "1"));
    assert!(forced.out.contains('\u{1b}'), "colors exist");
    let refused = run(folder.command().arg("check").env("CLICOLOR_FORCE", "0").env("NO_COLOR", "1"));
    assert!(!refused.out.contains('\u{1b}'));
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let folder = Folder::new();
    let groups: String =
        (0..900).map(|number| format!("[[talkgroup]]\nname = \"{number}\"\nid = {number}\n")).collect();
    folder.write("harbor.plan.toml", format!("{WRONG}{groups}").as_bytes());
    let mut command = folder.command();
    let mut child = command.arg("check").stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut first = [0; 10];
    child.stdout.take().unwrap().read_exact(&mut first).unwrap();
    let ended = child.wait_with_output().unwrap();
    assert_eq!((ended.status.code(), String::from_utf8_lossy(&ended.stderr).as_ref()), (Some(1), ""));
}

#[cfg(target_os = "linux")]
#[test]
fn an_output_that_takes_nothing_is_a_failure() {
    let folder = Folder::with(&[("harbor.plan.toml", WRONG)]);
    let full = std::fs::File::options().write(true).open("/dev/full").unwrap();
    let ended = folder.command().arg("check").stdout(full).output().unwrap();
    let told = String::from_utf8(ended.stderr).unwrap();
    assert_eq!(ended.status.code(), Some(2));
    assert!(told.starts_with("guywire: standard output cannot be written") && told.lines().count() == 1, "{told}");
}

#[test]
fn the_log_goes_to_standard_error_and_holds_no_content() {
    let material = "c0ffee5a17e0b0a710ad";
    let plan = format!("[plan]\ntitle = \"Very secret harbor\"\n\n[[key]]\nname = \"a\"\nvalue = \"{material}\"\n");
    let folder = Folder::with(&[("harbor.plan.toml", &plan)]);
    let quiet = folder.guywire(&["check"]);
    let loud = run(folder.command().arg("check").env("GUYWIRE_LOG", "trace"));
    assert_eq!((quiet.err.as_str(), &loud.out), ("", &quiet.out));
    assert!(!loud.err.is_empty(), "there is a log");
    for content in [material, "Very secret", "harbor.plan"] {
        assert!(!loud.err.contains(content), "{}", loud.err);
    }
    assert!(!quiet.out.contains(material));
    let unknown = run(folder.command().arg("check").env("GUYWIRE_LOG", "loud"));
    assert_eq!((unknown.code, &unknown.out), (quiet.code, &quiet.out));
    assert!(unknown.err.contains("GUYWIRE_LOG is none of"), "{}", unknown.err);
}

#[test]
fn rules_are_explained() {
    let folder = Folder::new();
    let page = folder.guywire(&["why", "zone-over-capacity"]);
    assert_eq!((page.code, page.err.as_str()), (Some(0), ""));
    assert!(page.out.starts_with("zone-over-capacity (error, zone, since "), "{}", page.out);
    for part in ["On the air", "Source", "  channels = [\"Berths\", \"\"]", "In guywire.toml"] {
        assert!(page.out.contains(part), "{part}: {}", page.out);
    }
    let catalog = folder.guywire(&["why"]);
    assert_eq!(catalog.code, Some(0));
    assert!(
        catalog.out.contains("\n  zone-over-capacity (error)\n") && catalog.out.starts_with("text\n"),
        "{}",
        catalog.out
    );
}

#[test]
fn an_editor_is_served_until_it_leaves() {
    let folder = Folder::with(&[("harbor.plan.toml", WRONG)]);
    for arguments in [&["serve"] as &[&str], &["serve", "--stdio"]] {
        let mut command = folder.command();
        let mut child = command.args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
        let mut input = child.stdin.take().unwrap();
        for body in [
            r#"{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"processId":null,"rootUri":null,"capabilities":{}}}"#,
            r#"{"jsonrpc":"2.0","method":"initialized","params":{}}"#,
            r#"{"jsonrpc":"2.0","id":2,"method":"shutdown"}"#,
            r#"{"jsonrpc":"2.0","method":"exit"}"#,
        ] {
            write!(input, "Content-Length: {}\r\n\r\n{body}", body.len()).unwrap();
        }
        let ended = child.wait_with_output().unwrap();
        let said = String::from_utf8(ended.stdout).unwrap();
        assert_eq!(ended.status.code(), Some(0), "{said}");
        assert!(said.starts_with("Content-Length: ") && said.contains("\"capabilities\""), "{said}");
    }
}
