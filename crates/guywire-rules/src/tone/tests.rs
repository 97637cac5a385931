//! What the pages of the rules about tones do not show.

use crate::testing::{judge, rules};

fn raised(text: &str) -> Vec<&'static str> {
    rules(&[("harbor.plan.toml", &format!("[plan]\ntitle = \"Saltmarsh Harbor handhelds\"\n{text}"))])
}

fn mole(repeater: &str, channel: &str) -> String {
    format!(
        "\n[[repeater]]\nname = \"mole\"\ntx_mhz = 464.7375\nrx_mhz = 469.7375\nmode = \"analog\"\n{repeater}\n\n[[channel]]\nname = \"Marina\"\nsends = \"analog\"\nrepeater = \"mole\"\n{channel}\n"
    )
}

const NOTHING: [&str; 0] = [];

#[test]
fn a_repeater_with_one_tone_needs_none_written_and_one_with_several_does() {
    assert_eq!(raised(&mole("input_tones = [\"CTCSS 127.3\"]", "")), NOTHING);
    let several = "input_tones = [\"CTCSS 127.3\", \"CTCSS 167.9\"]";
    assert_eq!(raised(&mole(several, "")), ["tone-missing-for-repeater"]);
    assert_eq!(raised(&mole(several, "tx_tone = \"CTCSS 167.9\"")), NOTHING);
    let said = judge(&[("a.plan.toml", &format!("[plan]\n{}", mole(several, "")))]);
    let written: Vec<&str> = said[0].fixes.iter().map(|(_, text)| text.as_str()).collect();
    assert_eq!(written, ["tx_tone = \"CTCSS 127.3\"", "tx_tone = \"CTCSS 167.9\""]);
}

#[test]
fn a_code_and_its_inverse_twin_open_the_same_repeater() {
    // TIA-603 words: 023 inverted is 047 normal.
    assert_eq!(raised(&mole("input_tones = [\"DCS 047N\"]", "tx_tone = \"DCS 023I\"")), NOTHING);
    assert_eq!(raised(&mole("input_tones = [\"DCS 047N\"]", "tx_tone = \"DCS 023N\"")), ["tone-missing-for-repeater"]);
}

#[test]
fn talk_around_and_what_cannot_be_read_open_no_repeater() {
    let tone = "input_tones = [\"CTCSS 127.3\"]";
    assert_eq!(raised(&mole(tone, "tx_tone = \"CTCSS 123.0\"\ntalk_around = true")), NOTHING);
    assert_eq!(raised(&mole("input_tones = [\"CTCSS 127.3\", 5]", "tx_tone = \"CTCSS 123.0\"")), ["wrong-type"]);
}

fn marina(name: &str, keys: &str) -> String {
    format!("\n[[channel]]\nname = \"{name}\"\nsends = \"analog\"\nrx_mhz = 464.4875\n{keys}\n")
}

#[test]
fn a_direct_channel_is_deaf_only_where_everybody_is_known() {
    let (waits, sends) = ("rx_tone = \"CTCSS 110.9\"\ntx_tone = \"CTCSS 114.8\"", "tx_tone = \"CTCSS 110.9\"");
    let complete = "fleet_complete = true\n";
    assert_eq!(raised(&format!("{complete}{}", marina("Marina", waits))), ["tone-never-sent"]);
    assert_eq!(raised(&marina("Marina", "rx_tone = \"CTCSS 110.9\"")), NOTHING);
    let both = marina("Marina", waits) + &marina("Office", sends);
    assert_eq!(raised(&format!("{complete}{both}")), NOTHING);
    let station = "\n[[station]]\nname = \"Marina office\"\nsends = [\"Marina\"]\n";
    assert_eq!(raised(&format!("{complete}{}{station}", marina("Marina", waits))), NOTHING);
    // Who listens on a frequency and sends elsewhere has a repeater that the plan does not describe.
    let duplex = marina("Marina", &format!("{waits}\ntx_mhz = 469.4875"));
    assert_eq!(raised(&format!("{complete}{duplex}")), NOTHING);
    assert_eq!(raised(&format!("{complete}{}", marina("Marina", &format!("{waits}\nunmute = \"carrier\"")))), NOTHING);
}

