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
