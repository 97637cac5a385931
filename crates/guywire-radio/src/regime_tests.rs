use super::*;
use crate::convention::{PairVerdict, judge_pair};
use crate::source::Standing;

const TODAY: Option<Date> = Date::new(2026, 11, 25);

fn regime(name: &str) -> &'static Regime {
    built_in(name).unwrap()
}

fn mhz(text: &str) -> Hertz {
    Hertz::from_mhz_text(text).unwrap()
}

fn width_on(name: &str, carrier: &str, day: Date) -> Option<Hertz> {
    regime(name).place(mhz(carrier)).width_rule(day).map(|it| it.most)
}

fn table(name: &str, usage: &[ChannelUse]) -> Vec<(String, String)> {
    let chosen = regime(name).terms().channels.iter().filter(|it| usage.contains(&it.usage));
    chosen.map(|it| (it.label.to_string(), it.carrier.to_string())).collect()
}

#[test]
fn every_built_in_service_is_in_order() {
    let names: Vec<_> = built_in_names().collect();
    assert_eq!(
        names,
        [
            "us-part-90",
            "us-part-95-family",
            "us-part-95-general",
            "us-part-95-multi-use",
            "us-part-97",
            "eu-446",
            "maritime-vhf",
        ]
    );
    for terms in built_in_terms() {
        let name = terms.name.clone();
        assert!(Regime::new(terms).is_ok(), "{name}");
    }
    assert_eq!(built_in("us-part-91"), None);
}

#[test]
fn general_mobile_table() {
    // 47 CFR 95.1763.
    let mains = table("us-part-95-general", &[ChannelUse::OutputOrSimplex]);
    let expected = [
        ("15", "462.5500"),
        ("16", "462.5750"),
        ("17", "462.6000"),
        ("18", "462.6250"),
        ("19", "462.6500"),
        ("20", "462.6750"),
        ("21", "462.7000"),
        ("22", "462.7250"),
    ];
    assert_eq!(mains, expected.map(|(label, f)| (label.to_owned(), f.to_owned())));
    let inputs = table("us-part-95-general", &[ChannelUse::RepeaterInput]);
    assert_eq!((inputs.len(), inputs[0].1.as_str(), inputs[7].1.as_str()), (8, "467.5500", "467.7250"));
    assert_eq!(regime("us-part-95-general").terms().channels.len(), 30);
}

#[test]
fn family_table() {
    // 47 CFR 95.563: the first fourteen are the interstitial ones.
    let expected = [
        "462.5625", "462.5875", "462.6125", "462.6375", "462.6625", "462.6875", "462.7125", "467.5625", "467.5875",
        "467.6125", "467.6375", "467.6625", "467.6875", "467.7125",
    ];
    let channels = table("us-part-95-family", &[ChannelUse::Simplex]);
    assert_eq!(channels.len(), 22);
    for (at, carrier) in expected.iter().enumerate() {
        let label = (at + 1).to_string();
        assert!(channels.contains(&(label, (*carrier).to_owned())), "{carrier}");
    }
}

#[test]
fn widths_of_the_personal_services() {
    // 47 CFR 95.1773, 95.2773 and subpart B.
    let today = TODAY.unwrap();
    for (name, carrier, width) in [
        ("us-part-95-general", "462.5625", 20_000),
        ("us-part-95-general", "467.5625", 12_500),
        ("us-part-95-general", "462.5500", 20_000),
        ("us-part-95-family", "462.5625", 12_500),
        ("us-part-95-multi-use", "151.820", 11_250),
        ("us-part-95-multi-use", "154.600", 20_000),
    ] {
        assert_eq!(width_on(name, carrier, today), Some(Hertz(width)), "{name} {carrier}");
    }
}

