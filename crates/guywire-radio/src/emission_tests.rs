use super::*;
use proptest::prelude::*;

fn emission(text: &str) -> Emission {
    text.parse().unwrap()
}

fn refusal(text: &str) -> String {
    text.parse::<Emission>().unwrap_err().to_string()
}

#[test]
fn encoding_as_printed() {
    // 47 CFR 2.202(b)(3).
    for (millihertz, text) in [
        (2, "H002"),
        (100, "H100"),
        (25_300, "25H3"),
        (400_000, "400H"),
        (2_400_000, "2K40"),
        (6_000_000, "6K00"),
        (12_500_000, "12K5"),
        (180_400_000, "180K"),
        (180_500_000, "181K"),
        (180_700_000, "181K"),
        (1_250_000_000, "1M25"),
        (2_000_000_000, "2M00"),
        (10_000_000_000, "10M0"),
        (202_000_000_000, "202M"),
        (5_650_000_000_000, "5G65"),
    ] {
        assert_eq!(bandwidth_text(rounded(millihertz).unwrap()), text);
    }
}

#[test]
fn encoding_by_the_rounding_rule() {
    // Computed from 47 CFR 2.202(b): half rounds up, the unit carries.
    for (millihertz, text) in [
        (16_000_000, "16K0"),
        (11_250_000, "11K3"),
        (7_600_000, "7K60"),
        (8_100_000, "8K10"),
        (999_600, "1K00"),
        (99_950_000, "100K"),
        (999_500_000, "1M00"),
    ] {
        assert_eq!(bandwidth_text(rounded(millihertz).unwrap()), text);
    }
    assert_eq!(rounded(0), Err(EmissionError::OutOfRange));
    assert_eq!(rounded(999_500_000_000_000), Err(EmissionError::OutOfRange));
    assert_eq!(Emission::new(Hertz(i64::MAX), FM_VOICE), Err(EmissionError::OutOfRange));
}

#[test]
fn decoding() {
    for (text, millihertz) in [
        ("16K0F3E", 16_000_000),
        ("11K2F3E", 11_200_000),
        ("7K60FXE", 7_600_000),
        ("H100N0N", 100),
        ("400HA1A", 400_000),
        ("1M25F9W", 1_250_000_000),
    ] {
        assert_eq!(emission(text).bandwidth_millihertz(), millihertz);
        assert_eq!(emission(text).to_string(), text);
    }
    assert_eq!(emission("16K0F3EJN").to_string(), "16K0F3EJN");
    assert_eq!(emission("H100N0N").bandwidth(), Hertz(1));
    assert_eq!(emission("11K2F3E").bandwidth(), Hertz(11_200));
}

#[test]
fn refusals() {
    assert_eq!(refusal("16k0 f3e"), "write `16K0F3E`");
    assert_eq!(refusal("16KOF3E"), "write `16K0F3E`");
    assert_eq!(refusal("16K0Y3E"), "symbol 1 of the emission cannot be `Y`; allowed: NAHRJBCFGDPKLMQVWX");
    assert_eq!(refusal("16K0F5E"), "symbol 2 of the emission cannot be `5`; allowed: 0123789X");
    assert_eq!(refusal("16K0F3Z"), "symbol 3 of the emission cannot be `Z`; allowed: NABCDEFWX");
    assert_eq!(refusal("16K0F3E1"), "symbol 4 of the emission cannot be `1`; allowed: a letter");
    for bad in ["0K50F3E", "K500F3E", "M100F3E", "1600F3E", "16KKF3E", "1K5KF3E", "H000F3E"] {
        assert_eq!(bad.parse::<Emission>(), Err(EmissionError::Bandwidth), "{bad}");
    }
    for bad in ["", "F3E", "16K0F3", "16K0F3EJNX", "16K0Fé"] {
        assert_eq!(bad.parse::<Emission>(), Err(EmissionError::Length), "{bad}");
    }
}

