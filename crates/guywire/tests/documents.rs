//! What the pages for people say is so: commands run and print what is shown, links lead somewhere, dependencies are listed.

#![allow(clippy::unwrap_used)] // A test that cannot go on says so.

mod common;

use std::collections::BTreeSet;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

use common::{Folder, run};

/// The pages whose `sh` blocks are run, one after the other, each page in a checkout of its own.
const RUN: [&str; 2] = ["README.md", "docs/compare.md"];
const FROM_SOURCE: &str = "cargo run --release -p guywire --";
/// Runs these tests themselves, among others.
const ALL_TESTS: &str = "tests/run";

fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// Files of the repository, from its root: what is built, fetched or hidden left out.
fn files() -> Vec<PathBuf> {
    let root = repository();
    let mut open = vec![root.clone()];
    let mut found = Vec::new();
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            match path.is_dir() {
                true if name.starts_with('.') || name == "target" || name == "node_modules" => {}
                true => open.push(path),
                false => found.push(path.strip_prefix(&root).unwrap().to_owned()),
            }
        }
    }
    found.sort();
    found
}

fn pages() -> Vec<PathBuf> {
    files().into_iter().filter(|path| path.extension().is_some_and(|kind| kind == "md")).collect()
}

fn text(path: &Path) -> String {
    std::fs::read_to_string(repository().join(path)).unwrap()
}

/// A fenced block: its language and its lines.
struct Block {
    language: String,
    lines: Vec<String>,
}

/// The fenced blocks of a page, and the lines outside of them.
fn split(page: &str) -> (Vec<Block>, Vec<&str>) {
    let (mut blocks, mut prose, mut open): (Vec<Block>, Vec<&str>, Option<Block>) = (Vec::new(), Vec::new(), None);
    for line in page.lines() {
        match (line.trim_start().strip_prefix("```"), &mut open) {
            (Some(language), None) => open = Some(Block { language: language.to_owned(), lines: Vec::new() }),
            (Some(_), Some(_)) => blocks.extend(open.take()),
            (None, Some(block)) => block.lines.push(line.to_owned()),
            (None, None) => prose.push(line),
        }
    }
    (blocks, prose)
}

/// The examples as the first commit of a repository.
fn checkout() -> Folder {
    let folder = Folder::new();
    for path in files().iter().filter(|path| path.starts_with("docs/examples")) {
        folder.write(path, &std::fs::read(repository().join(path)).unwrap());
    }
    folder.commit();
    folder
}

/// Runs a block as somebody would who copies it into a shell. Yields what it printed.
fn shell(folder: &Folder, block: &Block) -> String {
    let script = block.lines.join("\n").replace(FROM_SOURCE, "guywire");
    let program = Path::new(env!("CARGO_BIN_EXE_guywire")).parent().unwrap();
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap());
    let mut command = Command::new("sh");
    command.current_dir(folder.path()).env("PATH", path).env("TARGET_BRANCH", "HEAD");
    command.env_remove("CLICOLOR_FORCE").env_remove("GUYWIRE_LOG");
    let done = run(command.args(["-c", &script]));
    assert!(matches!(done.code, Some(0 | 1)), "{script}\nended with {:?}\n{}", done.code, done.err);
    assert!(done.err.lines().all(|line| line.starts_with("Updated ")), "{script}\nsaid {}", done.err);
    done.out
}

/// The first line shown that the output does not have in this order; `…` stands for lines left out.
fn missing<'l>(shown: &'l [String], output: &str) -> Option<&'l str> {
    let mut rest = output.lines();
    let mut may_skip = true;
    for line in shown {
        if line == "…" {
            may_skip = true;
            continue;
        }
        let is_there = if may_skip { rest.any(|other| other == line) } else { rest.next() == Some(line) };
        if !is_there {
            return Some(line);
        }
        may_skip = false;
    }
    None
}

#[test]
fn commands_print_what_the_pages_show() {
    let (mut commands, mut outputs) = (0, 0);
    for page in RUN {
        let page = text(Path::new(page));
        let folder = checkout();
        let mut printed = String::new();
        for block in split(&page).0 {
            match block.language.as_str() {
                "sh" if block.lines == [ALL_TESTS] => {
                    let mode = std::fs::metadata(repository().join(ALL_TESTS)).unwrap().permissions().mode();
                    assert_ne!(mode & 0o111, 0, "{ALL_TESTS} cannot be run");
                }
                "sh" => {
                    printed = shell(&folder, &block);
                    commands += 1;
                }
                "text" => {
                    assert_eq!(missing(&block.lines, &printed), None, "is not in this order in\n{printed}");
                    outputs += 1;
                }
                _ => {}
            }
        }
    }
    assert!(commands >= 8 && outputs >= 5, "{commands} blocks run, {outputs} compared: the pages are read wrongly");
}

#[test]
fn a_line_that_is_not_printed_is_told() {
    let shown: Vec<String> = ["one", "…", "four"].map(str::to_owned).into();
    assert_eq!(missing(&shown, "zero\none\ntwo\nthree\nfour\n"), None);
    assert_eq!(missing(&shown, "zero\none\ntwo\nthree\n"), Some("four"));
    assert_eq!(missing(&shown[..1], ""), Some("one"));
    let together: Vec<String> = ["one", "four"].map(str::to_owned).into();
    assert_eq!(missing(&together, "one\ntwo\nfour\n"), Some("four"));
}

