//! The view of what the rules about services and licenses share: what is sent, with which power, and what is granted.

use guywire_radio::emission::{Cover, Emission, TWO_SLOT_VOICE, narrowest_analog_voice, usual_analog_voice};
use guywire_radio::geodesy::Position;
use guywire_radio::power::{AntennaChain, Power, PowerKind, PowerLimit};
use guywire_radio::regime::{Regime, Station, Transmitter};
use guywire_radio::{Band, Hertz};
use rustc_hash::FxHashSet;
use smallvec::SmallVec;

use crate::derived::Sends;
use crate::entity::EntityId;
use crate::language::{
    antenna, channel, license, license__area, license__assignment, model, model__power, plan, radio, repeater,
};
use crate::value::{Element, FieldPath, Known, Part, Record, Row, Stored};
use crate::view::{Ref, View};

/// Width of a channel that writes none (ETSI TS 102 361-1).
pub const USUAL_WIDTH: Hertz = Hertz(12_500);

/// An assignment of a license, with its place in the license's table.
#[derive(Clone, Copy)]
pub struct Assignment<'v> {
    /// The license.
    pub license: Ref<'v, license::Table>,
    /// The assignment in it.
    pub at: FieldPath,
    view: View<'v>,
    part: Part<'v, license__assignment::Table>,
}

impl<'v> Assignment<'v> {
    /// Whether it names this very carrier.
    pub fn names(self, carrier: Hertz) -> bool {
        self.part.frequency(license__assignment::tx_mhz) == Known::Is(carrier)
    }

    /// The range that it grants instead of one carrier.
    pub fn range(self) -> Option<Band> {
        let low = self.part.frequency(license__assignment::low_mhz).value()?;
        let high = self.part.frequency(license__assignment::high_mhz).value()?;
        Band::new(low, high).ok()
    }

    /// Whether it grants a carrier: names it, or has it in its range.
    pub fn covers(self, carrier: Hertz) -> bool {
        self.names(carrier) || self.range().is_some_and(|range| range.contains(carrier))
    }

    /// The granted carrier nearest to another, to say what may have been meant.
    pub fn nearest(self, carrier: Hertz) -> Option<Hertz> {
        let edge = |range: Band| if carrier < range.low() { range.low() } else { range.high() };
        self.part.frequency(license__assignment::tx_mhz).value().or_else(|| self.range().map(edge))
    }

    /// The only class of station that may use it; none where it names none.
    pub fn class(self) -> Option<&'v str> {
        self.part.text(license__assignment::station).value().map(|class| self.view.symbol(class))
    }

    /// The emissions granted; none where it names none.
    pub fn emissions(self) -> Option<Vec<Emission>> {
        let field = license__assignment::emission.number();
        let read = |stored: &Stored| match stored {
            Stored::Text(text) => self.view.symbol(*text).parse::<Emission>().ok(),
            _ => None,
        };
        match self.part.record().known(field) {
            Known::Is(Stored::List(elements)) => {
                Some(elements.iter().filter_map(|element| read(&element.value)).collect())
            }
            Known::Is(stored) => Some(read(stored).into_iter().collect()),
            Known::Absent | Known::Unreadable => None,
        }
    }

    /// Whether it grants an emission: names one that covers it, or none that can be read.
    pub fn grants(self, emission: Emission) -> bool {
        let mut names_some = false;
        let mut covers = |stored: &Stored| {
            let Stored::Text(text) = stored else { return false };
            let Ok(named) = self.view.symbol(*text).parse::<Emission>() else { return false };
            names_some = true;
            named.covers(emission) == Cover::Covered
        };
        let granted = match self.part.record().known(license__assignment::emission.number()) {
            Known::Is(Stored::List(elements)) => elements.iter().any(|element| covers(&element.value)),
            Known::Is(stored) => covers(stored),
            Known::Absent | Known::Unreadable => true,
        };
        granted || !names_some
    }

    /// The highest power with what it counts; none where either is not written.
    pub fn power_limit(self) -> Option<PowerLimit> {
        let watts = self.part.number(license__assignment::max_power_w).value()?;
        let kind = match self.view.symbol(self.license.text(license::power_kind).value()?) {
            "erp" => PowerKind::Erp,
            "eirp" => PowerKind::Eirp,
            "output" => PowerKind::Output,
            _ => return None,
        };
        PowerLimit::new(kind, watts).ok()
    }

    /// Most units that may use it.
    pub fn units(self) -> Option<i64> {
        self.part.whole(license__assignment::units).value()
    }

    /// The circle in which it holds: center and radius, km.
    pub fn area(self) -> Option<(Position, f64)> {
        let field = license__assignment::area.number();
        let Known::Is(Stored::Part(record)) = self.part.record().known(field) else { return None };
        let area = Part::<license__area::Table>::new(record);
        let latitude = area.number(license__area::latitude).value()?;
        let longitude = area.number(license__area::longitude).value()?;
        let center = Position::new(latitude, longitude).ok()?;
        Some((center, area.number(license__area::radius_km).value()?))
    }

    /// The place of one of its keys.
    pub fn key(self, field: crate::language::Field<license__assignment::Table>) -> FieldPath {
        self.at.then(field.number() as usize)
    }
}

