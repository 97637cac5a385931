//! What is offered at some cursors.

use super::harness::{At, beside_demo};

const PLAN: &str = r#"[plan]
title = "Try"
model = "models/hh-uhf.model.toml"
regime = "us-part-90"
shares = ["common/places.plan.toml", "common/groups.plan.toml", "common/channels.plan.toml"]

"#;

/// A plan that shares the demo's parts.
fn plan(text: &str) -> At {
    beside_demo("try.plan.toml", &format!("{PLAN}{text}"))
}

/// A plan of a service with a table of channels.
fn plan_of(service: &str, text: &str) -> At {
    beside_demo("try.plan.toml", &format!("[plan]\ntitle = \"Try\"\nregime = \"{service}\"\n\n{text}"))
}

fn lines(text: &str, from: usize) -> String {
    text.lines().skip(from).collect::<Vec<_>>().join("\n")
}

// ---- keys -------------------------------------------------------------------------------------------

#[test]
fn in_a_channel_what_is_missing_comes_first() {
    insta::assert_snapshot!(plan("[[channel]]\n▮\n").shown(40));
}

#[test]
fn what_is_written_is_not_offered_again() {
    let at = plan("[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrepeater = \"beacon\"\n▮\ncolor_code = 5\n");
    let labels = at.labels();
    for key in ["name", "sends", "repeater", "color_code"] {
        assert!(!labels.iter().any(|label| label == key), "{key}");
    }
    // A table that begins here would take the keys below it.
    assert!(!labels.iter().any(|label| label.starts_with('[')));
    assert_eq!(labels[0], "receives");
}

#[test]
fn keys_without_effect_come_last() {
    let at = plan("[[channel]]\nname = \"Marina\"\nsends = \"analog\"\nrx_mhz = 464.4875\n▮\nnotes = \"x\"\n");
    let labels = at.labels();
    let place = |key: &str| labels.iter().position(|label| label == key).expect("offered");
    assert!(place("rx_tone") < place("color_code") && place("tail") < place("slot"), "{labels:?}");
    assert!(
        at.item("slot").plain_doc.contains("It has no effect here: the channel neither sends nor receives digital.")
    );
}

#[test]
fn a_half_typed_key_is_found() {
    insta::assert_snapshot!(
        plan("[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrepeater = \"north mole\"\ncolor_c▮\n").shown(9)
    );
}

#[test]
fn a_key_says_type_unit_and_purpose() {
    let item = plan("[[channel]]\ntx_▮\n").item("tx_mhz");
    insta::assert_snapshot!(format!("{}\n---\n{}\n---\n{}", item.detail, item.markdown, item.plain_doc));
}

#[test]
fn a_key_that_has_a_value_is_renamed_only() {
    let at = plan("[[channel]]\nn▮ame = \"Berths\"\n");
    assert!(lines(&at.after("notes"), 6).starts_with("[[channel]]\nnotes = \"Berths\""));
}

#[test]
fn before_a_key_another_line_is_written() {
    let at = plan("[[channel]]\n▮name = \"Berths\"\n");
    assert!(lines(&at.after("slot"), 6).starts_with("[[channel]]\nslot = 1\nname = \"Berths\""));
}

#[test]
fn at_the_end_of_a_file_without_a_last_line_end() {
    let at = plan("[[talkgroup]]\nna▮");
    insta::assert_snapshot!(at.shown(9));
    assert!(at.after("name").ends_with("[[talkgroup]]\nname = \"\""));
}

#[test]
fn with_carriage_returns() {
    let text = format!("{PLAN}[[talkgroup]]\n▮\n").replace('\n', "\r\n");
    let at = beside_demo("try.plan.toml", &text);
    assert!(at.after("name").ends_with("[[talkgroup]]\r\nname = \"\"\r\n"));
    assert!(at.after("[[zone]]").ends_with("[[talkgroup]]\r\n[[zone]]\r\nname = \"\"\r\nchannels = []\r\n"));
}

#[test]
fn in_an_inline_table() {
    insta::assert_snapshot!(plan("[[network]]\nname = \"x\"\nwide = [{ ▮ }]\n").shown(9));
    insta::assert_snapshot!(plan("[[repeater]]\nslot_1 = { talkgroups = [\"Berths\"]▮ }\n").shown(9));
    insta::assert_snapshot!(plan("[[site]]\nname = \"x\"\nduplexer = { spac▮\n").shown(9));
}

