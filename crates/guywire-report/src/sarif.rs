//! The report as SARIF 2.1.0 (OASIS Standard, errata 01), for code hosting and review tools.

use std::io::{self, Write};

use guywire_rules::{About, Level, Page, find};
use serde_json::{Value, json};

use crate::Reporter;
use crate::excerpt::{Excerpt, ExcerptLine};
use crate::json::write_json;
use crate::report::{Entry, FileReport, Mend, MendEdit, Place, RelatedPoint, Report};

/// The schema of the format, as the standard names it.
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
/// Stands for the folder that addresses start from.
const BASE: &str = "SRCROOT";
/// The name of the fingerprint; its number changes when it is computed from other things.
const FINGERPRINT: &str = "findingKey/v1";

/// SARIF 2.1.0: one run, with the rules that found something. Addresses are relative to a folder that the reader of the
/// file knows (the root of the repository); the paths of the report have to be, too.
#[derive(Debug, Clone, Copy, Default)]
pub struct Sarif;

impl Reporter for Sarif {
    fn write(&self, report: &Report, out: &mut dyn Write) -> io::Result<()> {
        let mut rules: Vec<&'static About> =
            report.entries().filter_map(|(_, entry)| Some(find(entry.rule)?.about())).collect();
        rules.sort_unstable_by_key(|about| about.name);
        rules.dedup_by_key(|about| about.name);
        let mut results: Vec<Value> = report.entries().map(|(file, entry)| result(file, entry, &rules)).collect();
        if report.since.is_some() {
            results.iter_mut().for_each(|result| result["baselineState"] = "new".into());
        }
        let run = json!({
            "tool": { "driver": {
                "name": "guywire",
                "version": env!("CARGO_PKG_VERSION"),
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": rules.iter().map(|about| rule(about)).collect::<Vec<_>>(),
            } },
            "columnKind": "unicodeCodePoints",
            "originalUriBaseIds": { BASE: { "description": { "text": "The root of the repository." } } },
            "invocations": [{ "executionSuccessful": true, "toolExecutionNotifications": notifications(report) }],
            "results": results,
        });
        write_json(&json!({ "$schema": SCHEMA, "version": "2.1.0", "runs": [run] }), out)
    }
}

fn rule(about: &'static About) -> Value {
    let page = Page::of(about);
    let text = page.markdown.trim();
    json!({
        "id": about.name,
        "name": pascal(about.name),
        "shortDescription": { "text": message(first_sentence(&page.summary)) },
        "fullDescription": { "text": message(&page.summary) },
        "help": { "text": message(text), "markdown": text },
        "defaultConfiguration": { "level": level(about.level) },
        "properties": { "tags": [about.family.word()], "since": about.since },
    })
}

fn first_sentence(summary: &str) -> &str {
    summary.find(". ").map_or(summary, |end| &summary[..=end])
}

/// The name as the standard wants names beside ids: `color-code-range` as `ColorCodeRange`.
fn pascal(name: &str) -> String {
    let capital = |word: &str| word.get(..1).map(|first| first.to_ascii_uppercase() + &word[1..]).unwrap_or_default();
    name.split('-').map(capital).collect()
}

fn level(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Information | Level::Hint => "note",
        Level::Off => "none",
    }
}

fn result(file: &FileReport, entry: &Entry, rules: &[&About]) -> Value {
    let mut location = physical(&file.path, &entry.at);
    if let Some(excerpt) = &entry.excerpt {
        add_snippets(&mut location, &entry.at, excerpt);
    }
    let mut result = json!({
        "ruleId": entry.rule,
        "level": level(entry.level),
        "message": { "text": message(&entry.message) },
        "locations": [{ "physicalLocation": location }],
        "partialFingerprints": { FINGERPRINT: entry.key.to_string() },
    });
    if let Some(index) = rules.iter().position(|about| about.name == entry.rule) {
        result["ruleIndex"] = json!(index);
    }
    if !entry.related.is_empty() {
        result["relatedLocations"] = entry.related.iter().enumerate().map(|(id, other)| related(id, other)).collect();
    }
    let fixes: Vec<Value> = entry.fixes.iter().filter(|mend| !mend.edits.is_empty()).map(fix).collect();
    if !fixes.is_empty() {
        result["fixes"] = fixes.into();
    }
    result
}

