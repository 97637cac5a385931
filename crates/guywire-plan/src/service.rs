//! A radio service read from a `*.regime.toml`, as the rules that judge carriers want it.

use std::borrow::Cow;

use guywire_radio::convention::{Force, PairConvention, PublishedRaster};
use guywire_radio::emission::Kind as EmissionKind;
use guywire_radio::frequency::Raster;
use guywire_radio::power::{PowerKind, PowerLimit};
use guywire_radio::regime::{
    ChannelUse, Cited, Date, Identification, Licensing, Local, Period, PrivacyRule, Regime, ServiceBand,
    ServiceChannel, StabilityRule, Station, StationLimit, Terms, WidthRule,
};
use guywire_radio::{Band, Hertz, Source, Standing};

use crate::language::{
    Field, Tabled, regime, regime__band as band, regime__channel as channel, regime__limit as limit,
    regime__pair as pair,
};
use crate::value::{Known, Record, Row, Stored};
use crate::view::{Ref, View};

/// Nothing can be said of the service: something in its file cannot be read, or contradicts itself. Rules about the file
/// say what.
struct Unread;

/// The service that a file describes, on the day by which it is judged; none where it cannot be read as a whole.
pub(crate) fn service(view: View<'_>, it: Ref<'_, regime::Table>) -> Option<Regime> {
    let terms = terms(view, it).ok()?;
    Regime::new(terms).ok()
}

fn terms(view: View<'_>, it: Ref<'_, regime::Table>) -> Result<Terms, Unread> {
    let file = view.file_of(it.id()).ok_or(Unread)?;
    let reader = Reader { view, today: view.today().and_then(day), whole: whole_of(view, it)? };
    let mut terms = reader.head(it)?;
    let bands = view.members::<band::Table>(file);
    for row in &bands {
        reader.band(*row, &mut terms)?;
    }
    for row in view.members::<channel::Table>(file) {
        reader.channel(row, &bands, &mut terms)?;
    }
    for row in view.members::<pair::Table>(file) {
        terms.pairs.push(reader.pair(row)?);
    }
    Ok(terms)
}

/// What holds in all of a service.
struct Whole {
    source: Source,
    stability_ppm: Option<f64>,
}

struct Reader<'v> {
    view: View<'v>,
    today: Option<Date>,
    whole: Whole,
}

/// The conditions that a band and a channel write alike.
struct Conditions<'v> {
    source: Source,
    period: Period,
    transmit: bool,
    width: Option<Hertz>,
    emissions: Option<Vec<EmissionKind>>,
    power_w: Option<f64>,
    power_kind: Option<PowerKind>,
    stations: Option<Vec<Station>>,
    shared: Option<bool>,
    stability_ppm: Option<f64>,
    limits: Vec<&'v Record>,
}

fn whole_of(view: View<'_>, it: Ref<'_, regime::Table>) -> Result<Whole, Unread> {
    let name = read(it.text(regime::name))?.map(|name| view.symbol(name).to_owned()).unwrap_or_default();
    let cite = read(it.text(regime::source))?.map_or(name, |cite| view.symbol(cite).to_owned());
    let standing = standing(view, read(it.text(regime::standing))?).unwrap_or(Standing::Confirmed);
    let source = Source { cite: cite.into(), standing };
    Ok(Whole { source, stability_ppm: read(it.number(regime::stability_ppm))? })
}

