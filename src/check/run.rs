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
    unknown: Unknown,
    connections: usize,
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
    let worker = || (Beside::new(&against), Catch::default());
    let chunks: Vec<Part> = (neighbours_together(bores).par_chunks(TOGETHER))
        .map_init(worker, |(beside, catch), some| {
            let chunk = look(beside, &around, some, catch);
            let done = done.fetch_add(some.len(), Ordering::Relaxed) + some.len();
            progress.at("search", done, total);
            chunk
        })
        .collect();
    drop(against);
    put_together(chunks, bores, records)
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

/// What some bores found. `catch`: a worker's memory, of no account before and after.
fn look(beside: &mut Beside, around: &Around, some: &[u32], catch: &mut Catch) -> Part {
    catch.found.clear();
    catch.holes.clear();
    let (bores, mut bore_ground) = (around.bores, 0);
    let mut ends = Vec::with_capacity(some.len());
    for &number in some {
        let bore = &bores.all[number as usize];
        for drive in bores.of(bore) {
            beside.drive(number, bore, drive, catch);
        }
        bore_ground += usize::from(around.bore(number, &mut catch.found));
        ends.push((number, catch.found.len(), catch.holes.len()));
    }
    let records = beside.against.records;
    // While they are at hand.
    let unknown = Unknown::of_rows(&catch.found, records);
    Part {
        unknown: Unknown {
            bore_ground,
            ..unknown
        },
        connections: connections(&catch.found, bores, records, around.job.search.snap_m),
        catch: catch.clone(),
        ends,
    }
}

/// The rows of all bores in input order.
fn put_together(chunks: Vec<Part>, bores: &Bores, records: &Records) -> Checked {
    // Of each bore: its chunk, and its place there.
    let mut places = vec![(0, 0); bores.all.len()];
    for (c, chunk) in chunks.iter().enumerate() {
        for (k, end) in chunk.ends.iter().enumerate() {
            places[end.0 as usize] = (c, k);
        }
    }
    let number = |i: usize| u32::try_from(i).expect("no check has four thousand million rows");
    let (mut rows, mut holes) = (vec![], vec![]);
    rows.reserve_exact(chunks.iter().map(|c| c.catch.found.len()).sum());
    holes.reserve_exact(chunks.iter().map(|c| c.catch.holes.len()).sum());
    for (c, k) in places {
        let Part { catch, ends, .. } = &chunks[c];
        let (_, found_to, holes_to) = ends[k];
        let (found_from, holes_from) = k.checked_sub(1).map_or((0, 0), |b| (ends[b].1, ends[b].2));
        let before = rows.len();
        holes.extend(catch.holes[holes_from..holes_to].iter().map(|h| Hole {
            found: number(h.found as usize - found_from + before),
            ..*h
        }));
        rows.extend((found_from..found_to).map(|i| (c as u32, number(i))));
    }
    let row = |&(c, i): &(u32, u32)| chunks[c as usize].catch.found[i as usize];
    let found: Vec<Found> = rows.par_iter().map(row).collect();
    let unknown = chunks.iter().map(|c| c.unknown);
    let unknown = unknown.fold(Unknown::of(bores), Unknown::and);
    let connections = chunks.iter().map(|c| c.connections).sum();
    let (holes, inspections) = rayon::join(
        || by_chance(holes, &found, bores),
        || {
            drop(chunks);
            inspection::list(&found, records)
        },
    );
    Checked {
        verdicts: verdicts(&found),
        found,
        holes,
        inspections,
        connections,
        unknown,
    }
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
fn by_chance(holes: Vec<Hole>, found: &[Found], bores: &Bores) -> Vec<Hole> {
    let places = places_by_id(bores);
    let key = |(i, h): (usize, &Hole)| {
        let f = &found[h.found as usize];
        (f.p_contact, places[f.bore as usize], i as u32)
    };
    let mut order: Vec<(f64, u32, u32)> = holes.par_iter().enumerate().map(key).collect();
    order.par_sort_unstable_by(|a, b| {
        (b.0.total_cmp(&a.0)).then_with(|| (a.1, a.2).cmp(&(b.1, b.2)))
    });
    order.iter().map(|o| holes[o.2 as usize]).collect()
}

/// Of each bore, how many have a lesser id.
fn places_by_id(bores: &Bores) -> Vec<u32> {
    let id = |i: &u32| bores.all[*i as usize].bore_id.as_str();
    let mut order: Vec<u32> = (0..bores.all.len() as u32).collect();
    order.par_sort_by(|a, b| id(a).cmp(id(b)));
    let mut places = vec![0; order.len()];
    let mut place = 0;
    for same in order.chunk_by(|a, b| id(a) == id(b)) {
        same.iter().for_each(|i| places[*i as usize] = place);
        place += same.len() as u32;
    }
    places
}
