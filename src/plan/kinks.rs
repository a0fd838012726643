//! Manholes that stand only because the route has a kink which a small corridor would absorb.

use super::{
    context::Context,
    search::{ON_CHORD_M, Solution, SolvedPit},
};
use crate::clearance::LENGTH_TOLERANCE_M;

/// Wider corridors are no small change (m).
const WIDEST_M: f64 = 2.0;
/// The corridor that is named is a multiple of this (m).
const STEP_M: f64 = 0.05;

/// A warning that names the corridor, where there are such manholes.
///
/// A manhole stands only because of a kink when it is neither an end nor a junction, and one straight line between its
/// neighbouring manholes would be lawful as a run by its length and stay within a corridor of at most 2 m where the
/// present one is too narrow, whatever the levels. Of consecutive ones each row starts at the manhole where the last one
/// ended, from downstream up, and is as long as one such line can absorb; the corridor that is named does for all rows.
pub fn warning(cx: &Context, solution: &Solution) -> Option<String> {
    let manholes: Vec<&SolvedPit> = solution.pits.iter().filter(|p| p.manhole).collect();
    let (absorbed, corridor_m) = absorbed(cx, &manholes);
    // A branch's downstream manhole is that of the route it joins.
    let own = manholes.len() - usize::from(cx.joined);
    let corridor_m = ((corridor_m - LENGTH_TOLERANCE_M) / STEP_M).ceil() * STEP_M;
    (absorbed > 0).then(|| {
        format!(
            "route {}: {absorbed} of its {own} manholes {} that a corridor of {corridor_m:.2} m would absorb (search.corridor_m)",
            cx.route.route_id,
            if absorbed == 1 { "stands at a kink" } else { "stand at kinks" },
        )
    })
}

/// How many manholes rows absorb, and the corridor that all rows need (m).
fn absorbed(cx: &Context, manholes: &[&SolvedPit]) -> (usize, f64) {
    let last = manholes.len().saturating_sub(1);
    let kink = |i: usize| {
        let at = manholes[i].chainage_m;
        let joins = cx
            .junctions
            .iter()
            .any(|j| (j.chainage_m - at).abs() < LENGTH_TOLERANCE_M);
        !joins && corridor(cx, manholes[i - 1], manholes[i + 1]).is_some()
    };
    let (mut count, mut widest) = (0, 0.0_f64);
    let mut from = 0;
    while from + 1 < last {
        let upto = (from + 1..last)
            .take_while(|i| kink(*i))
            .last()
            .unwrap_or(from);
        let ends = (from + 2..=upto + 1).rev();
        let row = ends
            .filter_map(|to| Some((to, corridor(cx, manholes[from], manholes[to])?)))
            .next();
        let Some((to, corridor_m)) = row else {
            from += 1;
            continue;
        };
        count += to - from - 1;
        widest = widest.max(corridor_m);
        from = to;
    }
    (count, widest)
}

/// The corridor that one straight run between two manholes needs (m); none where that is no wider than the present one or
/// wider than a small change, or the run too long.
fn corridor(cx: &Context, downstream: &SolvedPit, upstream: &SolvedPit) -> Option<f64> {
    let d = upstream.point - downstream.point;
    if d.x.hypot(d.y) > cx.job().rules.manhole_spacing_m + LENGTH_TOLERANCE_M {
        return None;
    }
    let [from, to] = [upstream, downstream].map(|p| cx.alignment.station_at(p.chainage_m));
    let strays_m = (cx.alignment).strays_from(&from, &to, upstream.point, downstream.point);
    let present_m = cx.job().search.corridor_m.max(ON_CHORD_M);
    let fits =
        strays_m > present_m + LENGTH_TOLERANCE_M && strays_m <= WIDEST_M + LENGTH_TOLERANCE_M;
    fits.then_some(strays_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        job::Job,
        plan::{Quiet, bare_site, context::World, plan, search::solve, system::System},
        site::Site,
    };

    /// A street that winds: vertices in turn 0.3 m to the left and to the right, 20 m apart.
    fn winding() -> Site {
        bare_site::site(&[(0., 0.), (20., 0.3), (40., 0.), (60., 0.3), (80., 0.)])
    }

    fn warned(site: &Site, job: &Job) -> Option<String> {
        let world = World::new(site, job);
        let system = System::new(&world, &vec![0], &[true]).expect("it has length");
        let solved = solve(&system).expect("it has a plan");
        warning(&system.members[0].cx, &solved.routes[0])
    }

    #[test]
    fn the_corridor_named_absorbs_the_manholes_counted() {
        let mut job = bare_site::job();
        let site = winding();
        let words = "route R1: 3 of its 5 manholes stand at kinks that a corridor of 0.30 m would absorb (search.corridor_m)";
        assert_eq!(warned(&site, &job).as_deref(), Some(words));
        assert!(
            plan(&site, &job, &Quiet)
                .warnings
                .contains(&words.to_string())
        );
        job.search.corridor_m = 0.30;
        assert_eq!(warned(&site, &job), None);
        let manholes = plan(&site, &job, &Quiet).routes[0].manholes;
        assert_eq!(manholes, 2);
    }

    #[test]
    fn manholes_that_the_spacing_asks_for_stay() {
        let mut job = bare_site::job();
        job.rules.manhole_spacing_m = 45.0;
        let words = "route R1: 2 of its 5 manholes stand at kinks that a corridor of 0.30 m would absorb (search.corridor_m)";
        assert_eq!(warned(&winding(), &job).as_deref(), Some(words));
        job.rules.manhole_spacing_m = 30.0;
        assert_eq!(warned(&winding(), &job), None);
    }

    #[test]
    fn a_real_bend_is_no_kink() {
        let site = bare_site::site(&[(0., 0.), (20., 2.1), (40., 0.)]);
        assert_eq!(warned(&site, &bare_site::job()), None);
        let site = bare_site::site(&[(0., 0.), (20., 1.99), (40., 0.)]);
        let words = "route R1: 1 of its 3 manholes stands at a kink that a corridor of 2.00 m would absorb (search.corridor_m)";
        assert_eq!(warned(&site, &bare_site::job()).as_deref(), Some(words));
    }

    #[test]
    fn a_junction_is_no_kink() {
        let mut site = bare_site::site(&[(0., 0.), (20., 0.3), (40., 0.)]);
        let mut branch = bare_site::site(&[(20., 20.), (20., 0.3)]).routes.remove(0);
        branch.route_id = "R2".into();
        branch.joins = Some("R1".into());
        site.routes.push(branch);
        let job = bare_site::job();
        let world = World::new(&site, &job);
        let both = System::new(&world, &vec![0, 1], &[true, true]).expect("it has length");
        let solved = solve(&both).expect("it has a plan");
        assert_eq!(warning(&both.members[0].cx, &solved.routes[0]), None);
        let one = System::new(&world, &vec![0, 1], &[true, false]).expect("it has length");
        let solved = solve(&one).expect("it has a plan");
        assert!(warning(&one.members[0].cx, &solved.routes[0]).is_some());
    }
}
