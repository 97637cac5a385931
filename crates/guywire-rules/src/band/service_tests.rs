//! What the pages of the rules of services and licenses do not show: who has the word, and that one mistake has one
//! finding.

use crate::testing::{judge, rules};

const NOTHING: [&str; 0] = [];

fn plan(regime: &str, rest: &str) -> String {
    format!("[plan]\ntitle = \"Saltmarsh Harbor\"\nmodel = \"uhf.model.toml\"\nregime = \"{regime}\"\n{rest}")
}

const HANDHELD: &str = "kind = \"handheld\"\n\n[[model.power]]\nlevel = \"high\"\nwatts = 5\n\n[[model.power]]\nlevel = \"low\"\nwatts = 0.5\n\n[antenna]\ngain_dbi = 2.15\n";

fn raised_as(kind: &str, regime: &str, rest: &str) -> Vec<&'static str> {
    let model = format!("[model]\nname = \"uhf\"\n{kind}");
    rules(&[("a.plan.toml", &plan(regime, rest)), ("uhf.model.toml", &model)])
}

fn raised(regime: &str, rest: &str) -> Vec<&'static str> {
    raised_as(HANDHELD, regime, rest)
}

fn channel(sends: &str, mhz: &str, keys: &str) -> String {
    format!("\n[[channel]]\nname = \"Berths\"\nsends = \"{sends}\"\nrx_mhz = {mhz}\npower = \"low\"\n{keys}\n")
}

fn license(head: &str, assignments: &[&str]) -> String {
    let parts: String = assignments.iter().map(|keys| format!("\n[[license.assignment]]\n{keys}\n")).collect();
    format!("\n[[license]]\nname = \"harbor-uhf\"\n{head}\n{parts}")
}

#[test]
fn a_carrier_of_no_channel_is_told_by_the_service_or_the_license() {
    // ECC/DEC/(15)05.
    assert_eq!(raised("eu-446", &channel("analog", "446.00625", "")), NOTHING);
    assert_eq!(raised("eu-446", &channel("analog", "446.0000", "")), ["outside-service"]);
    assert_eq!(raised("eu-446", &channel("analog", "453.2125", "")), ["outside-service"]);
    // Receiving is nobody's business.
    assert_eq!(raised("eu-446", "\n[[channel]]\nname = \"Tides\"\nsends = \"nothing\"\nrx_mhz = 464.9375\n"), NOTHING);
    // 47 CFR Part 90: the license names the carriers, and has the word.
    let granted = license("", &["tx_mhz = 453.2125"]);
    assert_eq!(raised("us-part-90", &(channel("digital", "453.2125", "") + &granted)), NOTHING);
    assert_eq!(raised("us-part-90", &(channel("digital", "453.2625", "") + &granted)), ["not-licensed"]);
    assert_eq!(raised("us-part-90", &(channel("digital", "446.5000", "") + &granted)), ["not-licensed"]);
    assert_eq!(
        raised("us-part-90", &(channel("digital", "446.5000", "") + &license("", &["tx_mhz = 446.5"]))),
        NOTHING
    );
}

#[test]
fn a_license_for_all_of_a_service_does_not_replace_its_table() {
    // 47 CFR 95.1763, 95.1767: 0.5 W ERP on 467.5625 MHz.
    let range = license("power_kind = \"output\"", &["low_mhz = 462.5\nhigh_mhz = 467.8\nmax_power_w = 50"]);
    let strong = channel("analog", "467.5625", "").replace("low", "high");
    assert_eq!(raised("us-part-95-general", &(strong.clone() + &range)), ["power-over-limit"]);
    assert_eq!(raised("us-part-95-general", &(channel("analog", "467.5625", "") + &range)), NOTHING);
    assert_eq!(raised("us-part-95-general", &(channel("analog", "462.5700", "") + &range)), ["outside-service"]);
    // One that names the carrier does.
    let named = license("power_kind = \"output\"", &["tx_mhz = 467.5625\nmax_power_w = 50"]);
    assert_eq!(raised("us-part-95-general", &(strong + &named)), NOTHING);
}

