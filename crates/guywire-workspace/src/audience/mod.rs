//! Who hears whom, in plain types: one transmission with every answer and its reason, and the matrix of all of them.

mod matrix;
mod words;

use guywire_plan::audience::{Answer, Audience, ClassAnswer, Emission, Hearing, Outcome, Ray, Unsent};
use guywire_plan::language::{channel, radio};
use guywire_plan::{Db, EntityId, Known, Recorder, Ref, View};
use guywire_text::FileId;

use crate::workspace::Workspace;

pub use matrix::{Matrix, MatrixError, PlanMatrix, Receiver, Sender};
pub(crate) use words::{reasons, says_no_more, summary};

/// One transmission, and what everybody makes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Transmission {
    /// The plan, as a path.
    pub plan: std::path::PathBuf,
    /// The channel that it is sent on.
    pub channel: String,
    /// The radio that sends it, where one was asked for: it is not counted.
    pub sender: Option<String>,
    /// What goes out: `talkgroup "Berths" (1201), digital, 458.2125 MHz, color code 5, slot 1`.
    pub sent: String,
    /// What becomes of it, in order: each repeater that repeats it, each network that passes it on.
    pub way: Vec<String>,
    /// Repeaters on the frequency that do not repeat it, and why.
    pub refused: Vec<String>,
    /// `18 radios: 9 standing by, 3 if scanning, 5 could tune, 1 no (color code)`.
    pub summary: String,
    /// Radios by answer and reason, best first.
    pub groups: Vec<Heard>,
    /// Stations that listen.
    pub stations: Vec<String>,
    /// What comes of the answers of those who stand by, where it does not reach who called.
    pub lost_answers: Vec<String>,
}

/// Radios that make the same of a transmission.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    /// The answer.
    pub answer: Answer,
    /// The reason, where they do not hear it.
    pub why: Option<String>,
    /// The channel on which they come nearest to hearing it.
    pub on: Option<String>,
    /// The aliases of the radios, else their unit ids, in the order of the plan.
    pub radios: Vec<String>,
}

/// Which transmission is meant.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Asked {
    /// The name of a channel; absent: the one that the radio stands by on.
    pub channel: Option<String>,
    /// The alias of the radio that sends.
    pub radio: Option<String>,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AudienceError {
    /// No channel of that name.
    #[error("no plan has a channel \"{name}\"{}", hint(.nearest))]
    NoChannel {
        /// The name.
        name: String,
        /// The nearest that there is.
        nearest: Option<String>,
    },
    /// No radio of that alias.
    #[error("no plan has a radio \"{name}\"{}", hint(.nearest))]
    NoRadio {
        /// The alias.
        name: String,
        /// The nearest that there is.
        nearest: Option<String>,
    },
    /// Nothing says where the radio stands by.
    #[error("where radio \"{name}\" stands by is not known: give it zones, or name a channel too")]
    NoPost {
        /// The alias.
        name: String,
    },
    /// The radio does not have the channel.
    #[error("radio \"{radio}\" does not have channel \"{channel}\" in its zones")]
    NotHeld {
        /// The alias.
        radio: String,
        /// The channel.
        channel: String,
    },
    /// The channel sends nothing.
    #[error("channel \"{channel}\" {}", unsent(*.why))]
    Unsent {
        /// The channel.
        channel: String,
        /// Why.
        why: Unsent,
    },
}

fn hint(nearest: &Option<String>) -> String {
    nearest.as_ref().map(|name| format!("; did you mean \"{name}\"?")).unwrap_or_default()
}

fn unsent(why: Unsent) -> &'static str {
    match why {
        Unsent::ReceiveOnly => "is receive only: nothing is sent there",
        Unsent::NobodyCalled => "calls nobody: push-to-talk sends nothing there until it names a `call`",
        Unsent::Incomplete => "lacks what it needs to send: a frequency, a color code or a slot",
        Unsent::Unreadable => "cannot be read as a whole: `guywire check` says what is wrong",
    }
}

