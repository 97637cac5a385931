//! Units: which blocks are read together, and what they read as.

use std::borrow::Cow;

use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::blocks::{Cursor, GroupId, Shape};
use crate::document::ORPHAN;
use crate::parse::Header;
use crate::read::{Reading, read_as};
use crate::tree::{Builder, Node};
use crate::{
    BlockId, Document, Item, Key, Span, Statement, SyntaxError, SyntaxErrorKind, Table, TopTable, Unit, UnitKey, Value,
};

/// What is read of a block for a unit.
#[derive(Clone, Copy)]
enum Part<'a> {
    /// The block.
    Whole,
    /// Of the block before the first header, the statements of one first key.
    Of(&'a str),
    /// Of the block before the first header, what belongs to no key.
    Orphans,
}

impl Document {
    /// Whether all of a group is `[[x]]` entries with their sub-tables.
    pub(crate) fn is_list(&self, group: GroupId) -> bool {
        let counts = self.groups.get(group);
        if counts.entries == 0 || counts.tables > 0 || counts.root {
            return false;
        }
        let first = || self.list.of_group(group, self.list.first()).next();
        counts.subs == 0 || first().is_some_and(|(_, block)| block.shape == Shape::Entry(group))
    }

    pub(crate) fn exists(&self, key: &UnitKey) -> bool {
        match key {
            UnitKey::Group(name) => self.groups.find(name).is_some_and(|group| !self.is_list(group)),
            UnitKey::Entry(id) => self.entry_group(*id).is_some(),
            UnitKey::Unnamed(id) => self.list.find(*id).and_then(|at| self.list.get(at)).is_some_and(|block| {
                block.shape == Shape::Unreadable || (block.shape == Shape::Root && block.flags & ORPHAN != 0)
            }),
        }
    }

    /// The group of a block that leads an entry unit.
    fn entry_group(&self, id: BlockId) -> Option<(Cursor, GroupId)> {
        let at = self.list.find(id)?;
        match self.list.get(at)?.shape {
            Shape::Entry(group) if self.is_list(group) => Some((at, group)),
            _ => None,
        }
    }

    /// All units, in text order of their first block; those of the block before the first header in order of their keys,
    /// then what belongs to no key.
    pub fn units(&self) -> Vec<UnitKey> {
        self.assigned().into_iter().map(|(key, _)| key).collect()
    }

    /// All units with their blocks, in one pass.
    fn assigned(&self) -> Vec<(UnitKey, Vec<Cursor>)> {
        let mut units: Vec<(UnitKey, Vec<Cursor>)> = Vec::new();
        // Where a group's next sub-table block goes; for lists the entry met last.
        let mut open: FxHashMap<GroupId, usize> = FxHashMap::default();
        let mut lists: FxHashSet<GroupId> = FxHashSet::default();
        let mut at = self.list.first();
        while let Some(block) = self.list.get(at) {
            match block.shape {
                Shape::Unreadable => units.push((UnitKey::Unnamed(block.id), vec![at])),
                Shape::Root => {
                    for group in &self.root {
                        open.insert(*group, units.len());
                        units.push((UnitKey::Group(self.groups.get(*group).name.clone()), vec![at]));
                    }
                    if block.flags & ORPHAN != 0 {
                        units.push((UnitKey::Unnamed(block.id), vec![at]));
                    }
                }
                Shape::Table(group) | Shape::Entry(group) | Shape::Sub(group) => {
                    let counts = self.groups.get(group);
                    let starts_list = !open.contains_key(&group) && block.shape == Shape::Entry(group);
                    if starts_list && counts.tables == 0 && !counts.root {
                        lists.insert(group);
                    }
                    let leads = block.shape == Shape::Entry(group) && lists.contains(&group);
                    match open.get(&group) {
                        Some(unit) if !leads => units[*unit].1.push(at),
                        _ => {
                            open.insert(group, units.len());
                            let name = || UnitKey::Group(counts.name.clone());
                            units.push((if leads { UnitKey::Entry(block.id) } else { name() }, vec![at]));
                        }
                    }
                }
            }
            at = self.list.next(at);
        }
        units
    }

