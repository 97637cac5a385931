//! Tables of `*.plan.toml` that say which radios there are.

use super::super::Type::*;
use super::super::{FileKind, Kind as K};
use super::ADDRESS;
use crate::table;

/// What a radio can be told over the air.
const COMMANDS: &[&str] = &["check", "listen-in", "stun", "revive"];

/// Defines a table that has keys of its own and then those that a profile and a radio share.
macro_rules! table_of_radios {
    ({ $($header:tt)* } $($own:tt)*) => {
        table! {
            $($header)* {
            $($own)*
            /// Model, as a path from this file; absent: the plan's.
            model: Path(FileKind::Model, &[]) => air;
            /// Zones that it holds, in the order in which it shows them.
            zones: List(&Refer(&[K::Zone], &[])) => hand;
            /// Keys that are loaded into it.
            keys: List(&Refer(&[K::Key], &[])) => air;
            /// Commands over the air that it carries out; `stun` puts it out of use, `listen-in` opens its microphone.
            obeys: List(&Word(COMMANDS)) => air;
            /// Commands over the air that it may send.
            may_send: List(&Word(COMMANDS)) => air;
            /// Whether a command must prove where it comes from before it is carried out; absent: `false`.
            authenticated: Truth => air;
            /// Alarm when it lies still.
            man_down: Part(&MAN_DOWN) => air;
            /// Alarm when its user does not answer a reminder.
            lone_worker: Part(&LONE_WORKER) => air;
            /// What its buttons do; wins over `[[controls.button]]` at the same place and press.
            button: Parts(&super::handling::CONTROLS_BUTTON) => hand;
            /// For those who read the plan.
            notes: Prose =>;
            }
        }
    };
}

table_of_radios! {
    {
    /// What a class of radios has in common. Each key but the name may stand on a radio too, which wins.
    PROFILE profile: Profile in Plan, Any; }
    /// What radios refer to.
    name: Name => required, shows Profile;
}

table_of_radios! {
    {
    /// A unit of the fleet. What it does not say, its profile does.
    RADIO radio: Radio in Plan, Any, one_of &[&["id", "ids"]]; }
    /// Unit address, 1 to 16776415 (ETSI TS 102 361-1, annex A).
    id: ADDRESS => air, shows UnitId;
    /// Unit addresses, where it has another in each network.
    ids: Part(&RADIO_IDS) => air;
    /// What others see when it calls.
    alias: Name => hand, shows Radio;
    /// The serial number on its label.
    serial: Text =>;
    /// What it has in common with others.
    profile: Refer(&[K::Profile], &[]) => air;
    /// Where it normally is; absent: the first position of its first zone.
    stands_by: Part(&RADIO_STANDS_BY) => air;
    /// Whether it normally scans; absent: as the scan list starts.
    scans: Truth => air;
    /// Revision of the plan that is in the radio.
    loaded: Text =>;
    /// Whether it is in use; absent: `issued`. Lost and retired radios neither send nor hear.
    status: Word(&["issued", "spare", "lost", "retired"]) => air;
    /// Day on which the status began.
    status_since: Date =>, shows Day;
}

table! {
    /// Unit addresses by network: each key is the name of a network.
    RADIO_IDS radio__ids: Part in Plan, Part, open true of ADDRESS, named &[K::Network]; {
    }

    /// A zone and a channel in it.
    RADIO_STANDS_BY radio__stands_by: Part in Plan, Part; {
        /// The zone; absent: the first that has the channel.
        zone: Refer(&[K::Zone], &[]) => air;
        /// The channel; absent: the first position of the zone.
        channel: Refer(&[K::Channel], &[]) => air;
    }

    /// Alarm when a radio lies still.
    MAN_DOWN profile__man_down: Part in Plan, Part; {
        /// Angle from upright that counts as lying.
        tilt_deg: Whole(0, 180) => air;
        /// How long it lies before it warns.
        still_s: Whole(0, 3600) => air;
        /// How long it warns before the alarm goes out.
        warn_s: Whole(0, 3600) => air;
    }

    /// Alarm when the user of a radio does not answer a reminder.
    LONE_WORKER profile__lone_worker: Part in Plan, Part; {
        /// Time between reminders.
        every_s: Whole(0, 86_400) => air;
        /// How long it reminds before the alarm goes out.
        warn_s: Whole(0, 3600) => air;
    }

    /// A fleet from a sheet instead of tables.
    RADIOS radios: Fleet in Plan, One; {
        /// The sheet (CSV, RFC 4180), as a path from this file.
        from: SheetPath => required air;
        /// Which column holds what.
        columns: Part(&RADIOS_COLUMNS) => air;
    }

    /// Columns of a sheet: each key is a key of `[[radio]]`, its value the heading of the column.
    RADIOS_COLUMNS radios__columns: Part in Plan, Part, open true of Text; {
    }

    /// Data that units send by themselves.
    REPORT report: Report in Plan, Any; {
        /// What it tells.
        what: Word(&["position", "telemetry"]) => required air;
        /// Channel that it is sent on.
        channel: Refer(&[K::Channel], &[]) => required air;
        /// Classes of radios that send it; absent: every radio that has the channel in its zones.
        profiles: List(&Refer(&[K::Profile], &[])) => air;
        /// Time between two reports of a unit.
        every_s: Whole(0, 86_400) => air;
        /// How long one report occupies the slot.
        airtime_ms: Whole(0, 60_000) => air;
        /// For those who read the plan.
        notes: Prose =>;
    }
}
