//! JSON and SARIF: their form on the bad plan of every rule, their words on a plan, and what diffs show.

#![allow(clippy::unwrap_used)]

mod common;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use common::{plain, report, workspace, written};
use guywire_report::{Json, Lines, Report, Sarif, name_from, write_diff};
use guywire_rules::{CATALOG, Page};
use guywire_workspace::{Budget, Change, DiskSource, Workspace};
use jiff::civil::date;
use serde_json::{Value, json};

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

/// The report of each rule's bad plan, with the texts of its files.
fn bad_plans() -> impl Iterator<Item = (&'static str, Vec<(&'static str, String)>, Report)> {
    let pages = CATALOG.iter().map(|rule| (rule.about().name, Page::of(rule.about()).bad));
    pages.filter(|(_, bad)| !bad.is_empty()).map(|(rule, bad)| {
        let files: Vec<_> = bad.into_iter().map(|example| (example.file, example.text)).collect();
        let report = report(&workspace(files.clone()));
        (rule, files, report)
    })
}

/// What was found in the demo with planted faults.
fn demo() -> Report {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples/saltmarsh-with-faults");
    let folder = std::fs::canonicalize(folder).unwrap();
    let roots: Vec<PathBuf> = vec![folder.clone()];
    let mut workspace = Workspace::load(Arc::new(DiskSource), &roots, date(2026, 11, 25));
    assert!(workspace.settle(Budget::All, &AtomicBool::new(false)).settled);
    Report::of(&workspace, &workspace.files(), &|file| name_from(&workspace, file, &folder))
}

/// A plan in which a key is written, and a color code that its repeater does not open for: a secret, two fixes, another
/// place.
const HARBOR: &str = r#"[plan]
title = "Saltmarsh Harbor handhelds"

[[repeater]]
name = "beacon"
rx_mhz = 458.2125
tx_mhz = 453.2125
color_code = 5

[[channel]]
name = "Berths"
sends = "digital"
repeater = "beacon"
color_code = 3
slot = 1
privacy = "harbor"

[[key]]
name = "harbor"
id = 17
algorithm = "aes-256"
value = "5c0e9a7714d2b83f61e4c7a90b3d58f26a1f47d0933be8c2054f7e6a1db98c35"
"#;

/// What is said of those two.
fn of_harbor() -> Report {
    let mut report = report(&workspace([("harbor.plan.toml", HARBOR)]));
    let wanted = ["key-in-clear", "color-code-differs-from-repeater"];
    report.files.iter_mut().for_each(|file| file.entries.retain(|entry| wanted.contains(&entry.rule)));
    assert_eq!(report.entries().count(), wanted.len());
    report
}

#[test]
fn json_has_a_member_for_all_that_is_said() {
    for (rule, files, report) in bad_plans() {
        let document = parsed(&written(&Json, &report));
        assert_eq!((&document["version"], &document["files"]), (&json!(1), &json!(report.files.len())));
        let findings = document["findings"].as_array().unwrap();
        assert_eq!(findings.len(), report.entries().count());
        assert!(findings.iter().any(|finding| finding["rule"] == rule), "{rule}: {document}");
        for (finding, (file, entry)) in findings.iter().zip(report.entries()) {
            let members: Vec<&String> = finding.as_object().unwrap().keys().collect();
            assert_eq!(members, ["end", "fixes", "key", "level", "message", "path", "related", "rule", "start", "why"]);
            assert_eq!(finding["path"], file.path);
            assert_eq!(finding["key"], format!("{:032x}", entry.key.0));
            assert!(!finding["why"].as_str().unwrap().is_empty(), "{rule}");
            let text = files.iter().find(|(name, _)| *name == file.path).map_or("", |(_, text)| text);
            assert_place(&finding["start"], text);
            assert_place(&finding["end"], text);
        }
    }
}

/// Line and column say the same as the byte; counted here from the text alone.
fn assert_place(place: &Value, text: &str) {
    let byte = usize::try_from(place["byte"].as_u64().unwrap()).unwrap();
    let before = &text[..byte];
    let line = before.matches('\n').count() + 1;
    let column = before[before.rfind('\n').map_or(0, |end| end + 1)..].chars().count() + 1;
    assert_eq!((&place["line"], &place["column"]), (&json!(line), &json!(column)), "{text}");
}