#[test]
fn a_repeater_may_send_the_tone_that_opened_it() {
    let several = "input_tones = [\"CTCSS 127.3\", \"CTCSS 167.9\"]\noutput_tone = \"same-as-input\"";
    let channel = "tx_tone = \"CTCSS 127.3\"\nrx_tone = ";
    assert_eq!(raised(&mole(several, &format!("{channel}\"CTCSS 167.9\""))), NOTHING);
    assert_eq!(raised(&mole(several, &format!("{channel}\"CTCSS 123.0\""))), ["tone-never-sent"]);
    assert_eq!(raised(&mole("", "rx_tone = \"CTCSS 123.0\"")), ["tone-never-sent"]);
}

#[test]
fn a_sheet_of_tones_counts_for_its_radios() {
    let judged = |tones: &str, tone: &str| {
        let plan = format!("[plan]\nmodel = \"hh.model.toml\"\n{}", marina("Marina", &format!("tx_tone = \"{tone}\"")));
        rules(&[("a.plan.toml", &plan), ("hh.model.toml", &format!("[model]\nname = \"hh-uhf\"\ntones = {tones}\n"))])
    };
    assert_eq!(judged("[\"CTCSS 111.9\"]", "CTCSS 111.9"), NOTHING);
    assert_eq!(judged("[\"CTCSS 100.0\"]", "CTCSS 110.9"), ["tone-not-standard"]);
    // TIA-603 words: 023 inverted is 047 normal.
    assert_eq!(judged("[\"DCS 047N\"]", "DCS 023I"), NOTHING);
    assert_eq!(judged("[]", "CTCSS 110.9"), NOTHING);
}

#[test]
fn a_tone_that_misses_its_repeater_is_told_once() {
    assert_eq!(
        raised(&mole("input_tones = [\"CTCSS 127.3\"]", "tx_tone = \"CTCSS 127.2\"")),
        ["tone-missing-for-repeater"]
    );
    let same = judge(&[(
        "a.plan.toml",
        &format!("[plan]\n{}", mole("input_tones = [\"CTCSS 127.2\"]", "tx_tone = \"CTCSS 127.2\"")),
    )]);
    assert_eq!(same.iter().map(|said| said.rule).collect::<Vec<_>>(), ["tone-not-standard"], "{same:?}");
}

#[test]
fn a_code_is_spelled_as_lists_have_it() {
    // TIA-603 words: 340 makes the stream of 023.
    let said = judge(&[(
        "a.plan.toml",
        &format!("[plan]\n{}", marina("Marina", "tx_tone = \"DCS 340N\"\nrx_tone = \"DCS 340N\"")),
    )]);
    let written: Vec<&str> = said.iter().flat_map(|said| &said.fixes).map(|(_, text)| text.as_str()).collect();
    assert_eq!(written, ["\"DCS 023N\" | \"DCS 023N\""], "{said:?}");
}

fn pair(first: &str, second: &str) -> String {
    marina("Marina", &format!("rx_tone = \"{first}\"")) + &marina("Slipway", &format!("rx_tone = \"{second}\""))
}

#[test]
fn tones_that_receivers_cannot_tell_apart_are_told_once() {
    // Separations computed from the tone list: 203.5/206.5 1.47 %, 203.5/210.7 3.54 %, 88.5/91.5 3.39 %.
    assert_eq!(judge(&[("a.plan.toml", &format!("[plan]\n{}", pair("CTCSS 206.5", "CTCSS 203.5")))]).len(), 1);
    assert_eq!(raised(&pair("CTCSS 203.5", "CTCSS 210.7")), NOTHING);
    assert_eq!(raised(&pair("CTCSS 88.5", "CTCSS 91.5")), NOTHING);
    // TIA-603 words: 023 inverted is 047 normal, and 023 normal is not.
    assert_eq!(raised(&pair("DCS 023I", "DCS 047N")), ["tone-pair-confusable"]);
    assert_eq!(raised(&pair("DCS 023N", "DCS 047N")), NOTHING);
    assert_eq!(raised(&pair("CTCSS 203.5", "CTCSS 203.5")), NOTHING);
    let apart = pair("CTCSS 203.5", "CTCSS 206.5").replacen("464.4875", "464.5125", 1);
    assert_eq!(raised(&apart), NOTHING);
}

