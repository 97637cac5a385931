//! The conditions of a radio service: bands, channels, widths, power, emissions, each with its source.
//!
//! [`Terms`] is plain data; [`Regime::new`] checks it. [`built_in`] has the published services. A computed check is no
//! license: the license and the regulation in force decide.

use std::borrow::Cow;
use std::fmt;
use std::sync::LazyLock;

use crate::convention::{PairConvention, PublishedRaster, RadioKind};
use crate::emission::Kind;
use crate::frequency::{Band, Hertz};
use crate::power::{AntennaChain, LimitVerdict, Output, Power, PowerLimit};
use crate::source::Source;

mod amateur;
mod europe_446;
mod land_mobile;
mod maritime;
mod personal;

/// A value with the place where it is published.
#[derive(Debug, Clone, PartialEq)]
pub struct Cited<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub source: Source,
}

impl<T> Cited<T> {
    /// `value` as `source` has it.
    pub const fn new(value: T, source: Source) -> Cited<T> {
        Cited { value, source }
    }
}

/// A day of the Gregorian calendar; days compare in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

impl Date {
    /// A day that exists.
    pub const fn new(year: u16, month: u8, day: u8) -> Option<Date> {
        let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let days = match month {
            2 if leap => 29,
            2 => 28,
            4 | 6 | 9 | 11 => 30,
            1..=12 => 31,
            _ => return None,
        };
        if day == 0 || day > days { None } else { Some(Date { year, month, day }) }
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// When a term is in force. An open end is no limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Period {
    /// First day.
    pub from: Option<Date>,
    /// First day no longer.
    pub until: Option<Date>,
}

impl Period {
    /// Always in force.
    pub const ALWAYS: Period = Period { from: None, until: None };

    /// Whether `day` is in the period.
    pub fn holds(self, day: Date) -> bool {
        self.from.is_none_or(|it| it <= day) && self.until.is_none_or(|it| day < it)
    }

    fn is_empty(self) -> bool {
        matches!((self.from, self.until), (Some(from), Some(until)) if from >= until)
    }
}

/// What kind of station sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Station {
    /// Carried by hand.
    Handheld,
    /// In a vehicle or vessel.
    Mobile,
    /// At a fixed place, working with mobiles.
    Base,
    /// Repeats what it receives.
    Repeater,
    /// At a fixed place, working with other fixed stations.
    Fixed,
    /// At a fixed place, working through a repeater.
    Control,
}

impl Station {
    /// What a radio of `kind` may be used as: a base radio works as a base, a fixed or a control station.
    pub const fn possible(kind: RadioKind) -> &'static [Station] {
        match kind {
            RadioKind::Handheld => &[Station::Handheld],
            RadioKind::Mobile => &[Station::Mobile],
            RadioKind::Base => &[Station::Base, Station::Control, Station::Fixed],
            RadioKind::Repeater => &[Station::Repeater],
        }
    }
}

impl fmt::Display for Station {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Station::Handheld => "hand-held",
            Station::Mobile => "mobile",
            Station::Base => "base",
            Station::Repeater => "repeater",
            Station::Fixed => "fixed",
            Station::Control => "control",
        })
    }
}

/// How one comes to be allowed to transmit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Licensing {
    /// A license that names frequencies, powers and emissions.
    Assigned,
    /// A personal license for the whole service.
    Personal,
    /// A license that needs an examination.
    Amateur,
    /// A ship or coast station license.
    Ship,
    /// No license while the rules are kept.
    ByRule,
}

/// Whether speech may be obscured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PrivacyRule {
    /// Allowed; identification must be sent in clear.
    IdentifyInClear,
    /// Not allowed.
    Barred,
    /// Nothing is said here.
    Unstated,
}

/// How a station says who it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Identification {
    /// At least this often in continuous use, minutes.
    pub every_min: u16,
    /// Digital or obscured traffic must be identified by clear analog voice or Morse.
    pub in_clear: bool,
}

