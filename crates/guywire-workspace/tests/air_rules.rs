//! What the pages of the rules about slots, groups, units, keys and models do not show: levels that depend on the plan,
//! what is left out, and that one mistake has one finding.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_rules::Level;
use guywire_workspace::{Budget, MemorySource, Shown, Workspace};
use jiff::civil::date;

const PLAN: &str = "[plan]\ntitle = \"Saltmarsh Harbor handhelds\"\n";
const GROUPS: &str = r#"
[[talkgroup]]
name = "Berths"
id = 1201

[[talkgroup]]
name = "Cranes"
id = 1203

[[receive_group]]
name = "All hands"
talkgroups = ["Berths", "Cranes"]
"#;

fn shown(files: &[(&str, String)]) -> Vec<Shown> {
    let source = MemorySource::new(files.iter().map(|(name, text)| (Path::new("/harbor").join(name), text.as_str())));
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    assert!(workspace.settle(Budget::All, &AtomicBool::new(false)).settled);
    workspace.all_findings().into_iter().flat_map(|(_, found)| found.shown).collect()
}

fn named(files: &[(&str, String)]) -> Vec<(&'static str, Level)> {
    let mut found: Vec<_> = shown(files).iter().map(|shown| (shown.rule, shown.level)).collect();
    found.sort_unstable();
    found
}

/// The rules that a plan raises, with their levels, sorted. The plan shares nothing and has no model.
fn raised(text: &str) -> Vec<(&'static str, Level)> {
    named(&[("harbor.plan.toml", format!("{PLAN}{text}"))])
}

/// The same with a model whose file holds `model`.
fn raised_with(model: &str, text: &str) -> Vec<(&'static str, Level)> {
    let plan = format!("{PLAN}model = \"hh-uhf.model.toml\"\n{text}");
    named(&[("harbor.plan.toml", plan), ("hh-uhf.model.toml", format!("[model]\nname = \"hh-uhf\"\n{model}"))])
}

const NOTHING: [(&str, Level); 0] = [];

fn beacon(slots: &str, channel: &str) -> String {
    format!(
        "{GROUPS}\n[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\n{slots}\n\n[[channel]]\nname = \"Work\"\nsends = \"digital\"\nrepeater = \"beacon\"\nreceive_group = \"All hands\"\n{channel}\n"
    )
}

#[test]
fn a_call_on_the_other_slot_is_an_error_only_where_it_is_refused() {
    let cranes = "slot = 1\ncall = \"Cranes\"";
    let listed = "slot_1 = [\"Berths\"]\nslot_2 = [\"Cranes\"]";
    assert_eq!(raised(&beacon(listed, cranes)), [("slot-differs-from-repeater", Level::Warning)]);
    let refusing = "slot_1 = { talkgroups = [\"Berths\"], only_listed = true }\nslot_2 = [\"Cranes\"]";
    assert_eq!(raised(&beacon(refusing, cranes)), [("slot-differs-from-repeater", Level::Error)]);
    assert_eq!(raised(&beacon("slot_2 = [\"Cranes\"]", cranes)), [("slot-differs-from-repeater", Level::Warning)]);
}

#[test]
fn calls_that_do_not_go_through_the_slot_are_left_out() {
    let listed = "slot_1 = [\"Berths\"]\nslot_2 = [\"Cranes\"]";
    let direct = "call = \"Cranes\"\ntalk_around = true";
    assert_eq!(raised(&beacon(listed, direct)), NOTHING);
    let elsewhere = "call = \"Cranes\"\nslot = 1\ntx_mhz = 459.9875";
    assert_eq!(raised(&beacon(listed, elsewhere)), NOTHING);
    // What cannot be read says nothing.
    assert_eq!(
        raised(&beacon("slot_1 = [\"Berths\", 3]\nslot_2 = [\"Cranes\"]", "slot = 1\ncall = \"Cranes\"")).len(),
        1
    );
}