#[test]
fn no_personal_service_lists_two_slot_voice() {
    // 47 CFR 95.571, 95.1771, 95.2771.
    for (name, listed) in [("us-part-95-family", 4), ("us-part-95-general", 14), ("us-part-95-multi-use", 9)] {
        let service = regime(name);
        assert_eq!(service.terms().emissions.as_ref().unwrap().value.len(), listed, "{name}");
        for kind in ["FXE", "F1E", "F7W", "FXD"] {
            assert!(service.bars_emission(Place::Outside, Kind::parse(kind).unwrap()).is_some(), "{name} {kind}");
        }
        for kind in ["F3E", "G3E", "F2D"] {
            assert!(service.bars_emission(Place::Outside, Kind::parse(kind).unwrap()).is_none(), "{name} {kind}");
        }
        assert!(service.terms().emissions.as_ref().unwrap().source.standing.supports_error());
    }
    assert!(regime("us-part-90").bars_emission(Place::Outside, Kind::parse("FXE").unwrap()).is_none());
}

#[test]
fn who_may_send_where() {
    let general = regime("us-part-95-general");
    let bars = |carrier: &str, kind| general.place(mhz(carrier)).bars(Station::possible(kind)).is_some();
    assert!(bars("467.5625", RadioKind::Mobile) && !bars("467.5625", RadioKind::Handheld));
    assert!(bars("462.5625", RadioKind::Repeater) && !bars("462.5500", RadioKind::Repeater));
    assert!(bars("467.5500", RadioKind::Repeater) && !bars("467.5500", RadioKind::Mobile));
    // A base radio may be a control station.
    assert!(!bars("467.5500", RadioKind::Base));
    let family = regime("us-part-95-family");
    assert!(family.place(mhz("462.5625")).bars(Station::possible(RadioKind::Mobile)).is_some());
}

fn over(name: &str, carrier: &str, kind: RadioKind, watts: f64, gain_dbi: Option<f64>) -> Option<f64> {
    let antenna = gain_dbi.map(|it| AntennaChain::new(it, 0.0).unwrap());
    let transmitter = Transmitter { output: Power::from_w(watts).unwrap(), antenna };
    let place = regime(name).place(mhz(carrier));
    place.power_over(Station::possible(kind), transmitter, TODAY.unwrap()).map(|it| it.limit.limit.watts())
}

#[test]
fn power_is_compared_in_the_kind_of_its_limit() {
    // 47 CFR 95.567 and 95.1767 in ERP or output, ECC/DEC/(15)05 in ERP, 95.2767 in output.
    assert_eq!(over("us-part-95-family", "462.5625", RadioKind::Handheld, 2.0, Some(2.15)), None);
    assert_eq!(over("us-part-95-family", "462.5625", RadioKind::Handheld, 2.1, Some(2.15)), Some(2.0));
    assert_eq!(over("us-part-95-family", "467.5625", RadioKind::Handheld, 2.0, Some(0.0)), Some(0.5));
    // Radiated power is not known without the antenna.
    assert_eq!(over("us-part-95-family", "462.5625", RadioKind::Handheld, 5.0, None), None);
    assert_eq!(over("us-part-95-multi-use", "151.820", RadioKind::Mobile, 2.0, Some(8.15)), None);
    assert_eq!(over("us-part-95-multi-use", "151.820", RadioKind::Mobile, 4.0, None), Some(2.0));
    assert_eq!(over("us-part-95-general", "462.5500", RadioKind::Mobile, 50.0, None), None);
    assert_eq!(over("us-part-95-general", "462.5500", RadioKind::Base, 50.0, None), None);
    assert_eq!(over("us-part-95-general", "462.5500", RadioKind::Base, 60.0, None), Some(50.0));
    assert_eq!(over("eu-446", "446.00625", RadioKind::Handheld, 0.5, Some(2.15)), None);
    assert_eq!(over("eu-446", "446.00625", RadioKind::Handheld, 1.0, Some(2.15)), Some(0.5));
    assert_eq!(over("us-part-97", "146.520", RadioKind::Mobile, 1600.0, None), Some(1500.0));
    assert_eq!(over("us-part-90", "425.0000", RadioKind::Repeater, 300.0, Some(2.15)), Some(250.0));
    assert_eq!(over("us-part-90", "425.0000", RadioKind::Base, 25.0, Some(2.15)), None);
}