/// What a heading is called in a link, as hosts of repositories make it: small letters, no punctuation, hyphens for blanks.
fn anchor(heading: &str) -> String {
    let kept = heading.trim().chars().filter(|letter| letter.is_alphanumeric() || matches!(letter, ' ' | '-' | '_'));
    kept.collect::<String>().to_lowercase().replace(' ', "-")
}

fn anchors(page: &str) -> BTreeSet<String> {
    let headings = split(page).1.into_iter().filter(|line| line.starts_with('#'));
    headings.map(|line| anchor(line.trim_start_matches('#'))).collect()
}

/// The targets of links and pictures, code left out.
fn targets(page: &str) -> Vec<String> {
    let mut found = Vec::new();
    for line in split(page).1 {
        let spoken: String =
            line.split('`').enumerate().map(|(at, part)| if at % 2 == 0 { part } else { "" }).collect();
        for part in spoken.split("](").skip(1) {
            found.extend(part.split_once(')').map(|(target, _)| target.to_owned()));
        }
    }
    found
}

#[test]
fn links_lead_somewhere() {
    let root = repository();
    let mut seen = 0;
    for page in pages() {
        let own = text(&page);
        for target in targets(&own) {
            if target.starts_with("https://") {
                continue;
            }
            seen += 1;
            let (file, heading) = target.split_once('#').unwrap_or((&target, ""));
            let at = if file.is_empty() { page.clone() } else { page.parent().unwrap().join(file) };
            assert!(root.join(&at).exists(), "{}: no {target}", page.display());
            assert!(
                heading.is_empty() || anchors(&text(&at)).contains(heading),
                "{}: no heading #{heading} in {}",
                page.display(),
                at.display(),
            );
        }
    }
    assert!(seen > 40, "only {seen} links found: the pages are read wrongly");
}

#[test]
fn the_contents_list_every_page_and_example() {
    let docs = Path::new("docs");
    let listed: BTreeSet<PathBuf> = targets(&text(&docs.join("README.md"))).into_iter().map(PathBuf::from).collect();
    let mut seen = 0;
    for path in files().iter().filter_map(|path| path.strip_prefix(docs).ok()) {
        let mut parts = path.components().map(|part| part.as_os_str());
        let wanted = match (parts.next(), parts.next()) {
            (Some(top), Some(example)) if top == "examples" => Path::new(top).join(example),
            _ if path == Path::new("README.md") || path.extension().is_none_or(|kind| kind != "md") => continue,
            _ => path.to_owned(),
        };
        seen += 1;
        assert!(listed.contains(&wanted), "docs/README.md does not list {}", wanted.display());
    }
    assert!(seen > 20, "only {seen} pages found");
}

/// Names of what a manifest of Cargo, npm or pip asks for.
fn wanted(path: &Path) -> Vec<String> {
    let name = |line: &str| -> String {
        line.chars().take_while(|letter| letter.is_ascii_alphanumeric() || matches!(letter, '-' | '_')).collect()
    };
    match path.file_name().unwrap().to_str().unwrap() {
        "Cargo.toml" => {
            let mut is_list = false;
            let mut found = Vec::new();
            for line in text(path).lines() {
                match line.starts_with('[') {
                    true => is_list = line.ends_with("dependencies]"),
                    false if is_list => found.push(name(line)),
                    false => {}
                }
            }
            found.retain(|name| !name.is_empty() && !name.starts_with("guywire"));
            found
        }
        "package.json" => {
            let package: serde_json::Value = serde_json::from_str(&text(path)).unwrap();
            let lists = ["dependencies", "devDependencies"].iter().filter_map(|list| package[list].as_object());
            lists.flat_map(|list| list.keys().cloned()).collect()
        }
        "requirements.txt" => {
            text(path).lines().filter_map(|line| line.split_once("==")).map(|(name, _)| name.to_owned()).collect()
        }
        _ => Vec::new(),
    }
}

#[test]
fn every_dependency_is_listed_with_its_reason() {
    let page = text(Path::new("DEVELOPERS.md"));
    let (_, list) = page.split_once("\n## Dependencies\n").unwrap();
    let rows: Vec<&str> = list.lines().filter(|line| line.starts_with("| `")).collect();
    let listed: BTreeSet<&str> =
        rows.iter().flat_map(|row| row.split('|').nth(1).unwrap_or_default().split('`').skip(1).step_by(2)).collect();
    let mut asked: BTreeSet<String> = BTreeSet::new();
    for path in files() {
        for name in wanted(&path) {
            assert!(listed.contains(name.as_str()), "{}: {name} is not in DEVELOPERS.md", path.display());
            asked.insert(name);
        }
    }
    assert!(asked.len() > 50, "only {} dependencies found: the manifests are read wrongly", asked.len());
    let gone: Vec<&&str> = listed.iter().filter(|name| !asked.contains(**name)).collect();
    assert!(gone.is_empty(), "nothing asks for {gone:?}");
}
