//! Tables of `*.model.toml`: the data sheet of a radio model.

use super::super::Type::*;
use super::{ACTIONS, MODES, PRESSES, PRIVACY, WATTS};
use crate::table;

table! {
    /// What a radio model can do.
    MODEL model: Model in Model, One; {
        /// Version of the plan language; absent: 1.
        format: Whole(1, 1) =>;
        /// What findings and reports call it.
        name: Name => required;
        /// How it is built and carried.
        kind: Word(&["handheld", "mobile", "base", "repeater"]) =>;
        /// Modes that it can send and receive.
        sends: List(&Word(MODES)) =>;
        /// Whether one channel can receive both modes; absent: not known.
        dual_receive: Truth => air;
        /// Whether it answers in the channel's mode, or in the mode just heard.
        reply_mode: Word(&["fixed", "follows-received"]) => air;
        /// Channel widths that it can be set to.
        bandwidths_khz: List(&Kilohertz) =>, shows Width;
        /// Steps of its synthesizer; a carrier must be a whole number of one of them.
        step_khz: List(&Kilohertz) =>;
        /// Ways of privacy that it knows.
        privacy: List(&Word(PRIVACY)) =>;
        /// Whether it tries every key that it holds, or the channel's only.
        decrypts_with: Word(&["any-held", "channel-key"]) => air;
        /// Whether it can make two calls on one simplex frequency (ETSI TS 102 361-2, clause 6.2).
        tdma_direct_mode: Truth =>;
        /// Whether the channel's talkgroup is heard without being in its receive group.
        hears_own_talkgroup: Truth => air;
        /// Whether a repeater channel also hears radios that send direct on the repeater's output.
        hears_direct_on_repeater_channel: Truth => air;
        /// Whether it receives data while it scans.
        data_while_scanning: Truth => air;
        /// Sensors that can set off an alarm.
        sensors: List(&Word(&["man-down"])) =>;
        /// Squelch tones and codes that it has; absent: those in common use.
        tones: List(&Tone) =>, shows Tone;
        /// Whether frequencies can be entered by hand away from the bench.
        frequency_entry_in_the_field: Truth =>;
        /// Protection against dust and water (IEC 60529).
        ingress: Text =>;
        /// Frequency stability, either way.
        stability_ppm: Number(0.0, 1000.0) =>, shows Stability;
        /// Ranges that it tunes.
        band: Parts(&MODEL_BAND) =>;
        /// Power levels, highest first.
        power: Parts(&MODEL_POWER) =>;
        /// For those who read the sheet.
        notes: Prose =>;
    }

    /// A range that a model tunes.
    MODEL_BAND model__band: Part in Model, Part; {
        /// Lower edge.
        low_mhz: Megahertz => required, shows Edge;
        /// Upper edge.
        high_mhz: Megahertz => required, shows Edge;
    }

    /// A power level of a model.
    MODEL_POWER model__power: Part in Model, Part; {
        /// What channels and readings refer to.
        level: Text => required;
        /// Rated output of the transmitter.
        watts: WATTS => required air, shows Rating;
        /// Tolerance either way; absent: 1.5 (ETSI EN 300 086, from memory).
        tolerance_db: Number(0.0, 20.0) =>, shows Rating;
    }

    /// How much of everything a model holds. What is absent is not known.
    CAPACITY capacity: Capacity in Model, One; {
        /// Zones.
        zones: Whole(0, 1_000_000) =>;
        /// Channels in a zone: positions of the knob.
        channels_per_zone: Whole(0, 1_000_000) =>;
        /// Channels in all.
        channels: Whole(0, 1_000_000) =>;
        /// Talkgroups.
        talkgroups: Whole(0, 1_000_000) =>;
        /// Contacts for individual calls.
        contacts: Whole(0, 10_000_000) =>;
        /// Receive groups.
        receive_groups: Whole(0, 1_000_000) =>;
        /// Talkgroups in a receive group.
        receive_group_members: Whole(0, 1_000_000) =>;
        /// Scan lists.
        scan_lists: Whole(0, 1_000_000) =>;
        /// Channels in a scan list.
        scan_list_members: Whole(0, 1_000_000) =>;
        /// Privacy keys.
        keys: Whole(0, 1_000_000) =>;
        /// Messages.
        messages: Whole(0, 1_000_000) =>;
        /// Characters in a message.
        message_characters: Whole(0, 1_000_000) =>;
        /// Characters in the name of a channel or zone.
        name_characters: Whole(0, 1000) =>;
        /// Characters in the alias of a unit; absent: as `name_characters`.
        alias_characters: Whole(0, 1000) =>;
        /// Characters that its display has: printable ASCII (ISO/IEC 646), Latin-1 (ISO/IEC 8859-1) or any of Unicode.
        name_charset: Word(&["ascii", "latin-1", "unicode"]) =>;
    }

    /// What a model's receiver can do.
    RECEIVER receiver: Receiver in Model, One; {
        /// Sensitivity on analog, in the `test` named.
        analog_dbm: Number(-150.0, 0.0) =>, shows Sensitivity;
        /// Sensitivity on digital, in the `test` named.
        digital_dbm: Number(-150.0, 0.0) =>, shows Sensitivity;
        /// What counts as received in those tests.
        test: Prose =>;
        /// How long the receiver sleeps at a time to save the battery; 0: never.
        saver_sleep_ms: Whole(0, 60_000) => air;
    }

    /// The antenna that a model comes with.
    ANTENNA antenna: Antenna in Model, One; {
        /// Gain over an isotropic radiator.
        gain_dbi: Number(-30.0, 40.0) => air, shows Gain;
        /// Whether another can be put in its place.
        removable: Truth =>;
    }

    /// The battery that a model comes with.
    BATTERY battery: Battery in Model, One; {
        /// Rated charge.
        mah: Number(0.0, 1_000_000.0) =>, shows Battery;
        /// Rated voltage.
        volts: Number(0.0, 1000.0) =>;
        /// Current at the highest power level.
        transmit_ma: Number(0.0, 1_000_000.0) =>, shows Battery;
        /// Current with the loudspeaker open.
        receive_ma: Number(0.0, 1_000_000.0) =>, shows Battery;
        /// Current in standby.
        standby_ma: Number(0.0, 1_000_000.0) =>, shows Battery;
    }

    /// A button that can be given an action.
    MODEL_BUTTON model__button: ModelButton in Model, Any; {
        /// Where it is; what `place` of a plan's buttons refers to.
        place: Text => required;
        /// Presses that it tells apart; absent: `short` only.
        presses: List(&Word(PRESSES)) =>;
        /// Actions that it can be given; absent: any.
        actions: List(&Word(ACTIONS)) =>;
    }
}
