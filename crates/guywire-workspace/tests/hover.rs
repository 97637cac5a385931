//! What hovers say of the demo, of a model, a bench and a field session; and what they never say.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_text::FileId;
use guywire_workspace::{Address, Budget, DiskSource, MemorySource, Workspace};
use jiff::civil::date;

/// A workspace settled as of the day of the demo.
fn settled(mut workspace: Workspace) -> Workspace {
    workspace.judge_by(date(2026, 11, 25));
    workspace.settle(Budget::All, &AtomicBool::new(false));
    workspace
}

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples").join(name).canonicalize().unwrap()
}

fn demo(name: &str) -> Workspace {
    settled(Workspace::load(Arc::new(DiskSource), &[folder(name)], date(2026, 11, 25)))
}

/// The hovers at the first `inside` after the line that `after` begins, with what each is about between brackets.
fn said(workspace: &Workspace, file: FileId, places: &[(&str, &str)]) -> String {
    let text = workspace.document(file).unwrap().whole_text();
    let mut page = String::new();
    for (after, inside) in places {
        let from = text.find(after).unwrap_or_else(|| panic!("{after} is not in the text"));
        let byte = from + text[from..].find(inside).unwrap_or_else(|| panic!("{inside} is not after {after}"));
        let hover = workspace.hover(file, byte).unwrap_or_else(|| panic!("nothing is said of {inside}"));
        let about = workspace.document(file).unwrap().slice(hover.bytes).unwrap_or_default().into_owned();
        let _ = writeln!(page, "[{about}]\n{}\n", hover.markdown);
    }
    page
}

fn of_demo(file: &str, places: &[(&str, &str)]) -> String {
    let workspace = demo("saltmarsh");
    let file = workspace.file(&Address::Disk(folder("saltmarsh").join(file))).expect("a file of the demo");
    said(&workspace, file, places)
}

#[test]
fn of_a_digital_channel() {
    let gate = "name = \"Gate\"\n";
    insta::assert_snapshot!(of_demo(
        "harbor.plan.toml",
        &[(gate, "\"Gate\""), (gate, "\"beacon\""), (gate, "\"high\""), (gate, "1\n"), ("call = \"Gate\"", "\"Gate\"")]
    ));
}

#[test]
fn of_direct_and_analog_channels() {
    let (mooring, cold) = ("name = \"Mooring 1\"\n", "name = \"Cold store\"\n");
    insta::assert_snapshot!(of_demo(
        "harbor.plan.toml",
        &[
            (mooring, "451.8375"),
            (mooring, "12.5"),
            (mooring, "1\n"),
            (mooring, "7\n"),
            (cold, "461.3125"),
            (cold, "12.5"),
            (cold, "CTCSS"),
        ]
    ));
}

/// Reasons stand in lines of their own, the nearest first.
#[test]
fn of_channels_that_not_all_hear() {
    insta::assert_snapshot!(of_demo(
        "cranes.plan.toml",
        &[("name = \"Cranes\"\nsends", "\"Cranes\""), ("name = \"Hook A\"\nsends", "\"Hook A\"")]
    ));
    let pages = of_demo("rescue.plan.toml", &[("name = \"Patrol\"\nsends", "\"Patrol\"")]);
    let lines = pages.lines().skip_while(|line| !line.contains("push-to-talk, "));
    assert!(lines.clone().count() > 2 && lines.take(3).all(|line| line.len() < 80), "{pages}");
}

/// The count says it already, where one reason without figures is all there is.
#[test]
fn a_lone_reason_is_said_once() {
    let workspace = demo("saltmarsh-with-faults");
    let path = folder("saltmarsh-with-faults").join("common/channels.plan.toml");
    let file = workspace.file(&Address::Disk(path)).expect("a file of the demo");
    let page = said(&workspace, file, &[("name = \"Berths\"", "\"Berths\"")]);
    assert!(page.contains("1 no (lost or retired)\n"), "{page}");
    assert_eq!(page.matches("lost or retired").count(), 1, "{page}");
}

