//! The drives of all bores, each with what is the same for all that is beside it.

use super::{Bores, CheckedBore, Drive, cells::Cells, line::Axis};
use crate::clearance::{DriveLine, Ruler, Segment, by_key, flat, hilbert};
use geo::Coord;
use rayon::prelude::*;

/// A drive, ready to be measured to.
pub(super) struct Driven {
    pub axis: Axis,
    /// No service that is farther away in plan concerns it (m).
    pub by_m: f64,
    /// Number of its bore.
    pub bore: u32,
    /// Its number among the drives of all bores.
    pub number: u32,
    /// The levels of its bore are known.
    pub levels: bool,
    pub bore_radius_m: f64,
    /// Plan length of its bore (m).
    pub length_m: f64,
    pub line: DriveLine,
    pub in_space: Ruler,
    pub in_plan: Ruler,
}

impl Driven {
    fn new(bore: (u32, &CheckedBore), number: u32, drive: &Drive, by_m: f64) -> Driven {
        let (at, bore) = bore;
        let c = &drive.line.centre;
        let axis = Axis::of(Segment {
            a: flat(c.a),
            b: flat(c.b),
        });
        Driven {
            by_m,
            bore: at,
            number,
            levels: bore.levels,
            bore_radius_m: bore.bore_mm / 2000.0,
            length_m: bore.length_m,
            line: drive.line,
            in_space: Ruler::new(c),
            in_plan: Ruler::new(&axis.flat),
            axis,
        }
    }

    /// Where it begins and ends in plan.
    #[inline]
    pub fn ends(&self) -> [[f64; 2]; 2] {
        let (a, b) = (&self.line.centre.a, &self.line.centre.b);
        [[a[0], a[1]], [b[0], b[1]]]
    }

    /// The same.
    #[inline]
    pub fn ends_in_plan(&self) -> [Coord<f64>; 2] {
        let [a, b] = self.ends();
        [Coord { x: a[0], y: a[1] }, Coord { x: b[0], y: b[1] }]
    }
}

/// All drives, neighbours one after the other: what is near one is near the next, and still at hand.
pub(super) struct Drives {
    pub all: Vec<Driven>,
    pub cells: Cells,
}

impl Drives {
    /// Of all bores. `by_m`: how far in plan a service may be that concerns a bore.
    pub fn new(bores: &Bores, by_m: impl Fn(&CheckedBore) -> f64 + Sync) -> Drives {
        let mut of = vec![0; bores.drives.len()];
        for (number, bore) in (0..).zip(&bores.all) {
            of[bore.drives.0 as usize..bore.drives.1 as usize].fill(number);
        }
        let driven = |number: u32| {
            let bore = of[number as usize];
            let whose = &bores.all[bore as usize];
            let drive = &bores.drives[number as usize];
            Driven::new((bore, whose), number, drive, by_m(whose))
        };
        let order = neighbours_together(&bores.drives);
        let all: Vec<Driven> = order.into_par_iter().map(driven).collect();
        Drives {
            cells: Cells::new(&all),
            all,
        }
    }
}

impl Drives {
    /// Numbers of the bores, in the order of their first drives.
    pub fn bores(&self, bores: &Bores) -> Vec<u32> {
        let first = |d: &&Driven| d.number == bores.all[d.bore as usize].drives.0;
        self.all.iter().filter(first).map(|d| d.bore).collect()
    }
}

/// Numbers of the drives along a curve that fills the plane.
fn neighbours_together(drives: &[Drive]) -> Vec<u32> {
    let middle = |d: &Drive| {
        let c = &d.line.centre;
        [0, 1].map(|axis| (c.a[axis] + c.b[axis]) / 2.0)
    };
    let middles: Vec<[f64; 2]> = drives.par_iter().map(middle).collect();
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
