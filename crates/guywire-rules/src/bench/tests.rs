use guywire_radio::path::horizon_km;

use crate::testing::{Said, judge, rules};

const BENCH: &str = "hh.bench.toml";
const SHEET: &str = "[model]\nname = \"hh\"\nstability_ppm = 1.5\n[[model.band]]\nlow_mhz = 403\nhigh_mhz = 473\n[[model.power]]\nlevel = \"high\"\nwatts = 5.0\ntolerance_db = 1.5\n[[model.power]]\nlevel = \"low\"\nwatts = 1.0\ntolerance_db = 1.5\n";

/// A session with a meter of 10 W at 5 % (0.5 W either way) and these further keys and readings.
fn session(keys: &str, instrument: &str, readings: &[String]) -> Vec<Said> {
    let text = format!(
        "[bench]\ndate = 2026-11-03\nmodel = \"hh.model.toml\"\n{keys}\ninstrument = {{ full_scale_w = 10, accuracy_percent_of_full_scale = 5{instrument} }}\n{}",
        readings.concat()
    );
    judge(&[(BENCH, &text), ("hh.model.toml", SHEET)])
}

fn reading(mhz: &str, sends: &str, level: &str, watts: f64) -> String {
    format!("[[reading]]\nmhz = {mhz}\nsends = \"{sends}\"\nlevel = \"{level}\"\nwatts = {watts}\n")
}

fn names(said: &[Said]) -> Vec<&'static str> {
    said.iter().map(|said| said.rule).collect()
}

fn one(watts: f64) -> Vec<&'static str> {
    names(&session("", "", &[reading("453", "analog", "high", watts)]))
}

/// Rated 5 W within 1.5 dB: 3.5397 to 7.0627 W; the meter is 0.5 W off at most.
#[test]
fn a_verdict_holds_whatever_the_meters_error() {
    assert_eq!(one(3.03), ["reading-under-rating"]);
    assert!(one(3.05).is_empty() && one(5.0).is_empty() && one(7.55).is_empty());
    assert_eq!(one(7.57), ["reading-over-rating"]);
}

/// 3 dB of cable halve the power: 2.6 W at the meter are 5.2 W at the radio.
#[test]
fn the_loss_on_the_way_is_added_first() {
    let with = |loss: &str| names(&session(loss, "", &[reading("453", "analog", "high", 2.6)]));
    assert_eq!(with(""), ["reading-under-rating"]);
    assert!(with("path_loss_db = 3").is_empty());
}

#[test]
fn without_the_meters_error_nothing_is_proven() {
    let text =
        format!("[bench]\ndate = 2026-11-03\nmodel = \"hh.model.toml\"\n{}", reading("453", "analog", "high", 0.1));
    assert!(rules(&[(BENCH, &text), ("hh.model.toml", SHEET)]).is_empty());
}

/// 27.5 of 60 ms: an averaging meter shows 2.29 W of 5.
#[test]
fn an_average_of_bursts_is_no_lack_of_power() {
    let with = |instrument: &str, sends: &str| names(&session("", instrument, &[reading("453", sends, "high", 2.29)]));
    assert_eq!(with(", measures = \"average\"", "digital"), ["averaging-meter-on-digital"]);
    assert_eq!(with("", "digital"), ["averaging-meter-on-digital"]);
    assert_eq!(with(", measures = \"burst\"", "digital"), ["reading-under-rating"]);
    assert_eq!(with(", measures = \"average\"", "analog"), ["reading-under-rating"]);
}

#[test]
fn levels_are_compared_at_one_frequency_and_mode() {
    let with = |mhz: &str, low: f64| {
        let found = session("", "", &[reading("453", "analog", "high", 4.0), reading(mhz, "analog", "low", low)]);
        names(&found).contains(&"low-not-below-high")
    };
    assert!(!with("453", 1.0) && !with("453", 4.9));
    assert!(with("453", 5.1));
    assert!(!with("454", 5.1));
}