/// The widest emission.
#[derive(Debug, Clone, PartialEq)]
pub struct WidthRule {
    /// Necessary bandwidth at most.
    pub most: Hertz,
    /// When it is in force.
    pub period: Period,
    /// What it does not reach, for the message.
    pub except: Option<Cow<'static, str>>,
    /// Where it stands.
    pub source: Source,
}

/// The highest power.
#[derive(Debug, Clone, PartialEq)]
pub struct StationLimit {
    /// Whom it binds; empty: every station.
    pub stations: Vec<Station>,
    /// The limit with its kind.
    pub limit: PowerLimit,
    /// When it is in force.
    pub period: Period,
    /// Where it stands.
    pub source: Source,
}

/// The least frequency stability.
#[derive(Debug, Clone, PartialEq)]
pub struct StabilityRule {
    /// Whom it binds; empty: every station.
    pub stations: Vec<Station>,
    /// Widest emission that it is for; absent: every width. The narrowest that fits counts.
    pub up_to: Option<Hertz>,
    /// Parts in a million.
    pub ppm: f64,
    /// Where it stands.
    pub source: Source,
}

/// Conditions of one band or channel that are not those of its whole service.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Local {
    /// Where it says that radios may listen only.
    pub listen_only: Option<Source>,
    /// The only emissions allowed; absent: as the service says.
    pub emissions: Option<Cited<Vec<Kind>>>,
    /// Whether users unknown share it; absent: as the service says.
    pub shared: Option<bool>,
    /// The only stations that may send, for a band; absent: every one.
    pub stations: Option<Cited<Vec<Station>>>,
}

/// Spectrum in which the service may use any carrier (on its rasters).
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceBand {
    /// Its edges.
    pub band: Band,
    /// What holds in it alone.
    pub local: Local,
    /// Widths; the narrowest in force counts. None: not stated.
    pub widths: Vec<WidthRule>,
    /// Powers; all in force count. None: not stated.
    pub limits: Vec<StationLimit>,
    /// Stability.
    pub stability: Vec<StabilityRule>,
    /// Where the edges stand.
    pub source: Source,
}

/// What a channel of a table is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ChannelUse {
    /// Send and receive on it.
    Simplex,
    /// A repeater sends on it; simplex is allowed too.
    OutputOrSimplex,
    /// Only to reach a repeater.
    RepeaterInput,
    /// The ship's side of a pair.
    ShipSide,
    /// The coast station's side of a pair.
    CoastSide,
}

/// One carrier of a channel table. Carriers are the key: numbers differ between printings.
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceChannel {
    /// What the table calls it.
    pub label: Cow<'static, str>,
    /// Its carrier.
    pub carrier: Hertz,
    /// What it is for.
    pub usage: ChannelUse,
    /// Who may send; empty: every station.
    pub stations: Cited<Vec<Station>>,
    /// Widths; the narrowest in force counts.
    pub widths: Vec<WidthRule>,
    /// Powers; all in force count.
    pub limits: Vec<StationLimit>,
    /// Stability.
    pub stability: Vec<StabilityRule>,
    /// What holds on it alone.
    pub local: Local,
    /// What a message should add.
    pub note: Option<Cow<'static, str>>,
    /// Where the carrier stands.
    pub source: Source,
}

/// Everything about a service, unchecked.
#[derive(Debug, Clone, PartialEq)]
pub struct Terms {
    /// What a plan calls it.
    pub name: Cow<'static, str>,
    /// What a reader calls it.
    pub title: Cow<'static, str>,
    /// How one comes to transmit.
    pub licensing: Licensing,
    /// Whether channels are shared with users unknown.
    pub shared: bool,
    /// Basis of the claim that the service has no carriers but these.
    pub coverage: Source,
    /// Bands with free choice of carrier.
    pub bands: Vec<ServiceBand>,
    /// Channels of a table.
    pub channels: Vec<ServiceChannel>,
    /// Rasters in the bands.
    pub rasters: Vec<PublishedRaster>,
    /// Published pairs.
    pub pairs: Vec<PairConvention>,
    /// Where repeaters may neither send nor receive.
    pub repeater_excluded: Vec<Cited<Band>>,
    /// Whether repeaters exist in the service.
    pub repeaters: Cited<bool>,
    /// The only emissions allowed; absent: no such list.
    pub emissions: Option<Cited<Vec<Kind>>>,
    /// Whether speech may be obscured.
    pub privacy: Cited<PrivacyRule>,
    /// Identification; absent: none is required.
    pub identification: Option<Cited<Identification>>,
    /// Whether the antenna may be removable.
    pub removable_antenna: Cited<bool>,
    /// Longest transmission, seconds.
    pub longest_transmission_s: Option<Cited<u32>>,
}

