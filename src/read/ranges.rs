//! A table read in ranges of its numbers: each range by one thread, every thread through a connection of its own. What comes of
//! the ranges is given back in their order, so that the number of threads changes nothing.

use super::geopackage::GeoPackage;
use rusqlite::{Connection, Result};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Fewer features a range than this are not worth a range.
const RANGE: i64 = 4096;
/// No more ranges than this, however far apart the numbers lie.
const MOST_RANGES: i64 = 4096;

/// Ranges of numbers, hanging on the first and last number alone.
#[derive(Clone, Copy)]
pub(super) struct Ranges {
    first: i64,
    step: i64,
    n: usize,
}

impl Ranges {
    /// From a first to a last number.
    pub fn of((first, last): (i64, i64)) -> Ranges {
        let span = last.saturating_sub(first).saturating_add(1);
        let step = RANGE.max(span / MOST_RANGES + 1);
        Ranges {
            first,
            step,
            n: (span.saturating_sub(1) / step + 1) as usize,
        }
    }

    /// From, up to and with.
    fn range(&self, i: usize) -> (i64, i64) {
        let from = self.first + self.step * i as i64;
        (from, from.saturating_add(self.step - 1))
    }

    /// What comes of every range. `hand` makes what one thread reads ranges with.
    pub fn read<P: Send, H>(&self, file: &GeoPackage, hand: impl Fn() -> H + Sync) -> Result<Vec<P>>
    where
        H: FnMut(&Connection, (i64, i64)) -> Result<P>,
    {
        let next = AtomicUsize::new(0);
        let parts: Mutex<Vec<(usize, P)>> = Mutex::default();
        let work = |db: &Connection| -> Result<()> {
            let mut read = hand();
            loop {
                let i = next.fetch_add(1, Ordering::Relaxed);
                if i >= self.n {
                    return Ok(());
                }
                let part = read(db, self.range(i))?;
                parts.lock().expect("no reader panics").push((i, part));
            }
        };
        let helpers: Vec<Connection> = (1..rayon::current_num_threads().min(self.n))
            .map_while(|_| file.opened.again())
            .collect();
        std::thread::scope(|scope| {
            let work = &work;
            let hands: Vec<_> = helpers
                .into_iter()
                .map(|db| scope.spawn(move || work(&db)))
                .collect();
            let mine = work(&file.opened.db);
            let theirs = hands
                .into_iter()
                .map(|h| h.join().expect("no reader panics"));
            theirs.fold(mine, |all, one| all.and(one))
        })?;
        let mut parts = parts.into_inner().expect("no reader panics");
        parts.sort_by_key(|p| p.0);
        Ok(parts.into_iter().map(|p| p.1).collect())
    }
}
