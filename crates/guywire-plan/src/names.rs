//! Where names lead, for those who ask about the text as it is now: nothing is recorded here, so no rule reads it.

use guywire_text::FileId;

use crate::db::Db;
use crate::entity::{EntityId, Reference};
use crate::language::{FileKind, Kind, field};
use crate::symbol::Symbol;
use crate::value::{Known, Stored};

impl Db {
    /// The files through which names used in a file are looked up: the plans that it is judged through, the plan that a
    /// field session is about, else the file itself. Never empty.
    pub fn readers(&self, file: FileId) -> Vec<FileId> {
        let mut readers = match self.file(file).kind {
            Some(FileKind::Field) => self.plan_of_session(file).into_iter().collect(),
            _ => self.viewers(file),
        };
        if readers.is_empty() {
            readers.push(file);
        }
        readers
    }

    /// The plan that a field session names; none where it names none that can be read.
    fn plan_of_session(&self, file: FileId) -> Option<FileId> {
        let session = self.entity(self.main(file)?)?;
        match session.record.known(field::plan.number()) {
            Known::Is(Stored::File(plan)) => Some(*plan),
            _ => None,
        }
    }

    /// The files in which a name used in `file` is looked for as `reader` has it, in order: its own, then what the reader
    /// sees.
    pub fn looked_through(&self, file: FileId, reader: FileId) -> impl Iterator<Item = FileId> + '_ {
        std::iter::once(file).chain(self.scope(reader).iter().copied().filter(move |seen| *seen != file))
    }

    /// The tables that a name used in `file` leads to as `reader` has it, in order of path and place: those of the first
    /// file in which `named` gives any.
    pub fn nearest<N: IntoIterator<Item = EntityId>>(
        &self,
        file: FileId,
        reader: FileId,
        kinds: &[Kind],
        named: impl Fn(FileId, Kind) -> N,
    ) -> Vec<EntityId> {
        let in_file = |seen| -> Vec<EntityId> { kinds.iter().flat_map(|kind| named(seen, *kind)).collect() };
        let mut found =
            self.looked_through(file, reader).map(in_file).find(|found| !found.is_empty()).unwrap_or_default();
        self.sort(&mut found);
        found
    }

    /// The tables that a name used in `file` leads to as `reader` has it: several where it is ambiguous.
    pub fn leads_to(&self, file: FileId, reader: FileId, kinds: &[Kind], name: Symbol) -> Vec<EntityId> {
        self.nearest(file, reader, kinds, |seen, kind| self.named(seen, kind, name).iter().copied())
    }

    /// The tables of a file that write a name where a table of a kind is meant, in text order.
    pub fn users(&self, file: FileId, kind: Kind, name: Symbol) -> Vec<EntityId> {
        let mut users: Vec<EntityId> =
            self.referring(file, kind, name).into_iter().flat_map(|bag| bag.iter()).collect();
        self.sort(&mut users);
        users
    }

    /// The references written in a table.
    pub fn references_in(&self, id: EntityId) -> Vec<Reference> {
        let mut found = Vec::new();
        if let Some(entity) = self.entity(id) {
            entity.record.references(&self.symbols, &mut |reference| found.push(reference));
        }
        found
    }

    /// Whether a file holds something unreadable that might name a table of this kind.
    pub fn may_hide_use(&self, file: FileId, kind: Kind) -> bool {
        self.index.use_gap(file, kind)
    }

    /// The tables of a file, in text order.
    pub fn tables_of(&self, file: FileId) -> Vec<EntityId> {
        let place = |id| (self.header_start(id), self.entity(id).map_or(0, |entity| entity.ordinal));
        let mut tables: Vec<((usize, u32), EntityId)> = self.entities_of(file).map(|id| (place(id), id)).collect();
        tables.sort_unstable_by_key(|(place, _)| *place);
        tables.into_iter().map(|(_, id)| id).collect()
    }
}
