//! Tables of `*.plan.toml` that say what is on the air.

use super::super::Type::*;
use super::super::{FileKind, Kind as K};
use super::{ADDRESS, COLOR_CODE, LATITUDE, LONGITUDE, MODES, PRIVACY, REGIMES, SLOT, WATTS};
use crate::table;

/// The channel that the knob is on.
const SELECTED: &[&str] = &["selected"];

table! {
    /// The plan itself. A file without it is a part that plans share.
    PLAN plan: Plan in Plan, One; {
        /// Version of the plan language; absent: 1.
        format: Whole(1, 1) =>;
        /// Heading of reports and knob cards.
        title: Prose =>;
        /// Version of the plan, compared with `loaded` of each radio.
        revision: Text =>;
        /// Model of the radios, as a path from this file; a profile or a radio may name another.
        model: Path(FileKind::Model, &[]) => air;
        /// Conditions of the radio service: a built-in name or a path from this file; a channel may name another.
        regime: Path(FileKind::Regime, REGIMES) =>, shows Service;
        /// Parts whose tables are visible here, as paths from this file.
        shares: List(&Path(FileKind::Plan, &[])) => air;
        /// `true` when the radios listed are all there are. Absent: `false`, and nothing is said to be heard by nobody.
        fleet_complete: Truth =>;
        /// Frequency of the mains, for advice on squelch tones near its harmonics; absent: no advice.
        mains_hz: Whole(50, 60) =>;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// A place with an antenna.
    SITE site: Site in Plan, Any; {
        /// What repeaters and trials refer to.
        name: Name => required, shows Site;
        /// North positive, WGS 84.
        latitude: LATITUDE =>, shows Site;
        /// East positive, WGS 84.
        longitude: LONGITUDE =>, shows Site;
        /// Height of the ground above sea level.
        ground_m: Number(-450.0, 9000.0) =>;
        /// Height of the antenna above ground.
        antenna_m: Number(0.0, 1000.0) =>, shows Site;
        /// The filter that lets transmitters and receivers share an antenna.
        duplexer: Part(&SITE_DUPLEXER) =>;
        /// A co-tenant's transmitter, counted for intermodulation.
        other: Parts(&SITE_OTHER) =>;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// The filter that lets a transmitter and a receiver share an antenna.
    SITE_DUPLEXER site__duplexer: Part in Plan, Part; {
        /// Smallest difference between transmit and receive frequency that it is built for.
        spacing_mhz: Megahertz =>;
        /// Attenuation between transmitter and receiver at that spacing.
        isolation_db: Number(0.0, 200.0) =>;
    }

    /// A co-tenant's transmitter.
    SITE_OTHER site__other: Part in Plan, Part; {
        /// Who or what it is.
        name: Prose =>;
        /// Its carrier.
        tx_mhz: Megahertz => required, shows Carrier;
        /// Width that it occupies.
        bandwidth_khz: Kilohertz =>, shows Width;
        /// Output of the transmitter.
        power_w: WATTS =>, shows Power;
    }

    /// An authorization to transmit.
    LICENSE license: License in Plan, Any; {
        /// What findings and reports call it.
        name: Name => required, shows License;
        /// Last day on which it is valid.
        expires: Date =>, shows License;
        /// What its limits count: effective or equivalent isotropic radiated power, or the output of the transmitter.
        power_kind: Word(&["erp", "eirp", "output"]) =>;
        /// Frequencies and emissions that it grants.
        assignment: Parts(&LICENSE_ASSIGNMENT) =>, shows Assignment;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// One frequency or range that a license grants.
    LICENSE_ASSIGNMENT license__assignment: Part in Plan, Part, one_of &[&["tx_mhz", "low_mhz"]]; {
        /// The carrier granted.
        tx_mhz: Megahertz =>, shows Carrier Assignment;
        /// Lower edge of a range granted instead of one carrier.
        low_mhz: Megahertz =>, shows Edge Assignment;
        /// Upper edge of that range.
        high_mhz: Megahertz =>, shows Edge Assignment;
        /// Emission designators granted (ITU Radio Regulations, Appendix 1); absent: any.
        emission: OneOrMore(&Designator) =>, shows Emission;
        /// Most power, of the license's `power_kind`.
        max_power_w: WATTS =>, shows PowerLimit;
        /// Class of station that may use it.
        station: Word(&["base", "mobile", "repeater"]) =>;
        /// Whether others hold the same frequency in the same area.
        r#use: Word(&["exclusive", "shared"]) =>;
        /// Most units that may use it.
        units: Whole(0, 1_000_000) =>;
        /// Circle in which it holds.
        area: Part(&LICENSE_AREA) =>;
    }

    /// A circle on the map.
    LICENSE_AREA license__area: Part in Plan, Part; {
        /// Center: north positive, WGS 84.
        latitude: LATITUDE => required;
        /// Center: east positive, WGS 84.
        longitude: LONGITUDE => required;
        /// Radius.
        radius_km: Number(0.0, 20_000.0) => required;
    }

    /// Repeaters that pass calls to each other; the scope of unit ids and talkgroup numbers.
    NETWORK network: Network in Plan, Any; {
        /// What `ids` of a radio refers to.
        name: Name => required;
        /// Its members.
        repeaters: List(&Refer(&[K::Repeater], &[])) => air;
        /// Talkgroups that every member passes on.
        wide: Parts(&NETWORK_WIDE) => air;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// A talkgroup that every repeater of a network passes on.
    NETWORK_WIDE network__wide: Part in Plan, Part; {
        /// The talkgroup.
        talkgroup: Refer(&[K::Talkgroup], &[]) => required air;
        /// The slot that carries it.
        slot: SLOT => air, shows Slot;
    }

    /// A station that receives on one frequency and transmits the same on another.
    REPEATER repeater: Repeater in Plan, Any; {
        /// What channels and networks refer to.
        name: Name => required, shows Repeater;
        /// Its address on the air (ETSI TS 102 361-1, annex A).
        id: ADDRESS => air, shows UnitId;
        /// Where its antenna stands.
        site: Refer(&[K::Site], &[]) =>;
        /// Output: what radios receive.
        tx_mhz: Megahertz => required air, shows Carrier;
        /// Input: what radios transmit.
        rx_mhz: Megahertz => required air, shows Carrier;
        /// What it repeats; absent: `digital`.
        mode: Word(&["digital", "analog", "dual"]) => air;
        /// Width of its channel; absent: 12.5 (ETSI TS 102 361-1).
        bandwidth_khz: Kilohertz => air, shows Width;
        /// The color code that opens it and that it sends (ETSI TS 102 361-1).
        color_code: COLOR_CODE => air, shows ColorCode;
        /// What slot 1 carries: talkgroups, or a table that also says what else passes.
        slot_1: Either(&List(&Refer(&[K::Talkgroup], &[])), &Part(&REPEATER_SLOT)) => air;
        /// What slot 2 carries: talkgroups, or a table that also says what else passes.
        slot_2: Either(&List(&Refer(&[K::Talkgroup], &[])), &Part(&REPEATER_SLOT)) => air;
        /// Tones or codes that open its analog receiver; absent: any carrier does.
        input_tones: List(&Tone) => air, shows Tone;
        /// Tone or code that it sends with analog; absent: `none`.
        output_tone: ToneOr(&["same-as-input", "none"]) => air, shows Tone;
        /// Output of the transmitter, before the feedline.
        power_w: WATTS => air, shows Radiated;
        /// Gain of the antenna over an isotropic radiator.
        antenna_gain_dbi: Number(-30.0, 40.0) => air, shows Gain Radiated;
        /// Loss between transmitter and antenna.
        feedline_loss_db: Number(0.0, 100.0) => air, shows Loss Radiated;
        /// How long the slot stays reserved for a group after a call.
        group_hang_ms: Whole(0, 60_000) => air;
        /// How long the slot stays reserved for both units after an individual call.
        individual_hang_ms: Whole(0, 60_000) => air;
        /// How long the slot stays reserved after an emergency call.
        emergency_hang_ms: Whole(0, 60_000) => air;
        /// Longest transmission that it repeats.
        time_out_s: Whole(0, 3600) => air;
        /// How long its carrier stays on after the last call.
        tail_ms: Whole(0, 60_000) => air;
        /// Whether its carrier waits for a radio to wake it, or is always on.
        wake: Word(&["on-demand", "continuous"]) => air;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// What one slot of a repeater carries.
    REPEATER_SLOT repeater__slot: Part in Plan, Part; {
        /// Talkgroups allotted to it.
        talkgroups: List(&Refer(&[K::Talkgroup], &[])) => air;
        /// `true` when it refuses every other talkgroup. Absent: `false`, and the list is an allotment only.
        only_listed: Truth => air;
        /// Whether individual calls pass; absent: `true`.
        individual: Truth => air;
        /// Whether the all call passes; absent: `true`.
        all_call: Truth => air;
        /// Whether data passes; absent: `true`.
        data: Truth => air;
    }

    /// Who is on the air and is no radio of the fleet: a console, a gateway, a recorder, another agency.
    STATION station: Station in Plan, Any; {
        /// What `acknowledged_by` refers to.
        name: Name => required;
        /// Its unit address (ETSI TS 102 361-1, annex A).
        id: ADDRESS => air, shows UnitId;
        /// Channels and talkgroups that it listens to.
        hears: List(&Refer(&[K::Channel, K::Talkgroup], &[])) => air;
        /// Channels and talkgroups that it calls on.
        sends: List(&Refer(&[K::Channel, K::Talkgroup], &[])) => air;
        /// `true` when it belongs to somebody else; absent: `false`.
        outside_fleet: Truth => air;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// A group that calls are sent to and receive groups listen for.
    TALKGROUP talkgroup: Talkgroup in Plan, Any; {
        /// What the display shows and other tables refer to.
        name: Name => required hand, shows Talkgroup;
        /// Its number on the air, 1 to 16776415 (ETSI TS 102 361-1, annex A).
        id: ADDRESS => required air, shows TalkgroupId;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// The target of an individual call, or the all call.
    CONTACT contact: Contact in Plan, Any, one_of &[&["id", "all_call"]]; {
        /// What the display shows and other tables refer to.
        name: Name => required hand, shows Contact;
        /// Unit address that is called, 1 to 16776415 (ETSI TS 102 361-1, annex A).
        id: ADDRESS => air, shows UnitId;
        /// `true` to call every unit on the channel at address 16777215 (ETSI TS 102 361-1, annex A).
        all_call: Truth => air;
        /// Whether speech starts at once or after the called unit has answered by itself (ETSI TS 102 361-2).
        setup: Word(&["press-and-talk", "off-air-call-setup"]) => air;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// Talkgroups that a channel listens for.
    RECEIVE_GROUP receive_group: ReceiveGroup in Plan, Any; {
        /// What channels refer to.
        name: Name => required hand, shows ReceiveGroup;
        /// Its members.
        talkgroups: List(&Refer(&[K::Talkgroup], &[])) => required air;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// A privacy key, without its material.
    KEY key: Key in Plan, Any; {
        /// What channels and profiles refer to.
        name: Name => required hand, shows Key;
        /// Number by which receivers find it, 1 to 255 where the algorithm sends one.
        id: Whole(1, 255) => air;
        /// How speech and data are made unintelligible; `fixed-scramble` keeps out casual listeners only.
        algorithm: Word(PRIVACY) => air, shows Key;
        /// Where the material is kept, in the keeper's own notation.
        held_in: Text =>;
        /// First bytes of a hash of the material, in hexadecimal, to compare what loaders hold.
        check_value: Text => air, shows Key;
        /// Day on which the material was made.
        created: Date =>, shows Day;
        /// Last day on which it may be in use.
        rotate_by: Date =>, shows Day;
        /// The key that it takes over from, while some radios still hold that one.
        replaces: Refer(&[K::Key], &[]) =>;
        /// The material itself, which must not be here: `held_in` says where it is kept.
        value: Prose => air secret;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// One setting that a knob position selects: frequencies, mode, what is called and what is heard.
    CHANNEL channel: Channel in Plan, Any, one_of &[&["repeater", "rx_mhz"]]; {
        /// What the display shows and other tables refer to.
        name: Name => required hand, shows Channel;
        /// What push-to-talk sends; `nothing` makes it receive only.
        sends: Word(&["digital", "analog", "nothing"]) => required air, shows Channel;
        /// Modes that it can hear; absent: the mode sent.
        receives: List(&Word(MODES)) => air;
        /// Gives frequencies, color code and tones.
        repeater: Refer(&[K::Repeater], &[]) => air, shows Channel;
        /// What the radio receives; absent with a repeater: its output.
        rx_mhz: Megahertz => air, shows Carrier;
        /// What the radio transmits; absent: the repeater's input, or the same as `rx_mhz`.
        tx_mhz: Megahertz => air, shows Carrier;
        /// `true` to transmit on the repeater's output and reach radios nearby without it; absent: `false`.
        talk_around: Truth => air, shows Channel;
        /// Width of the channel; absent: the repeater's, else 12.5.
        bandwidth_khz: Kilohertz => air, shows Width;
        /// A power level of the model.
        power: Text => air, shows Level;
        /// Most output that the channel may use, whatever the level.
        power_at_most_w: WATTS => air, shows Power;
        /// TDMA slot (ETSI TS 102 361-1); in plain direct mode it says nothing.
        slot: SLOT => air, shows Slot;
        /// Color code sent and waited for (ETSI TS 102 361-1); absent: the repeater's.
        color_code: COLOR_CODE => air, shows ColorCode;
        /// What push-to-talk calls.
        call: Refer(&[K::Talkgroup, K::Contact], &[]) => air, shows Channel;
        /// Talkgroups that are heard here.
        receive_group: Refer(&[K::ReceiveGroup], &[]) => air;
        /// Whether the receive group is heard, any talkgroup of the slot, or any of both; absent: `own-groups`.
        listens_to: Word(&["own-groups", "any-group", "both-slots"]) => air;
        /// When the radio may transmit (ETSI TS 102 361-1).
        access: Word(&["impolite", "polite-to-all", "polite-to-own-color-code"]) => air;
        /// Key that it sends with; absent: clear.
        privacy: Refer(&[K::Key], &[]) => air;
        /// Further keys that it understands.
        privacy_receive: List(&Refer(&[K::Key], &[])) => air;
        /// Whether clear calls are heard; absent: `true`.
        receive_clear: Truth => air;
        /// Longest transmission.
        time_out_s: Whole(0, 3600) => air;
        /// What is scanned while the knob is here.
        scan_list: Refer(&[K::ScanList], &[]) => air;
        /// What an emergency does while the knob is here.
        emergency: Refer(&[K::Emergency], &[]) => air;
        /// Whether an alarm received here is shown.
        shows_emergency: Truth => hand;
        /// `true` for two calls on one simplex frequency (ETSI TS 102 361-2, clause 6.2); absent: `false`.
        tdma_direct_mode: Truth => air;
        /// Whether the radio may give others the timing in TDMA direct mode; absent: `may` (ETSI TS 102 361-2, clause 6.2).
        timing_leader: Word(&["may", "prefer", "never"]) => air;
        /// Tone or code that opens the receiver; absent: the repeater's output tone.
        rx_tone: Tone => air, shows Tone;
        /// Tone or code sent; absent: the repeater's input tone where it has only one.
        tx_tone: Tone => air, shows Tone;
        /// What opens the loudspeaker on analog; absent: `tone` where one is waited for, else `carrier`.
        unmute: Word(&["carrier", "tone"]) => air;
        /// How strong an analog signal must be to open the squelch; absent: `normal`.
        opens: Word(&["tight", "normal", "open"]) => air;
        /// What keeps the radio from transmitting on an analog channel in use; absent: `off`.
        busy_lockout: Word(&["off", "carrier", "other-tone"]) => air;
        /// What ends an analog transmission so that receivers close without a noise burst.
        tail: Word(&["reverse-burst", "turn-off-code", "none"]) => air;
        /// Conditions of another radio service than the plan's: a built-in name or a path from this file.
        regime: Path(FileKind::Regime, REGIMES) =>, shows Service;
        /// `announce` when it is one way by intent.
        purpose: Word(&["announce"]) =>;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// Channels that a radio listens to by turns.
    SCAN_LIST scan_list: ScanList in Plan, Any; {
        /// What channels refer to.
        name: Name => required hand, shows ScanList;
        /// Its members; `selected` is the channel that the knob is on.
        channels: List(&Refer(&[K::Channel], SELECTED)) => required air;
        /// Member that is looked at most often.
        priority_1: Refer(&[K::Channel], SELECTED) => air;
        /// Member that is looked at next most often.
        priority_2: Refer(&[K::Channel], SELECTED) => air;
        /// Where push-to-talk answers: the channel last heard, the knob's or a given one.
        reply: Refer(&[K::Channel], &["last-heard", "selected"]) => air;
        /// How long it stays on a channel after the call ends.
        hang_ms: Whole(0, 60_000) => air;
        /// How often it looks at the priorities during a call.
        sample_ms: Whole(0, 60_000) => air;
        /// Whether the radio scans when it is switched on.
        starts: Word(&["off", "on", "as-left"]) => air;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// Channels under one turn of the knob.
    ZONE zone: Zone in Plan, Any; {
        /// What the display shows and other tables refer to.
        name: Name => required hand, shows Zone;
        /// In the order of the knob; an empty name leaves a position empty.
        channels: List(&Refer(&[K::Channel], &[""])) => required hand, shows Position;
        /// For those who read the plan.
        notes: Prose =>;
    }

    /// What a radio does in an emergency.
    EMERGENCY emergency: Emergency in Plan, Any; {
        /// What channels refer to.
        name: Name => required hand, shows Emergency;
        /// What sets it off.
        triggers: List(&Word(&["button", "man-down", "lone-worker"])) => air;
        /// An alarm as data, an alarm and then a call at the press, or an alarm and then speech by itself.
        sends: Word(&["alarm", "alarm-and-call", "alarm-then-voice"]) => required air, shows Emergency;
        /// Whether the radio shows and sounds its own alarm.
        indication: Word(&["audible", "silent"]) => hand;
        /// Who is called.
        target: Refer(&[K::Talkgroup, K::Contact], &[]) => air;
        /// Channel that it goes out on; `selected`, also when absent, is the knob's.
        revert: Refer(&[K::Channel], SELECTED) => air;
        /// How long the microphone is open without a press.
        open_microphone_s: Whole(0, 600) => air;
        /// How long it listens between openings of the microphone.
        listen_s: Whole(0, 600) => air;
        /// How often the alarm is sent until it is acknowledged.
        tries: Whole(0, 255) => air;
        /// Stations that acknowledge it.
        acknowledged_by: List(&Refer(&[K::Station], &[])) => air;
        /// For those who read the plan.
        notes: Prose =>;
    }
}
