//! A solved route with its footprints, names and levels worked out once for all rows.

use crate::{
    alignment::samples,
    clearance::{DriveLine, FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M, drive_line},
    pits::{Footprint, Meets, Siting, Standing, footprint},
    plan::{
        context::Context,
        search::{Solution, SolvedDrive, SolvedPit},
    },
};

/// A pit as drawn.
#[derive(Clone)]
pub struct DrawnPit<'s> {
    pub solved: &'s SolvedPit,
    pub pit_id: String,
    pub footprint: Footprint,
    pub standing: Standing,
    pub ground_m: f64,
    pub floor_m: f64,
    pub launches: bool,
    pub receives: bool,
    /// An existing manhole stands there already.
    pub existing: bool,
    /// It belongs to the route that this one joins.
    pub of_parent: bool,
}

/// A drive as drawn.
pub struct DrawnDrive<'s> {
    pub solved: &'s SolvedDrive,
    pub bore_id: String,
    pub run_id: String,
    pub length_m: f64,
    /// From launch to reception, at the pipe's centre.
    pub line: DriveLine,
    /// Cover samples from upstream.
    pub samples: Vec<Sample>,
}

/// A cover sample.
#[derive(Debug, Clone, Copy)]
pub struct Sample {
    /// Share of the drive from upstream.
    pub share: f64,
    pub ground_m: f64,
    pub invert_m: f64,
}

/// A solved route as drawn.
pub struct Drawn<'s, 'c, 'a> {
    pub cx: &'c Context<'a>,
    pub solution: &'s Solution,
    pub pits: Vec<DrawnPit<'s>>,
    pub drives: Vec<DrawnDrive<'s>>,
}

impl DrawnPit<'_> {
    pub fn depth_m(&self) -> f64 {
        self.ground_m - self.floor_m
    }

    pub fn supported(&self, cx: &Context) -> bool {
        self.depth_m() > cx.job().pits.support_from_depth_m + crate::clearance::LENGTH_TOLERANCE_M
    }
}

impl DrawnDrive<'_> {
    /// Index of the pit that launches it, and of the one that receives it.
    pub fn launch_and_reception(&self) -> [usize; 2] {
        let [us, ds] = self.solved.pits;
        if self.solved.side == FROM_UPSTREAM {
            [us, ds]
        } else {
            [ds, us]
        }
    }

    /// Level of the pipe's centre at share `s` from the launch pit.
    pub fn centre_at(&self, s: f64) -> [f64; 3] {
        crate::clearance::along(
            self.line.centre.a,
            crate::clearance::sub(self.line.centre.b, self.line.centre.a),
            s,
        )
    }

    /// Ground less crown at a sample.
    pub fn cover_m(&self, cx: &Context, s: &Sample) -> f64 {
        s.ground_m - crown_m(cx, s.invert_m)
    }
}

/// Outside top of the pipe.
pub fn crown_m(cx: &Context, invert_m: f64) -> f64 {
    invert_m + (cx.size.id_mm + cx.size.od_mm) / 2000.0
}

impl<'s, 'c, 'a> Drawn<'s, 'c, 'a> {
    /// `junction` is the pit of the route that this one joins.
    pub fn new(
        cx: &'c Context<'a>,
        solution: &'s Solution,
        junction: Option<&DrawnPit<'s>>,
    ) -> Self {
        let mut drawn = Drawn {
            cx,
            solution,
            pits: vec![],
            drives: vec![],
        };
        drawn.pits.extend(junction.map(|pit| DrawnPit {
            of_parent: true,
            ..pit.clone()
        }));
        let own = drawn.pits.len()..solution.pits.len();
        drawn
            .pits
            .extend(own.map(|i| drawn.pit(i)).collect::<Vec<_>>());
        drawn.drives = (0..solution.drives.len()).map(|i| drawn.drive(i)).collect();
        drawn
    }

    /// The pits that belong to the route, from downstream.
    pub fn own_pits(&self) -> impl Iterator<Item = &DrawnPit<'s>> {
        self.pits.iter().filter(|p| !p.of_parent)
    }

    /// The pit at a chainage where a branch joins.
    pub fn pit_at(&self, chainage_m: f64) -> Option<&DrawnPit<'s>> {
        let near = |p: &&DrawnPit| (p.solved.chainage_m - chainage_m).abs() < LENGTH_TOLERANCE_M;
        self.own_pits().find(near)
    }

    /// The drives that meet a pit: downstream, then upstream, then the branches'.
    fn meets(&self, i: usize) -> Vec<Meets> {
        let at = |k: usize| self.solution.pits[k].point;
        let mut out = vec![];
        let mut meet = |other: usize, launched: bool| {
            let d = at(other) - at(i);
            out.push(Meets {
                direction: d / d.x.hypot(d.y),
                launched,
            });
        };
        if i > 0 {
            meet(i - 1, self.solution.drives[i - 1].side == FROM_UPSTREAM);
        }
        if i < self.solution.drives.len() {
            meet(i + 1, self.solution.drives[i].side == FROM_DOWNSTREAM);
        }
        out.extend(&self.solution.pits[i].branches);
        out
    }

    fn pit(&self, i: usize) -> DrawnPit<'s> {
        let (cx, solved) = (self.cx, &self.solution.pits[i]);
        let meets = self.meets(i);
        let footprint =
            footprint(solved.point, &cx.job().rig, &meets).expect("every pit meets a drive");
        let ground_m = cx
            .world
            .site
            .ground
            .level(solved.point)
            .expect("no pit stands where there is no ground");
        let siting = Siting {
            job: cx.job(),
            obstacles: &cx.world.obstacles,
            access: &cx.world.access,
        };
        let standing = siting.standing(&footprint, ground_m, &|p| solved.exempt.contains(&p));
        // A branch numbers its own pits from 1.
        let number = if cx.joined { i } else { i + 1 };
        DrawnPit {
            solved,
            pit_id: format!("{}-P{:02}", cx.route.route_id, number),
            footprint,
            standing: standing.expect("the search lets no pit stand where none may"),
            ground_m,
            floor_m: solved.invert_m - cx.job().rig.axis_height_m,
            launches: meets.iter().any(|m| m.launched),
            receives: meets.iter().any(|m| !m.launched),
            existing: cx.existing_at(solved.chainage_m),
            of_parent: false,
        }
    }

    fn drive(&self, i: usize) -> DrawnDrive<'s> {
        let (cx, solved) = (self.cx, &self.solution.drives[i]);
        let [us, ds] = solved.pits.map(|k| self.solution.pits[k].point);
        let d = ds - us;
        let length_m = d.x.hypot(d.y);
        let centre = solved.inverts.map(|z| z + cx.centre_above_invert_m());
        let sample = |share: f64| {
            let at = us + d * share;
            let ground_m = cx
                .world
                .site
                .ground
                .level(at)
                .expect("the search lets no drive pass where there is no ground");
            Sample {
                share,
                ground_m,
                invert_m: solved.inverts[0] + share * (solved.inverts[1] - solved.inverts[0]),
            }
        };
        DrawnDrive {
            solved,
            bore_id: format!("{}-B{:02}", cx.route.route_id, i + 1),
            run_id: format!("{}-S{:02}", cx.route.route_id, solved.run + 1),
            length_m,
            line: drive_line(us, ds, centre, solved.side),
            samples: samples(length_m).map(sample).collect(),
        }
    }
}
