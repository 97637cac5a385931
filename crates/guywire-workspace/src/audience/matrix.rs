//! Every transmission of the plans against every class of radios.

use std::rc::Rc;

use guywire_plan::audience::{Answer, Audience, Class, ClassAnswer, Emission, Hearing, Status};
use guywire_plan::language::radio;
use guywire_plan::{Db, EntityId, Known, Recorder, Row, View};
use guywire_text::FileId;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

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

/// What radios make of what is sent in some plans, each answer with its reason.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanMatrix {
    /// What their radios can send, against the radios of the plans, and those of others that make anything of it.
    pub matrix: Matrix,
    /// Why not, or on which channel, or how many of the class, by row; none where there is nothing to say.
    pub remarks: Vec<Vec<Option<String>>>,
}

/// Why there is no matrix of a file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MatrixError {
    /// The file is none, and no plan sees it.
    #[error("no plan with radios sees this file, so nothing is sent by what it says: open a plan")]
    NoPlan,
    /// No page shows so much.
    #[error(
        "{rows} transmissions against {columns} classes of radios are more than a page shows; \
         `guywire audience --format json` writes them all, and `--channel` or `--radio` asks for one"
    )]
    TooLarge {
        /// Transmissions.
        rows: usize,
        /// Classes of radios.
        columns: usize,
    },
}

/// Cells that a matrix with reasons has at most.
const MOST_CELLS: usize = 40_000;

/// Rows for which a core makes out once more who listens where.
const FEWEST_ROWS: usize = 64;

/// Computes the matrix, some rows on each core.
pub(super) fn matrix(db: &Db) -> Matrix {
    let recorder = Recorder::silent();
    let plans = plans(db);
    let Some(first) = plans.first().copied() else {
        return Matrix { senders: Vec::new(), receivers: Vec::new(), answers: Vec::new() };
    };
    let hearing = Hearing::new(View::new(db, first, &recorder));
    let classes: Vec<_> = plans.iter().flat_map(|plan| hearing.classes(*plan)).collect();
    let receivers = classes.iter().map(|class| receiver(View::new(db, class.viewer, &recorder), class)).collect();
    let columns = classes.len();
    let rows = rows(db, &recorder, &hearing, &plans);
    let each = rows.len().div_ceil(rayon::current_num_threads()).max(FEWEST_ROWS);
    let computed: Vec<Vec<(Vec<Answer>, Sender)>> =
        rows.par_chunks(each).map(|rows| computed(db, first, rows, columns)).collect();
    let (answers, senders) = computed.into_iter().flatten().unzip();
    Matrix { senders, receivers, answers }
}

/// The answers of all classes to some rows.
fn computed(db: &Db, first: FileId, rows: &[Line], columns: usize) -> Vec<(Vec<Answer>, Sender)> {
    let recorder = Recorder::silent();
    let hearing = Hearing::new(View::new(db, first, &recorder));
    let row = |row: &Line| {
        let audience = hearing.of(&row.emission, None);
        let answers = best(&audience, columns).into_iter().map(|it| it.map_or(Answer::No, |it| it.answer)).collect();
        (answers, sender(View::new(db, row.plan, &recorder), row, &audience))
    };
    rows.iter().map(row).collect()
}

