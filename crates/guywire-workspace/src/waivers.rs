//! Waivers: comments that accept a finding, with a reason and an end. A pass over what the rules said; it changes no result
//! of a rule, and none of the audience.

use std::hash::Hash;
use std::ops::Range;

use guywire_plan::Db;
use guywire_rules::{CATALOG, FindingKey, Fnv, Level, RuleId, Safety};
use guywire_text::{Document, Encoding, FileId, MARK, UnitKey};
use jiff::civil::Date;

use crate::answer::{OfferedFix, Shown, TextEdit, Waived};
use crate::ask::locate;
use crate::publish;
use crate::settings::Settings;
use crate::workspace::Workspace;

/// How long a waiver that is written by the program lasts.
const DAYS_OFFERED: i64 = 90;

/// A comment that accepts findings: `# waive(rule) until 2027-01-31: reason`.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Waiver {
    /// From the number sign to the end of the comment.
    at: Range<usize>,
    /// The rules that it names.
    rules: Vec<String>,
    /// Its last day; none where none is written or it is no date.
    until: Option<Date>,
    /// Why.
    reason: String,
    /// The bytes of that.
    reason_at: Range<usize>,
    /// The bytes whose findings it accepts: a key with its value, or a table with its sub-tables. None where nothing
    /// follows it.
    covers: Option<Range<usize>>,
}

/// Takes out the findings that waivers accept, and adds those about the waivers themselves. Returns those taken out.
pub(crate) fn apply(workspace: &Workspace, file: FileId, in_file: Fnv, shown: &mut Vec<Shown>) -> Vec<Waived> {
    let db = &workspace.engine.db;
    let waivers = waivers(db, file);
    if waivers.is_empty() {
        return Vec::new();
    }
    let settings = workspace.settings_of(file);
    let mut used = vec![false; waivers.len()];
    let mut waived = Vec::new();
    shown.retain(|finding| {
        let of = waivers.iter().position(|waiver| accepts(waiver, finding));
        if let Some(number) = of {
            used[number] = true;
            let Waiver { reason_at, until, .. } = &waivers[number];
            let reason = (!reason_at.is_empty()).then(|| reason_at.clone());
            waived.push(Waived { finding: finding.clone(), reason, until: *until });
        }
        of.is_none()
    });
    let today = db.today(file);
    for (waiver, used) in waivers.iter().zip(used) {
        for (rule, message) in wrong(waiver, used, settings, today) {
            shown.extend(finding(settings, in_file, waiver, rule, message));
        }
    }
    waived
}

fn accepts(waiver: &Waiver, finding: &Shown) -> bool {
    let is_always = guywire_rules::find(finding.rule).is_some_and(|rule| rule.about().always);
    let covered = waiver.covers.as_ref().is_some_and(|covers| covers.contains(&finding.bytes.start));
    covered && !is_always && waiver.rules.iter().any(|rule| rule == finding.rule)
}

/// What is wrong with a waiver, by rule.
fn wrong(waiver: &Waiver, used: bool, settings: &Settings, today: Option<Date>) -> Vec<(&'static str, String)> {
    let mut wrong = Vec::new();
    let names = waiver.rules.join(", ");
    if !used {
        let unknown = waiver.rules.iter().find(|name| guywire_rules::find(name).is_none());
        let always = waiver.rules.iter().find(|name| guywire_rules::find(name).is_some_and(|rule| rule.about().always));
        let why = match (unknown, always) {
            (Some(name), _) => format!("there is no rule {name}"),
            (None, Some(name)) => format!("{name} cannot be waived"),
            (None, None) if waiver.covers.is_none() => "no key or table follows it".to_owned(),
            (None, None) => format!("nothing that it covers has a finding of {names}"),
        };
        wrong.push(("waiver-unused", format!("this waiver accepts nothing: {why}. Take it out, or correct it")));
        return wrong;
    }
    if waiver.reason.is_empty() && settings.reason_required {
        wrong.push((
            "waiver-without-reason",
            format!("this waiver of {names} gives no reason: who reads it later cannot tell whether it still holds. Write why after a colon"),
        ));
    }
    match (waiver.until, today) {
        (Some(until), Some(today)) if until < today => wrong.push((
            "waiver-expired",
            format!("this waiver of {names} ended on {until}: look again at what it accepts, then mend that or give the waiver a new end"),
        )),
        (until, Some(today)) => {
            if let Some(most) = settings.longest_waiver_days
                && until.is_none_or(|until| days_between(today, until) > most)
            {
                let lasts = until.map_or("has no end".to_owned(), |until| format!("lasts until {until}"));
                wrong.push((
                    "waiver-too-long",
                    format!("this waiver of {names} {lasts}, and the house allows {most} days: give it an earlier end, so that somebody looks at it again"),
                ));
            }
        }
        _ => {}
    }
    wrong
}

