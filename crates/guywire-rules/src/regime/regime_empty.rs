use super::conditions::{Period, period_of_band, period_of_channel};
use crate::finding::{Anchor, Level};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{regime, regime__band as band, regime__channel as channel};
use guywire_plan::{Known, Row};
use jiff::civil::Date;

rule! {
    /// A radio service has neither a band in which carriers may be chosen nor a channel; or, as a warning, none that is
    /// in force on the day by which dated things are judged.
    ///
    /// ## On the air
    /// Nothing, but no frequency is in such a service, so no plan can be checked against it.
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
    /// channels_only = true
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
    /// channels_only = false
    /// ```
    pub RegimeEmpty = "regime-empty" { family: Regime, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<regime::Table>, view, out) {
        let Some(file) = view.file_of(it.id()).filter(|file| view.errors(*file).is_empty()) else { return };
        let free = |band: &guywire_plan::Ref<'_, band::Table>| band.truth(band::channels_only) != Known::Is(true);
        let bands = view.members::<band::Table>(file).into_iter().filter(free).map(period_of_band);
        let channels = view.members::<channel::Table>(file).into_iter().map(period_of_channel);
        let periods: Vec<Period> = bands.chain(channels).collect();
        if periods.is_empty() {
            out.report(
                Anchor::Header(it.id()),
                "the service has no band in which carriers may be chosen, and no channel: no plan is checked against it. Write [[band]] or [[channel]]",
            );
            return;
        }
        let Some(today) = view.today() else { return };
        if !periods.into_iter().any(|period| may_hold(period, today)) {
            out.report(
                Anchor::Header(it.id()),
                "no band and no channel of the service is in force now: no plan is checked against it. Write the conditions that are, or correct the dates",
            )
            .level(Level::Warning);
        }
    }
}

/// Whether a day is, or may be, in a period. Dates in the wrong order have a finding of their own.
fn may_hold((from, until): Period, day: Date) -> bool {
    let is_inverted = matches!((from, until), (Known::Is(from), Known::Is(until)) if from > until);
    let has_begun = from.value().is_none_or(|from| from <= day);
    let has_ended = until.value().is_some_and(|until| until < day);
    is_inverted || (has_begun && !has_ended)
}
