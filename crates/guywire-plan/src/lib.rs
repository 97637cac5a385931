//! The plan language: its table, entities, the database and its strata, and the view through which rules read.
//!
//! Text comes in as edits of a [`guywire_text::Document`]; [`Db`] reads it into entities as the [`language`] table says,
//! and tells which facts changed. Values over them ([`derived`]) are computed through a [`View`], which records what was
//! read, so that an edit makes only those computations out of date that read what it changed ([`Graph`]).

pub mod audience;
mod bag;
mod db;
pub mod derived;
mod entity;
mod fact;
mod graph;
mod index;
pub mod language;
mod likeness;
mod mast;
mod names;
mod order;
mod print;
mod read;
mod service;
mod shape;
mod sheet;
mod sheets;
mod symbol;
mod value;
mod view;
mod view_air;
mod view_radio;
mod view_service;
mod view_site;
mod view_zone;

pub use db::{Db, File, FileProblem, Links, kind_of_path, plain_path};
pub use derived::{Channel, Sends};
pub use entity::{Entity, EntityId, Form, Reference};
pub use fact::{Bucket, Changes, Fact, Read, Reads, Recorder, Space, What};
pub use graph::{Graph, NodeId, NodeKey, Quarters};
pub use index::NAMED;
pub use mast::Mast;
pub use order::Order;
pub use print::Print;
pub use service::day;
pub use shape::{KeyShape, Pattern, Shape};
pub use sheet::{CellPart, SheetProblem, cell_parts};
pub use symbol::{Symbol, Symbols};
pub use value::{Element, Extra, FieldPath, Known, Local, Part, Record, Row, Slot, Spot, Stored, Why};
pub use view::{Found, FoundAny, Ref, View};
pub use view_radio::{Carried, Target};
pub use view_service::{Assignment, Sender, USUAL_WIDTH, emission_to_grant, necessary_width};
pub use view_site::{Button, Transmitter};