#[test]
fn the_license_is_held_to_its_stations_emissions_and_power() {
    let of = |assignment: &str, sent: &str| {
        raised("us-part-90", &(sent.to_owned() + &license("power_kind = \"erp\"", &[assignment])))
    };
    let (digital, analog) = (channel("digital", "453.2125", ""), channel("analog", "453.2125", ""));
    let not_licensed = ["not-licensed"];
    assert_eq!(of("tx_mhz = 453.2125\nstation = \"mobile\"", &digital), NOTHING);
    assert_eq!(of("tx_mhz = 453.2125\nstation = \"repeater\"", &digital), not_licensed);
    for emission in ["[\"7K60FXE\", \"7K60FXD\"]", "\"7K60FXW\"", "\"8K30F1E\""] {
        assert_eq!(of(&format!("tx_mhz = 453.2125\nemission = {emission}"), &digital), NOTHING, "{emission}");
        assert_eq!(of(&format!("tx_mhz = 453.2125\nemission = {emission}"), &analog), not_licensed, "{emission}");
    }
    assert_eq!(of("tx_mhz = 453.2125\nemission = \"4K00F1E\"", &digital), not_licensed);
    assert_eq!(of("tx_mhz = 453.2125\nemission = \"11K2F3E\"", &analog), NOTHING);
    assert_eq!(
        of("tx_mhz = 453.2125\nemission = \"11K2F3E\"", &channel("analog", "453.2125", "bandwidth_khz = 25")),
        not_licensed
    );
    // 0.5 W into a half-wave dipole is 0.5 W ERP.
    assert_eq!(of("tx_mhz = 453.2125\nmax_power_w = 0.5", &digital), NOTHING);
    assert_eq!(of("tx_mhz = 453.2125\nmax_power_w = 0.4", &digital), not_licensed);
    // Each assignment counts as a whole: this emission is granted with less power than that.
    let two = license(
        "power_kind = \"erp\"",
        &[
            "tx_mhz = 453.2125\nemission = \"11K2F3E\"\nmax_power_w = 5",
            "tx_mhz = 453.2125\nemission = \"7K60FXE\"\nmax_power_w = 0.1",
        ],
    );
    assert_eq!(raised("us-part-90", &(digital + &two)), not_licensed);
    assert_eq!(raised("us-part-90", &(analog + &two)), NOTHING);
}

#[test]
fn radiated_power_without_an_antenna_is_not_known() {
    let keys = "kind = \"handheld\"\n\n[[model.power]]\nlevel = \"low\"\nwatts = 4\n";
    let granted = |kind: &str| license(&format!("power_kind = \"{kind}\""), &["tx_mhz = 453.2125\nmax_power_w = 1"]);
    let digital = channel("digital", "453.2125", "");
    assert_eq!(raised_as(keys, "us-part-90", &(digital.clone() + &granted("erp"))), NOTHING);
    assert_eq!(raised_as(keys, "us-part-90", &(digital.clone() + &granted("output"))), ["not-licensed"]);
    // No kind of power is written: nothing can be compared.
    let bare = license("", &["tx_mhz = 453.2125\nmax_power_w = 1"]);
    assert_eq!(raised_as(keys, "us-part-90", &(digital + &bare)), NOTHING);
}

#[test]
fn a_half_typed_license_takes_nothing_away() {
    let broken = license("", &["tx_mhz = 453.2"]).replace("453.2", "");
    let said = raised("us-part-90", &(channel("digital", "453.2125", "") + &broken));
    assert!(!said.contains(&"not-licensed"), "{said:?}");
    let off_table = raised("eu-446", &(channel("analog", "446.0000", "") + &broken));
    assert!(!off_table.contains(&"outside-service"), "{off_table:?}");
}