    /// The blocks of a unit, in text order. `None`: there is no such unit now.
    fn blocks_of(&self, key: &UnitKey) -> Option<Vec<Cursor>> {
        match key {
            UnitKey::Unnamed(id) => self.exists(key).then(|| self.list.find(*id).into_iter().collect()),
            UnitKey::Group(name) => {
                let group = self.groups.find(name).filter(|group| !self.is_list(*group))?;
                let root = self.groups.get(group).root.then(|| self.list.first());
                let blocks = self.list.of_group(group, self.list.first()).map(|(at, _)| at);
                Some(root.into_iter().chain(blocks).collect())
            }
            UnitKey::Entry(id) => {
                let (at, group) = self.entry_group(*id)?;
                let mut blocks = vec![at];
                if self.groups.get(group).subs > 0 {
                    let after = self.list.of_group(group, self.list.next(at));
                    let subs = after.take_while(|(_, block)| block.shape == Shape::Sub(group));
                    blocks.extend(subs.map(|(at, _)| at));
                }
                Some(blocks)
            }
        }
    }

    /// Reads a unit. `None`: there is no such unit now.
    pub fn read_unit(&self, key: &UnitKey) -> Option<Unit> {
        let blocks = self.blocks_of(key)?;
        Some(self.read_blocks(key, &blocks, None))
    }

    /// Reads several units; the same as [`Document::read_unit`] on each, but the block before the first header, which
    /// many units may share, is read once.
    pub fn read_units(&self, keys: &[UnitKey]) -> Vec<Option<Unit>> {
        let mut shared = None;
        keys.iter()
            .map(|key| {
                let blocks = self.blocks_of(key)?;
                if shared.is_none() && blocks.first() == Some(&self.list.first()) {
                    shared = self.read_root();
                }
                Some(self.read_blocks(key, &blocks, shared.as_ref()))
            })
            .collect()
    }

    /// Reads all units, on all cores, in the order of [`Document::units`].
    pub fn read_all(&self) -> Vec<(UnitKey, Unit)> {
        let shared = self.read_root();
        let read = |(key, blocks): (UnitKey, Vec<Cursor>)| {
            let unit = self.read_blocks(&key, &blocks, shared.as_ref());
            (key, unit)
        };
        self.assigned().into_par_iter().map(read).collect()
    }

    fn read_root(&self) -> Option<Shared> {
        let first = self.list.first();
        let block = self.list.get(first).filter(|block| block.shape == Shape::Root)?;
        let reading = self.read_at(first)?;
        let mut by_key: FxHashMap<Box<str>, Vec<usize>> = FxHashMap::default();
        for (n, statement) in reading.statements.iter().enumerate() {
            if let Some(key) = statement.key.first() {
                by_key.entry(key.text.clone()).or_default().push(n);
            }
        }
        Some(Shared { block: block.id, reading, by_key })
    }

    fn read_at(&self, at: Cursor) -> Option<Reading> {
        let text: Cow<'_, str> = self.text_at(at)?;
        Some(read_as(&text, self.list.get(at)?.id))
    }

    fn read_blocks(&self, key: &UnitKey, blocks: &[Cursor], shared: Option<&Shared>) -> Unit {
        let first_entry = match key {
            UnitKey::Group(_) => self.first_entry(blocks),
            _ => None,
        };
        let mut assembly = Assembly::new(first_entry);
        for at in blocks {
            let Some(block) = self.list.get(*at) else { continue };
            let part = match (block.shape, key) {
                (Shape::Root, UnitKey::Group(name)) => Part::Of(name),
                (Shape::Root, _) => Part::Orphans,
                _ => Part::Whole,
            };
            match shared.filter(|shared| shared.block == block.id) {
                Some(shared) => assembly.add(shared.part(part), part, block.id),
                None => {
                    let Some(reading) = self.read_at(*at) else { continue };
                    assembly.add(reading, part, block.id);
                }
            }
        }
        assembly.finish()
    }

    /// The key of the first `[[x]]` header among these blocks.
    fn first_entry(&self, blocks: &[Cursor]) -> Option<Span> {
        let is_entry = |at: &&Cursor| self.list.get(**at).is_some_and(|block| matches!(block.shape, Shape::Entry(_)));
        let reading = self.read_at(*blocks.iter().find(is_entry)?)?;
        reading.header?.keys.first().map(|key| key.span)
    }