/// Why terms were refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RegimeError {
    /// No name.
    #[error("a regime needs a name")]
    Name,
    /// Two bands share spectrum.
    #[error("the bands {first} and {second} overlap; make them meet or merge them")]
    OverlappingBands {
        /// The lower band.
        first: Band,
        /// The other.
        second: Band,
    },
    /// One carrier twice.
    #[error("the carrier {carrier} MHz stands twice in the channel table")]
    RepeatedCarrier {
        /// The carrier.
        carrier: Hertz,
    },
    /// A carrier at or under zero.
    #[error("channel {label} has no carrier above 0 Hz")]
    NoCarrier {
        /// The channel.
        label: String,
    },
    /// A width at or under zero.
    #[error("a width of {most} MHz is not above zero")]
    NoWidth {
        /// The width.
        most: Hertz,
    },
    /// A period that ends before it begins.
    #[error("a term ends before it begins; correct its dates")]
    EmptyPeriod,
    /// A stability outside 0.001 to 1000.
    #[error("a stability must be from 0.001 to 1000 ppm")]
    Stability,
    /// Nothing to transmit on.
    #[error("a regime needs a band or a channel")]
    Nothing,
}

/// Where a carrier lies in a service.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Place<'r> {
    /// On a channel of its table.
    Channel(&'r ServiceChannel),
    /// In a band with free choice of carrier.
    Band(&'r ServiceBand),
    /// Within 100 kHz of a channel, on none.
    BetweenChannels(&'r ServiceChannel),
    /// Nowhere near.
    Outside,
}

/// How near a carrier must be to a channel to be taken for a slip.
const NEAR: Hertz = Hertz(100_000);

/// A service whose terms are in order.
#[derive(Debug, Clone, PartialEq)]
pub struct Regime {
    terms: Terms,
}

impl Regime {
    /// Checks `terms` and orders bands and channels by frequency.
    ///
    /// # Errors
    /// See [`RegimeError`].
    pub fn new(mut terms: Terms) -> Result<Regime, RegimeError> {
        if terms.name.trim().is_empty() {
            return Err(RegimeError::Name);
        }
        if terms.bands.is_empty() && terms.channels.is_empty() {
            return Err(RegimeError::Nothing);
        }
        terms.bands.sort_by_key(|it| it.band);
        terms.channels.sort_by_key(|it| it.carrier);
        check_bands(&terms.bands)?;
        check_channels(&terms.channels)?;
        Ok(Regime { terms })
    }

    /// The terms, bands and channels by rising frequency.
    pub const fn terms(&self) -> &Terms {
        &self.terms
    }

    /// Where `carrier` lies.
    pub fn place(&self, carrier: Hertz) -> Place<'_> {
        let channels = &self.terms.channels;
        if let Ok(at) = channels.binary_search_by_key(&carrier, |it| it.carrier) {
            return Place::Channel(&channels[at]);
        }
        if let Some(band) = self.terms.bands.iter().find(|it| it.band.contains(carrier)) {
            return Place::Band(band);
        }
        let nearest = channels.iter().min_by_key(|it| it.carrier.spacing(carrier));
        nearest.filter(|it| it.carrier.spacing(carrier) <= NEAR).map_or(Place::Outside, Place::BetweenChannels)
    }

    /// The list that bars `kind` (F and G alike) at `place`: the band's or channel's own, else the service's.
    pub fn bars_emission<'r>(&'r self, place: Place<'r>, kind: Kind) -> Option<&'r Source> {
        let own = place.local().and_then(|local| local.emissions.as_ref());
        let list = own.or(self.terms.emissions.as_ref())?;
        (!list.value.iter().any(|it| it.same(kind))).then_some(&list.source)
    }

    /// Whether users unknown share a carrier.
    pub fn is_shared(&self, place: Place<'_>) -> bool {
        place.local().and_then(|local| local.shared).unwrap_or(self.terms.shared)
    }

    /// The first segment closed to repeaters that `occupied` reaches into.
    pub fn repeater_exclusion(&self, occupied: Band) -> Option<&Cited<Band>> {
        self.terms.repeater_excluded.iter().find(|it| it.value.overlaps(occupied))
    }

    /// The raster that governs a carrier of `width`, the one for that very width first.
    pub fn raster(&self, carrier: Hertz, width: Hertz) -> Option<&PublishedRaster> {
        let here = || self.terms.rasters.iter().filter(|it| it.band.contains(carrier));
        here().find(|it| it.width == Some(width)).or_else(|| here().find(|it| it.width.is_none()))
    }
}

impl<'r> Place<'r> {
    /// What holds here alone; none outside of bands and channels.
    pub fn local(self) -> Option<&'r Local> {
        match self {
            Place::Channel(it) => Some(&it.local),
            Place::Band(it) => Some(&it.local),
            Place::BetweenChannels(_) | Place::Outside => None,
        }
    }

    /// Where it says that radios may listen only here.
    pub fn listen_only(self) -> Option<&'r Source> {
        self.local().and_then(|local| local.listen_only.as_ref())
    }

    fn widths(self) -> &'r [WidthRule] {
        match self {
            Place::Channel(it) => &it.widths,
            Place::Band(it) => &it.widths,
            Place::BetweenChannels(_) | Place::Outside => &[],
        }
    }

    fn limits(self) -> &'r [StationLimit] {
        match self {
            Place::Channel(it) => &it.limits,
            Place::Band(it) => &it.limits,
            Place::BetweenChannels(_) | Place::Outside => &[],
        }
    }

    /// The narrowest width in force on `day`.
    pub fn width_rule(self, day: Date) -> Option<&'r WidthRule> {
        self.widths().iter().filter(|it| it.period.holds(day)).min_by_key(|it| it.most)
    }

    /// The source that bars every one of `stations` from sending here, such as those of [`Station::possible`].
    pub fn bars(self, stations: &[Station]) -> Option<&'r Source> {
        let list = match self {
            Place::Channel(it) => &it.stations,
            Place::Band(it) => it.local.stations.as_ref()?,
            Place::BetweenChannels(_) | Place::Outside => return None,
        };
        (!stations.iter().any(|one| binds(&list.value, *one))).then_some(&list.source)
    }

    /// The power limit that `transmitter` is over as any of `stations`, with the excess: as whichever of them the excess is
    /// least. `None` when it is within the limits, or not known to be over, as at least one of them.
    pub fn power_over(self, stations: &[Station], transmitter: Transmitter, day: Date) -> Option<PowerOver<'r>> {
        let over = stations.iter().map(|it| self.most_over(*it, transmitter, day)).collect::<Option<Vec<_>>>()?;
        over.into_iter().min_by(|a, b| a.by_db.total_cmp(&b.by_db))
    }

    /// Every power limit on `station` in force on `day`.
    pub fn power_limits(self, station: Station, day: Date) -> impl Iterator<Item = &'r StationLimit> {
        self.limits().iter().filter(move |it| it.period.holds(day) && binds(&it.stations, station))
    }

    fn most_over(self, station: Station, transmitter: Transmitter, day: Date) -> Option<PowerOver<'r>> {
        let judged = self.power_limits(station, day).filter_map(|limit| {
            match limit.limit.judge(transmitter.output, transmitter.antenna) {
                LimitVerdict::Over { actual_w, by_db } => Some(PowerOver { limit, station, actual_w, by_db }),
                LimitVerdict::Within { .. } | LimitVerdict::NotKnown => None,
            }
        });
        judged.max_by(|a, b| a.by_db.total_cmp(&b.by_db))
    }

    /// The stability asked of `station` for an emission of `width`.
    pub fn stability(self, station: Station, width: Hertz) -> Option<&'r StabilityRule> {
        let rules = match self {
            Place::Channel(it) => &it.stability,
            Place::Band(it) => &it.stability,
            Place::BetweenChannels(_) | Place::Outside => return None,
        };
        let fits = |it: &&StabilityRule| binds(&it.stations, station) && it.up_to.is_none_or(|most| width <= most);
        rules.iter().filter(fits).min_by_key(|it| it.up_to.map_or(i64::MAX, Hertz::get))
    }
}

