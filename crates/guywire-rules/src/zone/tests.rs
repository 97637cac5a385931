use crate::testing::{judge, rules};

const PLAN: &str = "harbor.plan.toml";
const MODEL: &str = "hh.model.toml";

fn plan(rest: &str) -> String {
    format!("[plan]\nmodel = \"hh.model.toml\"\n{rest}")
}

fn channels(names: &[&str]) -> String {
    names
        .iter()
        .enumerate()
        .map(|(number, name)| {
            format!("[[channel]]\nname = \"{name}\"\nsends = \"digital\"\nrx_mhz = {}\n", 450 + number)
        })
        .collect()
}

fn zone(name: &str, channels: &str) -> String {
    format!("[[zone]]\nname = \"{name}\"\nchannels = [{channels}]\n")
}

fn model(capacity: &str) -> String {
    format!("[model]\nname = \"hh\"\n[capacity]\n{capacity}\n")
}

#[test]
fn a_plan_without_classes_is_counted_as_a_whole() {
    let text = plan(&format!("{}{}{}", channels(&["A", "B"]), zone("Z1", "\"A\""), zone("Z2", "\"B\"")));
    assert_eq!(rules(&[(PLAN, &text), (MODEL, &model("zones = 1"))]), ["zones-over-capacity"]);
    assert_eq!(rules(&[(PLAN, &text), (MODEL, &model("channels = 1"))]), ["channels-over-capacity"]);
    assert!(rules(&[(PLAN, &text), (MODEL, &model("zones = 2\nchannels = 2"))]).is_empty());
}

#[test]
fn a_channel_in_two_zones_counts_once_and_an_undefined_one_not_at_all() {
    let text = plan(&format!("{}{}{}", channels(&["A"]), zone("Z1", "\"A\", \"\""), zone("Z2", "\"A\"")));
    assert!(rules(&[(PLAN, &text), (MODEL, &model("channels = 1"))]).is_empty());
    let text = plan(&format!("{}{}", channels(&["A"]), zone("Z1", "\"A\", \"Nobody\"")));
    assert_eq!(rules(&[(PLAN, &text), (MODEL, &model("channels = 1"))]), ["undefined-name"]);
}

#[test]
fn a_channel_is_of_use_without_a_position() {
    let base = format!("{}{}", channels(&["A", "B"]), zone("Z", "\"A\""));
    assert_eq!(rules(&[(PLAN, &plan(&base)), (MODEL, &model(""))]), ["channel-in-no-zone"]);
    for (kind, use_of_b) in [
        ("emergency", "[[emergency]]\nname = \"E\"\nsends = \"alarm\"\nrevert = \"B\"\n"),
        ("report", "[[report]]\nwhat = \"position\"\nchannel = \"B\"\n"),
        ("member", "[[scan_list]]\nname = \"S\"\nchannels = [\"selected\", \"B\"]\n"),
        ("reply", "[[scan_list]]\nname = \"S\"\nchannels = [\"selected\", \"A\"]\nreply = \"B\"\n"),
        ("unreadable", "[[report]]\nwhat = \"position\"\nchannel = 5\n"),
    ] {
        let said = rules(&[(PLAN, &plan(&format!("{base}{use_of_b}"))), (MODEL, &model(""))]);
        assert!(!said.contains(&"channel-in-no-zone"), "{kind}: {said:?}");
    }
}

#[test]
fn a_channel_of_a_part_is_of_use_where_one_plan_uses_it() {
    let part = channels(&["A", "B"]);
    let one = "[plan]\nshares = [\"part.plan.toml\"]\n[[zone]]\nname = \"Z\"\nchannels = [\"A\"]\n";
    let other = "[plan]\nshares = [\"part.plan.toml\"]\n[[zone]]\nname = \"Z\"\nchannels = [\"B\"]\n";
    assert_eq!(rules(&[(PLAN, one), ("part.plan.toml", &part)]), ["channel-in-no-zone"]);
    assert!(rules(&[(PLAN, one), ("other.plan.toml", other), ("part.plan.toml", &part)]).is_empty());
    assert!(rules(&[("part.plan.toml", &format!("{part}{}", zone("Z", "\"A\"")))]).is_empty());
}

#[test]
fn names_are_cut_by_characters_and_judged_by_list() {
    let text =
        plan(&format!("{}{}", channels(&["Møle north", "Møle nørth"]), zone("Z", "\"Møle north\", \"Møle nørth\"")));
    assert_eq!(rules(&[(PLAN, &text), (MODEL, &model("name_characters = 6"))]), ["names-look-alike"]);
    assert_eq!(rules(&[(PLAN, &text), (MODEL, &model("name_characters = 7"))]), ["name-too-long"]);
    assert!(rules(&[(PLAN, &text), (MODEL, &model("name_characters = 10"))]).is_empty());
    assert_eq!(rules(&[(PLAN, &text), (MODEL, &model("name_charset = \"ascii\""))]), ["name-characters"]);
    assert!(rules(&[(PLAN, &text), (MODEL, &model("name_charset = \"latin-1\""))]).is_empty());
}

