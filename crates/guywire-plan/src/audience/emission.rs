//! What goes out on a channel.

use guywire_radio::{Hertz, Tone};

use super::{Air, Called, Key, Mode};
use crate::derived::Sends;
use crate::value::Known;

/// Who a digital burst says it comes from (ETSI TS 102 361-1, clause 9.1.1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Sync {
    /// A radio, direct or towards a repeater.
    Mobile,
    /// A repeater.
    Base,
    /// A radio in TDMA direct mode, on its slot.
    TdmaDirect,
}

/// Speech, or data such as an alarm or a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Payload {
    /// Speech.
    Speech,
    /// Data.
    Data,
}

/// A digital transmission.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Digital {
    /// Where it says it comes from.
    pub sync: Sync,
    /// Color code.
    pub color_code: i64,
    /// Slot; none in plain direct mode, which carries none.
    pub slot: Option<i64>,
    /// Whom it calls.
    pub called: Called,
    /// Key; none in clear.
    pub key: Option<Key>,
    /// Speech or data.
    pub payload: Payload,
}

/// What is modulated on the carrier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Signal {
    /// DMR.
    Digital(Digital),
    /// Analog FM, with the tone or code under it.
    Analog(Option<Tone>),
}

/// A transmission of a radio, a station or a repeater.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Emission {
    /// Carrier.
    pub carrier: Hertz,
    /// Width of the channel that it is sent on.
    pub width: Hertz,
    /// What is on it.
    pub signal: Signal,
}

/// Why a channel sends nothing that could be followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unsent {
    /// It is receive only.
    ReceiveOnly,
    /// It is digital and calls nobody.
    NobodyCalled,
    /// Something that it needs is not written (a slot, a color code).
    Incomplete,
    /// Something that it needs cannot be read.
    Unreadable,
}

impl Emission {
    /// The mode.
    pub fn mode(&self) -> Mode {
        match self.signal {
            Signal::Digital(_) => Mode::Digital,
            Signal::Analog(_) => Mode::Analog,
        }
    }

    /// Whom it is for; none of analog, which is for whoever hears it.
    pub fn called(&self) -> Option<Called> {
        match self.signal {
            Signal::Digital(digital) => Some(digital.called),
            Signal::Analog(_) => None,
        }
    }

    /// The key that it is sent with; none in clear.
    pub fn key(&self) -> Option<Key> {
        match self.signal {
            Signal::Digital(digital) => digital.key,
            Signal::Analog(_) => None,
        }
    }

    /// The same without its key.
    #[must_use]
    pub fn in_clear(self) -> Emission {
        match self.signal {
            Signal::Digital(digital) => Emission { signal: Signal::Digital(Digital { key: None, ..digital }), ..self },
            Signal::Analog(_) => self,
        }
    }

    /// The same sent to another target, in speech or data.
    #[must_use]
    pub fn to(self, called: Called, payload: Payload) -> Emission {
        match self.signal {
            Signal::Digital(digital) => {
                Emission { signal: Signal::Digital(Digital { called, payload, ..digital }), ..self }
            }
            Signal::Analog(_) => self,
        }
    }
}

impl Air {
    /// What push-to-talk sends here.
    ///
    /// # Errors
    /// [`Unsent`], where it sends nothing or nothing that can be followed.
    pub fn push_to_talk(&self) -> Result<Emission, Unsent> {
        let called = match (self.sends, self.call) {
            (Known::Is(Sends::Digital), Known::Absent) => return Err(Unsent::NobodyCalled),
            (Known::Is(Sends::Digital), called) => called,
            _ => Known::Is(Called::All),
        };
        self.sent(need(called)?, Payload::Speech)
    }

    /// A call to `called` from here, whatever push-to-talk is set to call.
    ///
    /// # Errors
    /// [`Unsent`], where it sends nothing or nothing that can be followed.
    pub fn sent(&self, called: Called, payload: Payload) -> Result<Emission, Unsent> {
        let signal = match need(self.sends)? {
            Sends::Nothing => return Err(Unsent::ReceiveOnly),
            Sends::Analog => Signal::Analog(maybe(self.tx_tone)?),
            Sends::Digital => Signal::Digital(self.digital(called, payload)?),
        };
        Ok(Emission { carrier: need(self.tx)?, width: need(self.width)?, signal })
    }

    fn digital(&self, called: Called, payload: Payload) -> Result<Digital, Unsent> {
        let is_tdma_direct = need(self.tdma_direct)?;
        // Towards a repeater the slot is the repeater's; direct, only TDMA direct mode has any (ETSI TS 102 361-2, 6.2).
        let has_slot = is_tdma_direct || !self.is_simplex();
        let slot = if has_slot { Some(need(self.slot)?) } else { None };
        Ok(Digital {
            sync: if is_tdma_direct { Sync::TdmaDirect } else { Sync::Mobile },
            color_code: need(self.color_code)?,
            slot,
            called,
            key: maybe(self.key)?,
            payload,
        })
    }
}

fn need<T>(value: Known<T>) -> Result<T, Unsent> {
    match value {
        Known::Is(value) => Ok(value),
        Known::Absent => Err(Unsent::Incomplete),
        Known::Unreadable => Err(Unsent::Unreadable),
    }
}

fn maybe<T>(value: Known<T>) -> Result<Option<T>, Unsent> {
    match value {
        Known::Is(value) => Ok(Some(value)),
        Known::Absent => Ok(None),
        Known::Unreadable => Err(Unsent::Unreadable),
    }
}