#[test]
fn a_slip_in_a_tone_that_its_repeater_sends_is_told_once() {
    let repeater = "output_tone = \"CTCSS 203.5\"";
    let second =
        "\n[[channel]]\nname = \"Slipway\"\nsends = \"analog\"\nrepeater = \"mole\"\nrx_tone = \"CTCSS 206.5\"\n";
    assert_eq!(raised(&(mole(repeater, "") + second)), ["tone-never-sent"]);
}

#[test]
fn advice_on_the_mains_is_given_where_it_is_asked_for() {
    // A published tone list marks these as near harmonics of 50 or 60 Hz.
    for (mains, tone) in [(50, "100.0"), (60, "118.8"), (50, "151.4"), (60, "179.9")] {
        let channel = marina("Marina", &format!("rx_tone = \"CTCSS {tone}\""));
        assert_eq!(raised(&format!("mains_hz = {mains}\n{channel}")), ["tone-near-mains"], "{tone}");
        assert_eq!(raised(&channel), NOTHING);
    }
    let both = mole("input_tones = [\"CTCSS 118.8\"]\noutput_tone = \"CTCSS 118.8\"", "rx_tone = \"CTCSS 118.8\"");
    assert_eq!(judge(&[("a.plan.toml", &format!("[plan]\nmains_hz = 60\n{both}"))]).len(), 1);
}

#[test]
fn a_lockout_meets_a_repeater_whose_carrier_stays() {
    let locked = "busy_lockout = \"carrier\"";
    assert_eq!(raised(&mole("tail_ms = 0", locked)), NOTHING);
    assert_eq!(raised(&mole("", locked)), NOTHING);
    assert_eq!(raised(&mole("wake = \"continuous\"", locked)), ["lockout-against-own-repeater"]);
    assert_eq!(raised(&mole("tail_ms = 2000", &format!("{locked}\ntalk_around = true"))), NOTHING);
    let said = judge(&[("a.plan.toml", &format!("[plan]\n{}", mole("tail_ms = 2000", locked)))]);
    assert_eq!(said[0].fixes[0].1, "\"off\"");
}

#[test]
fn a_direct_channel_that_does_not_hear_itself_is_told() {
    let of = |keys: &str| raised(&marina("Marina", keys));
    let split = "tx_tone = \"CTCSS 110.9\"\nrx_tone = \"CTCSS 141.3\"";
    assert_eq!(of(split), ["tone-never-sent"]);
    assert_eq!(of("tx_tone = \"DCS 023N\"\nrx_tone = \"DCS 032N\""), ["tone-never-sent"]);
    assert_eq!(of(&split.replace("141.3", "110.9")), NOTHING);
    // TIA-603 words: 023 inverted is 047 normal.
    assert_eq!(of("tx_tone = \"DCS 023I\"\nrx_tone = \"DCS 047N\""), NOTHING);
    assert_eq!(of(&format!("{split}\nunmute = \"carrier\"")), NOTHING);
    assert_eq!(of(&format!("{split}\npurpose = \"announce\"")), NOTHING);
    assert_eq!(of(&format!("{split}\ntx_mhz = 469.4875")), NOTHING);
    // The other half of a pair that is split by intent, and a station that calls there.
    let other = marina("Slipway", "tx_tone = \"CTCSS 141.3\"\nrx_tone = \"CTCSS 110.9\"");
    assert_eq!(raised(&(marina("Marina", split) + &other)), NOTHING);
    let station = "\n[[station]]\nname = \"Marina office\"\nsends = [\"Marina\"]\n";
    assert_eq!(raised(&(marina("Marina", split) + station)), NOTHING);
    // A tone of no list is told as such.
    assert_eq!(of("tx_tone = \"CTCSS 110.9\"\nrx_tone = \"CTCSS 111.9\""), ["tone-not-standard"]);
}
