//! The view of what the rules about carriers and tones share: the service, the licenses, what squelch tones do.

use std::borrow::Cow;

use guywire_radio::regime::{Regime, built_in};
use guywire_radio::{Hertz, Tone};
use guywire_text::FileId;
use smallvec::SmallVec;

use crate::derived::{Sends, Value};
use crate::entity::EntityId;
use crate::fact::What;
use crate::language::{Field, Tabled, channel, license, license__assignment, plan, repeater};
use crate::value::{Known, Row, Stored};
use crate::view::{Ref, View};

/// The licenses of a plan, and whether they can be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Licenses {
    /// In no order.
    all: Box<[EntityId]>,
    /// Something that cannot be read might be another one.
    hides: bool,
    /// That, or something in one of them cannot be read.
    unread: bool,
}

/// Makes out the licenses of a plan.
pub(crate) fn licenses(view: View<'_>) -> Licenses {
    let unread = |license: &Ref<'_, license::Table>| match license.known(license::assignment) {
        Known::Is(Stored::List(parts)) => parts.iter().any(|part| match &part.value {
            Stored::Part(record) => {
                record.broken || record.slots.iter().any(|slot| matches!(slot.value, Stored::Unreadable(_)))
            }
            _ => true,
        }),
        Known::Is(_) | Known::Absent => false,
        Known::Unreadable => true,
    };
    let found = view.all::<license::Table>();
    let hides = view.may_hide::<license::Table>();
    let unread = hides || found.iter().any(unread);
    let mut all: Vec<EntityId> = found.iter().map(Ref::id).collect();
    all.sort_unstable_by_key(|id| (id.slot, id.generation));
    Licenses { all: all.into(), hides, unread }
}

/// Where a service stands that a channel or a plan names.
#[derive(Clone, Copy)]
enum Named {
    Nowhere,
    BuiltIn(&'static Regime),
    In(FileId),
}

impl<'v> View<'v> {
    /// The service whose conditions hold: the channel's own where it names one, else the plan's; built in, or a file's.
    /// None where none is named, or its file cannot be read as a whole.
    pub fn service(self, channel: Option<Ref<'v, channel::Table>>) -> Option<&'v Regime> {
        let of = channel.map(|channel| channel.id());
        match self.once(of, || self.named_service(channel)) {
            Named::Nowhere => None,
            Named::BuiltIn(service) => Some(service),
            Named::In(file) => self.service_in(file),
        }
    }

    fn named_service(self, channel: Option<Ref<'v, channel::Table>>) -> Named {
        let own = channel.map_or(Known::Absent, |channel| self.known(channel.id(), channel::regime));
        let named = match own {
            Known::Absent => self.plan().map_or(Known::Absent, |plan| self.known(plan.id(), plan::regime)),
            own => own,
        };
        match named {
            Known::Is(Stored::Text(name)) => built_in(self.symbol(*name)).map_or(Named::Nowhere, Named::BuiltIn),
            Known::Is(Stored::File(file)) => Named::In(*file),
            _ => Named::Nowhere,
        }
    }

    /// The classes of station that the licenses of this plan assign a carrier to; none in the place of a class where an
    /// assignment names no class.
    pub fn assigned(self, carrier: Hertz) -> Vec<Option<&'v str>> {
        let mut classes = Vec::new();
        for license in self.licenses() {
            for assignment in license.parts::<license__assignment::Table>(license::assignment) {
                let low = assignment.frequency(license__assignment::low_mhz).value();
                let high = assignment.frequency(license__assignment::high_mhz).value();
                let within = low.zip(high).is_some_and(|(low, high)| (low..=high).contains(&carrier));
                if within || assignment.frequency(license__assignment::tx_mhz) == Known::Is(carrier) {
                    let class = assignment.text(license__assignment::station);
                    classes.push(class.value().map(|class| self.symbol(class)));
                }
            }
        }
        classes
    }

    /// Whether the licenses of this plan hold something that cannot be read, or that might be another license.
    pub fn has_unread_licenses(self) -> bool {
        self.known_licenses().unread
    }

    /// Whether this plan has no license, and nothing that might be one.
    pub fn has_no_license(self) -> bool {
        let licenses = self.known_licenses();
        licenses.all.is_empty() && !licenses.hides
    }

    /// The licenses of this plan, in no order.
    pub fn licenses(self) -> impl Iterator<Item = Ref<'v, license::Table>> {
        let ids: SmallVec<[EntityId; 4]> = SmallVec::from_slice(&self.known_licenses().all);
        ids.into_iter().filter_map(move |id| self.get(id))
    }

