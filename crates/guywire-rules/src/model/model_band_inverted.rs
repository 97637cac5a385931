use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{model, model__band};
use guywire_plan::{FieldPath, Known, Part, Row, Stored};

rule! {
    /// A band of a model has its lower edge at or above its upper edge.
    ///
    /// ## On the air
    /// Nothing, but no frequency is inside such a band, so channels of that model cannot be checked against it.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [[model.band]]
    /// low_mhz = 403
    /// high_mhz = 373
    /// ```
    ///
    /// ## Good
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [[model.band]]
    /// low_mhz = 403
    /// high_mhz = 473
    /// ```
    pub ModelBandInverted = "model-band-inverted" {
        family: Model, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<model::Table>, view, out) {
        let Known::Is(bands) = it.list(model::band) else { return };
        for (number, band) in bands.iter().enumerate() {
            let Stored::Part(record) = &band.value else { continue };
            let part = Part::<model__band::Table>::new(record);
            let (Known::Is(low), Known::Is(high)) = (part.frequency(model__band::low_mhz), part.frequency(model__band::high_mhz)) else {
                continue;
            };
            if low < high {
                continue;
            }
            let at = |field: u8| FieldPath::key(model::band.number()).then(number).then(field as usize);
            let (low_at, high_at) = (at(model__band::low_mhz.number()), at(model__band::high_mhz.number()));
            let message = format!(
                "the band of {} begins at {low} MHz and ends at {high} MHz: no frequency is inside, so its channels are not checked against it. Swap the edges, or correct them",
                view.called(it.id()),
            );
            let found = out.report(Anchor::Value(it.id(), low_at), message).about(&low.0).about(&high.0);
            if low == high {
                continue;
            }
            found.fix(|| {
                Some(Fix {
                    title: format!("Swap the edges: {high} to {low} MHz"),
                    safety: Safety::Choice,
                    edits: vec![
                        Edit::Set(it.id(), low_at, high.mhz_text()),
                        Edit::Set(it.id(), high_at, low.mhz_text()),
                    ],
                })
            });
        }
    }
}
