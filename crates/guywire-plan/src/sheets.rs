//! Fleet sheets in the database: which plan file names which sheet, and the radios read from its rows.

use std::sync::Arc;

use guywire_text::{FileId, Span, UnitKey};
use smallvec::SmallVec;

use crate::db::{Db, UnitRecord};
use crate::entity::{Entity, EntityId, Form};
use crate::fact::{Changes, Fact};
use crate::language::{Kind, RADIO, RADIOS, radios};
use crate::read::Reader;
use crate::sheet::{self, Cell, Sheet, SheetProblem};
use crate::value::{Known, Stored};

/// What is known of a file as a fleet sheet.
#[derive(Debug, Default, Clone)]
pub(crate) struct SheetState {
    /// The `[radios]` table that says how to read it.
    fleet: Option<EntityId>,
    /// The names of its columns.
    columns: Vec<Box<str>>,
    /// What is wrong with it, with places.
    problems: Vec<(Span, SheetProblem)>,
}

impl Db {
    /// Whether some plan file names it as a fleet sheet.
    pub fn is_sheet(&self, file: FileId) -> bool {
        self.file(file).sheet.is_some()
    }

    /// Whether anything is read from the file: it is of the language, or a fleet sheet.
    pub fn is_read(&self, file: FileId) -> bool {
        self.file(file).kind.is_some() || self.is_sheet(file)
    }

    /// What is wrong with a sheet, with places.
    pub(crate) fn sheet_problems(&self, file: FileId) -> &[(Span, SheetProblem)] {
        self.file(file).sheet.as_ref().map_or(&[], |sheet| &sheet.problems)
    }

    /// The names of a sheet's columns.
    pub(crate) fn sheet_columns(&self, file: FileId) -> &[Box<str>] {
        self.file(file).sheet.as_ref().map_or(&[], |sheet| &sheet.columns)
    }

    /// Reads again the sheets whose text changed, and those whose `[radios]` did. Says whether some plan file names other
    /// sheets than before.
    pub(crate) fn settle_sheets(&mut self, texts: &[FileId], changes: &mut Changes) -> bool {
        let mut to_read: Vec<FileId> = texts.iter().copied().filter(|file| self.is_sheet(*file)).collect();
        let mut moved = false;
        if std::mem::take(&mut self.fleets_changed) {
            moved = self.bind_sheets(&mut to_read);
        }
        to_read.sort_unstable();
        to_read.dedup();
        for file in to_read {
            self.read_sheet(file, changes);
        }
        moved
    }

    /// Every file that is read as a fleet sheet.
    pub fn sheets(&self) -> &[FileId] {
        &self.bound
    }

    /// Finds anew which sheet each plan file names, and by which `[radios]` each sheet is read: the first by path.
    fn bind_sheets(&mut self, to_read: &mut Vec<FileId>) -> bool {
        let mut fleets: Vec<(EntityId, FileId, FileId)> = Vec::new();
        for id in &self.fleets {
            let Some(entity) = self.entity(*id) else { continue };
            if let Known::Is(Stored::File(sheet)) = entity.record.known(radios::from.number()) {
                fleets.push((*id, entity.file, *sheet));
            }
        }
        fleets.sort_by(|a, b| self.order(a.0).cmp(&self.order(b.0)));
        let mut moved = false;
        self.bound.clear();
        for file in self.file_ids() {
            let named: SmallVec<[FileId; 1]> =
                fleets.iter().filter(|(_, plan, _)| *plan == file).map(|(_, _, sheet)| *sheet).collect();
            if self.file(file).sheets != named {
                self.file_mut(file).sheets = named;
                moved = true;
            }
            let fleet = fleets.iter().find(|(_, _, sheet)| *sheet == file).map(|(fleet, ..)| *fleet);
            if fleet.is_some() {
                self.bound.push(file);
            }
            if fleet.is_some() || self.is_sheet(file) {
                // Columns may have changed under the same table: it is read again in any case.
                self.file_mut(file).sheet.get_or_insert_default().fleet = fleet;
                to_read.push(file);
            }
        }
        moved
    }