impl Workspace {
    /// Who hears what is sent on a channel, by a radio, or by a radio on a channel: one transmission for each plan that has
    /// it and sends something else. Values must be settled.
    ///
    /// # Errors
    /// [`AudienceError`].
    pub fn audience(&self, asked: &Asked) -> Result<Vec<Transmission>, AudienceError> {
        let db = &self.engine.db;
        let recorder = Recorder::silent();
        let Some(first) = plans(db).first().copied() else {
            return Err(no_channel(db, &recorder, asked.channel.as_deref().unwrap_or_default()));
        };
        let hearing = Hearing::new(View::new(db, first, &recorder));
        let senders = match &asked.radio {
            Some(alias) => vec![of_radio(db, &recorder, alias, asked.channel.as_deref())?],
            None => of_channel(db, &recorder, asked.channel.as_deref().unwrap_or_default())?,
        };
        let mut told: Vec<Emission> = Vec::new();
        let mut transmissions = Vec::new();
        let mut silent: Option<AudienceError> = None;
        for (plan, channel, radio) in senders {
            let view = View::new(db, plan, &recorder);
            let name = view.name_of(channel).unwrap_or_default().to_owned();
            match view.air(channel).map_or(Err(Unsent::Unreadable), |air| air.push_to_talk()) {
                Ok(emission) if told.contains(&emission) => {}
                Ok(emission) => {
                    told.push(emission);
                    transmissions.push(transmission(&hearing, view, channel, &emission, radio));
                }
                Err(why) => silent = Some(AudienceError::Unsent { channel: name, why }),
            }
        }
        match (transmissions.is_empty(), silent) {
            (true, Some(silent)) => Err(silent),
            _ => Ok(transmissions),
        }
    }

    /// Every transmission against every class of radios. Values must be settled.
    pub fn audience_matrix(&self) -> Matrix {
        matrix::matrix(&self.engine.db)
    }

    /// What is sent in a plan, or on the channels of a part that plans see, against every class of radios that makes
    /// anything of it, with the reasons. Values must be settled.
    ///
    /// # Errors
    /// [`MatrixError`].
    pub fn audience_of(&self, file: FileId) -> Result<PlanMatrix, MatrixError> {
        matrix::of_file(&self.engine.db, file)
    }
}

type SenderOf = (FileId, EntityId, Option<EntityId>);

/// The plans, in order of path.
pub(crate) fn plans(db: &Db) -> Vec<FileId> {
    let mut plans: Vec<FileId> = db.file_ids().filter(|file| db.is_plan(*file)).collect();
    plans.sort_by(|a, b| db.file(*a).path.cmp(&db.file(*b).path));
    plans
}

fn no_channel(db: &Db, recorder: &Recorder, name: &str) -> AudienceError {
    let all = named::<channel::Table>(db, recorder);
    let nearest = guywire_rules::nearest(name, all.iter().map(|(_, _, held)| held.as_str())).map(str::to_owned);
    AudienceError::NoChannel { name: name.to_owned(), nearest }
}

/// Every table of a kind with a name, with the plan that sees it.
fn named<T: guywire_plan::language::Tabled>(db: &Db, recorder: &Recorder) -> Vec<(FileId, EntityId, String)> {
    let of_plan = |plan: FileId| {
        let view = View::new(db, plan, recorder);
        let mut ids: Vec<EntityId> = view.all::<T>().iter().map(Ref::id).collect();
        db.sort(&mut ids);
        ids.into_iter().filter_map(move |id| Some((plan, id, view.name_of(id)?.to_owned()))).collect::<Vec<_>>()
    };
    plans(db).into_iter().flat_map(of_plan).collect()
}

/// The plans whose radios can send on a channel of this name; where no radio holds it, those that see it.
fn of_channel(db: &Db, recorder: &Recorder, name: &str) -> Result<Vec<SenderOf>, AudienceError> {
    let all: Vec<SenderOf> = named::<channel::Table>(db, recorder)
        .into_iter()
        .filter(|(_, _, held)| held == name)
        .map(|(plan, id, _)| (plan, id, None))
        .collect();
    if all.is_empty() {
        return Err(no_channel(db, recorder, name));
    }
    let is_held = |(plan, id, _): &SenderOf| !View::new(db, *plan, recorder).holders(*id).is_empty();
    let held: Vec<SenderOf> = all.iter().copied().filter(is_held).collect();
    Ok(if held.is_empty() { all } else { held })
}

fn of_radio(db: &Db, recorder: &Recorder, alias: &str, name: Option<&str>) -> Result<SenderOf, AudienceError> {
    let all = named::<radio::Table>(db, recorder);
    let found: Vec<&(FileId, EntityId, String)> = all.iter().filter(|(_, _, held)| held == alias).collect();
    let Some((plan, radio, _)) = found.first().copied() else {
        let nearest = guywire_rules::nearest(alias, all.iter().map(|(_, _, held)| held.as_str())).map(str::to_owned);
        return Err(AudienceError::NoRadio { name: alias.to_owned(), nearest });
    };
    let view = View::new(db, *plan, recorder);
    let Some(name) = name else {
        return match view.post(*radio).map(|post| post.stands_by) {
            Some(Known::Is(home)) => Ok((*plan, home, Some(*radio))),
            _ => Err(AudienceError::NoPost { name: alias.to_owned() }),
        };
    };
    let zones = view.post(*radio).and_then(|post| post.zones.clone().value()).unwrap_or_default();
    let on_knob = zones.iter().flat_map(|zone| view.zone_channels(*zone)).find(|id| view.name_of(*id) == Some(name));
    match on_knob {
        Some(channel) => Ok((*plan, channel, Some(*radio))),
        None if named::<channel::Table>(db, recorder).iter().any(|(_, _, held)| held == name) => {
            Err(AudienceError::NotHeld { radio: alias.to_owned(), channel: name.to_owned() })
        }
        None => Err(no_channel(db, recorder, name)),
    }
}

