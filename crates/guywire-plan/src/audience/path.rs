//! The way of an emission: itself, what repeaters make of it, and what networks pass on.

use guywire_radio::Hertz;
use smallvec::SmallVec;

use super::receive::{ANALOG_TOLERANCE, DIGITAL_TOLERANCE};
use super::{Emission, Mode, Relay, Signal, Sync};
use crate::entity::EntityId;
use crate::fact::{Bucket, Fact};
use crate::value::Known;
use crate::view::View;

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
            if !is_known {
                for (there, repeater, relay) in self.repeaters_on(ray.emission.carrier, ray.emission.mode()) {
                    self.pass(there, repeater, relay, next, &mut rays);
                }
            }
            next += 1;
        }
        rays
    }

    /// Every carrier that a transmission on this one could at most be on, whatever its color code, tone and target: for those
    /// who ask first whether to follow it.
    pub fn within_reach(self, carrier: Hertz, mode: Mode) -> Vec<Hertz> {
        let mut found = vec![carrier];
        let mut next = 0;
        while let Some(carrier) = found.get(next).copied() {
            for (there, _, relay) in self.repeaters_on(carrier, mode) {
                let fellows = relay.fellows.iter().filter_map(|(_, member)| there.relay(*member));
                for output in [relay].into_iter().chain(fellows).filter_map(|relay| relay.output.value()) {
                    if !found.contains(&output) {
                        found.push(output);
                    }
                }
            }
            next += 1;
        }
        found
    }

    /// The repeaters of every plan that listen on a frequency, each with the plan that it is seen through, in no order.
    fn repeaters_on(self, carrier: Hertz, mode: Mode) -> SmallVec<[(View<'v>, EntityId, &'v Relay); 2]> {
        let tolerance = tolerance(mode);
        let mut found = SmallVec::new();
        for block in blocks(carrier, tolerance) {
            for repeater in self.alike(Bucket::RepeaterOn(block)) {
                let there = self.where_it_stands(repeater);
                let Some(relay) = there.relay(repeater) else { continue };
                if relay.input.value().is_some_and(|input| input.spacing(carrier) <= tolerance) {
                    found.push((there, repeater, relay));
                }
            }
        }
        found
    }

    fn pass(self, there: View<'v>, id: EntityId, relay: &Relay, from: usize, rays: &mut Rays) {
        let ray = rays.rays[from];
        // A repeater sends with the pattern of a base, which opens no digital repeater.
        let is_from_base = matches!(ray.emission.signal, Signal::Digital(digital) if digital.sync == Sync::Base);
        if is_from_base {
            return;
        }
        let sent = match relay.repeated(&ray.emission) {
            Ok(sent) => sent,
            Err(why) => {
                let refusal = Refusal { repeater: id, output: relay.output, why };
                if !rays.refused.contains(&refusal) {
                    rays.refused.push(refusal);
                }
                return;
            }
        };
        rays.add(sent, Leg::Repeated(id), from);
        for (network, member) in relay.fellows.iter() {
            if let Some(sent) = there.relay(*member).and_then(|other| other.passed_on(*network, &sent)) {
                rays.add(sent, Leg::Networked(*member, *network), from);
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
}

fn repeater_of(leg: Leg) -> Option<EntityId> {
    match leg {
        Leg::Bare => None,
        Leg::Repeated(repeater) | Leg::Networked(repeater, _) => Some(repeater),
    }
}

pub(super) fn tolerance(mode: Mode) -> Hertz {
    match mode {
        Mode::Digital => DIGITAL_TOLERANCE,
        Mode::Analog => ANALOG_TOLERANCE,
    }
}

/// The blocks of [`Bucket::BLOCK`] that a frequency and its surroundings stand in.
pub(super) fn blocks(carrier: Hertz, around: Hertz) -> std::ops::RangeInclusive<i64> {
    Bucket::block(carrier - around)..=Bucket::block(carrier + around)
}