impl<'v> Reader<'v> {
    fn head(&self, it: Ref<'v, regime::Table>) -> Result<Terms, Unread> {
        let source = &self.whole.source;
        let name: Cow<'static, str> = self.view.symbol(read(it.text(regime::name))?.ok_or(Unread)?).to_owned().into();
        let licensing = match self.word(it, regime::license)? {
            Some("exempt") => Licensing::ByRule,
            Some("shared") => Licensing::Personal,
            Some("operator") => Licensing::Amateur,
            _ => Licensing::Assigned,
        };
        let shared = self.shared(it, regime::r#use)?.unwrap_or(licensing != Licensing::Assigned);
        let obscured = read(it.truth(regime::privacy_permitted))?;
        let in_clear = read(it.truth(regime::station_id_in_clear))?.unwrap_or(false);
        // Identifications are asked for in minutes; a shorter time counts as one.
        let every = read(it.whole(regime::station_id_s))?.filter(|seconds| *seconds > 0);
        let every = every.and_then(|seconds| u16::try_from((seconds / 60).max(1)).ok());
        let longest = read(it.whole(regime::time_out_s))?.and_then(|seconds| u32::try_from(seconds).ok());
        Ok(Terms {
            title: name.clone(),
            name,
            licensing,
            shared,
            coverage: source.clone(),
            bands: Vec::new(),
            channels: Vec::new(),
            rasters: Vec::new(),
            pairs: Vec::new(),
            repeater_excluded: Vec::new(),
            repeaters: Cited::new(true, source.clone()),
            emissions: None,
            privacy: Cited::new(
                if obscured == Some(false) { PrivacyRule::Barred } else { PrivacyRule::Unstated },
                source.clone(),
            ),
            identification: every.map(|every_min| Cited::new(Identification { every_min, in_clear }, source.clone())),
            removable_antenna: Cited::new(read(it.truth(regime::removable_antenna))?.unwrap_or(true), source.clone()),
            longest_transmission_s: longest.filter(|seconds| *seconds > 0).map(|it| Cited::new(it, source.clone())),
        })
    }

    fn band(&self, row: Ref<'v, band::Table>, terms: &mut Terms) -> Result<(), Unread> {
        let edges = edges(row)?;
        let conditions = self.of_band(row)?;
        if !self.in_force(conditions.period) {
            return Ok(());
        }
        let origin = read(row.frequency(band::raster_origin_mhz))?;
        if let (Some(origin), Some(step)) = (origin, read(row.frequency(band::raster_step_khz))?) {
            let raster = Raster::new(origin, step).map_err(|_| Unread)?;
            let source = conditions.source.clone();
            terms.rasters.push(PublishedRaster { band: edges, raster, width: None, source });
        }
        if read(row.truth(band::channels_only))? == Some(true) {
            return Ok(());
        }
        terms.bands.push(ServiceBand {
            band: edges,
            local: conditions.local(true),
            widths: conditions.widths(),
            limits: self.limits(&conditions)?,
            stability: self.stability(&conditions)?,
            source: conditions.source,
        });
        Ok(())
    }

    fn channel(
        &self,
        row: Ref<'v, channel::Table>,
        bands: &[Ref<'v, band::Table>],
        terms: &mut Terms,
    ) -> Result<(), Unread> {
        let label = self.view.symbol(read(row.text(channel::name))?.ok_or(Unread)?).to_owned();
        let rx = read(row.frequency(channel::rx_mhz))?.ok_or(Unread)?;
        let tx = read(row.frequency(channel::tx_mhz))?.unwrap_or(rx);
        let own = self.of_channel(row)?;
        if !self.in_force(own.period) {
            return Ok(());
        }
        let sides = if rx == tx {
            vec![(rx, ChannelUse::Simplex)]
        } else {
            vec![(rx, ChannelUse::OutputOrSimplex), (tx, ChannelUse::RepeaterInput)]
        };
        for (carrier, usage) in sides {
            let around = bands.iter().find(|band| edges(**band).is_ok_and(|edges| edges.contains(carrier)));
            let conditions = match around {
                Some(band) => own.within(self.of_band(*band)?),
                None => own.within(Conditions::none(own.source.clone())),
            };
            let stations = conditions.stations.clone().unwrap_or_default();
            terms.channels.push(ServiceChannel {
                label: label.clone().into(),
                carrier,
                usage,
                stations: Cited::new(stations, conditions.source.clone()),
                widths: conditions.widths(),
                limits: self.limits(&conditions)?,
                stability: self.stability(&conditions)?,
                local: conditions.local(false),
                note: None,
                source: conditions.source,
            });
        }
        Ok(())
    }

    fn pair(&self, row: Ref<'v, pair::Table>) -> Result<PairConvention, Unread> {
        let low = read(row.frequency(pair::output_low_mhz))?.ok_or(Unread)?;
        let high = read(row.frequency(pair::output_high_mhz))?.ok_or(Unread)?;
        let input = read(row.frequency(pair::input_low_mhz))?.ok_or(Unread)?;
        let binding = read(row.truth(pair::binding))?.unwrap_or(true);
        // One pair alone: a band has some width.
        let high = if high == low { high + Hertz(1) } else { high };
        Ok(PairConvention {
            output: Band::new(low, high).map_err(|_| Unread)?,
            shift: input - low,
            force: if binding { Force::Law } else { Force::BandPlan },
            source: self.source(read(row.text(pair::source))?, read(row.text(pair::standing))?),
        })
    }

    fn of_band(&self, row: Ref<'v, band::Table>) -> Result<Conditions<'v>, Unread> {
        Ok(Conditions {
            source: self.source(read(row.text(band::source))?, read(row.text(band::standing))?),
            period: period(read(row.date(band::valid_from))?, read(row.date(band::valid_until))?)?,
            transmit: read(row.truth(band::transmit))?.unwrap_or(true),
            width: read(row.frequency(band::max_bandwidth_khz))?,
            emissions: self.emissions(row, band::emissions)?,
            power_w: read(row.number(band::max_power_w))?,
            power_kind: self.word(row, band::power_kind)?.and_then(power_kind),
            stations: self.stations(row, band::stations)?,
            shared: self.shared(row, band::r#use)?,
            stability_ppm: read(row.number(band::stability_ppm))?,
            limits: limits_of(self.view, row, band::limit)?,
        })
    }

    fn of_channel(&self, row: Ref<'v, channel::Table>) -> Result<Conditions<'v>, Unread> {
        Ok(Conditions {
            source: self.source(read(row.text(channel::source))?, read(row.text(channel::standing))?),
            period: period(read(row.date(channel::valid_from))?, read(row.date(channel::valid_until))?)?,
            transmit: read(row.truth(channel::transmit))?.unwrap_or(true),
            width: read(row.frequency(channel::max_bandwidth_khz))?,
            emissions: self.emissions(row, channel::emissions)?,
            power_w: read(row.number(channel::max_power_w))?,
            power_kind: self.word(row, channel::power_kind)?.and_then(power_kind),
            stations: self.stations(row, channel::stations)?,
            shared: self.shared(row, channel::r#use)?,
            stability_ppm: None,
            limits: limits_of(self.view, row, channel::limit)?,
        })
    }

    fn in_force(&self, period: Period) -> bool {
        self.today.is_none_or(|today| period.holds(today))
    }

    fn source(&self, cite: Option<crate::Symbol>, said: Option<crate::Symbol>) -> Source {
        Source {
            cite: cite.map_or_else(|| self.whole.source.cite.clone(), |cite| self.view.symbol(cite).to_owned().into()),
            standing: standing(self.view, said).unwrap_or(self.whole.source.standing),
        }
    }

    fn word<T: Tabled>(&self, row: Ref<'v, T>, field: Field<T>) -> Result<Option<&'v str>, Unread> {
        Ok(read(row.text(field))?.map(|word| self.view.symbol(word)))
    }

    fn shared<T: Tabled>(&self, row: Ref<'v, T>, field: Field<T>) -> Result<Option<bool>, Unread> {
        Ok(self.word(row, field)?.map(|word| word == "shared"))
    }

    fn words<T: Tabled>(&self, row: Ref<'v, T>, field: Field<T>) -> Result<Option<Vec<&'v str>>, Unread> {
        let elements = match row.known(field) {
            Known::Is(Stored::List(elements)) => elements,
            Known::Absent => return Ok(None),
            _ => return Err(Unread),
        };
        let words = elements.iter().map(|element| match element.value {
            Stored::Text(word) => Ok(self.view.symbol(word)),
            _ => Err(Unread),
        });
        words.collect::<Result<Vec<_>, _>>().map(Some)
    }

    fn emissions<T: Tabled>(&self, row: Ref<'v, T>, field: Field<T>) -> Result<Option<Vec<EmissionKind>>, Unread> {
        let Some(words) = self.words(row, field)? else { return Ok(None) };
        let kinds = words.into_iter().map(|word| {
            let from = word.len().checked_sub(3).ok_or(Unread)?;
            EmissionKind::parse(word.get(from..).ok_or(Unread)?).map_err(|_| Unread)
        });
        kinds.collect::<Result<Vec<_>, _>>().map(Some)
    }

    fn stations<T: Tabled>(&self, row: Ref<'v, T>, field: Field<T>) -> Result<Option<Vec<Station>>, Unread> {
        let Some(words) = self.words(row, field)? else { return Ok(None) };
        words.into_iter().map(|word| station(word).ok_or(Unread)).collect::<Result<Vec<_>, _>>().map(Some)
    }

    fn limits(&self, conditions: &Conditions<'_>) -> Result<Vec<StationLimit>, Unread> {
        let mut limits = Vec::new();
        let mut add = |stations: Vec<Station>, watts: Option<f64>, kind: Option<PowerKind>| {
            let Some(watts) = watts else { return Ok(()) };
            let limit = PowerLimit::new(kind.unwrap_or(PowerKind::Output), watts).map_err(|_| Unread)?;
            limits.push(StationLimit { stations, limit, period: Period::ALWAYS, source: conditions.source.clone() });
            Ok(())
        };
        add(Vec::new(), conditions.power_w, conditions.power_kind)?;
        for record in &conditions.limits {
            let part = crate::value::Part::<limit::Table>::new(record);
            let kind = match read(part.text(limit::power_kind))? {
                Some(word) => power_kind(self.view.symbol(word)),
                None => conditions.power_kind,
            };
            add(vec![self.limited(record)?], read(part.number(limit::max_power_w))?, kind)?;
        }
        Ok(limits)
    }

    fn stability(&self, conditions: &Conditions<'_>) -> Result<Vec<StabilityRule>, Unread> {
        let rule = |stations: Vec<Station>, ppm: f64| StabilityRule {
            stations,
            up_to: None,
            ppm,
            source: conditions.source.clone(),
        };
        let mut rules = Vec::new();
        for record in &conditions.limits {
            let part = crate::value::Part::<limit::Table>::new(record);
            if let Some(ppm) = read(part.number(limit::stability_ppm))? {
                rules.push(rule(vec![self.limited(record)?], ppm));
            }
        }
        rules.extend(conditions.stability_ppm.or(self.whole.stability_ppm).map(|ppm| rule(Vec::new(), ppm)));
        Ok(rules)
    }

    fn limited(&self, record: &Record) -> Result<Station, Unread> {
        let part = crate::value::Part::<limit::Table>::new(record);
        let word = read(part.text(limit::station))?.ok_or(Unread)?;
        station(self.view.symbol(word)).ok_or(Unread)
    }
}

impl<'v> Conditions<'v> {
    fn none(source: Source) -> Self {
        Conditions {
            source,
            period: Period::ALWAYS,
            transmit: true,
            width: None,
            emissions: None,
            power_w: None,
            power_kind: None,
            stations: None,
            shared: None,
            stability_ppm: None,
            limits: Vec::new(),
        }
    }

    /// A channel's own conditions, with those of the band around it where it says nothing.
    fn within(&self, band: Conditions<'v>) -> Conditions<'v> {
        // A power of its own replaces the band's limits as a whole.
        let own_power = self.power_w.is_some() || !self.limits.is_empty();
        Conditions {
            source: self.source.clone(),
            period: self.period,
            transmit: self.transmit && band.transmit,
            width: self.width.or(band.width),
            emissions: self.emissions.clone().or(band.emissions),
            power_w: if own_power { self.power_w } else { band.power_w },
            power_kind: self.power_kind.or(band.power_kind),
            stations: self.stations.clone().or(band.stations),
            shared: self.shared.or(band.shared),
            stability_ppm: band.stability_ppm,
            limits: if own_power { self.limits.clone() } else { band.limits },
        }
    }

    fn local(&self, with_stations: bool) -> Local {
        let cited = |stations: &Vec<Station>| Cited::new(stations.clone(), self.source.clone());
        Local {
            listen_only: (!self.transmit).then(|| self.source.clone()),
            emissions: self.emissions.clone().map(|kinds| Cited::new(kinds, self.source.clone())),
            shared: self.shared,
            stations: if with_stations { self.stations.as_ref().map(cited) } else { None },
        }
    }

    fn widths(&self) -> Vec<WidthRule> {
        let rule = |most| WidthRule { most, period: Period::ALWAYS, except: None, source: self.source.clone() };
        self.width.map(rule).into_iter().collect()
    }
}

fn read<T>(value: Known<T>) -> Result<Option<T>, Unread> {
    match value {
        Known::Is(value) => Ok(Some(value)),
        Known::Absent => Ok(None),
        Known::Unreadable => Err(Unread),
    }
}

fn edges(row: Ref<'_, band::Table>) -> Result<Band, Unread> {
    let low = read(row.frequency(band::low_mhz))?.ok_or(Unread)?;
    let high = read(row.frequency(band::high_mhz))?.ok_or(Unread)?;
    Band::new(low, high).map_err(|_| Unread)
}

fn limits_of<'v, T: Tabled>(view: View<'v>, row: Ref<'v, T>, field: Field<T>) -> Result<Vec<&'v Record>, Unread> {
    let elements = match view.known(row.id(), field) {
        Known::Is(Stored::List(elements)) => elements,
        Known::Is(Stored::Part(part)) => return Ok(vec![part]),
        Known::Absent => return Ok(Vec::new()),
        _ => return Err(Unread),
    };
    let parts = elements.iter().map(|element| match &element.value {
        Stored::Part(part) => Ok(&**part),
        _ => Err(Unread),
    });
    parts.collect()
}

fn standing(view: View<'_>, word: Option<crate::Symbol>) -> Option<Standing> {
    word.map(|word| match view.symbol(word) {
        "secondary" => Standing::Secondary,
        "computed" => Standing::Computed,
        "memory" => Standing::Memory,
        "common-practice" => Standing::CommonPractice,
        _ => Standing::Confirmed,
    })
}

fn station(word: &str) -> Option<Station> {
    Some(match word {
        "handheld" => Station::Handheld,
        "mobile" => Station::Mobile,
        "base" => Station::Base,
        "repeater" => Station::Repeater,
        "fixed" => Station::Fixed,
        "control" => Station::Control,
        _ => return None,
    })
}

fn power_kind(word: &str) -> Option<PowerKind> {
    Some(match word {
        "erp" => PowerKind::Erp,
        "eirp" => PowerKind::Eirp,
        "output" => PowerKind::Output,
        "pep" => PowerKind::PeakEnvelope,
        _ => return None,
    })
}

fn period(from: Option<jiff::civil::Date>, last: Option<jiff::civil::Date>) -> Result<Period, Unread> {
    if from.zip(last).is_some_and(|(from, last)| from > last) {
        return Err(Unread);
    }
    Ok(Period { from: from.and_then(day), until: last.and_then(|last| last.tomorrow().ok()).and_then(day) })
}

/// A day of the calendar as the tables of services have it.
pub fn day(date: jiff::civil::Date) -> Option<Date> {
    Date::new(u16::try_from(date.year()).ok()?, u8::try_from(date.month()).ok()?, u8::try_from(date.day()).ok()?)
}
