//! A channel resolved to what is on the air: names replaced by the numbers, codes and keys that they lead to.

use std::sync::Arc;

use guywire_radio::{Hertz, Tone};
use smallvec::SmallVec;

use super::Called;
use crate::derived::Sends;
use crate::entity::EntityId;
use crate::language::{channel, contact, key, receive_group, talkgroup};
use crate::symbol::Symbol;
use crate::value::{Known, Row, Stored};
use crate::view::{Ref, View};
use crate::view_radio::Target;

/// How speech is carried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Mode {
    /// DMR.
    Digital,
    /// Analog FM.
    Analog,
}

/// Which group calls a channel takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Listens {
    /// Those of its receive group.
    OwnGroups,
    /// Any of its slot.
    AnyGroup,
    /// Any of both slots.
    BothSlots,
}

/// How privacy is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Algorithm {
    /// Fixed scrambling: no key number is on the air.
    FixedScramble,
    /// ARC4 with 40 bits.
    Arc4,
    /// AES with 128 bits.
    Aes128,
    /// AES with 256 bits.
    Aes256,
}

/// Which material a key is: what is known of it without the material itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Material {
    /// The table.
    pub entity: EntityId,
    name: Option<Symbol>,
    check_value: Option<Symbol>,
    held_in: Option<Symbol>,
    written: Option<u64>,
}

/// A privacy key as receivers tell it apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Key {
    /// How privacy is made; absent: not written.
    pub algorithm: Option<Algorithm>,
    /// Number sent with each call.
    pub id: Option<i64>,
    /// Which material it is.
    pub material: Material,
}

/// A channel as sender and receiver. What cannot be read is unreadable here too, and nothing is concluded from it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Air {
    /// What push-to-talk sends.
    pub sends: Known<Sends>,
    /// Carrier received.
    pub rx: Known<Hertz>,
    /// Carrier sent; absent for receive only.
    pub tx: Known<Hertz>,
    /// Width; 12.5 kHz where nothing is written.
    pub width: Known<Hertz>,
    /// The modes that it hears.
    pub receives: Known<SmallVec<[Mode; 2]>>,
    /// Color code.
    pub color_code: Known<i64>,
    /// Slot.
    pub slot: Known<i64>,
    /// TDMA direct mode.
    pub tdma_direct: Known<bool>,
    /// The repeater whose output it listens to.
    pub repeater: Option<EntityId>,
    /// It sends on its repeater's output.
    pub talk_around: bool,
    /// What push-to-talk calls; absent: nothing.
    pub call: Known<Called>,
    /// The talkgroups of its receive group, by number; absent: it has none.
    pub groups: Known<Arc<[i64]>>,
    /// Which group calls it takes.
    pub listens: Known<Listens>,
    /// Tone sent; absent: none.
    pub tx_tone: Known<Tone>,
    /// Tone that opens its loudspeaker; absent: a carrier does.
    pub rx_tone: Known<Tone>,
    /// Key that it sends with; absent: in clear.
    pub key: Known<Key>,
    /// Further keys that it understands.
    pub receive_keys: Known<Arc<[Key]>>,
    /// It hears clear calls.
    pub receive_clear: Known<bool>,
}

impl Material {
    /// Whether two keys are of one material, as far as the plans say: the check value decides, else the place where it is
    /// kept, else the name. A value that is written (which it never should be) decides before all.
    pub fn same(self, other: Material) -> bool {
        let by = |a: Option<Symbol>, b: Option<Symbol>| a.zip(b).map(|(a, b)| a == b);
        self.entity == other.entity
            || self
                .written
                .zip(other.written)
                .map(|(a, b)| a == b)
                .or_else(|| by(self.check_value, other.check_value))
                .or_else(|| by(self.held_in, other.held_in))
                .or_else(|| by(self.name, other.name))
                .unwrap_or(false)
    }
}

impl Air {
    /// Whether it receives on the frequency that it sends on.
    pub fn is_simplex(&self) -> bool {
        matches!((self.rx, self.tx), (Known::Is(rx), Known::Is(tx)) if rx == tx)
    }

    /// Whether it hears a mode.
    pub fn hears(&self, mode: Mode) -> Known<bool> {
        match &self.receives {
            Known::Is(modes) => Known::Is(modes.contains(&mode)),
            Known::Absent => Known::Is(false),
            Known::Unreadable => Known::Unreadable,
        }
    }
}