#[test]
fn a_talkgroup_that_is_nowhere_carried_is_an_error_only_where_it_is_refused() {
    let cranes = "slot = 1\ncall = \"Cranes\"";
    assert_eq!(raised(&beacon("slot_1 = [\"Berths\"]", cranes)), [("talkgroup-not-carried", Level::Warning)]);
    let refusing = "slot_1 = { talkgroups = [\"Berths\"], only_listed = true }";
    assert_eq!(raised(&beacon(refusing, cranes)), [("talkgroup-not-carried", Level::Error)]);
    // Nothing is written of the slot: nothing is known of what it carries.
    assert_eq!(raised(&beacon("slot_2 = [\"Berths\"]", cranes)), NOTHING);
    let wide =
        "\n[[network]]\nname = \"harbor\"\nrepeaters = [\"beacon\"]\nwide = [{ talkgroup = \"Cranes\", slot = 1 }]\n";
    assert_eq!(raised(&format!("{}{wide}", beacon(refusing, cranes))), NOTHING);
}

#[test]
fn individual_calls_need_no_list() {
    let contact = "\n[[contact]]\nname = \"Lock 2\"\nid = 21022\n";
    let refusing = "slot_1 = { talkgroups = [\"Berths\"], only_listed = true }";
    assert_eq!(raised(&format!("{}{contact}", beacon(refusing, "slot = 1\ncall = \"Lock 2\""))), NOTHING);
}

#[test]
fn one_talkgroup_on_two_slots_of_a_network_is_told_once() {
    let two = |first: &str, second: &str, wide: &str| {
        format!(
            "\n[[talkgroup]]\nname = \"Berths\"\nid = 1201\n\n[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\n{first}\n\n[[repeater]]\nname = \"north mole\"\ntx_mhz = 453.4625\nrx_mhz = 458.4625\n{second}\n\n[[network]]\nname = \"harbor\"\nrepeaters = [\"beacon\", \"north mole\"]\n{wide}"
        )
    };
    let warning = [("talkgroup-on-both-slots", Level::Warning)];
    assert_eq!(raised(&two("slot_1 = [\"Berths\"]", "slot_2 = [\"Berths\"]", "")), warning);
    assert_eq!(raised(&two("slot_1 = [\"Berths\"]", "slot_1 = [\"Berths\"]", "")), NOTHING);
    // Both slots of one repeater: that repeater speaks, its network does not repeat it.
    assert_eq!(raised(&two("slot_1 = [\"Berths\"]\nslot_2 = [\"Berths\"]", "slot_1 = [\"Berths\"]", "")), warning);
    let wide = "wide = [{ talkgroup = \"Berths\", slot = 2 }]\n";
    assert_eq!(raised(&two("slot_1 = [\"Berths\"]", "", wide)), warning);
}

#[test]
fn ranges_have_a_finding_of_their_own_and_no_other() {
    assert_eq!(raised(&beacon("color_code = 16", "call = \"Berths\"")), [("color-code-range", Level::Error)]);
    assert_eq!(raised(&beacon("", "call = \"Berths\"\nslot = 0")), [("slot-range", Level::Error)]);
    let wide =
        "\n[[network]]\nname = \"harbor\"\nrepeaters = [\"beacon\"]\nwide = [{ talkgroup = \"Cranes\", slot = 3 }]\n";
    assert_eq!(raised(&format!("{}{wide}", beacon("", "call = \"Berths\""))), [("slot-range", Level::Error)]);
    let network = "\n[[network]]\nname = \"harbor\"\n\n[[radio]]\nids = { harbor = 16777216 }\nalias = \"Crane 2\"\n";
    assert_eq!(raised(network), [("address-range", Level::Error)]);
}

#[test]
fn color_code_15_is_told_where_it_is_to_be_changed() {
    assert_eq!(
        raised(&beacon("color_code = 15", "call = \"Berths\"\ncolor_code = 15")),
        [("color-code-15", Level::Warning)]
    );
}

