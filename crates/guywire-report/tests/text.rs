//! What people read: the bad plan of every rule's page, and texts that are hard to show.

mod common;

use common::{colored, plain, report, workspace};
use guywire_report::{Counts, write_catalog, write_page};
use guywire_rules::{CATALOG, Level, Page};

fn shown<B: Into<Vec<u8>>>(files: impl IntoIterator<Item = (&'static str, B)>) -> String {
    plain(&report(&workspace(files)))
}

/// Every rule is held to the form; its words to a snapshot. A new rule gets one by `INSTA_UPDATE=always`.
#[test]
fn the_bad_plan_of_every_rule() {
    let taking = std::env::var("INSTA_UPDATE").is_ok_and(|wanted| wanted == "always");
    let mut held = 0;
    for rule in CATALOG {
        let about = rule.about();
        let bad = Page::of(about).bad;
        if bad.is_empty() {
            continue;
        }
        let text = shown(bad.into_iter().map(|example| (example.file, example.text)));
        assert_form(about.name, &text);
        let name = format!("bad_{}", about.name.replace('-', "_"));
        let path = format!("{}/tests/snapshots/text__{name}.snap", env!("CARGO_MANIFEST_DIR"));
        if taking || std::path::Path::new(&path).exists() {
            held += 1;
            insta::assert_snapshot!(name, text);
        }
    }
    assert!(held >= 17, "{held} snapshots");
}

/// A place, a level and the rule; a line of the text with something underlined; how to learn more, once.
fn assert_form(rule: &str, text: &str) {
    let first = text.lines().next().unwrap_or_default();
    let place: Vec<&str> = first.split(": ").next().unwrap_or_default().split(':').collect();
    assert!(
        matches!(place[..], [_, line, column] if line.parse::<u32>().is_ok() && column.parse::<u32>().is_ok()),
        "{text}"
    );
    assert!(first.contains(&format!("[{rule}]: ")), "{text}");
    assert!(text.lines().nth(1).is_some_and(|line| line.contains(" | ")), "{text}");
    assert!(text.lines().nth(2).is_some_and(|line| line.contains('^')), "{text}");
    assert_eq!(text.matches(&format!("why: guywire why {rule}\n")).count(), 1, "{text}");
}

#[test]
fn nothing_found() {
    insta::assert_snapshot!(shown([("harbor.plan.toml", "[plan]\n"), ("guywire.toml", "[workspace]\n")]),
        @"");
}

#[test]
fn several_files_stand_in_the_order_of_their_paths() {
    insta::assert_snapshot!(shown([
        ("north.plan.toml", "[plan]\nshares = [\"common/groups.plan.toml\"]\ntitel = \"North quay\"\n"),
        (
            "common/groups.plan.toml",
            "[[talkgroup]]\nname = \"Berths\"\nid = 1201\n\n[[talkgroup]]\nname = \"Berths\"\nid = 1202\n"
        ),
        ("cranes.plan.toml", "[plan]\nshares = [\"common/grups.plan.toml\"]\n"),
        ("guywire.toml", "[workspace]\n"),
    ]));
}

#[test]
fn a_file_that_is_no_text() {
    let utf_16: Vec<u8> = "\u{FEFF}[plan]\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let files = [("a.plan.toml", utf_16), ("b.plan.toml", b"[plan]\ntitle = \"caf\xE9\"\n".to_vec())];
    insta::assert_snapshot!(shown(files));
}

#[test]
fn wide_combining_tabs_and_line_ends() {
    insta::assert_snapshot!(shown([(
        "harbor.plan.toml",
        "\u{FEFF}[plan]\r\n\ttitle = \"埠頭 Hafen\", \r\n\r\n[[channel]]\r\nname = \"Kra\u{308}ne 埠頭\"\r\nsends = \"digital\"\r\nrx_mhz = 453.2125\r\nsolt = 1 # 埠頭\r\n",
    )]));
}

