//! All bores, side by side.

use super::{
    Bores, CheckedBore, Found, FoundRows, Hole, Unknown,
    areas::Around,
    beside::{Against, Beside, Catch},
    inspection,
};
use crate::{
    clearance::{LENGTH_TOLERANCE_M, Obstacles, Verdict, by_key, hilbert},
    job::Job,
    plan::{Obstacle, Progress},
    site::{Kind, Records, Site},
};
use rayon::prelude::*;
use std::ops::Range;
use std::sync::atomic::{AtomicUsize, Ordering};

/// So many bores are worked on by one thread in one go.
const TOGETHER: usize = 256;

/// The rows of so many bores are put in order by one thread in one go.
const BORES_TOGETHER: usize = 4096;

/// What a check found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Checked {
    /// Rows, by bore in input order: services along each drive, buildings, trees, keepouts, ground.
    pub found: FoundRows,
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
    /// Of each bore: its number, and where its rows, test holes and rows to look into end.
    ends: Vec<(u32, [usize; 3])>,
    /// Probability of contact of each test hole.
    chances: Vec<f64>,
    /// Rows to look into after boring, each with its probability of contact.
    inspections: Vec<(f64, u32)>,
    unknown: Unknown,
    connections: usize,
    verdicts: [usize; 4],
}

impl Part {
    /// Where the rows, test holes and rows to look into of its `k`-th bore are.
    fn spans(&self, k: usize) -> [Range<usize>; 3] {
        let from = k
            .checked_sub(1)
            .map_or([0; 3], |before| self.ends[before].1);
        let to = self.ends[k].1;
        std::array::from_fn(|i| from[i]..to[i])
    }
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
    let parts: Vec<Part> = (neighbours_together(bores).par_chunks(TOGETHER))
        .map_init(worker, |(beside, catch), some| {
            let chunk = look(beside, &around, some, catch);
            let done = done.fetch_add(some.len(), Ordering::Relaxed) + some.len();
            progress.at("search", done, total);
            chunk
        })
        .collect();
    drop(against);
    put_together(parts, bores)
}

/// The bores in an order in which neighbours follow each other: what is near one is near the next, and still at hand.
fn neighbours_together(bores: &Bores) -> Vec<u32> {
    let middle = |b: &CheckedBore| [0, 1].map(|axis| (b.ends[0][axis] + b.ends[1][axis]) / 2.0);
    let middles: Vec<[f64; 2]> = bores.all.par_iter().map(middle).collect();
    let least = |axis: usize| {
        middles
            .iter()
            .map(|m| m[axis])
            .fold(f64::INFINITY, f64::min)
    };
    let low = [least(0), least(1)];
    let far = |m: &[f64; 2]| (m[0] - low[0]).max(m[1] - low[1]);
    let span = middles.iter().map(far).fold(1.0, f64::max);
    let cell = |m: &[f64; 2], axis: usize| ((m[axis] - low[axis]) / span * 65535.0) as u32;
    let keyed = middles.par_iter().enumerate();
    let keyed = keyed.map(|(i, m)| (hilbert(cell(m, 0), cell(m, 1)), i as u32));
    by_key(&keyed.collect::<Vec<_>>(), 32)
}

/// What some bores found. `catch`: a worker's memory, of no account before and after.
fn look(beside: &mut Beside, around: &Around, some: &[u32], catch: &mut Catch) -> Part {
    catch.found.clear();
    catch.holes.clear();
    let (bores, records) = (around.bores, beside.against.records);
    let (mut bore_ground, mut inspections) = (0, vec![]);
    let mut ends = Vec::with_capacity(some.len());
    for &number in some {
        let bore = &bores.all[number as usize];
        let before = catch.found.len();
        for drive in bores.of(bore) {
            beside.drive(number, bore, drive, catch);
        }
        bore_ground += usize::from(around.bore(number, &mut catch.found));
        inspection::note(&catch.found, before, records, &mut inspections);
        let ends_at = [catch.found.len(), catch.holes.len(), inspections.len()];
        ends.push((number, ends_at));
    }
    // While they are at hand.
    let unknown = Unknown::of_rows(&catch.found, records);
    let chance = |h: &Hole| catch.found[h.found as usize].p_contact;
    Part {
        chances: catch.holes.iter().map(chance).collect(),
        inspections,
        unknown: Unknown {
            bore_ground,
            ..unknown
        },
        connections: connections(&catch.found, bores, records, around.job.search.snap_m),
        verdicts: verdicts(&catch.found),
        catch: catch.clone(),
        ends,
    }
}

fn verdicts(found: &[Found]) -> [usize; 4] {
    let mut n = [0; 4];
    found.iter().for_each(|f| n[f.verdict as usize] += 1);
    n
}

/// What is to be put in order, by falling probability of contact, then by `then`, then as it came.
#[derive(Clone, Copy)]
struct Ranked {
    chance: f64,
    then: u32,
    /// As how many-th it came.
    came: u32,
    /// Its row among all.
    row: u32,
    /// A test hole's part and place there.
    at: (u32, u32),
}