/// A radio of one model on a channel, or a repeater, as far as its file says.
#[derive(Clone, Copy)]
pub struct Sender<'v> {
    /// The model; none for a repeater, and where nothing says which radios hold the channel.
    pub model: Option<Ref<'v, model::Table>>,
    /// The stations that it may be; empty where not known.
    pub stations: &'static [Station],
    /// Its transmitter; none where the power is not known.
    pub transmitter: Option<Transmitter>,
    /// Frequency stability, parts in a million.
    pub stability_ppm: Option<f64>,
}

impl<'v> Sender<'v> {
    /// Classes of station on a license that it may use: a base radio may work as a control station on the frequencies of
    /// mobiles (common practice, no source). None where it may be any.
    pub fn classes(self) -> Option<&'static [&'static str]> {
        Some(match self.stations.first()? {
            Station::Handheld | Station::Mobile => &["mobile"],
            Station::Base | Station::Fixed | Station::Control => &["base", "mobile"],
            Station::Repeater => &["repeater", "base"],
        })
    }

    /// The name of its model, for messages.
    pub fn name(self) -> Option<&'v str> {
        self.model.and_then(|model| model.name())
    }
}

/// Whose service holds for a repeater.
#[derive(Clone, Copy)]
enum UsersService {
    OfPlan,
    OfChannel(EntityId),
    Unclear,
}

/// What a mode in a channel of `width` necessarily occupies, by its customary designator; none where there is none.
pub fn necessary_width(sends: Sends, width: Hertz) -> Option<Hertz> {
    match sends {
        Sends::Digital => Some(TWO_SLOT_VOICE.bandwidth().min(width)),
        Sends::Analog if (Hertz(11_000)..=USUAL_WIDTH).contains(&width) => {
            usual_analog_voice(USUAL_WIDTH).map(Emission::bandwidth)
        }
        Sends::Analog => usual_analog_voice(width).map(Emission::bandwidth),
        Sends::Nothing => None,
    }
}

/// What a license must grant for a mode in a channel of `width`; none where there is no customary designator.
pub fn emission_to_grant(sends: Sends, width: Hertz) -> Option<Emission> {
    match sends {
        Sends::Digital => Some(TWO_SLOT_VOICE),
        Sends::Analog => narrowest_analog_voice(width),
        Sends::Nothing => None,
    }
}

impl<'v> View<'v> {
    // ---- services and licenses ------------------------------------------------------------------

    /// Whether neither the plan nor the channel names a service.
    pub fn names_no_service(self, channel: Option<Ref<'v, channel::Table>>) -> bool {
        let own = channel.is_none_or(|channel| self.known(channel.id(), channel::regime) == Known::Absent);
        own && self.plan().is_some_and(|plan| self.known(plan.id(), plan::regime) == Known::Absent)
    }

