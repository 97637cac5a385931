//! What the pages of the rules about carriers do not show.

use crate::testing::rules;

const PLAN: &str = "[plan]\ntitle = \"Saltmarsh Harbor boats\"\n";

fn raised(text: &str) -> Vec<&'static str> {
    rules(&[("harbor.plan.toml", &format!("{PLAN}{text}"))])
}

fn channel(keys: &str) -> String {
    format!("\n[[channel]]\nname = \"Watch\"\nsends = \"analog\"\n{keys}\n")
}

fn license(tx_mhz: &str) -> String {
    format!("\n[[license]]\nname = \"harbor vessels\"\n\n[[license.assignment]]\ntx_mhz = {tx_mhz}\n")
}

const PROTECTED: [&str; 1] = ["protected-frequency"];
const NOTHING: [&str; 0] = [];

#[test]
fn a_license_allows_a_voice_channel_and_no_distress_frequency() {
    // RR Appendices 15 and 18; 47 CFR 80.313, 87.195.
    for mhz in ["121.5", "243.0", "406.025", "156.525", "161.975", "162.025"] {
        assert_eq!(raised(&(channel(&format!("rx_mhz = {mhz}")) + &license(mhz))), PROTECTED, "{mhz}");
    }
    for mhz in ["156.8", "156.65", "123.1", "162.55"] {
        assert_eq!(raised(&channel(&format!("rx_mhz = {mhz}"))), PROTECTED, "{mhz}");
        assert_eq!(raised(&(channel(&format!("rx_mhz = {mhz}")) + &license(mhz))), NOTHING, "{mhz}");
        assert_eq!(raised(&(channel(&format!("rx_mhz = {mhz}")) + &license("156.05"))), PROTECTED, "{mhz}");
    }
}

#[test]
fn what_an_emission_reaches_counts_and_not_its_carrier_alone() {
    assert_eq!(raised(&channel("rx_mhz = 156.8125\nbandwidth_khz = 25")), PROTECTED);
    assert_eq!(raised(&channel("rx_mhz = 156.85\nbandwidth_khz = 25")), NOTHING);
    assert_eq!(raised(&channel("rx_mhz = 151.82")), NOTHING);
}

#[test]
fn the_service_of_ships_allows_its_channels_but_not_the_distress_channel() {
    let service = "regime = \"maritime-vhf\"\n";
    // That no license is declared is told once a plan, whatever the channel.
    assert_eq!(raised(&format!("{service}{}", channel("rx_mhz = 156.3"))), ["not-licensed"]);
    let watch = raised(&format!("{service}{}", channel("rx_mhz = 156.8")));
    assert_eq!(watch, ["not-licensed", "protected-frequency"]);
}

#[test]
fn a_repeater_is_told_once_and_its_channels_are_not() {
    let repeater = "\n[[repeater]]\nname = \"mole\"\ntx_mhz = 243\nrx_mhz = 248\nmode = \"analog\"\n";
    let said =
        crate::testing::judge(&[("a.plan.toml", &format!("{PLAN}{repeater}{}", channel("repeater = \"mole\"")))]);
    assert_eq!(said.iter().map(|said| said.rule).collect::<Vec<_>>(), PROTECTED, "{said:?}");
}

fn beside_beacon(channel: &str) -> Vec<&'static str> {
    let repeater = "\n[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\n";
    raised(&format!("{repeater}\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\n{channel}\n"))
}

#[test]
fn a_slip_beside_a_repeater_is_told_and_another_pair_is_not() {
    let missed = ["near-miss-frequency"];
    assert_eq!(beside_beacon("rx_mhz = 453.2152"), missed);
    assert_eq!(beside_beacon("rx_mhz = 453.21\ntx_mhz = 458.2125"), missed);
    assert_eq!(beside_beacon("rx_mhz = 463.2125\ntx_mhz = 458.2125"), missed);
    assert_eq!(beside_beacon("rx_mhz = 453.2125"), NOTHING);
    assert_eq!(beside_beacon("rx_mhz = 453.2175"), NOTHING);
    // Both differ in one digit: another pair of the same raster.
    assert_eq!(beside_beacon("rx_mhz = 453.3125\ntx_mhz = 458.3125"), NOTHING);
    assert_eq!(beside_beacon("rx_mhz = 453.2125\ntx_mhz = 457.6125"), NOTHING);
}