    /// The unit a block belongs to. The block before the first header may belong to several, or to none: then this is
    /// the first, see [`Document::units_of`].
    pub fn unit_of(&self, block: BlockId) -> Option<UnitKey> {
        self.units_of(block).into_iter().next()
    }

    /// All units a block belongs to, in the order of [`Document::units`]; more than one only for the block before the
    /// first header.
    pub fn units_of(&self, block: BlockId) -> Vec<UnitKey> {
        let Some(at) = self.list.find(block) else { return Vec::new() };
        let Some(found) = self.list.get(at) else { return Vec::new() };
        let group_key = |group| UnitKey::Group(self.groups.get(group).name.clone());
        match found.shape {
            Shape::Unreadable => vec![UnitKey::Unnamed(block)],
            Shape::Root => {
                let orphan = (found.flags & ORPHAN != 0).then_some(UnitKey::Unnamed(block));
                self.root.iter().map(|group| group_key(*group)).chain(orphan).collect()
            }
            Shape::Entry(group) if self.is_list(group) => vec![UnitKey::Entry(block)],
            Shape::Sub(group) if self.is_list(group) => {
                self.list.entry_before(group, at).map(|entry| UnitKey::Entry(entry.id)).into_iter().collect()
            }
            Shape::Entry(group) | Shape::Sub(group) | Shape::Table(group) => vec![group_key(group)],
        }
    }
}

/// The block before the first header, read once for all its units.
struct Shared {
    block: BlockId,
    reading: Reading,
    by_key: FxHashMap<Box<str>, Vec<usize>>,
}

impl Shared {
    fn part(&self, part: Part<'_>) -> Reading {
        match part {
            Part::Whole => self.reading.clone(),
            Part::Orphans => {
                let (errors, broken) = (self.reading.errors.clone(), self.reading.broken);
                Reading { errors, broken, ..Reading::default() }
            }
            Part::Of(key) => {
                let places = self.by_key.get(key).map_or(&[][..], Vec::as_slice);
                let statements = places.iter().map(|n| self.reading.statements[*n].clone()).collect();
                Reading { statements, ..Reading::default() }
            }
        }
    }
}

/// A unit while its blocks are put together.
///
/// A group with `[[x]]` entries and anything that clashes with them stays a list, so that one stray line does not cost
/// all its entries: `[x]` counts as an entry; keys at the root, and sub-tables before the first entry, become a table
/// of their own. Each of these is an error.
struct Assembly {
    root: Builder,
    /// What stands outside the list of `first_entry`.
    stray: Builder,
    /// Of a group: the key of its first `[[x]]`.
    first_entry: Option<Span>,
    entered: bool,
    /// The headers of entries with single brackets.
    single: FxHashSet<Span>,
    unnamed: Option<TopTable>,
    errors: Vec<SyntaxError>,
}

impl Assembly {
    fn new(first_entry: Option<Span>) -> Assembly {
        let nowhere = Span { block: BlockId::ALONE, start: 0, end: 0 };
        Assembly {
            root: Builder::root(nowhere),
            stray: Builder::root(nowhere),
            first_entry,
            entered: false,
            single: FxHashSet::default(),
            unnamed: None,
            errors: Vec::new(),
        }
    }

    fn add(&mut self, reading: Reading, part: Part<'_>, block: BlockId) {
        let first_error = self.errors.len();
        let Reading { header, unreadable_header, mut statements, errors, broken } = reading;
        match part {
            Part::Whole => self.errors.extend(errors),
            Part::Of(key) => statements.retain(|s| s.key.first().is_some_and(|first| &*first.text == key)),
            Part::Orphans => {
                self.errors.extend(errors);
                if broken {
                    self.unnamed = Some(unnamed(Table { broken, ..Table::default() }, block_start(block)));
                }
                return;
            }
        }
        match (header, unreadable_header) {
            (Some(header), _) => self.add_table(&header, statements, broken),
            (None, Some(line)) => self.add_unnamed(line, statements, broken),
            (None, None) => self.add_root(statements),
        }
        self.errors[first_error..].sort_by_key(|error| (error.span.start, error.span.end));
    }

