//! What the pages of the rules about services do not show. A file with an error has its own findings, and no plan gets one
//! from it.

use crate::testing::{judge, rules};
use crate::{CATALOG, Family, Level, Page};

const HEAD: &str = "[regime]\nname = \"saltmarsh-quay\"\n";
const NOTHING: [&str; 0] = [];

fn raised(text: &str) -> Vec<&'static str> {
    rules(&[("quay.regime.toml", &format!("{HEAD}{text}"))])
}

fn band(low: &str, high: &str, keys: &str) -> String {
    format!("\n[[band]]\nlow_mhz = {low}\nhigh_mhz = {high}\n{keys}\n")
}

fn channel(name: &str, rx: &str, keys: &str) -> String {
    format!("\n[[channel]]\nname = \"{name}\"\nrx_mhz = {rx}\n{keys}\n")
}

/// A plan of the service that sends far outside it.
const PLAN: &str = "[plan]\ntitle = \"Saltmarsh Harbor\"\nregime = \"quay.regime.toml\"\n\n[[channel]]\nname = \"Berths\"\nsends = \"analog\"\nrx_mhz = 462.5\nbandwidth_khz = 25\ntime_out_s = 300\n\n[[repeater]]\nname = \"mole\"\ntx_mhz = 464.7375\nrx_mhz = 469.7375\nmode = \"analog\"\n";

#[test]
fn a_plan_of_a_broken_service_is_not_judged_by_it() {
    let sound = band("453.0", "454.0", "");
    let told = rules(&[("a.plan.toml", PLAN), ("quay.regime.toml", &format!("{HEAD}{sound}"))]);
    assert!(told.contains(&"outside-service") && told.contains(&"not-licensed"), "{told:?}");
    let mut tried = 0;
    for rule in CATALOG.iter().map(|rule| rule.about()).filter(|rule| rule.family == Family::Regime) {
        if rule.level != Level::Error {
            continue;
        }
        let page = Page::of(rule);
        let mut files: Vec<(&str, &str)> = page.bad.iter().map(|file| (file.file, file.text.as_str())).collect();
        files.push(("a.plan.toml", PLAN));
        assert_eq!(rules(&files), [rule.name]);
        tried += 1;
    }
    assert!(tried >= 6, "{tried}");
}

#[test]
fn bands_overlap_only_where_both_hold() {
    let first = band("453.0", "454.0", "");
    let overlap = ["regime-bands-overlap"];
    assert_eq!(raised(&(first.clone() + &band("453.5", "455.0", ""))), overlap);
    assert_eq!(raised(&(first.clone() + &band("454.0", "455.0", ""))), NOTHING);
    assert_eq!(raised(&(first.clone() + &band("453.5", "455.0", "channels_only = true"))), NOTHING);
    let until = band("453.0", "454.0", "valid_until = 2026-12-31");
    assert_eq!(raised(&(until.clone() + &band("453.0", "454.0", "valid_from = 2027-01-01"))), NOTHING);
    assert_eq!(raised(&(until + &band("453.0", "454.0", "valid_from = 2026-12-31"))), overlap);
    let said = judge(&[("quay.regime.toml", &format!("{HEAD}{first}{}", band("453.5", "455.0", "")))]);
    assert_eq!(said.len(), 2);
    assert_eq!(said[0].message, said[1].message);
}

#[test]
fn a_carrier_stands_twice_on_either_side() {
    let pair = channel("Q7", "453.2125", "tx_mhz = 458.2125");
    let twice = ["regime-carrier-twice"];
    assert_eq!(raised(&(pair.clone() + &channel("Q8", "458.2125", ""))), twice);
    assert_eq!(raised(&(pair.clone() + &channel("Q8", "453.2125", ""))), twice);
    assert_eq!(raised(&(pair + &channel("Q8", "453.2250", ""))), NOTHING);
    let former = channel("Q7", "453.2125", "valid_until = 2025-12-31");
    assert_eq!(raised(&(former + &channel("Q8", "453.2125", "valid_from = 2026-01-01"))), NOTHING);
}

#[test]
fn a_range_of_one_output_is_a_pair() {
    let pair = |low: &str, high: &str| {
        band("453.0", "454.0", "")
            + &format!("\n[[pair]]\noutput_low_mhz = {low}\noutput_high_mhz = {high}\ninput_low_mhz = 458.2125\n")
    };
    assert_eq!(raised(&pair("453.2125", "453.2125")), NOTHING);
    assert_eq!(raised(&pair("453.2125", "453.2")), ["regime-edges-inverted"]);
    let unusual = "[plan]\ntitle = \"Saltmarsh Harbor\"\nregime = \"quay.regime.toml\"\n\n[[license]]\nname = \"own\"\n\n[[repeater]]\nname = \"mole\"\ntx_mhz = 453.2125\nrx_mhz = 453.7125\n";
    let file = format!("{HEAD}{}", pair("453.2125", "453.2125"));
    assert_eq!(rules(&[("a.plan.toml", unusual), ("quay.regime.toml", &file)]), ["offset-unusual"]);
}

#[test]
fn zero_is_told_wherever_it_cannot_be() {
    let zero = ["regime-value-zero"];
    for key in ["max_bandwidth_khz = 0", "stability_ppm = 0", "raster_origin_mhz = 453\nraster_step_khz = 0"] {
        assert_eq!(raised(&band("453.0", "454.0", key)), zero, "{key}");
    }
    let limit = "\n[[band.limit]]\nstation = \"mobile\"\nmax_power_w = 0\n";
    assert_eq!(raised(&(band("453.0", "454.0", "") + limit)), zero);
    assert_eq!(raised(&channel("Q7", "0", "")), zero);
    // No time is no identification, and no time-out: both may be zero.
    assert_eq!(raised(&format!("station_id_s = 0\ntime_out_s = 0\n{}", band("453.0", "454.0", ""))), NOTHING);
}

#[test]
fn a_service_is_empty_by_its_tables_or_by_its_dates() {
    assert_eq!(raised(""), ["regime-empty"]);
    assert_eq!(raised(&band("453.0", "454.0", "valid_until = 2026-11-24")), ["regime-empty"]);
    assert_eq!(raised(&band("453.0", "454.0", "valid_until = 2026-11-25")), NOTHING);
    assert_eq!(raised(&band("453.0", "454.0", "valid_from = 2026-11-26")), ["regime-empty"]);
    assert_eq!(raised(&channel("Q7", "453.2125", "")), NOTHING);
}

#[test]
fn emissions_are_designators_or_their_last_three_symbols() {
    for list in ["[\"FXE\"]", "[\"11K0F3E\", \"7K60FXD\"]", "[]"] {
        assert_eq!(raised(&band("453.0", "454.0", &format!("emissions = {list}"))), NOTHING, "{list}");
    }
    for list in ["[\"F3\"]", "[\"digital\"]", "[\"FXE\", \"QQQ\"]", "[\"99K99F3E\"]"] {
        let raised = raised(&band("453.0", "454.0", &format!("emissions = {list}")));
        assert_eq!(raised, ["regime-emission-unknown"], "{list}");
    }
}