#[test]
fn a_part_of_a_table_comes_in_braces() {
    insta::assert_snapshot!(plan("[[site]]\nname = \"x\"\ndupl▮\n").shown(3));
    insta::assert_snapshot!(plan("[[site]]\nname = \"x\"\nduplexer = ▮\n").shown(3));
    insta::assert_snapshot!(
        plan("[[network]]\nname = \"x\"\nwide = [\n    { talkgroup = \"Berths\", slot = 1 },\n    ▮\n]\n").shown(3)
    );
    insta::assert_snapshot!(plan("[[site]]\nname = \"x\"\nduplexer.▮\n").shown(3));
}

#[test]
fn a_secret_is_offered_as_the_place_where_it_is_kept() {
    insta::assert_snapshot!(plan("[security]\n▮\n").shown(2));
    let key = plan("[[key]]\nname = \"x\"\n▮\n");
    assert!(!key.labels().contains(&"value".to_owned()) && key.labels().contains(&"held_in".to_owned()));
    assert_eq!(plan("[[key]]\nname = \"x\"\nvalue = \"▮5EC2E7\"\n").shown(9), "nothing");
    assert_eq!(plan("[[key]]\nname = \"x\"\nvalue = ▮\n").shown(9), "nothing");
    insta::assert_snapshot!(plan("[security]\nprogramming_code = ▮\n").shown(9));
}

// ---- headers ----------------------------------------------------------------------------------------

#[test]
fn after_two_brackets_tables_of_which_there_may_be_many() {
    insta::assert_snapshot!(plan("[[talkgroup]]\nname = \"x\"\nid = 1\n\n[[▮").shown(40));
}

#[test]
fn after_a_bracket_every_table_that_may_begin() {
    insta::assert_snapshot!(plan("[[site]]\nname = \"x\"\n\n[▮\n\n[[talkgroup]]\nname = \"y\"\n").shown(6));
    // There is a plan already.
    assert!(!plan("[▮\n").labels().contains(&"[plan]".to_owned()));
}

#[test]
fn a_half_typed_header_is_completed_whatever_closes_it() {
    for typed in ["[[chan▮", "[[chan▮]", "[[chan▮]]", "[[▮]]", "[chan▮", "[chan▮]"] {
        let after = plan(&format!("{typed}\n")).after("[[channel]]");
        assert_eq!(lines(&after, 6), "[[channel]]\nname = \"\"\nsends = \"digital\"\nrepeater = \"\"", "{typed}");
    }
}

#[test]
fn a_part_is_offered_below_its_table() {
    insta::assert_snapshot!(plan("[[license]]\nname = \"x\"\n\n[[license.▮\n").shown(9));
    assert_eq!(plan("[[zone]]\nname = \"x\"\n\n[[license.▮\n").shown(9), "nothing");
    // What is written in brackets cannot be gone on with by a header.
    let inline = plan("[[network]]\nname = \"x\"\nwide = [{ talkgroup = \"Berths\" }]\n\n[[net▮\n");
    assert_eq!(inline.labels(), ["[[network]]"]);
    let headers = plan("[[site]]\nname = \"x\"\n[[site.other]]\ntx_mhz = 464.9375\n\n[[sit▮\n");
    assert!(headers.labels().starts_with(&["[[site.other]]".to_owned(), "[[site]]".to_owned()]));
}

#[test]
fn a_table_with_keys_is_not_written_over() {
    assert_eq!(plan("[[chan▮nel]]\nname = \"x\"\n").shown(9), "nothing");
}

#[test]
fn in_an_empty_file_the_first_table_comes_first() {
    let at = beside_demo("models/new.model.toml", "▮");
    insta::assert_snapshot!(at.shown(9));
    assert_eq!(at.after("[model]"), "[model]\nname = \"\"");
}

// ---- names ------------------------------------------------------------------------------------------

#[test]
fn a_call_offers_what_the_slot_carries_first() {
    insta::assert_snapshot!(
        plan("[[channel]]\nname = \"x\"\nsends = \"digital\"\nrepeater = \"beacon\"\nslot = 2\ncall = ▮\n").shown(14)
    );
}