fn in_order(mut all: Vec<Ranked>) -> Vec<Ranked> {
    all.par_sort_unstable_by(|a, b| {
        (b.chance.total_cmp(&a.chance)).then_with(|| (a.then, a.came).cmp(&(b.then, b.came)))
    });
    all
}

/// The rows of all bores in input order.
fn put_together(parts: Vec<Part>, bores: &Bores) -> Checked {
    // Of each bore: its part, and its place there.
    let mut places = vec![(0, 0); bores.all.len()];
    for (p, part) in parts.iter().enumerate() {
        for (k, end) in part.ends.iter().enumerate() {
            places[end.0 as usize] = (p, k);
        }
    }
    let by_id = places_by_id(bores);
    let some: Vec<&[(usize, usize)]> = places.chunks(BORES_TOGETHER).collect();
    let count = |some: &&[(usize, usize)]| {
        let each = some.iter().map(|(p, k)| parts[*p].spans(*k));
        each.fold([0; 3], |n, of| std::array::from_fn(|i| n[i] + of[i].len()))
    };
    let counts: Vec<[usize; 3]> = some.par_iter().map(count).collect();
    let mut before = [0; 3];
    let begins = counts.iter().map(|n| {
        let begin = before;
        before = std::array::from_fn(|i| before[i] + n[i]);
        begin
    });
    let begins: Vec<[usize; 3]> = begins.collect();
    let gather = |(g, some): (usize, &&[(usize, usize)])| {
        let mut together = Together::new(begins[g], counts[g]);
        for (i, (p, k)) in some.iter().enumerate() {
            together.add(*p, &parts[*p], *k, by_id[g * BORES_TOGETHER + i]);
        }
        together
    };
    let gathered: Vec<Together> = some.par_iter().enumerate().map(gather).collect();
    let all = |of: fn(&Together) -> &[Ranked]| gathered.iter().map(of).collect::<Vec<_>>().concat();
    let (holes, inspections) = rayon::join(
        || in_order(all(|t| &t.holes)),
        || in_order(all(|t| &t.inspections)),
    );
    let hole = |r: &Ranked| Hole {
        found: r.row,
        ..parts[r.at.0 as usize].catch.holes[r.at.1 as usize]
    };
    let unknown = parts.iter().map(|p| p.unknown);
    let verdicts = parts.iter().map(|p| p.verdicts);
    Checked {
        holes: holes.par_iter().map(hole).collect(),
        inspections: inspections.iter().map(|r| r.row).collect(),
        connections: parts.iter().map(|p| p.connections).sum(),
        unknown: unknown.fold(Unknown::of(bores), Unknown::and),
        verdicts: verdicts.fold([0; 4], |a, b| std::array::from_fn(|i| a[i] + b[i])),
        found: FoundRows::new(
            parts.into_iter().map(|p| p.catch.found).collect(),
            gathered
                .into_iter()
                .map(|t| t.rows)
                .collect::<Vec<_>>()
                .concat(),
        ),
    }
}

/// What some bores found, in input order.
struct Together {
    /// Rows, test holes and rows to look into before these.
    before: [usize; 3],
    /// Of each row its part, and its place there.
    rows: Vec<(u32, u32)>,
    holes: Vec<Ranked>,
    inspections: Vec<Ranked>,
}

impl Together {
    fn new(before: [usize; 3], counts: [usize; 3]) -> Together {
        Together {
            before,
            rows: Vec::with_capacity(counts[0]),
            holes: Vec::with_capacity(counts[1]),
            inspections: Vec::with_capacity(counts[2]),
        }
    }

    /// Adds bore `k` of part `p`, whose id is the `by_id`-th.
    fn add(&mut self, p: usize, part: &Part, k: usize, by_id: u32) {
        let [rows, holes, inspections] = part.spans(k);
        let first = self.before[0] + self.rows.len();
        let row = |local: u32| number(first + local as usize - rows.start);
        for h in holes {
            self.holes.push(Ranked {
                chance: part.chances[h],
                then: by_id,
                came: number(self.before[1] + self.holes.len()),
                row: row(part.catch.holes[h].found),
                at: (p as u32, h as u32),
            });
        }
        for (chance, local) in &part.inspections[inspections] {
            self.inspections.push(Ranked {
                chance: *chance,
                then: 0,
                came: number(self.before[2] + self.inspections.len()),
                row: row(*local),
                at: (0, 0),
            });
        }
        self.rows.extend(rows.map(|i| (p as u32, i as u32)));
    }
}

fn number(i: usize) -> u32 {
    u32::try_from(i).expect("no check has four thousand million rows")
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

/// Of each bore, how many have a lesser id.
fn places_by_id(bores: &Bores) -> Vec<u32> {
    let rising = |pair: &[CheckedBore]| pair[0].bore_id < pair[1].bore_id;
    if bores.all.par_windows(2).all(rising) {
        return (0..bores.all.len() as u32).collect();
    }
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
