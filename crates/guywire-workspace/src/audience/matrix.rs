//! Every transmission of the plans against every class of radios.

use guywire_plan::audience::{Answer, Class, Emission, Hearing, Status};
use guywire_plan::language::radio;
use guywire_plan::{Db, EntityId, Known, Recorder, Row, View};
use guywire_text::FileId;

use super::{plans, words};

/// Transmissions by row, classes of radios by column.
#[derive(Debug, Clone, PartialEq)]
pub struct Matrix {
    /// What is sent: channels that some radio can send on; those from which the same goes out are one.
    pub senders: Vec<Sender>,
    /// Who listens: radios that are alike in zones, keys, model and where they stand by are one class.
    pub receivers: Vec<Receiver>,
    /// The answer of each class, by row.
    pub answers: Vec<Vec<Answer>>,
}

/// A row.
#[derive(Debug, Clone, PartialEq)]
pub struct Sender {
    /// The channels that send it, in the order of the plans.
    pub channels: Vec<String>,
    /// What goes out.
    pub sent: String,
    /// The plan of the first of them.
    pub plan: std::path::PathBuf,
    /// How many stations listen.
    pub stations: usize,
    /// `18 radios: 9 standing by, …`.
    pub summary: String,
}

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub struct Receiver {
    /// Their profile, else the alias of the first.
    pub name: String,
    /// The plan that they belong to.
    pub plan: std::path::PathBuf,
    /// The channel that they stand by on.
    pub stands_by: Option<String>,
    /// Their aliases.
    pub radios: Vec<String>,
}

/// Computes the matrix.
pub(super) fn matrix(db: &Db) -> Matrix {
    let recorder = Recorder::new(None);
    let plans = plans(db);
    let Some(first) = plans.first().copied() else {
        return Matrix { senders: Vec::new(), receivers: Vec::new(), answers: Vec::new() };
    };
    let hearing = Hearing::new(View::new(db, first, &recorder));
    let classes: Vec<_> = plans.iter().flat_map(|plan| hearing.classes(*plan)).collect();
    let rows = rows(db, &recorder, &hearing, &plans);
    let mut matrix = Matrix {
        senders: Vec::new(),
        receivers: classes.iter().map(|class| receiver(View::new(db, class.viewer, &recorder), class)).collect(),
        answers: Vec::new(),
    };
    for row in rows {
        let view = View::new(db, row.plan, &recorder);
        let audience = hearing.of(&row.emission, None);
        let answer = |class: &std::rc::Rc<Class>| {
            let of_class = audience.answers.iter().filter(|it| std::rc::Rc::ptr_eq(&it.class, class));
            of_class.map(|it| it.answer).min().unwrap_or(Answer::No)
        };
        matrix.answers.push(classes.iter().map(answer).collect());
        matrix.senders.push(Sender {
            channels: row.channels.iter().filter_map(|channel| view.name_of(*channel)).map(str::to_owned).collect(),
            sent: words::sent(view, row.channels[0], &row.emission),
            plan: view.path(row.plan).to_path_buf(),
            stations: audience.stations.len(),
            summary: words::summary(&audience),
        });
    }
    matrix
}

struct Line {
    plan: FileId,
    channels: Vec<EntityId>,
    emission: Emission,
}

/// The channels that some radio holds, in the order of plans, zones and knob, those that send the same as one.
fn rows(db: &Db, recorder: &Recorder, hearing: &Hearing<'_>, plans: &[FileId]) -> Vec<Line> {
    let mut rows: Vec<Line> = Vec::new();
    let mut by_emission: rustc_hash::FxHashMap<Emission, usize> = rustc_hash::FxHashMap::default();
    for plan in plans {
        let view = View::new(db, *plan, recorder);
        for class in hearing.classes(*plan) {
            let Known::Is(zones) = &class.post.zones else { continue };
            for channel in zones.iter().flat_map(|zone| view.zone_channels(*zone)) {
                let Some(Ok(emission)) = view.air(channel).map(|air| air.push_to_talk()) else { continue };
                let number = *by_emission.entry(emission).or_insert_with(|| {
                    rows.push(Line { plan: *plan, channels: Vec::new(), emission });
                    rows.len() - 1
                });
                if !rows[number].channels.contains(&channel) {
                    rows[number].channels.push(channel);
                }
            }
        }
    }
    rows
}

fn receiver(view: View<'_>, class: &Class) -> Receiver {
    let radios: Vec<String> = class.radios.iter().map(|radio| words::radio_name(view, *radio)).collect();
    let profile = |id: &EntityId| view.get::<radio::Table>(*id).and_then(|it| it.text(radio::profile).value());
    let profiles: Vec<_> = class.radios.iter().map(profile).collect();
    let shared = profiles.first().copied().flatten().filter(|first| profiles.iter().all(|it| *it == Some(*first)));
    let name = shared.map(|profile| view.symbol(profile).to_owned()).or_else(|| radios.first().cloned());
    let home = class.post.stands_by.value().and_then(|home| view.name_of(home));
    let status = match class.post.status {
        Known::Is(Status::Issued) | Known::Absent => "",
        Known::Is(Status::Spare) => " (spare)",
        Known::Is(Status::Away) => " (lost or retired)",
        Known::Unreadable => " (status not known)",
    };
    let is_in_use = status.is_empty();
    Receiver {
        name: name.unwrap_or_default() + status,
        plan: view.path(class.viewer).to_path_buf(),
        stands_by: home.filter(|_| is_in_use).map(str::to_owned),
        radios,
    }
}
