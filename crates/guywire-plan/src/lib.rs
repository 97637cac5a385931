//! The plan language: its table, entities, the database and its strata, and the view through which rules read.

pub mod language;
