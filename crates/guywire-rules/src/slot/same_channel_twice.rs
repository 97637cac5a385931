use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{Field, channel, zone};
use guywire_plan::{EntityId, FieldPath, Found, Known, Record, Row, Slot, Stored, View};

rule! {
    /// Two positions of one zone hold channels of different names that are the same in everything else.
    ///
    /// All keys are compared but the name and the notes: a channel that differs in its talkgroup, slot, power or scan
    /// list is another channel.
    ///
    /// ## On the air
    /// Nothing fails, but two clicks of the knob do the same, and one of them was probably meant to be something else.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 1
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 1
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Cranes"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 1
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 2
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Cranes"]
    /// ```
    pub SameChannelTwice = "same-channel-twice" { family: Slot, level: Hint, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<zone::Table>, view, out) {
        let members = members(it.id(), it.list(zone::channels), view);
        for one in &members {
            let twins: Vec<&Member<'_>> = members.iter().filter(|other| other.id != one.id && alike(one, other)).collect();
            if twins.is_empty() {
                continue;
            }
            let path = |position: usize| FieldPath::key(zone::channels.number()).then(position);
            let names: Vec<String> = twins.iter().map(|twin| view.called(twin.id)).collect();
            let mut found = out
                .report(
                    Anchor::Value(it.id(), path(one.position)),
                    format!(
                        "{} is the same as {} of this zone in everything but the name: two clicks of the knob do the same. Take one out, or set what should differ",
                        view.called(one.id),
                        names.join(" and "),
                    ),
                )
                .about(&names);
            for twin in twins {
                let here = Anchor::Value(it.id(), path(twin.position));
                found = found.related(here, format!("{} stands here", view.called(twin.id)));
            }
        }
    }
}

/// A position of a zone with its channel.
struct Member<'v> {
    position: usize,
    id: EntityId,
    record: &'v Record,
    /// How many keys are compared, and the values of two that tell most channels apart.
    quick: (usize, Option<&'v Stored>, Option<&'v Stored>),
}

/// The positions of a zone whose channel can be read as a whole.
fn members<'v>(zone: EntityId, channels: Known<&[guywire_plan::Element]>, view: View<'v>) -> Vec<Member<'v>> {
    let Known::Is(elements) = channels else { return Vec::new() };
    let member = |(position, element): (usize, &guywire_plan::Element)| {
        let Stored::Text(name) = element.value else { return None };
        let Found::One(channel) = view.find::<channel::Table>(zone, name) else { return None };
        let record = view.whole(channel.id()).filter(|record| !record.broken && readable(record))?;
        let value = |field: Field<channel::Table>| record.slot(field.number()).map(|slot| &slot.value);
        let quick = (record.slots.iter().filter(compared).count(), value(channel::call), value(channel::rx_mhz));
        Some(Member { position, id: channel.id(), record, quick })
    };
    elements.iter().enumerate().filter_map(member).collect()
}

fn compared(slot: &&Slot) -> bool {
    slot.field != channel::name.number() && slot.field != channel::notes.number()
}

fn readable(record: &Record) -> bool {
    !record.slots.iter().any(|slot| matches!(slot.value, Stored::Unreadable(_)))
}

fn alike(one: &Member<'_>, other: &Member<'_>) -> bool {
    let (ours, mut theirs) = (one.record.slots.iter().filter(compared), other.record.slots.iter().filter(compared));
    one.quick == other.quick
        && ours
            .into_iter()
            .all(|slot| theirs.next().is_some_and(|their| their.field == slot.field && their.value == slot.value))
}
