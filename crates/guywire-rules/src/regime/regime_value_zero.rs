use super::conditions::limits;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{
    Field, Tabled, regime, regime__band as band, regime__channel as channel, regime__limit as limit,
};
use guywire_plan::{EntityId, FieldPath, Known, Row, Stored, View};

/// Less than this is no stability that is asked for, parts in a million.
const LEAST_PPM: f64 = 0.001;
/// Less than this is no power that is allowed, W.
const LEAST_W: f64 = 1e-6;

rule! {
    /// A radio service gives nothing where it needs something: a width, power, stability, raster step or carrier of zero.
    ///
    /// A band in which nobody may send says `transmit = false`.
    ///
    /// ## On the air
    /// Nothing, but the service contradicts itself, so no plan can be checked against it.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml quay.regime.toml
    /// [regime]
    /// name = "saltmarsh-quay"
    ///
    /// [[band]]
    /// low_mhz = 453.0
    /// high_mhz = 454.0
    /// max_power_w = 0
    /// ```
    ///
    /// ## Good
    /// ```toml quay.regime.toml
    /// [regime]
    /// name = "saltmarsh-quay"
    ///
    /// [[band]]
    /// low_mhz = 453.0
    /// high_mhz = 454.0
    /// max_power_w = 35
    /// ```
    pub RegimeValueZero = "regime-value-zero" { family: Regime, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        for (at, what) in zeros(view, it) {
            out.report(
                Anchor::Value(it, at),
                format!("{what} of zero contradicts the rest, so no plan is checked against the service. Write what it is, or take the key out"),
            )
            .about(what);
        }
    }
}

/// The keys of a table that are zero and must not be, with what they are.
fn zeros(view: View<'_>, it: EntityId) -> Vec<(FieldPath, &'static str)> {
    let mut found = Vec::new();
    if view.get::<regime::Table>(it).is_some() {
        found.extend(least(view, it, regime::stability_ppm, LEAST_PPM, "a stability"));
    } else if view.get::<band::Table>(it).is_some() {
        found.extend(least(view, it, band::max_power_w, LEAST_W, "a power"));
        found.extend(least(view, it, band::stability_ppm, LEAST_PPM, "a stability"));
        found.extend(least(view, it, band::max_bandwidth_khz, 1.0, "a width"));
        found.extend(least(view, it, band::raster_step_khz, 1.0, "a raster step"));
    } else if view.get::<channel::Table>(it).is_some() {
        found.extend(least(view, it, channel::max_power_w, LEAST_W, "a power"));
        found.extend(least(view, it, channel::max_bandwidth_khz, 1.0, "a width"));
        found.extend(least(view, it, channel::rx_mhz, 1.0, "a carrier"));
        found.extend(least(view, it, channel::tx_mhz, 1.0, "a carrier"));
    }
    for (at, part) in limits(view, it) {
        let keys = [(limit::max_power_w, LEAST_W, "a power"), (limit::stability_ppm, LEAST_PPM, "a stability")];
        let zero = keys
            .into_iter()
            .filter(|(field, least, _)| matches!(part.number(*field), Known::Is(number) if number < *least));
        found.extend(zero.map(|(field, _, what)| (at.then(field.number() as usize), what)));
    }
    found
}

/// A key whose value is less than `least`, in the unit of the key or in hertz.
fn least<T: Tabled>(
    view: View<'_>,
    it: EntityId,
    field: Field<T>,
    least: f64,
    what: &'static str,
) -> Option<(FieldPath, &'static str)> {
    let is_less = match view.known(it, field) {
        Known::Is(Stored::Number(number)) => *number < least,
        Known::Is(Stored::Whole(number)) => (*number as f64) < least,
        Known::Is(Stored::Frequency(hertz) | Stored::Rounded(hertz)) => hertz.0 < 1,
        _ => false,
    };
    is_less.then_some((FieldPath::key(field.number()), what))
}
