//! Reading one block: its header and its statements, each alone.

use crate::{Item, Key, SyntaxError, Table};

/// One `key = value` line of a block, which may run over several lines.
#[derive(Clone, PartialEq, Debug)]
pub struct Statement {
    /// The parts of its key.
    pub key: Vec<Key>,
    /// The value; [`Value::Unreadable`](crate::Value::Unreadable) if it cannot be read.
    pub value: Item,
    /// What is wrong with it.
    pub errors: Vec<SyntaxError>,
}

/// What one block reads as by itself.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Reading {
    /// The parts of the header's key. Empty for a block without a header, and for one whose header cannot be read.
    pub header: Vec<Key>,
    /// The statements that have a readable key, in text order.
    pub statements: Vec<Statement>,
    /// What is wrong outside these statements: the header, lines without a readable key, comments.
    pub errors: Vec<SyntaxError>,
    /// Whether a line has no readable key.
    pub broken: bool,
}

/// Reads a text as one block. Total: whatever cannot be read becomes an error and costs its own key only. Spans name
/// [`BlockId::ALONE`](crate::BlockId::ALONE).
pub fn read_block(text: &str) -> Reading {
    let _ = (text, Table::default());
    Reading::default()
}
