use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, model};
use guywire_plan::{FieldPath, Known, Row, Stored};
use guywire_radio::Hertz;

rule! {
    /// A channel is wider or narrower than any setting of a radio model that holds it.
    ///
    /// Looked at for each model of the radios whose zones hold the channel. A channel that writes no width, with a
    /// repeater that writes none, is not judged.
    ///
    /// ## On the air
    /// The radio refuses the channel, or works it at another width: distorted, faint, or in its neighbors.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// bandwidth_khz = 20
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// bandwidth_khz = 12.5
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// bandwidths_khz = [12.5, 25]
    /// ```
    pub BandwidthNotSupported = "bandwidth-not-supported" {
        family: Band, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(Known::Is(width)) = view.channel(it.id()).map(|effective| effective.bandwidth) else { return };
        let field = if it.has(channel::bandwidth_khz) { channel::bandwidth_khz } else { channel::repeater };
        for model in view.channel_models(it.id()) {
            let Known::Is(elements) = model.list(model::bandwidths_khz) else { continue };
            let widths = elements.iter().map(|element| match element.value {
                Stored::Frequency(width) => Some(width),
                _ => None,
            });
            let Some(widths) = widths.collect::<Option<Vec<Hertz>>>() else { continue };
            if widths.is_empty() || widths.contains(&width) {
                continue;
            }
            let texts: Vec<String> = widths.iter().map(|width| width.khz_text()).collect();
            let name = model.name().unwrap_or("the model");
            out.report(
                Anchor::Value(it.id(), FieldPath::key(field.number())),
                format!(
                    "{} is {} kHz wide, and {name} can be set to {} kHz: it refuses the channel, or is distorted on it. Write a width that it has",
                    view.called(it.id()),
                    width.khz_text(),
                    texts.join(" or "),
                ),
            )
            .about(name)
            .about(&width.0)
            .related(Anchor::Value(model.id(), FieldPath::key(model::bandwidths_khz.number())), format!("the widths of {name}"));
        }
    }
}