#[test]
fn keys_for_a_mode_that_is_only_heard_say_something() {
    let channel = |keys: &str| format!("\n[[channel]]\nname = \"Marina\"\nrx_mhz = 464.4875\n{keys}\n");
    let hint = [("key-without-effect", Level::Hint)];
    assert_eq!(raised(&channel("sends = \"digital\"\nrx_tone = \"CTCSS 110.9\"")), hint);
    let both = "sends = \"digital\"\nreceives = [\"digital\", \"analog\"]\n";
    assert_eq!(raised(&channel(&format!("{both}rx_tone = \"CTCSS 110.9\"\ntx_tone = \"CTCSS 110.9\""))), NOTHING);
    let analog = "sends = \"analog\"\n";
    assert_eq!(raised(&channel(&format!("{analog}access = \"polite-to-own-color-code\""))), hint);
    assert_eq!(raised(&channel(&format!("{analog}access = \"polite-to-all\"\ntdma_direct_mode = false"))), NOTHING);
    assert_eq!(raised(&channel("sends = \"nothing\"\nreceives = [\"analog\"]\npower = \"low\"")), hint);
    // What it hears is not said, so nothing is known to be without effect.
    assert_eq!(raised(&channel("sends = \"nothing\"\ncolor_code = 5")), NOTHING);
    assert_eq!(raised(&channel("sends = \"digital\"\ntalk_around = true")), hint);
    assert_eq!(raised(&channel("sends = \"digital\"\ntx_mhz = 459.4875\ntdma_direct_mode = true")), hint);
}

#[test]
fn talk_around_is_direct_mode_and_no_slip_onto_the_input() {
    let around = beacon("", "call = \"Berths\"\ntalk_around = true\nslot = 1");
    assert_eq!(raised(&around), [("direct-mode-slot", Level::Hint)]);
}

#[test]
fn the_license_decides_who_shares_before_the_service_does() {
    let channel = |mhz: &str| {
        format!("\n[[channel]]\nname = \"Mooring\"\nsends = \"digital\"\nrx_mhz = {mhz}\naccess = \"impolite\"\n")
    };
    let plan = |regime: &str, license: &str| {
        let mhz = if regime == "eu-446" { "446.10625" } else { "453.2125" };
        let text = format!("{PLAN}regime = \"{regime}\"\n{license}{}", channel(mhz));
        named(&[("harbor.plan.toml", text)])
    };
    let warning = [("impolite-on-shared", Level::Warning)];
    assert_eq!(plan("eu-446", ""), warning);
    assert_eq!(plan("us-part-90", "\n[[license]]\nname = \"harbor-uhf\"\n"), NOTHING);
    let license = |used: &str| {
        format!(
            "\n[[license]]\nname = \"harbor-uhf\"\n\n[[license.assignment]]\nlow_mhz = 446.1\nhigh_mhz = 453.3\nuse = \"{used}\"\n"
        )
    };
    assert_eq!(plan("us-part-90", &license("shared")), warning);
    assert_eq!(plan("eu-446", &license("exclusive")), NOTHING);
    assert_eq!(raised(&channel("453.2125")), NOTHING);
}

/// ETSI TS 102 361-1, annex A. That zero is the null address is from memory, and so no error.
#[test]
fn addresses_are_judged_by_kind() {
    let radio = |id: &str| raised(&format!("\n[[radio]]\nid = {id}\nalias = \"Crane 2\"\n"));
    assert_eq!(radio("1"), NOTHING);
    assert_eq!(radio("16776415"), NOTHING);
    assert_eq!(radio("16776416"), [("address-reserved", Level::Error)]);
    assert_eq!(radio("16777215"), [("address-reserved", Level::Error)]);
    assert_eq!(radio("16777216"), [("address-range", Level::Error)]);
    assert_eq!(radio("-1"), [("address-range", Level::Error)]);
    assert_eq!(radio("0"), [("address-reserved", Level::Warning)]);
    // Units and talkgroups have numbers of their own.
    let both = format!("{GROUPS}\n[[radio]]\nid = 1201\nalias = \"Crane 2\"\n");
    let channel = "\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\ncall = \"Berths\"\nreceive_group = \"All hands\"\n";
    assert_eq!(raised(&format!("{both}{channel}")), NOTHING);
}

