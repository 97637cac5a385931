//! Edits as people make them: a value, a name, a reference, a table, a quote. Each is taken back after a while, so that the
//! text comes back to what it was.

mod site;

use std::ops::Range;

use crate::generate::SplitMix64;
use site::{Sites, Spot};

/// A class of edits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// A digit of a number, or a word of a few.
    Value,
    /// A letter more in a name.
    Name,
    /// Another name in a reference.
    Reference,
    /// A table more or less.
    Table,
    /// A closing quote less.
    Syntax,
}

impl Class {
    /// All, in the order in which they are shown.
    pub const ALL: [Class; 5] = [Class::Value, Class::Name, Class::Reference, Class::Table, Class::Syntax];
    /// Of a hundred edits, how many.
    const MIX: [usize; 5] = [40, 20, 20, 10, 10];

    /// As it is shown.
    pub const fn word(self) -> &'static str {
        match self {
            Class::Value => "value",
            Class::Name => "name",
            Class::Reference => "reference",
            Class::Table => "table",
            Class::Syntax => "syntax",
        }
    }

    /// By its word.
    pub fn of(word: &str) -> Option<Class> {
        Class::ALL.into_iter().find(|class| class.word() == word)
    }

    fn drawn(random: &mut SplitMix64) -> Class {
        let mut left = random.below(100);
        for (class, share) in Class::ALL.into_iter().zip(Class::MIX) {
            if left < share {
                return class;
            }
            left -= share;
        }
        Class::Value
    }
}

/// An edit of a text.
#[derive(Debug, Clone)]
pub struct Edit {
    /// What it is.
    pub class: Class,
    /// Bytes of the text as it is before the edit.
    pub bytes: Range<usize>,
    /// What stands there after.
    pub text: String,
}

/// A text with the places where it can be edited, and what is edited in it now.
pub struct Editor {
    text: String,
    sites: Sites,
    /// Edits not taken back yet, in the order of their making.
    open: Vec<Open>,
}

struct Open {
    /// Bytes of the text as it was at first.
    first: Range<usize>,
    /// Change of length.
    longer: isize,
    back: Edit,
}

/// Edits that stand at a time, at most.
const MOST_OPEN: usize = 8;

impl Editor {
    /// Of a text; names of `beside` can be referred to too.
    pub fn new(text: &str, beside: &str) -> Editor {
        Editor { text: text.to_owned(), sites: Sites::new(text, beside), open: Vec::new() }
    }

    /// Takes the last edit back; none where the text is what it was at first.
    pub fn back(&mut self) -> Option<Edit> {
        self.open.pop().map(|open| open.back)
    }

    /// The next edit: of one class, or of the mix. None where no place for it was met.
    pub fn next(&mut self, random: &mut SplitMix64, class: Option<Class>) -> Option<Edit> {
        let class = class.unwrap_or_else(|| Class::drawn(random));
        for _ in 0..64 {
            if let Some((first, text)) = self.drawn(class, random)
                && !self.open.iter().any(|open| meet(&open.first, &first))
            {
                return Some(self.make(class, first, text));
            }
        }
        None
    }

    /// How many edits to make before they are taken back.
    pub fn some(random: &mut SplitMix64) -> usize {
        1 + random.below(MOST_OPEN)
    }

    fn make(&mut self, class: Class, first: Range<usize>, text: String) -> Edit {
        let shift: isize = self.open.iter().filter(|open| open.first.end <= first.start).map(|open| open.longer).sum();
        let start = first.start.wrapping_add_signed(shift);
        let old = self.text[first.clone()].to_owned();
        let longer = text.len() as isize - first.len() as isize;
        let back = Edit { class, bytes: start..start + text.len(), text: old };
        let bytes = start..start + first.len();
        self.open.push(Open { first, longer, back });
        Edit { class, bytes, text }
    }

    fn drawn(&self, class: Class, random: &mut SplitMix64) -> Option<(Range<usize>, String)> {
        let sites = &self.sites;
        Some(match class {
            Class::Value => {
                let at = random.pick(&sites.values).range();
                let text = other_value(&self.text[at.clone()], random)?;
                (at, text)
            }
            Class::Name => {
                let at = random.pick(&sites.names).range();
                (at.end..at.end, char::from(b'a' + random.below(26) as u8).to_string())
            }
            Class::Reference => {
                let (at, kind) = *random.pick(&sites.references);
                let name = random.pick(sites.of_kind(kind));
                if self.text[at.range()] == **name {
                    return None;
                }
                (at.range(), name.clone())
            }
            Class::Table => self.table(random),
            Class::Syntax => {
                let at = random.pick(&sites.quotes).range();
                (at, String::new())
            }
        })
    }

    /// A table taken out, or one of its like put in before it under a new name.
    fn table(&self, random: &mut SplitMix64) -> (Range<usize>, String) {
        let at: Spot = *random.pick(&self.sites.tables);
        if random.below(2) == 0 {
            return (at.range(), String::new());
        }
        let copy = &self.text[at.range()];
        let named = copy.find("name = \"").or_else(|| copy.find("alias = \"")).and_then(|key| {
            let open = key + copy[key..].find('"')?;
            Some(open + 1)
        });
        let text = match named {
            Some(name) => format!("{}{} {}", &copy[..name], random.below(1_000), &copy[name..]),
            None => copy.to_owned(),
        };
        (at.range().start..at.range().start, text)
    }
}

/// Whether two places are too near to be edited apart.
fn meet(one: &Range<usize>, other: &Range<usize>) -> bool {
    one.start <= other.end && other.start <= one.end
}

/// Another value in the place of one: a digit, or the other word.
fn other_value(now: &str, random: &mut SplitMix64) -> Option<String> {
    const WORDS: [[&str; 2]; 3] = [["digital", "analog"], ["high", "low"], ["true", "false"]];
    if let Some(digit) = now.parse::<u8>().ok().filter(|_| now.len() == 1) {
        return Some(((digit + 1 + random.below(9) as u8) % 10).to_string());
    }
    let other = |pair: &[&'static str; 2]| match now {
        word if word == pair[0] => Some(pair[1]),
        word if word == pair[1] => Some(pair[0]),
        _ => None,
    };
    WORDS.iter().find_map(other).map(str::to_owned)
}
