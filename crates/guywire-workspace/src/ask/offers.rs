//! Edits that bring a call to radios which do not hear it, where the reason has one: at a channel, a talkgroup or a radio.
//! Each says how many radios hear the call more than before and how many the edit touches; none is offered that breaks a
//! capacity or leads to another table.

use std::ops::Range;

use guywire_plan::audience::{
    Answer, Audience, Called, ClassAnswer, Emission, Hearing, Listens, Outcome, Reason, Status, Suppose, Supposed,
    WhyNotRepeated,
};
use guywire_plan::language::{Field, Kind, Tabled, capacity, channel, receive_group, repeater, scan_list, talkgroup};
use guywire_plan::{Bucket, EntityId, FieldPath, Found, Known, Recorder, Ref, Row, Stored, View};
use guywire_radio::Tone;
use guywire_rules::{Edit, toml_string};
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use super::edits;
use super::hover::viewer;
use super::locate::locate;
use crate::answer::TextEdit;
use crate::workspace::Workspace;

/// Offers at one place.
const MOST_OFFERS: usize = 8;
/// Calls of a talkgroup that are looked at.
const MOST_CALLS: usize = 4;

/// An edit that brings a call to more radios.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// What it does, and to how many radios.
    pub title: String,
    /// The channel whose call it is about.
    pub channel: String,
    /// How many radios hear that call that did not, or do now while scanning.
    pub gained: usize,
    /// How many hear it no longer, or less readily.
    pub lost: usize,
    /// Its edits, ordered, not overlapping.
    pub edits: Vec<TextEdit>,
}

/// Something that could be written otherwise, with the plan that sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Remedy {
    /// A receive group takes a talkgroup.
    Group { group: EntityId, talkgroup: i64, viewer: FileId },
    /// A scan list takes a channel.
    Scan { list: EntityId, member: EntityId, viewer: FileId },
    /// A channel takes the color code of its repeater.
    ColorCode { channel: EntityId, code: i64, viewer: FileId },
    /// A channel goes to the slot on which its repeater carries its talkgroup.
    Slot { channel: EntityId, slot: i64, viewer: FileId },
    /// A channel waits for the tone that its repeater sends.
    RxTone { channel: EntityId, tone: Tone, viewer: FileId },
    /// A channel sends the tone that opens its repeater.
    TxTone { channel: EntityId, tone: Tone, viewer: FileId },
}

/// A call, and who makes it.
struct Call {
    channel: EntityId,
    emission: Emission,
    sender: Option<EntityId>,
}

struct Offering<'v> {
    workspace: &'v Workspace,
    view: View<'v>,
    hearing: Hearing<'v>,
    recorder: &'v Recorder,
}

impl Workspace {
    /// Edits that bring a call to more radios, most first: at the header or the name of a channel, at what it calls, at
    /// those of a talkgroup, and at those of a radio for the call from where it stands by.
    pub fn audience_offers(&self, file: FileId, bytes: &Range<usize>) -> Vec<Offer> {
        let recorder = Recorder::silent();
        let db = &self.engine.db;
        let Some(located) = locate(db, file, bytes.start) else { return Vec::new() };
        let at = located.key.map(|key| key.name);
        if !matches!(at, None | Some("name" | "alias" | "call")) || located.path.steps().len() > 1 {
            return Vec::new();
        }
        let view = View::new(db, viewer(db, file), &recorder);
        let offering = Offering { workspace: self, view, hearing: Hearing::new(view), recorder: &recorder };
        let mut offers: Vec<Offer> = Vec::new();
        for call in offering.calls(located.id) {
            for offer in offering.of_call(&call) {
                if !offers.iter().any(|known| known.edits == offer.edits) {
                    offers.push(offer);
                }
            }
        }
        offers.sort_by(|a, b| (b.gained, &a.title).cmp(&(a.gained, &b.title)));
        offers.truncate(MOST_OFFERS);
        offers
    }
}

