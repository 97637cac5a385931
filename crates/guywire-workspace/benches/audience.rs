//! Times the audience of everything that is sent, cold, against whole-file parsing of the same text, in one run.
//!
//! `cargo bench -p guywire-workspace --bench audience -- SIZE [TIMES]` prints Markdown for docs/performance.md: SIZE is `s`,
//! `l` or `w`. Every time the texts are read anew; none is left out.

#[allow(dead_code, reason = "another benchmark uses all of it")]
mod generate;

use std::error::Error;
use std::hint::black_box;
use std::sync::Arc;
use std::time::{Duration, Instant};

use generate::{Size, Workload, generate};
use guywire_workspace::{MemorySource, Workspace};
use jiff::civil::date;

type Outcome<T> = Result<T, Box<dyn Error>>;

/// As in the program itself.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> Outcome<()> {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let size = words.first().map_or(Some(Size::S), |word| Size::of(word)).ok_or("a size is s, l or w")?;
    let times: usize = words.get(1).map_or(Ok(20), |word| word.parse())?;
    let workload = generate(size, 1);
    println!("| transmissions | classes | reading | values | audience | parsing by `toml_edit` |");
    println!("| ---: | ---: | ---: | ---: | ---: | ---: |");
    for _ in 0..times {
        let source = MemorySource::new(workload.files.iter().map(|(path, text)| (path, text.as_str())));
        let roots = std::slice::from_ref(&workload.root);
        let (mut workspace, reading) = timed(|| Workspace::load(Arc::new(source), roots, date(2026, 11, 25)));
        let ((), values) = timed(|| workspace.settle_values());
        let (matrix, audience) = timed(|| workspace.audience_matrix());
        let (parsed, parsing) = timed(|| parse(&workload));
        parsed?;
        let (rows, columns) = (matrix.senders.len(), matrix.receivers.len());
        println!("| {rows} | {columns} | {reading:.1?} | {values:.1?} | {audience:.1?} | {parsing:.1?} |");
    }
    Ok(())
}

fn timed<T>(run: impl FnOnce() -> T) -> (T, Duration) {
    let clock = Instant::now();
    let made = black_box(run());
    (made, clock.elapsed())
}

fn parse(workload: &Workload) -> Outcome<()> {
    for text in workload.files.values() {
        black_box(text.parse::<toml_edit::DocumentMut>()?);
    }
    Ok(())
}
