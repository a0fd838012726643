//! Memory that is given back between trees.
//!
//! What a large tree took lies scattered when it is done, and the C library keeps it for what comes next: the next large tree, on
//! another thread, takes as much again. Of 5,000 lots with a corridor that was a fifth of the peak (`docs/benchmarks.md`).

use std::{fs, sync::Mutex};

/// Looks after what the process holds.
#[derive(Debug, Default)]
pub struct Memory {
    /// What it held after memory was given back, in kB; none before the first look.
    left_kb: Mutex<Option<u64>>,
}

impl Memory {
    /// Gives back what nothing uses, if much has been taken since the last time: to look for it takes a while, and so does taking it again.
    pub fn tidy(&self) {
        const MORE: f64 = 1.25;
        let Some(now) = resident_kb() else {
            return; // a system that does not say
        };
        let mut left = self.left_kb.lock().expect("no holder of the lock panics");
        if left.is_none_or(|left| now as f64 > MORE * left as f64) {
            give_back();
            *left = resident_kb();
        }
    }
}

/// What the process holds in memory.
fn resident_kb() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmRSS:"))?;
    line.trim().strip_suffix("kB")?.trim().parse().ok()
}

#[cfg(all(target_os = "linux", target_env = "gnu"))]
#[allow(unsafe_code)]
fn give_back() {
    // SAFETY: it is given no pointer, changes nothing that is in use, and may be called by any thread at any time (malloc_trim(3)).
    unsafe { libc::malloc_trim(0) };
}

#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
fn give_back() {}

#[cfg(all(test, target_os = "linux", target_env = "gnu"))]
mod tests {
    use super::*;

    #[test]
    fn what_is_scattered_is_given_back() {
        const KB: usize = 1024;
        let memory = Memory::default();
        memory.tidy();
        // Every hundredth piece stays, so that nothing is given back by itself.
        let mut pieces: Vec<Option<Box<[u8]>>> =
            (0..160 * KB).map(|_| Some(vec![1; KB].into())).collect();
        let full = resident_kb().expect("Linux says");
        for (i, piece) in pieces.iter_mut().enumerate() {
            if i % 100 > 0 {
                *piece = None;
            }
        }
        let scattered = resident_kb().expect("Linux says");
        memory.tidy();
        let left = resident_kb().expect("Linux says");
        assert!(full > 160_000 && scattered > 120_000, "{full} {scattered}");
        assert!(left + 60_000 < scattered, "{scattered}, then {left}");
        assert!(pieces.iter().flatten().all(|p| p[7] == 1));
    }
}
