//! The way of an emission: itself, what repeaters make of it, and what networks pass on.

use guywire_radio::Hertz;
use smallvec::SmallVec;

use super::receive::{ANALOG_TOLERANCE, DIGITAL_TOLERANCE};
use super::{Called, Digital, Emission, Mode, Payload, Signal, Sync};
use crate::entity::EntityId;
use crate::fact::{Bucket, Fact};
use crate::language::{network, repeater, repeater__slot, talkgroup};
use crate::value::{Known, Part, Row, Stored};
use crate::view::{Ref, View};

/// How a ray came to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leg {
    /// Straight from the sender.
    Bare,
    /// Out of a repeater that heard it.
    Repeated(EntityId),
    /// Out of a repeater to which a network passed it; and the network.
    Networked(EntityId, EntityId),
}

/// One carrier that a transmission is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ray {
    /// What is on the air.
    pub emission: Emission,
    /// How it came to be.
    pub leg: Leg,
    /// The number of the ray that it was made from; none for the sender's own.
    pub from: Option<usize>,
}

/// Why a repeater on the frequency does not repeat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WhyNotRepeated {
    /// It repeats the other mode only.
    Mode,
    /// TDMA direct mode does not open a repeater (ETSI TS 102 361-1, clause 9.1.1).
    Direct,
    /// Another color code.
    ColorCode {
        /// What was sent.
        sent: i64,
        /// What opens it.
        wanted: i64,
    },
    /// None of its tones.
    Tone,
    /// The slot takes listed talkgroups only.
    NotListed,
    /// The slot takes no individual calls, no all call, or no data.
    Barred,
    /// Something about it cannot be read.
    Unknown,
}

/// A repeater on the frequency that does not repeat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Refusal {
    /// The repeater.
    pub repeater: EntityId,
    /// What it would send on.
    pub output: Known<Hertz>,
    /// Why not.
    pub why: WhyNotRepeated,
}

/// Everything that one transmission becomes.
#[derive(Debug, Clone, PartialEq)]
pub struct Rays {
    /// The sender's own first, then each carrier once for every repeater that sends it.
    pub rays: SmallVec<[Ray; 3]>,
    /// Repeaters on the frequency that do not repeat it.
    pub refused: Vec<Refusal>,
    /// Repeaters that hear what they themselves caused, and those on the way.
    pub loops: Vec<EntityId>,
}

impl Rays {
    /// Adds a carrier of a repeater, once. One that comes back to where it came from is no new one: it closes a loop.
    fn add(&mut self, emission: Emission, leg: Leg, from: usize) {
        let way = self.way(from);
        let known = self.rays.iter().position(|ray| ray.emission == emission);
        let repeater = repeater_of(leg);
        let is_again = repeater.is_some_and(|it| way.iter().any(|at| repeater_of(self.rays[*at].leg) == Some(it)));
        if is_again || known.is_some_and(|known| way.contains(&known)) {
            let on_the_way = way.iter().filter_map(|at| repeater_of(self.rays[*at].leg)).chain(repeater);
            for repeater in on_the_way.collect::<Vec<_>>() {
                if !self.loops.contains(&repeater) {
                    self.loops.push(repeater);
                }
            }
            return;
        }
        if !self.rays.iter().any(|ray| ray.emission == emission && ray.leg == leg) {
            self.rays.push(Ray { emission, leg, from: Some(from) });
        }
    }

    /// The rays from which one came, itself first.
    fn way(&self, from: usize) -> Vec<usize> {
        std::iter::successors(Some(from), |at| self.rays[*at].from).collect()
    }

    /// The repeaters that heard the sender itself.
    pub fn opened(&self) -> impl Iterator<Item = EntityId> + '_ {
        self.rays.iter().filter(|ray| ray.from == Some(0)).filter_map(|ray| match ray.leg {
            Leg::Repeated(repeater) => Some(repeater),
            Leg::Bare | Leg::Networked(..) => None,
        })
    }
}

impl<'v> View<'v> {
    /// What a transmission becomes, over the repeaters and networks of every plan.
    pub fn rays(self, emission: &Emission) -> Rays {
        let mut rays = Rays {
            rays: SmallVec::from_slice(&[Ray { emission: *emission, leg: Leg::Bare, from: None }]),
            refused: Vec::new(),
            loops: Vec::new(),
        };
        let mut next = 0;
        while let Some(ray) = rays.rays.get(next).copied() {
            // What is on the air already goes no further a second time.
            let is_known = rays.rays[..next].iter().any(|before| before.emission == ray.emission);
            for repeater in
                self.repeaters_on(ray.emission.carrier, ray.emission.mode()).into_iter().filter(|_| !is_known)
            {
                self.pass(repeater, next, &mut rays);
            }
            next += 1;
        }
        rays
    }

    /// The repeaters of every plan that listen on a frequency, in no order.
    fn repeaters_on(self, carrier: Hertz, mode: Mode) -> Vec<EntityId> {
        let tolerance = tolerance(mode);
        let mut found: Vec<EntityId> = Vec::new();
        for block in blocks(carrier, tolerance) {
            for repeater in self.alike(Bucket::RepeaterOn(block)) {
                let input = self.known(repeater, repeater::rx_mhz);
                let is_on = matches!(input, Known::Is(Stored::Frequency(input) | Stored::Rounded(input))
                    if input.spacing(carrier) <= tolerance);
                if is_on && !found.contains(&repeater) {
                    found.push(repeater);
                }
            }
        }
        found
    }

