//! All bores, side by side.

use super::{
    Bores, CheckedBore, Found, Hole, Unknown,
    areas::Around,
    beside::{Against, Beside, Catch},
    inspection,
};
use crate::{
    clearance::{LENGTH_TOLERANCE_M, Obstacles, Verdict, hilbert},
    job::Job,
    plan::{Obstacle, Progress},
    site::{Kind, Records, Site},
};
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// So many bores are worked on by one thread in one go.
const TOGETHER: usize = 256;

/// So many rows are counted by one thread in one go.
pub(super) const ROWS_TOGETHER: usize = 4096;

/// What a check found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Checked {
    /// Rows, by bore in input order: services along each drive, buildings, trees, keepouts, ground.
    pub found: Vec<Found>,
    /// Test holes by falling probability of contact, then bore.
    pub holes: Vec<Hole>,
    /// Rows of gravity pipes to be looked into after boring.
    pub inspections: Vec<u32>,
    /// Clashes with a sewer at an end of a bore: perhaps what it is to connect to.
    pub connections: usize,
    /// What is not known.
    pub unknown: Unknown,
    /// Rows of each verdict, in the order of [`Verdict`].
    verdicts: [usize; 4],
}

impl Checked {
    /// Rows of one verdict.
    pub fn count(&self, verdict: Verdict) -> usize {
        self.verdicts[verdict as usize]
    }
}

/// What some bores found.
struct Part {
    catch: Catch,
    /// Of each bore: its number, and where its rows and test holes end.
    ends: Vec<(u32, usize, usize)>,
    bore_ground: usize,
}

/// Checks bores against `records` and whatever else a site holds (its own services are not looked at).
///
/// Bores are worked on in parallel on rayon's current pool; the result does not depend on how many threads it has.
pub fn check(
    site: &Site,
    records: &Records,
    bores: &Bores,
    job: &Job,
    progress: &dyn Progress,
) -> Checked {
    progress.at("index", 0, 1);
    let against = Against::new(records, &site.ground, job);
    let around = Around {
        site,
        job,
        obstacles: Obstacles::new(site, job),
        bores,
    };
    progress.at("index", 1, 1);
    let (done, total) = (AtomicUsize::new(0), bores.all.len());
    progress.at("search", 0, total);
    let chunks: Vec<Part> = (neighbours_together(bores).par_chunks(TOGETHER))
        .map(|some| {
            let chunk = look(&against, &around, some);
            let done = done.fetch_add(some.len(), Ordering::Relaxed) + some.len();
            progress.at("search", done, total);
            chunk
        })
        .collect();
    drop(against);
    put_together(chunks, bores, records, job.search.snap_m)
}

/// The bores in an order in which neighbours follow each other: what is near one is near the next, and still at hand.
fn neighbours_together(bores: &Bores) -> Vec<u32> {
    let middle = |b: &CheckedBore, axis: usize| (b.ends[0][axis] + b.ends[1][axis]) / 2.0;
    let least = |axis: usize| {
        bores
            .all
            .iter()
            .map(|b| middle(b, axis))
            .fold(f64::INFINITY, f64::min)
    };
    let low = [least(0), least(1)];
    let far = |b: &CheckedBore| (middle(b, 0) - low[0]).max(middle(b, 1) - low[1]);
    let span = bores.all.iter().map(far).fold(1.0, f64::max);
    let cell =
        |b: &CheckedBore, axis: usize| ((middle(b, axis) - low[axis]) / span * 65535.0) as u32;
    let keyed = (0u32..)
        .zip(&bores.all)
        .map(|(i, b)| (hilbert(cell(b, 0), cell(b, 1)), i));
    let mut keyed: Vec<(u32, u32)> = keyed.collect();
    keyed.par_sort_unstable();
    keyed.into_iter().map(|k| k.1).collect()
}

