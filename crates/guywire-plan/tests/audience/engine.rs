//! The computation under test, asked about a world.

use std::path::Path;

use guywire_plan::audience::{self, Audience, Called, Emission, Noise, Outcome, Reason, Sync, WhyNotRepeated};
use guywire_plan::language::Kind;
use guywire_plan::{Db, EntityId, Recorder, View, derived};
use guywire_text::{Document, FileId};

use crate::oracle::{Answer, Pattern, Refused, Sent, Signal, To, Verdict, Why};
use crate::world::*;

/// Plans as the database has them.
pub struct Read {
    pub db: Db,
    pub files: Vec<FileId>,
}

/// Reads files and computes everything.
pub fn read(files: &[(String, String)]) -> Read {
    let mut db = Db::default();
    let mut ids = Vec::new();
    let mut texts = Vec::new();
    for (path, text) in files {
        let file = db.file_at(Path::new(path));
        texts.push((file, Ok(Document::new(text))));
        if path.ends_with(".plan.toml") {
            ids.push(file);
        }
    }
    db.set_texts(texts);
    derived::settle(&mut db);
    for file in &ids {
        assert!(db.errors(*file).is_empty(), "{:?}", db.errors(*file));
    }
    Read { db, files: ids }
}

impl Read {
    pub fn table(&self, view: View, home: Home, kind: Kind, name: &str) -> EntityId {
        let mut found = self.db.entities_of(self.files[home]);
        found.find(|id| view.kind(*id) == kind && view.name_of(*id) == Some(name)).expect("it is written")
    }

    pub fn channels(&self, view: View, world: &World) -> Vec<EntityId> {
        world.channels.iter().map(|it| self.table(view, it.home, Kind::Channel, &it.name)).collect()
    }

    pub fn radios(&self, view: View, world: &World) -> Vec<EntityId> {
        world.radios.iter().map(|it| self.table(view, it.home, Kind::Radio, &it.name)).collect()
    }

    pub fn repeaters(&self, view: View, world: &World) -> Vec<EntityId> {
        world.repeaters.iter().map(|it| self.table(view, it.home, Kind::Repeater, &it.name)).collect()
    }

    /// Asks with a view of a plan.
    pub fn ask<T>(&self, plan: Home, question: impl FnOnce(View) -> T) -> T {
        let recorder = Recorder::new(None);
        question(View::new(&self.db, self.files[plan], &recorder))
    }
}

/// The answer of a radio, in the oracle's words.
pub fn told(
    audience: &Audience,
    radio: EntityId,
    channels: &[EntityId],
    repeaters: &[EntityId],
) -> Option<(Answer, Why)> {
    let it = audience.of(radio)?;
    let answer = match it.answer {
        audience::Answer::Hears => Answer::Hears,
        audience::Answer::IfScanning => Answer::IfScanning,
        audience::Answer::CouldTune => Answer::CouldTune,
        audience::Answer::Unknown => Answer::Unknown,
        audience::Answer::Noise => Answer::Noise,
        audience::Answer::No => Answer::No,
    };
    let on = it.on.map(|on| channels.iter().position(|channel| *channel == on).expect("one of them"));
    let refused = it.refused.map(|refusal| {
        let number = repeaters.iter().position(|it| *it == refusal.repeater).expect("one of them");
        (number, why(refusal.why))
    });
    Some((answer, (on, verdict(it.outcome), refused)))
}

fn why(why: WhyNotRepeated) -> Refused {
    match why {
        WhyNotRepeated::Mode => Refused::Mode,
        WhyNotRepeated::Direct => Refused::Direct,
        WhyNotRepeated::ColorCode { sent, wanted } => Refused::ColorCode(sent, wanted),
        WhyNotRepeated::Tone => Refused::Tone,
        WhyNotRepeated::NotListed => Refused::NotListed,
        WhyNotRepeated::Barred => Refused::Barred,
        WhyNotRepeated::Unknown => panic!("every repeater can be read"),
    }
}

fn pattern(sync: Sync) -> Pattern {
    match sync {
        Sync::Mobile => Pattern::Mobile,
        Sync::Base => Pattern::Base,
        Sync::TdmaDirect => Pattern::TdmaDirect,
    }
}

fn verdict(outcome: Outcome) -> Verdict {
    match outcome {
        Outcome::Heard => Verdict::Heard,
        Outcome::Unknown => Verdict::NotWritten,
        Outcome::Noise(Noise::TooWide) => Verdict::TooWide,
        Outcome::Noise(Noise::OtherMaterial) => Verdict::OtherMaterial,
        Outcome::Noise(Noise::DigitalIntoAnalog) => Verdict::DigitalIntoAnalog,
        Outcome::No(Reason::Frequency) => Verdict::Frequency,
        Outcome::No(Reason::Mode) => Verdict::Mode,
        Outcome::No(Reason::Sync { sent }) => Verdict::Pattern(pattern(sent)),
        Outcome::No(Reason::ColorCode { sent, wanted }) => Verdict::ColorCode(sent, wanted),
        Outcome::No(Reason::Slot { sent, wanted }) => Verdict::Slot(sent, wanted),
        Outcome::No(Reason::Group { sent }) => Verdict::Group(sent),
        Outcome::No(Reason::Unit { sent }) => Verdict::Unit(sent),
        Outcome::No(Reason::Clear) => Verdict::Clear,
        Outcome::No(Reason::Key) => Verdict::UnknownKey,
        Outcome::No(Reason::Tone) => Verdict::Tone,
    }
}

/// An emission in the oracle's words.
pub fn emitted(it: &Emission, keys: &[EntityId]) -> Sent {
    let signal = match it.signal {
        audience::Signal::Analog(tone) => Signal::Analog(tone.map(|tone| {
            let text = tone.to_string();
            TONES.into_iter().find(|known| *known == text).expect("one of them")
        })),
        audience::Signal::Digital(digital) => Signal::Digital {
            pattern: pattern(digital.sync),
            color_code: digital.color_code,
            slot: digital.slot,
            to: match digital.called {
                Called::Group(number) => To::Group(number),
                Called::Unit(number) => To::Unit(number),
                Called::All => To::All,
            },
            key: digital.key.map(|key| keys.iter().position(|it| *it == key.material.entity).expect("one of them")),
            is_data: digital.payload == audience::Payload::Data,
        },
    };
    Sent { carrier: it.carrier.0, width: it.width.0, signal }
}