    /// The service that holds for a repeater: that of the channels which use it where they agree, else the plan's. None
    /// where it is not known, or the channels disagree.
    pub fn service_of_repeater(self, it: Ref<'v, repeater::Table>) -> Option<&'v Regime> {
        match self.once(Some(it.id()), || self.users_service(it)) {
            UsersService::OfPlan => self.service(None),
            UsersService::OfChannel(user) => self.service(Some(self.get(user)?)),
            UsersService::Unclear => None,
        }
    }

    fn users_service(self, it: Ref<'v, repeater::Table>) -> UsersService {
        let users = self.referrers::<channel::Table>(it.id()).into_iter();
        let mut named = users.filter(|user| self.known(user.id(), channel::regime) != Known::Absent);
        let Some(first) = named.next() else { return UsersService::OfPlan };
        let Some(service) = self.service(Some(first)) else { return UsersService::Unclear };
        let agrees = |other| self.service(Some(other)).is_some_and(|other: &'v Regime| std::ptr::eq(other, service));
        if named.all(agrees) { UsersService::OfChannel(first.id()) } else { UsersService::Unclear }
    }

    /// Every assignment of the licenses of this plan.
    pub fn assignments(self) -> Vec<Assignment<'v>> {
        self.each_assignment().collect()
    }

    /// The assignments of [`View::assignments`], one after another.
    pub fn each_assignment(self) -> impl Iterator<Item = Assignment<'v>> {
        self.licenses().flat_map(move |license| assignments_in(self, license))
    }

