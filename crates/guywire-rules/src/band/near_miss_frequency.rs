use super::off_step::steps;
use super::outside_model_band::bands;
use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{Field, channel, repeater};
use guywire_plan::{Bucket, FieldPath, Known, Ref, Row, View};
use guywire_radio::Hertz;

rule! {
    /// A channel names no repeater, and its frequencies miss the pair of one by one digit or by less than 5 kHz.
    ///
    /// Of two frequencies, one digit is reported where the other is exactly that repeater's. A frequency that a model cannot
    /// tune is reported by `off-step` or `outside-model-band`.
    ///
    /// ## On the air
    /// The radio is beside the repeater: weak, distorted or not heard, and a disturbance to whoever has that frequency.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// tx_mhz = 458.2625
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// tx_mhz = 458.2125
    /// ```
    pub NearMissFrequency = "near-miss-frequency" {
        family: Band, level: Warning, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        for miss in misses(view, it) {
            let Miss { repeaters, field, written, meant } = miss;
            let mut names: Vec<String> =
                repeaters.iter().map(|it| format!("\"{}\"", it.name().unwrap_or_default())).collect();
            names.sort_unstable();
            names.dedup();
            let name = names.join(" and ");
            let is_rx = field == channel::rx_mhz.number();
            let (does, side, key) =
                if is_rx { ("receives", "output", repeater::tx_mhz) } else { ("sends", "input", repeater::rx_mhz) };
            let path = FieldPath::key(field);
            let mut found = out
                .report(
                    Anchor::Value(it.id(), path),
                    format!(
                        "{} {does} on {written} MHz, and the {side} of repeater {name} is {meant} MHz: beside it a radio is weak and distorted, or not heard. Correct the frequency, or name the repeater",
                        view.called(it.id()),
                    ),
                )
                .about(&written.0)
                .about(&meant.0);
            for repeater in repeaters {
                let at = Anchor::Value(repeater.id(), FieldPath::key(key.number()));
                found = found.related(at, format!("the {side} of {}", view.called(repeater.id())));
            }
            found.fix(|| {
                Some(Fix {
                    title: format!("Write {meant} MHz, as repeater {name}{}", view.touching(it.id())),
                    safety: Safety::Choice,
                    edits: vec![Edit::Set(it.id(), path, meant.mhz_text())],
                })
            });
        }
    }
}

/// A frequency that misses one of a repeater's.
pub(super) struct Miss<'v> {
    repeaters: Vec<Ref<'v, repeater::Table>>,
    field: u8,
    written: Hertz,
    meant: Hertz,
}

/// What a channel that names no repeater misses: at most one on each side.
pub(super) fn misses<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> Vec<Miss<'v>> {
    if it.known(channel::repeater) != Known::Absent {
        return Vec::new();
    }
    let Known::Is(rx) = it.frequency(channel::rx_mhz) else { return Vec::new() };
    let tx = it.frequency(channel::tx_mhz).value().filter(|tx| *tx != rx);
    let viewer = view.viewer();
    let with_output = view.alike_of::<repeater::Table>(Bucket::Output(viewer, rx));
    let mut found = Vec::new();
    if with_output.is_empty() {
        let mut near = beside(view, |block| Bucket::OutputNear(viewer, block), rx, repeater::tx_mhz);
        if let Some(tx) = tx {
            let exact = view.alike_of::<repeater::Table>(Bucket::Input(viewer, tx));
            near.extend(exact.into_iter().filter_map(|it| one_digit(it, repeater::tx_mhz, rx)));
        }
        found.extend(nearest(near, channel::rx_mhz.number(), rx));
    }
    if let Some(tx) = tx
        && view.alike_of::<repeater::Table>(Bucket::Input(viewer, tx)).is_empty()
    {
        let mut near = beside(view, |block| Bucket::InputNear(viewer, block), tx, repeater::rx_mhz);
        near.extend(with_output.into_iter().filter_map(|it| one_digit(it, repeater::rx_mhz, tx)));
        found.extend(nearest(near, channel::tx_mhz.number(), tx));
    }
    found.retain(|miss| can_tune(view, it, miss.written));
    found
}

type Near<'v> = (Ref<'v, repeater::Table>, Hertz);

/// Repeaters with a frequency less than 5 kHz away.
fn beside<'v>(
    view: View<'v>,
    bucket: impl Fn(i64) -> Bucket,
    written: Hertz,
    field: Field<repeater::Table>,
) -> Vec<Near<'v>> {
    let block = Bucket::block(written);
    let around = (block - 1..=block + 1).flat_map(|block| view.alike_of::<repeater::Table>(bucket(block)));
    let near = around.filter_map(|it| Some((it, it.frequency(field).value()?)));
    near.filter(|(_, carrier)| carrier.spacing(written) < Bucket::BLOCK).collect()
}

/// A repeater's frequency where it differs in one digit.
fn one_digit<'v>(it: Ref<'v, repeater::Table>, field: Field<repeater::Table>, written: Hertz) -> Option<Near<'v>> {
    let carrier = it.frequency(field).value()?;
    let (ours, theirs) = (written.0.to_string(), carrier.0.to_string());
    let apart = ours.bytes().zip(theirs.bytes()).filter(|(a, b)| a != b).count();
    (ours.len() == theirs.len() && apart == 1).then_some((it, carrier))
}

/// The nearest of them, with all repeaters that have it.
fn nearest(near: Vec<Near<'_>>, field: u8, written: Hertz) -> Option<Miss<'_>> {
    let meant = near.iter().map(|(_, carrier)| *carrier).min_by_key(|carrier| (carrier.spacing(written), *carrier))?;
    let repeaters = near.into_iter().filter(|(_, carrier)| *carrier == meant).map(|(it, _)| it).collect();
    Some(Miss { repeaters, field, written, meant })
}

/// Whether every model that holds the channel makes the frequency, as far as its file says.
pub(super) fn can_tune(view: View<'_>, it: Ref<'_, channel::Table>, carrier: Hertz) -> bool {
    view.channel_models(it.id()).into_iter().all(|model| {
        let bands = bands(model);
        let is_in_band = bands.is_empty() || bands.iter().any(|(low, high)| (low..=high).contains(&&carrier));
        is_in_band && steps(model).is_none_or(|steps| steps.iter().any(|step| carrier.0 % step.0 == 0))
    })
}
