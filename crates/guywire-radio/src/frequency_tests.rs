use super::*;
use proptest::prelude::*;

fn other(text: &str) -> (Unit, String) {
    match Hertz::from_mhz_text(text) {
        Err(FrequencyError::OtherUnit { looks_like, suggestion, .. }) => (looks_like, suggestion),
        found => panic!("{text}: {found:?}"),
    }
}

#[test]
fn exact_where_a_float_is_not() {
    // 446.00625 MHz = 446006250 Hz: channel 1 of ECC/DEC/(15)05.
    assert_eq!(Hertz::from_mhz_text("446.00625"), Ok(Hertz(446_006_250)));
    // 0.1 + 0.2 of a float would miss; 446.003125 needs all six decimals.
    assert_eq!(Hertz::from_mhz_text("446.003125"), Ok(Hertz(446_003_125)));
    assert_eq!(Hertz::from_mhz_text(" +1_55.0 "), Ok(Hertz(155_000_000)));
    assert_eq!(Hertz::from_mhz_text("4.532125e2"), Ok(Hertz(453_212_500)));
    assert_eq!(Hertz::from_mhz_text("155"), Ok(Hertz(155_000_000)));
    assert_eq!(Hertz::from_mhz_text("-0.0"), Ok(Hertz(0)));
}

#[test]
fn refusals_say_what_to_write() {
    assert_eq!(Hertz::from_mhz_text("-453.2"), Err(FrequencyError::Negative));
    assert!(matches!(Hertz::from_mhz_text("4,5,3"), Err(FrequencyError::NotANumber { .. })));
    assert!(matches!(Hertz::from_mhz_text("UHF"), Err(FrequencyError::NotANumber { unit: Unit::Mhz, .. })));
    assert_eq!(
        Hertz::from_mhz_text("453,2125"),
        Err(FrequencyError::DecimalComma { suggestion: "453.2125".to_owned() })
    );
    let cut = Hertz::from_mhz_text("453.21250049").unwrap_err();
    assert_eq!(cut.to_string(), "digits below 1 Hz; the nearest whole hertz is 453.2125 MHz");
    assert!(matches!(cut, FrequencyError::BelowOneHertz { rounded: Hertz(453_212_500), .. }));
}

#[test]
fn another_unit_is_recognized() {
    assert_eq!(other("453212.5"), (Unit::Khz, "453.2125".to_owned()));
    assert_eq!(other("453212500"), (Unit::Hz, "453.2125".to_owned()));
    assert_eq!(other("446006.25"), (Unit::Khz, "446.00625".to_owned()));
    assert_eq!(Hertz::from_mhz_text("1e30"), Err(FrequencyError::TooLarge));
    // A missing point is no slip of unit.
    assert_eq!(Hertz::from_mhz_text("4532125"), Err(FrequencyError::TooLarge));
    assert_eq!(Hertz::from_mhz_text("10000"), Ok(HIGHEST_CARRIER));
    assert_eq!(Hertz::from_khz_text("2000"), Err(FrequencyError::TooLarge));
    let wide = Hertz::from_khz_text("12500").unwrap_err();
    assert_eq!(wide.to_string(), "looks like Hz rather than kHz; write `12.5`");
    let narrow = Hertz::from_khz_text("0.0125").unwrap_err();
    assert_eq!(narrow.to_string(), "looks like MHz rather than kHz; write `12.5`");
    for (text, hertz) in [("0", 0), ("0.1", 100), ("1000", 1_000_000)] {
        assert_eq!(Hertz::from_khz_text(text), Ok(Hertz(hertz)));
    }
    assert!(matches!(Hertz::from_khz_text("0.0005"), Err(FrequencyError::BelowOneHertz { rounded: Hertz(1), .. })));
    assert!(matches!(Hertz::from_khz_text("0.00005"), Err(FrequencyError::BelowOneHertz { rounded: Hertz(0), .. })));
}

#[test]
fn widths_in_kilohertz() {
    for (text, hertz) in [("12.5", 12_500), ("6.25", 6_250), ("25", 25_000), ("11.25", 11_250), ("7.6", 7_600)] {
        assert_eq!(Hertz::from_khz_text(text), Ok(Hertz(hertz)));
        assert_eq!(Hertz(hertz).khz_text(), text);
    }
    assert!(matches!(Hertz::from_khz_text("12.50049"), Err(FrequencyError::BelowOneHertz { .. })));
}