    /// The assignments of one license.
    pub fn assignments_of(self, license: Ref<'v, license::Table>) -> Vec<Assignment<'v>> {
        assignments_in(self, license).collect()
    }

    /// Whether a license of this plan has no assignment: then nothing says what it does not grant.
    pub fn has_open_license(self) -> bool {
        self.licenses().any(|license| license.known(license::assignment) == Known::Absent)
    }

    // ---- transmitters ---------------------------------------------------------------------------

    /// The radios that send on a channel, one for each model that holds it; one of which nothing is known where none does.
    pub fn senders(self, it: Ref<'v, channel::Table>) -> Vec<Sender<'v>> {
        let models = self.channel_models(it.id());
        if models.is_empty() {
            return vec![Sender { model: None, stations: &[], transmitter: None, stability_ppm: None }];
        }
        models.into_iter().map(|model| self.sender(it, model)).collect()
    }

    fn sender(self, it: Ref<'v, channel::Table>, model: Ref<'v, model::Table>) -> Sender<'v> {
        let kind = model.text(model::kind).value().map(|kind| self.symbol(kind));
        let output = self.output_w(it, model).and_then(|watts| Power::from_w(watts).ok());
        // The cable of a radio that is not carried is not known.
        let antenna = if kind == Some("handheld") { self.own_antenna(model.id()) } else { None };
        Sender {
            model: Some(model),
            stations: kind.and_then(radio_kind).map_or(&[], Station::possible),
            transmitter: output.map(|output| Transmitter { output, antenna }),
            stability_ppm: model.number(model::stability_ppm).value(),
        }
    }

    /// What a repeater sends with.
    pub fn repeater_sender(self, it: Ref<'v, repeater::Table>) -> Sender<'v> {
        let gain = it.number(repeater::antenna_gain_dbi).value();
        let loss = it.number(repeater::feedline_loss_db).value();
        let antenna = gain.zip(loss).and_then(|(gain, loss)| AntennaChain::new(gain, loss).ok());
        let output = it.number(repeater::power_w).value().and_then(|watts| Power::from_w(watts).ok());
        Sender {
            model: None,
            stations: &[Station::Repeater],
            transmitter: output.map(|output| Transmitter { output, antenna }),
            stability_ppm: None,
        }
    }

    /// The output of a model on a channel, W: the level that the channel names, at most `power_at_most_w`. Where it names no
    /// level, that most; where it writes neither, the lowest level, since no radio sends with less.
    pub fn output_w(self, it: Ref<'v, channel::Table>, model: Ref<'v, model::Table>) -> Option<f64> {
        let levels: SmallVec<[_; 4]> = model.each_part::<model__power::Table>(model::power).collect();
        let watts = levels.iter().map(|level| level.number(model__power::watts).value());
        let watts: SmallVec<[f64; 4]> = watts.collect::<Option<_>>()?;
        if model.known(model::power) == Known::Unreadable {
            return None;
        }
        let most = match it.number(channel::power_at_most_w) {
            Known::Unreadable => return None,
            most => most.value(),
        };
        let of_level = match it.text(channel::power) {
            Known::Is(named) => {
                let found = levels.iter().position(|level| level.text(model__power::level) == Known::Is(named))?;
                Some(watts[found])
            }
            Known::Unreadable => return None,
            Known::Absent => match most {
                Some(_) => watts.iter().copied().reduce(f64::max),
                None => watts.iter().copied().reduce(f64::min),
            },
        };
        match (of_level, most) {
            (Some(level), Some(most)) => Some(level.min(most)),
            (level, most) => level.or(most),
        }
    }

    /// How many radios in use hold at least one of these channels in their zones.
    pub fn units_on(self, channels: &[EntityId]) -> usize {
        let radios: FxHashSet<EntityId> = channels.iter().flat_map(|channel| self.holding(*channel)).collect();
        let is_in_use = |id: &&EntityId| {
            self.get::<radio::Table>(**id).is_some_and(|radio| self.is_in_use(radio) == Known::Is(true))
        };
        radios.iter().filter(is_in_use).count()
    }

    fn own_antenna(self, model: EntityId) -> Option<AntennaChain> {
        let antenna = self.only::<antenna::Table>(self.file_of(model)?)?;
        AntennaChain::new(antenna.number(antenna::gain_dbi).value()?, 0.0).ok()
    }

    /// Whether the antenna of a model can be taken off. Absent where its file does not say.
    pub fn has_removable_antenna(self, model: EntityId) -> Known<bool> {
        let antenna = self.file_of(model).and_then(|file| self.only::<antenna::Table>(file));
        antenna.map_or(Known::Absent, |antenna| antenna.truth(antenna::removable))
    }

    /// What a repeater sends: digital, analog or both. None where its mode cannot be read.
    pub fn repeater_modes(self, it: Ref<'v, repeater::Table>) -> Option<&'static [Sends]> {
        match it.text(repeater::mode).map(|mode| self.symbol(mode)) {
            Known::Is("analog") => Some(&[Sends::Analog]),
            Known::Is("dual") => Some(&[Sends::Digital, Sends::Analog]),
            Known::Is(_) | Known::Absent => Some(&[Sends::Digital]),
            Known::Unreadable => None,
        }
    }
}

fn radio_kind(word: &str) -> Option<guywire_radio::convention::RadioKind> {
    use guywire_radio::convention::RadioKind;
    Some(match word {
        "handheld" => RadioKind::Handheld,
        "mobile" => RadioKind::Mobile,
        "base" => RadioKind::Base,
        "repeater" => RadioKind::Repeater,
        _ => return None,
    })
}

fn assignments_in<'v>(view: View<'v>, license: Ref<'v, license::Table>) -> impl Iterator<Item = Assignment<'v>> {
    let at = FieldPath::key(license::assignment.number());
    let (listed, only): (&[Element], Option<&Record>) = match view.known(license.id(), license::assignment) {
        Known::Is(Stored::List(elements)) => (elements, None),
        Known::Is(Stored::Part(part)) => (&[], Some(part)),
        _ => (&[], None),
    };
    let listed = listed.iter().enumerate().filter_map(move |(number, element)| match &element.value {
        Stored::Part(part) => Some((at.then(number), &**part)),
        _ => None,
    });
    let all = listed.chain(only.map(|part| (at, part)));
    all.map(move |(at, record)| Assignment { license, at, view, part: Part::new(record) })
}
