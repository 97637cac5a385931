//! Tables of `*.bench.toml` and `*.field.toml`: what was measured, and what was heard.

use super::super::Type::*;
use super::super::{FileKind, Kind as K};
use super::{LATITUDE, LONGITUDE, MODES, WATTS};
use crate::table;

table! {
    /// One bench session: one unit, one day, one instrument.
    BENCH bench: Bench in Bench, One; {
        /// Version of the plan language; absent: 1.
        format: Whole(1, 1) =>;
        /// The day.
        date: Date => required, shows Day;
        /// Model of the unit, as a path from this file.
        model: Path(FileKind::Model, &[]) => required;
        /// The serial number on its label.
        serial: Text =>;
        /// Loss of adapters and cable between radio and meter, added to every reading.
        path_loss_db: Number(0.0, 100.0) =>, shows Loss;
        /// The meter.
        instrument: Part(&BENCH_INSTRUMENT) =>;
        /// The dummy load.
        load: Part(&BENCH_LOAD) =>;
        /// For those who read the session.
        notes: Prose =>;
    }

    /// The meter of a bench session.
    BENCH_INSTRUMENT bench__instrument: Part in Bench, Part; {
        /// What it is.
        name: Prose =>;
        /// Highest power that it shows.
        full_scale_w: WATTS =>, shows Meter;
        /// Its error either way, anywhere on the scale.
        accuracy_percent_of_full_scale: Number(0.0, 100.0) =>, shows Meter;
        /// What it shows of a carrier that comes in bursts; a slot is on for 27.5 of 60 ms (ETSI TS 102 361-1).
        measures: Word(&["average", "burst", "peak"]) =>;
        /// Day of its last calibration.
        calibrated: Date =>, shows Calibration;
        /// How long a calibration holds.
        calibration_months: Whole(0, 600) =>, shows Calibration;
    }

    /// The dummy load of a bench session.
    BENCH_LOAD bench__load: Part in Bench, Part; {
        /// Power that it stands.
        rated_w: Number(0.0, 1_000_000.0) =>, shows Power;
        /// How long it stands that power; absent: for good.
        rated_s: Whole(0, 86_400) =>;
    }

    /// One reading of a bench session.
    READING reading: Reading in Bench, Any; {
        /// Carrier.
        mhz: Megahertz => required, shows Carrier;
        /// Mode in which it was keyed.
        sends: Word(MODES) => required;
        /// Power level of the model.
        level: Text => required;
        /// Power as the meter showed it.
        watts: WATTS => required, shows Reading;
        /// How long it was keyed.
        keyed_s: Whole(0, 86_400) =>;
        /// Voltage at the radio while it was keyed.
        supply_v: Number(0.0, 1000.0) =>;
        /// Power that came back from the load.
        reflected_w: WATTS =>, shows Reflected;
        /// Carrier less nominal frequency.
        frequency_error_hz: Number(-1_000_000.0, 1_000_000.0) =>, shows FrequencyError;
        /// Peak deviation.
        deviation_khz: Kilohertz =>;
        /// Input for 12 dB SINAD (TIA-603), into 50 ohms.
        sinad_12db_uv: Number(0.0, 1_000_000.0) =>, shows Microvolts;
        /// Bit error rate.
        ber_percent: Number(0.0, 100.0) =>;
        /// For those who read the session.
        notes: Prose =>;
    }

    /// One field session: one outing.
    FIELD field: Field in Field, One; {
        /// Version of the plan language; absent: 1.
        format: Whole(1, 1) =>;
        /// The day.
        date: Date => required, shows Day;
        /// The plan whose channels, sites and repeaters the trials name, as a path from this file.
        plan: Path(FileKind::Plan, &[]) =>;
        /// Wind, rain, leaves on the trees.
        weather: Prose =>;
        /// For those who read the session.
        notes: Prose =>;
    }

    /// One transmission that somebody listened for.
    TRIAL trial: Trial in Field, Any; {
        /// Channel that it was sent on.
        channel: Refer(&[K::Channel], &[]) => required, shows Trial;
        /// Where the sender was.
        from: Part(&TRIAL_POSITION) =>, shows Trial;
        /// Site that the sender was at, instead of `from`.
        site: Refer(&[K::Site], &[]) =>;
        /// Where the listener was.
        to: Part(&TRIAL_POSITION) =>, shows Trial;
        /// Distance between them, instead of `to`.
        distance_km: Number(0.0, 20_000.0) =>, shows Trial;
        /// Repeater that it went through: two legs.
        via: Refer(&[K::Repeater], &[]) =>;
        /// What lies between them.
        path: Word(&["line-of-sight", "obstructed", "urban", "indoor"]) =>;
        /// Whether it was heard.
        heard: Truth => required, shows Trial;
        /// Delivered audio quality at the listener, 1 to 5 (TIA TSB-88).
        daq: Number(1.0, 5.0) =>, shows Quality;
        /// Delivered audio quality of the answer, 1 to 5 (TIA TSB-88).
        daq_back: Number(1.0, 5.0) =>, shows Quality;
        /// Signal strength at the listener.
        rssi_dbm: Number(-180.0, 30.0) =>, shows Trial;
        /// Bit error rate at the listener.
        ber_percent: Number(0.0, 100.0) =>;
        /// For those who read the session.
        notes: Prose =>;
    }

    /// Where somebody stood.
    TRIAL_POSITION trial__position: Part in Field, Part; {
        /// North positive, WGS 84.
        latitude: LATITUDE =>;
        /// East positive, WGS 84.
        longitude: LONGITUDE =>;
        /// Height of the antenna above ground.
        antenna_m: Number(0.0, 1000.0) =>;
    }
}