#[test]
fn talkgroup_numbers_are_compared_within_a_network() {
    let plan = |members: &str| {
        format!(
            "\n[[talkgroup]]\nname = \"Berths\"\nid = 1201\n\n[[talkgroup]]\nname = \"Ferries\"\nid = 1201\n\n[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\nslot_1 = [\"Berths\"]\n\n[[repeater]]\nname = \"island\"\ntx_mhz = 453.4625\nrx_mhz = 458.4625\nslot_1 = [\"Ferries\"]\n\n[[network]]\nname = \"harbor\"\nrepeaters = [\"beacon\"{members}]\n\n[[network]]\nname = \"islands\"\nrepeaters = [\"island\"]\n"
        )
    };
    assert_eq!(raised(&plan("")), NOTHING);
    let clash = ("talkgroup-id-clash", Level::Error);
    assert_eq!(raised(&plan(", \"island\"")), [clash, clash]);
}

#[test]
fn a_contact_is_missed_only_in_a_complete_fleet() {
    let plan = |complete: &str, radio: &str| {
        let text = format!(
            "{PLAN}{complete}\n\n[[network]]\nname = \"harbor\"\n\n[[contact]]\nname = \"Lock 2\"\nid = 21022\n{radio}"
        );
        named(&[("harbor.plan.toml", text)])
    };
    let complete = "fleet_complete = true";
    assert_eq!(plan("", ""), NOTHING);
    assert_eq!(plan(complete, ""), [("contact-not-a-radio", Level::Information)]);
    for radio in [
        "\n[[radio]]\nid = 21022\nstatus = \"spare\"\n",
        "\n[[radio]]\nids = { harbor = 21022 }\n",
        "\n[[station]]\nname = \"Lock house\"\nid = 21022\n",
    ] {
        assert_eq!(plan(complete, radio), NOTHING, "{radio}");
    }
    // A half-typed number might be the one.
    let half = plan(complete, "\n[[radio]]\nid = \nalias = \"Lock 2\"\n");
    assert!(half.iter().all(|(rule, _)| *rule != "contact-not-a-radio"), "{half:?}");
}

#[test]
fn a_unit_may_be_swapped_for_another() {
    let radios = |first: &str, second: &str| {
        format!(
            "\n[[radio]]\nid = 21007\nalias = \"Crane 2\"\n{first}\n\n[[radio]]\nid = 21008\nalias = \"Crane 2\"\n{second}\n"
        )
    };
    let twice = ("duplicate-alias", Level::Warning);
    assert_eq!(raised(&radios("", "")), [twice, twice]);
    assert_eq!(raised(&radios("", "status = \"spare\"")), NOTHING);
    assert_eq!(raised(&radios("status = \"lost\"", "")), NOTHING);
    let serials =
        |status: &str| radios("serial = \"HH-0007\"", &format!("serial = \"HH-0007\"\nstatus = \"{status}\""));
    let same = ("duplicate-serial", Level::Error);
    assert_eq!(raised(&serials("spare")), [same, same]);
    assert_eq!(raised(&serials("retired")), NOTHING);
}

#[test]
fn one_row_copied_is_one_mistake() {
    let row = "\n[[radio]]\nid = 21007\nalias = \"Crane 2\"\nserial = \"HH-0007\"\n";
    let twice = ("duplicate-radio-id", Level::Error);
    assert_eq!(raised(&format!("{row}{row}")), [twice, twice]);
}

