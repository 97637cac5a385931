//! A repeater resolved to what is on the air, and what it makes of a call.

use std::sync::Arc;

use guywire_radio::{Hertz, Tone};

use super::{Called, Digital, Emission, Mode, Payload, Signal, Sync, WhyNotRepeated};
use crate::entity::EntityId;
use crate::language::{network, repeater, repeater__slot, talkgroup};
use crate::value::{Known, Part, Row, Stored};
use crate::view::{Ref, View};

/// A repeater. What cannot be read is unreadable here too.
#[derive(Debug, Clone, PartialEq)]
pub struct Relay {
    /// What it hears on.
    pub input: Known<Hertz>,
    /// What it sends on.
    pub output: Known<Hertz>,
    /// Width of its channel.
    pub width: Known<Hertz>,
    /// It repeats digital.
    pub digital: Known<bool>,
    /// It repeats analog.
    pub analog: Known<bool>,
    /// Color code that opens it and that it sends.
    pub color_code: Known<i64>,
    /// Tones that open it; none: any carrier does.
    pub opened_by: Known<Arc<[Tone]>>,
    /// The tone that it sends.
    pub sends_tone: Known<SentTone>,
    /// What its slots take, slot 1 first.
    pub slots: [Known<SlotTerms>; 2],
    /// The other members of its networks, each with the network.
    pub fellows: Arc<[(EntityId, EntityId)]>,
    /// What its networks pass everywhere.
    pub wide: Arc<[Wide]>,
}

/// The tone that a repeater sends with analog.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SentTone {
    /// None.
    None,
    /// What it was opened with.
    AsHeard,
    /// This one.
    Own(Tone),
}

/// What a slot takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SlotTerms {
    /// Numbers of its talkgroups; absent: none are written.
    pub listed: Known<Arc<[i64]>>,
    /// It takes no others.
    pub only_listed: bool,
    /// It takes individual calls.
    pub individual: bool,
    /// It takes the all call.
    pub all_call: bool,
    /// It takes data.
    pub data: bool,
}

/// A talkgroup that a network passes everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wide {
    /// The network.
    pub network: EntityId,
    /// Its number.
    pub group: i64,
    /// Its slot; none: either.
    pub slot: Option<i64>,
}

/// Computes what a repeater is on the air.
pub(crate) fn relay(view: View<'_>, it: Ref<'_, repeater::Table>) -> Relay {
    let mode = it.text(repeater::mode).map(|word| view.symbol(word)).or_value("digital");
    let sends_tone = match it.text(repeater::output_tone).map(|word| view.symbol(word)) {
        Known::Is("none") | Known::Absent => Known::Is(SentTone::None),
        Known::Is("same-as-input") => Known::Is(SentTone::AsHeard),
        Known::Is(text) => text.parse().map_or(Known::Unreadable, |tone| Known::Is(SentTone::Own(tone))),
        Known::Unreadable => Known::Unreadable,
    };
    let networks = view.referrers::<network::Table>(it.id());
    Relay {
        input: it.frequency(repeater::rx_mhz),
        output: it.frequency(repeater::tx_mhz),
        width: it.frequency(repeater::bandwidth_khz).or_value(Hertz(12_500)),
        digital: mode.map(|mode| mode != "analog"),
        analog: mode.map(|mode| mode != "digital"),
        color_code: it.whole(repeater::color_code),
        opened_by: view.tones(it, repeater::input_tones).or_value(Vec::new()).map(Into::into),
        sends_tone,
        slots: [slot_terms(view, it, 1), slot_terms(view, it, 2)],
        fellows: networks.iter().flat_map(|network| fellows(view, it, *network)).collect(),
        wide: networks.iter().flat_map(|network| wide(view, *network)).collect(),
    }
}

fn fellows<'v>(
    view: View<'v>,
    it: Ref<'v, repeater::Table>,
    network: Ref<'v, network::Table>,
) -> Vec<(EntityId, EntityId)> {
    let Known::Is(members) = view.named_all::<repeater::Table, _>(network, network::repeaters) else {
        return Vec::new();
    };
    let others = members.iter().filter(|member| member.id() != it.id());
    others.map(|member| (network.id(), member.id())).collect()
}

fn wide<'v>(view: View<'v>, network: Ref<'v, network::Table>) -> Vec<Wide> {
    let Known::Is(wide) = view.wide(network) else { return Vec::new() };
    let numbered = wide
        .iter()
        .filter_map(|(group, slot, _)| Some(Wide { network: network.id(), group: number(view, *group)?, slot: *slot }));
    numbered.collect()
}

fn number(view: View<'_>, group: EntityId) -> Option<i64> {
    view.get::<talkgroup::Table>(group)?.whole(talkgroup::id).value()
}