#[test]
fn names_in_different_zones_do_not_look_alike() {
    let all = channels(&["Lock north", "Lock nadir"]);
    let text = plan(&format!("{all}{}{}", zone("Z1", "\"Lock north\""), zone("Z2", "\"Lock nadir\"")));
    assert_eq!(rules(&[(PLAN, &text), (MODEL, &model("name_characters = 6"))]), ["name-too-long"]);
}

#[test]
fn zones_of_one_radio_look_alike_and_those_of_two_do_not() {
    let all = format!("{}{}{}", channels(&["A"]), zone("Harbor 1", "\"A\""), zone("Harbor 2", "\"A\""));
    let class = |name: &str, zones: &str| {
        format!(
            "[[profile]]\nname = \"{name}\"\nzones = [{zones}]\n[[radio]]\nid = {}\nprofile = \"{name}\"\n",
            100 + name.len()
        )
    };
    let one = plan(&format!("{all}{}", class("shore", "\"Harbor 1\", \"Harbor 2\"")));
    let two = plan(&format!("{all}{}{}", class("shore", "\"Harbor 1\""), class("pilots", "\"Harbor 2\"")));
    let narrow = model("name_characters = 6");
    assert_eq!(rules(&[(PLAN, &one), (MODEL, &narrow)]), ["names-look-alike"]);
    assert_eq!(rules(&[(PLAN, &two), (MODEL, &narrow)]), ["name-too-long"]);
}

#[test]
fn a_fallback_may_be_a_button_or_another_zone() {
    let base = "[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\nmode = \"analog\"\n[[channel]]\nname = \"A\"\nsends = \"analog\"\nrepeater = \"beacon\"\n[[channel]]\nname = \"D\"\nsends = \"analog\"\nrepeater = \"beacon\"\ntalk_around = true\n[[channel]]\nname = \"W\"\nsends = \"nothing\"\nrx_mhz = 462.55\n";
    let of = |rest: &str| rules(&[(PLAN, &format!("[plan]\n{base}{rest}"))]);
    assert_eq!(
        of(&format!("{}{}", zone("Z", "\"A\", \"W\""), zone("Y", "\"A\""))),
        ["channel-in-no-zone", "no-fallback"]
    );
    assert!(of(&zone("Z", "\"A\", \"W\", \"D\"")).is_empty());
    assert!(of(&format!("{}{}", zone("Z", "\"A\", \"W\""), zone("Direct", "\"D\""))).is_empty());
    let button = "[[controls.button]]\nplace = \"top\"\npress = \"short\"\naction = \"talk-around\"\n";
    assert_eq!(of(&format!("{}{button}", zone("Z", "\"A\", \"W\""))), ["channel-in-no-zone"]);
    let classes = "[[profile]]\nname = \"shore\"\nzones = [\"Z\"]\n[[radio]]\nid = 1\nprofile = \"shore\"\n";
    assert_eq!(of(&format!("{}{}{classes}", zone("Z", "\"A\", \"W\""), zone("Direct", "\"D\""))), ["no-fallback"]);
    let unheld = "[[profile]]\nname = \"boat\"\nzones = [\"Direct\"]\n[[radio]]\nid = 1\nprofile = \"boat\"\n";
    assert!(of(&format!("{}{}{unheld}", zone("Z", "\"A\", \"W\""), zone("Direct", "\"D\""))).is_empty());
}

#[test]
fn each_repeated_channel_is_told_once() {
    let text =
        plan(&format!("{}{}", channels(&["A", "B"]), zone("Z", "\"A\", \"B\", \"A\", \"B\", \"A\", \"\", \"\"")));
    let said = judge(&[(PLAN, &text), (MODEL, &model(""))]);
    assert_eq!(said.len(), 2, "{said:#?}");
    assert!(said[0].message.contains("positions 1 and 3 and 5"), "{}", said[0].message);
}

#[test]
fn positions_are_held_against_zones_of_the_same_radios() {
    let all = format!("{}{}{}", channels(&["A", "B"]), zone("Z1", "\"A\", \"B\""), zone("Z2", "\"B\", \"\""));
    let class = |name: &str, zones: &str| {
        format!(
            "[[profile]]\nname = \"{name}\"\nzones = [{zones}]\n[[radio]]\nid = {}\nprofile = \"{name}\"\n",
            100 + name.len()
        )
    };
    let together = plan(&format!("{all}{}", class("shore", "\"Z1\", \"Z2\"")));
    let apart = plan(&format!("{all}{}{}", class("shore", "\"Z1\""), class("pilots", "\"Z2\"")));
    let said = judge(&[(PLAN, &together), (MODEL, &model(""))]);
    let told: Vec<&str> = said.iter().map(|said| said.rule).collect();
    assert_eq!(told, ["position-means-different-things"; 2]);
    assert!(said[0].message.contains("position 1 here and at position 2 of zone \"Z1\""), "{}", said[0].message);
    assert!(rules(&[(PLAN, &apart), (MODEL, &model(""))]).is_empty());
}