    fn pass(self, id: EntityId, from: usize, rays: &mut Rays) {
        let ray = rays.rays[from];
        // A repeater sends with the pattern of a base, which opens no digital repeater.
        let is_from_base = matches!(ray.emission.signal, Signal::Digital(digital) if digital.sync == Sync::Base);
        if is_from_base {
            return;
        }
        let there = self.where_it_stands(id);
        let Some(it) = there.get::<repeater::Table>(id) else { return };
        let sent = match there.repeated(it, &ray.emission) {
            Ok(sent) => sent,
            Err(why) => {
                let refusal = Refusal { repeater: id, output: it.frequency(repeater::tx_mhz), why };
                if !rays.refused.contains(&refusal) {
                    rays.refused.push(refusal);
                }
                return;
            }
        };
        rays.add(sent, Leg::Repeated(id), from);
        for (network, member) in there.fellows(it) {
            if let Some(member) = there.get::<repeater::Table>(member)
                && let Some(sent) = there.networked(network, member, &sent)
            {
                rays.add(sent, Leg::Networked(member.id(), network.id()), from);
            }
        }
    }

    /// A repeater as a plan that sees it has it: this one, else its own file, else the first by path.
    fn where_it_stands(self, id: EntityId) -> View<'v> {
        let Some(file) = self.file_of(id) else { return self };
        let viewers = self.viewers_of(file);
        if viewers.contains(&self.viewer) {
            return self;
        }
        let first = viewers.into_iter().min_by(|a, b| self.path(*a).cmp(self.path(*b)));
        View { viewer: first.unwrap_or(file), ..self }
    }

    /// The plans that see a file.
    pub(crate) fn viewers_of(self, file: guywire_text::FileId) -> Vec<guywire_text::FileId> {
        self.reads.fact(Fact::Seers(file));
        self.reads.fact(Fact::Main(file));
        self.db.viewers(file)
    }

    /// What a repeater makes of what it hears on its input.
    fn repeated(self, it: Ref<'v, repeater::Table>, heard: &Emission) -> Result<Emission, WhyNotRepeated> {
        let mode = known(it.text(repeater::mode).map(|word| self.symbol(word)).or_value("digital"))?;
        let fits = match heard.mode() {
            Mode::Digital => mode != "analog",
            Mode::Analog => mode != "digital",
        };
        if !fits {
            return Err(WhyNotRepeated::Mode);
        }
        let signal = match heard.signal {
            Signal::Digital(digital) => Signal::Digital(self.repeated_digital(it, digital)?),
            Signal::Analog(tone) => {
                let opens = known(self.tones(it, repeater::input_tones).or_value(Vec::new()))?;
                if !opens.is_empty() && !tone.is_some_and(|tone| opens.iter().any(|wanted| tone.opens(*wanted))) {
                    return Err(WhyNotRepeated::Tone);
                }
                Signal::Analog(self.output_tone(it, tone)?)
            }
        };
        Ok(Emission {
            carrier: known(it.frequency(repeater::tx_mhz))?,
            width: known(it.frequency(repeater::bandwidth_khz).or_value(Hertz(12_500)))?,
            signal,
        })
    }

    fn output_tone(
        self,
        it: Ref<'v, repeater::Table>,
        heard: Option<guywire_radio::Tone>,
    ) -> Result<Option<guywire_radio::Tone>, WhyNotRepeated> {
        match it.text(repeater::output_tone).map(|word| self.symbol(word)) {
            Known::Is("none") | Known::Absent => Ok(None),
            Known::Is("same-as-input") => Ok(heard),
            Known::Is(text) => text.parse().map(Some).map_err(|_| WhyNotRepeated::Unknown),
            Known::Unreadable => Err(WhyNotRepeated::Unknown),
        }
    }

    fn repeated_digital(self, it: Ref<'v, repeater::Table>, heard: Digital) -> Result<Digital, WhyNotRepeated> {
        if heard.sync == Sync::TdmaDirect {
            return Err(WhyNotRepeated::Direct);
        }
        let (sent, wanted) = (heard.color_code, known(it.whole(repeater::color_code))?);
        if sent != wanted && sent != 15 && wanted != 15 {
            return Err(WhyNotRepeated::ColorCode { sent, wanted });
        }
        if let Some(slot) = heard.slot {
            self.let_through(it, slot, heard)?;
        }
        Ok(Digital { sync: Sync::Base, color_code: wanted, ..heard })
    }

    /// Whether a slot takes a call. What is not written passes.
    fn let_through(self, it: Ref<'v, repeater::Table>, slot: i64, heard: Digital) -> Result<(), WhyNotRepeated> {
        let field = if slot == 1 { repeater::slot_1 } else { repeater::slot_2 };
        let part = match self.known(it.id(), field) {
            Known::Is(Stored::Part(record)) => Part::<repeater__slot::Table>::new(record),
            Known::Is(_) | Known::Absent => return Ok(()),
            Known::Unreadable => return Err(WhyNotRepeated::Unknown),
        };
        let passes = |field| known(part.truth(field).or_value(true));
        let may = match (heard.payload, heard.called) {
            (Payload::Data, _) => passes(repeater__slot::data)?,
            (_, Called::Unit(_)) => passes(repeater__slot::individual)?,
            (_, Called::All) => passes(repeater__slot::all_call)?,
            (Payload::Speech, Called::Group(_)) => true,
        };
        if !may {
            return Err(WhyNotRepeated::Barred);
        }
        let Called::Group(group) = heard.called else { return Ok(()) };
        if !known(part.truth(repeater__slot::only_listed).or_value(false))? {
            return Ok(());
        }
        let listed = match self.listed_numbers(it, slot) {
            Known::Is(listed) => listed,
            Known::Absent => Vec::new(),
            Known::Unreadable => return Err(WhyNotRepeated::Unknown),
        };
        if listed.contains(&group) || self.is_wide_anywhere(it, group, slot) {
            return Ok(());
        }
        Err(WhyNotRepeated::NotListed)
    }

    /// The numbers of the talkgroups that a slot is written to carry.
    fn listed_numbers(self, it: Ref<'v, repeater::Table>, slot: i64) -> Known<Vec<i64>> {
        let carried = match self.carried(it, slot) {
            Known::Is(carried) => carried,
            Known::Absent => return Known::Absent,
            Known::Unreadable => return Known::Unreadable,
        };
        let numbers = carried.listed.iter().map(|(group, _)| self.group_number(*group));
        numbers.collect::<Option<Vec<i64>>>().map_or(Known::Unreadable, Known::Is)
    }

    fn group_number(self, group: EntityId) -> Option<i64> {
        self.get::<talkgroup::Table>(group)?.whole(talkgroup::id).value()
    }

    fn is_wide_anywhere(self, it: Ref<'v, repeater::Table>, group: i64, slot: i64) -> bool {
        self.referrers::<network::Table>(it.id()).into_iter().any(|network| self.is_wide(network, group, slot))
    }

    fn is_wide(self, network: Ref<'v, network::Table>, group: i64, slot: i64) -> bool {
        let Known::Is(wide) = self.wide(network) else { return false };
        wide.iter().any(|(entity, on, _)| on.is_none_or(|on| on == slot) && self.group_number(*entity) == Some(group))
    }

    /// The other members of the networks that a repeater belongs to.
    fn fellows(self, it: Ref<'v, repeater::Table>) -> Vec<(Ref<'v, network::Table>, EntityId)> {
        let mut fellows = Vec::new();
        for network in self.referrers::<network::Table>(it.id()) {
            let Known::Is(members) = self.named_all::<repeater::Table, _>(network, network::repeaters) else {
                continue;
            };
            fellows.extend(members.iter().filter(|member| member.id() != it.id()).map(|member| (network, member.id())));
        }
        fellows
    }

    /// What a member sends of what another member repeats: a talkgroup that it carries on that slot.
    fn networked(
        self,
        network: Ref<'v, network::Table>,
        member: Ref<'v, repeater::Table>,
        sent: &Emission,
    ) -> Option<Emission> {
        let carrier = member.frequency(repeater::tx_mhz).value()?;
        let width = member.frequency(repeater::bandwidth_khz).or_value(Hertz(12_500)).value()?;
        let mode = member.text(repeater::mode).map(|word| self.symbol(word)).or_value("digital").value()?;
        let signal = match sent.signal {
            Signal::Analog(tone) if mode != "digital" => Signal::Analog(self.output_tone(member, tone).ok()?),
            Signal::Digital(digital) if mode != "analog" => {
                let Called::Group(group) = digital.called else { return None };
                let slot = digital.slot?;
                let lists = matches!(self.listed_numbers(member, slot), Known::Is(listed) if listed.contains(&group));
                if !lists && !self.is_wide(network, group, slot) {
                    return None;
                }
                Signal::Digital(Digital { color_code: member.whole(repeater::color_code).value()?, ..digital })
            }
            _ => return None,
        };
        Some(Emission { carrier, width, signal })
    }
}

fn repeater_of(leg: Leg) -> Option<EntityId> {
    match leg {
        Leg::Bare => None,
        Leg::Repeated(repeater) | Leg::Networked(repeater, _) => Some(repeater),
    }
}

fn known<T>(value: Known<T>) -> Result<T, WhyNotRepeated> {
    value.value().ok_or(WhyNotRepeated::Unknown)
}

fn tolerance(mode: Mode) -> Hertz {
    match mode {
        Mode::Digital => DIGITAL_TOLERANCE,
        Mode::Analog => ANALOG_TOLERANCE,
    }
}

/// The blocks of [`Bucket::BLOCK`] that a frequency and its surroundings stand in.
pub(super) fn blocks(carrier: Hertz, around: Hertz) -> std::ops::RangeInclusive<i64> {
    Bucket::block(carrier - around)..=Bucket::block(carrier + around)
}