#[test]
fn a_license_expires_unless_another_has_taken_over() {
    let dated = |date: &str, more: &str| {
        let own = license(&format!("expires = {date}"), &["tx_mhz = 453.2125"]);
        let text = plan("us-part-90", &(channel("digital", "453.2125", "") + &own + more));
        let files = [("a.plan.toml", text.as_str()), ("uhf.model.toml", "[model]\nname = \"uhf\"\n")];
        judge(&files).into_iter().map(|said| (said.rule, said.message)).collect::<Vec<_>>()
    };
    let is = |date: &str, word: &str| {
        let said = dated(date, "");
        assert!(said.len() == 1 && said[0].0 == "not-licensed" && said[0].1.contains(word), "{date}: {said:?}");
    };
    is("2026-11-24", "was valid until");
    is("2026-11-25", "is valid until");
    is("2027-02-23", "is valid until");
    assert_eq!(dated("2027-02-24", ""), []);
    let renewed = "\n[[license]]\nname = \"renewed\"\nexpires = 2031-04-30\n\n[[license.assignment]]\nlow_mhz = 453\nhigh_mhz = 454\n";
    assert_eq!(dated("2026-11-24", renewed), []);
    assert_eq!(dated("2026-11-24", &renewed.replace("2031", "2025")).len(), 2);
}

#[test]
fn that_no_license_is_declared_is_told_once_and_only_where_one_is_wanted() {
    let two = channel("analog", "462.5500", "") + &channel("analog", "462.5750", "").replace("Berths", "Pilots");
    let said =
        judge(&[("a.plan.toml", &plan("us-part-95-general", &two)), ("uhf.model.toml", "[model]\nname = \"uhf\"\n")]);
    assert_eq!(said.iter().map(|said| said.rule).collect::<Vec<_>>(), ["not-licensed"]);
    assert_eq!(raised("us-part-95-family", &channel("analog", "462.5500", "")), NOTHING);
    let heard = "\n[[channel]]\nname = \"Tides\"\nsends = \"nothing\"\nrx_mhz = 464.9375\n";
    assert_eq!(raised("us-part-90", heard), NOTHING);
    // A channel of a service that needs none wants none either.
    assert_eq!(raised("us-part-90", &channel("analog", "446.00625", "regime = \"eu-446\"")), NOTHING);
}

#[test]
fn digital_speech_is_on_no_list_of_the_personal_services() {
    // 47 CFR 95.571, 95.1771, 95.2771.
    let open = "\n[[license]]\nname = \"own\"\n";
    for (regime, mhz) in
        [("us-part-95-family", "462.5500"), ("us-part-95-general", "462.5500"), ("us-part-95-multi-use", "151.82")]
    {
        assert_eq!(raised(regime, &(channel("digital", mhz, "") + open)), ["emission-not-permitted"], "{regime}");
        assert_eq!(raised(regime, &(channel("analog", mhz, "") + open)), NOTHING, "{regime}");
    }
    // From memory, so no error.
    let ships = judge(&[
        ("a.plan.toml", &plan("maritime-vhf", &(channel("digital", "156.4", "") + open))),
        ("uhf.model.toml", "[model]\nname = \"uhf\"\n"),
    ]);
    assert!(ships.iter().any(|said| said.rule == "emission-not-permitted" && said.message.contains("from memory")));
}