    fn known_licenses(self) -> Cow<'v, Licenses> {
        let plan = self.plan().map(|plan| plan.id());
        match plan.and_then(|plan| self.derived(What::Licenses, plan)) {
            Some(Value::Licenses(licenses)) => Cow::Borrowed(licenses),
            _ => Cow::Owned(licenses(self)),
        }
    }

    // ---- squelch tones --------------------------------------------------------------------------

    /// The tone or code at a key that holds nothing else.
    pub fn tone<T: Tabled>(self, row: Ref<'v, T>, field: Field<T>) -> Known<Tone> {
        match row.text(field) {
            Known::Is(text) => self.symbol(text).parse().map_or(Known::Unreadable, Known::Is),
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        }
    }

    /// The tones and codes of a list. Unreadable where one of them is.
    pub fn tones<T: Tabled>(self, row: Ref<'v, T>, field: Field<T>) -> Known<Vec<Tone>> {
        let elements = match row.list(field) {
            Known::Is(elements) => elements,
            Known::Absent => return Known::Absent,
            Known::Unreadable => return Known::Unreadable,
        };
        let read = elements.iter().map(|element| match element.value {
            Stored::Text(text) => self.symbol(text).parse().ok(),
            _ => None,
        });
        read.collect::<Option<Vec<Tone>>>().map_or(Known::Unreadable, Known::Is)
    }

    /// Whether a repeater passes analog on.
    pub fn repeats_analog(self, repeater: Ref<'v, repeater::Table>) -> Known<bool> {
        repeater.text(repeater::mode).map(|mode| self.symbol(mode) != "digital").or_value(false)
    }

    /// The tones and codes that a repeater may send with analog: none, one, or one of those that open it.
    pub fn output_tones(self, repeater: Ref<'v, repeater::Table>) -> Known<Vec<Tone>> {
        match repeater.text(repeater::output_tone).map(|text| self.symbol(text)) {
            Known::Is("none") | Known::Absent => Known::Is(Vec::new()),
            Known::Is("same-as-input") => self.tones(repeater, repeater::input_tones).or_value(Vec::new()),
            Known::Is(text) => text.parse().map_or(Known::Unreadable, |tone| Known::Is(vec![tone])),
            Known::Unreadable => Known::Unreadable,
        }
    }

    /// The tone or code that a channel sends with analog: its own, else its repeater's input tone where it has only one.
    pub fn sent_tone(self, channel: Ref<'v, channel::Table>) -> Known<Tone> {
        self.tone(channel, channel::tx_tone).or(match self.repeater_of(channel) {
            Known::Is(repeater) => match self.tones(repeater, repeater::input_tones) {
                Known::Is(tones) if tones.len() == 1 => Known::Is(tones[0]),
                Known::Unreadable => Known::Unreadable,
                Known::Is(_) | Known::Absent => Known::Absent,
            },
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        })
    }

    /// The tone or code that opens the loudspeaker on a channel; absent where a carrier does. Unreadable where the
    /// repeater has several and the channel names none.
    pub fn waited_tone(self, channel: Ref<'v, channel::Table>) -> Known<Tone> {
        match channel.text(channel::unmute).map(|word| self.symbol(word)) {
            Known::Is("carrier") => return Known::Absent,
            Known::Unreadable => return Known::Unreadable,
            Known::Is(_) | Known::Absent => {}
        }
        self.tone(channel, channel::rx_tone).or(match self.repeater_of(channel) {
            Known::Is(repeater) => match self.output_tones(repeater) {
                Known::Is(tones) => match tones.as_slice() {
                    [] => Known::Absent,
                    [only] => Known::Is(*only),
                    _ => Known::Unreadable,
                },
                Known::Absent => Known::Absent,
                Known::Unreadable => Known::Unreadable,
            },
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        })
    }

    /// Whether a channel can hear analog.
    pub fn hears_analog(self, channel: Ref<'v, channel::Table>) -> Known<bool> {
        match channel.list(channel::receives) {
            Known::Is(modes) => {
                let words = modes.iter().map(|mode| match mode.value {
                    Stored::Text(text) => Some(self.symbol(text) == "analog"),
                    _ => None,
                });
                let words = words.collect::<Option<Vec<bool>>>();
                words.map_or(Known::Unreadable, |words| Known::Is(words.contains(&true)))
            }
            Known::Absent => channel.text(channel::sends).map(|word| self.symbol(word) == "analog"),
            Known::Unreadable => Known::Unreadable,
        }
    }

    /// Whether a channel sends analog.
    pub fn sends_analog(self, channel: Ref<'v, channel::Table>) -> bool {
        self.channel(channel.id()).is_some_and(|effective| effective.sends == Known::Is(Sends::Analog))
    }
}