/// A transmitter and what it feeds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transmitter {
    /// Power at the connector while keyed.
    pub output: Power<Output>,
    /// Antenna and feedline; absent: not known.
    pub antenna: Option<AntennaChain>,
}

/// A limit that is exceeded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerOver<'r> {
    /// The limit.
    pub limit: &'r StationLimit,
    /// The station that it was judged as.
    pub station: Station,
    /// The transmitter's power in the limit's kind, W.
    pub actual_w: f64,
    /// How far over, dB.
    pub by_db: f64,
}

fn binds(stations: &[Station], station: Station) -> bool {
    stations.is_empty() || stations.contains(&station)
}

fn check_bands(bands: &[ServiceBand]) -> Result<(), RegimeError> {
    for pair in bands.windows(2) {
        let (first, second) = (pair[0].band, pair[1].band);
        if first.overlaps(second) {
            return Err(RegimeError::OverlappingBands { first, second });
        }
    }
    for band in bands {
        check_rules(&band.widths, &band.limits, &band.stability)?;
    }
    Ok(())
}

fn check_channels(channels: &[ServiceChannel]) -> Result<(), RegimeError> {
    if let Some(twice) = channels.windows(2).find(|it| it[0].carrier == it[1].carrier) {
        return Err(RegimeError::RepeatedCarrier { carrier: twice[0].carrier });
    }
    for channel in channels {
        if channel.carrier.get() <= 0 {
            return Err(RegimeError::NoCarrier { label: channel.label.to_string() });
        }
        check_rules(&channel.widths, &channel.limits, &channel.stability)?;
    }
    Ok(())
}

