//! What was measured, as Markdown for docs/performance.md.

use std::fmt::{Display, Formatter, Result};
use std::time::Duration;

use crate::edits::Class;
use crate::generate::Size;
use crate::machine::Memory;

/// What was measured.
pub struct Report {
    /// The size.
    pub size: Size,
    /// Where the random numbers started.
    pub start: u64,
    /// Channels of the workload.
    pub channels: usize,
    /// Radios of the workload.
    pub radios: usize,
    /// Lines of all files.
    pub lines: usize,
    /// Bytes of all files.
    pub bytes: usize,
    /// Every edit.
    pub times: Vec<(Class, Took)>,
    /// Every spin between edits.
    pub spins: Vec<Duration>,
    /// Edits that much depends on.
    pub hubs: Vec<(&'static str, Vec<Duration>)>,
    /// Parses of the text of one plan by `toml_edit`.
    pub parse: Vec<Took>,
    /// Bytes of that text.
    pub parsed_bytes: usize,
    /// Memory that loading took.
    pub memory: Memory,
    /// From nothing to all findings.
    pub cold: Duration,
}

/// How long an edit took.
#[derive(Debug, Clone, Copy)]
pub struct Took {
    /// By the clock.
    pub clock: Duration,
    /// Of that, how long the thread waited for a core that others used.
    pub waited: Duration,
}

impl Took {
    /// Less the wait.
    pub fn alone(&self) -> Duration {
        self.clock.saturating_sub(self.waited)
    }
}

/// The spin's own p99 above which nothing is claimed.
const NOISE: Duration = Duration::from_micros(30);

impl Report {
    /// What the p99 of the mix shall stay under, and how many times it shall be under a parse of the whole text.
    fn goal(&self) -> (Duration, f64) {
        match self.size {
            Size::S => (Duration::from_micros(100), 50.0),
            Size::L => (Duration::from_micros(200), 2_500.0),
            // The text of one plan is about that of S.
            Size::W => (Duration::from_micros(200), 50.0),
        }
    }

    fn claim(&self, p99: Duration) -> String {
        let noise = at(&sorted(self.spins.iter().copied()), 99.0);
        if noise > NOISE {
            return format!("Claim: not measurable here: the spin's own p99 is {} µs.", micros(noise));
        }
        let (goal, _) = self.goal();
        let word = if p99 < goal { "reached" } else { "missed" };
        let waited = self.times.iter().filter(|(_, took)| took.waited > Duration::ZERO).count();
        format!(
            "Claim: {word}: p99 of all edits {} µs by the clock, to stay under {} µs; {waited} of {} edits waited for a core.",
            micros(p99),
            goal.as_micros(),
            self.times.len(),
        )
    }
}

impl Display for Report {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let name = self.size.letter().to_uppercase();
        writeln!(
            f,
            "### {name}: {} channels, {} radios, {} lines, {} kB",
            self.channels,
            self.radios,
            self.lines,
            self.bytes / 1_000
        )?;
        writeln!(
            f,
            "\n`cargo bench -p guywire-workspace --bench keystroke -- {} {} {}`\n",
            self.size.letter(),
            self.times.len(),
            self.start
        )?;
        writeln!(
            f,
            "| edit | number | p50 µs | p90 µs | p99 µs | p99.9 µs | max µs |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: |"
        )?;
        for class in Class::ALL {
            let of_class = self.times.iter().filter(|(other, _)| *other == class).map(|(_, took)| took.clock);
            row(f, class.word(), &sorted(of_class))?;
        }
        let all = sorted(self.times.iter().map(|(_, took)| took.clock));
        row(f, "all edits", &all)?;
        let alone = sorted(self.times.iter().map(|(_, took)| took.alone()));
        row(f, "all edits, less waits for a core", &alone)?;
        row(f, "spin of 20 µs", &sorted(self.spins.iter().copied()))?;
        for (what, times) in &self.hubs {
            row(f, &format!("hub: {what}"), &sorted(times.iter().copied()))?;
        }
        let p99 = at(&all, 99.0);
        writeln!(f, "\n{}", self.claim(p99))?;
        let parse = at(&sorted(self.parse.iter().map(|took| took.clock)), 50.0);
        let parse_alone = at(&sorted(self.parse.iter().map(Took::alone)), 50.0);
        let times = |parse: Duration, p99: Duration| parse.as_secs_f64() / p99.as_secs_f64();
        writeln!(
            f,
            "Whole-file `toml_edit` parse of one plan ({} kB), warm, median of {}: {} µs, {:.0} times the p99; less waits {} µs, \
             {:.0} times that p99 (to reach: {:.0}).",
            self.parsed_bytes / 1_000,
            self.parse.len(),
            micros(parse),
            times(parse, p99),
            micros(parse_alone),
            times(parse_alone, at(&alone, 99.0)),
            self.goal().1,
        )?;
        writeln!(f, "From nothing to all findings: {:.1} ms.", self.cold.as_secs_f64() * 1e3)?;
        self.memory.tell(f, self.channels, self.bytes)
    }
}

fn row(f: &mut Formatter<'_>, what: &str, times: &[Duration]) -> Result {
    write!(f, "| {what} | {} |", times.len())?;
    for percent in [50.0, 90.0, 99.0, 99.9, 100.0] {
        write!(f, " {} |", micros(at(times, percent)))?;
    }
    writeln!(f)
}

fn sorted(times: impl Iterator<Item = Duration>) -> Vec<Duration> {
    let mut times: Vec<Duration> = times.collect();
    times.sort_unstable();
    times
}

/// The time that so many of a hundred do not exceed (nearest rank); none of nothing is 0.
fn at(sorted: &[Duration], percent: f64) -> Duration {
    let rank = (percent / 100.0 * sorted.len() as f64).ceil() as usize;
    sorted.get(rank.clamp(1, sorted.len().max(1)) - 1).copied().unwrap_or_default()
}

fn micros(time: Duration) -> String {
    let micros = time.as_secs_f64() * 1e6;
    if micros < 1_000.0 { format!("{micros:.1}") } else { format!("{micros:.0}") }
}