#[test]
fn multi_use_table() {
    // 47 CFR 95.2763.
    let carriers: Vec<String> =
        table("us-part-95-multi-use", &[ChannelUse::Simplex]).into_iter().map(|it| it.1).collect();
    assert_eq!(carriers, ["151.8200", "151.8800", "151.9400", "154.5700", "154.6000"]);
}

#[test]
fn european_446_tables() {
    // ECC/DEC/(15)05: 16 at 12.5 kHz and 32 at 6.25 kHz, matched by frequency.
    let service = regime("eu-446");
    assert_eq!(service.terms().channels.len(), 48);
    for (carrier, label) in [
        ("446.00625", "1 (12.5 kHz)"),
        ("446.09375", "8 (12.5 kHz)"),
        ("446.19375", "16 (12.5 kHz)"),
        ("446.003125", "1 (6.25 kHz)"),
        ("446.103125", "17 (6.25 kHz)"),
        ("446.196875", "32 (6.25 kHz)"),
    ] {
        let Place::Channel(found) = service.place(mhz(carrier)) else { panic!("{carrier}") };
        assert_eq!(found.label, label);
    }
    assert!(matches!(service.place(mhz("446.0000")), Place::BetweenChannels(_)));
    assert_eq!(service.place(mhz("462.5625")), Place::Outside);
    assert!(service.place(mhz("446.00625")).bars(&[Station::Repeater]).is_some());
    let raster = |khz: i64| service.raster(mhz("446.1"), Hertz(khz)).unwrap().raster.origin();
    assert_eq!((raster(12_500), raster(6_250)), (mhz("446.00625"), mhz("446.003125")));
    assert!(!service.terms().removable_antenna.value && !service.terms().repeaters.value);
}

#[test]
fn maritime_table() {
    // 47 CFR 80.379, 80.871 and a full listing.
    let service = regime("maritime-vhf");
    for (label, carrier) in [
        ("06", "156.3000"),
        ("08", "156.4000"),
        ("09", "156.4500"),
        ("10", "156.5000"),
        ("12", "156.6000"),
        ("13", "156.6500"),
        ("14", "156.7000"),
        ("15", "156.7500"),
        ("16", "156.8000"),
        ("17", "156.8500"),
        ("67", "156.3750"),
        ("70", "156.5250"),
        ("72", "156.6250"),
        ("73", "156.6750"),
        ("75", "156.7750"),
        ("76", "156.8250"),
        ("77", "156.8750"),
        ("60", "156.0250"),
        ("60 coast", "160.6250"),
        ("01", "156.0500"),
        ("01 coast", "160.6500"),
        ("87 coast", "161.9750"),
        ("88 coast", "162.0250"),
    ] {
        let Place::Channel(found) = service.place(mhz(carrier)) else { panic!("{carrier}") };
        assert_eq!(found.label, label);
        assert_eq!(found.carrier.to_string(), carrier);
    }
    let ship =
        |carrier: &str, other: &str| judge_pair(&service.terms().pairs, mhz(carrier), mhz(other), RadioKind::Mobile);
    for it in service.terms().channels.iter().filter(|it| it.usage == ChannelUse::ShipSide) {
        let coast = it.carrier + mhz("4.6");
        assert!(matches!(ship(&it.carrier.to_string(), &coast.to_string()), PairVerdict::Usual(_)), "{}", it.label);
    }
}

#[test]
fn land_mobile_was_narrowed_in_2013() {
    // 47 CFR 90.209(b)(5); FCC DA 12-2078; 470-512 MHz excused by DA 12-1743.
    let (before, after) = (Date::new(2012, 12, 31).unwrap(), Date::new(2013, 1, 1).unwrap());
    for carrier in ["155.0000", "425.0000", "453.2125"] {
        assert_eq!(width_on("us-part-90", carrier, before), Some(Hertz(25_000)));
        assert_eq!(width_on("us-part-90", carrier, after), Some(Hertz(12_500)));
    }
    assert_eq!(width_on("us-part-90", "471.0000", after), Some(Hertz(25_000)));
    let rule = regime("us-part-90").place(mhz("155.0000")).width_rule(after).unwrap();
    assert!(rule.source.standing.supports_error() && rule.except.is_some());
    // The list of bands is from memory, so being outside them is no error.
    assert!(!regime("us-part-90").terms().coverage.standing.supports_error());
}

