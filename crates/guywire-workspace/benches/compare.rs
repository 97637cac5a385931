//! Times the comparison of two revisions against a cold check of the newer one, in one run.
//!
//! `cargo bench -p guywire-workspace --bench compare -- SIZE [TIMES]` prints Markdown for docs/performance.md: SIZE is `s`,
//! `l` or `w`. The texts are put into a git repository of two commits in a temporary folder; in the second, one repeater has
//! another color code and every plan's first channel another slot.

#[allow(dead_code, reason = "shared with the benchmark of key presses")]
mod generate;

use std::collections::BTreeMap;
use std::error::Error;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use generate::{Size, generate};
use guywire_workspace::{Budget, Comparison, DiskSource, GitError, Repository, Workspace};
use jiff::civil::date;

type Outcome<T> = Result<T, Box<dyn Error>>;

/// As in the program itself.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> Outcome<()> {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let size = words.first().and_then(|word| Size::of(word)).unwrap_or(Size::S);
    let times: usize = words.get(1).map_or(Ok(3), |word| word.parse())?;
    let folder = tempfile::tempdir()?;
    let root = folder.path().canonicalize()?;
    let made = generate(size, 1);
    let files = made.files.into_iter().filter_map(|(path, text)| {
        let path = path.strip_prefix(&made.root).ok()?.to_path_buf();
        Some((path, text))
    });
    let files: BTreeMap<PathBuf, String> = files.collect();
    commit(&root, &files)?;
    commit(&root, &changed(&files))?;
    println!(
        "| comparison | of it git, reading and values | cold check | times the check | radios to write | changed pairs |"
    );
    println!("| ---: | ---: | ---: | ---: | ---: | ---: |");
    for _ in 0..times {
        let (whole, read, comparison) = compare(&root)?;
        print!("| {whole:.1?} | {read:.1?} |");
        std::io::stdout().flush()?;
        let check = cold_check(&root);
        let ratio = whole.as_secs_f64() / check.as_secs_f64();
        println!(" {check:.1?} | {ratio:.2} | {} | {} |", comparison.to_write(false), comparison.pairs.len());
    }
    Ok(())
}

/// The texts after the change.
fn changed(files: &BTreeMap<PathBuf, String>) -> BTreeMap<PathBuf, String> {
    let mut is_first = true;
    let of = |(path, text): (&PathBuf, &String)| {
        let mut text = text.clone();
        if is_first && let Some(at) = text.find("color_code = ") {
            is_first = false;
            let end = text[at..].find('\n').map_or(text.len(), |end| at + end);
            let code = if text[at..end].ends_with('9') { "color_code = 8" } else { "color_code = 9" };
            text.replace_range(at..end, code);
        }
        if let Some(at) = text.find("slot = 1\n").filter(|_| text.contains("[[channel]]")) {
            text.replace_range(at..at + 8, "slot = 2");
        }
        (path.clone(), text)
    };
    files.iter().map(of).collect()
}

fn commit(root: &Path, files: &BTreeMap<PathBuf, String>) -> Outcome<()> {
    for (path, text) in files {
        let path = root.join(path);
        std::fs::create_dir_all(path.parent().unwrap_or(root))?;
        std::fs::write(path, text)?;
    }
    if !root.join(".git").exists() {
        git(root, &["init", "--quiet"])?;
    }
    git(root, &["add", "--all"])?;
    git(root, &["commit", "--quiet", "--message", "state"])
}

fn git(root: &Path, words: &[&str]) -> Outcome<()> {
    let author = ["-c", "user.name=Harbor", "-c", "user.email=harbor@example.org"];
    let done = Command::new("git").arg("-C").arg(root).args(author).args(words).status()?;
    if done.success() { Ok(()) } else { Err(format!("git {words:?} failed").into()) }
}

fn cold_check(root: &Path) -> Duration {
    let clock = Instant::now();
    let mut workspace = Workspace::load(Arc::new(DiskSource), &[root.to_path_buf()], date(2026, 11, 25));
    workspace.settle(Budget::Once, &AtomicBool::new(false));
    std::hint::black_box(workspace.all_findings());
    clock.elapsed()
}

/// The whole, what reading took of it, and what came of it.
fn compare(root: &Path) -> Outcome<(Duration, Duration, Comparison)> {
    let clock = Instant::now();
    let repository = Repository::around(root)?;
    let roots = [root.to_path_buf()];
    let (older, newer) = (repository.revision("HEAD~1")?, repository.revision("HEAD")?);
    let read = |revision| -> Result<Workspace, GitError> {
        let tree = Arc::new(repository.tree(revision, &roots)?);
        let mut workspace = Workspace::load(tree.clone(), &roots, date(2026, 11, 25));
        tree.is_whole()?;
        workspace.settle_values();
        Ok(workspace)
    };
    let (before, after) = rayon::join(|| read(&older), || read(&newer));
    let (before, after) = (before?, after?);
    let renamed = repository.renamed(&older, Some(&newer), &roots)?;
    let reading = clock.elapsed();
    let comparison = after.compared_with(&before, &renamed);
    Ok((clock.elapsed(), reading, comparison))
}
