//! What a channel or a repeater sends, and what the licenses and the service say of it.

use super::near_miss_frequency::{can_tune, misses};
use super::offset::offset;
use super::protected_frequency::kept_clear;
use crate::finding::Level;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{
    Assignment, EntityId, FieldPath, Known, Ref, Row, Sender, Sends, USUAL_WIDTH, View, day, emission_to_grant,
    necessary_width,
};
use guywire_radio::emission::{Cover, Emission, best_cover};
use guywire_radio::power::{LimitVerdict, PowerLimit};
use guywire_radio::regime::{Date, Licensing, Place, Regime};
use guywire_radio::{Hertz, Source};

/// Where a carrier is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Given {
    /// In the channel itself.
    Here,
    /// As the input of the channel's repeater, where it is told.
    ByInput,
    /// As the output of the channel's repeater, for talk-around.
    ByOutput,
    /// What a repeater sends.
    Output,
    /// What the users of a repeater send.
    Input,
}

/// One transmission that a table makes, or asks of others.
pub(super) struct Sent<'v> {
    pub id: EntityId,
    pub channel: Option<Ref<'v, channel::Table>>,
    pub given: Given,
    pub carrier: Hertz,
    /// The key that gives the carrier.
    pub at: FieldPath,
    pub mode: Sends,
    /// The key that says what is sent.
    pub mode_at: FieldPath,
    /// The width of the channel.
    pub width: Hertz,
    /// The key that gives the width.
    pub width_at: FieldPath,
    /// The repeater on the way says the same of mode and width, so that it is reported there.
    pub is_as_repeater: bool,
    /// A channel sends it; `false` for the input of a repeater that no channel uses.
    pub is_used: bool,
    pub service: Option<&'v Regime>,
}

impl<'v> Sent<'v> {
    /// Whether what is wrong with the carrier is told here.
    pub fn tells_carrier(&self) -> bool {
        !matches!(self.given, Given::ByInput | Given::ByOutput)
    }

    /// Whether what is wrong with the mode and the width is told here.
    pub fn tells_emission(&self) -> bool {
        !self.is_as_repeater
    }

    /// What it does, for messages: `channel "Berths" sends`.
    pub fn does(&self, view: View<'v>) -> String {
        let called = view.called(self.id);
        if self.given == Given::Input { format!("{called} has its users send") } else { format!("{called} sends") }
    }

    /// What is sent, for messages.
    pub fn mode_word(&self) -> &'static str {
        if self.mode == Sends::Digital { "digital voice" } else { "analog voice" }
    }

    /// Who sends it, one for each model.
    pub fn senders(&self, view: View<'v>) -> Vec<Sender<'v>> {
        match (self.channel, view.get::<repeater::Table>(self.id)) {
            (Some(channel), _) => view.senders(channel),
            (None, Some(repeater)) if self.given == Given::Output => vec![view.repeater_sender(repeater)],
            _ => vec![UNKNOWN],
        }
    }

    /// Where the service has the carrier.
    pub fn place(&self) -> Option<Place<'v>> {
        self.service.map(|service| service.place(self.carrier))
    }

    /// What the emission necessarily occupies.
    pub fn necessary(&self) -> Option<Hertz> {
        necessary_width(self.mode, self.width)
    }
}

/// A sender of which nothing is known.
pub(super) const UNKNOWN: Sender<'static> =
    Sender { model: None, stations: &[], transmitter: None, stability_ppm: None };