#[test]
fn what_an_emission_needs_is_compared_with_the_width_permitted() {
    // 47 CFR 95.2773 and 95.1773; ECC/DEC/(15)05 for the 6.25 kHz raster.
    let of = |regime: &str, sends: &str, mhz: &str, khz: &str| {
        let keys = format!("bandwidth_khz = {khz}");
        raised(regime, &(channel(sends, mhz, &keys) + "\n[[license]]\nname = \"own\"\n"))
    };
    let wide = ["bandwidth-not-permitted"];
    assert_eq!(of("us-part-95-multi-use", "analog", "151.82", "11.25"), NOTHING);
    assert_eq!(of("us-part-95-multi-use", "analog", "151.82", "12.5"), NOTHING);
    assert_eq!(of("us-part-95-multi-use", "analog", "151.82", "20"), wide);
    assert_eq!(of("us-part-95-multi-use", "analog", "154.57", "20"), NOTHING);
    assert_eq!(of("us-part-95-general", "analog", "467.5625", "20"), wide);
    assert_eq!(of("us-part-95-general", "analog", "462.5625", "20"), NOTHING);
    assert_eq!(of("eu-446", "digital", "446.003125", "12.5"), wide);
    assert_eq!(of("us-part-90", "analog", "453.2125", "25"), wide);
    assert_eq!(of("us-part-90", "analog", "471.2125", "25"), NOTHING);
    let said = judge(&[
        (
            "a.plan.toml",
            &plan(
                "us-part-90",
                &(channel("analog", "453.2125", "bandwidth_khz = 25") + "\n[[license]]\nname = \"own\"\n"),
            ),
        ),
        ("uhf.model.toml", "[model]\nname = \"uhf\"\n"),
    ]);
    assert!(said.iter().any(|said| said.message.contains("does not hold for")), "{said:?}");
}

#[test]
fn a_station_that_may_not_send_is_told_and_a_listener_is_not() {
    let open = "\n[[license]]\nname = \"own\"\n";
    let mobile = "kind = \"mobile\"\n";
    // 47 CFR 95.1763(c): 467 MHz interstitial channels are for hand-held units.
    let low = channel("analog", "467.5625", "");
    assert_eq!(raised_as(mobile, "us-part-95-general", &(low.clone() + open)), ["transmit-not-permitted"]);
    assert_eq!(raised("us-part-95-general", &(low.clone() + open)), NOTHING);
    assert_eq!(raised_as("", "us-part-95-general", &(low + open)), NOTHING);
    // 47 CFR 95.1763(b): 467 MHz main channels reach repeaters.
    let input = channel("analog", "467.6000", "");
    assert_eq!(raised("us-part-95-general", &(input + open)), ["transmit-not-permitted"]);
    let pair = channel("analog", "462.6000", "tx_mhz = 467.6");
    assert_eq!(raised("us-part-95-general", &(pair + open)), NOTHING);
}

#[test]
fn repeaters_are_kept_out_of_services_and_segments() {
    // 47 CFR 97.205(b) closes 431-433 and 435-438 MHz; ECC/DEC/(15)05 has no repeaters.
    let repeater = |tx: &str, rx: &str| {
        format!(
            "\n[[license]]\nname = \"own\"\n\n[[repeater]]\nname = \"mole\"\ntx_mhz = {tx}\nrx_mhz = {rx}\nmode = \"analog\"\n"
        )
    };
    let not = ["repeater-not-permitted"];
    assert_eq!(raised("us-part-97", &repeater("442.0", "447.0")), NOTHING);
    assert_eq!(raised("us-part-97", &repeater("440.5", "435.5")), not);
    assert_eq!(raised("us-part-97", &repeater("433.0", "428.0")), not);
    assert_eq!(raised("eu-446", &repeater("446.00625", "446.10625")), not);
    assert_eq!(raised("us-part-95-multi-use", &repeater("151.82", "154.57")), not);
}

#[test]
fn a_repeater_is_told_once_and_not_by_its_channels() {
    let used = |mode: &str| {
        let channel =
            |name: &str| format!("\n[[channel]]\nname = \"{name}\"\nsends = \"{mode}\"\nrepeater = \"mole\"\n");
        let repeater =
            format!("\n[[repeater]]\nname = \"mole\"\ntx_mhz = 462.55\nrx_mhz = 467.55\nmode = \"{mode}\"\n");
        let all = repeater + &channel("Berths") + &channel("Pilots") + "\n[[license]]\nname = \"own\"\n";
        judge(&[("a.plan.toml", &plan("us-part-95-general", &all)), ("uhf.model.toml", "[model]\nname = \"uhf\"\n")])
    };
    let told: Vec<_> = used("digital").into_iter().map(|said| said.rule).collect();
    assert_eq!(told, ["emission-not-permitted"]);
    assert!(used("analog").is_empty());
}

