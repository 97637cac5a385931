//! A table while it is put together, with TOML's rules on what may be defined how often.
//! Source: TOML 1.0.0, "Keys", "Table", "Inline Table", "Array of Tables".

use rustc_hash::FxHashMap;

use crate::{Entry, Item, Key, Span, SyntaxError, SyntaxErrorKind, Table, Value};

/// A clash: where, what, and the place that came first. The first is kept.
pub(crate) struct Clash {
    pub(crate) span: Span,
    pub(crate) kind: SyntaxErrorKind,
    pub(crate) related: Option<Span>,
}

impl From<Clash> for SyntaxError {
    fn from(clash: Clash) -> SyntaxError {
        SyntaxError { span: clash.span, kind: clash.kind, related: clash.related }
    }
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Made {
    /// By the header of a table below it.
    Implicitly,
    /// By its own header, or as the root.
    Explicitly,
    /// By a dotted key.
    ByDots,
}

#[derive(Debug)]
pub(crate) enum Node {
    Value(Item),
    Table(Builder),
    /// Made by `[[x]]` headers: each entry with the key of its header.
    List(Vec<(Key, Builder)>),
}

#[derive(Debug)]
pub(crate) struct Builder {
    made: Made,
    span: Span,
    headers: Vec<Span>,
    entries: Vec<(Key, Node)>,
    /// Places in `entries`, kept once there are many.
    index: FxHashMap<Box<str>, usize>,
    pub(crate) broken: bool,
}

/// From here on, keys of a table are found by hash.
const MANY: usize = 12;

impl Builder {
    pub(crate) fn root(span: Span) -> Builder {
        Builder::new(Made::Explicitly, span)
    }

    fn new(made: Made, span: Span) -> Builder {
        Builder { made, span, headers: Vec::new(), entries: Vec::new(), index: FxHashMap::default(), broken: false }
    }

    fn find(&self, key: &str) -> Option<usize> {
        if self.index.is_empty() {
            return self.entries.iter().position(|(k, _)| &*k.text == key);
        }
        self.index.get(key).copied()
    }

    fn push(&mut self, key: Key, node: Node) -> usize {
        let at = self.entries.len();
        if at >= MANY {
            if self.index.is_empty() {
                self.index = self.entries.iter().enumerate().map(|(n, (k, _))| (k.text.clone(), n)).collect();
            }
            self.index.insert(key.text.clone(), at);
        }
        self.entries.push((key, node));
        at
    }

    /// The table that a header names, ready for its keys. `array`: double brackets. `None` with a clash: its keys have
    /// no place.
    pub(crate) fn open(&mut self, path: &[Key], array: bool, header: Span) -> Result<&mut Builder, Clash> {
        let Some((last, before)) = path.split_last() else { return Ok(self) };
        let mut table = self;
        for key in before {
            table = table.descend(key)?;
        }
        match (table.find(&last.text), array) {
            (None, false) => table.add_table(last, header),
            (None, true) => table.add_list(last, header),
            (Some(at), false) => table.define(at, last, header),
            (Some(at), true) => table.append(at, last, header),
        }
    }

    /// One part of a header's path before the last.
    fn descend(&mut self, key: &Key) -> Result<&mut Builder, Clash> {
        let at = match self.find(&key.text) {
            Some(at) => at,
            None => self.push(key.clone(), Node::Table(Builder::new(Made::Implicitly, key.span))),
        };
        let (first, node) = &mut self.entries[at];
        match node {
            Node::Table(table) => Ok(table),
            Node::List(list) => match list.last_mut() {
                Some((_, table)) => Ok(table),
                None => Err(clash(key, SyntaxErrorKind::Other, first.span)),
            },
            Node::Value(item) => Err(clash(key, SyntaxErrorKind::ValueAndTable, item.span)),
        }
    }

    fn add_table(&mut self, key: &Key, header: Span) -> Result<&mut Builder, Clash> {
        let mut table = Builder::new(Made::Explicitly, header);
        table.headers.push(header);
        let at = self.push(key.clone(), Node::Table(table));
        self.table_at(at, key)
    }

    fn add_list(&mut self, key: &Key, header: Span) -> Result<&mut Builder, Clash> {
        let at = self.push(key.clone(), Node::List(Vec::new()));
        self.append(at, key, header)
    }

    fn table_at(&mut self, at: usize, key: &Key) -> Result<&mut Builder, Clash> {
        match &mut self.entries[at] {
            (_, Node::Table(table)) => Ok(table),
            (first, _) => Err(clash(key, SyntaxErrorKind::ValueAndTable, first.span)),
        }
    }