fn related(id: usize, other: &RelatedPoint) -> Value {
    json!({
        "id": id,
        "physicalLocation": physical(&other.path, &other.at),
        "message": { "text": message(&other.message) },
    })
}

fn physical(path: &str, at: &Place) -> Value {
    json!({ "artifactLocation": artifact(path), "region": region(at) })
}

/// A relative path stands below the base; an absolute one is a `file:` address of its own.
fn artifact(path: &str) -> Value {
    if path.starts_with('/') {
        return json!({ "uri": format!("file://{}", encoded(path)) });
    }
    if path.as_bytes().get(1) == Some(&b':') {
        return json!({ "uri": format!("file:///{}", encoded(path)) });
    }
    json!({ "uri": encoded(path), "uriBaseId": BASE })
}

/// The path as a part of an address (RFC 3986): all but unreserved characters and `/` percent-encoded.
fn encoded(path: &str) -> String {
    let mut written = String::with_capacity(path.len());
    for byte in path.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => written.push(byte.into()),
            byte => written.push_str(&format!("%{byte:02X}")),
        }
    }
    written
}

fn region(at: &Place) -> Value {
    json!({
        "startLine": at.start.line,
        "startColumn": at.start.column,
        "endLine": at.end.line,
        "endColumn": at.end.column,
    })
}

/// The text of the region, and the lines around it, redacted as everywhere. A region of more lines than an excerpt shows
/// gets the lines only.
fn add_snippets(location: &mut Value, at: &Place, excerpt: &Excerpt) {
    let lines = excerpt.lines();
    let (Some(first), Some(last)) = (lines.first(), lines.last()) else { return };
    let all = |part: fn(&ExcerptLine) -> &str| lines.iter().map(part).collect::<Vec<_>>().join("\n");
    let about = all(ExcerptLine::about);
    if last.number() == at.end.line && !about.is_empty() {
        location["region"]["snippet"] = json!({ "text": about });
    }
    location["contextRegion"] = json!({
        "startLine": first.number(),
        "endLine": last.number().max(at.end.line),
        "snippet": { "text": all(ExcerptLine::text) },
    });
}

fn fix(mend: &Mend) -> Value {
    let mut files: Vec<(&str, Vec<Value>)> = Vec::new();
    for edit in &mend.edits {
        match files.iter_mut().find(|(path, _)| *path == edit.path) {
            Some((_, replacements)) => replacements.push(replacement(edit)),
            None => files.push((&edit.path, vec![replacement(edit)])),
        }
    }
    let changes = files
        .into_iter()
        .map(|(path, replacements)| json!({ "artifactLocation": artifact(path), "replacements": replacements }));
    json!({ "description": { "text": message(&mend.title) }, "artifactChanges": changes.collect::<Vec<_>>() })
}

fn replacement(edit: &MendEdit) -> Value {
    json!({ "deletedRegion": region(&edit.at), "insertedContent": { "text": edit.text } })
}

fn notifications(report: &Report) -> Vec<Value> {
    let files = report.files.iter().filter(|file| file.withheld > 0);
    let told = files.map(|file| {
        json!({
            "level": "note",
            "message": { "text": message(&format!("{} more findings in {} are not shown", file.withheld, file.path)) },
        })
    });
    told.collect()
}

/// A message whose brackets are no link. Source: SARIF 2.1.0, 3.11.6, "Messages with embedded links" (from memory).
fn message(text: &str) -> String {
    if text.contains("](") { text.replace('[', "\\[").replace(']', "\\]") } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_encoded_and_based() {
        assert_eq!(artifact("a b/ü#1.plan.toml"), json!({ "uri": "a%20b/%C3%BC%231.plan.toml", "uriBaseId": BASE }));
        assert_eq!(artifact("/x/100%.plan.toml"), json!({ "uri": "file:///x/100%25.plan.toml" }));
        assert_eq!(artifact("C:/x.plan.toml"), json!({ "uri": "file:///C%3A/x.plan.toml" }));
    }

    #[test]
    fn names_are_in_pascal_case() {
        assert_eq!(pascal("color-code-15"), "ColorCode15");
    }

    #[test]
    fn a_message_makes_no_link() {
        assert_eq!(message("value = [redacted]"), "value = [redacted]");
        assert_eq!(message("see [a](b)"), "see \\[a\\](b)");
    }
}
