use super::outside_model_band::{bands, carrier_path};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, model};
use guywire_plan::{FieldPath, Known, Ref, Row, Stored};
use guywire_radio::Hertz;

rule! {
    /// A channel's carrier is not on a step that a radio model's synthesizer can make.
    ///
    /// Looked at for each channel and each model of the radios whose zones hold it; the transmit side only where the
    /// channel sends. A carrier outside the model's bands is told by `outside-model-band`.
    ///
    /// ## On the air
    /// The radio refuses the frequency, or takes the nearest step: it is then off by kilohertz, weak and distorted to
    /// everybody else.
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
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2127
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// step_khz = [5, 6.25]
    /// ```
    pub OffStep = "off-step" { family: Band, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(effective) = view.channel(it.id()) else { return };
        let (rx, tx) = (effective.rx.value(), effective.tx.value());
        for model in view.channel_models(it.id()) {
            let Some(steps) = steps(model) else { continue };
            let bands = bands(model);
            let is_off = |carrier: &Hertz| {
                let in_band = bands.is_empty() || bands.iter().any(|(low, high)| (low..=high).contains(&carrier));
                in_band && steps.iter().all(|step| carrier.0 % step.0 != 0)
            };
            let bad_rx = rx.filter(is_off);
            let bad_tx = tx.filter(is_off).filter(|tx| Some(*tx) != bad_rx);
            let sides = [(bad_rx, channel::rx_mhz.number()), (bad_tx, channel::tx_mhz.number())];
            for (carrier, field) in sides.into_iter().filter_map(|(carrier, field)| Some((carrier?, field))) {
                let texts: Vec<String> = steps.iter().map(|step| step.khz_text()).collect();
                let name = model.name().unwrap_or("the model");
                out.report(
                    Anchor::Value(it.id(), carrier_path(it, field)),
                    format!(
                        "{} is on {carrier} MHz, and {name} has steps of {} kHz: it refuses the frequency, or is off it. Correct the frequency",
                        view.called(it.id()),
                        texts.join(" or "),
                    ),
                )
                .about(name)
                .about(&carrier.0)
                .related(
                    Anchor::Value(model.id(), FieldPath::key(model::step_khz.number())),
                    format!("the steps of {name}"),
                );
            }
        }
    }
}

/// The steps of a model; none where they are not all known.
pub(super) fn steps(model: Ref<'_, model::Table>) -> Option<Vec<Hertz>> {
    let Known::Is(elements) = model.list(model::step_khz) else { return None };
    let steps = elements.iter().map(|element| match element.value {
        Stored::Frequency(step) if step.0 > 0 => Some(step),
        _ => None,
    });
    steps.collect::<Option<Vec<Hertz>>>().filter(|steps| !steps.is_empty())
}