    fn read_sheet(&mut self, file: FileId, changes: &mut Changes) {
        let Some(state) = self.file(file).sheet.clone() else { return };
        let sheet = match (&self.file(file).text, state.fleet) {
            (Ok(document), Some(_)) => sheet::cut(&document.whole_text()),
            _ => Sheet::default(),
        };
        let keys = self.keys_of_columns(state.fleet, &sheet.columns);
        self.put_rows(file, &sheet.rows, &keys, changes);
        let span = |bytes: &std::ops::Range<usize>| {
            let (block, start) = self.document(file)?.at(bytes.start);
            Some(Span { block, start, end: start + (bytes.end - bytes.start) as u32 })
        };
        let problems: Vec<_> =
            sheet.problems.iter().filter_map(|(bytes, problem)| Some((span(bytes)?, *problem))).collect();
        let columns: Vec<Box<str>> = sheet.columns.iter().map(|cell| cell.text.trim().into()).collect();
        if problems != state.problems || columns != state.columns {
            changes.fact(Fact::Errors(file));
        }
        let keep = state.fleet.is_some();
        // What is a sheet is never an empty plan.
        changes.fact(Fact::Empty(file));
        self.file_mut(file).sheet = keep.then_some(SheetState { problems, columns, ..state });
    }

    /// The key of each column: as `columns` maps it, else the key of the column's own name.
    fn keys_of_columns(&self, fleet: Option<EntityId>, columns: &[Cell]) -> Vec<Option<&'static str>> {
        let map = fleet.and_then(|fleet| self.entity(fleet)).and_then(|entity| {
            debug_assert!(std::ptr::eq(entity.record.spec, &RADIOS), "only [radios] is a fleet");
            match entity.record.known(radios::columns.number()) {
                Known::Is(Stored::Part(part)) => Some(part),
                _ => None,
            }
        });
        let key_of = |cell: &Cell| {
            let name = cell.text.trim();
            let mapped = map.and_then(|part| {
                let extra = part.extras.iter().find(|extra| match &extra.value {
                    Stored::Text(column) => self.symbols.text(*column) == name,
                    _ => false,
                })?;
                Some(self.symbols.text(extra.name))
            });
            let key = mapped.unwrap_or(name);
            RADIO.keys.iter().map(|spec| spec.name).find(|known| *known == key)
        };
        columns.iter().map(key_of).collect()
    }

    fn put_rows(&mut self, file: FileId, rows: &[Vec<Cell>], keys: &[Option<&'static str>], changes: &mut Changes) {
        let unit = UnitKey::Group(Arc::from("rows of a sheet"));
        let old = self.file_mut(file).units.remove(&unit).unwrap_or_default();
        let mut kept = old.entities.into_iter();
        let mut entities = SmallVec::new();
        for (number, row) in rows.iter().enumerate() {
            let Some(entity) = self.read_row(file, &unit, number, row, keys) else { continue };
            match kept.next() {
                Some(id) => {
                    self.update_entity(id, entity, changes);
                    entities.push(id);
                }
                None => entities.push(self.add_entity(entity, changes)),
            }
        }
        for id in kept {
            self.remove_entity(id, changes);
        }
        self.file_mut(file).units.insert(unit, UnitRecord { entities, errors: Vec::new() });
    }

    fn read_row(
        &mut self,
        file: FileId,
        unit: &UnitKey,
        number: usize,
        row: &[Cell],
        keys: &[Option<&'static str>],
    ) -> Option<Entity> {
        let folder = self.file(file).path.parent().map(std::path::Path::to_path_buf).unwrap_or_default();
        let (table, at) = sheet::table(self.document(file)?, row, keys, &RADIO)?;
        let mut symbols = std::mem::take(&mut self.symbols);
        let mut file_of = |path: &str| self.file_at(&folder.join(path));
        let mut reader = Reader { symbols: &mut symbols, file_of: &mut file_of, blocks: Vec::with_capacity(1) };
        let record = reader.record(&RADIO, &table, at);
        let blocks = reader.blocks.into();
        self.symbols = symbols;
        let ordinal = u32::try_from(number).unwrap_or(u32::MAX);
        Some(Entity {
            file,
            kind: Kind::Radio,
            unit: unit.clone(),
            ordinal,
            form: Form::Good,
            table: None,
            record,
            blocks,
        })
    }
}
