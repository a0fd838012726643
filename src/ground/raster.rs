//! Ground as a raster.

use super::Levels;
use geo::Coord;

/// Carries a job point into the raster's own CRS. Supplied by `read`, which knows coordinate systems.
pub trait Project: Send + Sync {
    /// The point in the raster's CRS, or none where there is no such point.
    fn project(&self, p: Coord<f64>) -> Option<Coord<f64>>;
}

/// A raster window held in memory.
pub struct Grid {
    /// Columns of the window.
    pub width: usize,
    /// Rows of the window.
    pub height: usize,
    /// Levels of its cells.
    pub levels: Levels,
    /// From raster coordinates to columns and rows of the window, corner based:
    /// `column = c[0] + c[1]·x + c[2]·y`, `row = c[3] + c[4]·x + c[5]·y`.
    pub to_cell: [f64; 6],
    /// Metres of the job to the raster's coordinates: divide by this (the job CRS's unit in metres) when there is no projection.
    pub unit_m: f64,
    /// Set where the raster has another CRS.
    pub project: Option<Box<dyn Project>>,
}

/// What rounding may do to a place (cells) and to a level (m).
const ROUNDING: f64 = 1e-6;

impl Grid {
    /// See [`super::Ground::least_within`]. A level lies between those of four cells, so none is lower than the lowest of all
    /// cells that have a part in some place of the box.
    pub(super) fn least_within(&self, low: Coord<f64>, high: Coord<f64>) -> Option<f64> {
        if self.project.is_some() {
            return None;
        }
        let corners = [
            (low.x, low.y),
            (high.x, low.y),
            (low.x, high.y),
            (high.x, high.y),
        ];
        let span = |axis: usize, count: usize| {
            let c = &self.to_cell[3 * axis..];
            let at =
                |(x, y): (f64, f64)| c[0] + c[1] * (x / self.unit_m) + c[2] * (y / self.unit_m);
            let places = corners.map(at);
            let least = places.into_iter().fold(f64::INFINITY, f64::min) - ROUNDING;
            let most = places.into_iter().fold(f64::NEG_INFINITY, f64::max) + ROUNDING;
            // Beyond the raster there is no ground.
            let inside = least >= 0.0 && most <= count as f64;
            inside.then(|| [split(least - 0.5, count).0, split(most - 0.5, count).1])
        };
        let least = self
            .levels
            .least(span(0, self.width)?, span(1, self.height)?)?;
        Some(least - ROUNDING)
    }

    /// Bilinear between cell centres; within half a cell of the edge the nearest row or column.
    /// A neighbour without data and of non-zero weight means no ground.
    pub fn level(&self, p: Coord<f64>) -> Option<f64> {
        let q = match &self.project {
            Some(t) => t.project(p)?,
            // Nothing changes by a division by 1, which takes its time all the same.
            None if self.unit_m == 1.0 => p,
            None => Coord {
                x: p.x / self.unit_m,
                y: p.y / self.unit_m,
            },
        };
        let c = &self.to_cell;
        let (col, row) = (
            c[0] + c[1] * q.x + c[2] * q.y,
            c[3] + c[4] * q.x + c[5] * q.y,
        );
        let (w, h) = (count(self.width), count(self.height));
        // 1e-9 of a cell: a point on the very edge is on the raster whatever the rounding.
        if !(col >= -1e-9 && row >= -1e-9 && col <= w + 1e-9 && row <= h + 1e-9) {
            return None;
        }
        // Away from the edges nothing is to be minded.
        let (u, v) = (col - 0.5, row - 0.5);
        let ((i0, i1, fx), (j0, j1, fy)) = if u >= 0.0 && v >= 0.0 && u < w - 1.0 && v < h - 1.0 {
            (between(u), between(v))
        } else {
            (split(u, self.width), split(v, self.height))
        };
        let four = self.levels.four([i0, i1], [j0, j1], self.width);
        let weights = [
            (1.0 - fx) * (1.0 - fy),
            fx * (1.0 - fy),
            (1.0 - fx) * fy,
            fx * fy,
        ];
        let all = 0.0 + weights[0] * four[0] + weights[1] * four[1] + weights[2] * four[2];
        let all = all + weights[3] * four[3];
        if all.is_finite() {
            // What has no weight adds nothing.
            return Some(all);
        }
        let mut sum = 0.0;
        for (v, weight) in four.into_iter().zip(weights) {
            if weight > 0.0 {
                if v.is_nan() {
                    return None;
                }
                sum += weight * v;
            }
        }
        Some(sum)
    }
}

