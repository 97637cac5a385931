use guywire_radio::geodesy::Position;
use guywire_radio::path::horizon_km;

use crate::testing::{Said, judge, rules};

const PLAN: &str = "harbor.plan.toml";

/// A place with a repeater and co-tenants: output, input, then each co-tenant's keys.
fn hill(pair: (&str, &str), others: &[&str]) -> String {
    let others: String = others.iter().map(|keys| format!("[[site.other]]\n{keys}\n")).collect();
    let (output, input) = pair;
    format!(
        "[plan]\n[[site]]\nname = \"Hill\"\n{others}[[repeater]]\nname = \"beacon\"\nsite = \"Hill\"\ntx_mhz = {output}\nrx_mhz = {input}\n"
    )
}

fn said(text: &str) -> Vec<Said> {
    judge(&[(PLAN, text)])
}

fn names(text: &str) -> Vec<&'static str> {
    rules(&[(PLAN, text)])
}

fn other(mhz: &str) -> String {
    format!("tx_mhz = {mhz}\nbandwidth_khz = 1")
}

/// Products of the textbook: 455.0 and 455.5 give 454.5 and 456.0; with 456.25 also 454.25, 455.75 and 456.75.
#[test]
fn products_of_two_and_three_carriers_are_found() {
    let with = |input: &str| hill(("455.0", input), &[&other("455.5"), &other("456.25")]);
    for input in ["454.5", "456.0", "454.25", "455.75", "456.75"] {
        assert_eq!(names(&with(input)), ["intermodulation"], "{input}");
    }
    for input in ["454.0", "457.25", "460.0"] {
        assert!(names(&with(input)).is_empty(), "{input}");
    }
}

/// 2 x 455.5 - 455.0 = 456.0 is 2 x 1 + 12.5 kHz wide, the input 12.5: they meet up to 13.5 kHz from it.
#[test]
fn a_product_is_as_wide_as_its_carriers_each_as_often_as_it_counts() {
    let with = |input: &str| hill(("455.0", input), &[&other("455.5")]);
    assert_eq!(names(&with("456.0135")), ["intermodulation"]);
    assert!(names(&with("456.0136")).is_empty());
    // Without a width the co-tenant is a bare carrier of 1 Hz.
    let bare = |input: &str| hill(("455.0", input), &["tx_mhz = 455.5"]);
    assert_eq!(names(&bare("456.0125")), ["intermodulation"]);
    assert!(names(&bare("456.0126")).is_empty());
}

#[test]
fn one_finding_an_input_counts_its_products_and_tells_of_a_raster() {
    let others: Vec<String> = ["455.0125", "455.025", "455.0375", "455.05"].map(other).to_vec();
    let others: Vec<&str> = others.iter().map(String::as_str).collect();
    let found = said(&hill(("455.0", "455.1"), &others));
    let [only] = found.as_slice() else { panic!("{found:#?}") };
    assert_eq!(only.rule, "intermodulation");
    // 2 x 455.05 - 455.0 = 455.1, and 455.0375 + 455.05 - 455.0 = 455.0875, wide enough to reach it.
    assert!(only.message.starts_with("2 intermodulation products"), "{}", only.message);
    assert!(only.message.contains("one raster of 12.5 kHz"), "{}", only.message);
}

/// The order of the tables says nothing.
#[test]
fn messages_do_not_depend_on_the_order_of_tables() {
    let (a, b) = (other("455.5"), other("456.25"));
    let messages = |others: &[&str]| -> Vec<String> {
        said(&hill(("455.0", "454.25"), others)).into_iter().map(|said| said.message).collect()
    };
    assert_eq!(messages(&[&a, &b]), messages(&[&b, &a]));
}

#[test]
fn sites_count_together_when_they_are_near() {
    let two = |longitude: &str| {
        format!(
            "[plan]\n[[site]]\nname = \"Hill\"\nlatitude = 44.1\nlongitude = -68.8\n[[site]]\nname = \"Hut\"\nlatitude = 44.1\nlongitude = {longitude}\n[[site.other]]\n{}\n[[repeater]]\nname = \"beacon\"\nsite = \"Hill\"\ntx_mhz = 455.0\nrx_mhz = 456.0\n",
            other("455.5")
        )
    };
    let apart =
        |longitude| Position::new(44.1, -68.8).unwrap().distance_km(Position::new(44.1, longitude).unwrap()) * 1000.0;
    assert!(apart(-68.801) < 100.0 && apart(-68.802) > 100.0);
    assert_eq!(names(&two("-68.801")), ["intermodulation"]);
    assert!(names(&two("-68.802")).is_empty());
}

/// 154.200 x 3 = 462.600, and a third harmonic is three times as wide: 154.2 at 11 kHz is heard from 462.57725 on by a
/// receiver of 12.5 kHz.
#[test]
fn harmonics_of_more_than_a_watt_are_found() {
    let with = |input: &str, watts: &str| {
        hill(("467.6", input), &[&format!("tx_mhz = 154.2\nbandwidth_khz = 11\npower_w = {watts}")])
    };
    assert_eq!(names(&with("462.6", "25")), ["harmonic-on-receive"]);
    assert_eq!(names(&with("462.57725", "25")), ["harmonic-on-receive"]);
    assert!(names(&with("462.5772", "25")).is_empty());
    assert!(names(&with("462.6", "1")).is_empty());
    let unknown = hill(("467.6", "462.6"), &["tx_mhz = 154.2\nbandwidth_khz = 11"]);
    assert!(names(&unknown).is_empty());
}

