//! What a radio that has heard a call answers, and who could have sent it.

use super::{Called, Emission, Payload, Role, Signal, Status, Unsent};
use crate::derived::Sends;
use crate::entity::EntityId;
use crate::language::{channel, scan_list, signaling};
use crate::value::{Known, Row};
use crate::view::View;

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

    /// The radios that could send on a channel: those in use or on the shelf that have it in their zones, in no order.
    pub fn holders(self, channel: EntityId) -> Vec<EntityId> {
        let is_away = |radio: &EntityId| self.post(*radio).is_some_and(|post| post.status == Known::Is(Status::Away));
        self.holding(channel).into_iter().filter(|radio| !is_away(radio)).collect()
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
