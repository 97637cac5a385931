//! Whether a channel of a radio hears a ray. The one place where that is decided.

use guywire_radio::{Hertz, Tone};

use super::{Air, Algorithm, Called, Digital, Emission, Gear, Key, Listens, Mode, Signal, Sync};
use crate::value::Known;

/// How far a digital receiver may be off (common practice, no source).
pub const DIGITAL_TOLERANCE: Hertz = Hertz(500);
/// How far an analog receiver may be off (common practice, no source).
pub const ANALOG_TOLERANCE: Hertz = Hertz(1_000);

/// What a receiver makes of a ray.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Outcome {
    /// The message is heard.
    Heard,
    /// The carrier opens the loudspeaker, and what comes out is not the message.
    Noise(Noise),
    /// Nothing, and the first reason why.
    No(Reason),
    /// Something that cannot be read, or is not written, decides.
    Unknown,
}

/// What is heard in place of a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Noise {
    /// A wide signal in a narrow receiver: distorted.
    TooWide,
    /// A call under a key number that is known, with other material: garbled.
    OtherMaterial,
    /// Digital in an analog receiver that any carrier opens: a buzz.
    DigitalIntoAnalog,
}

/// The first check that fails, in the order in which they are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Reason {
    /// It receives on no such frequency.
    Frequency,
    /// It does not hear that mode.
    Mode,
    /// It is set to the other kind of direct mode, or hears repeaters only.
    Sync {
        /// What was sent.
        sent: Sync,
    },
    /// Another color code.
    ColorCode {
        /// What was sent.
        sent: i64,
        /// What it waits for.
        wanted: i64,
    },
    /// The other slot.
    Slot {
        /// What was sent.
        sent: i64,
        /// What it listens to.
        wanted: i64,
    },
    /// A group that it does not listen for.
    Group {
        /// The talkgroup's number.
        sent: i64,
    },
    /// A call to another unit.
    Unit {
        /// The unit that is called.
        sent: i64,
    },
    /// It takes no clear calls.
    Clear,
    /// It has no key of that number.
    Key,
    /// It waits for another tone, or for one at all.
    Tone,
}

/// What a channel set to `air`, in a radio with `gear`, makes of `ray`. `is_called` says whether the radio has the unit id
/// that an individual call goes to.
pub fn receive(ray: &Emission, air: &Air, gear: &Gear, is_called: bool) -> Outcome {
    match checked(ray, air, gear, is_called) {
        Ok(()) => Outcome::Heard,
        Err(outcome) => outcome,
    }
}

fn checked(ray: &Emission, air: &Air, gear: &Gear, is_called: bool) -> Result<(), Outcome> {
    frequency(ray, air)?;
    mode(ray, air)?;
    width(ray, air)?;
    match &ray.signal {
        Signal::Digital(digital) => {
            sync(digital, air, gear)?;
            color_code(digital, air)?;
            slot(digital, air)?;
            called(digital, air, gear, is_called)?;
            privacy(digital, air, gear)
        }
        Signal::Analog(tone) => squelch(*tone, air),
    }
}

/// The value, where one is written that can be read.
fn need<T>(value: Known<T>) -> Result<T, Outcome> {
    value.value().ok_or(Outcome::Unknown)
}

fn no(reason: Reason) -> Result<(), Outcome> {
    Err(Outcome::No(reason))
}

fn frequency(ray: &Emission, air: &Air) -> Result<(), Outcome> {
    let tolerance = match ray.mode() {
        Mode::Digital => DIGITAL_TOLERANCE,
        Mode::Analog => ANALOG_TOLERANCE,
    };
    match need(air.rx)?.spacing(ray.carrier) <= tolerance {
        true => Ok(()),
        false => no(Reason::Frequency),
    }
}

fn mode(ray: &Emission, air: &Air) -> Result<(), Outcome> {
    if need(air.hears(ray.mode()))? {
        return Ok(());
    }
    let is_open_analog = need(air.hears(Mode::Analog))? && air.rx_tone == Known::Absent;
    if ray.mode() == Mode::Digital && is_open_analog {
        return Err(Outcome::Noise(Noise::DigitalIntoAnalog));
    }
    no(Reason::Mode)
}

/// Digital has one width (ETSI TS 102 361-1, clause 4.1), so this is a matter of analog.
fn width(ray: &Emission, air: &Air) -> Result<(), Outcome> {
    if ray.mode() == Mode::Analog && ray.width > need(air.width)? {
        return Err(Outcome::Noise(Noise::TooWide));
    }
    Ok(())
}

/// A repeater channel waits for the repeater's sync pattern; whether it hears radios nearby that send direct is a matter
/// of the model. A direct channel hears both (common practice, no source). TDMA direct mode has patterns of its own
/// (ETSI TS 102 361-1, clause 9.1.1).
fn sync(digital: &Digital, air: &Air, gear: &Gear) -> Result<(), Outcome> {
    let is_tdma_direct = need(air.tdma_direct)?;
    let fits = match digital.sync {
        Sync::TdmaDirect => is_tdma_direct,
        Sync::Base => !is_tdma_direct,
        Sync::Mobile if is_tdma_direct => false,
        Sync::Mobile => air.is_simplex() || air.tx == Known::Absent || need(gear.hears_direct)?,
    };
    if fits { Ok(()) } else { no(Reason::Sync { sent: digital.sync }) }
}