#[test]
fn classes() {
    for (text, class) in [
        ("16K0F3E", EmissionClass::AnalogVoice),
        ("16K0G3E", EmissionClass::AnalogVoice),
        ("6K00A3E", EmissionClass::AnalogVoice),
        ("7K60FXE", EmissionClass::DigitalVoice),
        ("7K60F1E", EmissionClass::DigitalVoice),
        ("7K60FXD", EmissionClass::DigitalData),
        ("16K0F2D", EmissionClass::DigitalData),
        ("7K60F7W", EmissionClass::DigitalVoiceAndData),
        ("400HA1A", EmissionClass::Telegraphy),
        ("H100N0N", EmissionClass::Carrier),
        ("5M45C3F", EmissionClass::Other),
    ] {
        assert_eq!(emission(text).class(), class, "{text}");
    }
}

#[test]
fn cover() {
    let cover = |licensed: &str, sent: &str| emission(licensed).covers(emission(sent));
    assert_eq!(cover("16K0F3E", "11K2F3E"), Cover::Covered);
    assert_eq!(cover("11K2F3E", "16K0F3E"), Cover::TooWide);
    // 47 CFR 2.201(c) note: G is acceptable where F is written.
    assert_eq!(cover("16K0F3E", "16K0G3E"), Cover::Covered);
    for (a, b) in [("11K0F3E", "11K2F3E"), ("11K0F3E", "11K3F3E"), ("11K2F3E", "11K3F3E")] {
        assert_eq!((cover(a, b), cover(b, a)), (Cover::Covered, Cover::Covered));
    }
    assert_eq!(cover("10K0F3E", "11K0F3E"), Cover::TooWide);
    assert_eq!(cover("7K60FXW", "7K60FXE"), Cover::Covered);
    assert_eq!(cover("7K60FXE", "7K60FXD"), Cover::OtherKind);
    assert_eq!(cover("7K60F1E", "7K60FXE"), Cover::Covered);
    assert_eq!(cover("16K0F3E", "7K60FXE"), Cover::OtherKind);
    assert_eq!(cover("16K0F2D", "7K60FXD"), Cover::OtherKind);
    let licensed = [emission("16K0F3E"), emission("7K60FXD")];
    assert_eq!(best_cover(&licensed, TWO_SLOT_DATA), Some(Cover::Covered));
    assert_eq!(best_cover(&licensed, emission("20K0F3E")), Some(Cover::TooWide));
    assert_eq!(best_cover(&[], TWO_SLOT_DATA), None);
}

#[test]
fn necessary_bandwidth() {
    // 2M + 2DK, ITU-R SM.1138; 16K0F3E and 11K0F3E are the customary results.
    for (modulating, deviation, bandwidth, text) in [
        (3_000, 5_000, 16_000, "16K0F3E"),
        (3_000, 4_000, 14_000, "14K0F3E"),
        (3_000, 2_500, 11_000, "11K0F3E"),
        (3_125, 2_500, 11_250, "11K3F3E"),
        (2_500, 2_500, 10_000, "10K0F3E"),
        // The formula does not give the 7K60 of 4FSK.
        (2_400, 1_944, 8_688, "8K69F3E"),
    ] {
        let width = fm_voice_bandwidth(Hertz(modulating), Hertz(deviation)).unwrap();
        assert_eq!(width, Hertz(bandwidth));
        assert_eq!(Emission::new(width, FM_VOICE).unwrap().to_string(), text);
    }
    assert_eq!(am_voice_bandwidth(Hertz(3_000)), Ok(Hertz(6_000)));
    assert_eq!(fm_voice_bandwidth(Hertz(0), Hertz(1)), Err(EmissionError::OutOfRange));
    assert_eq!(am_voice_bandwidth(Hertz(-1)), Err(EmissionError::OutOfRange));
}