#[test]
fn quotes_are_completed_wherever_the_cursor_is() {
    let with = "[[channel]]\nname = \"x\"\nrepeater = \"north mole\"\n";
    for typed in [
        "repeater = ▮",
        "repeater =▮",
        "repeater = nor▮",
        "repeater = \"▮",
        "repeater = \"nor▮",
        "repeater = \"nor▮\"",
        "repeater = \"▮\"",
        "repeater = \"▮beacon\"",
        "repeater = north mo▮",
        "repeater = ▮\"beacon\"",
    ] {
        let after = plan(&format!("[[channel]]\nname = \"x\"\n{typed}\n")).after("north mole");
        assert_eq!(lines(&after, 6) + "\n", with, "{typed}");
    }
    let literal = plan("[[channel]]\nname = \"x\"\nrepeater = 'no▮\n").after("north mole");
    assert!(literal.contains("repeater = 'north mole'\n"));
    let comment = plan("[[channel]]\nname = \"x\"\nrepeater = \"no▮ # the \"best\" one\n").after("north mole");
    assert!(comment.contains("repeater = \"north mole\" # the \"best\" one\n"));
}

#[test]
fn what_stands_in_quotes_is_compared_without_them() {
    let item = plan("[[channel]]\nrepeater = \"no▮\n").item("north mole");
    assert_eq!(item.filter, "north mole");
    let at = plan("[[channel]]\nslot = \"▮\"\n");
    assert_eq!((at.item("2").filter.as_str(), lines(&at.after("2"), 6).as_str()), ("\"2", "[[channel]]\nslot = 2"));
}

#[test]
fn in_a_list_commas_are_seen_to() {
    for (typed, after) in [
        ("[▮]", "[\"Marina\"]"),
        ("[\"Berths\", ▮]", "[\"Berths\", \"Marina\"]"),
        ("[\"Berths\"▮]", "[\"Berths\", \"Marina\"]"),
        ("[\"Berths\", \"Mar▮]", "[\"Berths\", \"Marina\"]"),
        ("[\"Berths\", \"▮", "[\"Berths\", \"Marina\""),
        ("[\"Mar▮, \"Tides\"]", "[\"Marina\", \"Tides\"]"),
        ("[▮\"Berths\"]", "[\"Marina\", \"Berths\"]"),
        ("[▮ \"Berths\"]", "[\"Marina\", \"Berths\"]"),
        ("[\n    \"Berths\",\n    ▮\n]", "[\n    \"Berths\",\n    \"Marina\"\n]"),
        ("[\n    ▮\n    \"Berths\",\n]", "[\n    \"Marina\",\n    \"Berths\",\n]"),
        ("▮", "[\"Marina\"]"),
        ("\"Mar▮", "[\"Marina\"]"),
    ] {
        let text = plan(&format!("[[zone]]\nname = \"x\"\nchannels = {typed}\n")).after("Marina");
        assert_eq!(lines(&text, 8), format!("channels = {after}"), "{typed}");
    }
}

#[test]
fn a_list_that_nothing_closes_ends_before_the_next_key() {
    let at = plan("[[receive_group]]\ntalkgroups = [\"Berths\", \"▮\nname = \"x\"\n\n[[zone]]\nname = \"y\"\n");
    assert!(at.labels().contains(&"Cranes".to_owned()) && !at.labels().contains(&"Berths".to_owned()));
    assert!(at.after("Cranes").contains("talkgroups = [\"Berths\", \"Cranes\"\nname = \"x\""));
}

#[test]
fn every_kind_of_name_says_what_it_is() {
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\nrepeater = ▮\n").shown(9));
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\ncall = \"Berths\"\nreceive_group = ▮\n").shown(9));
    insta::assert_snapshot!(plan("[[scan_list]]\nname = \"x\"\nchannels = [\"Tides\"]\npriority_1 = \"▮\n").shown(6));
    insta::assert_snapshot!(plan("[[repeater]]\nname = \"x\"\nsite = ▮\n").shown(9));
    insta::assert_snapshot!(plan("[[emergency]]\nname = \"x\"\nacknowledged_by = [▮]\n").shown(9));
    insta::assert_snapshot!(
        plan("[[zone]]\nname = \"Home\"\nchannels = [\"Marina\"]\n\n[[profile]]\nname = \"x\"\nzones = [▮]\n").shown(9)
    );
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\nprivacy = ▮\n").shown(9));
}