#[test]
fn display_has_four_decimals_and_no_noise() {
    for (hertz, text) in [
        (453_212_500, "453.2125"),
        (446_006_250, "446.00625"),
        (446_003_125, "446.003125"),
        (151_820_000, "151.8200"),
        (155_000_000, "155.0000"),
        (-600_000, "-0.6000"),
        (0, "0.0000"),
        (1, "0.000001"),
    ] {
        assert_eq!(Hertz(hertz).to_string(), text);
    }
    assert_eq!(format!("{:>10}", Hertz(453_212_500)), "  453.2125");
}

#[test]
fn wavelength_against_the_published_speed_of_light() {
    // lambda = 299.792458 / f(MHz), SI Brochure.
    assert!((wavelength_m(Hertz::mhz(155)).unwrap() - 1.9341).abs() < 5e-5);
    assert!((wavelength_m(Hertz::mhz(446)).unwrap() - 0.6722).abs() < 5e-5);
    assert!((quarter_wave_m(Hertz::mhz(155)).unwrap() - 0.483536).abs() < 5e-7);
    assert_eq!(wavelength_m(Hertz(0)), Err(FrequencyError::NotPositive));
}

#[test]
fn bands_are_in_order_and_closed() {
    assert!(matches!(Band::new(Hertz(2), Hertz(2)), Err(FrequencyError::Inverted { .. })));
    let murs = Band::around(Hertz(151_820_000), Hertz(11_250)).unwrap();
    assert_eq!((murs.low(), murs.high()), (Hertz(151_814_375), Hertz(151_825_625)));
    assert!(murs.contains(murs.low()) && murs.covers(murs));
    let next = Band::new(murs.high(), Hertz(151_900_000)).unwrap();
    assert!(!murs.overlaps(next));
    assert_eq!(next.to_string(), "151.825625-151.9000 MHz");
}

#[test]
fn rasters_have_origins() {
    // ECC/DEC/(15)05: 446.00625 MHz + n * 12.5 kHz; 446.0000 is no carrier.
    let raster = Raster::new(Hertz(446_006_250), Hertz(12_500)).unwrap();
    assert!(raster.on(Hertz(446_193_750)) && !raster.on(Hertz(446_000_000)));
    assert_eq!(raster.nearest(Hertz(446_000_000)), Hertz(446_006_250));
    assert_eq!(raster.nearest(Hertz(445_999_999)), Hertz(445_993_750));
    assert_eq!(Raster::new(Hertz(0), Hertz(0)), Err(FrequencyError::NoStep));
}

proptest! {
    #[test]
    fn text_round_trips(hertz in 0_i64..=10_000_000_000) {
        prop_assert_eq!(Hertz::from_mhz_text(&Hertz(hertz).to_string()), Ok(Hertz(hertz)));
    }

    #[test]
    fn width_text_round_trips(hertz in 100_i64..=1_000_000) {
        prop_assert_eq!(Hertz::from_khz_text(&Hertz(hertz).khz_text()), Ok(Hertz(hertz)));
    }

    #[test]
    fn a_suggestion_is_accepted_when_written(khz in 25_000_i64..=1_300_000, hertz in 25_000_000_i64..=1_300_000_000) {
        for text in [khz.to_string(), hertz.to_string()] {
            let Err(FrequencyError::OtherUnit { suggestion, meant, .. }) = Hertz::from_mhz_text(&text) else {
                return Err(TestCaseError::fail(text));
            };
            prop_assert_eq!(Hertz::from_mhz_text(&suggestion), Ok(meant));
        }
    }

    #[test]
    fn nearest_is_on_the_raster_within_half_a_step(f in -1_000_000_i64..1_000_000_000, origin in 0_i64..1_000_000_000, step in 1_i64..100_000) {
        let raster = Raster::new(Hertz(origin), Hertz(step)).unwrap();
        let near = raster.nearest(Hertz(f));
        prop_assert!(raster.on(near));
        prop_assert!(near.spacing(Hertz(f)).times(2) <= Hertz(step));
    }

    #[test]
    fn covering_implies_overlap(a in 0_i64..1000, b in 1_i64..1000, c in 0_i64..1000, d in 1_i64..1000) {
        let outer = Band::new(Hertz(a), Hertz(a + b)).unwrap();
        let inner = Band::new(Hertz(c), Hertz(c + d)).unwrap();
        prop_assert!(!outer.covers(inner) || outer.overlaps(inner));
        prop_assert_eq!(outer.overlaps(inner), inner.overlaps(outer));
    }
}
