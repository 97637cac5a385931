//! Reasons in the words of the trade, one wording for findings, hovers and reports.

use super::{Mode, Noise, Outcome, Reason, Sync, WhyNotRepeated};

impl Mode {
    /// As it is written in a plan.
    pub const fn word(self) -> &'static str {
        match self {
            Mode::Digital => "digital",
            Mode::Analog => "analog",
        }
    }
}

impl Outcome {
    /// What it comes to, to stand after the name of a radio or channel. None where the message is heard.
    pub fn words(self) -> Option<String> {
        match self {
            Outcome::Heard => None,
            Outcome::Noise(noise) => Some(noise.words().to_owned()),
            Outcome::No(reason) => Some(reason.words()),
            Outcome::Unknown => {
                Some("cannot be told: something that decides is not written or cannot be read".to_owned())
            }
        }
    }
}

impl Noise {
    /// What comes out of the loudspeaker.
    pub const fn words(self) -> &'static str {
        match self {
            Noise::TooWide => "distorted: the signal is wider than the channel",
            Noise::OtherMaterial => "garbled: other key material under that key number",
            Noise::DigitalIntoAnalog => "a buzz: digital into an analog channel that any carrier opens",
        }
    }
}

impl Reason {
    /// In a few words that name the kind of reason alone, for counts.
    pub const fn kind(self) -> &'static str {
        match self {
            Reason::Frequency => "frequency",
            Reason::Mode => "mode",
            Reason::Sync { .. } => "direct mode",
            Reason::ColorCode { .. } => "color code",
            Reason::Slot { .. } => "slot",
            Reason::Group { .. } => "talkgroup",
            Reason::Unit { .. } => "not called",
            Reason::Clear => "takes no clear calls",
            Reason::Key => "key",
            Reason::Tone => "tone",
        }
    }

    /// What fails.
    pub fn words(self) -> String {
        match self {
            Reason::Frequency => "does not receive on that frequency".to_owned(),
            Reason::Mode => "does not hear that mode".to_owned(),
            Reason::Sync { sent: Sync::TdmaDirect } => "is not set to TDMA direct mode".to_owned(),
            Reason::Sync { sent: Sync::Base } => "is set to TDMA direct mode and hears no repeater".to_owned(),
            Reason::Sync { sent: Sync::Mobile } => "hears no radio that sends direct".to_owned(),
            Reason::ColorCode { sent, wanted } => format!("waits for color code {wanted}, the call has {sent}"),
            Reason::Slot { sent, wanted } => format!("listens to slot {wanted}, the call is on slot {sent}"),
            Reason::Group { sent } => format!("does not listen for talkgroup {sent}"),
            Reason::Unit { sent } => format!("is not unit {sent}"),
            Reason::Clear => "takes no clear calls".to_owned(),
            Reason::Key => "has no key of that number".to_owned(),
            Reason::Tone => "waits for another tone".to_owned(),
        }
    }
}

impl WhyNotRepeated {
    /// What fails, to stand after the name of the repeater.
    pub fn words(self) -> String {
        match self {
            WhyNotRepeated::Mode => "repeats the other mode only".to_owned(),
            WhyNotRepeated::Direct => "is not opened by TDMA direct mode".to_owned(),
            WhyNotRepeated::ColorCode { sent, wanted } => format!("wants color code {wanted}, the call has {sent}"),
            WhyNotRepeated::Tone => "is opened by another tone".to_owned(),
            WhyNotRepeated::NotListed => "takes only the talkgroups that are listed for the slot".to_owned(),
            WhyNotRepeated::Barred => "does not pass that kind of call on the slot".to_owned(),
            WhyNotRepeated::Unknown => "cannot be read as a whole".to_owned(),
        }
    }
}