impl<'v> Offering<'v> {
    fn at(&self, plan: FileId) -> View<'v> {
        View::new(&self.workspace.engine.db, plan, self.recorder)
    }

    fn call(&self, channel: EntityId, sender: Option<EntityId>) -> Option<Call> {
        let emission = self.view.air(channel)?.push_to_talk().ok()?;
        Some(Call { channel, emission, sender })
    }

    fn calls(&self, id: EntityId) -> Vec<Call> {
        match self.view.kind(id) {
            Kind::Channel => self.call(id, None).into_iter().collect(),
            Kind::Talkgroup => {
                let mut channels: Vec<EntityId> =
                    self.view.referrers::<channel::Table>(id).iter().map(Ref::id).collect();
                self.workspace.engine.db.sort(&mut channels);
                let mut calls: Vec<Call> = Vec::new();
                for call in channels.into_iter().filter_map(|channel| self.call(channel, None)) {
                    if calls.len() < MOST_CALLS && !calls.iter().any(|known| known.emission == call.emission) {
                        calls.push(call);
                    }
                }
                calls
            }
            Kind::Radio => match self.view.post(id).map(|post| post.stands_by) {
                Some(Known::Is(home)) => self.call(home, Some(id)).into_iter().collect(),
                _ => Vec::new(),
            },
            _ => Vec::new(),
        }
    }

    fn of_call(&self, call: &Call) -> Vec<Offer> {
        let before = self.hearing.radios_near(&call.emission, call.sender, &Suppose::Nothing);
        let mut remedies: Vec<Remedy> = self.of_sender(call, &before).into_iter().collect();
        for remedy in before.answers.iter().filter_map(|answer| self.of_answer(call, answer)) {
            if !remedies.contains(&remedy) {
                remedies.push(remedy);
            }
        }
        remedies.into_iter().filter_map(|remedy| self.offer(call, &before, remedy)).collect()
    }

    /// What the sending channel could take from its repeater, which refuses the call.
    fn of_sender(&self, call: &Call, before: &Audience) -> Option<Remedy> {
        let own = self.view.air(call.channel)?.repeater?;
        let refused = before.rays.refused.iter().find(|refused| refused.repeater == own)?;
        let (channel, viewer) = (call.channel, self.view.viewer());
        match refused.why {
            WhyNotRepeated::ColorCode { wanted, .. } if has(self.view, channel, channel::color_code) => {
                Some(Remedy::ColorCode { channel, code: wanted, viewer })
            }
            WhyNotRepeated::Tone if has(self.view, channel, channel::tx_tone) => {
                let repeater = self.view.get::<repeater::Table>(own)?;
                match self.view.tones(repeater, repeater::input_tones) {
                    Known::Is(tones) if tones.len() == 1 => Some(Remedy::TxTone { channel, tone: tones[0], viewer }),
                    _ => None,
                }
            }
            WhyNotRepeated::NotListed => self.other_slot(self.view, channel),
            _ => None,
        }
    }

    /// The other slot of a channel's repeater, where that alone carries the channel's talkgroup.
    fn other_slot(&self, view: View<'v>, channel: EntityId) -> Option<Remedy> {
        let air = view.air(channel)?;
        let (Called::Group(group), own) = (air.call.value()?, air.slot.value()?) else { return None };
        let relay = view.relay(air.repeater?)?;
        let lists = |slot: i64| {
            let terms = relay.slots.get(usize::try_from(slot - 1).ok()?)?;
            Some(
                matches!(terms, Known::Is(terms) if matches!(&terms.listed, Known::Is(listed) if listed.contains(&group))),
            )
        };
        let slot = 3 - own;
        let fits = has(view, channel, channel::slot) && lists(slot)? && !lists(own)?;
        fits.then(|| Remedy::Slot { channel, slot, viewer: view.viewer() })
    }

    /// What would let those hear the call who gave an answer.
    fn of_answer(&self, call: &Call, answer: &ClassAnswer) -> Option<Remedy> {
        let (on, view) = (answer.on?, self.at(answer.class.viewer));
        let viewer = view.viewer();
        if answer.answer == Answer::CouldTune {
            let Known::Is(home) = answer.class.post.stands_by else { return None };
            let is_used = answer.class.post.status == Known::Is(Status::Issued);
            let list = view.get(home).map(|home| view.named::<scan_list::Table, _>(home, channel::scan_list));
            let Some(Known::Is(list)) = list else { return None };
            return (is_used && on != home).then(|| Remedy::Scan { list: list.id(), member: on, viewer });
        }
        let Outcome::No(reason) = answer.outcome else { return None };
        if answer.refused.is_some() || on == call.channel {
            return None;
        }
        let air = view.air(on)?;
        let relay = || view.relay(air.repeater?);
        match reason {
            Reason::Group { sent } if air.listens == Known::Is(Listens::OwnGroups) => {
                let group = view.named::<receive_group::Table, _>(view.get(on)?, channel::receive_group).value()?;
                Some(Remedy::Group { group: group.id(), talkgroup: sent, viewer })
            }
            Reason::ColorCode { sent, .. } => {
                let fits = has(view, on, channel::color_code) && relay()?.color_code == Known::Is(sent);
                fits.then_some(Remedy::ColorCode { channel: on, code: sent, viewer })
            }
            Reason::Slot { sent, .. } => {
                self.other_slot(view, on).filter(|it| matches!(it, Remedy::Slot { slot, .. } if *slot == sent))
            }
            Reason::Tone => {
                let repeater = view.get::<repeater::Table>(air.repeater?)?;
                match view.output_tones(repeater) {
                    Known::Is(tones) if tones.len() == 1 && has(view, on, channel::rx_tone) => {
                        Some(Remedy::RxTone { channel: on, tone: tones[0], viewer })
                    }
                    _ => None,
                }
            }
            _ => None,
        }
    }

    fn offer(&self, call: &Call, before: &Audience, remedy: Remedy) -> Option<Offer> {
        let (what, edit) = self.edit(remedy)?;
        let suppose = self.suppose(remedy);
        let own = self.view.air(call.channel)?;
        let emission = suppose.air(call.channel, own).push_to_talk().ok()?;
        let after = self.hearing.radios_near(&emission, call.sender, &suppose);
        let answers = |audience: &Audience| -> FxHashMap<EntityId, Answer> {
            let all = audience.answers.iter();
            all.flat_map(|it| it.radios.iter().map(|radio| (*radio, it.answer))).collect()
        };
        // Who is in neither hears nothing, before and after.
        let (was, is) = (answers(before), answers(&after));
        let hears = |answer: Answer| answer <= Answer::CouldTune;
        let (mut gained, mut lost) = (0, 0);
        for radio in was.keys().chain(is.keys().filter(|radio| !was.contains_key(radio))) {
            let answer = |all: &FxHashMap<EntityId, Answer>| all.get(radio).copied().unwrap_or(Answer::No);
            let (was, is) = (answer(&was), answer(&is));
            gained += usize::from(is < was && hears(is));
            lost += usize::from(is > was && hears(was));
        }
        if gained == 0 {
            return None;
        }
        let channel = self.view.name_of(call.channel)?.to_owned();
        let scanning = if matches!(remedy, Remedy::Scan { .. }) { " while scanning" } else { "" };
        let more = if gained == 1 { "1 more radio hears".to_owned() } else { format!("{gained} more radios hear") };
        let less = if lost > 0 { format!(", {lost} no longer or less readily") } else { String::new() };
        let title = format!("{what}: {more} \"{channel}\"{scanning}{less}{}", self.touching(remedy));
        let edits = edits::resolve(&self.workspace.engine.db, &[edit])?;
        Some(Offer { title, channel, gained, lost, edits })
    }

    /// What it says, and the edit; none where it is not possible.
    fn edit(&self, remedy: Remedy) -> Option<(String, Edit)> {
        let view = self.at(remedy.viewer());
        let channel_name = |id: EntityId| view.name_of(id).map(str::to_owned);
        let repeater_of = |id: EntityId| view.name_of(view.air(id)?.repeater?).map(str::to_owned);
        let take_out = |id: EntityId, field: Field<channel::Table>, what: &str| {
            let words = format!("Take the {what} of \"{}\" from repeater \"{}\"", channel_name(id)?, repeater_of(id)?);
            Some((words, Edit::Remove(id, FieldPath::key(field.number()))))
        };
        match remedy {
            Remedy::Group { group, talkgroup, .. } => {
                let list = view.get::<receive_group::Table>(group)?;
                let name = self.nameable::<talkgroup::Table>(group, |there| {
                    let alike = there.alike_of::<talkgroup::Table>(Bucket::TalkgroupId(there.viewer(), talkgroup));
                    alike.iter().map(Ref::id).collect()
                })?;
                let edit = self.added(view, list, receive_group::talkgroups, capacity::receive_group_members, &name)?;
                Some((format!("Add talkgroup \"{name}\" to receive group \"{}\"", list.name()?), edit))
            }
            Remedy::Scan { list, member, .. } => {
                let list = view.get::<scan_list::Table>(list)?;
                let name = self.nameable::<channel::Table>(list.id(), |_| vec![member])?;
                let edit = self.added(view, list, scan_list::channels, capacity::scan_list_members, &name)?;
                Some((format!("Add \"{name}\" to scan list \"{}\"", list.name()?), edit))
            }
            Remedy::ColorCode { channel, .. } => take_out(channel, channel::color_code, "color code"),
            Remedy::RxTone { channel, .. } => take_out(channel, channel::rx_tone, "tone"),
            Remedy::TxTone { channel, .. } => take_out(channel, channel::tx_tone, "sent tone"),
            Remedy::Slot { channel, slot, .. } => {
                let (name, repeater) = (channel_name(channel)?, repeater_of(channel)?);
                let words = format!("Take the slot of \"{name}\" from repeater \"{repeater}\", {slot}");
                Some((words, Edit::Set(channel, FieldPath::key(channel::slot.number()), slot.to_string())))
            }
        }
    }

    /// A name by which a table can mean one of some tables in every plan that sees it.
    fn nameable<T: Tabled>(&self, from: EntityId, meant: impl Fn(View<'v>) -> Vec<EntityId>) -> Option<String> {
        let db = &self.workspace.engine.db;
        let file = db.entity(from)?.file;
        let mut names: Option<FxHashSet<String>> = None;
        for plan in db.viewers(file) {
            let there = self.at(plan);
            let leads = |id: &EntityId| {
                let name = there.name_symbol(*id).value()?;
                let is_it = matches!(there.find::<T>(from, name), Found::One(found) if found.id() == *id);
                is_it.then(|| there.symbol(name).to_owned())
            };
            let here: FxHashSet<String> = meant(there).iter().filter_map(leads).collect();
            names = Some(match names {
                None => here,
                Some(known) => known.intersection(&here).cloned().collect(),
            });
        }
        names?.into_iter().min()
    }

    /// One name more at the end of a list, where that is not full on any model and does not have it.
    fn added<T: Tabled>(
        &self,
        view: View<'v>,
        list: Ref<'v, T>,
        field: Field<T>,
        room: Field<capacity::Table>,
        name: &str,
    ) -> Option<Edit> {
        let Known::Is(elements) = list.list(field) else { return None };
        let written = |stored: &Stored| match stored {
            Stored::Text(text) => Some(view.symbol(*text).to_owned()),
            _ => None,
        };
        let names: Vec<String> = elements.iter().map(|element| written(&element.value)).collect::<Option<_>>()?;
        let last = names.last()?;
        let has_room = |view: View<'v>| {
            view.models_using(list.id()).into_iter().all(|model| {
                let most = view.file_of(model.id()).and_then(|file| view.only::<capacity::Table>(file));
                let most = most.and_then(|capacity| capacity.whole(room).value());
                most.is_none_or(|most| usize::try_from(most).is_ok_and(|most| names.len() < most))
            })
        };
        let plans = self.workspace.engine.db.viewers(view.file_of(list.id())?);
        if names.iter().any(|known| known == name) || !plans.into_iter().all(|plan| has_room(self.at(plan))) {
            return None;
        }
        let at = FieldPath::key(field.number()).then(names.len() - 1);
        Some(Edit::Set(list.id(), at, format!("{}, {}", toml_string(last), toml_string(name))))
    }

    fn suppose(&self, remedy: Remedy) -> Suppose {
        match remedy {
            Remedy::Group { group, talkgroup, .. } => {
                Suppose::Channels(self.users(group), Supposed::Listens(talkgroup))
            }
            Remedy::Scan { list, member, .. } => Suppose::Scanned(self.users(list), member),
            Remedy::ColorCode { channel, code, .. } => Suppose::Channels(vec![channel], Supposed::ColorCode(code)),
            Remedy::Slot { channel, slot, .. } => Suppose::Channels(vec![channel], Supposed::Slot(slot)),
            Remedy::RxTone { channel, tone, .. } => Suppose::Channels(vec![channel], Supposed::WaitsFor(tone)),
            Remedy::TxTone { channel, tone, .. } => Suppose::Channels(vec![channel], Supposed::Sends(tone)),
        }
    }

    /// The channels of all plans that name a receive group or scan list.
    fn users(&self, table: EntityId) -> Vec<EntityId> {
        let db = &self.workspace.engine.db;
        let plans = db.entity(table).map(|entity| db.viewers(entity.file)).unwrap_or_default();
        let mut found: Vec<EntityId> = Vec::new();
        for channel in plans.into_iter().flat_map(|plan| self.at(plan).referrers::<channel::Table>(table)) {
            if !found.contains(&channel.id()) {
                found.push(channel.id());
            }
        }
        found
    }

    fn touching(&self, remedy: Remedy) -> String {
        let db = &self.workspace.engine.db;
        let channels = match remedy {
            Remedy::Group { group, .. } => self.users(group),
            Remedy::Scan { list, .. } => self.users(list),
            Remedy::ColorCode { channel, .. }
            | Remedy::Slot { channel, .. }
            | Remedy::RxTone { channel, .. }
            | Remedy::TxTone { channel, .. } => vec![channel],
        };
        let mut radios: FxHashSet<EntityId> = FxHashSet::default();
        for channel in channels {
            let plans = db.entity(channel).map(|entity| db.viewers(entity.file)).unwrap_or_default();
            plans.into_iter().for_each(|plan| radios.extend(self.at(plan).holders(channel)));
        }
        match radios.len() {
            1 => " (touches 1 radio)".to_owned(),
            many => format!(" (touches {many} radios)"),
        }
    }
}

impl Remedy {
    fn viewer(self) -> FileId {
        match self {
            Remedy::Group { viewer, .. }
            | Remedy::Scan { viewer, .. }
            | Remedy::ColorCode { viewer, .. }
            | Remedy::Slot { viewer, .. }
            | Remedy::RxTone { viewer, .. }
            | Remedy::TxTone { viewer, .. } => viewer,
        }
    }
}

fn has(view: View<'_>, channel: EntityId, field: Field<channel::Table>) -> bool {
    view.get::<channel::Table>(channel).is_some_and(|it| it.has(field))
}
