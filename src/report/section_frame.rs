//! Where a long section stands on its sheet: chainage to the right, level up, heights drawn larger than lengths.

use super::{
    model::{Bore, RouteSheet},
    section_services::Met,
    view::{Room, round_below},
};

/// Left of the section: names of rows and levels (units).
pub const LEFT: f64 = 118.0;
/// Right of it.
const RIGHT: f64 = 26.0;
/// Above it: what is crossed.
pub const HEAD: f64 = 200.0;
/// Ground shown beside the outermost pits (m).
const BESIDE_M: f64 = 1.0;
/// How much larger heights may be drawn.
const TIMES: [f64; 6] = [20.0, 10.0, 5.0, 2.5, 2.0, 1.0];

/// A bore along the route: chainages of its downstream and upstream end (m).
#[derive(Debug, Clone, Copy)]
pub struct Laid<'a> {
    pub bore: &'a Bore,
    pub ds_m: f64,
    pub us_m: f64,
}

/// How chainages and levels are put on the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionFrame {
    /// Chainage at the left edge and the right (m).
    pub chainages: (f64, f64),
    /// Level at the foot, a round number, and at the top (m).
    pub levels: (f64, f64),
    /// Width of the drawing (units).
    pub width: f64,
    /// Units in a metre along.
    pub along: f64,
    /// One to how many that is on paper.
    pub one_to: Option<f64>,
    /// How much larger heights are drawn.
    pub times: f64,
}

impl Laid<'_> {
    /// Level of the invert at a chainage (m).
    pub fn invert_at(&self, chainage_m: f64) -> f64 {
        let b = self.bore;
        if self.us_m == self.ds_m {
            return b.ds_invert_m;
        }
        let t = (chainage_m - self.ds_m) / (self.us_m - self.ds_m);
        b.ds_invert_m + (b.us_invert_m - b.ds_invert_m) * t
    }

    /// Chainage along the route of a distance from the launch pit (m).
    pub fn chainage(&self, from_launch_m: f64) -> f64 {
        let t = from_launch_m / self.bore.length_m;
        let (launch, reception) = if self.bore.launched_upstream() {
            (self.us_m, self.ds_m)
        } else {
            (self.ds_m, self.us_m)
        };
        launch + (reception - launch) * t
    }

    /// Invert to crown (m): the outside of the pipe above the lowest point inside.
    pub fn crown_m(&self) -> f64 {
        (self.bore.od_mm + self.bore.id_mm) / 2000.0
    }
}

/// The bores of a run whose pits have a chainage, from downstream up.
pub fn laid<'a>(route: &RouteSheet, run: &[&'a Bore]) -> Vec<Laid<'a>> {
    let place = |bore: &&'a Bore| {
        Some(Laid {
            bore,
            ds_m: route.chainage(&bore.ds_pit)?,
            us_m: route.chainage(&bore.us_pit)?,
        })
    };
    let mut all: Vec<Laid> = run.iter().filter_map(place).collect();
    all.sort_by(|a, b| a.ds_m.total_cmp(&b.ds_m));
    all
}

impl SectionFrame {
    /// Around a run and what it meets.
    pub fn of(route: &RouteSheet, laid: &[Laid], met: &[Met], room: Room) -> Option<SectionFrame> {
        let first = laid.first()?;
        let last = laid.last()?;
        let half = |pit: &str| route.pit(pit).map_or(0.0, |p| p.length_m / 2.0) + BESIDE_M;
        let from = first.ds_m - half(&first.bore.ds_pit);
        let to = last.us_m + half(&last.bore.us_pit);
        let inside = route
            .section
            .iter()
            .filter(|s| s.chainage_m >= from && s.chainage_m <= to);
        let grounds = inside.map(|s| s.ground_m);
        let floors = laid.iter().flat_map(|l| [&l.bore.ds_pit, &l.bore.us_pit]);
        let floors = floors
            .filter_map(|p| route.pit(p))
            .flat_map(|p| [p.floor_m, p.ground_m]);
        let inverts = laid
            .iter()
            .flat_map(|l| [l.bore.ds_invert_m, l.bore.us_invert_m]);
        let levels: Vec<f64> = grounds.chain(floors).chain(inverts).collect();
        let low = levels.iter().copied().fold(f64::INFINITY, f64::min);
        let high = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let bands = met.iter().filter_map(|m| m.crossed?.band_m);
        // A band that reaches far below is cut off at the foot.
        let low = bands.map(|b| b.0).fold(low, f64::min).max(low - 1.0);
        let levels = ((low - 0.2).floor(), high + 0.25);
        let (along, one_to) = room.scale((room.width - LEFT - RIGHT) / (to - from));
        let fits = |times: &f64| (levels.1 - levels.0) * along * times <= room.tallest;
        let times = TIMES.into_iter().find(fits).unwrap_or(1.0);
        Some(SectionFrame {
            chainages: (from, to),
            levels,
            width: room.width,
            along,
            one_to,
            times,
        })
    }

    /// The right edge of the section (units): that of the drawing, or on paper where a scale ends it.
    pub fn right(&self) -> f64 {
        self.x(self.chainages.1)
    }

    /// Where a chainage stands.
    pub fn x(&self, chainage_m: f64) -> f64 {
        LEFT + (chainage_m - self.chainages.0) * self.along
    }

    /// Where a level stands; nothing below the foot.
    pub fn y(&self, level_m: f64) -> f64 {
        let level = level_m.max(self.levels.0);
        HEAD + (self.levels.1 - level) * self.along * self.times
    }

    /// The foot of the section.
    pub fn foot(&self) -> f64 {
        self.y(self.levels.0)
    }

    /// Distance of the levels on the axis (m).
    pub fn level_step_m(&self) -> f64 {
        round_below((self.levels.1 - self.levels.0) / 4.0).max(0.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_distance_from_the_launch_pit_is_a_chainage_of_the_route() {
        let mut bore = Bore {
            us_pit: "P2".to_string(),
            ds_pit: "P1".to_string(),
            launch_pit: "P2".to_string(),
            length_m: 40.0,
            us_invert_m: 12.0,
            ds_invert_m: 10.0,
            od_mm: 186.0,
            id_mm: 150.0,
            ..Bore::default()
        };
        let place = |bore: &Bore| {
            // Chainages rise upstream, and the route is a little longer than the bore.
            let laid = Laid {
                bore,
                ds_m: 100.0,
                us_m: 142.0,
            };
            (laid.chainage(10.0), laid.invert_at(laid.chainage(10.0)))
        };
        assert_eq!(place(&bore), (131.5, bore.invert_at(10.0)));
        assert_eq!(bore.invert_at(10.0), 11.5);
        bore.launch_pit = "P1".to_string();
        assert_eq!(place(&bore), (110.5, bore.invert_at(10.0)));
        assert_eq!(bore.invert_at(10.0), 10.5);
    }
}