#[test]
fn an_edge_is_passed_by_the_emission_and_its_tolerance() {
    let of = |mhz: &str, ppm: &str| {
        let granted = license("", &["low_mhz = 446.0\nhigh_mhz = 446.1", "low_mhz = 446.1\nhigh_mhz = 446.2"]);
        let model = format!("kind = \"handheld\"\n{ppm}\n");
        raised_as(&model, "us-part-97", &(channel("digital", mhz, "") + &granted))
    };
    let past = ["occupied-past-edge"];
    // 7.6 kHz wide: 3.8 kHz either side. 1 ppm of 446.2 MHz is 446 Hz.
    assert_eq!(of("446.195", "stability_ppm = 1"), NOTHING);
    assert_eq!(of("446.196", "stability_ppm = 1"), past);
    assert_eq!(of("446.196", "stability_ppm = 0"), NOTHING);
    assert_eq!(of("446.1975", "stability_ppm = 0"), past);
    // Ranges that meet are one.
    assert_eq!(of("446.1", "stability_ppm = 1"), NOTHING);
    let edge = |mhz: &str| raised("us-part-97", &(channel("analog", mhz, "") + "\n[[license]]\nname = \"own\"\n"));
    // 47 CFR 97.301(a).
    assert_eq!(edge("147.99"), NOTHING);
    assert_eq!(edge("147.995"), past);
}

#[test]
fn a_carrier_beside_the_raster_is_told_unless_it_is_assigned() {
    // 47 CFR 90.311(a): 6.25 kHz from 470 MHz.
    let open = "\n[[license]]\nname = \"own\"\n";
    let off = ["off-step"];
    assert_eq!(raised("us-part-90", &(channel("digital", "471.3125", "") + open)), NOTHING);
    assert_eq!(raised("us-part-90", &(channel("digital", "471.3150", "") + open)), off);
    let range = license("", &["low_mhz = 471\nhigh_mhz = 472"]);
    assert_eq!(raised("us-part-90", &(channel("digital", "471.3150", "") + &range)), off);
    let named = license("", &["tx_mhz = 471.315"]);
    assert_eq!(raised("us-part-90", &(channel("digital", "471.3150", "") + &named)), NOTHING);
    let heard = "\n[[channel]]\nname = \"Tides\"\nsends = \"nothing\"\nrx_mhz = 471.315\n";
    assert_eq!(raised("us-part-90", &(heard.to_owned() + open)), NOTHING);
    let repeater = |tx: &str| format!("\n[[repeater]]\nname = \"mole\"\ntx_mhz = {tx}\nrx_mhz = 474.3150\n");
    assert_eq!(raised("us-part-90", &(repeater("471.3150") + open)), off);
}

#[test]
fn units_are_those_in_use_that_hold_the_channel() {
    let fleet = |status: &str, zones: &str| {
        let radio = |id: u32, keys: &str| format!("\n[[radio]]\nid = {id}\n{keys}\n");
        let zone = "\n[[zone]]\nname = \"Quay\"\nchannels = [\"Berths\", \"Pilots\"]\n\n[[zone]]\nname = \"Listening\"\nchannels = [\"Tides\"]\n";
        let both = channel("digital", "453.2125", "")
            + &channel("digital", "453.2125", "slot = 2\ntdma_direct_mode = true").replace("Berths", "Pilots");
        let heard = "\n[[channel]]\nname = \"Tides\"\nsends = \"nothing\"\nrx_mhz = 453.2125\n";
        let all = license("", &["tx_mhz = 453.2125\nunits = 1"])
            + &both
            + heard
            + zone
            + &radio(21121, "zones = [\"Quay\"]")
            + &radio(21122, &format!("zones = [\"{zones}\"]\n{status}"));
        raised("us-part-90", &all).contains(&"more-units-than-licensed")
    };
    assert!(fleet("", "Quay"));
    assert!(fleet("status = \"issued\"", "Quay"));
    assert!(!fleet("status = \"spare\"", "Quay"));
    assert!(!fleet("", "Listening"));
}

