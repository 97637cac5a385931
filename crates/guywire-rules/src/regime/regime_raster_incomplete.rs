use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::regime__band as band;
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A band of a radio service writes the step of a raster without the carrier that it is counted from, or the other way
    /// round.
    ///
    /// ## On the air
    /// Nothing, but the raster is not known, so carriers between its steps are not reported.
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
    /// raster_step_khz = 12.5
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
    /// raster_step_khz = 12.5
    /// raster_origin_mhz = 453.0
    /// ```
    pub RegimeRasterIncomplete = "regime-raster-incomplete" {
        family: Regime, level: Warning, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<band::Table>, _view, out) {
        let (step, origin) = (it.known(band::raster_step_khz), it.known(band::raster_origin_mhz));
        let (at, lacks) = match (step, origin) {
            (Known::Is(_), Known::Absent) => (band::raster_step_khz, "the carrier that it is counted from (`raster_origin_mhz`)"),
            (Known::Absent, Known::Is(_)) => (band::raster_origin_mhz, "its step (`raster_step_khz`)"),
            _ => return,
        };
        out.report(
            Anchor::Value(it.id(), FieldPath::key(at.number())),
            format!("the raster lacks {lacks}: carriers off it are not reported. Write it too"),
        );
    }
}
