//! Tables of `*.plan.toml` that say how radios are handled, and what a radio must be for the work.

use super::super::Kind as K;
use super::super::Type::*;
use super::{ACTIONS, PRESSES, WATTS};
use crate::table;

/// Functions that can be kept from the user.
const LOCKABLE: &[&str] = &[
    "zones",
    "channels",
    "contacts",
    "scan-lists",
    "messages",
    "power",
    "squelch",
    "tones",
    "frequencies",
    "talk-around",
    "privacy",
    "buttons",
    "display",
    "alerts",
];

table! {
    /// A text that the user of a radio can send as it is.
    MESSAGE message: Message in Plan, Any; {
        /// The text.
        text: Text => required hand;
    }

    /// Timing of calls and data.
    SIGNALING signaling: Signaling in Plan, One; {
        /// How long data is announced so that scanning and battery-saving receivers wake (ETSI TS 102 361-2, preamble).
        preamble_ms: Whole(0, 60_000) => air;
        /// How long a radio keeps answering the group last heard.
        group_hang_ms: Whole(0, 60_000) => air;
        /// How long a radio keeps answering the unit last heard.
        individual_hang_ms: Whole(0, 60_000) => air;
        /// Wait after the time-out timer before the radio may transmit again.
        rekey_s: Whole(0, 3600) => air;
        /// Time between station identifications.
        station_id_s: Whole(0, 86_400) => air;
    }

    /// Buttons and menus, for every model that has them.
    CONTROLS controls: Controls in Plan, One; {
        /// From which duration on a press is long.
        long_press_ms: Whole(0, 60_000) => hand;
        /// How long a menu stays open without a press.
        menu_timeout_s: Whole(0, 3600) => hand;
        /// What the user of a radio cannot change.
        locked: List(&Word(LOCKABLE)) => hand;
        /// What buttons do, on every model that has one at that place.
        button: Parts(&CONTROLS_BUTTON) => hand;
    }

    /// What a press of a button does.
    CONTROLS_BUTTON controls__button: Part in Plan, Part; {
        /// Where the button is, in the model's words.
        place: Text => required hand;
        /// How it is pressed.
        press: Word(PRESSES) => required hand;
        /// What then happens.
        action: Word(ACTIONS) => required hand;
    }

    /// Codes that protect a radio.
    SECURITY security: Security in Plan, One; {
        /// Asked when the radio is switched on. A code must not be here: `held_in` says where it is kept.
        power_on_code: Either(&Part(&SECURITY_CODE), &Prose) => hand secret;
        /// Asked before the radio is read or written. A code must not be here: `held_in` says where it is kept.
        programming_code: Either(&Part(&SECURITY_CODE), &Prose) => hand secret;
    }

    /// A code that is kept elsewhere.
    SECURITY_CODE security__code: Part in Plan, Part; {
        /// Where it is kept, in the keeper's own notation.
        held_in: Text => required hand;
    }

    /// What a radio says to its user, and when the voice keys it.
    AUDIO audio: Audio in Plan, One; {
        /// Transmission keyed by the voice.
        voice_operated: Part(&AUDIO_VOICE_OPERATED) => air;
        /// Whether a tone says that the channel is free and speech may begin.
        access_granted_tone: Truth => hand;
        /// Whether a tone says that the channel has become free.
        channel_idle_tone: Truth => hand;
        /// Time between warnings of a low battery; 0: none.
        low_battery_interval_s: Whole(0, 86_400) => hand;
    }

    /// Transmission keyed by the voice.
    AUDIO_VOICE_OPERATED audio__voice_operated: Part in Plan, Part; {
        /// How loud speech must be, on the model's scale.
        level: Whole(0, 100) => air;
        /// How long the transmission goes on after the last word.
        delay_ms: Whole(0, 60_000) => air;
    }

    /// What a radio shows.
    DISPLAY display: Display in Plan, One; {
        /// Language of its menus.
        language: Prose => hand;
        /// How long the light stays on after a press; 0: always off.
        backlight_s: Whole(0, 3600) => hand;
        /// Whether its indicator lights are on.
        indicator_lights: Truth => hand;
        /// What stands for the channel.
        shows: Word(&["name", "frequency"]) => hand;
    }

    /// One press that places a call or sends a message.
    SHORTCUT shortcut: Shortcut in Plan, Any, one_of &[&["call", "message"]]; {
        /// Place of the button, in the model's words.
        button: Text => hand;
        /// How it is pressed.
        press: Word(PRESSES) => hand;
        /// Who is called, or who gets the message.
        call: Refer(&[K::Talkgroup, K::Contact], &[]) => air;
        /// Text that is sent.
        message: Text => hand;
    }

    /// What is handed out with each radio.
    KIT kit: Kit in Plan, Any; {
        /// What it is.
        item: Prose => required;
        /// How many; absent: 1.
        each: Whole(0, 1000) =>;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// What a radio must be for this work. Each is answered with pass, fail or not known.
    REQUIREMENTS requirements: Requirements in Plan, One; {
        /// How long one battery must last at this `duty`.
        battery_hours: Number(0.0, 1000.0) =>, shows Battery;
        /// How the time divides; absent: 5 % transmit, 5 % receive, the rest standby (common practice, no source).
        duty: Part(&REQUIREMENTS_DUTY) =>;
        /// Protection against dust and water (IEC 60529).
        ingress: Text =>;
        /// Power of the highest level, measured anywhere in the bands used.
        high_power_at_least_w: WATTS =>, shows Power;
        /// Distance at which it must have been heard, with the quality below, in a field trial.
        range_at_least_km: Number(0.0, 20_000.0) =>, shows Range;
        /// Delivered audio quality that counts as heard, 1 to 5 (TIA TSB-88).
        quality_at_least_daq: Number(1.0, 5.0) =>, shows Quality;
        /// Number of button functions: places times presses.
        programmable_actions: Whole(0, 1000) =>;
        /// Whether frequencies must, or must not, be entered by hand away from the bench.
        frequency_entry_in_the_field: Truth =>;
    }

    /// How the time of a radio divides; what is left of 100 is standby.
    REQUIREMENTS_DUTY requirements__duty: Part in Plan, Part; {
        /// Share of the time in which it transmits.
        transmit_percent: Number(0.0, 100.0) =>;
        /// Share of the time in which its loudspeaker is open.
        receive_percent: Number(0.0, 100.0) =>;
    }
}