/// Everything that a channel or a repeater sends or has sent; nothing where what is needed cannot be read.
pub(super) fn sent(view: View<'_>, id: EntityId) -> Vec<Sent<'_>> {
    if let Some(channel) = view.get::<channel::Table>(id) {
        return by_channel(view, channel).into_iter().collect();
    }
    view.get::<repeater::Table>(id).map(|repeater| by_repeater(view, repeater)).unwrap_or_default()
}

/// What is sent under a service that is known: nothing where the plan and the channel name none.
pub(super) fn sent_in_service(view: View<'_>, id: EntityId) -> Vec<Sent<'_>> {
    if let Some(channel) = view.get::<channel::Table>(id) {
        return if view.service(Some(channel)).is_some() { sent(view, id) } else { Vec::new() };
    }
    match view.get::<repeater::Table>(id) {
        Some(repeater) if view.service_of_repeater(repeater).is_some() => by_repeater(view, repeater),
        _ => Vec::new(),
    }
}

/// What follows from a channel alone, once for all rules that ask.
#[derive(Clone, Copy)]
struct OfChannel {
    given: Given,
    carrier: Hertz,
    at: u8,
    mode: Sends,
    width: Hertz,
    width_at: u8,
    is_as_repeater: bool,
}

fn by_channel<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> Option<Sent<'v>> {
    let of = view.once(Some(it.id()), || of_channel(view, it))?;
    Some(Sent {
        id: it.id(),
        channel: Some(it),
        given: of.given,
        carrier: of.carrier,
        at: FieldPath::key(of.at),
        mode: of.mode,
        mode_at: FieldPath::key(channel::sends.number()),
        width: of.width,
        width_at: FieldPath::key(of.width_at),
        is_as_repeater: of.is_as_repeater,
        is_used: true,
        service: view.service(Some(it)),
    })
}

fn of_channel<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> Option<OfChannel> {
    let effective = view.channel(it.id())?;
    let (Known::Is(carrier), Known::Is(mode)) = (effective.tx, effective.sends) else { return None };
    let width = match effective.bandwidth {
        Known::Is(width) => width,
        Known::Absent => USUAL_WIDTH,
        Known::Unreadable => return None,
    };
    let used = match view.repeater_of(it) {
        Known::Is(used) => Some(used),
        Known::Absent => None,
        Known::Unreadable => return None,
    };
    let own_rx = it.frequency(channel::rx_mhz) == Known::Is(carrier);
    let (given, at) = if it.has(channel::tx_mhz) {
        (Given::Here, channel::tx_mhz)
    } else if own_rx {
        (Given::Here, channel::rx_mhz)
    } else if it.truth(channel::talk_around) == Known::Is(true) {
        (Given::ByOutput, channel::talk_around)
    } else {
        (Given::ByInput, channel::repeater)
    };
    let is_as_repeater = given != Given::Here
        && used.is_some_and(|used| {
            let modes = view.repeater_modes(used).is_some_and(|modes| modes.contains(&mode));
            modes && used.frequency(repeater::bandwidth_khz).or_value(USUAL_WIDTH) == Known::Is(width)
        });
    let width_at = if it.has(channel::bandwidth_khz) { channel::bandwidth_khz } else { channel::repeater };
    let (at, width_at) = (at.number(), width_at.number());
    Some(OfChannel { given, carrier, at, mode, width, width_at, is_as_repeater })
}

fn by_repeater<'v>(view: View<'v>, it: Ref<'v, repeater::Table>) -> Vec<Sent<'v>> {
    let Some(modes) = view.repeater_modes(it) else { return Vec::new() };
    let Known::Is(width) = it.frequency(repeater::bandwidth_khz).or_value(USUAL_WIDTH) else { return Vec::new() };
    let service = view.service_of_repeater(it);
    let is_used = view.once(Some(it.id()), || IsUsed(is_used(view, it))).0;
    let sides = [(Given::Output, repeater::tx_mhz), (Given::Input, repeater::rx_mhz)];
    let mut found = Vec::new();
    for (given, at) in sides {
        let Known::Is(carrier) = it.frequency(at) else { continue };
        found.extend(modes.iter().map(|mode| Sent {
            id: it.id(),
            channel: None,
            given,
            carrier,
            at: FieldPath::key(at.number()),
            mode: *mode,
            mode_at: FieldPath::key(repeater::mode.number()),
            width,
            width_at: FieldPath::key(repeater::bandwidth_khz.number()),
            is_as_repeater: false,
            is_used: given == Given::Output || is_used,
            service,
        }));
    }
    found
}

#[derive(Clone, Copy)]
struct IsUsed(bool);

/// Whether a channel sends on the input of a repeater that it names.
fn is_used(view: View<'_>, it: Ref<'_, repeater::Table>) -> bool {
    let input = it.frequency(repeater::rx_mhz);
    let users = view.referrers::<channel::Table>(it.id());
    users.iter().any(|user| view.channel(user.id()).is_some_and(|user| user.tx == input))
}

// ---- licenses ------------------------------------------------------------------------------------

/// What the licenses of the plan say of a transmission.
pub(super) enum Licensed<'v> {
    /// Something in them cannot be read.
    Unknown,
    /// Nothing: there is none, none is needed, or they name no frequencies.
    Unsaid,
    /// No assignment has the carrier; the nearest that one has.
    OtherCarrier(Option<Hertz>),
    /// The carrier is for these classes of station only.
    OtherClass(Vec<&'v str>),
    /// The carrier is for these emissions only.
    OtherEmission(Vec<Emission>, Cover),
    /// The power is over the highest that an assignment grants.
    OverPower { limit: PowerLimit, actual_w: f64, assignment: Assignment<'v> },
    /// These have the carrier, the station, the emission and the power, as far as they say.
    Granted(Vec<Assignment<'v>>),
}

pub(super) fn licensed<'v>(view: View<'v>, sent: &Sent<'v>, sender: Sender<'v>) -> Licensed<'v> {
    if view.has_no_license() {
        return Licensed::Unsaid;
    }
    if view.has_unread_licenses() {
        return Licensed::Unknown;
    }
    let is_needed = || {
        let service_wants = match sent.service {
            Some(service) => service.terms().licensing != Licensing::ByRule,
            None => view.names_no_service(sent.channel),
        };
        service_wants && !view.has_open_license()
    };
    let with_carrier = || view.each_assignment().filter(|it| it.covers(sent.carrier));
    let fits = |it: &Assignment<'v>| match (it.class(), sent.given) {
        (None, _) => true,
        (Some(class), Given::Input) => class != "repeater",
        (Some(class), _) => sender.classes().is_none_or(|classes| classes.contains(&class)),
    };
    let granted: Vec<Assignment<'v>> = with_carrier().filter(fits).collect();
    if !granted.is_empty() {
        return by_emission(sent, sender, granted);
    }
    if !is_needed() {
        return Licensed::Unsaid;
    }
    let mut classes: Vec<_> = with_carrier().filter_map(Assignment::class).collect();
    if classes.is_empty() {
        let near = view.each_assignment().filter_map(|it| it.nearest(sent.carrier));
        return Licensed::OtherCarrier(near.min_by_key(|near| near.spacing(sent.carrier)));
    }
    classes.sort_unstable();
    classes.dedup();
    Licensed::OtherClass(classes)
}