fn with_key(lines: &str) -> String {
    format!(
        "\n[[key]]\nname = \"harbor-2026\"\nid = 17\n{lines}\n\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\nprivacy = \"harbor-2026\"\n"
    )
}

/// Patterns that are tried first, and lengths (AES: FIPS 197; 40 bits by the algorithm's name).
#[test]
fn weak_material_is_told_and_never_shown() {
    let published = "00112233445566778899AABBCCDDEEFF";
    for (material, algorithm) in [
        ("0000000000", "arc4-40"),
        ("AAAAAAAAAA", "arc4-40"),
        ("AA AA AA AA AA", "arc4-40"),
        ("12341234123412341234123412341234", "aes-128"),
        ("0123456789", "arc4-40"),
        ("9876543210", "arc4-40"),
        (published, "aes-128"),
        ("3f9c07d1b", "arc4-40"),
        ("9e107d9d372bb6826bd81d3542a419d6", "aes-256"),
    ] {
        let text = with_key(&format!("algorithm = \"{algorithm}\"\nvalue = \"{material}\""));
        assert_eq!(raised(&text), [("key-weak", Level::Error)], "{material}");
        let told = shown(&[("harbor.plan.toml", format!("{PLAN}{text}"))]);
        assert!(told.iter().all(|shown| !format!("{shown:?}").contains(material)), "{material}");
    }
    let sound = with_key("algorithm = \"aes-128\"\nvalue = \"9e107d9d372bb6826bd81d3542a419d6\"");
    assert_eq!(raised(&sound), [("key-in-clear", Level::Error)]);
    let unknown = with_key("value = \"9e107d9d372bb6826bd81d3542a419d6\"");
    assert_eq!(raised(&unknown), [("key-in-clear", Level::Error)]);
}

#[test]
fn secrets_in_clear_cannot_be_silenced() {
    let settings = "[rules]\nkey-weak = \"off\"\nkey-in-clear = \"hint\"\ncode-in-clear = \"off\"\n".to_owned();
    let keys = with_key("algorithm = \"arc4-40\"\nvalue = \"0000000000\"");
    let text = format!("{PLAN}{keys}\n[security]\npower_on_code = 4711\nprogramming_code = \"harbor gate\"\n");
    let code = ("code-in-clear", Level::Error);
    let files = [("guywire.toml", settings), ("harbor.plan.toml", text)];
    assert_eq!(named(&files), [code, code, ("key-weak", Level::Error)]);
    let told = format!("{:?}", shown(&files));
    assert!(!told.contains("4711") && !told.contains("harbor gate") && !told.contains("0000000000"));
}

#[test]
fn a_key_in_another_s_place_may_have_its_material() {
    let keys = |first: &str, second: &str| {
        format!(
            "\n[[key]]\nname = \"harbor-2026\"\nid = 17\n{first}\n\n[[key]]\nname = \"pilots-2026\"\nid = 18\n{second}\n\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\nprivacy = \"harbor-2026\"\nprivacy_receive = [\"pilots-2026\"]\n"
        )
    };
    let twice = ("key-reused", Level::Warning);
    assert_eq!(raised(&keys("check_value = \"9f3a77\"", "check_value = \"9f3a77\"")), [twice, twice]);
    assert_eq!(
        raised(&keys("check_value = \"9f3a77\"", "check_value = \"9f3a77\"\nreplaces = \"harbor-2026\"")),
        NOTHING
    );
    assert_eq!(raised(&keys("check_value = \"9f3\"", "check_value = \"9f3\"")), NOTHING);
    let clear = ("key-in-clear", Level::Error);
    let written = keys("value = \"3F9C 07D1 B6\"", "value = \"3f9c07d1b6\"");
    assert_eq!(raised(&written), [clear, clear, twice, twice]);
}