/// The two neighbours of a centre-based coordinate and the weight of the second.
fn split(t: f64, n: usize) -> (usize, usize, f64) {
    // Not f64::max and min, which mind what is no number.
    let (t, last) = (if t > 0.0 { t } else { 0.0 }, count(n - 1));
    let t = if t < last { t } else { last };
    // What is not negative is rounded down so.
    let i = t as u32;
    (i as usize, (i as usize + 1).min(n - 1), t - f64::from(i))
}

/// The same, where there are cells on both sides.
#[inline]
fn between(t: f64) -> (usize, usize, f64) {
    let i = t as i32;
    (i as usize, i as usize + 1, t - f64::from(i))
}

/// A number of rows or columns; no raster has four thousand million.
fn count(n: usize) -> f64 {
    f64::from(n as u32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    /// 4 x 3 cells of 10 m, top left at (0, 30), on a steep plane z = 100 + 0.5 x - 0.25 y.
    fn plane() -> Grid {
        let mut levels = vec![];
        for row in 0..3 {
            for col in 0..4 {
                let (x, y) = (5.0 + 10.0 * col as f64, 25.0 - 10.0 * row as f64);
                levels.push(100.0 + 0.5 * x - 0.25 * y);
            }
        }
        Grid {
            width: 4,
            height: 3,
            levels: Levels::Whole(levels),
            to_cell: [0.0, 0.1, 0.0, 3.0, 0.0, -0.1],
            unit_m: 1.0,
            project: None,
        }
    }

    #[test]
    fn a_plane_is_kept_between_cell_centres() {
        let g = plane();
        for (x, y) in [(5.0, 25.0), (12.3, 17.7), (34.9, 5.1)] {
            let want = 100.0 + 0.5 * x - 0.25 * y;
            assert!((g.level(coord! {x: x, y: y}).unwrap() - want).abs() < 1e-9);
        }
    }

    #[test]
    fn the_outer_half_cell_takes_the_nearest_row_or_column() {
        let g = plane();
        assert_eq!(
            g.level(coord! {x: 0.0, y: 25.0}),
            g.level(coord! {x: 5.0, y: 25.0})
        );
        assert_eq!(g.level(coord! {x: -0.1, y: 25.0}), None);
        assert_eq!(g.level(coord! {x: 40.1, y: 25.0}), None);
    }

    #[test]
    fn a_neighbour_without_data_counts_only_where_it_has_weight() {
        let mut g = plane();
        if let Levels::Whole(levels) = &mut g.levels {
            levels[1] = f64::NAN;
        }
        assert!(g.level(coord! {x: 5.0, y: 25.0}).is_some());
        assert_eq!(g.level(coord! {x: 5.1, y: 25.0}), None);
    }

    #[test]
    fn no_level_within_a_box_is_below_its_least() {
        let (tile, turn) = (super::super::TILE, 0.3f64);
        // A pit here and there.
        let pit = |k: usize| (k * 7919).is_multiple_of(211);
        let value = |k: usize| if pit(k) { 3.0 } else { 20.0 };
        let tiles = super::super::Tiles {
            across: 1,
            tiles: vec![Some(super::super::Tile::new(
                (0..tile * tile).map(value).collect(),
            ))],
            scale: 1.0,
            offset: 0.0,
            unit_m: 1.0,
        };
        let g = Grid {
            width: tile,
            height: tile,
            levels: Levels::Tiles(tiles),
            // Turned, cells of 2 m.
            to_cell: [
                20.0,
                0.5 * turn.cos(),
                0.5 * turn.sin(),
                20.0,
                -0.5 * turn.sin(),
                0.5 * turn.cos(),
            ],
            unit_m: 1.0,
            project: None,
        };
        let (mut known, mut beyond) = (0, 0);
        for k in 0..3000 {
            let at = |a: usize| (k * a % 1013) as f64 / 1013.0;
            let low = coord! {x: 240.0 * at(31) - 20.0, y: 200.0 * at(97) - 20.0};
            let high = low + coord! {x: 12.0 * at(11), y: 12.0 * at(53)};
            let levels = (0..=400).map(|i| {
                let share = coord! {x: (i % 20) as f64 / 19.0, y: (i / 20) as f64 / 20.0};
                g.level(coord! {x: low.x + share.x * (high.x - low.x), y: low.y + share.y * (high.y - low.y)})
            });
            match g.least_within(low, high) {
                Some(least) => {
                    assert!(
                        levels.into_iter().all(|z| z.is_some_and(|z| z >= least)),
                        "{low:?}"
                    );
                    known += 1;
                }
                None => beyond += 1,
            }
        }
        assert!(known > 1000 && beyond > 100, "{known} {beyond}");
    }
}