#[test]
fn customary_designators() {
    let usual = |khz: &str| usual_analog_voice(Hertz::from_khz_text(khz).unwrap()).map(|it| it.to_string());
    assert_eq!(usual("12.5").as_deref(), Some("11K2F3E"));
    assert_eq!(usual("20").as_deref(), Some("14K0F3E"));
    assert_eq!(usual("25").as_deref(), Some("16K0F3E"));
    assert_eq!(usual("6.25"), None);
    assert_eq!((TWO_SLOT_VOICE.to_string(), TWO_SLOT_DATA.to_string()), ("7K60FXE".into(), "7K60FXD".into()));
    // Whatever deviation is customary must fit the customary designator with speech up to 3 kHz.
    for width in [12_500, 20_000, 25_000].map(Hertz) {
        let needed = fm_voice_bandwidth(Hertz(3_000), peak_deviation(width).unwrap()).unwrap();
        let usual = usual_analog_voice(width).unwrap().bandwidth();
        assert!(needed <= usual && usual < width);
    }
}

#[test]
fn a_carrier_may_be_off() {
    // 47 CFR 90.213: parts in a million; 2.5 at 155 MHz is 387.5 Hz, 1.5 at 460 MHz 690 Hz.
    for (mhz, ppm, off) in [(155, 2.5, 388), (155, 5.0, 775), (460, 1.5, 690), (460, 2.5, 1150)] {
        let carrier = Hertz::mhz(mhz);
        let band = occupied_band(carrier, Hertz(11_200), ppm).unwrap();
        assert_eq!((carrier - band.low(), band.high() - carrier), (Hertz(5_600 + off), Hertz(5_600 + off)));
    }
    assert!(occupied_band(Hertz::mhz(155), Hertz(11_200), f64::NAN).is_err());
    assert!(occupied_band(Hertz::mhz(155), Hertz(0), 1.0).is_err());
}

proptest! {
    #[test]
    fn text_round_trips(point in 1_usize..=3, digits in 100_u32..=999, unit in "[HKMG]", kind in "[NAHRJBCFGDPKLMQVWX][0123789X][NABCDEFWX]", more in "[A-Z]{0,2}") {
        let mut text = digits.to_string();
        text.insert_str(point, &unit);
        text = format!("{text}{kind}{more}");
        prop_assert_eq!(text.parse::<Emission>().unwrap().to_string(), text);
    }

    #[test]
    fn rounding_is_within_half_a_digit_and_stable(millihertz in 1_i64..999_000_000_000_000) {
        let value = rounded(millihertz).unwrap();
        prop_assert!((value - millihertz).abs() * 200 <= millihertz);
        prop_assert_eq!(rounded(value), Ok(value));
        prop_assert_eq!(read_bandwidth(&bandwidth_text(value)), Some(value));
    }

    #[test]
    fn never_panics(text in "\\PC{0,10}") {
        let _ = text.parse::<Emission>();
    }

    #[test]
    fn every_emission_covers_itself(digits in 100_u32..=999, kind in "[NAHRJBCFGDPKLMQVWX][0123789X][NABCDEFWX]") {
        let it = emission(&format!("{}K{}{kind}", digits / 10, digits % 10));
        prop_assert_eq!(it.covers(it), Cover::Covered);
    }
}

#[test]
fn what_a_license_may_write_for_a_channel() {
    let covers = |license: &str, width: i64| {
        let license: Emission = license.parse().unwrap();
        license.covers(narrowest_analog_voice(Hertz(width)).unwrap())
    };
    for (license, width, verdict) in [
        ("11K2F3E", 12_500, Cover::Covered),
        ("8K50F3E", 12_500, Cover::Covered),
        ("6K00F3E", 12_500, Cover::TooWide),
        ("16K0G3E", 11_250, Cover::Covered),
        ("11K3F3E", 20_000, Cover::TooWide),
        ("14K0F3E", 25_000, Cover::Covered),
        ("11K2F3E", 25_000, Cover::TooWide),
        ("7K60FXE", 12_500, Cover::OtherKind),
    ] {
        assert_eq!(covers(license, width), verdict, "{license} {width}");
    }
    assert_eq!(narrowest_analog_voice(Hertz(6_250)), None);
    let voice = |kind: Kind| matches!(kind.class(), EmissionClass::DigitalVoice | EmissionClass::DigitalVoiceAndData);
    assert!(TWO_SLOT_KINDS.iter().all(|kind| voice(*kind)));
}