#[test]
fn a_key_that_is_only_understood_is_on_its_way_out() {
    let plan = |use_of_old: &str| {
        format!(
            "\n[[key]]\nname = \"harbor-2025\"\nid = 16\nrotate_by = 2026-11-24\n\n[[key]]\nname = \"harbor-2026\"\nid = 17\nreplaces = \"harbor-2025\"\nrotate_by = 2026-11-25\n\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\n{use_of_old}\n"
        )
    };
    let understood = plan("privacy = \"harbor-2026\"\nprivacy_receive = [\"harbor-2025\"]");
    assert_eq!(raised(&understood), NOTHING);
    let sent = plan("privacy = \"harbor-2025\"\nprivacy_receive = [\"harbor-2026\"]");
    assert_eq!(raised(&sent), [("key-past-rotation", Level::Warning)]);
}

#[test]
fn a_lost_radio_holds_the_keys_of_its_profile_unless_it_has_its_own() {
    let radio = |lines: &str| {
        let profile = "\n[[profile]]\nname = \"crane\"\nkeys = [\"harbor-2026\"]\n";
        format!(
            "{}{profile}\n[[radio]]\nid = 21007\nprofile = \"crane\"\n{lines}\n",
            with_key("algorithm = \"aes-256\"")
        )
    };
    assert_eq!(raised(&radio("status = \"lost\"")), [("lost-radio-holds-key", Level::Error)]);
    assert_eq!(raised(&radio("status = \"lost\"\nkeys = []")), NOTHING);
    assert_eq!(raised(&radio("status = \"issued\"")), NOTHING);
}

#[test]
fn a_radio_s_own_word_on_commands_wins_over_its_profile() {
    let radio = |class: &str, own: &str| {
        format!("\n[[profile]]\nname = \"crane\"\n{class}\n\n[[radio]]\nid = 21007\nprofile = \"crane\"\n{own}\n")
    };
    let open = ("listen-in-open", Level::Warning);
    assert_eq!(raised(&radio("obeys = [\"listen-in\"]", "")), [open]);
    assert_eq!(raised(&radio("obeys = [\"listen-in\"]\nauthenticated = true", "")), NOTHING);
    assert_eq!(raised(&radio("obeys = [\"listen-in\"]\nauthenticated = true", "authenticated = false")), [open]);
    assert_eq!(raised(&radio("authenticated = true", "obeys = [\"listen-in\"]")), NOTHING);
    let stun = raised(&radio("obeys = [\"stun\"]", ""));
    assert_eq!(stun, [("anyone-may-stun", Level::Warning), ("stun-without-way-back", Level::Error)]);
}

#[test]
fn a_carrier_outside_the_band_is_not_told_by_its_step_too() {
    let model = "step_khz = [5, 6.25]\n\n[[model.band]]\nlow_mhz = 403\nhigh_mhz = 473\n";
    let channel = |mhz: &str| format!("\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = {mhz}\n");
    assert_eq!(raised_with(model, &channel("453.2127")), [("off-step", Level::Error)]);
    assert_eq!(raised_with(model, &channel("483.2127")), [("outside-model-band", Level::Error)]);
    assert_eq!(raised_with(model, &channel("453.2125")), NOTHING);
}

#[test]
fn a_level_is_a_matter_of_sending() {
    let model = "\n[[model.power]]\nlevel = \"high\"\nwatts = 4\n";
    let channel =
        |lines: &str| format!("\n[[channel]]\nname = \"Tides\"\nrx_mhz = 464.9375\npower = \"low\"\n{lines}\n");
    assert_eq!(raised_with(model, &channel("sends = \"analog\"")), [("power-level-unknown", Level::Error)]);
    let listening = raised_with(model, &channel("sends = \"nothing\"\nreceives = [\"analog\"]"));
    assert_eq!(listening, [("key-without-effect", Level::Hint)]);
    assert_eq!(raised_with("", &channel("sends = \"analog\"")), NOTHING);
}