    /// `[x]` where `x` is there already.
    fn define(&mut self, at: usize, key: &Key, header: Span) -> Result<&mut Builder, Clash> {
        let (first, node) = &mut self.entries[at];
        match node {
            Node::Table(table) => {
                if table.made != Made::Implicitly {
                    table.broken = true;
                    let place = table.headers.first().copied().unwrap_or(first.span);
                    return Err(clash(key, SyntaxErrorKind::DuplicateTable, place));
                }
                table.made = Made::Explicitly;
                table.span = header;
                table.headers.push(header);
                *first = key.clone();
                Ok(table)
            }
            Node::List(_) => Err(clash(key, SyntaxErrorKind::ArrayAndTable, first.span)),
            Node::Value(_) => Err(clash(key, SyntaxErrorKind::ValueAndTable, first.span)),
        }
    }

    /// `[[x]]` where `x` is there already.
    fn append(&mut self, at: usize, key: &Key, header: Span) -> Result<&mut Builder, Clash> {
        let (first, node) = &mut self.entries[at];
        let first = first.span;
        match node {
            Node::List(list) => {
                let mut table = Builder::new(Made::Explicitly, header);
                table.headers.push(header);
                list.push((key.clone(), table));
                match list.last_mut() {
                    Some((_, table)) => Ok(table),
                    None => Err(clash(key, SyntaxErrorKind::Other, first)),
                }
            }
            Node::Table(table) => {
                table.broken = true;
                Err(clash(key, SyntaxErrorKind::ArrayAndTable, first))
            }
            Node::Value(_) => Err(clash(key, SyntaxErrorKind::ValueAndTable, first)),
        }
    }

    /// `a.b = value` in this table. A value that cannot be read never clashes: its own error is enough, and a readable
    /// one takes its place.
    pub(crate) fn insert(&mut self, keys: Vec<Key>, item: Item) -> Result<(), Clash> {
        let unreadable = matches!(item.value, Value::Unreadable);
        match self.try_insert(keys, item) {
            Err(_) if unreadable => Ok(()),
            result => result,
        }
    }

    fn try_insert(&mut self, mut keys: Vec<Key>, item: Item) -> Result<(), Clash> {
        let Some(last) = keys.pop() else { return Ok(()) };
        let mut table = self;
        for key in keys {
            table = table.dot(key)?;
        }
        let Some(at) = table.find(&last.text) else {
            table.push(last, Node::Value(item));
            return Ok(());
        };
        let (first, node) = &mut table.entries[at];
        if let Node::Value(Item { value: Value::Unreadable, .. }) = node {
            (*first, *node) = (last, Node::Value(item));
            return Ok(());
        }
        let kind = match node {
            Node::Value(_) => SyntaxErrorKind::DuplicateKey,
            _ => SyntaxErrorKind::ValueAndTable,
        };
        Err(clash(&last, kind, first.span))
    }

    /// One part of a dotted key before the last.
    fn dot(&mut self, key: Key) -> Result<&mut Builder, Clash> {
        let Some(at) = self.find(&key.text) else {
            let table = Builder::new(Made::ByDots, key.span);
            let again = key.clone();
            let at = self.push(key, Node::Table(table));
            return self.table_at(at, &again);
        };
        let (first, node) = &mut self.entries[at];
        if matches!(node, Node::Value(Item { value: Value::Unreadable, .. })) {
            *node = Node::Table(Builder::new(Made::ByDots, key.span));
            *first = key.clone();
        }
        match node {
            Node::Table(table) => {
                if table.made == Made::Explicitly {
                    return Err(clash(&key, SyntaxErrorKind::DuplicateTable, first.span));
                }
                table.made = Made::ByDots;
                Ok(table)
            }
            Node::List(_) => Err(clash(&key, SyntaxErrorKind::ArrayAndTable, first.span)),
            Node::Value(_) => Err(clash(&key, SyntaxErrorKind::ValueAndTable, first.span)),
        }
    }

    /// The nodes of this table, in text order of their first mention.
    pub(crate) fn into_entries(self) -> Vec<(Key, Node)> {
        self.entries
    }

    pub(crate) fn into_table(self) -> Table {
        let entries = self.entries.into_iter().map(|(key, node)| Entry { key, value: node.into_item() }).collect();
        Table { headers: self.headers, entries, broken: self.broken }
    }

    pub(crate) fn into_item(self) -> Item {
        Item { span: self.span, value: Value::Table(self.into_table()) }
    }
}

impl Node {
    fn into_item(self) -> Item {
        match self {
            Node::Value(item) => item,
            Node::Table(table) => table.into_item(),
            Node::List(list) => {
                let items: Vec<Item> = list.into_iter().map(|(_, table)| table.into_item()).collect();
                // A list has an entry from its first header on.
                let span =
                    items.first().map_or(Span { block: crate::BlockId::ALONE, start: 0, end: 0 }, |item| item.span);
                Item { span, value: Value::Array(items) }
            }
        }
    }
}

fn clash(key: &Key, kind: SyntaxErrorKind, first: Span) -> Clash {
    Clash { span: key.span, kind, related: Some(first) }
}