fn days_between(from: Date, to: Date) -> i64 {
    from.until(to).map_or(0, |span| i64::from(span.get_days()))
}

fn finding(settings: &Settings, in_file: Fnv, waiver: &Waiver, rule: &'static str, message: String) -> Option<Shown> {
    let number = CATALOG.iter().position(|held| held.about().name == rule)?;
    let about = CATALOG[number].about();
    let level = settings.level_of(RuleId(number as u16));
    if level == Level::Off {
        return None;
    }
    let mut hasher = in_file;
    rule.hash(&mut hasher);
    waiver.rules.hash(&mut hasher);
    Some(Shown {
        rule: about.name,
        level,
        bytes: waiver.at.clone(),
        message,
        related: Vec::new(),
        key: FindingKey(hasher.0),
        unnecessary: rule == "waiver-unused",
        fixable: false,
    })
}

// ---- reading -------------------------------------------------------------------------------------

fn waivers(db: &Db, file: FileId) -> Vec<Waiver> {
    let Some(document) = db.document(file) else { return Vec::new() };
    let mut found = Vec::new();
    for block in document.marked_blocks() {
        let (Some(start), Some(text)) = (document.start(block), document.block_text(block)) else { continue };
        for (at, _) in text.match_indices(MARK) {
            found.extend(waiver_at(db, file, document, start + at));
        }
    }
    found
}

/// The waiver whose mark stands at a byte; none where that is in a value, or in other words.
fn waiver_at(db: &Db, file: FileId, document: &Document, mark: usize) -> Option<Waiver> {
    let line = document.to_protocol(mark, Encoding::Utf8).line;
    let bytes = document.line_range(line)?;
    let text = document.slice(bytes.clone())?;
    let before = &text[..mark - bytes.start];
    let sign = before.trim_end().strip_suffix('#')?.len();
    if !is_comment(db, file, bytes.start + sign) {
        return None;
    }
    let (names, rest) = text[mark - bytes.start + MARK.len()..].split_once(')')?;
    let rules = names.split(',').map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()).collect();
    let (until, reason) = match rest.split_once(':') {
        Some((until, reason)) => (until, reason.trim()),
        None => (rest, ""),
    };
    let until = until.trim().strip_prefix("until").and_then(|day| day.trim().parse().ok());
    let end = bytes.start + text.trim_end().len();
    let alone = text[..sign].trim().is_empty();
    Some(Waiver {
        at: bytes.start + sign..end,
        rules,
        until,
        reason: reason.to_owned(),
        reason_at: end - reason.len()..end,
        covers: covered(db, file, document, line, alone),
    })
}

/// Whether the number sign at a byte begins a comment: not in a value.
pub(crate) fn is_comment(db: &Db, file: FileId, sign: usize) -> bool {
    let located = locate::locate(db, file, sign);
    !located.is_some_and(|located| !located.on_key && located.bytes.contains(&sign))
}

