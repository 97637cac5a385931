//! How the pair of frequencies of a channel or repeater stands to the pairs that its service publishes.

use super::near_miss_frequency::misses;
use guywire_plan::language::{channel, model, repeater};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, View};
use guywire_radio::Hertz;
use guywire_radio::convention::{Force, PairConvention, PairVerdict, RadioKind, judge_pair};

/// Further apart than this, two frequencies are in different bands by intent, and no slip of a digit.
const SAME_BAND: Hertz = Hertz(20_000_000);

/// A pair that is not as its service has it.
pub(super) struct Offset<'v> {
    pub id: EntityId,
    pub sends: Hertz,
    pub receives: Hertz,
    /// The key of the frequency to look at.
    pub at: FieldPath,
    pub convention: &'v PairConvention,
    pub is_reversed: bool,
    /// The model that it is judged for; none for a repeater.
    pub model: Option<String>,
}

impl Offset<'_> {
    /// Input minus output, as the channel or repeater has it.
    pub fn shift(&self) -> Hertz {
        if self.model.is_none() { self.receives - self.sends } else { self.sends - self.receives }
    }
}

/// What is unusual in the pair of a channel (its own, not its repeater's) or of a repeater.
pub(super) fn offset(view: View<'_>, id: EntityId) -> Option<Offset<'_>> {
    if let Some(channel) = view.get::<channel::Table>(id) {
        return of_channel(view, channel);
    }
    of_repeater(view, view.get::<repeater::Table>(id)?)
}

fn of_channel<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> Option<Offset<'v>> {
    if !it.has(channel::tx_mhz) {
        return None;
    }
    let effective = view.channel(it.id())?;
    let (Known::Is(receives), Known::Is(sends)) = (effective.rx, effective.tx) else { return None };
    let pairs = published(view, Some(it))?;
    let wrong_for = view.channel_models(it.id()).into_iter().filter_map(|model| {
        let kind = match view.symbol(model.text(model::kind).value()?) {
            "handheld" => RadioKind::Handheld,
            "mobile" => RadioKind::Mobile,
            "base" => RadioKind::Base,
            _ => return None,
        };
        let (convention, is_reversed) = wrong(pairs, sends, receives, kind)?;
        Some((convention, is_reversed, model.name().unwrap_or("the model").to_owned()))
    });
    let (convention, is_reversed, model) = wrong_for.min_by(|a, b| (a.1, &a.2).cmp(&(b.1, &b.2)))?;
    if is_assigned(view, sends, receives, is_reversed, "mobile") || !misses(view, it).is_empty() {
        return None;
    }
    let at = FieldPath::key(channel::tx_mhz.number());
    Some(Offset { id: it.id(), sends, receives, at, convention, is_reversed, model: Some(model) })
}

fn of_repeater<'v>(view: View<'v>, it: Ref<'v, repeater::Table>) -> Option<Offset<'v>> {
    let (sends, receives) = (it.frequency(repeater::tx_mhz).value()?, it.frequency(repeater::rx_mhz).value()?);
    let (convention, is_reversed) = wrong(published(view, None)?, sends, receives, RadioKind::Repeater)?;
    if is_assigned(view, sends, receives, is_reversed, "repeater") {
        return None;
    }
    let at = FieldPath::key(repeater::rx_mhz.number());
    Some(Offset { id: it.id(), sends, receives, at, convention, is_reversed, model: None })
}

fn published<'v>(view: View<'v>, channel: Option<Ref<'v, channel::Table>>) -> Option<&'v [PairConvention]> {
    view.service(channel).map(|service| service.terms().pairs.as_slice()).filter(|pairs| !pairs.is_empty())
}

/// The convention that a pair breaks, and whether it has the two the wrong way round. A habit breaks nothing.
fn wrong(pairs: &[PairConvention], sends: Hertz, receives: Hertz, kind: RadioKind) -> Option<(&PairConvention, bool)> {
    let (convention, is_reversed) = match judge_pair(pairs, sends, receives, kind) {
        PairVerdict::Reversed(convention) => (convention, true),
        PairVerdict::Unusual(convention) => (convention, false),
        PairVerdict::Simplex | PairVerdict::Usual(_) | PairVerdict::NoConvention => return None,
    };
    let is_binding = convention.force != Force::CommonPractice && sends.spacing(receives) <= SAME_BAND;
    is_binding.then_some((convention, is_reversed))
}

/// Whether the licenses of the plan have the pair so: both frequencies; where the order is in question, the one that is
/// sent on for this class of station, and the other not.
fn is_assigned(view: View<'_>, sends: Hertz, receives: Hertz, is_reversed: bool, class: &str) -> bool {
    let (sent, received) = (view.assigned(sends), view.assigned(receives));
    let has_both = !sent.is_empty() && !received.is_empty();
    let in_order = !sent.is_empty()
        && sent.iter().any(|held| held.is_none_or(|held| held == class))
        && !received.contains(&Some(class));
    let is_so = if is_reversed { in_order } else { has_both };
    is_so || view.has_unread_licenses()
}