/// What a slot takes; what is not written passes.
fn slot_terms(view: View<'_>, it: Ref<'_, repeater::Table>, slot: i64) -> Known<SlotTerms> {
    let listed = match view.carried(it, slot) {
        Known::Is(carried) => {
            let numbers = carried.listed.iter().map(|(group, _)| number(view, *group));
            numbers.collect::<Option<Vec<i64>>>().map_or(Known::Unreadable, |numbers| Known::Is(numbers.into()))
        }
        Known::Absent => Known::Absent,
        Known::Unreadable => Known::Unreadable,
    };
    let field = if slot == 1 { repeater::slot_1 } else { repeater::slot_2 };
    let mut terms = SlotTerms { listed, only_listed: false, individual: true, all_call: true, data: true };
    let part = match view.known(it.id(), field) {
        Known::Is(Stored::Part(record)) => Part::<repeater__slot::Table>::new(record),
        Known::Is(_) | Known::Absent => return Known::Is(terms),
        Known::Unreadable => return Known::Unreadable,
    };
    for (field, held) in [
        (repeater__slot::only_listed, &mut terms.only_listed),
        (repeater__slot::individual, &mut terms.individual),
        (repeater__slot::all_call, &mut terms.all_call),
        (repeater__slot::data, &mut terms.data),
    ] {
        match part.truth(field) {
            Known::Is(truth) => *held = truth,
            Known::Absent => {}
            Known::Unreadable => return Known::Unreadable,
        }
    }
    Known::Is(terms)
}

impl Relay {
    /// What it makes of what it hears on its input.
    ///
    /// # Errors
    /// Why it repeats nothing.
    pub fn repeated(&self, heard: &Emission) -> Result<Emission, WhyNotRepeated> {
        let fits = match heard.mode() {
            Mode::Digital => self.digital,
            Mode::Analog => self.analog,
        };
        if !known(fits)? {
            return Err(WhyNotRepeated::Mode);
        }
        let signal = match heard.signal {
            Signal::Digital(digital) => Signal::Digital(self.repeated_digital(digital)?),
            Signal::Analog(tone) => {
                let Known::Is(opened_by) = &self.opened_by else { return Err(WhyNotRepeated::Unknown) };
                let opens = |tone: Tone| opened_by.iter().any(|wanted| tone.opens(*wanted));
                if !opened_by.is_empty() && !tone.is_some_and(opens) {
                    return Err(WhyNotRepeated::Tone);
                }
                Signal::Analog(self.tone(tone)?)
            }
        };
        Ok(Emission { carrier: known(self.output)?, width: known(self.width)?, signal })
    }

    fn tone(&self, heard: Option<Tone>) -> Result<Option<Tone>, WhyNotRepeated> {
        Ok(match known(self.sends_tone)? {
            SentTone::None => None,
            SentTone::AsHeard => heard,
            SentTone::Own(tone) => Some(tone),
        })
    }

    fn repeated_digital(&self, heard: Digital) -> Result<Digital, WhyNotRepeated> {
        if heard.sync == Sync::TdmaDirect {
            return Err(WhyNotRepeated::Direct);
        }
        let (sent, wanted) = (heard.color_code, known(self.color_code)?);
        if sent != wanted && sent != 15 && wanted != 15 {
            return Err(WhyNotRepeated::ColorCode { sent, wanted });
        }
        if let Some(slot) = heard.slot {
            self.let_through(slot, heard)?;
        }
        Ok(Digital { sync: Sync::Base, color_code: wanted, ..heard })
    }

    fn terms(&self, slot: i64) -> Result<&SlotTerms, WhyNotRepeated> {
        match &self.slots[usize::from(slot != 1)] {
            Known::Is(terms) => Ok(terms),
            Known::Absent | Known::Unreadable => Err(WhyNotRepeated::Unknown),
        }
    }

    fn let_through(&self, slot: i64, heard: Digital) -> Result<(), WhyNotRepeated> {
        let terms = self.terms(slot)?;
        let may = match (heard.payload, heard.called) {
            (Payload::Data, _) => terms.data,
            (Payload::Speech, Called::Unit(_)) => terms.individual,
            (Payload::Speech, Called::All) => terms.all_call,
            (Payload::Speech, Called::Group(_)) => true,
        };
        if !may {
            return Err(WhyNotRepeated::Barred);
        }
        let Called::Group(group) = heard.called else { return Ok(()) };
        if !terms.only_listed {
            return Ok(());
        }
        let listed = match &terms.listed {
            Known::Is(listed) => listed.contains(&group),
            Known::Absent => false,
            Known::Unreadable => return Err(WhyNotRepeated::Unknown),
        };
        let wide = || self.wide.iter().any(|wide| wide.group == group && wide.slot.is_none_or(|on| on == slot));
        if listed || wide() { Ok(()) } else { Err(WhyNotRepeated::NotListed) }
    }

    /// What it sends of what another member of a network repeats: a talkgroup that it carries on that slot, and analog.
    pub fn passed_on(&self, network: EntityId, sent: &Emission) -> Option<Emission> {
        let signal = match sent.signal {
            Signal::Analog(tone) if self.analog == Known::Is(true) => Signal::Analog(self.tone(tone).ok()?),
            Signal::Digital(digital) if self.digital == Known::Is(true) => {
                let Called::Group(group) = digital.called else { return None };
                let slot = digital.slot?;
                let is_wide = |wide: &Wide| {
                    wide.network == network && wide.group == group && wide.slot.is_none_or(|on| on == slot)
                };
                let lists = matches!(&self.terms(slot).ok()?.listed, Known::Is(listed) if listed.contains(&group));
                if !lists && !self.wide.iter().any(is_wide) {
                    return None;
                }
                Signal::Digital(Digital { color_code: self.color_code.value()?, ..digital })
            }
            _ => return None,
        };
        Some(Emission { carrier: self.output.value()?, width: self.width.value()?, signal })
    }
}

fn known<T>(value: Known<T>) -> Result<T, WhyNotRepeated> {
    value.value().ok_or(WhyNotRepeated::Unknown)
}