fn by_emission<'v>(sent: &Sent<'v>, sender: Sender<'v>, granted: Vec<Assignment<'v>>) -> Licensed<'v> {
    let Some(emission) = emission_to_grant(sent.mode, sent.width) else { return by_power(sender, granted) };
    let with_emission: Vec<_> = granted.iter().copied().filter(|it| it.grants(emission)).collect();
    if !with_emission.is_empty() {
        return by_power(sender, with_emission);
    }
    let mut listed: Vec<Emission> = granted.iter().filter_map(|it| it.emissions()).flatten().collect();
    listed.sort_unstable_by_key(Emission::to_string);
    listed.dedup();
    let cover = best_cover(&listed, emission).unwrap_or(Cover::OtherKind);
    Licensed::OtherEmission(listed, cover)
}

fn by_power<'v>(sender: Sender<'v>, granted: Vec<Assignment<'v>>) -> Licensed<'v> {
    let Some(transmitter) = sender.transmitter else { return Licensed::Granted(granted) };
    let over = granted.iter().map(|it| {
        let limit = it.power_limit()?;
        match limit.judge(transmitter.output, transmitter.antenna) {
            LimitVerdict::Over { actual_w, by_db } => Some((limit, actual_w, by_db, *it)),
            LimitVerdict::Within { .. } | LimitVerdict::NotKnown => None,
        }
    });
    let Some(over) = over.collect::<Option<Vec<_>>>() else { return Licensed::Granted(granted) };
    let least = over.into_iter().min_by(|a, b| a.2.total_cmp(&b.2).then_with(|| a.0.watts().total_cmp(&b.0.watts())));
    match least {
        Some((limit, actual_w, _, assignment)) => Licensed::OverPower { limit, actual_w, assignment },
        None => Licensed::Granted(granted),
    }
}