/// The example in docs/output.md is what is written of the plan above it.
#[test]
fn the_documented_example_is_real() {
    let document = include_str!("../../../docs/output.md");
    let block =
        |language: &str| document.split(&format!("```{language}\n")).nth(1).and_then(|rest| rest.split("```").next());
    let mut report = report(&workspace([("harbor.plan.toml", block("toml").unwrap())]));
    report.files[0].entries.retain(|entry| entry.rule == "wrong-type");
    assert_eq!(block("json").unwrap(), written(&Json, &report));
}

#[test]
fn edits_are_bytes_of_the_text_as_it_is() {
    let plan = "\u{feff}[plan]\r\n# ünder the 📻\r\n[[channel]]\r\nname = \"Berths\"\r\nsends = \"digital\"\r\nslot = 1\r\nrx_mhz = \"453.2125\"\r\n";
    let document = parsed(&written(&Json, &report(&workspace([("harbor.plan.toml", plan)]))));
    let findings = document["findings"].as_array().unwrap();
    let finding = findings.iter().find(|finding| finding["rule"] == "wrong-type").unwrap();
    assert_eq!((&finding["start"]["line"], &finding["start"]["column"]), (&json!(7), &json!(10)));
    let edit = &finding["fixes"][0]["edits"][0];
    let byte = |name: &str| usize::try_from(edit[name].as_u64().unwrap()).unwrap();
    let mut text = plan.to_owned();
    text.replace_range(byte("start_byte")..byte("end_byte"), edit["text"].as_str().unwrap());
    assert_eq!(text, plan.replace("\"453.2125\"", "453.2125"));
}

#[test]
fn sarif_has_what_readers_of_it_need() {
    for (rule, _, report) in bad_plans() {
        let log = parsed(&written(&Sarif, &report));
        assert_eq!(log["version"], "2.1.0");
        let run = &log["runs"][0];
        let rules = run["tool"]["driver"]["rules"].as_array().unwrap();
        let results = run["results"].as_array().unwrap();
        assert_eq!(results.len(), report.entries().count());
        for about in rules {
            for text in ["/shortDescription/text", "/fullDescription/text", "/help/text", "/help/markdown"] {
                assert!(about.pointer(text).is_some_and(|text| text.as_str() > Some("")), "{rule}: {text}");
            }
            assert!(about["defaultConfiguration"]["level"].is_string(), "{rule}");
        }
        for result in results {
            let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
            assert_eq!(rules[index]["id"], result["ruleId"]);
            assert!(result["message"]["text"].is_string() && result["level"].is_string());
            let place = &result["locations"][0]["physicalLocation"];
            assert!(place["region"]["startLine"].as_u64() >= Some(1), "{rule}");
            assert_eq!(place["artifactLocation"]["uriBaseId"], "SRCROOT");
            assert!(result["partialFingerprints"]["findingKey/v1"].is_string());
            for fix in result["fixes"].as_array().into_iter().flatten() {
                assert!(fix["artifactChanges"][0]["replacements"][0]["deletedRegion"].is_object(), "{rule}");
            }
        }
    }
}

/// A result is the same finding to a reader when lines above it come and go.
#[test]
fn fingerprints_do_not_depend_on_lines() {
    let plan = "[plan]\ntitel = \"a\"\n";
    let fingerprints = |plan: &str| {
        let log = parsed(&written(&Sarif, &report(&workspace([("harbor.plan.toml", plan)]))));
        let results = log["runs"][0]["results"].as_array().unwrap().clone();
        results.iter().map(|result| result["partialFingerprints"].clone()).collect::<Vec<_>>()
    };
    assert_eq!(fingerprints(plan), fingerprints(&format!("# more\n\n{plan}")));
    assert!(!fingerprints(plan).is_empty());
}

#[test]
fn findings_past_the_cap_are_counted() {
    let plan: String = (0..1_100).map(|id| format!("[[talkgroup]]\nname = \"Berths {id}\"\nid = {id}\n")).collect();
    let report = report(&workspace([("harbor.plan.toml", format!("[plan]\n{plan}"))]));
    let withheld = report.files[0].withheld;
    assert!(withheld > 0);
    let document = parsed(&written(&Json, &report));
    assert_eq!(document["withheld"], json!([{ "path": "harbor.plan.toml", "count": withheld }]));
    let log = parsed(&written(&Sarif, &report));
    let told = &log["runs"][0]["invocations"][0]["toolExecutionNotifications"][0]["message"]["text"];
    assert!(told.as_str().unwrap().starts_with(&format!("{withheld} more")), "{told}");
}

