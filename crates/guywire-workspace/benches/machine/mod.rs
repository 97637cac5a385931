//! What the system tells of this process: memory, and time that it waited for a core.

use std::fmt::{Formatter, Result};
use std::fs::File;
use std::io::{Read, Seek};
use std::time::Duration;

/// How long this thread has waited for a core while it could have run (Linux: /proc/thread-self/schedstat).
pub struct Waits(Option<File>);

impl Waits {
    /// Of the thread that calls it.
    pub fn of_this_thread() -> Waits {
        Waits(File::open("/proc/thread-self/schedstat").ok())
    }

    /// Until now; nothing where the system does not tell.
    pub fn until_now(&mut self) -> Duration {
        self.read().map_or(Duration::ZERO, Duration::from_nanos)
    }

    fn read(&mut self) -> Option<u64> {
        let file = self.0.as_mut()?;
        file.rewind().ok()?;
        let mut bytes = [0; 96];
        let count = file.read(&mut bytes).ok()?;
        std::str::from_utf8(&bytes[..count]).ok()?.split_whitespace().nth(1)?.parse().ok()
    }
}

/// Memory of the process, in kB; none where the system does not tell.
#[derive(Debug, Clone, Copy)]
pub struct Memory {
    resident: Option<usize>,
    peak: Option<usize>,
}

impl Memory {
    /// As it is now, the peak counted anew from here on where the system allows it.
    pub fn fresh() -> Memory {
        // Linux: see proc(5). Elsewhere the peak stays that of the whole process.
        let _ = std::fs::write("/proc/self/clear_refs", "5");
        Memory { resident: told("VmRSS:"), peak: told("VmHWM:") }
    }

    /// What has come on top.
    pub fn since(before: &Memory) -> Memory {
        let more = |now: Option<usize>| Some(now?.saturating_sub(before.resident?));
        Memory { resident: more(told("VmRSS:")), peak: more(told("VmHWM:")) }
    }

    /// In a line.
    pub fn tell(&self, f: &mut Formatter<'_>, channels: usize, bytes: usize) -> Result {
        let (Some(resident), Some(peak)) = (self.resident, self.peak) else {
            return writeln!(f, "Memory: the system does not tell.");
        };
        let times = |kilobytes: usize| kilobytes as f64 * 1_024.0 / bytes as f64;
        writeln!(
            f,
            "Memory of loading: {} MB kept ({:.1} times the text, {} bytes a channel), {} MB at its peak ({:.1} times).",
            resident / 1_024,
            times(resident),
            resident * 1_024 / channels,
            peak / 1_024,
            times(peak),
        )
    }
}

fn told(what: &str) -> Option<usize> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix(what))?;
    line.split_whitespace().next()?.parse().ok()
}
