use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, zone};
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
        let records: Vec<(usize, EntityId, &Record)> = members
            .into_iter()
            .filter_map(|(position, id)| view.whole(id).map(|record| (position, id, record)))
            .filter(|(_, _, record)| !record.broken && readable(record))
            .collect();
        for (position, id, record) in &records {
            let twins: Vec<_> = records.iter().filter(|(_, other, twin)| other != id && alike(record, twin)).collect();
            if twins.is_empty() {
                continue;
            }
            let path = |position: usize| FieldPath::key(zone::channels.number()).then(position);
            let names: Vec<String> = twins.iter().map(|(_, twin, _)| view.called(*twin)).collect();
            let mut found = out
                .report(
                    Anchor::Value(it.id(), path(*position)),
                    format!(
                        "{} is the same as {} of this zone in everything but the name: two clicks of the knob do the same. Take one out, or set what should differ",
                        view.called(*id),
                        names.join(" and "),
                    ),
                )
                .about(&names);
            for (position, twin, _) in twins {
                found = found.related(Anchor::Value(it.id(), path(*position)), format!("{} stands here", view.called(*twin)));
            }
        }
    }
}

/// The positions of a zone with the channel of each, where there is one.
fn members(zone: EntityId, channels: Known<&[guywire_plan::Element]>, view: View<'_>) -> Vec<(usize, EntityId)> {
    let Known::Is(elements) = channels else { return Vec::new() };
    elements
        .iter()
        .enumerate()
        .filter_map(|(position, element)| {
            let Stored::Text(name) = element.value else { return None };
            match view.find::<channel::Table>(zone, name) {
                Found::One(channel) => Some((position, channel.id())),
                _ => None,
            }
        })
        .collect()
}

fn compared(slot: &&Slot) -> bool {
    slot.field != channel::name.number() && slot.field != channel::notes.number()
}

fn readable(record: &Record) -> bool {
    !record.slots.iter().any(|slot| matches!(slot.value, Stored::Unreadable(_)))
}

fn alike(one: &Record, other: &Record) -> bool {
    let mut theirs = other.slots.iter().filter(compared);
    one.slots
        .iter()
        .filter(compared)
        .all(|slot| theirs.next().is_some_and(|their| their.field == slot.field && their.value == slot.value))
        && theirs.next().is_none()
}