#[test]
fn a_name_that_is_not_plain_is_escaped() {
    let at = plan("[[talkgroup]]\nname = 'The \"old\" quay\\n'\nid = 9\n\n[[channel]]\nname = \"x\"\ncall = \"The▮\n");
    assert!(at.after("The \"old\" quay\\n").contains("call = \"The \\\"old\\\" quay\\\\n\"\n"));
}

#[test]
fn where_a_radio_stands_by_its_zones_come_first() {
    let zones =
        "[[zone]]\nname = \"Work\"\nchannels = [\"Tides\"]\n\n[[zone]]\nname = \"Home\"\nchannels = [\"Marina\"]\n\n";
    let at = plan(&format!("{zones}[[radio]]\nid = 1\nzones = [\"Work\"]\nstands_by = {{ zone = ▮ }}\n"));
    insta::assert_snapshot!(at.shown(9));
    let at = plan(&format!("{zones}[[radio]]\nid = 1\nstands_by = {{ zone = \"Work\", channel = \"▮\" }}\n"));
    assert_eq!(at.labels()[0], "Tides");
}

// ---- numbers, words, dates --------------------------------------------------------------------------

#[test]
fn color_codes_and_slots_say_whose_they_are() {
    let with = "[[channel]]\nname = \"x\"\nrepeater = \"north mole\"\ncall = \"Cranes\"\n";
    insta::assert_snapshot!(plan(&format!("{with}color_code = ▮\n")).shown(20));
    insta::assert_snapshot!(plan(&format!("{with}slot = ▮\n")).shown(20));
}

#[test]
fn power_levels_are_those_of_the_model() {
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\npower = ▮\n").shown(9));
    insta::assert_snapshot!(
        beside_demo("x.bench.toml", "[bench]\nmodel = \"models/mobile-uhf.model.toml\"\n\n[[reading]]\nlevel = ▮\n")
            .shown(9)
    );
    insta::assert_snapshot!(
        beside_demo("x.bench.toml", "[bench]\nmodel = \"models/mobile-uhf.model.toml\"\n\n[[reading]]\nmhz = ▮\n")
            .shown(9)
    );
}

#[test]
fn numbers_are_those_that_others_have() {
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\nsends = \"digital\"\ntime_out_s = ▮\n").shown(9));
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\nbandwidth_khz = ▮\n").shown(9));
    insta::assert_snapshot!(plan("[[license]]\nname = \"x\"\n[[license.assignment]]\nmax_power_w = ▮\n").shown(9));
}

#[test]
fn ids_go_on_from_those_there_are() {
    insta::assert_snapshot!(plan("[[talkgroup]]\nname = \"x\"\nid = ▮\n").shown(9));
    insta::assert_snapshot!(plan("[[station]]\nname = \"x\"\nid = ▮\n").shown(9));
    insta::assert_snapshot!(
        plan("[[radio]]\nid = 21007\nalias = \"Crane 2\"\n\n[[contact]]\nname = \"x\"\nid = ▮\n").shown(9)
    );
}

#[test]
fn words_truths_and_dates() {
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\naccess = ▮\n").shown(9));
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\nreceives = [\"digital\", ▮]\n").shown(9));
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\nreceive_clear = ▮\n").shown(9));
    insta::assert_snapshot!(plan("[[key]]\nname = \"x\"\nrotate_by = ▮\n").shown(9));
    insta::assert_snapshot!(plan("[[key]]\nname = \"x\"\ncreated = ▮\n").shown(9));
}

#[test]
fn buttons_are_those_of_the_models() {
    insta::assert_snapshot!(plan("[[controls.button]]\nplace = ▮\n").shown(12));
    assert!(plan("[[controls.button]]\naction = \"emer▮\"\n").labels().starts_with(&["emergency-on".to_owned()]));
}

// ---- files ------------------------------------------------------------------------------------------

#[test]
fn files_are_named_from_the_file_that_names_them() {
    insta::assert_snapshot!(beside_demo("x.plan.toml", "[plan]\nmodel = ▮\n").shown(9));
    insta::assert_snapshot!(beside_demo("bench/x.bench.toml", "[bench]\nmodel = \"▮\n").shown(9));
    insta::assert_snapshot!(
        beside_demo("x.plan.toml", "[plan]\nshares = [\"common/groups.plan.toml\", \"com▮\"]\n").shown(9)
    );
    insta::assert_snapshot!(beside_demo("x.plan.toml", "[plan]\nregime = ▮\n").shown(9));
}