#[test]
fn a_line_of_a_million_characters_is_cut_around_the_place() {
    let empty = format!("\"\",{}", " ".repeat(500)).repeat(1_000);
    let plan = format!(
        "[plan]\n\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\n\n[[zone]]\nname = \"Harbor\"\nchannels = [{empty}\"Bertsh\", {empty}\"Berths\"]\n"
    );
    assert!(plan.len() > 1_000_000);
    let text = shown([("harbor.plan.toml", plan)]);
    insta::assert_snapshot!(text);
}

#[test]
fn what_a_terminal_would_obey_is_made_visible_everywhere() {
    let escapes = "\\u001b[2J\\u0007\\n\\u202e";
    let plan = format!(
        "[plan]\n\n[[channel]]\nname = \"Berths {escapes}\"\nsends = \"digital\"\nrx_mhz = 453.2125\ncall = \"Pilots{escapes}\"\n\"slo{escapes}\" = 1 # \u{202e}\n"
    );
    let files = [("har\x1b[31mbor.plan.toml", plan)];
    let report = report(&workspace(files));
    let text = plain(&report);
    assert!(!text.chars().any(|letter| letter.is_control() && letter != '\n'), "{text:?}");
    assert!(!text.contains('\u{202e}'), "{text:?}");
    assert!(text.contains("har␛[31mbor.plan.toml:"), "{text}");
    let places = text.lines().filter(|line| line.starts_with("har")).count();
    assert_eq!(places, report.entries().count(), "a line end in a name begins no line: {text}");
}

#[test]
fn colors_are_codes_around_the_same_text() {
    let report = report(&workspace([("harbor.plan.toml", "[plan]\ntitel = \"North quay\"\n")]));
    let colored = colored(&report);
    assert!(colored.contains("\x1b[31m") && colored.contains("\x1b[0m"), "{colored:?}");
    assert_eq!(anstream_free(&colored), plain(&report));
}

/// The text without what stands between ESC and `m`.
fn anstream_free(text: &str) -> String {
    let mut parts = text.split('\x1b');
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |text, part| text + part.split_once('m').map_or("", |(_, rest)| rest))
}

#[test]
fn counts_and_levels() {
    let report = report(&workspace([
        ("harbor.plan.toml", "[plan]\ntitel = \"North quay\"\n\n[[talkgroup]]\nname = \"Berths\"\nid = 1201\n"),
        ("guywire.toml", "[workspace]\n"),
    ]));
    let expected = Counts { errors: 1, hints: 1, files: 2, files_with_findings: 1, ..Counts::default() };
    assert_eq!(report.counts(), expected);
    assert!(report.reaches(Level::Error) && report.reaches(Level::Warning));
}

#[test]
fn a_level_is_reached_from_above_only() {
    let report = report(&workspace([("harbor.plan.toml", "[plan]\n\n[[talkgroup]]\nname = \"Berths\"\nid = 1201\n")]));
    assert_eq!(report.counts().hints, 1);
    assert!(report.reaches(Level::Hint) && !report.reaches(Level::Information) && !report.reaches(Level::Error));
}

#[test]
fn a_page_at_a_terminal() {
    let rule = guywire_rules::find("zone-over-capacity").unwrap();
    let mut out = anstream::StripStream::new(Vec::new());
    write_page(rule.about(), &mut out).unwrap();
    insta::assert_snapshot!(String::from_utf8(out.into_inner()).unwrap());
}

#[test]
fn every_rule_is_in_the_catalog() {
    let mut out = anstream::StripStream::new(Vec::new());
    write_catalog(&mut out).unwrap();
    let text = String::from_utf8(out.into_inner()).unwrap();
    for rule in CATALOG {
        assert_eq!(text.matches(&format!("\n  {} (", rule.about().name)).count(), 1, "{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 110), "{text}");
    insta::assert_snapshot!(text.split("\n\n").next().unwrap_or_default());
}
