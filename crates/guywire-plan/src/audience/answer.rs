//! What a radio that has heard a call answers, and who could have sent it.

use super::{Called, Emission, Payload, Role, Signal, Status, Unsent};
use crate::derived::Sends;
use crate::entity::EntityId;
use crate::language::{Tabled, channel, contact, emergency, profile, radio, report, scan_list, signaling, talkgroup};
use crate::value::{Known, Row};
use crate::view::{FoundAny, Ref, View};
use crate::view_radio::Target;

impl<'v> View<'v> {
    /// What push-to-talk sends within the hang time of a call heard on `channel`: to the group that was heard, whichever
    /// the channel calls (ETSI TS 102 361-2); to the unit `caller` after an individual call. With a hang time of 0, what
    /// push-to-talk always sends.
    ///
    /// # Errors
    /// [`Unsent`], where the channel sends nothing or nothing that can be followed.
    pub fn reply(self, channel: EntityId, heard: &Emission, caller: Option<i64>) -> Result<Emission, Unsent> {
        let air = self.air(channel).ok_or(Unsent::Unreadable)?;
        let Signal::Digital(digital) = heard.signal else { return air.push_to_talk() };
        if air.sends != Known::Is(Sends::Digital) {
            return air.push_to_talk();
        }
        match (digital.called, caller) {
            (Called::Group(_), _) if self.holds_after(signaling::group_hang_ms) => {
                air.sent(digital.called, Payload::Speech)
            }
            (Called::Unit(_), Some(caller)) if self.holds_after(signaling::individual_hang_ms) => {
                air.sent(Called::Unit(caller), Payload::Speech)
            }
            _ => air.push_to_talk(),
        }
    }

    /// Whether push-to-talk answers the last call for a while: a hang time that is not written is taken to be there.
    pub fn holds_after(self, field: crate::language::Field<signaling::Table>) -> bool {
        !self.all::<signaling::Table>().iter().any(|it| it.whole(field) == Known::Is(0))
    }

    /// What a radio that stands by on `home` and has heard a call on `heard_on` while scanning answers, and where: as the
    /// scan list says. None where it does not say, or says something that cannot be read.
    pub fn scan_reply(self, home: EntityId, heard_on: EntityId, heard: &Emission) -> Option<Emission> {
        let it = self.get::<channel::Table>(home)?;
        let list = self.named::<scan_list::Table, _>(it, channel::scan_list).value()?;
        let reply = list.text(scan_list::reply).value()?;
        match self.symbol(reply) {
            "last-heard" => self.reply(heard_on, heard, None).ok(),
            "selected" => self.air(home)?.push_to_talk().ok(),
            _ => {
                let given = self.named::<channel::Table, _>(list, scan_list::reply).value()?;
                self.air(given.id())?.push_to_talk().ok()
            }
        }
    }

    /// The channel that an emergency names to go out on; absent where it goes out on the knob's.
    pub fn revert(self, it: Ref<'v, emergency::Table>) -> Known<Ref<'v, channel::Table>> {
        match it.text(emergency::revert).map(|word| self.symbol(word)) {
            Known::Is("selected") | Known::Absent => Known::Absent,
            Known::Is(_) => self.named(it, emergency::revert),
            Known::Unreadable => Known::Unreadable,
        }
    }

    /// Whom an emergency on a channel calls: its target, else what the channel calls; the table, where it has one, and the
    /// number. None where that cannot be read or calls nobody.
    pub fn emergency_target(
        self,
        it: Ref<'v, emergency::Table>,
        on: Ref<'v, channel::Table>,
    ) -> Option<(Option<EntityId>, Called)> {
        let name = match it.text(emergency::target) {
            Known::Is(name) => name,
            Known::Unreadable => return None,
            Known::Absent => {
                let named = match self.target(on) {
                    Known::Is(Target::Talkgroup(group)) => Some(group.id()),
                    Known::Is(Target::Contact(contact)) => Some(contact.id()),
                    Known::Absent | Known::Unreadable => None,
                };
                return Some((named, self.air(on.id())?.call.or_value(Called::All).value()?));
            }
        };
        let found = self.find_any(it.id(), &[talkgroup::Table::KIND, contact::Table::KIND], name);
        let FoundAny::Some(found) = found else { return None };
        let [only] = found.as_slice() else { return None };
        let target = self.get(*only).map(Target::Talkgroup).or_else(|| self.get(*only).map(Target::Contact))?;
        Some((Some(*only), self.called_number(target).value()?))
    }

    /// What an emergency sends, in order: an alarm as data, then speech where it says so. None where that is not known.
    pub fn emergency_parts(self, it: Ref<'v, emergency::Table>) -> Option<&'static [Payload]> {
        let sends = self.symbol(it.text(emergency::sends).value()?);
        Some(if sends == "alarm" { &[Payload::Data] } else { &[Payload::Data, Payload::Speech] })
    }

    /// What the radios that send a report send: data to whom its channel calls.
    ///
    /// # Errors
    /// [`Unsent`], where its channel sends nothing or nothing that can be followed.
    pub fn report(self, it: Ref<'v, report::Table>) -> Result<(EntityId, Emission), Unsent> {
        let on = self.named::<channel::Table, _>(it, report::channel).value().ok_or(Unsent::Incomplete)?;
        let call = self.air(on.id()).ok_or(Unsent::Unreadable)?.push_to_talk()?;
        let data = match call.signal {
            Signal::Digital(digital) => call.to(digital.called, Payload::Data),
            Signal::Analog(_) => call,
        };
        Ok((on.id(), data))
    }

    /// The radios that send a report: those of its profiles, else those that have its channel in their zones; those in use or
    /// on the shelf, in no order.
    pub fn reporters(self, it: Ref<'v, report::Table>) -> Vec<EntityId> {
        match self.named_all::<profile::Table, _>(it, report::profiles) {
            Known::Is(profiles) => {
                let radios = profiles.iter().flat_map(|profile| self.referrers::<radio::Table>(profile.id()));
                radios.map(|radio| radio.id()).filter(|radio| !self.is_away(*radio)).collect()
            }
            Known::Absent => {
                let on = self.named::<channel::Table, _>(it, report::channel).value();
                on.map(|on| self.holders(on.id())).unwrap_or_default()
            }
            Known::Unreadable => Vec::new(),
        }
    }

    /// The radios that could send on a channel: those in use or on the shelf that have it in their zones, in no order.
    pub fn holders(self, channel: EntityId) -> Vec<EntityId> {
        self.holding(channel).into_iter().filter(|radio| !self.is_away(*radio)).collect()
    }

    fn is_away(self, radio: EntityId) -> bool {
        self.post(radio).is_some_and(|post| post.status == Known::Is(Status::Away))
    }

    /// Whether some radio of this plan stands by on a channel.
    pub fn is_stood_by(self, channel: EntityId) -> bool {
        self.is_any(crate::Bucket::StandsOn(self.viewer(), channel))
    }
}

impl Role {
    /// How a reader is told of it.
    pub const fn words(self) -> &'static str {
        match self {
            Role::StandsBy => "stands by on",
            Role::Scans => "scans",
            Role::OnKnob => "could be turned to",
        }
    }
}