#[test]
fn land_mobile_rasters() {
    let service = regime("us-part-90");
    let on = |carrier: &str| service.raster(mhz(carrier), Hertz(12_500)).unwrap().raster.on(mhz(carrier));
    // Itinerant carriers named by the FCC in 2010, and 47 CFR 90.311(a).
    for carrier in ["151.640", "151.5125", "151.700", "151.760", "154.5275", "158.4075", "151.505", "158.400"] {
        assert!(on(carrier), "{carrier}");
    }
    assert!(on("470.30625") && on("475.99375") && on("453.2125") && !on("453.2130") && !on("155.0001"));
}

#[test]
fn land_mobile_stability() {
    // 47 CFR 90.213, base table and note 5.
    let ppm = |carrier: &str, station, width| {
        let rule = regime("us-part-90").place(mhz(carrier)).stability(station, Hertz(width)).unwrap();
        (rule.ppm, rule.source.standing)
    };
    assert_eq!(ppm("155.0000", Station::Base, 16_000), (5.0, Standing::Confirmed));
    assert_eq!(ppm("155.0000", Station::Repeater, 11_200), (2.5, Standing::Confirmed));
    assert_eq!(ppm("155.0000", Station::Mobile, 11_200), (5.0, Standing::Memory));
    assert_eq!(ppm("155.0000", Station::Mobile, 16_000), (5.0, Standing::Memory));
    assert_eq!(ppm("453.2125", Station::Mobile, 16_000), (5.0, Standing::Confirmed));
    assert_eq!(ppm("453.2125", Station::Base, 16_000), (2.5, Standing::Confirmed));
    assert_eq!(ppm("453.2125", Station::Base, 7_600), (1.5, Standing::Memory));
    assert_eq!(ppm("453.2125", Station::Handheld, 6_000), (1.0, Standing::Memory));
    let multi_use =
        |width| regime("us-part-95-multi-use").place(mhz("151.820")).stability(Station::Mobile, Hertz(width));
    assert_eq!((multi_use(6_000).unwrap().ppm, multi_use(11_250).unwrap().ppm), (2.0, 5.0));
}

#[test]
fn repeater_segments_bind_the_occupied_band() {
    // 47 CFR 97.205(b).
    let excluded = |carrier: &str, width: i64| {
        let occupied = Band::around(mhz(carrier), Hertz(width)).unwrap();
        regime("us-part-97").repeater_exclusion(occupied).is_some()
    };
    for (carrier, expected) in [
        ("146.940", false),
        ("146.340", false),
        ("145.600", true),
        ("145.000", false),
        ("144.450", true),
        ("432.500", true),
        ("434.000", false),
        ("144.500", true),
        ("144.510", false),
    ] {
        assert_eq!(excluded(carrier, 16_000), expected, "{carrier}");
    }
}

#[test]
fn privacy_and_identification() {
    let privacy = |name| regime(name).terms().privacy.clone();
    assert_eq!(privacy("us-part-97").value, PrivacyRule::Barred);
    assert_eq!(privacy("us-part-95-general").value, PrivacyRule::Barred);
    assert!(privacy("us-part-95-general").source.standing.supports_error());
    assert!(!privacy("us-part-95-family").source.standing.supports_error());
    assert_eq!(privacy("us-part-90").value, PrivacyRule::IdentifyInClear);
    let every = |name| regime(name).terms().identification.as_ref().map(|it| it.value.every_min);
    assert_eq!([every("us-part-90"), every("us-part-95-general"), every("us-part-97")], [Some(15), Some(15), Some(10)]);
    assert_eq!([every("us-part-95-family"), every("us-part-95-multi-use")], [None, None]);
}