#[test]
fn a_small_reading_on_a_large_scale_says_little() {
    let low = |watts: f64| names(&session("", "", &[reading("453", "analog", "low", watts)]));
    assert_eq!(low(0.9), ["reading-below-meter"]);
    assert!(low(1.0).is_empty());
    // 0.1 W of 5 is too little whatever the error: that is told instead.
    assert_eq!(one(0.1), ["reading-under-rating"]);
}

/// 10 W for 60 s are 600 J: 4.5 W and more pass that after 133 s, where the rated time is over.
#[test]
fn a_load_stands_its_power_and_its_time() {
    let with = |load: &str, keyed: &str| {
        let row = format!("{}{keyed}\n", reading("453", "analog", "high", 5.0));
        names(&session(&format!("load = {{ {load} }}"), "", &[row]))
    };
    let over = ["load-over-rating"];
    assert!(with("rated_w = 10", "").is_empty());
    assert_eq!(with("rated_w = 4.4", ""), over);
    assert!(with("rated_w = 4.6", "").is_empty());
    assert!(with("rated_w = 10, rated_s = 60", "keyed_s = 133").is_empty());
    assert_eq!(with("rated_w = 10, rated_s = 60", "keyed_s = 134"), over);
    assert!(with("rated_w = 10, rated_s = 60", "").is_empty());
}

#[test]
fn a_calibration_holds_to_its_day() {
    let with = |done: &str, months: u32| {
        names(&session("", &format!(", calibrated = {done}, calibration_months = {months}"), &[]))
    };
    assert!(with("2025-11-03", 12).is_empty() && with("2025-11-04", 12).is_empty() && with("2026-11-03", 0).is_empty());
    assert_eq!(with("2025-11-02", 12), ["instrument-out-of-calibration"]);
    assert_eq!(with("2025-10-31", 12), ["instrument-out-of-calibration"]);
    assert!(with("2025-12-31", 11).is_empty());
}

#[test]
fn carriers_are_held_against_bands_and_stability() {
    let at = |mhz: &str| names(&session("", "", &[reading(mhz, "analog", "high", 5.0)]));
    assert!(at("403").is_empty() && at("473").is_empty());
    assert_eq!(at("402.9999"), ["reading-outside-band"]);
    // 1.5 ppm of 400 MHz and more: 679.5 Hz at 453.
    let off = |hertz: &str| {
        let row = format!("{}frequency_error_hz = {hertz}\n", reading("453", "analog", "high", 5.0));
        names(&session("", "", &[row]))
    };
    assert!(off("679").is_empty() && off("-679.5").is_empty());
    assert_eq!(off("680"), ["frequency-error-over-limit"]);
    assert_eq!(off("-680"), ["frequency-error-over-limit"]);
}

#[test]
fn power_over_the_band_differs_only_beyond_the_error() {
    let with = |first: f64, second: f64| {
        let rows = [reading("403", "analog", "high", first), reading("473", "analog", "high", second)];
        names(&session("", "", &rows))
    };
    assert!(with(5.0, 5.0).is_empty());
    // 6.5 to 7.5 and 4.3 to 5.3 W: 10 log(6.5 / 5.3) = 0.9 dB.
    assert!(with(7.0, 4.8).is_empty());
    // 6.5 and 5.1: 1.05 dB, whichever comes first.
    assert_eq!(with(7.0, 4.6), ["power-varies-over-band"]);
    assert_eq!(with(4.6, 7.0), ["power-varies-over-band"]);
}

// ---- the field ----------------------------------------------------------------------------------

const PLAN: &str = "[plan]\n[[site]]\nname = \"Hill\"\nlatitude = 0\nlongitude = 0\nantenna_m = 30\n[[repeater]]\nname = \"beacon\"\nsite = \"Hill\"\ntx_mhz = 453\nrx_mhz = 458\n[[channel]]\nname = \"A\"\nsends = \"digital\"\nrepeater = \"beacon\"\n[requirements]\nquality_at_least_daq = 3.0\n";