/// 462.5500 at 20 kHz and 462.5625 at 12.5: 12.5 < 16.25 kHz.
#[test]
fn carriers_overlap_closer_than_half_the_sum_of_their_widths() {
    let with = |mhz: &str| hill(("462.5625", "467.5625"), &[&format!("tx_mhz = {mhz}\nbandwidth_khz = 20")]);
    assert_eq!(names(&with("462.55")), ["overlapping-carriers"]);
    assert_eq!(names(&with("462.5463")), ["overlapping-carriers"]);
    assert!(names(&with("462.54625")).is_empty());
    assert!(names(&hill(("462.5625", "467.5625"), &["tx_mhz = 462.55"])).is_empty());
}

#[test]
fn the_channel_beside_an_input_is_close_and_the_one_after_it_is_not() {
    let with = |mhz: &str| hill(("453.2125", "458.2125"), &[&format!("tx_mhz = {mhz}\nbandwidth_khz = 12.5")]);
    assert_eq!(names(&with("458.225")), ["adjacent-channel-close"]);
    assert_eq!(names(&with("458.2125")), ["adjacent-channel-close"]);
    assert!(names(&with("458.2375")).is_empty());
}

#[test]
fn a_pair_and_an_isolation_are_held_against_the_duplexer() {
    let with = |duplexer: &str, output: &str| {
        hill((output, "458.2125"), &[]).replace("[[repeater]]", &format!("duplexer = {{ {duplexer} }}\n[[repeater]]"))
    };
    assert!(names(&with("spacing_mhz = 5, isolation_db = 75", "453.2125")).is_empty());
    assert_eq!(names(&with("spacing_mhz = 5", "453.2126")), ["transmit-receive-close"]);
    assert_eq!(names(&with("isolation_db = 49", "453.2125")), ["transmit-receive-close"]);
    // A channel from its own input: the duplexer speaks alone.
    assert_eq!(names(&with("spacing_mhz = 5", "458.225")), ["transmit-receive-close"]);
}

/// Two repeaters with output, input, and what else they say.
fn two(east: f64, more: (&str, &str), tables: &str) -> String {
    let site = |name: &str, longitude: f64| {
        format!("[[site]]\nname = \"{name}\"\nlatitude = 0\nlongitude = {longitude}\nantenna_m = 30\n")
    };
    let repeater = |name: &str, site: &str, input: &str, more: &str| {
        format!(
            "[[repeater]]\nname = \"{name}\"\nsite = \"{site}\"\ntx_mhz = 453.2125\nrx_mhz = {input}\npower_w = 25\nantenna_gain_dbi = 6\n{more}\n"
        )
    };
    format!(
        "[plan]\n{}{}{}{}[[talkgroup]]\nname = \"G\"\nid = 1\n{tables}",
        site("Hill", 0.0),
        site("Mole", east),
        repeater("beacon", "Hill", "458.2125", more.0),
        repeater("mole", "Mole", "458.7125", more.1),
    )
}

const BOTH: &str = "color_code = 5\nslot_1 = [\"G\"]";

/// The reach ends at the horizon: 4.12 (sqrt 30 + sqrt 1.5) = 27.6 km, 0.248 degrees at the equator.
#[test]
fn one_frequency_clashes_up_to_the_horizon() {
    assert!((horizon_km(30.0, 1.5).unwrap() - 27.6).abs() < 0.05);
    let plain = ("color_code = 5\nslot_1 = [\"G\"]", "color_code = 6\nslot_1 = [\"G\"]");
    let found = said(&two(0.2, plain, ""));
    assert_eq!(found.iter().map(|said| said.rule).collect::<Vec<_>>(), ["co-channel-clash"; 2]);
    assert!(found[0].message.contains("22.3 km"), "{}", found[0].message);
    assert!(names(&two(0.25, plain, "")).is_empty());
    let network = "[[network]]\nname = \"N\"\nrepeaters = [\"beacon\", \"mole\"]\n";
    assert!(names(&two(0.2, plain, network)).is_empty());
    assert!(names(&two(0.2, plain, "").replace("antenna_m = 30\n", "")).is_empty());
    assert!(names(&two(0.2, plain, "").replace("power_w = 25\n", "")).is_empty());
}

#[test]
fn listeners_are_mistaken_only_with_one_code_and_one_group() {
    let wrong = |more: (&str, &str)| said(&two(0.1, more, "")).iter().all(|it| it.message.contains("wrong station"));
    assert!(wrong((BOTH, BOTH)));
    assert!(!wrong((BOTH, "color_code = 6\nslot_1 = [\"G\"]")));
    assert!(!wrong((BOTH, "color_code = 5\nslot_2 = [\"G\"]")));
}

#[test]
fn the_two_halves_of_one_station_do_not_clash() {
    let one = |mode: &str| {
        two(0.0, ("", &format!("mode = \"{mode}\"")), "[[shortcut]]\ncall = \"G\"\n")
            .replace("site = \"Mole\"", "site = \"Hill\"")
            .replace("458.7125", "458.2125")
    };
    assert!(names(&one("analog")).is_empty());
    assert_eq!(names(&one("digital")), ["co-channel-clash"]);
}

/// What cannot be read is no carrier.
#[test]
fn unreadable_carriers_say_nothing() {
    let broken = hill(
        ("453.2125", "458.2125"),
        &["tx_mhz = \"458\"\nbandwidth_khz = 12.5", "tx_mhz = 458.2125\nbandwidth_khz = \"x\""],
    );
    let found = names(&broken);
    assert!(!found.contains(&"intermodulation") && !found.contains(&"overlapping-carriers"), "{found:?}");
}
