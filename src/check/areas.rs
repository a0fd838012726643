//! One bore beside buildings, trees, keepouts, and under the ground: one row each, of the nearest of its drives.

use super::{Bores, CheckedBore, Found};
use crate::{
    alignment::samples,
    clearance::{
        Clause, DriveLine, LENGTH_TOLERANCE_M, Nearest, Obstacles, Prism, Verdict,
        segment_polygon_distance,
    },
    ground::Ground,
    job::Job,
    plan::Obstacle,
    site::Site,
};
use geo::Coord;

/// What rounding may do to a place or a level (m).
const ROUNDING_M: f64 = 1e-6;

/// What every bore is checked with, services apart.
pub(super) struct Around<'a> {
    pub site: &'a Site,
    pub job: &'a Job,
    pub obstacles: Obstacles,
    pub bores: &'a Bores,
}

/// The nearest place of a bore to something.
#[derive(Clone, Copy)]
struct Place<'d> {
    drive: &'d DriveLine,
    s: f64,
    distance_m: f64,
}

impl Around<'_> {
    /// Rows of one bore. True where the ground model ends before the bore does.
    pub fn bore(&self, number: u32, out: &mut Vec<Found>) -> bool {
        let bore = &self.bores.all[number as usize];
        let o = &self.obstacles;
        if !(o.buildings.is_empty() && o.trees.is_empty() && o.keepouts.parts.is_empty()) {
            self.buildings(number, bore, out);
            self.trees(number, bore, out);
            self.keepouts(number, bore, out);
        }
        self.ground(number, bore, out)
    }

    fn drives<'s>(&'s self, bore: &CheckedBore) -> impl Iterator<Item = &'s DriveLine> + use<'s> {
        self.bores.of(bore).iter().map(|d| &d.line)
    }

    /// Things by number that are near some drive, ascending.
    fn near<I: Iterator<Item = usize>>(
        &self,
        bore: &CheckedBore,
        find: impl Fn([Coord<f64>; 2]) -> I,
    ) -> Vec<usize> {
        let mut all: Vec<usize> = self.drives(bore).flat_map(|d| find(ends(d))).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    fn buildings(&self, number: u32, bore: &CheckedBore, out: &mut Vec<Found>) {
        let rules = &self.job.rules;
        let required = rules.clearance_building_m;
        let by_m = self
            .job
            .watch_distance_m
            .max(required + rules.watch_margin_m)
            + bore.bore_mm / 2000.0;
        for i in self.near(bore, |ends| {
            self.obstacles.building_ids_near(&ends, by_m).into_iter()
        }) {
            let (building, prism) = &self.obstacles.buildings[i];
            let to = |d: &DriveLine| match bore.levels {
                true => prism.nearest(&d.centre),
                false => beside_outline(prism, d),
            };
            let place = self.nearest(bore, to);
            let mut row = self.plain(number, Obstacle::Building, *building, place, required);
            row.depth_known = bore.levels && prism.base_m.is_finite();
            if !bore.levels && row.verdict == Verdict::Clash {
                // It may pass well below: not known, and so not clear.
                row.verdict = Verdict::Watch;
            }
            out.extend(Some(row).filter(|r| self.worth_a_row(r)));
        }
    }

    fn trees(&self, number: u32, bore: &CheckedBore, out: &mut Vec<Found>) {
        let by_m = self.job.rules.watch_margin_m.max(0.0) + bore.bore_mm / 2000.0;
        let near = |ends: [Coord<f64>; 2]| self.obstacles.tree_ids_near(&ends, by_m).into_iter();
        for i in self.near(bore, near) {
            let tree = &self.obstacles.trees[i];
            let trunk = crate::clearance::Segment {
                a: [tree.centre.x, tree.centre.y, 0.0],
                b: [tree.centre.x, tree.centre.y, 0.0],
            };
            let to = |d: &DriveLine| {
                let n = crate::clearance::nearest(&flat(d), &trunk);
                Nearest {
                    distance_m: n.distance_m - tree.radius_m,
                    ..n
                }
            };
            let place = self.nearest(bore, to);
            let mut row = self.plain(number, Obstacle::Tree, tree.tree, place, 0.0);
            if row.margin_m < self.job.rules.watch_margin_m {
                row.verdict = Verdict::Watch;
                out.push(row);
            }
        }
    }

    fn keepouts(&self, number: u32, bore: &CheckedBore, out: &mut Vec<Found>) {
        let by_m =
            self.job.watch_distance_m.max(self.job.rules.watch_margin_m) + bore.bore_mm / 2000.0;
        let near =
            |ends: [Coord<f64>; 2]| self.obstacles.keepouts.ids_near(&ends, by_m).into_iter();
        for i in self.near(bore, near) {
            let (keepout, area) = &self.obstacles.keepouts.parts[i];
            let place = self.nearest(bore, |d| {
                let [a, b] = ends(d);
                segment_polygon_distance(a, b, area)
            });
            let row = self.plain(number, Obstacle::Keepout, *keepout, place, 0.0);
            out.extend(Some(row).filter(|r| self.worth_a_row(r)));
        }
    }

    fn ground(&self, number: u32, bore: &CheckedBore, out: &mut Vec<Found>) -> bool {
        if matches!(self.site.ground, Ground::None) {
            return true;
        }
        let crown_above_centre_m = bore.size.od_mm / 2000.0;
        let mut least: Option<Place> = None;
        let mut leaves = false;
        for drive in self.drives(bore).filter(|d| !self.well_below(bore, d)) {
            let [a, b] = ends(drive);
            for s in samples(drive.length_m) {
                let Some(ground_m) = self.site.ground.level(a + (b - a) * s) else {
                    leaves = true;
                    continue;
                };
                let distance_m = ground_m - (drive.at(s)[2] + crown_above_centre_m);
                if least.is_none_or(|l| distance_m < l.distance_m) {
                    least = Some(Place {
                        drive,
                        s,
                        distance_m,
                    });
                }
            }
        }
        if let Some(place) = least.filter(|_| bore.levels) {
            let required = self.job.rules.min_cover_m;
            let row = Found {
                clearance_m: place.distance_m,
                margin_m: place.distance_m - required,
                verdict: self.verdict(place.distance_m - required),
                ..self.plain(number, Obstacle::Ground, 0, place, required)
            };
            out.extend(Some(row).filter(|r| r.margin_m < self.job.rules.watch_margin_m));
        }
        leaves
    }

    /// There is ground all over a drive and nowhere so little cover that it would earn a row: no place of it needs to be looked at.
    /// A bore without levels has no cover.
    fn well_below(&self, bore: &CheckedBore, drive: &DriveLine) -> bool {
        let [a, b] = ends(drive);
        let corner = |of: fn(f64, f64) -> f64, by: f64| Coord {
            x: of(a.x, b.x) + by,
            y: of(a.y, b.y) + by,
        };
        let (low, high) = (corner(f64::min, -ROUNDING_M), corner(f64::max, ROUNDING_M));
        let Some(ground_m) = self.site.ground.least_within(low, high) else {
            return false;
        };
        let highest = drive.centre.a[2].max(drive.centre.b[2]) + bore.size.od_mm / 2000.0;
        let rules = &self.job.rules;
        let margin_m = ground_m - highest - rules.min_cover_m;
        !bore.levels || margin_m >= rules.watch_margin_m + ROUNDING_M
    }

    /// The place of least distance; of equally near ones that of the first drive.
    fn nearest(&self, bore: &CheckedBore, to: impl Fn(&DriveLine) -> Nearest) -> Place<'_> {
        let place = |drive| {
            let n = to(drive);
            Place {
                drive,
                s: n.s,
                distance_m: n.distance_m,
            }
        };
        let all = self.drives(bore).map(place);
        all.min_by(|a, b| a.distance_m.total_cmp(&b.distance_m))
            .expect("a bore has a drive")
    }

    fn verdict(&self, margin_m: f64) -> Verdict {
        Verdict::of_margin(margin_m, self.job.rules.watch_margin_m)
    }

    fn plain(
        &self,
        number: u32,
        obstacle: Obstacle,
        thing: usize,
        place: Place,
        required_m: f64,
    ) -> Found {
        let radius_m = self.bores.all[number as usize].bore_mm / 2000.0;
        let clearance_m = place.distance_m - radius_m;
        let margin_m = clearance_m - required_m;
        Found {
            bore: number,
            thing: thing as u32,
            obstacle,
            encounter: None,
            clause: Clause::Distance,
            verdict: self.verdict(margin_m),
            depth_known: true,
            depth_missing: false,
            no_ground: false,
            chainage_m: place.drive.from_launch_m(place.s),
            angle_deg: 0.0,
            clearance_m,
            required_m,
            allowance_m: 0.0,
            margin_m,
            p_contact: 0.0,
            point: place.drive.at(place.s),
        }
    }

    /// Rows are written for what is near, and for what has little margin.
    fn worth_a_row(&self, f: &Found) -> bool {
        f.clearance_m <= self.job.watch_distance_m + LENGTH_TOLERANCE_M
            || f.margin_m < self.job.rules.watch_margin_m
    }
}