fn check_rules(widths: &[WidthRule], limits: &[StationLimit], stability: &[StabilityRule]) -> Result<(), RegimeError> {
    if !stability.iter().all(|it| (0.001..=1000.0).contains(&it.ppm)) {
        return Err(RegimeError::Stability);
    }
    if let Some(rule) = widths.iter().find(|it| it.most.get() <= 0) {
        return Err(RegimeError::NoWidth { most: rule.most });
    }
    let mut periods = widths.iter().map(|it| it.period).chain(limits.iter().map(|it| it.period));
    if periods.any(Period::is_empty) { Err(RegimeError::EmptyPeriod) } else { Ok(()) }
}

/// The published services that are built in, by name.
pub fn built_in(name: &str) -> Option<&'static Regime> {
    BUILT_IN.iter().find(|it| it.terms.name == name)
}

/// The names of the built-in services.
pub fn built_in_names() -> impl Iterator<Item = &'static str> {
    BUILT_IN.iter().map(|it| it.terms.name.as_ref())
}

// Terms that do not check are left out; a test holds that there are none.
static BUILT_IN: LazyLock<Vec<Regime>> = LazyLock::new(|| built_in_terms().into_iter().flat_map(Regime::new).collect());

fn built_in_terms() -> Vec<Terms> {
    vec![
        land_mobile::part_90(),
        personal::family(),
        personal::general_mobile(),
        personal::multi_use(),
        amateur::part_97(),
        europe_446::europe_446(),
        maritime::maritime_vhf(),
    ]
}

/// One width, always in force.
fn width(most: Hertz, source: Source) -> Vec<WidthRule> {
    vec![WidthRule { most, period: Period::ALWAYS, except: None, source }]
}

#[cfg(test)]
#[path = "regime_tests.rs"]
mod tests;
