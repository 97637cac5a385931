//! What bands and channels of a service have alike.

use guywire_plan::language::{regime__band as band, regime__channel as channel, regime__limit as limit};
use guywire_plan::{EntityId, FieldPath, Known, Part, Ref, Row, Stored, View};
use jiff::civil::Date;

/// First and last day of conditions.
pub(super) type Period = (Known<Date>, Known<Date>);

pub(super) fn period_of_band(it: Ref<'_, band::Table>) -> Period {
    (it.date(band::valid_from), it.date(band::valid_until))
}

pub(super) fn period_of_channel(it: Ref<'_, channel::Table>) -> Period {
    (it.date(channel::valid_from), it.date(channel::valid_until))
}

/// Whether two periods share a day. Not where one cannot be read.
pub(super) fn meet(one: Period, other: Period) -> bool {
    let ends_before = |until: Known<Date>, from: Known<Date>| match (until, from) {
        (Known::Is(until), Known::Is(from)) => until < from,
        (Known::Unreadable, _) | (_, Known::Unreadable) => true,
        _ => false,
    };
    let is_never = |period: Period| ends_before(period.1, period.0);
    !is_never(one) && !is_never(other) && !ends_before(one.1, other.0) && !ends_before(other.1, one.0)
}

/// The `[[band.limit]]` or `[[channel.limit]]` of a band or channel, each with its place.
pub(super) fn limits<'v>(view: View<'v>, id: EntityId) -> Vec<(FieldPath, Part<'v, limit::Table>)> {
    let (field, stored) = if view.get::<band::Table>(id).is_some() {
        (band::limit.number(), view.known(id, band::limit))
    } else if view.get::<channel::Table>(id).is_some() {
        (channel::limit.number(), view.known(id, channel::limit))
    } else {
        return Vec::new();
    };
    let at = FieldPath::key(field);
    let Known::Is(Stored::List(elements)) = stored else { return Vec::new() };
    let numbered = elements.iter().enumerate().filter_map(|(number, element)| match &element.value {
        Stored::Part(record) => Some((at.then(number), Part::new(record))),
        _ => None,
    });
    numbered.collect()
}