fn trial(keys: &str) -> Vec<Said> {
    let text = format!("[field]\ndate = 2026-11-05\nplan = \"harbor.plan.toml\"\n[[trial]]\nchannel = \"A\"\n{keys}\n");
    judge(&[("harbor.plan.toml", PLAN), ("a.field.toml", &text)])
}

/// 4.12 (sqrt 1.5 + sqrt 1.5) = 10.1 km between two people; 1.3 times that are 13.1.
#[test]
fn a_path_is_held_against_the_horizon() {
    assert!((horizon_km(1.5, 1.5).unwrap() - 10.1).abs() < 0.05);
    let at = |km: f64, heard: bool| {
        names(&trial(&format!(
            "from = {{ antenna_m = 1.5 }}\nto = {{ antenna_m = 1.5 }}\ndistance_km = {km}\nheard = {heard}"
        )))
    };
    assert!(at(10.0, true).is_empty() && at(20.0, false).is_empty());
    assert_eq!(at(10.2, true), ["beyond-horizon"]);
    assert_eq!(at(13.2, true), ["beyond-horizon"]);
    let unknown = names(&trial("from = { antenna_m = 1.5 }\ndistance_km = 99\nheard = true"));
    assert!(unknown.is_empty());
}

/// 4.12 (sqrt 30 + sqrt 1.5) = 27.6 km from the mast: 0.248 degrees at the equator.
#[test]
fn through_a_repeater_each_leg_counts() {
    let at = |from: f64, to: f64| {
        trial(&format!(
            "via = \"beacon\"\nfrom = {{ latitude = 0, longitude = {from}, antenna_m = 1.5 }}\nto = {{ latitude = 0, longitude = {to}, antenna_m = 1.5 }}\nheard = true"
        ))
    };
    assert!(at(-0.24, 0.24).is_empty());
    let far = at(-0.24, 0.26);
    assert_eq!(names(&far), ["beyond-horizon"]);
    assert!(far[0].message.contains("from site \"Hill\" to the listener"), "{}", far[0].message);
    assert_eq!(names(&at(-0.26, 0.26)).len(), 2);
}

#[test]
fn quality_is_held_against_the_plan_there_and_back() {
    assert!(trial("heard = true\ndaq = 3.0\ndaq_back = 3.4").is_empty());
    assert_eq!(names(&trial("heard = true\ndaq = 2.9\ndaq_back = 3.4")), ["quality-below-target"]);
    assert_eq!(names(&trial("heard = true\ndaq = 2.9\ndaq_back = 2.0")).len(), 2);
    assert!(trial("heard = false\ndaq = 1.0").is_empty());
}

// ---- exposure -----------------------------------------------------------------------------------

/// 50 W at 8.15 dBi and 462.55 MHz, all of the time: 4.6448 m for the general public with ground reflection.
#[test]
fn exposure_is_told_where_people_come_near() {
    let at = |height: &str, more: &str| {
        names(&judge(&[(
            "harbor.plan.toml",
            &format!(
                "[plan]\n[[site]]\nname = \"Hill\"\nantenna_m = {height}\n[[repeater]]\nname = \"R\"\nsite = \"Hill\"\ntx_mhz = 462.55\nrx_mhz = 467.55\npower_w = 50\n{more}\n"
            ),
        )]))
    };
    assert_eq!(at("6.6", "antenna_gain_dbi = 8.15"), ["exposure-distance"]);
    assert!(at("6.7", "antenna_gain_dbi = 8.15").is_empty());
    assert!(at("3", "").is_empty());
    let told = judge(&[(
        "harbor.plan.toml",
        "[plan]\n[[site]]\nname = \"Hill\"\nantenna_m = 3\n[[repeater]]\nname = \"R\"\nsite = \"Hill\"\ntx_mhz = 462.55\nrx_mhz = 467.55\npower_w = 50\nantenna_gain_dbi = 8.15\n",
    )]);
    let message = &told[0].message;
    assert!(message.contains("4.6 m") && message.contains("licensed practitioner decide"), "{message}");
}