/// A plan with two faults of one rule, one of which a waiver accepts.
const WAIVED: &str = r#"[plan]
title = "Saltmarsh Harbor handhelds"

[[channel]]
name = "Berths"
sends = "digital"
rx_mhz = 453.2125
# waive(color-code-15) until 2027-01-31: agreed with "the yard"
color_code = 15

[[channel]]
name = "Gate"
sends = "digital"
rx_mhz = 453.4625
color_code = 15

[[zone]]
name = "Harbor"
channels = ["Berths", "Gate"]
"#;

#[test]
fn what_is_waived_is_listed_with_its_reason_and_end() {
    let report = report(&workspace([("harbor.plan.toml", WAIVED)]));
    let document = parsed(&written(&Json, &report));
    let findings = document["findings"].as_array().unwrap();
    let [found] = findings.as_slice() else { panic!("{document}") };
    let [waived] = document["waived"].as_array().unwrap().as_slice() else { panic!("{document}") };
    assert_eq!(waived["waived"], json!({ "reason": "agreed with \"the yard\"", "until": "2027-01-31" }));
    let place = (&waived["path"], &waived["start"]["line"], &found["start"]["line"]);
    assert_eq!(place, (&json!("harbor.plan.toml"), &json!(9), &json!(15)));
    assert_eq!((&waived["rule"], &waived["level"]), (&found["rule"], &found["level"]));
    assert_place(&waived["start"], WAIVED);
    assert_place(&waived["end"], WAIVED);
    assert!(plain(&report).ends_with("\n1 warning in 1 file; 1 waived.\n"), "{}", plain(&report));
}

/// A waiver without reason or end, and nothing else that is found.
#[test]
fn a_waiver_may_have_neither_reason_nor_end() {
    let plan = WAIVED
        .replace(" until 2027-01-31: agreed with \"the yard\"", "")
        .replace("color_code = 15\n\n[[zone", "\n[[zone");
    let mut report = report(&workspace([("harbor.plan.toml", plan)]));
    let document = parsed(&written(&Json, &report));
    assert_eq!(document["waived"][0]["waived"], json!({ "reason": null, "until": null }));
    report.files[0].entries.clear();
    assert_eq!(plain(&report), "1 waived.\n");
}

#[test]
fn a_run_says_what_the_last_one_said() {
    let (first, second) = (demo(), demo());
    assert_eq!(written(&Json, &first), written(&Json, &second));
    assert_eq!(written(&Sarif, &first), written(&Sarif, &second));
}

#[test]
fn json_of_a_plan() {
    insta::assert_snapshot!(written(&Json, &of_harbor()));
}

#[test]
fn sarif_of_a_plan() {
    insta::assert_snapshot!(written(&Sarif, &of_harbor()));
}

/// The diff from one text of a plan to another.
fn diff(old: &'static str, new: &str) -> String {
    let mut workspace = workspace([("harbor.plan.toml", old)]);
    let file = workspace.files()[0];
    let old = Lines::of(&workspace, file);
    let address = workspace.address(file).unwrap();
    workspace.apply(Change::Open { address, version: 1, text: new.to_owned() });
    let mut out = anstream::StripStream::new(Vec::new());
    write_diff("harbor.plan.toml", &old, &Lines::of(&workspace, file), &mut out).unwrap();
    String::from_utf8(out.into_inner()).unwrap()
}

#[test]
fn a_changed_secret_is_a_changed_line_without_it() {
    let told = diff("[[key]]\nvalue = \"C0FFEE5A17\"\n", "[[key]]\nvalue = \"E0B0A710AD\"\n");
    assert_eq!(
        told,
        "--- a/harbor.plan.toml\n+++ b/harbor.plan.toml\n@@ -1,2 +1,2 @@\n [[key]]\n-value = [redacted]\n+value = [redacted]\n"
    );
}

#[test]
fn hunks_are_numbered_as_posix_has_it() {
    assert_eq!(diff("[plan]\n", "[plan]\n"), "");
    assert!(diff("", "[plan]\n").contains("@@ -0,0 +1 @@\n+[plan]\n"), "{}", diff("", "[plan]\n"));
    assert!(diff("[plan]\n", "").contains("@@ -1 +0,0 @@\n-[plan]\n"));
    assert!(diff("[plan]", "[plan]\n").contains("-[plan]\n\\ No newline at end of file\n+[plan]\n"));
}