/// What a comment covers: what stands on its line, else on the next line that is no comment.
pub(crate) fn covered(db: &Db, file: FileId, document: &Document, line: u32, alone: bool) -> Option<Range<usize>> {
    let mut line = line;
    let bytes = loop {
        let bytes = document.line_range(line)?;
        let text = document.slice(bytes.clone())?;
        let is_comment = text.trim_start().starts_with('#');
        if !is_comment {
            if alone && text.trim().is_empty() {
                return None;
            }
            let indent = text.len() - text.trim_start().len();
            break bytes.start + indent..bytes.end;
        }
        line += 1;
    };
    if document.slice(bytes.clone())?.starts_with('[') {
        return Some(bytes.start..table_end(document, bytes.start));
    }
    Some(statement(db, file, bytes.start).unwrap_or(bytes))
}

/// Where the table whose header stands at a byte ends, its sub-tables included.
fn table_end(document: &Document, header: usize) -> usize {
    let (block, _) = document.at(header);
    let own: Option<UnitKey> = document.unit_of(block);
    let mut end = document.len();
    let mut after = false;
    for other in document.blocks_from(block) {
        if after && document.unit_of(other) != own {
            end = document.start(other).unwrap_or(end);
            break;
        }
        after = true;
    }
    end
}

/// The key that stands at a byte, with its value.
fn statement(db: &Db, file: FileId, byte: usize) -> Option<Range<usize>> {
    let located = locate::locate(db, file, byte)?;
    let entity = db.entity(located.id)?;
    let slot = entity.record.slot(located.path.first()?)?;
    let (key, value) = (db.bytes(entity, slot.key)?, db.bytes(entity, slot.at)?);
    Some(key.start.min(byte)..value.end + 1)
}

// ---- writing -------------------------------------------------------------------------------------

/// How long a waiver is written to last, where the day of the file is known: as long as the house allows, and no longer
/// than anybody remembers it.
pub(crate) fn last_day(workspace: &Workspace, file: FileId) -> Option<Date> {
    let most = workspace.settings_of(file).longest_waiver_days.unwrap_or(DAYS_OFFERED).min(DAYS_OFFERED);
    workspace.engine.db.today(file)?.checked_add(jiff::Span::new().days(most)).ok()
}

impl Workspace {
    /// Comments that would accept the findings that touch these bytes, each with the reason left for the user to write:
    /// as a fix that changes nothing but what is shown. Findings that are never waived are left out.
    pub fn waiver_offers(&self, file: FileId, bytes: Range<usize>) -> Vec<OfferedFix> {
        let Some(document) = self.engine.db.document(file) else { return Vec::new() };
        let touching = publish::uncapped(self, file)
            .into_iter()
            .filter(|shown| shown.bytes.start <= bytes.end && bytes.start <= shown.bytes.end)
            .filter(|shown| !shown.rule.starts_with("waiver-"))
            .filter(|shown| guywire_rules::find(shown.rule).is_some_and(|rule| !rule.about().always));
        let until = last_day(self, file).map(|until| format!(" until {until}")).unwrap_or_default();
        touching
            .filter_map(|shown| {
                let byte = statement(&self.engine.db, file, shown.bytes.start).map_or(shown.bytes.start, |it| it.start);
                let line = document.line_range(document.to_protocol(byte, Encoding::Utf8).line)?;
                let text = document.slice(line.clone())?;
                let indent = &text[..text.len() - text.trim_start().len()];
                let comment = format!("{indent}# waive({}){until}: {}", shown.rule, document.line_ending());
                let edit = TextEdit { file, bytes: line.start..line.start, text: comment };
                let title = format!("Accept this finding of {} with a waiver (then write the reason)", shown.rule);
                Some(OfferedFix { finding: shown, title, safety: Safety::Choice, preferred: false, edits: vec![edit] })
            })
            .collect()
    }

    /// The findings of a file that waivers accept, in order.
    pub fn waived(&self, file: FileId) -> Vec<Waived> {
        let is_marked = |document: &Document| document.marked_blocks().into_iter().next().is_some();
        if !self.engine.db.document(file).is_some_and(is_marked) {
            return Vec::new();
        }
        publish::waived(self, file)
    }
}
