//! Tables of `*.regime.toml`: the conditions of a radio service.

use super::super::Type::*;
use super::WATTS;
use crate::table;

/// How well a condition is established; only the first three carry an error.
const STANDINGS: &[&str] = &["confirmed", "secondary", "computed", "memory", "common-practice"];
/// Kinds of power that services limit.
const POWER_KINDS: &[&str] = &["erp", "eirp", "output", "pep"];
/// Classes of station that services tell apart.
const STATIONS: &[&str] = &["handheld", "mobile", "base", "repeater", "fixed", "control"];
/// Whether a frequency is a user's own.
const USES: &[&str] = &["exclusive", "shared"];

table! {
    /// A radio service. What stands here holds in all its bands, unless a band or channel says otherwise.
    REGIME regime: Regime in Regime, One; {
        /// Version of the plan language; absent: 1.
        format: Whole(1, 1) =>;
        /// What findings and reports call it.
        name: Name => required;
        /// The rule or decision that its conditions stand in.
        source: Text =>;
        /// How well they are established; absent: `confirmed`.
        standing: Word(STANDINGS) =>;
        /// Region of the International Telecommunication Union (ITU Radio Regulations, Article 5).
        itu_region: Whole(1, 3) =>;
        /// What it takes to transmit: nothing, a license for shared or assigned frequencies, or a qualified operator.
        license: Word(&["exempt", "shared", "assigned", "operator"]) =>;
        /// Whether users share its frequencies; absent: as the license says.
        r#use: Word(USES) =>;
        /// Whether speech may be made unintelligible; absent: `true`.
        privacy_permitted: Truth =>;
        /// Longest time between station identifications; absent: none are asked for.
        station_id_s: Whole(0, 86_400) =>;
        /// Whether the identification must be in clear analog speech or Morse code; absent: `false`.
        station_id_in_clear: Truth =>;
        /// Longest transmission; absent: no limit.
        time_out_s: Whole(0, 3600) =>;
        /// Whether the antenna of a radio may be removable; absent: `true`.
        removable_antenna: Truth =>;
        /// Frequency tolerance, either way.
        stability_ppm: Number(0.0, 1000.0) =>;
        /// For those who read the regime.
        notes: Prose =>;
    }

    /// A range of frequencies with conditions of its own.
    REGIME_BAND regime__band: RegimeBand in Regime, Any; {
        /// What findings call it.
        name: Text =>;
        /// Lower edge, which no emission may pass.
        low_mhz: Megahertz => required, shows Edge;
        /// Upper edge, which no emission may pass.
        high_mhz: Megahertz => required, shows Edge;
        /// `false` where radios may listen only; absent: `true`.
        transmit: Truth =>;
        /// `true` where only the carriers of `[[channel]]` are permitted; absent: `false`.
        channels_only: Truth =>;
        /// Carrier that the raster is counted from.
        raster_origin_mhz: Megahertz =>;
        /// Distance between carriers of the raster; absent: no raster.
        raster_step_khz: Kilohertz =>;
        /// Widest emission.
        max_bandwidth_khz: Kilohertz =>, shows Width;
        /// Emissions permitted: designators or their last three symbols (ITU Radio Regulations, App. 1); absent: any.
        emissions: List(&Text) =>, shows Emission;
        /// Most power of any station.
        max_power_w: WATTS =>, shows PowerLimit;
        /// What that power and those of `[[band.limit]]` count: effective or equivalent isotropic radiated power,
        /// transmitter output, or peak envelope power.
        power_kind: Word(POWER_KINDS) =>;
        /// Classes of station that may transmit; absent: all.
        stations: List(&Word(STATIONS)) =>;
        /// Whether users share it; absent: as the regime says.
        r#use: Word(USES) =>;
        /// Frequency tolerance, either way; absent: as the regime says.
        stability_ppm: Number(0.0, 1000.0) =>;
        /// Limits of one class of station.
        limit: Parts(&REGIME_LIMIT) =>;
        /// First day on which these conditions hold.
        valid_from: Date =>, shows Day;
        /// Last day on which these conditions hold.
        valid_until: Date =>, shows Day;
        /// The rule that they stand in; absent: the regime's.
        source: Text =>;
        /// How well they are established; absent: as the regime says.
        standing: Word(STANDINGS) =>;
        /// For those who read the regime.
        notes: Prose =>;
    }

    /// Limits of one class of station.
    REGIME_LIMIT regime__limit: Part in Regime, Part; {
        /// The class.
        station: Word(STATIONS) => required;
        /// Most power.
        max_power_w: WATTS =>, shows Power;
        /// What that power counts; absent: as the band or channel says.
        power_kind: Word(POWER_KINDS) =>;
        /// Highest antenna above ground.
        max_antenna_m: Number(0.0, 1000.0) =>;
        /// Frequency tolerance, either way.
        stability_ppm: Number(0.0, 1000.0) =>;
    }

    /// A channel of a service, with conditions of its own. Plans meet it by frequency, never by number.
    REGIME_CHANNEL regime__channel: RegimeChannel in Regime, Any; {
        /// Its number or name in the rule; series with the same numbers may stand side by side.
        name: Text => required;
        /// What radios receive.
        rx_mhz: Megahertz => required, shows Carrier;
        /// What radios transmit; absent: the same.
        tx_mhz: Megahertz =>, shows Carrier;
        /// `false` where radios may listen only; absent: `true`.
        transmit: Truth =>;
        /// What it is for.
        purpose: Text =>;
        /// Widest emission; absent: as the band says.
        max_bandwidth_khz: Kilohertz =>, shows Width;
        /// Emissions permitted: designators, or their last three symbols; absent: as the band says.
        emissions: List(&Text) =>, shows Emission;
        /// Most power of any station; absent: as the band says.
        max_power_w: WATTS =>, shows PowerLimit;
        /// What that power and those of `[[channel.limit]]` count; absent: as the band says.
        power_kind: Word(POWER_KINDS) =>;
        /// Classes of station that may transmit; absent: as the band says.
        stations: List(&Word(STATIONS)) =>;
        /// Whether users share it; absent: as the band says.
        r#use: Word(USES) =>;
        /// Limits of one class of station.
        limit: Parts(&REGIME_LIMIT) =>;
        /// First day on which these conditions hold.
        valid_from: Date =>, shows Day;
        /// Last day on which these conditions hold.
        valid_until: Date =>, shows Day;
        /// The rule that they stand in; absent: the regime's.
        source: Text =>;
        /// How well they are established; absent: as the regime says.
        standing: Word(STANDINGS) =>;
        /// For those who read the regime.
        notes: Prose =>;
    }

    /// Repeater outputs and the inputs that belong to them, each as far above its lower edge as the other.
    REGIME_PAIR regime__pair: RegimePair in Regime, Any; {
        /// Lowest output: what radios receive.
        output_low_mhz: Megahertz => required, shows Edge;
        /// Highest output.
        output_high_mhz: Megahertz => required, shows Edge;
        /// Input of the lowest output: what radios transmit.
        input_low_mhz: Megahertz => required;
        /// `true` where a rule sets it, `false` where a band plan or practice does; absent: `true`.
        binding: Truth =>;
        /// The rule or band plan that it stands in; absent: the regime's.
        source: Text =>;
        /// How well it is established; absent: as the regime says.
        standing: Word(STANDINGS) =>;
        /// For those who read the regime.
        notes: Prose =>;
    }
}
