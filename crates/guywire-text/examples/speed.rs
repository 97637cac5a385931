//! Prints how long loading, editing and reading take at two sizes of document. Run it optimized:
//! `cargo run --release -p guywire-text --example speed`.

use std::time::{Duration, Instant};

use guywire_text::{Document, Encoding};

fn main() {
    for tables in [1_024, 100_000] {
        let text = plan(tables);
        println!("{tables} tables, {} bytes", text.len());
        let mut document = timed("  load", || Document::new(&text));
        timed("  read all units, all cores", || document.read_all().len());
        timed("  list units", || document.units().len());
        let one = Instant::now();
        let units = document.units();
        let read = units.iter().filter_map(|key| document.read_unit(key)).map(|unit| unit.tables.len()).sum::<usize>();
        println!("  read {read} units one by one: {:?} each", one.elapsed() / units.len() as u32);
        edits("  type in a table and read it", &mut document, |text| text.find("Dock").map_or(0, |at| at + 2));
        edits("  type in a header", &mut document, |text| text.find("channel").map_or(0, |at| at + 2));
        whole(&mut document, &text);
    }
}

fn plan(tables: usize) -> String {
    let entry = |n: usize| {
        format!(
            "[[channel]]\nname = \"Dock {n}\"\nrx = 462.{:04}\ntx = 467.{:04}\nmode = \"analog\"\npower = \"high\"\n\
             tone = {{ tx = 67.0, rx = 67.0 }}\nscan = [\"All\", \"Dock\", \"Pilots\"]\n# a note on the channel\n\
             note = \"The berth at the north end, call before entering\"\nadmit = \"channel-free\"\n\n",
            n % 10_000,
            n % 10_000
        )
    };
    (0..tables).map(entry).collect()
}

fn timed<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let start = Instant::now();
    let result = work();
    println!("{what}: {:?}", start.elapsed());
    result
}

/// Types and takes back one character in tables all over the document.
fn edits(what: &str, document: &mut Document, place: impl Fn(&str) -> usize) {
    let blocks: Vec<_> = document.blocks().collect();
    let mut times: Vec<Duration> = Vec::new();
    for n in 0..4_000 {
        let block = blocks[n * 7919 % blocks.len()];
        let Some(start) = document.start(block) else { continue };
        let at = start + document.block_text(block).map_or(0, |text| place(&text));
        for (range, with) in [(at..at, "x"), (at..at + 1, "")] {
            let clock = Instant::now();
            let delta = document.edit(range, with).unwrap_or_default();
            let read = document.read_units(&delta.read);
            times.push(clock.elapsed());
            assert!(!read.is_empty() || !delta.gone.is_empty());
        }
    }
    times.sort_unstable();
    println!("{what}: half under {:?}, 99 in 100 under {:?}", times[times.len() / 2], times[times.len() * 99 / 100]);
}

fn whole(document: &mut Document, text: &str) {
    let changed = text.replacen("Dock 7\"", "Dock seven\"", 1);
    timed("  replace the whole text, one name changed", || document.replace(&changed));
    let clock = Instant::now();
    let mut sum = 0;
    for n in 0..10_000 {
        let position = document.to_protocol(n * 7919 % text.len(), Encoding::Utf16);
        sum += document.from_protocol(position, Encoding::Utf16);
    }
    println!("  a position there and back: {:?} ({sum})", clock.elapsed() / 10_000);
}