/// The plan has a license that names no frequencies, unless `rest` has one.
fn part_90(kind: &str, rest: &str) -> Vec<&'static str> {
    let license = if rest.contains("[[license]]") { "" } else { "\n[[license]]\nname = \"harbor-uhf\"\n" };
    let plan = format!("{PLAN}regime = \"us-part-90\"\nmodel = \"uhf.model.toml\"\n{license}{rest}");
    rules(&[("a.plan.toml", &plan), ("uhf.model.toml", &format!("[model]\nname = \"uhf\"\n{kind}\n"))])
}

fn pair(rx: &str, tx: &str) -> String {
    format!("\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = {rx}\ntx_mhz = {tx}\n")
}

#[test]
fn an_order_is_wrong_by_the_kind_of_radio() {
    // 47 CFR 90.20, 90.35: mobiles send 5 MHz above base stations in 450 to 470 MHz; 90.311: 3 MHz from 470 MHz.
    let handheld = "kind = \"handheld\"";
    assert_eq!(part_90(handheld, &pair("458.2125", "453.2125")), ["offset-reversed"]);
    assert_eq!(part_90("kind = \"base\"", &pair("458.2125", "453.2125")), NOTHING);
    assert_eq!(part_90("", &pair("458.2125", "453.2125")), NOTHING);
    assert_eq!(part_90(handheld, &pair("453.2125", "458.2125")), NOTHING);
    assert_eq!(part_90(handheld, &pair("471.5", "474.5")), NOTHING);
    assert_eq!(part_90(handheld, &pair("471.5", "476.5")), ["offset-unusual"]);
    assert_eq!(part_90(handheld, &pair("453.2125", "151.4")), NOTHING);
}

#[test]
fn a_license_that_has_the_pair_so_decides() {
    let handheld = "kind = \"handheld\"";
    let assigned = |sent: &str, heard: &str, class: &str| {
        let of = |mhz: &str, class: &str| format!("\n[[license.assignment]]\ntx_mhz = {mhz}\nstation = \"{class}\"\n");
        format!("\n[[license]]\nname = \"harbor\"\n{}{}", of(sent, class), of(heard, "repeater"))
    };
    let unusual = pair("453.2125", "457.2125");
    assert_eq!(part_90(handheld, &unusual), ["offset-unusual"]);
    assert_eq!(part_90(handheld, &(unusual.clone() + &assigned("457.2125", "453.2125", "mobile"))), NOTHING);
    assert_eq!(part_90(handheld, &(unusual + &assigned("458.2125", "453.2125", "mobile"))), ["offset-unusual"]);
    let reversed = pair("458.2125", "453.2125");
    assert_eq!(part_90(handheld, &(reversed.clone() + &assigned("453.2125", "458.2125", "mobile"))), NOTHING);
    assert_eq!(part_90(handheld, &(reversed + &assigned("458.2125", "453.2125", "mobile"))), ["offset-reversed"]);
}

#[test]
fn a_habit_is_never_a_reason_to_warn() {
    let amateur = "regime = \"us-part-97\"\n\n[[repeater]]\nname = \"mole\"\ntx_mhz = 146.94\nrx_mhz = 146.14\n";
    assert_eq!(raised(amateur), NOTHING);
}

#[test]
fn a_slip_beside_a_repeater_is_told_once_where_pairs_are_published() {
    let repeater = "\n[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\n";
    let slip = pair("453.2125", "458.2625");
    assert_eq!(part_90("kind = \"handheld\"", &format!("{repeater}{slip}")), ["near-miss-frequency"]);
}
