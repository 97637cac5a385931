use guywire_plan::language::{Tabled, channel, emergency, station};
use guywire_plan::{EntityId, FieldPath, FoundAny, Known, Ref, Row, View};

use crate::finding::Anchor;
use crate::hearing::is_in;
use crate::rule;
use crate::rule::Each;

rule! {
    /// None of the stations that should acknowledge an alarm listens to where it goes.
    ///
    /// A station listens to the alarm's target where its `hears` has the talkgroup, or to a channel that the alarm goes out
    /// on. An emergency that names nobody in `acknowledged_by` is left alone: somebody may acknowledge it on a radio.
    ///
    /// ## On the air
    /// The alarm goes out again and again until its tries are used up, and then the radio gives up; the station that should
    /// answer never saw it.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[station]]
    /// name = "Harbor control"
    /// hears = ["Cranes"]
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Berths"
    /// emergency = "Quay alarm"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["button"]
    /// sends = "alarm"
    /// target = "Berths"
    /// acknowledged_by = ["Harbor control"]
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths"]
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[station]]
    /// name = "Harbor control"
    /// hears = ["Cranes", "Berths"]
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Berths"
    /// emergency = "Quay alarm"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["button"]
    /// sends = "alarm"
    /// target = "Berths"
    /// acknowledged_by = ["Harbor control"]
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths"]
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    /// ```
    pub EmergencyUnacknowledged = "emergency-unacknowledged" {
        family: Emergency, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<emergency::Table>, view, out) {
        let Known::Is(stations) = view.named_all::<station::Table, _>(it, emergency::acknowledged_by) else { return };
        let channels = match view.revert(it) {
            Known::Is(channel) => vec![channel],
            Known::Absent => view.referrers::<channel::Table>(it.id()),
            Known::Unreadable => return,
        };
        if stations.is_empty() || channels.is_empty() {
            return;
        }
        let Some(called) = called(view, it, &channels) else { return };
        let listens = |station: &Ref<'_, station::Table>| called.iter().any(|named| is_in(view, *station, *named));
        if stations.iter().any(listens) {
            return;
        }
        let mut names: Vec<&str> = stations.iter().filter_map(|station| view.name_of(station.id())).collect();
        names.sort_unstable();
        let who = names.join("\" and \"");
        let at = FieldPath::key(emergency::acknowledged_by.number());
        let out = out
            .report(
                Anchor::Value(it.id(), at),
                format!(
                    "the alarm of {} is to be acknowledged by \"{who}\", which hears nothing of it: neither its target nor a channel that it goes out on is among what that station hears. Add the target to the station's `hears`, or name one that listens",
                    view.called(it.id()),
                ),
            )
            .about(&who);
        stations.iter().fold(out, |out, station| {
            out.related(Anchor::Header(station.id()), "what it hears is written here".to_owned())
        });
    }
}

/// What an alarm goes to: its target, else what its channels call, and the channels themselves. None where something of
/// it cannot be read.
fn called(
    view: View<'_>,
    it: Ref<'_, emergency::Table>,
    channels: &[Ref<'_, channel::Table>],
) -> Option<Vec<EntityId>> {
    let kinds = [guywire_plan::language::talkgroup::Table::KIND, guywire_plan::language::contact::Table::KIND];
    let target = |from: EntityId, name: Known<guywire_plan::Symbol>| match name {
        Known::Is(name) => match view.find_any(from, &kinds, name) {
            FoundAny::Some(found) => Some(found.into_vec()),
            FoundAny::Missing | FoundAny::Unreadable => None,
        },
        Known::Absent => Some(Vec::new()),
        Known::Unreadable => None,
    };
    let mut called = target(it.id(), it.text(emergency::target))?;
    if called.is_empty() {
        for channel in channels {
            called.extend(target(channel.id(), channel.text(channel::call))?);
        }
    }
    called.extend(channels.iter().map(|channel| channel.id()));
    Some(called)
}