#[test]
fn columns_of_a_sheet_are_its_headings() {
    insta::assert_snapshot!(plan("[radios]\nfrom = \"fleet.csv\"\ncolumns = { id = ▮ }\n").shown(9));
    insta::assert_snapshot!(plan("[radios]\nfrom = \"fleet.csv\"\ncolumns = { ▮ }\n").shown(4));
}

// ---- the air ----------------------------------------------------------------------------------------

#[test]
fn a_channel_of_the_service_fills_its_pair() {
    let at = plan_of("maritime-vhf", "[[channel]]\nname = \"Port\"\nsends = \"analog\"\nrx_mhz = ▮\npower = \"low\"\n");
    let whole = at.shown(500);
    let some = ["(06)", "(12)", "(13)", "(16)", "(70)", "(22 as"].iter();
    insta::assert_snapshot!(
        some.flat_map(|label| whole.lines().filter(move |line| line.contains(label))).collect::<Vec<_>>().join("\n")
    );
    insta::assert_snapshot!(lines(&at.after("161.7000 (22 as ship)"), 4));
    insta::assert_snapshot!(lines(&at.after("156.3000 (06)"), 4));
    insta::assert_snapshot!(at.item("156.8000 (16)").plain_doc);
}

#[test]
fn a_channel_of_the_service_corrects_what_is_there() {
    let with = "[[channel]]\nname = \"x\"\nsends = \"analog\"\ntx_mhz = 151.82\nbandwidth_khz = 12.5\nrx_mhz = ▮";
    let at = plan_of("us-part-95-general", with);
    let shown = at.shown(500);
    let some: Vec<&str> = shown.lines().filter(|line| line.contains("(15") || line.contains("(8")).collect();
    insta::assert_snapshot!(some.join("\n"));
    insta::assert_snapshot!(lines(&at.after("462.5500 (15 through a repeater)"), 4));
    assert!(at.after("462.5500 (15)").contains("tx_mhz = 462.5500\nbandwidth_khz = 12.5\nrx_mhz = 462.5500"));
}

#[test]
fn at_the_end_of_a_file_a_channel_of_the_service_brings_its_lines() {
    let at = plan_of("maritime-vhf", "[[channel]]\nname = \"Port\"\nsends = \"analog\"\ntx_mhz =▮");
    assert!(at.after("157.1000 (22 as ship)").ends_with("tx_mhz = 157.1000\nrx_mhz = 161.7000\nbandwidth_khz = 25"));
}

#[test]
fn the_other_carrier_of_a_pair() {
    insta::assert_snapshot!(
        plan("[[channel]]\nname = \"x\"\nsends = \"digital\"\nrx_mhz = 453.2125\ntx_mhz = ▮\n").shown(4)
    );
    insta::assert_snapshot!(plan("[[repeater]]\nname = \"x\"\ntx_mhz = 453.2125\nrx_mhz = ▮\n").shown(2));
}

#[test]
fn tones_and_codes() {
    let at = plan(
        "[[repeater]]\nname = \"old\"\ntx_mhz = 453.5\nrx_mhz = 458.5\nmode = \"analog\"\ninput_tones = [\"CTCSS 127.3\"]\noutput_tone = \"same-as-input\"\n\n[[channel]]\nname = \"x\"\nsends = \"analog\"\nrepeater = \"old\"\ntx_tone = ▮\n",
    );
    insta::assert_snapshot!(at.shown(4));
    assert_eq!(at.labels().len(), 50 + 2 * 104);
    insta::assert_snapshot!(plan("[[channel]]\nname = \"x\"\nrx_tone = \"DCS 02▮\n").shown(9));
    insta::assert_snapshot!(plan("[[repeater]]\nname = \"x\"\noutput_tone = ▮\n").shown(3));
}

#[test]
fn emission_designators() {
    insta::assert_snapshot!(
        plan("[[license]]\nname = \"x\"\n[[license.assignment]]\nemission = [\"7K60FXE\", ▮]\n").shown(12)
    );
}

// ---- settings ---------------------------------------------------------------------------------------

fn settings(text: &str) -> At {
    beside_demo("guywire.toml", text)
}

