//! The text itself: syntax, tables, keys, names, files.

pub mod duplicate_name;
pub mod file_empty;
pub mod file_missing;
pub mod file_unreadable;
pub mod missing_key;
pub mod share_cycle;
pub mod sheet_column_missing;
pub mod sheet_syntax;
pub mod toml_syntax;
pub mod undefined_name;
pub mod unknown_key;
pub mod unknown_table;
pub mod unused_definition;
