//! Audience: who hears a transmission. Exact over the plan, without a model of propagation, always with a reason.
//!
//! A channel resolved to what is on the air is an [`Air`]; where a radio normally is, a [`Post`]. An [`Emission`] goes out
//! on a channel, [`View::rays`] follows it through repeaters and networks, and [`receive`] decides whether a channel of a
//! radio hears one of the rays: the checks are in one place, in the order in which a receiver makes them, and the first
//! that fails is the reason. [`Hearing`] asks for all radios of every plan at once. Rules, hovers, the matrix and the
//! comparison ask here; none of them decides by itself.
//!
//! The order of the checks follows what ETSI TS 102 361-1 and -2 say of color code, slot, address and sync pattern, and
//! TIA-603 of squelch tones; what is common practice without a source says so where it stands.

mod air;
mod answer;
mod emission;
mod fleet;
mod hearing;
mod listener;
mod path;
mod post;
mod receive;
mod relay;
mod stance;
mod station;
mod suppose;
mod words;

pub(crate) use air::air;
pub use air::{Air, Algorithm, Key, Listens, Material, Mode};
pub use emission::{Digital, Emission, Payload, Signal, Sync, Unsent};
pub use fleet::Class;
pub use hearing::{Audience, ClassAnswer, Hearing, Others};
pub use listener::Listener;
pub use path::{Leg, Ray, Rays, Refusal, WhyNotRepeated};
pub use post::{Ear, Gear, Post, Role, Status};
pub(crate) use post::{ear, home, post};
pub(crate) use receive::ANALOG_TOLERANCE;
pub use receive::{Noise, Outcome, Reason, receive};
pub(crate) use relay::relay;
pub use relay::{Relay, SentTone, SlotTerms, Wide};
pub(crate) use stance::Stances;
pub use stance::{Attending, Stance};
pub use station::StationAnswer;
pub use suppose::{Suppose, Supposed};

/// Whom a digital call is for, as it is on the air. Groups and units are numbered apart (ETSI TS 102 361-1, annex A).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Called {
    /// A talkgroup.
    Group(i64),
    /// One unit.
    Unit(i64),
    /// Every unit on the channel.
    All,
}

/// What a radio makes of a transmission, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Answer {
    /// It stands by there, or is a station that listens.
    Hears,
    /// It hears it while it scans.
    IfScanning,
    /// It would hear it on another position of its knob.
    CouldTune,
    /// Something that cannot be read, or is not written, decides.
    Unknown,
    /// The carrier opens it, not the message.
    Noise,
    /// Nothing.
    No,
}

#[cfg(test)]
mod tests;