#[test]
fn rules_and_their_levels() {
    insta::assert_snapshot!(settings("[rules]\nscan-rev▮\n").shown(3));
    insta::assert_snapshot!(settings("[rules]\nscan-revisit-too-slow = ▮\n").shown(9));
    insta::assert_snapshot!(settings("[rules]\nscan-revisit-too-slow = { ▮ }\n").shown(9));
    insta::assert_snapshot!(settings("[rules]\nscan-revisit-too-slow = { level = \"▮\" }\n").shown(2));
    insta::assert_snapshot!(settings("[▮\n").shown(9));
    insta::assert_snapshot!(settings("[[house_rule]]\nname = \"x\"\nfor = \"cha▮\"\n").shown(2));
}

// ---- very many ---------------------------------------------------------------------------------------

/// A zone after very many channels, some of whose names the demo's parts have too.
fn crowded(typed: &str) -> At {
    let channel = |name: String| format!("[[channel]]\nname = \"{name}\"\n\n");
    let quays = (0..400).rev().map(|number| channel(format!("Quay {number:03}")));
    let mooring = (0..400).map(|number| channel(format!("mooring {number}")));
    let others = ["Berths", "Ürsel"].map(|name| channel(name.to_owned()));
    let text: String = quays.chain(mooring).chain(others).collect();
    plan(&format!("{text}[[zone]]\nname = \"x\"\nchannels = [{typed}▮]\n"))
}

#[test]
fn of_very_many_names_those_are_shown_that_fit_best() {
    let quays = |count: usize| (0..count).map(|number| format!("Quay {number:03}")).collect::<Vec<_>>();
    let (all, some) = (crowded("").complete(), crowded("\"QUA").complete());
    let labels = |found: &[guywire_workspace::Completion]| found.iter().map(|it| it.label.clone()).collect::<Vec<_>>();
    assert!(all.incomplete && all.items.len() == 300, "{}", all.items.len());
    let folded: Vec<String> = labels(&all.items).iter().map(|label| label.to_lowercase()).collect();
    assert!(folded.is_sorted() && folded.iter().filter(|label| *label == "berths").count() == 1);
    assert!(some.incomplete);
    assert_eq!(
        labels(&some.items).into_iter().filter(|label| label.starts_with("Quay 0")).collect::<Vec<_>>(),
        quays(100)
    );
    let held = crowded("\"Quay 000\", \"Quay 001\", \"qua").complete();
    assert_eq!(
        labels(&held.items).iter().find(|label| label.starts_with("Quay 0")).map(String::as_str),
        Some("Quay 002")
    );
    // Whatever is typed, the same as where all are looked at: at the start, at a word, within, here and there.
    assert_eq!(crowded("\"ür").labels(), ["Ürsel"]);
    let within = crowded("\"ooring 39").labels();
    assert_eq!(within.iter().filter(|label| label.contains(" 39")).count(), 11, "{within:?}");
    assert_eq!(crowded("\"qy 399").labels(), ["Quay 399"]);
    assert_eq!(crowded("\"no such").labels(), [] as [&str; 0]);
}

#[test]
fn a_name_that_changed_is_offered_as_it_is() {
    use guywire_workspace::{Address, Change};
    let mut at = crowded("\"Quay 39");
    assert!(at.labels().contains(&"Quay 399".to_owned()));
    let address = Address::Disk("/harbor/try.plan.toml".into());
    let text = at.text.replace("\"Quay 399\"", "\"Quay 39Z\"");
    at.workspace.apply(Change::Open { address, version: 1, text });
    let labels = at.labels();
    assert!(labels.contains(&"Quay 39Z".to_owned()) && !labels.contains(&"Quay 399".to_owned()), "{labels:?}");
}

// ---- waivers ----------------------------------------------------------------------------------------

/// A channel with a finding, and a comment in front of its key.
fn waived(comment: &str) -> At {
    plan(&format!(
        "[[channel]]\nname = \"x\"\nsends = \"digital\"\nrx_mhz = 453.2125\n{comment}\ncolor_code = 15\nslot = 1\ncall = \"Berths\"\n"
    ))
}