fn small() -> Terms {
    let mut terms = europe_446::europe_446();
    terms.name = "house".into();
    terms
}

fn refused(change: impl FnOnce(&mut Terms)) -> RegimeError {
    let mut terms = small();
    change(&mut terms);
    Regime::new(terms).unwrap_err()
}

#[test]
fn terms_are_checked() {
    let band = |low, high| ServiceBand {
        band: Band::new(Hertz::mhz(low), Hertz::mhz(high)).unwrap(),
        local: Local::default(),
        widths: Vec::new(),
        limits: Vec::new(),
        stability: Vec::new(),
        source: Source::common_practice(),
    };
    assert!(Regime::new(small()).is_ok());
    assert_eq!(refused(|it| it.name = " ".into()), RegimeError::Name);
    assert_eq!(refused(|it| it.channels.clear()), RegimeError::Nothing);
    let overlap = refused(|it| it.bands = vec![band(150, 174), band(140, 151)]);
    assert_eq!(
        overlap.to_string(),
        "the bands 140.0000-151.0000 MHz and 150.0000-174.0000 MHz overlap; make them meet or merge them"
    );
    let mut touching = small();
    touching.bands = vec![band(150, 174), band(140, 150)];
    assert!(Regime::new(touching).is_ok());
    let twice = refused(|it| it.channels[1].carrier = it.channels[0].carrier);
    assert_eq!(twice, RegimeError::RepeatedCarrier { carrier: mhz("446.00625") });
    assert!(matches!(refused(|it| it.channels[0].carrier = Hertz(0)), RegimeError::NoCarrier { .. }));
    assert!(matches!(refused(|it| it.channels[0].widths[0].most = Hertz(0)), RegimeError::NoWidth { .. }));
    let day = Date::new(2027, 2, 26);
    let empty = Period { from: day, until: day };
    assert_eq!(refused(|it| it.channels[0].limits[0].period = empty), RegimeError::EmptyPeriod);
    let shaky = StabilityRule { stations: Vec::new(), up_to: None, ppm: f64::NAN, source: Source::common_practice() };
    assert_eq!(refused(|it| it.channels[0].stability.push(shaky)), RegimeError::Stability);
}

#[test]
fn a_limit_changes_on_its_day() {
    let mut terms = small();
    let day = Date::new(2027, 2, 26);
    for channel in &mut terms.channels {
        channel.limits[0].period.until = day;
        let from = Period { from: day, until: None };
        let limit = PowerLimit::new(crate::power::PowerKind::Erp, 1.0).unwrap();
        channel.limits.push(StationLimit { limit, period: from, ..channel.limits[0].clone() });
    }
    let service = Regime::new(terms).unwrap();
    let limits = |day: Option<Date>| -> Vec<f64> {
        let place = service.place(mhz("446.00625"));
        place.power_limits(Station::Handheld, day.unwrap()).map(|it| it.limit.watts()).collect()
    };
    assert_eq!(limits(Date::new(2027, 2, 25)), [0.5]);
    assert_eq!(limits(day), [1.0]);
}

#[test]
fn stations_as_text() {
    let all = [Station::Handheld, Station::Mobile, Station::Base, Station::Repeater, Station::Fixed, Station::Control];
    assert_eq!(all.map(|it| it.to_string()), ["hand-held", "mobile", "base", "repeater", "fixed", "control"]);
}

#[test]
fn days_exist_and_compare() {
    assert!(Date::new(2024, 2, 29).is_some() && Date::new(2023, 2, 29).is_none() && Date::new(1900, 2, 29).is_none());
    assert!(Date::new(2000, 2, 29).is_some() && Date::new(2026, 13, 1).is_none() && Date::new(2026, 4, 31).is_none());
    assert!(Date::new(2012, 12, 31) < Date::new(2013, 1, 1));
    assert_eq!(TODAY.unwrap().to_string(), "2026-11-25");
}
