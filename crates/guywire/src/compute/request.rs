//! What may be asked.

use guywire_radio::Hertz;
use serde::{Deserialize, Deserializer};

/// A frequency written in MHz, read exactly.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mhz(pub Hertz);

/// A width written in kHz, read exactly.
#[derive(Debug, Clone, Copy)]
pub(super) struct Khz(pub Hertz);

impl<'de> Deserialize<'de> for Mhz {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        // The shortest decimal that reads as the same number is what was written.
        let text = f64::deserialize(from)?.to_string();
        Hertz::from_mhz_text(&text).map(Mhz).map_err(serde::de::Error::custom)
    }
}

impl<'de> Deserialize<'de> for Khz {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = f64::deserialize(from)?.to_string();
        Hertz::from_khz_text(&text).map(Khz).map_err(serde::de::Error::custom)
    }
}

/// A carrier with its width.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WithWidth {
    pub frequency_mhz: Mhz,
    pub bandwidth_khz: Khz,
}

/// Who is exposed.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Who {
    Public,
    Workers,
}

/// A coaxial line.
#[derive(Debug, Clone, Copy, Deserialize)]
pub(super) enum Line {
    #[serde(rename = "RG-58")]
    Rg58,
    #[serde(rename = "RG-213")]
    Rg213,
    #[serde(rename = "RG-8 foam")]
    Rg8Foam,
}

/// Defines [`Request`] and the names of its variants.
macro_rules! requests {
    ($( $(#[doc = $doc:literal])+ $name:literal $variant:ident { $( $(#[$meta:meta])* $member:ident : $type:ty ),* $(,)? } )+) => {
        /// One request: which computation, and its numbers. Units are in the names.
        #[derive(Debug, Deserialize)]
        #[serde(tag = "compute", deny_unknown_fields)]
        pub(super) enum Request {
            $( $(#[doc = $doc])+ #[serde(rename = $name)] $variant { $( $(#[$meta])* $member: $type ),* } ),+
        }

        impl Request {
            /// The name of every computation.
            #[cfg(test)]
            pub(super) const NAMES: &[&str] = &[ $( $name ),+ ];
        }
    };
}

fn one() -> f64 {
    1.0
}

requests! {
    /// Wavelength and quarter wave in free space.
    "wavelength" Wavelength { frequency_mhz: Mhz }
    /// What an emission occupies around its carrier.
    "occupied-band" OccupiedBand {
        frequency_mhz: Mhz,
        bandwidth_khz: Khz,
        #[serde(default)]
        ppm: f64,
    }
    /// A CTCSS tone among the standard ones.
    "ctcss" Ctcss { hz: f64 }
    /// A DCS code on the air.
    "dcs" Dcs { code: String }
    /// The designator of a width and kind.
    "designator" Designator { bandwidth_hz: i64, kind: String }
    /// A designator in words.
    "emission" Emission { designator: String }
    /// Necessary bandwidth of FM telephony.
    "necessary-bandwidth" NecessaryBandwidth { modulating_hz: i64, deviation_hz: i64 }
    /// Watts and dBm.
    "power" Power { watts: Option<f64>, dbm: Option<f64> }
    /// ERP and EIRP.
    "radiated-power" RadiatedPower {
        watts: f64,
        gain_dbi: f64,
        #[serde(default)]
        loss_db: f64,
    }
    /// Loss in free space.
    "free-space-loss" FreeSpaceLoss { frequency_mhz: Mhz, distance_km: f64 }
    /// Loss over plane earth.
    "plane-earth-loss" PlaneEarthLoss { distance_km: f64, height_1_m: f64, height_2_m: f64 }
    /// The larger of both.
    "path-loss" PathLoss { frequency_mhz: Mhz, distance_km: f64, height_1_m: f64, height_2_m: f64 }
    /// Radio horizon over smooth earth.
    "radio-horizon" RadioHorizon { height_1_m: f64, height_2_m: f64 }
    /// Loss over one edge, and the Fresnel zone there.
    "knife-edge" KnifeEdge { frequency_mhz: Mhz, above_line_m: f64, distance_1_m: f64, distance_2_m: f64 }
    /// Distance and bearing on the ellipsoid.
    "geodesic" Geodesic { from: [f64; 2], to: [f64; 2] }
    /// Limit of exposure, and the distance at which it is met.
    "exposure" Exposure {
        frequency_mhz: Mhz,
        eirp_w: f64,
        exposed: Who,
        #[serde(default = "one")]
        transmit_share: f64,
        #[serde(default = "one")]
        burst_duty: f64,
        #[serde(default)]
        reflecting: bool,
    }
    /// Thermal noise behind a receiver's noise figure.
    "noise-floor" NoiseFloor {
        bandwidth_khz: Khz,
        #[serde(default)]
        noise_figure_db: f64,
    }
    /// Microvolts and dBm into 50 ohms.
    "microvolts" Microvolts { microvolts: f64 }
    /// Share of places where a margin suffices.
    "reliability" Reliability { margin_db: f64, spread_db: f64 }
    /// Chance of at least so many passes.
    "passes" Passes { passed: u32, tried: u32, share: f64 }
    /// Products of carriers that fall on a receiver.
    "intermodulation" Intermodulation {
        carriers: Vec<WithWidth>,
        receiver: WithWidth,
        #[serde(default)]
        fifth_order: bool,
    }
    /// Standing wave ratio and what it costs.
    "mismatch" Mismatch { forward_w: f64, reflected_w: f64 }
    /// Loss of a coaxial line.
    "feedline-loss" FeedlineLoss { line: Line, frequency_mhz: Mhz, length_m: f64 }
    /// Hours of a battery.
    "battery" Battery {
        mah: f64,
        transmit_ma: f64,
        receive_ma: f64,
        standby_ma: f64,
        transmit_percent: f64,
        receive_percent: f64,
    }
    /// A reading of a wattmeter against a rating.
    "bench-reading" BenchReading {
        watts: f64,
        full_scale_w: f64,
        accuracy_percent: f64,
        #[serde(default)]
        path_loss_db: f64,
        rated_w: f64,
        tolerance_db: f64,
    }
}