/// Everything about one transmission.
pub(crate) fn transmission(
    hearing: &Hearing<'_>,
    view: View<'_>,
    channel: EntityId,
    emission: &Emission,
    radio: Option<EntityId>,
) -> Transmission {
    let audience = hearing.of(emission, radio);
    let name = |id: EntityId| view.name_of(id).unwrap_or("(no name)").to_owned();
    let refused = audience.rays.refused.iter().map(|refused| {
        format!("repeater \"{}\" does not repeat it: it {}", name(refused.repeater), refused.why.words())
    });
    let mut stations: Vec<String> = audience.stations.iter().map(|(_, station)| name(*station)).collect();
    stations.sort();
    stations.dedup();
    Transmission {
        plan: view.path(view.viewer()).to_path_buf(),
        channel: name(channel),
        sender: radio.map(|radio| words::radio_name(view, radio)),
        sent: words::sent(view, channel, emission),
        way: audience.rays.rays.iter().filter_map(|ray| way(view, ray)).collect(),
        refused: refused.collect(),
        summary: summary(&audience),
        groups: groups(view, &audience),
        stations,
        lost_answers: lost_answers(hearing, view, channel, emission, &audience),
    }
}

fn way(view: View<'_>, ray: &Ray) -> Option<String> {
    use guywire_plan::audience::Leg;
    let carrier = words::air_of(&ray.emission);
    let name = |id: EntityId| view.name_of(id).unwrap_or("(no name)");
    match ray.leg {
        Leg::Bare => None,
        Leg::Repeated(repeater) => Some(format!("repeater \"{}\" sends it on {carrier}", name(repeater))),
        Leg::Networked(repeater, network) => Some(format!(
            "network \"{}\" passes it on: repeater \"{}\" sends it on {carrier}",
            name(network),
            name(repeater)
        )),
    }
}

fn groups(view: View<'_>, audience: &Audience) -> Vec<Heard> {
    let mut groups: Vec<Heard> = Vec::new();
    for it in &audience.answers {
        let there = view.at(it.class.viewer);
        let why = words::why(there, it);
        let on = it.on.and_then(|on| there.name_of(on)).map(str::to_owned);
        let radios = it.radios.iter().map(|radio| words::radio_name(there, *radio));
        match groups.iter_mut().find(|held| held.answer == it.answer && held.why == why && held.on == on) {
            Some(held) => held.radios.extend(radios),
            None => groups.push(Heard { answer: it.answer, why, on, radios: radios.collect() }),
        }
    }
    // Those who have no channel there come last.
    let order = |it: &Heard| (it.answer, it.on.is_none());
    groups.sort_by(|a, b| (order(a), &a.why, &a.on).cmp(&(order(b), &b.why, &b.on)));
    groups
}

/// Answers of radios that stand by and hear the call, that the channel of the call does not hear.
fn lost_answers(
    hearing: &Hearing<'_>,
    view: View<'_>,
    channel: EntityId,
    emission: &Emission,
    audience: &Audience,
) -> Vec<String> {
    let Some(air) = view.air(channel) else { return Vec::new() };
    let senders: Vec<_> = hearing.listening(view.viewer(), channel);
    let mut lost: Vec<String> = Vec::new();
    let hear = audience.answers.iter().filter(|it| it.answer == Answer::Hears);
    for (there, on) in hear.filter_map(|it: &ClassAnswer| Some((view.at(it.class.viewer), it.on?))) {
        if on == channel {
            continue;
        }
        let Ok(reply) = there.reply(on, emission, None) else { continue };
        let rays = there.rays(&reply);
        let outcomes = senders.iter().flat_map(|(class, _)| {
            rays.rays.iter().map(|ray| guywire_plan::audience::receive(&ray.emission, air, &class.post.gear, true))
        });
        let best = outcomes.max_by_key(|outcome| outcome.depth());
        let Some(why) = best.filter(|best| !matches!(best, Outcome::Heard | Outcome::Unknown)).and_then(Outcome::words)
        else {
            continue;
        };
        let line = format!(
            "who answers from \"{}\" is not heard here: this channel {why}",
            there.name_of(on).unwrap_or("(no name)")
        );
        if !lost.contains(&line) {
            lost.push(line);
        }
    }
    lost.sort();
    lost
}
