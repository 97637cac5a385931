//! What can be computed from a value beside the text: the language table says which of these a key has, and whoever shows
//! values asks the table.

/// Defines [`Computed`]: each with its word in the reference and what it shows.
macro_rules! computations {
    ($( $(#[doc = $doc:literal])+ $name:ident, $word:literal: $shows:literal; )+) => {
        /// One computation. A key may have several; they are shown in the order of the table.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Computed { $( $(#[doc = $doc])+ $name ),+ }

        impl Computed {
            /// Every computation, in the order of the reference.
            pub const ALL: &[Computed] = &[ $( Computed::$name ),+ ];

            /// Its word in the reference.
            pub const fn word(self) -> &'static str {
                match self { $( Computed::$name => $word ),+ }
            }

            /// What it shows.
            pub const fn shows(self) -> &'static str {
                match self { $( Computed::$name => $shows ),+ }
            }
        }
    };
}

computations! {
    /// Of a carrier.
    Carrier, "carrier": "wavelength, quarter wave, place in the service, raster, pair, band occupied, what it is near";
    /// Of an edge of a range of frequencies.
    Edge, "edge": "middle and width of the range, in percent too, wavelengths at its edges";
    /// Of a channel width.
    Width, "width": "necessary bandwidth, usual designators, limit of the service";
    /// Of an emission designator.
    Emission, "emission": "the designator in words, edges around the carrier";
    /// Of a squelch tone or code.
    Tone, "tone": "canonical form, code word, inverse twin, nearest standard tones, what it is confused with";
    /// Of a color code.
    ColorCode, "color code": "the code in words, repeaters that have it";
    /// Of a time slot.
    Slot, "slot": "the slot in words";
    /// Of the address of a unit.
    UnitId, "unit id": "hexadecimal, range, who else has it";
    /// Of the number of a talkgroup.
    TalkgroupId, "talkgroup id": "hexadecimal, range, who else has it";
    /// Of a power in watts.
    Power, "power": "dBm";
    /// Of the output power of a repeater, or what stands between it and the air.
    Radiated, "radiated power": "dBm, ERP, EIRP, limits of service and license, distance of exposure";
    /// Of the limit of a power in a license or a service.
    PowerLimit, "power limit": "dBm of its kind, and the same power in the other radiated kind";
    /// Of the rated power of a level.
    Rating, "rating": "dBm, window of the tolerance, ERP with the model's antenna";
    /// Of a power level by name.
    Level, "level": "what the level is on each model that holds the channel";
    /// Of the gain of an antenna.
    Gain, "gain": "over a half-wave dipole";
    /// Of a loss.
    Loss, "loss": "share of the power that is left";
    /// Of the sensitivity of a receiver.
    Sensitivity, "sensitivity": "microvolts, level for readable speech";
    /// Of the voltage at which a receiver opens.
    Microvolts, "microvolts": "dBm, against the model's sensitivity";
    /// Of a frequency stability.
    Stability, "stability": "error in hertz at the top of each band";
    /// Of currents and charge.
    Battery, "battery": "mean current and hours at the customary or required duty";
    /// Of a delivered audio quality.
    Quality, "audio quality": "what a listener hears";
    /// Of a distance over the ground.
    Range, "range": "heights of antenna for a radio horizon as far";
    /// Of a day.
    Day, "day": "days from the day by which the plan is judged";
    /// Of the day from which a meter's calibration counts.
    Calibration, "calibration": "the day on which it ends, and whether it held on the day of the session";
    /// Of a channel.
    Channel, "channel": "frequencies, split, color code, slot, target, service, license, who holds it";
    /// Of a repeater.
    Repeater, "repeater": "split, convention, ERP, radio horizon, exposure, who uses it";
    /// Of a site.
    Site, "site": "radio horizon, distance and bearing of the other sites, what stands there";
    /// Of a license.
    License, "license": "days left, assignments, channels and repeaters that it covers";
    /// Of what a license assigns.
    Assignment, "assignment": "edges, emissions in words, channels and repeaters that it covers";
    /// Of a talkgroup.
    Talkgroup, "talkgroup": "number, who calls it, who hears it, where it is carried";
    /// Of the target of an individual call.
    Contact, "contact": "address, whose it is";
    /// Of a receive group.
    ReceiveGroup, "receive group": "its talkgroups with numbers, channels that listen with it";
    /// Of a privacy key.
    Key, "key": "algorithm in words, days left, check value, who uses it; never the material";
    /// Of a zone.
    Zone, "zone": "positions of the knob, radios";
    /// Of a position of the knob.
    Position, "position": "position of the knob";
    /// Of a scan list.
    ScanList, "scan list": "members, priorities, where push-to-talk answers";
    /// Of what happens in an emergency.
    Emergency, "emergency": "what goes out, to whom, on which channel";
    /// Of a class of radios.
    Profile, "profile": "radios, zones, models";
    /// Of a radio.
    Radio, "radio": "address, model, zones with channels, where it stands by";
    /// Of a bench reading.
    Reading, "reading": "dBm, power at the radio with the meter's error, verdict on the rating";
    /// Of the power that came back.
    Reflected, "reflected power": "standing wave ratio, return loss, mismatch loss";
    /// Of a carrier's error.
    FrequencyError, "frequency error": "parts in a million, against the model's stability";
    /// Of a meter.
    Meter, "meter": "its error in watts, the least power that it resolves";
    /// Of a field trial.
    Trial, "trial": "distance, bearing, free-space loss, radio horizon, Fresnel zone, level expected";
}