fn ends(d: &DriveLine) -> [Coord<f64>; 2] {
    [d.centre.a, d.centre.b].map(|p| Coord { x: p[0], y: p[1] })
}

fn flat(d: &DriveLine) -> crate::clearance::Segment {
    crate::clearance::Segment {
        a: crate::clearance::flat(d.centre.a),
        b: crate::clearance::flat(d.centre.b),
    }
}

fn beside_outline(prism: &Prism, d: &DriveLine) -> Nearest {
    let [a, b] = ends(d);
    segment_polygon_distance(a, b, &prism.outline)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        clearance::Segment,
        ground::{Grid, Levels, TILE, Tile, Tiles},
    };

    /// Level of a cell: hills of some metres, and one cell without ground.
    fn value(k: usize) -> f32 {
        let (x, y) = ((k % TILE) as f32, (k / TILE) as f32);
        let hills = 3.0 * (x / 9.0).sin() + 2.0 * (y / 7.0).cos();
        if k == 60 * TILE + 60 {
            f32::NAN
        } else {
            20.0 + hills
        }
    }

    fn ground(levels: Levels) -> Ground {
        Ground::Grid(Grid {
            width: TILE,
            height: TILE,
            levels,
            to_cell: [0.0, 0.5, 0.0, 0.0, 0.0, 0.5],
            unit_m: 1.0,
            project: None,
        })
    }

    /// Rows of all bores, and which of them leave the ground.
    fn rows(levels: Levels, bores: &Bores, job: &Job) -> (Vec<Found>, Vec<bool>) {
        let site = Site {
            ground: ground(levels),
            ..Site::default()
        };
        let around = Around {
            obstacles: Obstacles::new(&site, job),
            site: &site,
            job,
            bores,
        };
        let mut found = vec![];
        let numbers = 0..bores.all.len() as u32;
        let leave = numbers.map(|number| around.bore(number, &mut found));
        let leave = leave.collect();
        (found, leave)
    }

    #[test]
    fn a_place_that_is_passed_over_has_enough_cover() {
        let mut dice = crate::dice::Dice(0x9E37_79B9_7F4A_7C15);
        let mut roll = || dice.roll();
        let mut line = || {
            let (a, z) = (
                [262.0 * roll() - 4.0, 262.0 * roll() - 4.0],
                10.0 + 12.0 * roll(),
            );
            let mut off = |v: f64, by: f64| v + by * (roll() - 0.5);
            Segment {
                a: [a[0], a[1], z],
                b: [off(a[0], 40.0), off(a[1], 40.0), off(z, 1.0)],
            }
        };
        let lines: Vec<Segment> = (0..2000).map(|_| line()).collect();
        let mut bores = Bores::of_lines(&lines);
        bores
            .all
            .iter_mut()
            .step_by(17)
            .for_each(|b| b.levels = false);
        let job = Job::default();
        let cells = || (0..TILE * TILE).map(value);
        let tiles = Levels::Tiles(Tiles {
            across: 1,
            tiles: vec![Some(Tile::new(cells().collect()))],
            scale: 1.0,
            offset: 0.0,
            unit_m: 1.0,
        });
        let whole = Levels::Whole(cells().map(f64::from).collect());
        let (found, leave) = rows(tiles, &bores, &job);
        // Not told if they differ: it is a long list.
        assert!(rows(whole, &bores, &job) == (found.clone(), leave.clone()));
        let beyond = leave.iter().filter(|l| **l).count();
        assert!(
            found.len() > 200 && found.len() < 1800 && beyond > 20,
            "{} {beyond}",
            found.len()
        );
    }
}