/// Computes the matrix of what a file says: of a plan all that its radios can send; of a part that plans see what they
/// send on its channels, or all where it has none.
pub(super) fn of_file(db: &Db, file: FileId) -> Result<PlanMatrix, MatrixError> {
    let recorder = Recorder::silent();
    let mut plans = if db.is_plan(file) { vec![file] } else { db.viewers(file) };
    plans.sort_by(|a, b| db.file(*a).path.cmp(&db.file(*b).path));
    let first = *plans.first().ok_or(MatrixError::NoPlan)?;
    let hearing = Hearing::new(View::new(db, first, &recorder));
    let mut rows = rows(db, &recorder, &hearing, &plans);
    let is_here = |channel: &EntityId| db.entity(*channel).is_some_and(|entity| entity.file == file);
    if !db.is_plan(file) && rows.iter().any(|row| row.channels.iter().any(is_here)) {
        rows.retain(|row| row.channels.iter().any(is_here));
    }
    let own: Vec<_> = plans.iter().flat_map(|plan| hearing.classes(*plan)).collect();
    let (rows_are, own_are) = (rows.len(), own.len());
    let fits = |columns: usize| match rows_are * columns {
        0..=MOST_CELLS => Ok(()),
        _ => Err(MatrixError::TooLarge { rows: rows_are, columns }),
    };
    fits(own_are)?;
    let audiences: Vec<Audience> = rows.iter().map(|row| hearing.of(&row.emission, None)).collect();
    let others = hearing.plans().iter().filter(|plan| !plans.contains(plan)).flat_map(|plan| hearing.classes(*plan));
    let reached: FxHashSet<*const Class> = audiences
        .iter()
        .flat_map(|audience| audience.answers.iter().filter(|it| it.answer != Answer::No))
        .map(|it| Rc::as_ptr(&it.class))
        .collect();
    let mut classes = own;
    classes.extend(others.filter(|class| reached.contains(&Rc::as_ptr(class))));
    fits(classes.len())?;
    let mut matrix = Matrix {
        senders: Vec::new(),
        receivers: classes.iter().map(|class| receiver(View::new(db, class.viewer, &recorder), class)).collect(),
        answers: Vec::new(),
    };
    let all: usize = hearing.plans().iter().map(|plan| hearing.classes(*plan).len()).sum();
    let mut remarks = Vec::new();
    for (row, audience) in rows.iter().zip(&audiences) {
        let best = best(audience, all);
        let found: Vec<Option<&ClassAnswer>> = classes.iter().map(|class| best[class.number]).collect();
        matrix.answers.push(found.iter().map(|it| it.map_or(Answer::No, |it| it.answer)).collect());
        remarks
            .push(found.iter().map(|it| remark(View::new(db, it.as_ref()?.class.viewer, &recorder), (*it)?)).collect());
        matrix.senders.push(sender(View::new(db, row.plan, &recorder), row, audience));
    }
    Ok(PlanMatrix { matrix, remarks })
}

/// What the radios of each class make of a transmission, by number; where some are called and some are not, the best.
fn best(audience: &Audience, classes: usize) -> Vec<Option<&ClassAnswer>> {
    let mut best: Vec<Option<&ClassAnswer>> = vec![None; classes];
    for it in &audience.answers {
        let held = &mut best[it.class.number];
        if held.is_none_or(|held| it.answer < held.answer) {
            *held = Some(it);
        }
    }
    best
}

/// Why not, or on which channel other than the one that they stand by on; of an individual call, how many are called.
fn remark(view: View<'_>, it: &ClassAnswer) -> Option<String> {
    let on = || Some(format!("on \"{}\"", view.name_of(it.on?)?)).filter(|_| it.answer != Answer::Hears);
    let of = it.class.radios.len();
    let called = (it.radios.len() < of).then(|| format!("{} of {of} radios", it.radios.len()));
    match (words::why(view, it).or_else(on), called) {
        (Some(remark), Some(called)) => Some(format!("{called}, {remark}")),
        (remark, called) => remark.or(called),
    }
}

fn sender(view: View<'_>, row: &Line, audience: &Audience) -> Sender {
    Sender {
        channels: row.channels.iter().filter_map(|channel| view.name_of(*channel)).map(str::to_owned).collect(),
        sent: words::sent(view, row.channels[0], &row.emission),
        plan: view.path(row.plan).to_path_buf(),
        stations: audience.stations.len(),
        summary: words::summary(audience),
    }
}

struct Line {
    plan: FileId,
    channels: Vec<EntityId>,
    emission: Emission,
}

/// The channels that some radio of these plans holds, in the order of plans, zones and knob, those that send the same as one.
fn rows(db: &Db, recorder: &Recorder, hearing: &Hearing<'_>, plans: &[FileId]) -> Vec<Line> {
    let mut rows: Vec<Line> = Vec::new();
    let mut by_emission: FxHashMap<Emission, usize> = FxHashMap::default();
    for plan in plans {
        let view = View::new(db, *plan, recorder);
        let mut met: FxHashSet<EntityId> = FxHashSet::default();
        for class in hearing.classes(*plan) {
            let Known::Is(zones) = &class.post.zones else { continue };
            let zones: Vec<EntityId> = zones.iter().copied().filter(|zone| met.insert(*zone)).collect();
            for channel in zones.into_iter().flat_map(|zone| view.zone_channels(zone)) {
                if !met.insert(channel) {
                    continue;
                }
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
