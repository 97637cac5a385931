use super::outside_model_band::{bands, carrier_path};
use super::sent::{Licensed, Sent, UNKNOWN, is_told_elsewhere, licensed, sent_in_service};
use crate::finding::{Anchor, Level, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{channel, model};
use guywire_plan::{FieldPath, Known, Ref, Row, Stored, View};
use guywire_radio::Hertz;
use guywire_radio::convention::PublishedRaster;
use guywire_radio::regime::Place;

rule! {
    /// A channel's carrier is not on a step that a radio model's synthesizer can make; or, as a warning, what a channel or a
    /// repeater sends is not on the raster that its radio service assigns carriers on.
    ///
    /// Steps are looked at for each channel and each model of the radios whose zones hold it; the transmit side only where
    /// the channel sends. A carrier outside the model's bands is reported by `outside-model-band`. A raster has an origin: its
    /// carriers are counted from there. A license that names the very carrier decides over the raster.
    ///
    /// ## On the air
    /// The radio refuses the frequency, or takes the nearest step: it is then off by kilohertz, weak and distorted to
    /// everybody else. Between two carriers of the raster it disturbs both.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file. Rasters: the service's rule, which the message names, such as
    /// 47 CFR 90.311(a).
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
    fn check(it: AnyTable, view, out) {
        if let Some(channel) = view.get::<channel::Table>(it) {
            of_models(channel, view, out);
        }
        let all = sent_in_service(view, it);
        let off = all.iter().find_map(|sent| Some((sent, off_raster(view, sent)?)));
        let Some((sent, raster)) = off else { return };
        let PublishedRaster { raster, source, .. } = raster;
        out.report(
            Anchor::Value(it, sent.at),
            format!(
                "{} on {} MHz, and carriers there are {} kHz apart from {} MHz ({source}): between two of them it disturbs both. The nearest is {} MHz",
                sent.does(view),
                sent.carrier,
                raster.step().khz_text(),
                raster.origin(),
                raster.nearest(sent.carrier),
            ),
        )
        .about(&sent.carrier.0)
        .level(Level::Warning);
    }
}

/// The raster that a transmission is beside, unless a license names its carrier or another rule says what is wrong.
fn off_raster<'v>(view: View<'v>, sent: &Sent<'v>) -> Option<&'v PublishedRaster> {
    let service = sent.service.filter(|_| sent.tells_carrier())?;
    let Place::Band(_) = service.place(sent.carrier) else { return None };
    let raster = service.raster(sent.carrier, sent.width).filter(|it| !it.raster.on(sent.carrier))?;
    let is_free = match licensed(view, sent, UNKNOWN) {
        Licensed::Unknown | Licensed::OtherCarrier(_) | Licensed::OtherClass(_) => false,
        Licensed::Granted(_) | Licensed::OtherEmission(..) | Licensed::OverPower { .. } => {
            !view.assignments().iter().any(|it| it.names(sent.carrier))
        }
        Licensed::Unsaid => true,
    };
    (is_free && !is_told_elsewhere(view, sent)).then_some(raster)
}

/// Tells a carrier that a model which holds the channel cannot make.
fn of_models(it: Ref<'_, channel::Table>, view: View<'_>, out: &mut Sink<'_>) {
    let Some(effective) = view.channel(it.id()) else { return };
    let (rx, tx) = (effective.rx.value(), effective.tx.value());
    for model in view.channel_models(it.id()) {
        let Some(steps) = steps(model) else { continue };
        let is_on = |carrier: Hertz| steps.iter().any(|step| carrier.0 % step.0 == 0);
        if rx.into_iter().chain(tx).all(is_on) {
            continue;
        }
        let bands = bands(model);
        let is_off = |carrier: &Hertz| {
            let in_band = bands.is_empty() || bands.iter().any(|(low, high)| (low..=high).contains(&carrier));
            in_band && !is_on(*carrier)
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

/// The steps of a model; none where they are not all known.
pub(super) fn steps(model: Ref<'_, model::Table>) -> Option<Vec<Hertz>> {
    let Known::Is(elements) = model.list(model::step_khz) else { return None };
    let steps = elements.iter().map(|element| match element.value {
        Stored::Frequency(step) if step.0 > 0 => Some(step),
        _ => None,
    });
    steps.collect::<Option<Vec<Hertz>>>().filter(|steps| !steps.is_empty())
}
