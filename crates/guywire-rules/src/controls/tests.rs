use crate::testing::rules;

const PLAN: &str = "harbor.plan.toml";
const MODEL: &str = "hh.model.toml";

fn names(text: &str) -> Vec<&'static str> {
    rules(&[(PLAN, text)])
}

fn with_model(text: &str, sheet: &str) -> Vec<&'static str> {
    let plan = format!("[plan]\nmodel = \"hh.model.toml\"\n{text}\n");
    rules(&[(PLAN, &plan), (MODEL, &format!("[model]\nname = \"hh\"\n{sheet}\n"))])
}

fn button(place: &str, press: &str, action: &str) -> String {
    format!("[[controls.button]]\nplace = \"{place}\"\npress = \"{press}\"\naction = \"{action}\"\n")
}

const CHANNEL: &str = "[[channel]]\nname = \"A\"\nsends = \"digital\"\nrx_mhz = 451\n";

#[test]
fn a_press_that_stands_twice_with_one_meaning_is_no_clash() {
    let two = |action: &str| format!("[plan]\n{}{}", button("top", "long", "scan"), button("top", "long", action));
    assert!(names(&two("scan")).is_empty());
    assert_eq!(names(&two("monitor")), ["button-press-clash"]);
}

#[test]
fn shortcuts_clash_with_buttons_and_with_each_other() {
    let shortcut = "[[shortcut]]\nbutton = \"top\"\npress = \"long\"\nmessage = \"At berth\"\n";
    let message = "[[message]]\ntext = \"At berth\"\n";
    let clash = ["button-press-clash"];
    assert!(names(&format!("[plan]\n{message}{shortcut}{}", button("top", "long", "shortcut"))).is_empty());
    assert!(names(&format!("[plan]\n{message}{shortcut}{}", button("top", "short", "scan"))).is_empty());
    assert_eq!(names(&format!("[plan]\n{message}{shortcut}{}", button("top", "long", "scan"))), clash);
    assert_eq!(names(&format!("[plan]\n{message}{shortcut}{shortcut}")), clash);
}

#[test]
fn a_profile_button_clashes_with_itself_and_wins_over_controls() {
    let own = |action: &str| format!("[[profile.button]]\nplace = \"top\"\npress = \"long\"\naction = \"{action}\"\n");
    let plan = |own: &str| {
        format!(
            "[plan]\n{}[[profile]]\nname = \"P\"\n{own}[[radio]]\nid = 1\nprofile = \"P\"\n",
            button("top", "long", "scan")
        )
    };
    assert!(names(&plan(&own("monitor"))).is_empty());
    assert_eq!(names(&plan(&format!("{}{}", own("monitor"), own("backlight")))), ["button-press-clash"]);
}

const ALARM: &str = "[[emergency]]\nname = \"E\"\nsends = \"alarm\"\n";

#[test]
fn a_panic_button_needs_one_channel_with_an_emergency() {
    let press = button("top", "long", "emergency-on");
    let dead = ["button-without-emergency"];
    assert_eq!(names(&format!("[plan]\n{CHANNEL}{press}")), dead);
    assert!(names(&format!("[plan]\n{ALARM}{CHANNEL}emergency = \"E\"\n{press}")).is_empty());
    // Nothing is known of a plan without channels.
    assert!(names(&format!("[plan]\n{press}")).is_empty());
    // An emergency that cannot be read may be the one.
    let unread = names(&format!("[plan]\n[[emergency]]\nname = 5\n{CHANNEL}{press}"));
    assert!(!unread.contains(&dead[0]), "{unread:?}");
}

#[test]
fn a_panic_button_of_a_class_is_judged_by_its_zones() {
    let plan = |zones: &str, of_b: &str| {
        format!(
            "[plan]\n{ALARM}[[emergency]]\nname = \"F\"\nsends = \"alarm\"\ntriggers = [\"lone-worker\"]\n{CHANNEL}emergency = \"E\"\n[[channel]]\nname = \"B\"\nsends = \"analog\"\nrx_mhz = 452\n{of_b}\n[[zone]]\nname = \"ZA\"\nchannels = [\"A\"]\n[[zone]]\nname = \"ZB\"\nchannels = [\"B\"]\n[[profile]]\nname = \"P\"\nzones = {zones}\nlone_worker = {{ every_s = 60 }}\n[[profile.button]]\nplace = \"top\"\npress = \"long\"\naction = \"emergency-on\"\n[[radio]]\nid = 1\nprofile = \"P\"\n"
        )
    };
    let dead = "button-without-emergency";
    assert!(names(&plan("[\"ZB\"]", "emergency = \"F\"")).contains(&dead));
    assert!(!names(&plan("[\"ZB\", \"ZA\"]", "emergency = \"F\"")).contains(&dead));
    // A channel without an emergency has a finding of its own.
    let without = names(&plan("[\"ZB\"]", ""));
    assert!(without.contains(&"emergency-dead-on-channel") && !without.contains(&dead), "{without:?}");
}

