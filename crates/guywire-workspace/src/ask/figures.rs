//! Figures as people read them: rounded to what the computation is worth, with their unit.

use guywire_radio::frequency::Band;
use guywire_radio::power::dbm_from_w;
use guywire_radio::{Hertz, Source};

/// A number with so many significant digits and no trailing zeros after the point.
pub(crate) fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let size = value.abs().log10().floor() as i32;
    let places = (digits - 1 - size).max(0);
    let scale = 10_f64.powi((digits - 1 - size).min(0).abs());
    let rounded = (value / scale).round() * scale;
    let text = if places == 0 { format!("{rounded:.0}") } else { format!("{value:.*}", places as usize) };
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text };
    text.replacen('-', "−", 1)
}

/// Watts with three significant digits; milliwatts below a tenth.
pub(crate) fn watts(w: f64) -> String {
    if w != 0.0 && w.abs() < 0.1 {
        format!("{} mW", significant(w * 1000.0, 3))
    } else {
        format!("{} W", significant(w, 3))
    }
}

/// Decibels, or a level in them, with one decimal.
pub(crate) fn tenth(value: f64) -> String {
    let text = format!("{value:.1}");
    if text == "-0.0" { "0.0".to_owned() } else { text.replacen('-', "−", 1) }
}

/// `4 W = 36.0 dBm`; the watts alone where dBm say nothing.
pub(crate) fn watts_and_dbm(w: f64) -> String {
    match dbm_from_w(w) {
        Ok(dbm) => format!("{} = {} dBm", watts(w), tenth(dbm)),
        Err(_) => watts(w),
    }
}

/// Kilometers with three significant digits; meters below one.
pub(crate) fn kilometers(km: f64) -> String {
    if km < 1.0 { format!("{} m", significant(km * 1000.0, 3)) } else { format!("{} km", significant(km, 3)) }
}

/// Meters with two significant digits.
pub(crate) fn meters(m: f64) -> String {
    format!("{} m", significant(m, 2))
}

/// A difference of frequencies with its sign, as people say it: `+5 MHz`, `−600 kHz`.
pub(crate) fn shift(by: Hertz) -> String {
    let sign = if by.get() < 0 { '−' } else { '+' };
    let by = by.abs();
    let mhz = significant(by.as_mhz(), 9);
    if by < Hertz::mhz(1) { format!("{sign}{} kHz", by.khz_text()) } else { format!("{sign}{mhz} MHz") }
}

/// A range of frequencies to 100 Hz, rounded outward.
pub(crate) fn edges(band: Band) -> String {
    let low = Hertz(band.low().get().div_euclid(100) * 100);
    let high = Hertz(-((-band.high().get()).div_euclid(100)) * 100);
    format!("{low} to {high} MHz")
}

/// Where a value stands, to go between parentheses.
pub(crate) fn cited(source: &Source) -> String {
    source.to_string().replace(" (from memory)", ", from memory")
}

/// A few names, and how many more: `A, B and 3 more`.
pub(crate) fn listed(names: &[String], most: usize) -> String {
    match names {
        [] => "nobody".to_owned(),
        [only] => only.clone(),
        _ if names.len() > most => format!("{} and {} more", names[..most].join(", "), names.len() - most),
        [others @ .., last] => format!("{} and {last}", others.join(", ")),
    }
}

/// `1 radio`, `3 radios`.
pub(crate) fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)] // A test that cannot go on says so.
mod tests {
    use super::*;

    #[test]
    fn figures_keep_what_they_are_worth() {
        let shown = [0.0, 4.0, 61.4062, 0.66148, 1234.5, -1234.5, 0.000_501, 99.96].map(|it| significant(it, 3));
        assert_eq!(shown, ["0", "4", "61.4", "0.661", "1230", "−1230", "0.000501", "100"]);
        assert_eq!(watts(0.0005), "0.5 mW");
        assert_eq!(watts_and_dbm(4.0), "4 W = 36.0 dBm");
        assert_eq!(watts_and_dbm(0.0), "0 W");
        assert_eq!((kilometers(0.697), kilometers(10.0919)), ("697 m".to_owned(), "10.1 km".to_owned()));
        assert_eq!((tenth(-0.01), tenth(-2.15)), ("0.0".to_owned(), "−2.1".to_owned()));
    }

    #[test]
    fn frequencies_are_exact() {
        assert_eq!(shift(Hertz::mhz(5)), "+5 MHz");
        assert_eq!(shift(Hertz::khz(-600)), "−600 kHz");
        assert_eq!(shift(Hertz(-7_600_000)), "−7.6 MHz");
        assert_eq!(shift(Hertz(5_006_250)), "+5.00625 MHz");
        assert_eq!(edges(Band::new(Hertz(453_208_701), Hertz(453_216_299)).unwrap()), "453.2087 to 453.2163 MHz");
    }

    #[test]
    fn lists_end() {
        let names = |count: usize| (1..=count).map(|it| it.to_string()).collect::<Vec<_>>();
        assert_eq!([listed(&names(0), 3), listed(&names(1), 3), listed(&names(3), 3)], ["nobody", "1", "1, 2 and 3"]);
        assert_eq!(listed(&names(5), 3), "1, 2, 3 and 2 more");
    }
}