#[test]
fn of_the_knob_and_the_fleet() {
    insta::assert_snapshot!(of_demo(
        "harbor.plan.toml",
        &[
            ("name = \"Quay\"\n", "\"Quay\""),
            ("name = \"Quay\"\n", "\"Ferry\""),
            ("name = \"mooring\"\n", "\"mooring\""),
            ("alias = \"Gate 1\"", "\"Gate 1\""),
            ("id = 21111", "21111"),
            ("id = 21191", "2026-10-02"),
        ]
    ));
}

#[test]
fn of_a_site_and_a_repeater() {
    let beacon = "name = \"beacon\"\n";
    insta::assert_snapshot!(of_demo(
        "common/places.plan.toml",
        &[
            ("name = \"Beacon Hill\"", "\"Beacon Hill\""),
            ("[[site]]", "site"),
            ("tx_mhz = 464.9375", "464.9375"),
            (beacon, "\"beacon\""),
            (beacon, "453.2125"),
            (beacon, "458.2125"),
            ("power_w = 25", "25"),
            ("antenna_gain_dbi", "6"),
            ("feedline_loss_db", "2"),
        ]
    ));
}

#[test]
fn of_a_license() {
    insta::assert_snapshot!(of_demo(
        "common/places.plan.toml",
        &[
            ("name = \"harbor-uhf\"", "\"harbor-uhf\""),
            ("expires", "2031"),
            ("[[license.assignment]]", "assignment"),
            ("max_power_w = 45", "45"),
            ("tx_mhz = 453.2125 ", "453.2125"),
            ("\"7K60FXE\"", "\"7K60FXE\""),
        ]
    ));
}

#[test]
fn of_groups_keys_and_emergencies() {
    insta::assert_snapshot!(of_demo(
        "common/groups.plan.toml",
        &[
            ("name = \"Pilots\"", "\"Pilots\""),
            ("[[talkgroup]]", "id = "),
            ("[[receive_group]]", "name"),
            ("[[contact]]", "name"),
            ("[[key]]", "name"),
            ("algorithm = ", "algorithm"),
            ("rotate_by", "2027"),
        ]
    ));
    insta::assert_snapshot!(of_demo(
        "common/channels.plan.toml",
        &[("[[emergency]]", "name"), ("[[scan_list]]", "name")]
    ));
}

#[test]
fn of_a_model() {
    insta::assert_snapshot!(of_demo(
        "models/hh-uhf.model.toml",
        &[
            ("stability_ppm", "1.5"),
            ("low_mhz", "403"),
            ("watts = 4.0", "4.0"),
            ("analog_dbm", "-119"),
            ("digital_dbm", "-119"),
            ("gain_dbi", "-3.0"),
            ("mah", "2300"),
        ]
    ));
}

const PLAN: &str = r#"[plan]
title = "Saltmarsh Harbor handhelds"
model = "hh-uhf.model.toml"
regime = "us-part-90"
mains_hz = 60

[[site]]
name = "Beacon Hill"
latitude = 44.1021
longitude = -68.8113
antenna_m = 24

[[repeater]]
name = "beacon"
site = "Beacon Hill"
tx_mhz = 453.2125
rx_mhz = 458.2125
color_code = 15
power_w = 25
antenna_gain_dbi = 6.0

[[channel]]
name = "Berths"
sends = "digital"
repeater = "beacon"

[[channel]]
name = "Deck"
sends = "analog"
rx_mhz = 156.8
bandwidth_khz = 25
rx_tone = "DCS 023N"
tx_tone = "CTCSS 118.8"

[[channel]]
name = "Shed"
sends = "analog"
rx_mhz = 154.5
tx_tone = "CTCSS 179.9"
rx_tone = "CTCSS 101.2"

[[contact]]
name = "Everyone"
all_call = true

[[radio]]
id = 16776902
alias = "Crane 2"

[[key]]
name = "yard"
algorithm = "fixed-scramble"

[requirements]
battery_hours = 10
duty = { transmit_percent = 10, receive_percent = 10 }
high_power_at_least_w = 3.0
range_at_least_km = 6
quality_at_least_daq = 3.4
"#;

const MODEL: &str = r#"[model]
name = "hh-uhf"
stability_ppm = 1.5

[[model.band]]
low_mhz = 403
high_mhz = 473

