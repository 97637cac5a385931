use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, model, model__band};
use guywire_plan::{FieldPath, Known, Ref, Row, View};
use guywire_radio::Hertz;

rule! {
    /// A channel's carrier lies outside every band of a radio model that holds the channel.
    ///
    /// Looked at for each channel and each model of the radios whose zones hold it; the transmit side only where the
    /// channel sends. A model file without a band says nothing.
    ///
    /// ## On the air
    /// The radio refuses the channel when it is loaded, or its synthesizer does not lock: it neither sends nor hears.
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
    /// rx_mhz = 483.2125
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
    ///
    /// [[model.band]]
    /// low_mhz = 403
    /// high_mhz = 473
    /// ```
    pub OutsideModelBand = "outside-model-band" { family: Band, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(effective) = view.channel(it.id()) else { return };
        let (rx, tx) = (effective.rx.value(), effective.tx.value());
        for model in view.channel_models(it.id()) {
            let bands = bands(model);
            if bands.is_empty() {
                continue;
            }
            let outside = |carrier: &Hertz| !bands.iter().any(|(low, high)| (low..=high).contains(&carrier));
            let (bad_rx, bad_tx) = (rx.filter(outside), tx.filter(outside));
            if bad_tx.is_some() && bad_tx == bad_rx {
                report(it, view, out, model, "sends and receives on", bad_tx, channel::rx_mhz.number());
                continue;
            }
            report(it, view, out, model, "receives on", bad_rx, channel::rx_mhz.number());
            report(it, view, out, model, "sends on", bad_tx, channel::tx_mhz.number());
        }
    }
}

/// The ranges that a model tunes, as far as they can be read.
pub(crate) fn bands(model: Ref<'_, model::Table>) -> Vec<(Hertz, Hertz)> {
    let bands: Vec<(Hertz, Hertz)> = model
        .parts::<model__band::Table>(model::band)
        .into_iter()
        .filter_map(|band| {
            Some((band.frequency(model__band::low_mhz).value()?, band.frequency(model__band::high_mhz).value()?))
        })
        .collect();
    // Edges in the wrong order have a finding of their own, and say nothing of the band.
    if bands.iter().any(|(low, high)| low >= high) { Vec::new() } else { bands }
}

fn report(
    it: Ref<'_, channel::Table>,
    view: View<'_>,
    out: &mut crate::Sink<'_>,
    model: Ref<'_, model::Table>,
    does: &str,
    carrier: Option<Hertz>,
    field: u8,
) {
    let Some(carrier) = carrier else { return };
    let ranges: Vec<String> = bands(model).iter().map(|(low, high)| format!("{low} to {high}")).collect();
    let name = model.name().unwrap_or("the model");
    let message = format!(
        "{} {does} {carrier} MHz, outside the band of {name} ({} MHz): that radio neither sends nor hears there. Correct the frequency, or take the channel out of that model's zones",
        view.called(it.id()),
        ranges.join(", "),
    );
    out.report(Anchor::Value(it.id(), carrier_path(it, field)), message)
        .about(name)
        .about(&carrier.0)
        .related(Anchor::Header(model.id()), format!("the band of {name}"));
}

/// The key that gives the carrier: its own, the receive one that stands for both, or the repeater.
pub(super) fn carrier_path(it: Ref<'_, channel::Table>, field: u8) -> FieldPath {
    let written = [field, channel::rx_mhz.number(), channel::repeater.number()];
    let has = |field: &u8| match *field {
        f if f == channel::rx_mhz.number() => it.known(channel::rx_mhz) != Known::Absent,
        f if f == channel::tx_mhz.number() => it.known(channel::tx_mhz) != Known::Absent,
        _ => true,
    };
    FieldPath::key(written.into_iter().find(has).unwrap_or(channel::repeater.number()))
}