// ---- services ------------------------------------------------------------------------------------

/// What a condition of a service is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Term {
    Carrier,
    Emission,
    Power,
}

/// Whether the service has the word: not where the licenses contradict the transmission already, cannot be read, or grant
/// the very thing. A license for all of a service (a range of a service whose licenses name no frequencies) does not.
pub(super) fn table_speaks<'v>(view: View<'v>, sent: &Sent<'v>, sender: Sender<'v>, term: Term) -> bool {
    let granted = match licensed(view, sent, sender) {
        Licensed::Unsaid => return true,
        Licensed::OverPower { .. } => return term == Term::Emission,
        Licensed::Granted(granted) => granted,
        Licensed::Unknown | Licensed::OtherCarrier(_) | Licensed::OtherClass(_) | Licensed::OtherEmission(..) => {
            return false;
        }
    };
    let is_assigned = sent.service.is_some_and(|service| service.terms().licensing == Licensing::Assigned);
    let wins = |it: &Assignment<'v>| {
        let says = match term {
            Term::Carrier => true,
            Term::Emission => it.emissions().is_some(),
            Term::Power => it.power_limit().is_some(),
        };
        says && (is_assigned || it.names(sent.carrier))
    };
    !granted.iter().any(wins)
}

/// Whether another rule says what is wrong with the carrier: no model makes it, it is kept clear for others, or it misses a
/// repeater or a published pair.
pub(super) fn is_told_elsewhere<'v>(view: View<'v>, sent: &Sent<'v>) -> bool {
    match sent.channel {
        // A channel makes one transmission.
        Some(_) => view.once(Some(sent.id), || ToldElsewhere(is_told_by_others(view, sent))).0,
        None => is_told_by_others(view, sent),
    }
}

#[derive(Clone, Copy)]
struct ToldElsewhere(bool);

fn is_told_by_others<'v>(view: View<'v>, sent: &Sent<'v>) -> bool {
    let width = sent.necessary().unwrap_or(sent.width);
    if kept_clear(view, sent.channel, sent.carrier, width).is_some() || offset(view, sent.id).is_some() {
        return true;
    }
    match sent.channel {
        Some(channel) => !can_tune(view, channel, sent.carrier) || !misses(view, channel).is_empty(),
        None => {
            let users = view.referrers::<channel::Table>(sent.id);
            !users.into_iter().all(|user| can_tune(view, user, sent.carrier))
        }
    }
}

/// Who may not send where the carrier lies, by the source that says so; none for a sender that may.
pub(super) fn barred<'v>(place: Place<'v>, sender: Sender<'_>) -> Option<&'v Source> {
    place.listen_only().or_else(|| if sender.stations.is_empty() { None } else { place.bars(sender.stations) })
}

/// The level of a finding that rests on a source.
pub(crate) fn level_of(source: &Source) -> Level {
    if source.standing.supports_error() { Level::Error } else { Level::Warning }
}

/// The day by which the conditions of a service hold.
pub(super) fn today(view: View<'_>) -> Option<Date> {
    view.today().and_then(day)
}

/// A service as a plan writes it, for messages.
pub(crate) fn named(service: &Regime) -> String {
    format!("service \"{}\"", service.terms().name)
}

/// The model of a sender, for messages: ` with hh-uhf`.
pub(super) fn with_model(sender: Sender<'_>) -> String {
    sender.name().map(|name| format!(" with {name}")).unwrap_or_default()
}

/// A number of watts, as short as it is exact enough.
pub(super) fn watts(watts: f64) -> String {
    let rounded = if watts < 10.0 { (watts * 100.0).round() / 100.0 } else { (watts * 10.0).round() / 10.0 };
    format!("{rounded} W")
}