    fn add_table(&mut self, header: &Header, statements: Vec<Statement>, broken: bool) {
        let (mut target, mut array) = (&mut self.root, header.array);
        if let (Some(entry), Some(key)) = (self.first_entry, header.keys.first()) {
            let is_entry = header.keys.len() == 1;
            self.entered |= is_entry;
            let kind = match (is_entry, array) {
                (true, true) => None,
                (true, false) => Some(SyntaxErrorKind::ArrayAndTable),
                (false, _) => (!self.entered).then_some(SyntaxErrorKind::BeforeEntries),
            };
            self.errors.extend(kind.map(|kind| SyntaxError { span: key.span, kind, related: Some(entry) }));
            if is_entry && !array {
                self.single.insert(header.span);
                array = true;
            }
            if !self.entered {
                target = &mut self.stray;
            }
        }
        match target.open(&header.keys, array, header.span) {
            Ok(table) => {
                table.broken |= broken;
                fill(Some(table), statements, &mut self.errors);
            }
            Err(clash) => {
                self.errors.push(clash.into());
                fill(None, statements, &mut self.errors);
            }
        }
    }

    fn add_unnamed(&mut self, line: Span, statements: Vec<Statement>, broken: bool) {
        let mut table = Builder::root(line);
        table.broken = broken;
        fill(Some(&mut table), statements, &mut self.errors);
        let table = Table { headers: vec![line], ..table.into_table() };
        self.unnamed = Some(unnamed(table, line));
    }

    fn add_root(&mut self, statements: Vec<Statement>) {
        let target = if self.first_entry.is_some() { &mut self.stray } else { &mut self.root };
        let first = statements.iter().flat_map(|statement| statement.key.first()).next();
        if let (Some(entry), Some(key)) = (self.first_entry, first) {
            let kind = SyntaxErrorKind::ValueAndTable;
            self.errors.push(SyntaxError { span: key.span, kind, related: Some(entry) });
        }
        fill(Some(target), statements, &mut self.errors);
    }

    fn finish(self) -> Unit {
        let mut tables: Vec<TopTable> = self.unnamed.into_iter().collect();
        for (key, node) in self.stray.into_entries().into_iter().chain(self.root.into_entries()) {
            match node {
                Node::Table(table) => tables.push(named(key, false, table.into_item())),
                Node::List(list) => tables.extend(list.into_iter().map(|(key, table)| {
                    let item = table.into_item();
                    named(key, !self.single.contains(&item.span), item)
                })),
                Node::Value(Item { value: Value::Array(items), .. }) if holds_tables(&items) => {
                    tables.extend(items.into_iter().map(|item| named(key.clone(), true, item)));
                }
                Node::Value(item) => tables.push(named(key, false, item)),
            }
        }
        for (n, table) in tables.iter_mut().enumerate() {
            table.ordinal = n as u32;
        }
        Unit { tables, errors: self.errors }
    }
}

/// Puts statements into a table. `None`: the table has no place, only what is wrong with its statements is kept.
fn fill(mut table: Option<&mut Builder>, statements: Vec<Statement>, errors: &mut Vec<SyntaxError>) {
    for statement in statements {
        errors.extend(statement.errors);
        let Some(table) = table.as_deref_mut() else { continue };
        if let Err(clash) = table.insert(statement.key, statement.value) {
            errors.push(clash.into());
        }
    }
}

/// Whether an array reads as an array of tables: one table at least, and nothing else that can be read.
fn holds_tables(items: &[Item]) -> bool {
    let is_table = |item: &Item| matches!(item.value, Value::Table(_));
    items.iter().any(is_table) && items.iter().all(|item| is_table(item) || matches!(item.value, Value::Unreadable))
}

fn named(key: Key, array: bool, value: Item) -> TopTable {
    TopTable { name: Some(key), array, ordinal: 0, value }
}

fn unnamed(table: Table, span: Span) -> TopTable {
    TopTable { name: None, array: false, ordinal: 0, value: Item { span, value: Value::Table(table) } }
}

fn block_start(block: BlockId) -> Span {
    Span { block, start: 0, end: 0 }
}