#[test]
fn a_site_is_outside_only_where_no_area_has_it() {
    let of = |areas: &[&str]| {
        let site = "\n[[site]]\nname = \"Beacon Hill\"\nlatitude = 44.1\nlongitude = -68.8\n";
        let repeater =
            "\n[[repeater]]\nname = \"beacon\"\nsite = \"Beacon Hill\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\n";
        let keys: Vec<String> = areas.iter().map(|area| format!("tx_mhz = 453.2125\n{area}")).collect();
        let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
        raised("us-part-90", &(site.to_owned() + repeater + &license("", &keys)))
    };
    // One degree of latitude is 111.1 km there (WGS 84).
    let area =
        |latitude: &str, km: u32| format!("area = {{ latitude = {latitude}, longitude = -68.8, radius_km = {km} }}");
    assert_eq!(of(&[&area("45.1", 112)]), NOTHING);
    assert_eq!(of(&[&area("45.1", 111)]), ["site-outside-area"]);
    assert_eq!(of(&[&area("45.1", 111), &area("44.1", 1)]), NOTHING);
    assert_eq!(of(&[&area("45.1", 111), ""]), NOTHING);
    assert_eq!(of(&[&format!("station = \"mobile\"\n{}", area("45.1", 1))]), NOTHING);
}

#[test]
fn a_service_may_limit_time_antenna_and_privacy() {
    // EN 300 296: 180 s; 47 CFR 95.587(b): no removable antenna.
    let time_out =
        |seconds: &str| raised("eu-446", &channel("analog", "446.00625", &format!("time_out_s = {seconds}")));
    assert_eq!(time_out("180"), NOTHING);
    assert_eq!(time_out("181"), ["transmission-too-long"]);
    assert_eq!(time_out("0"), ["transmission-too-long"]);
    assert_eq!(time_out("400"), ["transmission-too-long"]);
    let removable = format!("{HANDHELD}removable = true\n");
    assert_eq!(raised_as(&removable, "us-part-95-family", ""), ["antenna-not-permitted"]);
    assert_eq!(raised_as(&removable, "us-part-95-general", ""), NOTHING);
    assert_eq!(raised("us-part-95-family", ""), NOTHING);
    let keyed = channel("digital", "446.5", "privacy = \"harbor\"")
        + "\n[[key]]\nname = \"harbor\"\nid = 17\n\n[[license]]\nname = \"own\"\n";
    assert_eq!(raised("us-part-97", &keyed), ["privacy-not-permitted"]);
    assert_eq!(raised("us-part-90", &keyed.replace("446.5", "453.2125")), NOTHING);
}

#[test]
fn identification_is_as_often_and_as_clear_as_the_service_asks() {
    // 47 CFR 97.119: 10 minutes; 90.425(a): 15 minutes, in clear.
    let of = |regime: &str, seconds: &str, rest: &str| {
        let text = format!("\n[[license]]\nname = \"own\"\n{rest}\n[signaling]\nstation_id_s = {seconds}\n");
        raised(regime, &text)
    };
    let told = ["station-identification"];
    assert_eq!(of("us-part-97", "600", ""), NOTHING);
    assert_eq!(of("us-part-97", "601", ""), told);
    assert_eq!(of("us-part-97", "0", ""), told);
    assert_eq!(of("eu-446", "0", ""), NOTHING);
    let digital = channel("digital", "453.2125", "");
    assert_eq!(of("us-part-90", "900", &digital), told);
    let analog = channel("analog", "464.4875", "").replace("Berths", "Marina");
    assert_eq!(of("us-part-90", "900", &(digital.clone() + &analog)), NOTHING);
    let repeater = "\n[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.4625\nrx_mhz = 458.4625\n";
    assert_eq!(of("us-part-90", "900", &(digital + repeater)), NOTHING);
}
