use super::conditions::limits;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::Row;
use guywire_plan::language::regime__limit as limit;

rule! {
    /// A limit of one class of station says no power, no antenna height and no stability.
    ///
    /// ## On the air
    /// Nothing, but what was to be limited is not, and no plan is checked for it.
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
    ///
    /// [[band.limit]]
    /// station = "handheld"
    /// power_kind = "output"
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
    ///
    /// [[band.limit]]
    /// station = "handheld"
    /// power_kind = "output"
    /// max_power_w = 5
    /// ```
    pub RegimeLimitEmpty = "regime-limit-empty" { family: Regime, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        for (at, part) in limits(view, it) {
            let says = part.has(limit::max_power_w) || part.has(limit::max_antenna_m) || part.has(limit::stability_ppm);
            if says || part.record().broken || !part.record().extras.is_empty() {
                continue;
            }
            out.report(
                Anchor::Value(it, at),
                "this limit limits nothing: no plan is checked for it. Write `max_power_w`, `max_antenna_m` or `stability_ppm`, or take it out",
            );
        }
    }
}
