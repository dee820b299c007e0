//! Time and memory of a process, as Linux tells them in `/proc`; elsewhere memory and processor time are not known.

use std::fmt;
use std::fs;
use std::time::{Duration, Instant};

/// Ticks a second in which the kernel tells processor time to programs (`USER_HZ`, 100 on all common architectures).
const TICKS: f64 = 100.0;

/// What something took.
#[derive(Clone, Copy, Debug, Default)]
pub struct Took {
    pub wall: Duration,
    /// User and system time of all threads, in seconds; to a hundredth.
    pub cpu: f64,
}

impl fmt::Display for Took {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:6.2} s  ({:.2} s of processor)", self.wall.as_secs_f64(), self.cpu)
    }
}

/// Does something once and tells what it took.
#[expect(clippy::disallowed_methods, reason = "this is where time is measured")]
pub fn took<T>(work: impl FnOnce() -> T) -> (T, Took) {
    let (start, cpu) = (Instant::now(), cpu_seconds());
    let done = work();
    (done, Took { wall: start.elapsed(), cpu: cpu_seconds() - cpu })
}

/// Does something so many times; the shortest time, which other programs have disturbed least.
pub fn shortest(times: usize, mut work: impl FnMut()) -> Duration {
    (0..times).map(|_| took(&mut work).1.wall).min().unwrap_or_default()
}

/// Does something so many times; the middle one of the times.
pub fn median(times: usize, mut work: impl FnMut()) -> Duration {
    let mut all: Vec<Duration> = (0..times).map(|_| took(&mut work).1.wall).collect();
    all.sort();
    all[all.len() / 2]
}

/// User and system time of this process so far.
fn cpu_seconds() -> f64 {
    let stat = proc("stat");
    // The second field is the program's name in brackets, which may itself hold spaces; times are fields 14 and 15.
    let after_name = stat.rsplit_once(')').map_or("", |(_, rest)| rest);
    let ticks = after_name.split_whitespace().skip(11).take(2).filter_map(|field| field.parse::<f64>().ok());
    ticks.sum::<f64>() / TICKS
}

/// Memory in use now, in bytes.
pub fn memory() -> Option<u64> {
    status("VmRSS:")
}

/// The most memory that was in use since [`forget_peak`].
pub fn peak_memory() -> Option<u64> {
    status("VmHWM:")
}

/// Begins to look for the peak anew. Whether that is allowed here: `None` when not.
#[expect(clippy::disallowed_methods, reason = "asks the kernel, not the disk")]
pub fn forget_peak() -> Option<()> {
    fs::write("/proc/self/clear_refs", "5").ok()
}

fn status(field: &str) -> Option<u64> {
    let status = proc("status");
    let line = status.lines().find_map(|line| line.strip_prefix(field))?;
    let kilobytes: u64 = line.trim().trim_end_matches(" kB").parse().ok()?;
    Some(kilobytes * 1024)
}

#[expect(clippy::disallowed_methods, reason = "asks the kernel, not the disk")]
fn proc(file: &str) -> String {
    fs::read_to_string(format!("/proc/self/{file}")).unwrap_or_default()
}
