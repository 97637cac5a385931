use super::conditions::{period_of_band, period_of_channel};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{regime__band as band, regime__channel as channel};
use guywire_plan::{FieldPath, Known};

rule! {
    /// The conditions of a band or channel of a radio service end before they begin.
    ///
    /// ## On the air
    /// Nothing, but the conditions never hold, and when they should is not known: no plan can be checked against the service.
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
    /// valid_from = 2026-01-01
    /// valid_until = 2025-12-31
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
    /// valid_from = 2026-01-01
    /// valid_until = 2028-12-31
    /// ```
    pub RegimeDatesInverted = "regime-dates-inverted" { family: Regime, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let (period, at) = if let Some(band) = view.get::<band::Table>(it) {
            (period_of_band(band), band::valid_until.number())
        } else if let Some(channel) = view.get::<channel::Table>(it) {
            (period_of_channel(channel), channel::valid_until.number())
        } else {
            return;
        };
        let (Known::Is(from), Known::Is(until)) = period else { return };
        if from <= until {
            return;
        }
        out.report(
            Anchor::Value(it, FieldPath::key(at)),
            format!("these conditions end on {until} and begin on {from}: they never hold, so no plan is checked against the service. Correct a date"),
        )
        .about(&from.to_string())
        .about(&until.to_string());
    }
}
