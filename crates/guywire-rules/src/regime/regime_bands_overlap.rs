use super::conditions::{meet, period_of_band};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::regime__band as band;
use guywire_plan::{FieldPath, Known, Ref, Row};
use guywire_radio::Band;

rule! {
    /// Two bands of a radio service have frequencies in common, so that two conditions hold there.
    ///
    /// Bands that meet at an edge do not overlap. Bands whose dates have no day in common are left out, and those with
    /// `channels_only`.
    ///
    /// ## On the air
    /// Nothing, but which condition holds is not known, so no plan can be checked against the service.
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
    /// [[band]]
    /// low_mhz = 453.5
    /// high_mhz = 455.0
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
    /// [[band]]
    /// low_mhz = 454.0
    /// high_mhz = 455.0
    /// ```
    pub RegimeBandsOverlap = "regime-bands-overlap" { family: Regime, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<band::Table>, view, out) {
        let (Some(own), Some(file)) = (edges(it), view.file_of(it.id())) else { return };
        for other in view.members::<band::Table>(file).into_iter().filter(|other| other.id() != it.id()) {
            let Some(theirs) = edges(other).filter(|theirs| theirs.overlaps(own)) else { continue };
            if !meet(period_of_band(it), period_of_band(other)) {
                continue;
            }
            out.report(
                Anchor::Value(it.id(), FieldPath::key(band::low_mhz.number())),
                format!(
                    "the bands {} and {} overlap: two conditions hold there, so no plan is checked against the service. Make them meet, or merge them",
                    own.min(theirs),
                    own.max(theirs),
                ),
            )
            .about(&theirs.low().0)
            .about(&theirs.high().0)
            .related(Anchor::Header(other.id()), format!("the band {theirs}"));
        }
    }
}

/// The edges of a band in which any carrier may be used.
fn edges(it: Ref<'_, band::Table>) -> Option<Band> {
    if it.truth(band::channels_only) != Known::Is(false) && it.has(band::channels_only) {
        return None;
    }
    Band::new(it.frequency(band::low_mhz).value()?, it.frequency(band::high_mhz).value()?).ok()
}
