//! Runs every rule over a few files in memory, for tests of rules.

use std::path::Path;

use guywire_plan::{Db, EntityId, Recorder, View, derived};
use guywire_text::{Document, FileId};

use crate::finding::{Edit, Fix, RuleId, Safety, Sink};
use crate::rule::{ErasedRule, Judged, On, Target};
use crate::{CATALOG, Finding};

/// The day by which dated things are judged.
const TODAY: jiff::civil::Date = jiff::civil::date(2026, 11, 25);

/// What a rule said, with the fixes that it offers.
#[derive(Debug)]
pub(crate) struct Said {
    pub rule: &'static str,
    pub message: String,
    pub fixes: Vec<(Safety, String)>,
}

/// What all rules say of these files, by the name of the rule. A file is given by its path and text.
pub(crate) fn judge(files: &[(&str, &str)]) -> Vec<Said> {
    let mut db = Db::default();
    let texts = files
        .iter()
        .map(|(path, text)| (db.file_at(&Path::new("/harbor").join(path)), Ok(Document::new(text))))
        .collect();
    db.set_texts(texts);
    for file in db.file_ids() {
        db.set_today(file, TODAY);
    }
    derived::settle(&mut db);
    let mut said = Vec::new();
    for file in db.file_ids() {
        for (number, rule) in CATALOG.iter().enumerate() {
            let id = RuleId(number as u16);
            if rule.on() == On::Text {
                said.extend(run(&db, (id, *rule), file, Target::Text(file)));
            }
        }
        let entities: Vec<EntityId> = db.entities_of(file).collect();
        for entity in entities {
            said.extend(judge_table(&db, file, entity));
        }
    }
    said.sort_by(|a, b| (a.rule, &a.message).cmp(&(b.rule, &b.message)));
    said
}

/// The names of the rules that say something, each once.
pub(crate) fn rules(files: &[(&str, &str)]) -> Vec<&'static str> {
    let mut names: Vec<&str> = judge(files).iter().map(|said| said.rule).collect();
    names.dedup();
    names
}

fn judge_table(db: &Db, file: FileId, entity: EntityId) -> Vec<Said> {
    let recorder = Recorder::new(None);
    let kind = View::new(db, file, &recorder).kind(entity);
    let mut said = Vec::new();
    for (number, rule) in CATALOG.iter().enumerate() {
        let rule = (RuleId(number as u16), *rule);
        if rule.1.on() != On::Any && rule.1.on() != On::Kind(kind) {
            continue;
        }
        let viewers = match rule.1.about().judged {
            Judged::PerFile => vec![file],
            Judged::PerPlan => db.viewers(file),
        };
        for viewer in viewers {
            said.extend(run(db, rule, viewer, Target::Table(entity)));
        }
    }
    said
}

fn run(db: &Db, (id, rule): (RuleId, &'static dyn ErasedRule), viewer: FileId, target: Target) -> Vec<Said> {
    let recorder = Recorder::new(None);
    let (mut findings, mut fixes): (Vec<Finding>, Vec<(usize, Fix)>) = Default::default();
    let about = rule.about();
    let options =
        |name: &'static str| about.options.iter().find(|option| option.name == name).map_or(f64::NAN, |it| it.default);
    let view = View::new(db, viewer, &recorder);
    rule.run(target, view, &mut Sink::new(id, &mut findings, Some(&mut fixes), &options));
    let of = |number: usize| {
        let own = fixes.iter().filter(|(of, _)| *of == number);
        own.map(|(_, fix)| (fix.safety, written(fix))).collect()
    };
    let said = findings.iter().enumerate();
    said.map(|(number, finding)| Said { rule: about.name, message: finding.message.clone(), fixes: of(number) })
        .collect()
}

/// What a fix writes, its edits one after the other.
fn written(fix: &Fix) -> String {
    let texts = fix.edits.iter().map(|edit| match edit {
        Edit::Set(_, _, text) | Edit::SetKey(_, _, text) | Edit::SetHeader(_, text) | Edit::Bytes(_, text) => {
            text.clone()
        }
        Edit::Insert(_, key, text) => format!("{key} = {text}"),
        Edit::Remove(..) | Edit::RemoveTable(_) => String::new(),
    });
    texts.collect::<Vec<_>>().join(" | ")
}