fn color_code(digital: &Digital, air: &Air) -> Result<(), Outcome> {
    let (sent, wanted) = (digital.color_code, need(air.color_code)?);
    // 15 is for all sites in trunked systems (ETSI TS 102 361-4, from memory): it may match.
    if sent == wanted || sent == 15 || wanted == 15 {
        return Ok(());
    }
    no(Reason::ColorCode { sent, wanted })
}

fn slot(digital: &Digital, air: &Air) -> Result<(), Outcome> {
    // A radio that sends direct on a repeater's frequency keeps no slot that others could tell (common practice).
    let Some(sent) = digital.slot.filter(|_| digital.sync != Sync::Mobile) else { return Ok(()) };
    if need(air.listens)? == Listens::BothSlots {
        return Ok(());
    }
    let is_plain_direct = air.is_simplex() && air.tdma_direct == Known::Is(false) && air.slot == Known::Absent;
    if is_plain_direct {
        return Ok(());
    }
    let wanted = need(air.slot)?;
    if sent == wanted { Ok(()) } else { no(Reason::Slot { sent, wanted }) }
}

fn called(digital: &Digital, air: &Air, gear: &Gear, is_called: bool) -> Result<(), Outcome> {
    match digital.called {
        Called::All => Ok(()),
        Called::Unit(_) if is_called => Ok(()),
        Called::Unit(sent) => no(Reason::Unit { sent }),
        Called::Group(sent) => group(sent, air, gear),
    }
}

fn group(sent: i64, air: &Air, gear: &Gear) -> Result<(), Outcome> {
    if need(air.listens)? != Listens::OwnGroups {
        return Ok(());
    }
    let is_member = match &air.groups {
        Known::Is(groups) => groups.binary_search(&sent).is_ok(),
        Known::Absent => false,
        Known::Unreadable => return Err(Outcome::Unknown),
    };
    if is_member {
        return Ok(());
    }
    match air.call {
        Known::Is(Called::Group(own)) if own == sent => match need(gear.hears_own_talkgroup)? {
            true => Ok(()),
            false => no(Reason::Group { sent }),
        },
        Known::Unreadable => Err(Outcome::Unknown),
        Known::Is(_) | Known::Absent => no(Reason::Group { sent }),
    }
}

fn privacy(digital: &Digital, air: &Air, gear: &Gear) -> Result<(), Outcome> {
    let Some(sent) = digital.key else {
        return if need(air.receive_clear)? { Ok(()) } else { no(Reason::Clear) };
    };
    if sent.algorithm == Some(Algorithm::FixedScramble) {
        // No number is on the air: the receiver takes its own channel's key, whichever it is.
        return match air.key {
            Known::Is(own) if own.algorithm != sent.algorithm => no(Reason::Key),
            Known::Is(own) if own.material.same(sent.material) => Ok(()),
            Known::Is(_) => Err(Outcome::Noise(Noise::OtherMaterial)),
            Known::Absent => Err(Outcome::Noise(Noise::OtherMaterial)),
            Known::Unreadable => Err(Outcome::Unknown),
        };
    }
    let looked_at = gear.keys_for(air).ok_or(Outcome::Unknown)?;
    let of_number = |key: &&Key| key.algorithm == sent.algorithm && key.id == sent.id;
    if looked_at.iter().filter(of_number).any(|key| key.material.same(sent.material)) {
        return Ok(());
    }
    match looked_at.iter().any(|key| of_number(&key)) {
        true => Err(Outcome::Noise(Noise::OtherMaterial)),
        false => no(Reason::Key),
    }
}

fn squelch(sent: Option<Tone>, air: &Air) -> Result<(), Outcome> {
    match air.rx_tone {
        Known::Absent => Ok(()),
        Known::Is(wanted) if sent.is_some_and(|sent| sent.opens(wanted)) => Ok(()),
        Known::Is(_) => no(Reason::Tone),
        Known::Unreadable => Err(Outcome::Unknown),
    }
}

impl Outcome {
    /// How far a ray came: the later the check that fails, the greater.
    pub fn depth(self) -> u8 {
        match self {
            Outcome::Heard => 12,
            Outcome::Unknown => 0,
            Outcome::Noise(Noise::DigitalIntoAnalog) => 2,
            Outcome::Noise(Noise::TooWide) => 3,
            Outcome::Noise(Noise::OtherMaterial) => 10,
            Outcome::No(reason) => reason.stage(),
        }
    }
}

impl Reason {
    fn stage(self) -> u8 {
        match self {
            Reason::Frequency => 1,
            Reason::Mode => 2,
            Reason::Sync { .. } => 4,
            Reason::ColorCode { .. } => 5,
            Reason::Slot { .. } => 6,
            Reason::Group { .. } | Reason::Unit { .. } => 7,
            Reason::Clear => 8,
            Reason::Key => 9,
            Reason::Tone => 11,
        }
    }
}
