//! All bores beside all that is recorded, in parallel.

use super::{
    Bores, Found, FoundRows, Hole, Unknown,
    areas::Around,
    beside::{Against, Beside, Catch},
    drives::Drives,
    inspection,
    order::put_together,
};
use crate::{
    clearance::{LENGTH_TOLERANCE_M, Obstacles, Verdict},
    job::Job,
    plan::{Obstacle, Progress},
    site::{Kind, Records, Site},
};
use rayon::prelude::*;
use std::ops::Range;
use std::sync::atomic::{AtomicUsize, Ordering};

/// So many parts of services are looked at by one thread in one go.
const PARTS_TOGETHER: usize = 1024;

/// So many bores are worked on by one thread in one go, services apart.
const BORES_TOGETHER: usize = 512;

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
    pub(super) verdicts: [usize; 4],
}

impl Checked {
    /// Rows of one verdict.
    pub fn count(&self, verdict: Verdict) -> usize {
        self.verdicts[verdict as usize]
    }
}

/// What was found of some services, or of some bores beside all else.
#[derive(Default)]
pub(super) struct Part {
    pub catch: Catch,
    /// Probability of contact of each test hole.
    pub chances: Vec<f64>,
    /// Rows to look into after boring, each with its probability of contact.
    pub inspections: Vec<(f64, u32)>,
    pub unknown: Unknown,
    pub connections: usize,
    pub verdicts: [usize; 4],
}

impl Part {
    /// With what is counted of rows while they are at hand.
    fn of(catch: Catch, around: &Around, records: &Records) -> Part {
        let found = &catch.found;
        let chance = |h: &Hole| found[h.found as usize].p_contact;
        let snap_m = around.job.search.snap_m;
        Part {
            chances: catch.holes.iter().map(chance).collect(),
            inspections: inspection::of(found, records),
            unknown: Unknown::of_rows(found, records),
            connections: connections(found, around.bores, records, snap_m),
            verdicts: verdicts(found),
            catch,
        }
    }
}

/// Checks bores against `records` and whatever else a site holds (its own services are not looked at).
///
/// Services and bores are worked on in parallel on rayon's current pool; the result does not depend on how many threads it has.
pub fn check(
    site: &Site,
    records: &Records,
    bores: &Bores,
    job: &Job,
    progress: &dyn Progress,
) -> Checked {
    progress.at("index", 0, 1);
    let against = Against::new(records, &site.ground, bores, job);
    let drives = Drives::new(bores, |bore| against.concerns_within(bore));
    let around = Around {
        site,
        job,
        obstacles: Obstacles::new(site, job),
        bores,
    };
    progress.at("index", 1, 1);
    let (done, total) = (AtomicUsize::new(0), records.parts.len() + bores.all.len());
    progress.at("search", 0, total);
    let tell = |some: usize| {
        let done = done.fetch_add(some, Ordering::Relaxed) + some;
        progress.at("search", done, total);
    };
    let services = || {
        let parts = chunks(records.parts.len(), PARTS_TOGETHER);
        let worker = || Beside::new(&against, &drives);
        let look = |beside: &mut Beside, some: Range<usize>| {
            let mut catch = Catch::default();
            some.clone().for_each(|part| beside.part(part, &mut catch));
            tell(some.len());
            Part::of(catch, &around, records)
        };
        parts.map_init(worker, look).collect::<Vec<Part>>()
    };
    let rest = || {
        let look = |some: &[u32]| {
            tell(some.len());
            beside_all_else(&around, some, records)
        };
        let order = drives.bores(bores);
        let some = order.par_chunks(BORES_TOGETHER);
        some.map(look).collect::<Vec<Part>>()
    };
    let (services, rest) = rayon::join(services, rest);
    put_together(services, rest, bores)
}

/// Numbers below `n`, `together` at a time.
fn chunks(n: usize, together: usize) -> impl IndexedParallelIterator<Item = Range<usize>> {
    let chunk = move |i: usize| i * together..n.min((i + 1) * together);
    (0..n.div_ceil(together)).into_par_iter().map(chunk)
}

/// What some bores come near, services apart.
fn beside_all_else(around: &Around, some: &[u32], records: &Records) -> Part {
    let mut catch = Catch::default();
    let mut beyond = 0;
    for number in some {
        beyond += usize::from(around.bore(*number, &mut catch.found));
        let pile = around.bores.all[*number as usize].drives.1 + number;
        catch.piles.resize(catch.found.len(), pile);
    }
    let mut part = Part::of(catch, around, records);
    part.unknown.bore_ground = beyond;
    part
}

fn verdicts(found: &[Found]) -> [usize; 4] {
    let mut n = [0; 4];
    found.iter().for_each(|f| n[f.verdict as usize] += 1);
    n
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
