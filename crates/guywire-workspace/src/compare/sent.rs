//! What radios send beside push-to-talk as a channel has it: answers within the hang time and while scanning, emergencies
//! and reports.

use std::collections::{BTreeMap, BTreeSet};

use guywire_plan::audience::{Emission, Payload};
use guywire_plan::language::{FieldSet, channel, emergency, receive_group, report, scan_list, signaling, talkgroup};
use guywire_plan::{EntityId, Known, Ref, Row, View};
use guywire_text::FileId;

use super::Sending;
use super::asked::Asked;
use super::matching::keys_of;

/// Something that radios send, in both states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Sent {
    pub what: Sending,
    /// Number of the channel that the knob is on; of reports, that of their table.
    pub from: u32,
    /// Number of the talkgroup or channel whose call is answered.
    pub to: Option<u32>,
}

/// It in one of the states.
#[derive(Debug, Clone)]
pub(crate) struct Going {
    /// The channel that it goes out on.
    pub on: EntityId,
    /// What goes out; none where that is nothing that can be followed.
    pub emission: Option<Emission>,
    /// The table that says so, with the keys of it that matter.
    pub by: Option<(EntityId, FieldSet)>,
}

/// All of one channel or report.
pub(crate) type Goings = BTreeMap<Sent, Going>;

/// What radios that have a channel on their knob send from there. `answers_groups`: also within the hang time.
pub(crate) fn from_channel(
    asked: &Asked<'_>,
    plan: FileId,
    (number, channel): (u32, EntityId),
    answers_groups: bool,
) -> Goings {
    let view = asked.at(plan);
    let mut found = Goings::new();
    let Some(it) = view.get::<channel::Table>(channel) else { return found };
    if answers_groups {
        group_answers(asked, view, (number, it), &mut found);
    }
    scan_answers(asked, view, (number, it), &mut found);
    emergency(view, (number, it), &mut found);
    found
}

/// Answers to the talkgroups of a channel's receive group, while their hang time lasts.
fn group_answers<'v>(
    asked: &Asked<'v>,
    view: View<'v>,
    (from, it): (u32, Ref<'v, channel::Table>),
    found: &mut Goings,
) {
    let Some(call) = asked.call(view.viewer(), it.id()) else { return };
    let Known::Is(held) = view.named::<receive_group::Table, _>(it, channel::receive_group) else { return };
    let Known::Is(groups) = view.named_all::<talkgroup::Table, _>(held, receive_group::talkgroups) else { return };
    let hang = keys_of([signaling::group_hang_ms.number()]);
    let by = view.all::<signaling::Table>().first().map(|it| (it.id(), hang));
    for group in groups {
        let Known::Is(called) = view.called_number(guywire_plan::Target::Talkgroup(group)) else { continue };
        let emission = view.reply(it.id(), &call.to(called, Payload::Speech), None).ok();
        let sent = Sent { what: Sending::GroupAnswer, from, to: Some(asked.number(group.id())) };
        found.insert(sent, Going { on: it.id(), emission, by });
    }
}

/// Answers to calls on the other members of a channel's scan list, where the list says how it answers.
fn scan_answers<'v>(asked: &Asked<'v>, view: View<'v>, (from, it): (u32, Ref<'v, channel::Table>), found: &mut Goings) {
    let Known::Is(list) = view.named::<scan_list::Table, _>(it, channel::scan_list) else { return };
    let Known::Is(reply) = list.text(scan_list::reply).map(|word| view.symbol(word)) else { return };
    let given = match reply {
        "last-heard" => None,
        "selected" => Some(it.id()),
        _ => match view.named::<channel::Table, _>(list, scan_list::reply) {
            Known::Is(given) => Some(given.id()),
            Known::Absent | Known::Unreadable => return,
        },
    };
    let by = Some((list.id(), keys_of([scan_list::reply.number()])));
    for member in view.scanned_at(it.id()) {
        let on = given.unwrap_or(member);
        let heard = asked.call(view.viewer(), member);
        let emission = heard.and_then(|heard| view.scan_reply(it.id(), member, &heard));
        let sent = Sent { what: Sending::ScanAnswer, from, to: Some(asked.number(member)) };
        found.insert(sent, Going { on, emission, by });
    }
}

/// The alarm and the call of an emergency, with the knob on a channel.
fn emergency<'v>(view: View<'v>, (from, it): (u32, Ref<'v, channel::Table>), found: &mut Goings) {
    let Known::Is(emergency) = view.named::<emergency::Table, _>(it, channel::emergency) else { return };
    let on = match view.revert(emergency) {
        Known::Is(on) => on,
        Known::Absent => it,
        Known::Unreadable => return,
    };
    let (Some(parts), Some(air)) = (view.emergency_parts(emergency), view.air(on.id())) else { return };
    let keys = [emergency::sends, emergency::target, emergency::revert].map(|key| key.number());
    for part in parts {
        let called = view.emergency_target(emergency, on).map(|(_, called)| called);
        let emission = called.and_then(|called| air.sent(called, *part).ok());
        let what = if *part == Payload::Data { Sending::Alarm } else { Sending::EmergencyCall };
        let by = Some((emergency.id(), keys_of(keys)));
        found.insert(Sent { what, from, to: None }, Going { on: on.id(), emission, by });
    }
}

/// What a report sends.
pub(crate) fn from_report(asked: &Asked<'_>, plan: FileId, number: u32, report: EntityId) -> Goings {
    let view = asked.at(plan);
    let going = view.get::<report::Table>(report).and_then(|it| view.report(it).ok());
    let by = Some((report, keys_of([report::channel.number()])));
    let going = going.map(|(on, emission)| Going { on, emission: Some(emission), by });
    let sent = Sent { what: Sending::Report, from: number, to: None };
    going.into_iter().map(|going| (sent, going)).collect()
}

/// The radios in use that send a report.
pub(crate) fn reporters(asked: &Asked<'_>, plan: FileId, report: EntityId) -> BTreeSet<u32> {
    let view = asked.at(plan);
    let radios = view.get::<report::Table>(report).map(|it| view.reporters(it)).unwrap_or_default();
    asked.in_use(plan, &radios)
}