#[test]
fn settings_win_over_the_level_that_depends_on_the_plan() {
    let refusing = "slot_1 = { talkgroups = [\"Berths\"], only_listed = true }";
    let text = format!("{PLAN}{}", beacon(refusing, "slot = 1\ncall = \"Cranes\""));
    let settings = "[rules]\ntalkgroup-not-carried = \"information\"\n".to_owned();
    let found = named(&[("guywire.toml", settings), ("harbor.plan.toml", text)]);
    assert_eq!(found, [("talkgroup-not-carried", Level::Information)]);
}

/// A call that nobody hears is explained by what failed on its way, and that is the related place.
#[test]
fn a_call_that_nobody_hears_leads_to_what_failed() {
    let plan = |repeater: &str, sender: &str, listener: &str| {
        let channel = |name: &str, keys: &str| {
            format!(
                "[[channel]]\nname = \"{name}\"\n{keys}\n\n[[zone]]\nname = \"{name}\"\nchannels = [\"{name}\"]\n\n"
            )
        };
        let radio =
            |id: u32, zone: &str| format!("[[radio]]\nid = {id}\nalias = \"{zone} {id}\"\nzones = [\"{zone}\"]\n\n");
        let radios = format!("{}{}", radio(21001, "Work"), radio(21002, "Quay"));
        let (work, quay) = (channel("Work", sender), channel("Quay", listener));
        format!(
            "{PLAN}fleet_complete = true\n{GROUPS}\n[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\n{repeater}\n\n{work}{quay}{radios}"
        )
    };
    let digital = |keys: &str| format!("sends = \"digital\"\nreceive_group = \"All hands\"\n{keys}");
    let through = |keys: &str| digital(&format!("repeater = \"beacon\"\n{keys}"));
    let direct = |keys: &str| digital(&format!("rx_mhz = 453.4625\n{keys}"));
    let analog = |keys: &str| format!("sends = \"analog\"\nrepeater = \"beacon\"\n{keys}");
    let color = "color_code = 5";
    let cases = [
        // Not repeated: color code, tone.
        (
            color,
            through("color_code = 3\nslot = 1\ncall = \"Cranes\""),
            through("slot = 1\ncall = \"Berths\""),
            "color_code = 5",
        ),
        (
            "mode = \"analog\"\ninput_tones = [\"CTCSS 156.7\"]",
            analog("tx_tone = \"CTCSS 100.0\""),
            analog(""),
            "input_tones = [\"CTCSS 156.7\"]",
        ),
        // Repeated or direct, and missed: slot, color code.
        (
            color,
            direct("color_code = 5\ncall = \"Cranes\""),
            direct("color_code = 7\ncall = \"Berths\""),
            "color_code = 7",
        ),
        (
            color,
            direct("color_code = 5\ntdma_direct_mode = true\nslot = 1\ncall = \"Cranes\""),
            direct("color_code = 5\ntdma_direct_mode = true\nslot = 2\ncall = \"Berths\""),
            "slot = 2",
        ),
    ];
    for (repeater, sender, listener, written) in cases {
        let text = plan(repeater, &sender, &listener);
        let found = shown(&[("harbor.plan.toml", text.clone())]);
        let of_work = found.iter().find(|shown| shown.rule == "nobody-listens" && shown.message.contains("\"Work\""));
        let Some(of_work) = of_work else { panic!("{found:?}\n{text}") };
        let places: Vec<&str> = of_work.related.iter().map(|related| &text[related.bytes.clone()]).collect();
        let value = written.split(" = ").nth(1).unwrap_or_default();
        assert_eq!(places, [value], "{}", of_work.message);
        let at = of_work.related[0].bytes.start - (written.len() - value.len());
        assert!(text[at..].starts_with(written), "{}", of_work.message);
        let why = &of_work.related[0].message;
        let words = why.rsplit("\" ").next().unwrap_or_default();
        assert!(of_work.message.contains(words), "{} {why}", of_work.message);
    }
}