[[model.power]]
level = "high"
watts = 4.0

[receiver]
analog_dbm = -119

[battery]
mah = 2300
transmit_ma = 1600
receive_ma = 250
standby_ma = 75
"#;

const BENCH: &str = include_str!("../../guywire-plan/tests/language/unit-41.bench.toml");
const FIELD: &str = include_str!("../../guywire-plan/tests/language/outing.field.toml");
const REGIME: &str = include_str!("../../guywire-plan/tests/language/quay.regime.toml");

const FILES: [(&str, &str); 5] = [
    ("/harbor/harbor.plan.toml", PLAN),
    ("/harbor/hh-uhf.model.toml", MODEL),
    ("/harbor/unit-41.bench.toml", BENCH),
    ("/harbor/outing.field.toml", FIELD),
    ("/harbor/quay.regime.toml", REGIME),
];

fn of_small(file: &str, places: &[(&str, &str)]) -> String {
    let workspace =
        Workspace::load(Arc::new(MemorySource::new(FILES)), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    let workspace = settled(workspace);
    let file = workspace.file(&Address::Disk(Path::new("/harbor").join(file))).expect("a file of the harbor");
    said(&workspace, file, places)
}

#[test]
fn of_what_is_odd_in_a_plan() {
    insta::assert_snapshot!(of_small(
        "harbor.plan.toml",
        &[
            ("color_code", "15"),
            ("power_w", "25"),
            ("rx_mhz = 156.8", "156.8"),
            ("bandwidth_khz", "25"),
            ("DCS", "DCS"),
            ("CTCSS 118.8", "CTCSS"),
            ("CTCSS 101.2", "CTCSS"),
            ("\"Everyone\"", "\"Everyone\""),
            ("16776902", "16776902"),
            ("\"yard\"", "\"yard\""),
        ]
    ));
}

#[test]
fn of_a_service() {
    insta::assert_snapshot!(of_small("harbor.plan.toml", &[("regime", "\"us-part-90\"")]));
}

#[test]
fn of_a_service_in_a_file() {
    let plan = PLAN.replacen("\"us-part-90\"", "\"quay.regime.toml\"", 1);
    let files = FILES.map(|(path, text)| (path, if path.ends_with(".plan.toml") { plan.as_str() } else { text }));
    let workspace =
        Workspace::load(Arc::new(MemorySource::new(files)), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    let workspace = settled(workspace);
    let file = workspace.file(&Address::Disk(PathBuf::from("/harbor/harbor.plan.toml"))).unwrap();
    let places = [("regime", "\"quay.regime.toml\""), ("tx_mhz = 453.2125", "453.2125"), ("power_w", "25")];
    insta::assert_snapshot!(said(&workspace, file, &places));
}

#[test]
fn of_requirements() {
    insta::assert_snapshot!(of_small(
        "harbor.plan.toml",
        &[("battery_hours", "10"), ("high_power", "3.0"), ("range_at", "6"), ("quality_at", "3.4")]
    ));
}

#[test]
fn of_a_bench_session() {
    insta::assert_snapshot!(of_small(
        "unit-41.bench.toml",
        &[
            ("path_loss_db", "0.4"),
            ("full_scale_w", "25"),
            ("calibrated", "2026"),
            ("watts = 3.7", "3.7"),
            ("reflected_w", "0.05"),
            ("frequency_error_hz", "-120"),
            ("sinad_12db_uv", "0.25"),
        ]
    ));
}

#[test]
fn of_a_field_trial() {
    insta::assert_snapshot!(of_small(
        "outing.field.toml",
        &[("date", "2026"), ("channel = \"Berths\"", "\"Berths\""), ("daq = 4.0", "4.0"), ("distance_km", "7.5")]
    ));
}

#[test]
fn of_a_regime() {
    insta::assert_snapshot!(of_small(
        "quay.regime.toml",
        &[
            ("low_mhz", "453"),
            ("\"11K0F3E\"", "\"11K0F3E\""),
            ("\"FXD\"", "\"FXD\""),
            ("max_power_w", "35"),
            ("valid_until", "2028")
        ]
    ));
}

/// Every file that a workspace reads.
fn every_byte(workspace: &Workspace, mut look: impl FnMut(FileId, usize)) -> usize {
    let mut bytes = 0;
    for file in workspace.files() {
        let Some(document) = workspace.document(file) else { continue };
        (0..=document.len()).for_each(|byte| look(file, byte));
        bytes += document.len();
    }
    bytes
}

#[test]
fn nothing_fails_at_any_byte() {
    for name in ["saltmarsh", "saltmarsh-with-faults"] {
        let workspace = demo(name);
        let mut hovers = 0;
        let bytes = every_byte(&workspace, |file, byte| {
            let Some(hover) = workspace.hover(file, byte) else { return };
            hovers += 1;
            assert!(
                !hover.plain.contains("**") && !hover.plain.contains("NaN") && !hover.plain.contains("inf "),
                "{}",
                hover.plain
            );
            let far = hover.plain.lines().find(|line| line.starts_with("- ") && line.chars().count() > 330);
            assert!(far.is_none(), "{far:?}");
        });
        assert!(hovers > bytes / 4, "{hovers} hovers at {bytes} bytes of {name}");
    }
}

#[test]
fn nothing_secret_is_said_at_any_byte() {
    let secret = "5EC2E70FF1CE";
    let text = format!(
        "{PLAN}\n[[key]]\nname = \"lock\"\nalgorithm = \"aes-128\"\nvalue = \"{secret}\"\ncheck_value = \"{secret}{secret}\"\n\
         # {secret}\nvalu = \"{secret}\"\n\n[security]\nprogramming_code = \"{secret}\"\npower_on_code = {{ held_in = \"{secret}\" }}\n"
    );
    let files = [("/harbor/harbor.plan.toml", text.as_str()), ("/harbor/hh-uhf.model.toml", MODEL)];
    let workspace =
        settled(Workspace::load(Arc::new(MemorySource::new(files)), &[PathBuf::from("/harbor")], date(2026, 11, 25)));
    let mut hovers = 0;
    every_byte(&workspace, |file, byte| {
        let Some(hover) = workspace.hover(file, byte) else { return };
        hovers += 1;
        assert!(!hover.markdown.contains(secret) && !hover.plain.contains(secret), "{}", hover.plain);
    });
    assert!(hovers > 500, "{hovers}");
}

/// The lines of a file with their hints between `‹` and `›`; those without a hint are left out.
fn hinted(workspace: &Workspace, file: FileId) -> String {
    let mut text = workspace.document(file).unwrap().whole_text();
    for hint in workspace.inlay_hints(file, 0..text.len()).iter().rev() {
        let (left, right) = if hint.before { ("", " ") } else { (" ", "") };
        text.insert_str(hint.at, &format!("{left}‹{}›{right}", hint.label));
    }
    text.lines().filter(|line| line.contains('‹')).map(|line| format!("{line}\n")).collect()
}

#[test]
fn hints_stand_within_the_lines() {
    let workspace = demo("saltmarsh");
    let file = |name: &str| workspace.file(&Address::Disk(folder("saltmarsh").join(name))).unwrap();
    let quay = hinted(&workspace, file("harbor.plan.toml"));
    let kept: Vec<&str> = quay.lines().take(9).chain(quay.lines().rev().take(12)).collect();
    insta::assert_snapshot!(format!("{}\n\n{}", kept.join("\n"), hinted(&workspace, file("common/places.plan.toml"))));
}

#[test]
fn hints_of_a_part_are_those_of_the_whole_that_stand_in_it() {
    let workspace = demo("saltmarsh-with-faults");
    let mut some = 0;
    for file in workspace.files() {
        let Some(document) = workspace.document(file) else { continue };
        let length = document.len();
        let all = workspace.inlay_hints(file, 0..length);
        for start in (0..length).step_by(97) {
            let end = (start + 311).min(length);
            let expected: Vec<_> = all.iter().filter(|hint| (start..=end).contains(&hint.at)).cloned().collect();
            some += expected.len();
            assert_eq!(workspace.inlay_hints(file, start..end), expected, "{start}..{end}");
        }
    }
    assert!(some > 500, "{some}");
}
