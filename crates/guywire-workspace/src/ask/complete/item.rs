//! What is offered: how an item is shown, sorted and written, for clients with snippets and for those without.

use std::ops::Range;

use guywire_plan::EntityId;

use crate::answer::{Completion, CompletionKind, TextEdit};

/// Most items of one answer. The lists of tones and codes fit.
pub(crate) const MOST: usize = 300;

/// Text to insert, with stops where there is something to fill in.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Written {
    plain: String,
    snippet: String,
    stops: u32,
}

impl Written {
    /// Text without stops.
    pub fn of(text: &str) -> Self {
        let mut written = Written::default();
        written.text(text);
        written
    }

    pub fn text(&mut self, text: &str) {
        self.plain.push_str(text);
        escape(text, "\\$}", &mut self.snippet);
    }

    /// Something to fill in, with what stands there until then.
    pub fn stop(&mut self, default: &str) {
        self.stops += 1;
        self.plain.push_str(default);
        if default.is_empty() {
            self.snippet.push_str(&format!("${}", self.stops));
        } else {
            self.snippet.push_str(&format!("${{{}:", self.stops));
            escape(default, "\\$}", &mut self.snippet);
            self.snippet.push('}');
        }
    }

    /// One of some words to choose; the first is the usual one.
    pub fn choice(&mut self, words: &[&str]) {
        let [first, _, ..] = words else { return self.stop(words.first().copied().unwrap_or_default()) };
        self.stops += 1;
        self.plain.push_str(first);
        self.snippet.push_str(&format!("${{{}|", self.stops));
        for (number, word) in words.iter().enumerate() {
            if number > 0 {
                self.snippet.push(',');
            }
            escape(word, "\\$},|", &mut self.snippet);
        }
        self.snippet.push_str("|}");
    }

    /// One of some names to choose. Without snippets none is written: nobody would have chosen it.
    pub fn choice_of_names(&mut self, names: &[&str]) {
        let written = self.plain.len();
        match names {
            [] => self.stop(""),
            names => self.choice(names),
        }
        self.plain.truncate(written);
    }

    pub fn append(&mut self, other: &Written) {
        // Stops are numbered in order, so those of the other go on from here.
        debug_assert!(other.stops == 0 || self.stops == 0, "one of the two has stops");
        self.plain.push_str(&other.plain);
        self.snippet.push_str(&other.snippet);
        self.stops += other.stops;
    }

    pub fn plain(&self) -> &str {
        &self.plain
    }

    /// The form with stops, as the Language Server Protocol has it (3.17, Snippet Syntax); none without a stop.
    pub fn snippet(&self) -> Option<&str> {
        (self.stops > 0).then_some(&self.snippet)
    }
}

fn escape(text: &str, special: &str, out: &mut String) {
    for letter in text.chars() {
        if special.contains(letter) {
            out.push('\\');
        }
        out.push(letter);
    }
}

/// An item before its place in the text and in the list is known.
#[derive(Debug, Clone)]
pub(crate) struct Draft {
    pub label: String,
    pub kind: CompletionKind,
    pub detail: String,
    /// What is to be said of it, as Markdown.
    pub doc: String,
    /// What typing is compared with, where that is not the label.
    pub filter: Option<String>,
    pub content: Content,
    /// Lower comes first.
    pub rank: u8,
    pub preselect: bool,
    /// It is an element of a list that is still to be written: in brackets.
    pub in_list: bool,
    pub more: Vec<TextEdit>,
    /// The table that it names: what that is is told once the item is known to be shown.
    pub table: Option<EntityId>,
}

/// What an item writes.
#[derive(Debug, Clone)]
pub(crate) enum Content {
    /// A text: it is quoted as the place needs it.
    Text(String),
    /// Anything else, as it is written.
    Made(Written),
}

impl Draft {
    pub fn new(kind: CompletionKind, label: impl Into<String>, content: Content) -> Self {
        Draft {
            label: label.into(),
            kind,
            detail: String::new(),
            doc: String::new(),
            filter: None,
            content,
            rank: 1,
            preselect: false,
            in_list: false,
            more: Vec::new(),
            table: None,
        }
    }

    /// A text, shown as it is.
    pub fn of_text(kind: CompletionKind, text: impl Into<String>) -> Self {
        let text = text.into();
        Draft::new(kind, text.clone(), Content::Text(text))
    }

    /// A number, date or truth, shown as it is.
    pub fn of_raw(kind: CompletionKind, text: impl Into<String>) -> Self {
        let text = text.into();
        let written = Written::of(&text);
        Draft::new(kind, text, Content::Made(written))
    }

    pub fn detail(mut self, detail: impl Into<String>) -> Self {
        self.detail = detail.into();
        self
    }

    pub fn doc(mut self, doc: impl Into<String>) -> Self {
        self.doc = doc.into();
        self
    }

    pub fn rank(mut self, rank: u8) -> Self {
        self.rank = rank;
        self
    }

