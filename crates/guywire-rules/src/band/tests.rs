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
    assert_eq!(raised(&format!("{service}{}", channel("rx_mhz = 156.3"))), NOTHING);
    assert_eq!(raised(&format!("{service}{}", channel("rx_mhz = 156.8"))), PROTECTED);
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