#[test]
fn a_waiver_names_rules_those_that_it_covers_first() {
    let at = waived("# waive(▮");
    assert_eq!(at.item("color-code-15").detail, "found in what this covers");
    assert_eq!(at.labels()[0], "color-code-15");
    let labels = at.labels();
    assert!(labels.iter().any(|label| label == "slot-range"));
    assert!(!labels.iter().any(|label| label == "key-in-clear" || label.starts_with("waiver-")), "never waived");
    let line = |comment: &str, label: &str| lines(&waived(comment).after(label), 10).lines().next().map(str::to_owned);
    assert_eq!(line("# waive(co▮", "color-code-15").as_deref(), Some("# waive(color-code-15"));
    assert_eq!(line("# waive(slo▮-range): why", "slot-range").as_deref(), Some("# waive(slot-range): why"));
    let second = "# waive(color-code-15, ▮) until 2027-01-01: why";
    assert!(!waived(second).labels().iter().any(|label| label == "color-code-15"), "it is named");
    let two = "# waive(color-code-15, slot-range) until 2027-01-01: why";
    assert_eq!(line(second, "slot-range").as_deref(), Some(two));
}

#[test]
fn a_waiver_is_written_from_its_first_letters_to_its_last_day() {
    insta::assert_snapshot!(waived("# wa▮").shown(9));
    insta::assert_snapshot!(waived("#▮").shown(9));
    insta::assert_snapshot!(waived("# waive(color-code-15)▮").shown(9));
    insta::assert_snapshot!(waived("# waive(color-code-15) un▮: why").shown(9));
    for nothing in
        ["# so ▮", "# waive(color-code-15) until 2027-01-01: why not ▮", "notes = \"# waive(▮\"", "# waiver(▮"]
    {
        assert_eq!(waived(nothing).labels(), [] as [&str; 0], "{nothing}");
    }
    assert!(waived("# waive(▮").begins() && waived("# waive(color-code-15, ▮").begins());
    assert!(!waived("# ▮").begins() && !waived("# waive(color-code-15) ▮").begins());
}

// ---- what typing begins -----------------------------------------------------------------------------

#[test]
fn a_character_that_begins_something_asks_by_itself() {
    for typed in [
        "[▮",
        "[[▮",
        "[[license]]\nname = \"x\"\n[[license.▮",
        "[[channel]]\nrepeater =▮\n",
        "[[channel]]\nrepeater = ▮\n",
        "[[channel]]\nrepeater = \"▮\"\n",
        "[[channel]]\nrepeater = '▮\n",
        "[[zone]]\nchannels = [▮]\n",
        "[[zone]]\nchannels = [\"Berths\",▮]\n",
        "[[zone]]\nchannels = [\"Berths\", ▮]\n",
        "[[site]]\nduplexer = {▮\n",
        "[[site]]\nduplexer = { ▮\n",
        "[[site]]\nduplexer = { spacing_mhz = 5, ▮ }\n",
        "[[site]]\nduplexer.▮\n",
    ] {
        assert!(plan(typed).begins(), "{typed}");
    }
}

#[test]
fn a_character_that_ends_something_does_not() {
    for typed in [
        "[[channel]]\nrepeater = \"beacon\"▮\n",
        "[[zone]]\nchannels = [\"Berths\"▮]\n",
        "[[zone]]\nchannels = [\"Berths\" ▮]\n",
        "[[channel]]\n ▮\n",
        "[[channel]]\nrx_mhz = 453.▮\n",
        "[[channel]]\nrepeater = \"north ▮\"\n",
        "[[channel]]\nslot = 1 ▮\n",
        "[[channel]]\nnotes = \"so, ▮\"\n",
        "[[channel]]\n# so, ▮\n",
        "[[channel]]\nreceive_group ▮\n",
    ] {
        assert!(!plan(typed).begins(), "{typed}");
    }
}

// ---- nothing ----------------------------------------------------------------------------------------

#[test]
fn where_nothing_can_be_said_nothing_is() {
    for text in [
        "[[channel]]\n# a comm▮ent\n",
        "[[channel]]\nnotes = \"about▮\"\n",
        "[[channel]]\nnotes = \"\"\"\nabout▮\n\"\"\"\n",
        "[[channel]]\nslot = 1 ▮\n",
        "[[channel]]\nunheard_of = ▮\n",
        "[[unheard_of]]\nname = \"▮\"\n",
        "[[channel]]\nname = \"▮\"\n",
    ] {
        assert_eq!(plan(text).shown(9), "nothing", "{text}");
    }
    assert!(beside_demo("fleet.csv", "▮id\n").complete().items.is_empty());
}