    pub fn preselect(mut self, preselect: bool) -> Self {
        self.preselect = preselect;
        if preselect {
            self.rank = 0;
        }
        self
    }

    pub fn filter(mut self, filter: impl Into<String>) -> Self {
        self.filter = Some(filter.into());
        self
    }

    pub fn compared(&self) -> &str {
        self.filter.as_deref().unwrap_or(&self.label)
    }
}

/// Where and how an item is written.
pub(crate) struct Fitted {
    /// Bytes of the file that it takes the place of.
    pub bytes: Range<usize>,
    pub written: Written,
    /// What the client has before the cursor there, that is not part of what is compared: a quote, brackets.
    pub lead: String,
}

/// The drafts that fit what is typed, in order, not too many, each fitted; and whether some were left out.
pub(crate) fn finish(drafts: Vec<Draft>, typed: &str, fit: impl Fn(&mut Draft) -> Fitted) -> (Vec<Completion>, bool) {
    let typed = letters(typed);
    let mut kept: Vec<(usize, u8, Draft)> = drafts
        .into_iter()
        .enumerate()
        .filter_map(|(number, draft)| Some((number, closeness(draft.compared(), &typed)?, draft)))
        .collect();
    let incomplete = kept.len() > MOST;
    if incomplete {
        kept.sort_by_key(|(number, close, draft)| (*close, draft.rank, *number));
        kept.truncate(MOST);
    }
    kept.sort_by_key(|(number, _, draft)| (draft.rank, *number));
    let preselected = kept.iter().position(|(_, _, draft)| draft.preselect);
    let items = kept.into_iter().enumerate().map(|(number, (_, _, mut draft))| {
        let fitted = fit(&mut draft);
        completion(draft, fitted, number, preselected == Some(number))
    });
    (items.collect(), incomplete)
}

fn completion(draft: Draft, fitted: Fitted, number: usize, preselect: bool) -> Completion {
    Completion {
        filter: format!("{}{}", fitted.lead, draft.compared()),
        kind: draft.kind,
        detail: draft.detail,
        plain_doc: plain(&draft.doc),
        markdown: draft.doc,
        sort: format!("{number:04}"),
        bytes: fitted.bytes,
        text: fitted.written.plain().to_owned(),
        snippet: fitted.written.snippet().map(str::to_owned),
        preselect,
        more: draft.more,
        label: draft.label,
    }
}

/// The letters of a text, of whichever case.
pub(crate) fn letters(text: &str) -> Vec<char> {
    lowered(text).collect()
}

/// The letters of a text, small.
pub(crate) fn lowered(text: &str) -> impl Iterator<Item = char> + Clone {
    text.chars().flat_map(char::to_lowercase)
}

/// How well a text fits what is typed, best first: it begins with it, a word of it does, it has it, it has its letters in
/// that order. None: it does not fit.
pub(crate) fn closeness(text: &str, typed: &[char]) -> Option<u8> {
    let Some((begins, rest)) = typed.split_first() else { return Some(0) };
    let mut best = None;
    let mut before: Option<char> = None;
    let mut letters = lowered(text);
    while let Some(letter) = letters.next() {
        let mut ahead = letters.clone();
        if letter == *begins && rest.iter().all(|it| ahead.next() == Some(*it)) {
            best = Some(match before {
                None => 0,
                Some(before) if before.is_alphanumeric() => 2,
                Some(_) => 1,
            });
            break;
        }
        before = Some(letter);
    }
    best.or_else(|| {
        let mut wanted = typed.iter().peekable();
        for letter in lowered(text) {
            wanted.next_if(|it| **it == letter);
        }
        wanted.peek().is_none().then_some(3)
    })
}

/// Markdown without its marks.
fn plain(markdown: &str) -> String {
    markdown.replace("**", "").replace('`', "")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(text: &str, typed: &str) -> Option<u8> {
        closeness(text, &typed.chars().collect::<Vec<_>>())
    }

    #[test]
    fn what_begins_like_it_fits_best() {
        assert_eq!(close("color_code", "col"), Some(0));
        assert_eq!(close("color_code", "code"), Some(1));
        assert_eq!(close("North Mole", "mole"), Some(1));
        assert_eq!(close("color_code", "ode"), Some(2));
        assert_eq!(close("color_code", "ccd"), Some(3));
        assert_eq!(close("color_code", "xyz"), None);
        assert_eq!(close("Lötsen", "ÖT"), None);
        assert_eq!(close("Lötsen", "öt"), Some(2));
    }

    #[test]
    fn a_snippet_keeps_its_marks_apart_from_the_text() {
        let mut written = Written::of("cost = \"$5\" # ");
        written.choice(&["a,b", "c|d"]);
        written.text(" {x}");
        written.stop("");
        assert_eq!(written.plain(), "cost = \"$5\" # a,b {x}");
        assert_eq!(written.snippet(), Some("cost = \"\\$5\" # ${1|a\\,b,c\\|d|} {x\\}$2"));
        assert_eq!(Written::of("a").snippet(), None);
    }
}