fn look(against: &Against, around: &Around, some: &[u32]) -> Part {
    let mut beside = Beside::new(against);
    let (mut catch, mut bore_ground) = (Catch::default(), 0);
    let mut ends = Vec::with_capacity(some.len());
    for &number in some {
        let bore = &around.bores.all[number as usize];
        for drive in around.bores.of(bore) {
            beside.drive(number, bore, drive, &mut catch);
        }
        bore_ground += usize::from(around.bore(number, &mut catch.found));
        ends.push((number, catch.found.len(), catch.holes.len()));
    }
    catch.found.shrink_to_fit();
    Part {
        catch,
        ends,
        bore_ground,
    }
}

/// The rows of all bores in input order.
fn put_together(chunks: Vec<Part>, bores: &Bores, records: &Records, snap_m: f64) -> Checked {
    let mut all = Checked::default();
    all.found
        .reserve_exact(chunks.iter().map(|c| c.catch.found.len()).sum());
    all.holes
        .reserve_exact(chunks.iter().map(|c| c.catch.holes.len()).sum());
    let bore_ground = chunks.iter().map(|c| c.bore_ground).sum();
    // Of each bore: its chunk, and its place there.
    let mut places = vec![(0, 0); bores.all.len()];
    for (c, chunk) in chunks.iter().enumerate() {
        for (k, end) in chunk.ends.iter().enumerate() {
            places[end.0 as usize] = (c, k);
        }
    }
    for (c, k) in places {
        let Part { catch, ends, .. } = &chunks[c];
        let (_, found_to, holes_to) = ends[k];
        let (found_from, holes_from) = k.checked_sub(1).map_or((0, 0), |b| (ends[b].1, ends[b].2));
        let before = all.found.len();
        let number = |i: usize| u32::try_from(i).expect("no check has four thousand million rows");
        all.holes
            .extend(catch.holes[holes_from..holes_to].iter().map(|h| Hole {
                found: number(h.found as usize - found_from + before),
                ..*h
            }));
        all.found
            .extend_from_slice(&catch.found[found_from..found_to]);
    }
    drop(chunks);
    all.holes = by_chance(&all, bores);
    all.inspections = inspection::list(&all.found, records);
    all.connections = connections(&all.found, bores, records, snap_m);
    all.unknown = Unknown::count(&all.found, bores, records, bore_ground);
    all.verdicts = verdicts(&all.found);
    all
}

/// A city's rows are far more than fit near a processor, so all are counted at once, and once only.
fn verdicts(found: &[Found]) -> [usize; 4] {
    let some = found.par_chunks(ROWS_TOGETHER).map(|some| {
        let mut n = [0; 4];
        some.iter().for_each(|f| n[f.verdict as usize] += 1);
        n
    });
    some.reduce(|| [0; 4], |a, b| std::array::from_fn(|i| a[i] + b[i]))
}

/// Nothing is exempt in a check; but who looks at the clashes should know which may be meant.
fn connections(found: &[Found], bores: &Bores, records: &Records, snap_m: f64) -> usize {
    let clash = |f: &&Found| f.verdict == Verdict::Clash && f.obstacle == Obstacle::Service;
    let sewer = |f: &&Found| records.all[f.thing as usize].kind == Kind::Sewer;
    let at_end = |f: &&Found| {
        let length_m = bores.all[f.bore as usize].length_m;
        f.chainage_m.min(length_m - f.chainage_m) <= snap_m + LENGTH_TOLERANCE_M
    };
    found
        .iter()
        .filter(clash)
        .filter(sewer)
        .filter(at_end)
        .count()
}

/// Test holes by falling probability of contact, then bore, then as they come.
fn by_chance(all: &Checked, bores: &Bores) -> Vec<Hole> {
    let of = |h: &Hole| &all.found[h.found as usize];
    let mut order: Vec<(f64, u32)> = (all.holes.iter().enumerate())
        .map(|(i, h)| (of(h).p_contact, i as u32))
        .collect();
    let id = |i: u32| &bores.all[of(&all.holes[i as usize]).bore as usize].bore_id;
    order.par_sort_unstable_by(|a, b| {
        (b.0.total_cmp(&a.0)).then_with(|| id(a.1).cmp(id(b.1)).then(a.1.cmp(&b.1)))
    });
    order.iter().map(|o| all.holes[o.1 as usize]).collect()
}
