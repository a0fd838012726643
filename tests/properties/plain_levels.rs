//! A dynamic programme of its own for the simplest route there is: straight, its ground changing along it only, nothing near it, a
//! pit allowed at every whole metre. It takes nothing from the library but the job's numbers, so prices, cover and levels of the
//! search stand against others; and as it is polynomial it does so on kilometres at the finest levels.

use pitwright::job::{Job, LaunchFrom};
use pitwright::site::Surface;

const TOL: f64 = 1e-6;

/// The route: ground at every whole metre of chainage, and the level fixed at the outfall, if any.
pub struct Straight<'a> {
    pub job: &'a Job,
    pub ground: &'a [f64],
    pub outfall_m: Option<f64>,
}

/// Level numbers at a station, from the lowest.
struct Levels {
    first: i64,
    /// None but this, where it is fixed.
    fixed: Option<f64>,
    count: usize,
}

/// Least cost by level and by whether the drive on one side is launched there.
type Costs = Vec<[f64; 2]>;

impl Straight<'_> {
    /// Least cost of any plan; +inf where there is none.
    ///
    /// # Panics
    /// Where a pit between two manholes could pay: it is left out here.
    pub fn least_cost(&self) -> f64 {
        self.no_through_pit_pays();
        let n = self.ground.len();
        let levels: Vec<Levels> = (0..n).map(|i| self.levels(i)).collect();
        // By station: of all downstream of its pit, by outlet and whether the drive down is launched there.
        let mut below: Vec<Costs> = levels
            .iter()
            .map(|l| vec![[f64::INFINITY; 2]; l.count])
            .collect();
        let mut best = f64::INFINITY;
        for i in 0..n {
            for inlet in 0..levels[i].count {
                let z = self.level(&levels[i], inlet);
                let here = [false, true].map(|up| self.manhole(i, z, up, &levels[i], &below[i]));
                if here.iter().any(|c| c.is_finite()) {
                    self.drives_up(i, z, here, &levels, &mut below);
                }
            }
            if i + 1 == n {
                let outlets = (0..levels[i].count).map(|k| {
                    let z = self.level(&levels[i], k);
                    [false, true].map(|down| below[i][k][usize::from(down)] + self.pit(i, z, down))
                });
                best = outlets.flatten().fold(best, f64::min);
            }
        }
        best
    }

    /// Pits between two manholes cost themselves and a drive each. One drive in place of theirs needs no more than that the pit at one
    /// of its ends become large.
    fn no_through_pit_pays(&self) {
        let (job, costs) = (self.job, &self.job.costs);
        assert!(job.rig.reach_m >= job.rules.manhole_spacing_m);
        assert_eq!(job.rig.launch_from, LaunchFrom::Either);
        let deepest = job.pits.max_depth_m;
        let saved = self.dug(deepest, true) - self.dug(deepest, false);
        let more = costs.pit_base + costs.bore_setup + costs.crew_day * job.rig.setup_days;
        assert!(more + self.dug(0.0, false) > saved, "{more} for {saved}");
    }

    fn levels(&self, i: usize) -> Levels {
        let (job, step) = (self.job, self.job.search.level_step_m);
        let deepest = self.ground[i] - job.pits.max_depth_m + job.rig.axis_height_m;
        let first = ((deepest - TOL) / step).ceil() as i64;
        let last = ((self.highest(i) + TOL) / step).floor() as i64;
        match self.outfall_m.filter(|_| i == 0) {
            Some(z) => Levels {
                first: 0,
                fixed: Some(z),
                count: usize::from(z >= deepest - TOL && z <= self.highest(0) + TOL),
            },
            None => Levels {
                first,
                fixed: None,
                count: (last - first + 1).max(0) as usize,
            },
        }
    }

    fn level(&self, levels: &Levels, k: usize) -> f64 {
        let on_grid = (levels.first + k as i64) as f64 * self.job.search.level_step_m;
        levels.fixed.unwrap_or(on_grid)
    }

    /// Highest invert that the cover leaves.
    fn highest(&self, i: usize) -> f64 {
        let size = self.job.pipe.sizes[&self.job.pipe.dn_mm];
        self.ground[i] - self.job.rules.min_cover_m - (size.id_mm + size.od_mm) / 2000.0
    }

    /// Least cost of the pit at a station and of all below, for an inlet there.
    fn manhole(&self, i: usize, inlet: f64, up: bool, levels: &Levels, below: &Costs) -> f64 {
        if i == 0 {
            return self.pit(0, inlet, up);
        }
        let rules = &self.job.rules;
        let most = rules.manhole_drop_max_m.unwrap_or(f64::INFINITY);
        let mut best = f64::INFINITY;
        for (k, below) in below.iter().enumerate() {
            let outlet = self.level(levels, k);
            let drop = inlet - outlet;
            if drop >= rules.manhole_drop_m - TOL && drop <= most + TOL {
                for down in [false, true] {
                    let pit = self.pit(i, outlet, up || down);
                    best = best.min(pit + below[usize::from(down)]);
                }
            }
        }
        best
    }

    /// Every drive that comes in at station `i` at a level: what it and all below cost goes to the stations it may come from.
    fn drives_up(
        &self,
        i: usize,
        inlet: f64,
        here: [f64; 2],
        levels: &[Levels],
        below: &mut [Costs],
    ) {
        let (job, rules) = (self.job, &self.job.rules);
        let flattest = rules.min_grade[&job.pipe.dn_mm].max(job.rig.grade_min);
        let mut steepest = rules.max_grade.min(job.rig.grade_max) + 1e-9;
        let longest = (rules.manhole_spacing_m + TOL).floor() as usize;
        for us in i + 1..self.ground.len().min(i + longest + 1) {
            let length = (us - i) as f64;
            // The cover at every metre on the way holds the line down.
            steepest = steepest.min((self.highest(us) - inlet + TOL) / length);
            let drive = self.drive(length);
            let step = job.search.level_step_m;
            let low = ((inlet + (flattest - 1e-9) * length) / step).ceil() as i64;
            let high = ((inlet + steepest * length) / step).floor() as i64;
            let first = levels[us].first;
            for k in low.max(first)..=high.min(first + levels[us].count as i64 - 1) {
                let to = &mut below[us][(k - first) as usize];
                // Launched below, or above.
                to[0] = to[0].min(drive + here[1]);
                to[1] = to[1].min(drive + here[0]);
            }
        }
    }

    fn drive(&self, length: f64) -> f64 {
        let (costs, rig) = (&self.job.costs, &self.job.rig);
        let days = rig.setup_days + length / rig.metres_per_day;
        costs.bore_setup + costs.bore_per_m * length + costs.crew_day * days
    }

    /// The pit at a station and the manhole in it.
    fn pit(&self, i: usize, lowest: f64, launches: bool) -> f64 {
        let costs = &self.job.costs;
        let depth = self.ground[i] - lowest + self.job.rig.axis_height_m;
        let manhole = costs.manhole_base + costs.manhole_per_m * (self.ground[i] - lowest);
        costs.pit_base + self.dug(depth, launches) + manhole
    }

    /// Digging, support and surface.
    fn dug(&self, depth: f64, launches: bool) -> f64 {
        let (costs, rig) = (&self.job.costs, &self.job.rig);
        let [length, width] = if launches {
            [rig.launch_length_m, rig.launch_width_m]
        } else {
            [rig.reception_length_m, rig.reception_width_m]
        };
        let supported = depth > self.job.pits.support_from_depth_m + TOL;
        let walls = if supported {
            2.0 * (length + width) * depth
        } else {
            0.0
        };
        costs.pit_per_m3 * length * width * depth
            + costs.pit_support_per_m2 * walls
            + costs.reinstate[&Surface::Bare] * length * width
    }
}
