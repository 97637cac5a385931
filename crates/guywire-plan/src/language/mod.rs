//! The language table: every table and key of every kind of file, once.

mod computed;
mod reference;
mod spec;
mod tables;
#[cfg(test)]
mod tests;

pub use computed::Computed;
pub use reference::{describe, parts_in, render_reference};
pub use spec::{Field, FieldSet, FileKind, KeySpec, Kind, Many, Reach, TableSpec, Tabled, Type, first, written};
pub use tables::bench::*;
pub use tables::fleet::*;
pub use tables::handling::*;
pub use tables::model::*;
pub use tables::plan::*;
pub use tables::regime::*;
pub use tables::settings::*;

/// The top-level tables of a kind of file, in their usual order.
pub fn tables(file: FileKind) -> &'static [&'static TableSpec] {
    match file {
        FileKind::Plan => tables::PLAN_TABLES,
        FileKind::Model => tables::MODEL_TABLES,
        FileKind::Regime => tables::REGIME_TABLES,
        FileKind::Bench => tables::BENCH_TABLES,
        FileKind::Field => tables::FIELD_TABLES,
        FileKind::Settings => tables::SETTINGS_TABLES,
    }
}

/// The top-level table of a name in a kind of file.
pub fn table_named(file: FileKind, name: &str) -> Option<&'static TableSpec> {
    tables(file).iter().find(|table| table.name == name).copied()
}

/// The table of an entity's kind.
pub fn table_of(kind: Kind) -> Option<&'static TableSpec> {
    const FILES: [FileKind; 6] =
        [FileKind::Plan, FileKind::Model, FileKind::Regime, FileKind::Bench, FileKind::Field, FileKind::Settings];
    FILES.iter().flat_map(|file| tables(*file)).find(|table| table.kind == kind).copied()
}
