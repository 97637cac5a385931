//! Every rule's page is a test: its bad plan raises this rule and no other, its good plan, one token away, raises nothing,
//! and its fix mends the bad plan without a new finding.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_rules::{About, CATALOG, Example, Page};
use guywire_workspace::{Address, Budget, Change, FileFindings, MemorySource, Splice, TextEdit, Workspace};
use jiff::civil::date;

/// Rules whose findings no plan text can raise: they are about bytes that are no text.
const NOT_FROM_TEXT: [&str; 1] = ["file-unreadable"];

fn workspace(files: &[Example<'_>]) -> Workspace {
    let source = MemorySource::new(files.iter().map(|file| (Path::new("/harbor").join(file.file), file.text.as_str())));
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    settle(&mut workspace);
    workspace
}

fn settle(workspace: &mut Workspace) {
    assert!(workspace.settle(Budget::All, &AtomicBool::new(false)).settled);
}

fn rules(findings: &[(String, FileFindings)]) -> Vec<&'static str> {
    let mut rules: Vec<&str> =
        findings.iter().flat_map(|(_, found)| found.shown.iter().map(|shown| shown.rule)).collect();
    rules.sort_unstable();
    rules.dedup();
    rules
}

fn each(check: impl Fn(&'static About, Page<'static>)) {
    for rule in CATALOG {
        if !NOT_FROM_TEXT.contains(&rule.about().name) {
            check(rule.about(), Page::of(rule.about()));
        }
    }
}

#[test]
fn every_bad_plan_raises_its_rule_and_no_other() {
    each(|about, page| {
        assert!(!page.bad.is_empty(), "{} has no bad plan", about.name);
        let found = workspace(&page.bad).all_findings();
        assert_eq!(rules(&found), [about.name], "{found:#?}");
    });
}

#[test]
fn every_good_plan_is_silent() {
    each(|about, page| {
        assert!(!page.good.is_empty(), "{} has no good plan", about.name);
        let found = workspace(&page.good).all_findings();
        assert_eq!(rules(&found), Vec::<&str>::new(), "{}: {found:#?}", about.name);
    });
}

#[test]
fn a_good_plan_is_one_line_away_from_the_bad_one() {
    each(|about, page| {
        let lines = |files: &[Example<'_>]| -> Vec<String> {
            files
                .iter()
                .flat_map(|file| file.text.lines().map(|line| format!("{}: {line}", file.file)).collect::<Vec<_>>())
                .collect()
        };
        let (bad, good) = (lines(&page.bad), lines(&page.good));
        let only = |these: &[String], those: &[String]| these.iter().filter(|line| !those.contains(line)).count();
        let apart = only(&bad, &good).max(only(&good, &bad));
        assert!(apart <= 1, "{}: {apart} lines differ", about.name);
        assert_ne!(bad, good, "{}", about.name);
    });
}

#[test]
fn every_page_says_what_happens_on_the_air_and_where_it_is_from() {
    for rule in CATALOG {
        let (about, page) = (rule.about(), Page::of(rule.about()));
        assert!(!page.summary.is_empty() && page.summary.ends_with('.'), "{}: {}", about.name, page.summary);
        for heading in ["## On the air", "## Source"] {
            assert!(page.markdown.contains(heading), "{} lacks {heading}", about.name);
        }
    }
}

#[test]
fn names_are_unique_and_in_kebab_case() {
    let mut names: Vec<&str> = CATALOG.iter().map(|rule| rule.about().name).collect();
    for name in &names {
        assert!(
            name.chars().all(|letter| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == '-'),
            "{name}"
        );
    }
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count);
}

#[test]
fn every_declared_fix_mends_and_brings_nothing_new() {
    each(|about, page| {
        let mut workspace = workspace(&page.bad);
        let before = workspace.all_findings();
        let offered: Vec<_> = workspace
            .files()
            .into_iter()
            .flat_map(|file| {
                let whole = 0..workspace.document(file).map_or(0, guywire_text::Document::len);
                workspace.fixes(file, whole)
            })
            .filter(|fix| fix.finding.rule == about.name)
            .collect();
        match about.fix {
            None => assert!(offered.is_empty(), "{} has a fix that it does not declare", about.name),
            Some(safety) => {
                let fix = offered.first().unwrap_or_else(|| panic!("{} declares a fix and offers none", about.name));
                assert_eq!(fix.safety, safety, "{}", about.name);
                apply(&mut workspace, &fix.edits);
                let after = workspace.all_findings();
                assert_eq!(after, workspace.check_from_scratch());
                let gone = keys(&after).iter().all(|key| keys(&before).contains(key))
                    && keys(&after).len() < keys(&before).len();
                assert!(gone, "{}: {after:#?}", about.name);
            }
        }
    });
}

fn keys(findings: &[(String, FileFindings)]) -> Vec<u128> {
    findings.iter().flat_map(|(_, found)| found.shown.iter().map(|shown| shown.key.0)).collect()
}

fn apply(workspace: &mut Workspace, edits: &[TextEdit]) {
    for edit in edits.iter().rev() {
        let address = workspace.address(edit.file).unwrap();
        let text = workspace.document(edit.file).unwrap().whole_text();
        let opened = workspace.apply(Change::Open { address: address.clone(), version: 1, text });
        assert_eq!(opened.file, Some(edit.file));
        let splice = Splice::Bytes(edit.bytes.clone(), edit.text.clone());
        let applied = workspace.apply(Change::Edit { file: edit.file, version: 2, edits: vec![splice] });
        assert_eq!(applied.refused, 0, "{address:?}");
        assert!(matches!(address, Address::Disk(_)));
    }
    settle(workspace);
}

/// The pages of a family as one page of the book, headings two levels down.
fn book_page(family: &str) -> String {
    let mut page = format!("# Rules: {family}\n\nWhat `guywire why NAME` shows. Written from the rules themselves.\n");
    for rule in CATALOG.iter().filter(|rule| rule.about().family.word() == family) {
        let about = rule.about();
        let fix = match about.fix {
            None => "no fix",
            Some(guywire_rules::Safety::Safe) => "a safe fix",
            Some(guywire_rules::Safety::Choice) => "a fix to choose",
        };
        let always = if about.always { "; never hidden" } else { "" };
        page.push_str(&format!("\n## {}\n\n{}, {fix}{always}.\n\n", about.name, about.level.word()));
        for line in Page::of(about).markdown.trim().lines() {
            let demoted = line.strip_prefix("## ").map_or_else(|| line.to_owned(), |heading| format!("### {heading}"));
            page.push_str(&demoted);
            page.push('\n');
        }
    }
    page
}

#[test]
fn the_book_has_the_pages_as_they_are() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/rules");
    let mut families: Vec<&str> = CATALOG.iter().map(|rule| rule.about().family.word()).collect();
    families.sort_unstable();
    families.dedup();
    for family in families {
        let path = folder.join(format!("{family}.md"));
        let page = book_page(family);
        if std::env::var_os("GUYWIRE_BLESS").is_some() {
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(&path, &page).unwrap();
        }
        let written = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(written == page, "{} is not up to date: run with GUYWIRE_BLESS=1", path.display());
    }
}