/// Computes what a channel is on the air.
pub(crate) fn air(view: View<'_>, it: Ref<'_, channel::Table>) -> Option<Air> {
    let effective = view.channel(it.id())?;
    let word = |field| it.text(field).map(|word| view.symbol(word));
    let receives = match it.list(channel::receives) {
        Known::Is(elements) => {
            let modes = elements.iter().map(|element| match element.value {
                Stored::Text(word) => mode(view.symbol(word)),
                _ => None,
            });
            modes.collect::<Option<SmallVec<_>>>().map_or(Known::Unreadable, Known::Is)
        }
        Known::Unreadable => Known::Unreadable,
        Known::Absent => match effective.sends {
            Known::Is(Sends::Digital) => Known::Is(SmallVec::from_slice(&[Mode::Digital])),
            Known::Is(Sends::Analog) => Known::Is(SmallVec::from_slice(&[Mode::Analog])),
            // It listens, and does not say to what.
            Known::Is(Sends::Nothing) | Known::Absent | Known::Unreadable => Known::Unreadable,
        },
    };
    Some(Air {
        sends: effective.sends,
        rx: effective.rx,
        tx: effective.tx,
        width: effective.bandwidth.or_value(Hertz(12_500)),
        receives,
        color_code: effective.color_code,
        slot: effective.slot,
        tdma_direct: effective.tdma_direct.or_value(false),
        repeater: effective.repeater,
        talk_around: it.truth(channel::talk_around) == Known::Is(true),
        call: called(view, it),
        groups: groups(view, it),
        listens: word(channel::listens_to).map(listens).or_value(Listens::OwnGroups),
        tx_tone: view.sent_tone(it),
        rx_tone: view.waited_tone(it),
        key: match view.named::<key::Table, _>(it, channel::privacy) {
            Known::Is(found) => view.air_key(found),
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        },
        receive_keys: match view.named_all::<key::Table, _>(it, channel::privacy_receive) {
            Known::Is(found) => view.air_keys(&found),
            Known::Absent => Known::Is(Arc::new([])),
            Known::Unreadable => Known::Unreadable,
        },
        receive_clear: it.truth(channel::receive_clear).or_value(true),
    })
}

fn mode(word: &str) -> Option<Mode> {
    match word {
        "digital" => Some(Mode::Digital),
        "analog" => Some(Mode::Analog),
        _ => None,
    }
}

fn listens(word: &str) -> Listens {
    match word {
        "any-group" => Listens::AnyGroup,
        "both-slots" => Listens::BothSlots,
        _ => Listens::OwnGroups,
    }
}

fn called(view: View<'_>, it: Ref<'_, channel::Table>) -> Known<Called> {
    match view.target(it) {
        Known::Is(target) => view.called_number(target),
        Known::Absent => Known::Absent,
        Known::Unreadable => Known::Unreadable,
    }
}

/// The numbers of a channel's receive group, in order.
fn groups(view: View<'_>, it: Ref<'_, channel::Table>) -> Known<Arc<[i64]>> {
    let group = match view.named::<receive_group::Table, _>(it, channel::receive_group) {
        Known::Is(group) => group,
        Known::Absent => return Known::Absent,
        Known::Unreadable => return Known::Unreadable,
    };
    let members = match view.named_all::<talkgroup::Table, _>(group, receive_group::talkgroups) {
        Known::Is(members) => members,
        Known::Absent => return Known::Is(Arc::new([])),
        Known::Unreadable => return Known::Unreadable,
    };
    let numbers = members.iter().map(|member| member.whole(talkgroup::id).value());
    match numbers.collect::<Option<Vec<i64>>>() {
        Some(mut numbers) => {
            numbers.sort_unstable();
            numbers.dedup();
            Known::Is(numbers.into())
        }
        None => Known::Unreadable,
    }
}

impl<'v> View<'v> {
    /// The number that a call to a talkgroup or contact goes to.
    pub fn called_number(self, target: Target<'v>) -> Known<Called> {
        let number = |number: Known<i64>, to: fn(i64) -> Called| match number {
            Known::Is(number) => Known::Is(to(number)),
            Known::Absent | Known::Unreadable => Known::Unreadable,
        };
        match target {
            Target::Talkgroup(group) => number(group.whole(talkgroup::id), Called::Group),
            Target::Contact(contact) => match contact.truth(contact::all_call) {
                Known::Is(true) => Known::Is(Called::All),
                Known::Is(false) | Known::Absent => number(contact.whole(contact::id), Called::Unit),
                Known::Unreadable => Known::Unreadable,
            },
        }
    }

    /// A key as receivers tell it apart.
    pub fn air_key(self, it: Ref<'v, key::Table>) -> Known<Key> {
        let algorithm = match it.text(key::algorithm).map(|word| self.symbol(word)) {
            Known::Is("fixed-scramble") => Some(Algorithm::FixedScramble),
            Known::Is("arc4-40") => Some(Algorithm::Arc4),
            Known::Is("aes-128") => Some(Algorithm::Aes128),
            Known::Is("aes-256") => Some(Algorithm::Aes256),
            Known::Is(_) | Known::Absent => None,
            Known::Unreadable => return Known::Unreadable,
        };
        let id = match it.whole(key::id) {
            Known::Unreadable => return Known::Unreadable,
            id => id.value(),
        };
        let written = match self.known(it.id(), key::value) {
            Known::Is(Stored::Hash(hash, _)) => Some(*hash),
            _ => None,
        };
        Known::Is(Key {
            algorithm,
            id,
            material: Material {
                entity: it.id(),
                name: self.name_symbol(it.id()).value(),
                check_value: it.text(key::check_value).value(),
                held_in: it.text(key::held_in).value(),
                written,
            },
        })
    }

    pub(crate) fn air_keys(self, found: &[Ref<'v, key::Table>]) -> Known<Arc<[Key]>> {
        let keys = found.iter().map(|key| self.air_key(*key).value());
        keys.collect::<Option<Vec<_>>>().map_or(Known::Unreadable, |keys| Known::Is(keys.into()))
    }
}
