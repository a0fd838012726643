//! Which part of a layer lies near some bores: a grid of cells, marked where something may be near.

use super::shape::Bounds;
use crate::site::GivenBore;
use geo::Coord;
use rayon::prelude::*;

/// So many bores are looked at by one thread in one go.
const TOGETHER: usize = 2048;
/// Cells of more than this number are made larger.
const MOST_CELLS: f64 = 4e6;
const CELL_M: f64 = 16.0;

/// Cells near bores, in metres of the job.
#[derive(Debug, Clone)]
pub(super) struct Nearby {
    /// Box of all of them.
    pub whole: Bounds,
    cell_m: f64,
    columns: usize,
    marked: Vec<bool>,
    /// Box of each straight of the bores, grown.
    pub boxes: Vec<Bounds>,
}

impl Nearby {
    /// What comes within `by_m` of the boxes of the bores' straights, and a little more. None without bores.
    pub fn of(bores: &[GivenBore], by_m: f64) -> Option<Nearby> {
        let around = |ab: &[Coord<f64>]| {
            let mut b = Bounds::NOTHING;
            ab.iter().for_each(|p| b.add(p.x, p.y));
            b.grown(by_m)
        };
        let straights = |b: &GivenBore| {
            let parts = b.parts.iter();
            parts
                .flat_map(|p| p.points.windows(2).map(around))
                .collect::<Vec<_>>()
        };
        let some = bores.par_chunks(TOGETHER);
        let some = some.map(|some| some.iter().flat_map(straights).collect::<Vec<_>>());
        let boxes = some.collect::<Vec<_>>().concat();
        let mut whole = Bounds::NOTHING;
        boxes.iter().for_each(|b| whole.join(b));
        if whole.is_empty() {
            return None;
        }
        let [w, h] = [0, 1].map(|i| whole.max[i] - whole.min[i]);
        let cell_m = CELL_M.max((w * h / MOST_CELLS).sqrt());
        let [columns, rows] = [w, h].map(|d| (d / cell_m) as usize + 1);
        let mut nearby = Nearby {
            whole,
            cell_m,
            columns,
            marked: vec![false; columns * rows],
            boxes: vec![],
        };
        for b in &boxes {
            let (x, y) = nearby.cells(b);
            for row in y.0..=y.1 {
                nearby.marked[row * columns + x.0..=row * columns + x.1].fill(true);
            }
        }
        nearby.boxes = boxes;
        Some(nearby)
    }

    /// Whether something with this box may be near.
    pub fn touches(&self, b: &Bounds) -> bool {
        if !self.whole.meets(b) {
            return false;
        }
        let (x, y) = self.cells(b);
        (y.0..=y.1).any(|row| {
            let from = row * self.columns;
            self.marked[from + x.0..=from + x.1].iter().any(|m| *m)
        })
    }

    /// First and last column and row of a box that meets the whole.
    fn cells(&self, b: &Bounds) -> ((usize, usize), (usize, usize)) {
        let rows = self.marked.len() / self.columns;
        let cell = |v: f64, axis: usize, n: usize| {
            let at = (v - self.whole.min[axis]) / self.cell_m;
            (at.max(0.0) as usize).min(n - 1)
        };
        let span = |axis: usize, n: usize| (cell(b.min[axis], axis, n), cell(b.max[axis], axis, n));
        (span(0, self.columns), span(1, rows))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::{FeatureRef, Polyline};
    use geo::coord;

    fn bore(a: (f64, f64), b: (f64, f64)) -> GivenBore {
        let points = vec![coord! {x: a.0, y: a.1}, coord! {x: b.0, y: b.1}];
        GivenBore {
            at: FeatureRef {
                layer: "b".into(),
                fid: 1,
            },
            bore_id: None,
            dn_mm: None,
            od_mm: None,
            id_mm: None,
            bore_mm: None,
            us_invert_m: None,
            ds_invert_m: None,
            launched_upstream: true,
            parts: vec![Polyline {
                points,
                levels: None,
            }],
        }
    }

    #[test]
    fn what_meets_a_grown_box_touches_and_what_is_far_does_not() {
        let near = Nearby::of(
            &[
                bore((0., 0.), (30., 5.)),
                bore((9000., 100.), (9010., 140.)),
            ],
            5.0,
        )
        .unwrap();
        let at = |x: f64, y: f64| Bounds {
            min: [x, y],
            max: [x + 1.0, y + 1.0],
        };
        for (x, y) in [(-6.0, -6.0), (35.0, 10.0), (10.0, 0.0), (9015.0, 145.0)] {
            assert!(near.touches(&at(x, y)), "{x} {y}");
        }
        for (x, y) in [(4000.0, 50.0), (-90.0, 0.0), (9100.0, 120.0), (60.0, 60.0)] {
            assert!(!near.touches(&at(x, y)), "{x} {y}");
        }
        assert!(Nearby::of(&[], 5.0).is_none());
    }
}