#[test]
fn an_emergency_needs_something_that_sets_it_off() {
    let with = |triggers: &str, more: &str| {
        names(&format!(
            "[plan]\n[[emergency]]\nname = \"E\"\nsends = \"alarm\"\n{triggers}\n{CHANNEL}emergency = \"E\"\n{more}"
        ))
    };
    let none = ["emergency-without-trigger"];
    assert!(with("", "").is_empty());
    assert_eq!(with("triggers = []", ""), none);
    assert!(with("triggers = [\"button\"]", "").is_empty());
    assert_eq!(with("triggers = [\"button\"]", &button("top", "long", "scan")), none);
    assert_eq!(with("triggers = [\"man-down\"]", ""), none);
    assert!(with("triggers = [\"man-down\"]", "[[radio]]\nid = 1\nman_down = { still_s = 20 }\n").is_empty());
    assert_eq!(with("triggers = [\"man-down\"]", "[[radio]]\nid = 1\nlone_worker = { every_s = 60 }\n"), none);
    assert!(with("triggers = [\"lone-worker\"]", "[[radio]]\nid = 1\nlone_worker = { every_s = 60 }\n").is_empty());
}

#[test]
fn presses_and_actions_are_held_against_the_data_sheet() {
    let lacks = ["button-action-not-supported"];
    let long = button("top", "long", "scan");
    let sheet = |keys: &str| format!("[[button]]\nplace = \"top\"\n{keys}");
    assert_eq!(with_model(&long, &sheet("")), lacks);
    assert!(with_model(&button("top", "short", "scan"), &sheet("")).is_empty());
    assert!(with_model(&long, &sheet("presses = [\"long\"]")).is_empty());
    assert_eq!(with_model(&long, &sheet("presses = [\"long\"]\nactions = [\"monitor\"]")), lacks);
    assert_eq!(with_model(&button("side", "short", "scan"), &sheet("")), lacks);
    assert!(with_model(&button("side", "short", "scan"), "").is_empty());
}

#[test]
fn a_shared_part_may_have_buttons_of_other_plans() {
    let part = ("common/handling.plan.toml", button("side", "short", "scan"));
    let plan = "[plan]\nmodel = \"hh.model.toml\"\nshares = [\"common/handling.plan.toml\"]\n";
    let sheet = "[model]\nname = \"hh\"\n[[button]]\nplace = \"top\"\n";
    assert!(rules(&[(PLAN, plan), (part.0, &part.1), (MODEL, sheet)]).is_empty());
}

#[test]
fn a_text_is_counted_in_characters() {
    let with =
        |text: &str| with_model(&format!("[[message]]\ntext = \"{text}\""), "[capacity]\nmessage_characters = 4");
    assert!(with("\u{c4}\u{d6}\u{dc}\u{df}").is_empty());
    assert_eq!(with("abcde"), ["message-too-long"]);
}

#[test]
fn a_radio_that_stands_by_elsewhere_starts_well() {
    let with = |zone: &str, radio: &str| {
        names(&format!(
            "[plan]\n{CHANNEL}[[channel]]\nname = \"T\"\nsends = \"nothing\"\nrx_mhz = 464\n[[zone]]\nname = \"Z\"\nchannels = {zone}\n[[profile]]\nname = \"P\"\nzones = [\"Z\"]\n[[radio]]\nid = 1\nprofile = \"P\"\n{radio}"
        ))
    };
    let badly = ["starts-badly"];
    assert_eq!(with("[\"\", \"A\", \"T\"]", ""), badly);
    assert_eq!(with("[\"T\", \"A\"]", ""), badly);
    assert!(with("[\"A\", \"T\"]", "").is_empty());
    assert!(with("[\"T\", \"A\"]", "stands_by = { zone = \"Z\", channel = \"A\" }\n").is_empty());
}

#[test]
fn man_down_without_a_list_of_sensors_is_left_alone() {
    let plan = "[[radio]]\nid = 1\nman_down = { still_s = 20 }";
    assert!(with_model(plan, "").is_empty());
    assert_eq!(with_model(plan, "sensors = []"), ["man-down-not-supported"]);
}
