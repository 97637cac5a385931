//! Within a comment that is a waiver, or becomes one: the word, the rules that it may name, its last day.

use std::ops::Range;

use guywire_rules::{CATALOG, Page, find};
use guywire_text::{Encoding, MARK};
use rustc_hash::FxHashSet;

use super::context::Asked;
use super::cursor::Place;
use super::item::{Content, Draft, Fitted, Written, finish};
use crate::answer::{CompletionKind, Completions};
use crate::publish;
use crate::waivers::{covered, is_comment, last_day};

/// Rules of which the waiver covers a finding come first.
const FOUND: u8 = 0;
const OTHER: u8 = 1;

/// The comment around the cursor, on its line.
struct Comment<'a> {
    /// Where the line starts in the file.
    line: usize,
    text: &'a str,
    /// The cursor in it.
    at: usize,
    /// The number sign in it.
    sign: usize,
}

/// What can be written in the comment at the cursor; none where it is in none. `typed` as in [`super::complete`].
pub(crate) fn complete(asked: &Asked<'_>, typed: Option<char>) -> Option<Completions> {
    if !matches!(asked.cursor.place, Place::Nothing) {
        return None;
    }
    let byte = asked.base + asked.at;
    let line = asked.document.line_range(asked.document.to_protocol(byte, Encoding::Utf8).line)?;
    let text = asked.document.slice(line.clone())?;
    let at = byte - line.start;
    let sign = text.get(..at)?.find('#')?;
    if !is_comment(asked.db(), asked.file, line.start + sign) {
        return None;
    }
    let comment = Comment { line: line.start, text: &text, at, sign };
    Some(within(asked, &comment, typed).unwrap_or_default())
}

fn within(asked: &Asked<'_>, comment: &Comment<'_>, typed: Option<char>) -> Option<Completions> {
    let body = comment.sign + 1;
    let indent = comment.text[body..].len() - comment.text[body..].trim_start().len();
    let before = comment.text.get(body + indent..comment.at)?;
    let Some(inside) = before.strip_prefix(MARK) else {
        let begins = typed.is_none() && MARK.starts_with(before);
        return begins.then(|| word(asked, comment, body + indent));
    };
    match inside.split_once(')') {
        None if typed.is_none_or(|typed| "(, ".contains(typed)) => Some(rules(asked, comment, body + indent)),
        Some((_, rest)) if typed.is_none() && !rest.contains(':') => end(asked, comment, rest),
        _ => None,
    }
}

/// The whole of a waiver, its rules and its reason left to be filled in.
fn word(asked: &Asked<'_>, comment: &Comment<'_>, start: usize) -> Completions {
    let mut written = Written::of(MARK);
    written.choice_of_names(&found(asked, comment));
    written.text(&format!("){}: ", until(asked).map(|day| format!(" until {day}")).unwrap_or_default()));
    written.stop("");
    let draft = Draft::new(CompletionKind::Word, "waive", Content::Made(written))
        .detail("accepts a finding, for a reason and for a time");
    offer(comment, vec![draft], start..comment.at)
}

/// The rules that a waiver may name and does not yet.
fn rules(asked: &Asked<'_>, comment: &Comment<'_>, start: usize) -> Completions {
    let names = start + MARK.len();
    let list = &comment.text[names..comment.at];
    let token = names + list.rfind(',').map_or(0, |comma| comma + 1);
    let token = token + (comment.text[token..comment.at].len() - comment.text[token..comment.at].trim_start().len());
    let rest = &comment.text[comment.at..];
    let end =
        comment.at + rest.find(|letter: char| !letter.is_ascii_alphanumeric() && letter != '-').unwrap_or(rest.len());
    let all = &comment.text[names..];
    let all = &all[..all.find([')', ':']).unwrap_or(all.len())];
    let this = &comment.text[token..end];
    let others: FxHashSet<&str> = all.split(',').map(str::trim).filter(|name| *name != this).collect();
    let found = found(asked, comment);
    let drafts = CATALOG
        .iter()
        .map(|rule| rule.about())
        .filter(|about| !about.always && !about.name.starts_with("waiver-") && !others.contains(about.name))
        .map(|about| {
            let rank = if found.contains(&about.name) { FOUND } else { OTHER };
            let detail = match rank {
                FOUND => "found in what this covers".to_owned(),
                _ => format!("{}, {} where nothing is said", about.family.word(), about.level.word()),
            };
            let content = Content::Made(Written::of(about.name));
            Draft::new(CompletionKind::Word, about.name, content).detail(detail).doc(Page::of(about).summary).rank(rank)
        })
        .collect();
    offer(comment, drafts, token..end)
}

/// Until when it holds.
fn end(asked: &Asked<'_>, comment: &Comment<'_>, rest: &str) -> Option<Completions> {
    let words = format!("until {}", until(asked)?);
    let typed = rest.trim_start();
    if !words.starts_with(typed) {
        return None;
    }
    let lead = if rest.is_empty() { " " } else { "" };
    let colon = if comment.text[comment.at..].trim_start().starts_with(':') { "" } else { ": " };
    let content = Content::Made(Written::of(&format!("{lead}{words}{colon}")));
    let draft = Draft::new(CompletionKind::Word, words, content).detail("the last day of this waiver");
    Some(offer(comment, vec![draft], comment.at - typed.len()..comment.at))
}

fn until(asked: &Asked<'_>) -> Option<jiff::civil::Date> {
    last_day(asked.workspace, asked.file)
}

fn offer(comment: &Comment<'_>, drafts: Vec<Draft>, bytes: Range<usize>) -> Completions {
    let typed = comment.text.get(bytes.start..comment.at).unwrap_or_default();
    let (items, incomplete) = finish(drafts, typed, |draft| Fitted {
        bytes: comment.line + bytes.start..comment.line + bytes.end,
        written: match &draft.content {
            Content::Made(written) => written.clone(),
            Content::Text(text) => Written::of(text),
        },
        lead: String::new(),
    });
    Completions { items, incomplete }
}

/// The rules that have a finding at what the comment covers, in the order of the text.
fn found(asked: &Asked<'_>, comment: &Comment<'_>) -> Vec<&'static str> {
    let line = asked.document.to_protocol(comment.line, Encoding::Utf8).line;
    let alone = comment.text[..comment.sign].trim().is_empty();
    let Some(covers) = covered(asked.db(), asked.file, asked.document, line, alone) else { return Vec::new() };
    let mut found: Vec<_> = publish::uncapped(asked.workspace, asked.file)
        .into_iter()
        .filter(|shown| covers.contains(&shown.bytes.start))
        .filter(|shown| find(shown.rule).is_some_and(|rule| !rule.about().always))
        .filter(|shown| !shown.rule.starts_with("waiver-"))
        .map(|shown| (shown.bytes.start, shown.rule))
        .collect();
    found.sort_unstable();
    let mut seen = FxHashSet::default();
    found.into_iter().map(|(_, rule)| rule).filter(|rule| seen.insert(*rule)).collect()
}
