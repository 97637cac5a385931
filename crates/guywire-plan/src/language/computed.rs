//! What can be computed from a value beside the text: the language table says which of these a key has, and whoever shows
//! values asks the table.

/// Defines [`Computed`]: each with whether it is of the whole table, its word in the reference, and what it shows.
macro_rules! computations {
    ($( $(#[doc = $doc:literal])+ $name:ident $of_table:literal, $word:literal: $shows:literal; )+) => {
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

            /// Whether it says what the whole table comes to that the value stands in.
            pub const fn is_of_table(self) -> bool {
                match self { $( Computed::$name => $of_table ),+ }
            }
        }
    };
}

computations! {
    /// Of a carrier.
    Carrier false, "carrier": "wavelength, quarter wave, place in the service, raster, pair, band occupied, what it is near";
    /// Of an edge of a range of frequencies.
    Edge false, "edge": "middle and width of the range, in percent too, wavelengths at its edges";
    /// Of a channel width.
    Width false, "width": "necessary bandwidth, usual designators, limit of the service";
    /// Of a radio service.
    Service false, "service": "how one comes to transmit, sharing, identification, privacy, repeaters, emissions, with sources";
    /// Of an emission designator.
    Emission false, "emission": "the designator in words, edges around the carrier";
    /// Of a squelch tone or code.
    Tone false, "tone": "canonical form, code word, inverse twin, nearest standard tones, what it is confused with";
    /// Of a color code.
    ColorCode false, "color code": "the code in words, repeaters that have it";
    /// Of a time slot.
    Slot false, "slot": "the slot in words";
    /// Of the address of a unit.
    UnitId false, "unit id": "hexadecimal, range, who else has it";
    /// Of the number of a talkgroup.
    TalkgroupId false, "talkgroup id": "hexadecimal, range, who else has it";
    /// Of a power in watts.
    Power false, "power": "dBm";
    /// Of the output power of a repeater, or what stands between it and the air.
    Radiated false, "radiated power": "dBm, ERP, EIRP, limits of service and license, distance of exposure";
    /// Of the limit of a power in a license or a service.
    PowerLimit false, "power limit": "dBm of its kind, and the same power in the other radiated kind";
    /// Of the rated power of a level.
    Rating false, "rating": "dBm, window of the tolerance, ERP with the model's antenna";
    /// Of a power level by name.
    Level false, "level": "what the level is on each model that holds the channel";
    /// Of the gain of an antenna.
    Gain false, "gain": "over a half-wave dipole";
    /// Of a loss.
    Loss false, "loss": "share of the power that is left";
    /// Of the sensitivity of a receiver.
    Sensitivity false, "sensitivity": "microvolts, level for readable speech";
    /// Of the voltage at which a receiver opens.
    Microvolts false, "microvolts": "dBm, against the model's sensitivity";
    /// Of a frequency stability.
    Stability false, "stability": "error in hertz at the top of each band";
    /// Of currents and charge.
    Battery false, "battery": "mean current and hours at the customary or required duty";
    /// Of a delivered audio quality.
    Quality false, "audio quality": "what a listener hears";
    /// Of a distance over the ground.
    Range false, "range": "heights of antenna for a radio horizon as far";
    /// Of a day.
    Day false, "day": "days from the day by which the plan is judged";
    /// Of the day from which a meter's calibration counts.
    Calibration false, "calibration": "the day on which it ends, and whether it held on the day of the session";
    /// Of a channel.
    Channel true, "channel": "frequencies, split, color code, slot, target, service, license, who holds it";
    /// Of a repeater.
    Repeater true, "repeater": "split, convention, ERP, radio horizon, exposure, who uses it";
    /// Of a site.
    Site true, "site": "radio horizon, distance and bearing of the other sites, what stands there";
    /// Of a license.
    License true, "license": "days left, assignments, channels and repeaters that it covers";
    /// Of what a license assigns.
    Assignment false, "assignment": "edges, emissions in words, channels and repeaters that it covers";
    /// Of a talkgroup.
    Talkgroup true, "talkgroup": "number, who calls it, who hears it, where it is carried";
    /// Of the target of an individual call.
    Contact true, "contact": "address, whose it is";
    /// Of a receive group.
    ReceiveGroup true, "receive group": "its talkgroups with numbers, channels that listen with it";
    /// Of a privacy key.
    Key true, "key": "algorithm in words, days left, check value, who uses it; never the material";
    /// Of a zone.
    Zone true, "zone": "positions of the knob, radios";
    /// Of a position of the knob.
    Position false, "position": "position of the knob";
    /// Of a scan list.
    ScanList true, "scan list": "members, priorities, where push-to-talk answers";
    /// Of what happens in an emergency.
    Emergency true, "emergency": "what goes out, to whom, on which channel";
    /// Of a class of radios.
    Profile true, "profile": "radios, zones, models";
    /// Of a radio.
    Radio true, "radio": "address, model, zones with channels, where it stands by";
    /// Of a bench reading.
    Reading false, "reading": "dBm, power at the radio with the meter's error, verdict on the rating";
    /// Of the power that came back.
    Reflected false, "reflected power": "standing wave ratio, return loss, mismatch loss";
    /// Of a carrier's error.
    FrequencyError false, "frequency error": "parts in a million, against the model's stability";
    /// Of a meter.
    Meter false, "meter": "its error in watts, the least power that it resolves";
    /// Of a field trial.
    Trial false, "trial": "distance, bearing, free-space loss, radio horizon, Fresnel zone, level expected";
}
