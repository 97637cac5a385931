//! Times answers to "what can be written here?", from the question to the items, the text half typed and not yet checked.
//!
//! `cargo bench -p guywire-workspace --bench completion -- [SIZE] [COUNT] [START]` prints a Markdown table: SIZE is `s`, `l`
//! or `w`, COUNT the questions of each kind, START where the random numbers start. None is left out.

#[allow(dead_code, reason = "another benchmark uses all of it")]
mod generate;

use std::error::Error;
use std::hint::black_box;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use generate::{Size, SplitMix64, generate};
use guywire_workspace::{Address, Budget, Change, MemorySource, Splice, Workspace};

type Outcome<T> = Result<T, Box<dyn Error>>;

/// What is typed on a line of its own in front of a table, and what that is; the cursor is at its end.
const TYPED: [(&str, &str); 8] = [
    ("a header", "[["),
    ("a key of a channel", "[[channel]]\nname = \"x\"\nsends = \"digital\"\n"),
    ("a half-typed key", "[[channel]]\nname = \"x\"\nsends = \"digital\"\ncolor_c"),
    ("a repeater", "[[channel]]\nname = \"x\"\nrepeater = \""),
    ("a talkgroup", "[[channel]]\nname = \"x\"\ncall = "),
    ("a channel of a zone, nothing typed", "[[zone]]\nname = \"x\"\nchannels = ["),
    ("a channel of a zone, two letters typed", "[[zone]]\nname = \"x\"\nchannels = [\"Be"),
    ("a number that is usual", "[[channel]]\nname = \"x\"\ntime_out_s = "),
];

/// As in the program itself.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> Outcome<()> {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let size = words.first().map_or(Some(Size::S), |word| Size::of(word)).ok_or("a size is s, l or w")?;
    let count: usize = words.get(1).map_or(Ok(1_000), |word| word.parse())?;
    let start: u64 = words.get(2).map_or(Ok(1), |word| word.parse())?;
    let workload = generate(size, start);
    let source = MemorySource::new(workload.files.iter().map(|(path, text)| (path, text.as_str())));
    let today = jiff::civil::date(2026, 11, 25);
    let mut workspace = Workspace::load(Arc::new(source), std::slice::from_ref(&workload.root), today);
    workspace.settle(Budget::All, &AtomicBool::new(false));
    let (path, _) = workload.plans.first().ok_or("no plan")?;
    let text = &workload.files[path];
    let address = Address::Disk(path.clone());
    let file = workspace.apply(Change::Open { address, version: 0, text: text.clone() }).file.ok_or("not opened")?;
    let tables: Vec<usize> = text.match_indices("\n[[").map(|(at, _)| at + 1).collect();
    let mut random = SplitMix64(start);
    println!("{} channels, {count} questions of each kind.\n", workload.channels);
    println!("| asked for | items | p50 | p99 | max |\n| --- | ---: | ---: | ---: | ---: |");
    let mut version = 0;
    for (what, typed) in TYPED {
        let mut took: Vec<Duration> = Vec::with_capacity(count);
        let mut items = 0;
        for _ in 0..count {
            let at = *random.pick(&tables);
            let mut edit = |bytes, text: &str| {
                version += 1;
                let edits = vec![Splice::Bytes(bytes, text.to_owned())];
                workspace.apply(Change::Edit { file, version, edits });
            };
            edit(at..at, &format!("{typed}\n"));
            let clock = Instant::now();
            let found = black_box(workspace.complete(file, at + typed.len(), None));
            took.push(clock.elapsed());
            items = found.items.len();
            version += 1;
            let edits = vec![Splice::Bytes(at..at + typed.len() + 1, String::new())];
            workspace.apply(Change::Edit { file, version, edits });
        }
        took.sort_unstable();
        let at = |share: f64| micros(took[((took.len() - 1) as f64 * share) as usize]);
        println!("| {what} | {items} | {} | {} | {} |", at(0.5), at(0.99), at(1.0));
    }
    Ok(())
}

fn micros(time: Duration) -> String {
    format!("{:.0} µs", time.as_secs_f64() * 1e6)
}
