//! Names as small numbers. A name is kept once, however many tables refer to it.

use std::sync::Arc;

use rustc_hash::FxHashMap;

/// A name (of a table, a reference, an unknown key) as a number. Two are equal where their texts are; their order
/// means nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Symbol(u32);

impl Symbol {
    /// Its number: good for sorting where the order is not seen.
    pub(crate) fn number(self) -> u32 {
        self.0
    }
}

/// The names met so far.
#[derive(Debug, Default, Clone)]
pub struct Symbols {
    texts: Vec<Arc<str>>,
    numbers: FxHashMap<Arc<str>, u32>,
}

impl Symbols {
    /// The number of a text, given now where it has none.
    pub fn intern(&mut self, text: &str) -> Symbol {
        if let Some(number) = self.numbers.get(text) {
            return Symbol(*number);
        }
        let shared: Arc<str> = text.into();
        // Four billion different names do not fit in memory.
        let number = self.texts.len() as u32;
        self.texts.push(shared.clone());
        self.numbers.insert(shared, number);
        Symbol(number)
    }

    /// The number of a text, if it was ever met.
    pub fn find(&self, text: &str) -> Option<Symbol> {
        self.numbers.get(text).copied().map(Symbol)
    }

    /// The text of a number.
    pub fn text(&self, symbol: Symbol) -> &str {
        &self.texts[symbol.0 as usize]
    }
}
