//! The figures that a bore's row shows, and what is said where they are missing or bad.

use super::{
    bore::{BoreFacts, flow, grade_left, heave, predicted, settlement, thrust, under_roots},
    reason::NotWorked,
    served_flow::{at_design_flow, design_flow},
    strings::{capacity, strings},
};
use crate::{
    job::Job,
    mechanics::{
        OutOfRange, Working,
        setting_out::lesser_of_share_and_limit,
        settlement::{Damage, damage, least_cover},
    },
};

/// Figures of a bore's row; none where they were not worked out.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct BoreFigures {
    /// Least thrust by any model (kN).
    pub thrust_low_kn: Option<f64>,
    /// Greatest thrust by any model (kN).
    pub thrust_high_kn: Option<f64>,
    /// Greatest settlement (mm).
    pub settlement_mm: Option<f64>,
    /// Steepest slope of the trough (m/m).
    pub settlement_slope: Option<f64>,
    /// Heave over the pilot (mm), at most.
    pub pilot_heave_mm: Option<f64>,
    /// Velocity of the full pipe (m/s).
    pub velocity_m_s: Option<f64>,
    /// Capacity (l/s).
    pub capacity_l_s: Option<f64>,
    /// Error by instrument, base line, air and rig (mm).
    pub predicted_error_mm: Option<f64>,
    /// Deviation allowed in line and level (mm).
    pub level_tolerance_mm: Option<f64>,
    /// Grade that is certain to be left after the errors of both ends (m/m).
    pub grade_after_errors: Option<f64>,
    /// Least cover over what displaces the ground (m), a rule of thumb.
    pub displacement_cover_m: Option<f64>,
    /// Design flow from the lots served (l/s).
    pub design_flow_l_s: Option<f64>,
    /// Design flow by the capacity of the full pipe; above 1 it lacks capacity.
    pub flow_share: Option<f64>,
    /// Depth of water at the design flow (mm).
    pub flow_depth_mm: Option<f64>,
    /// Velocity at the design flow (m/s).
    pub flow_velocity_m_s: Option<f64>,
    /// Mean shear at the design flow (Pa).
    pub flow_shear_pa: Option<f64>,
    /// Thrust that the pipe bears at its joint (kN).
    pub pipe_capacity_kn: Option<f64>,
    /// Pipes of the drive.
    pub pipes: Option<f64>,
    /// Joints between them.
    pub pipe_joints: Option<f64>,
    /// Casings, each with its auger.
    pub casings: Option<f64>,
    /// Pilot tubes.
    pub pilot_tubes: Option<f64>,
    /// Depth under the tree passed beyond what the rule for its trunk asks (m).
    pub depth_beyond_roots_m: Option<f64>,
}

/// The figures of a bore.
pub fn figures(job: &Job, bore: &BoreFacts) -> BoreFigures {
    let range = thrust(job, bore).ok().map(|t| t.total_kn);
    let settled = settlement(job, bore).ok();
    let full = flow(job, bore).ok();
    let of = |w: &Option<Working>, symbol| Some(w.as_ref()?.term(symbol)?.value);
    let design = value(design_flow(job, bore));
    let running = at_design_flow(job, bore).ok();
    let made = strings(job, bore);
    let count = |w: Result<Working, OutOfRange>, symbol| of(&w.ok(), symbol);
    BoreFigures {
        thrust_low_kn: range.map(|r| r.low),
        thrust_high_kn: range.map(|r| r.high),
        settlement_mm: of(&settled, "s_max"),
        settlement_slope: of(&settled, "slope"),
        pilot_heave_mm: heave(job, bore).ok().map(|w| w.value()),
        velocity_m_s: of(&full, "V"),
        capacity_l_s: of(&full, "Q"),
        predicted_error_mm: predicted(job, bore).ok().map(|w| w.value()),
        level_tolerance_mm: value(lesser_of_share_and_limit(f64::from(bore.dn_mm))),
        grade_after_errors: of(&grade_left(job, bore).ok(), "e_S").map(|lost| bore.grade - lost),
        displacement_cover_m: value(least_cover(job.rig.pilot_mm)),
        design_flow_l_s: design,
        flow_share: design.zip(of(&full, "Q")).map(|(q, most)| q / most),
        flow_depth_mm: of(&running, "h"),
        flow_velocity_m_s: of(&running, "V"),
        flow_shear_pa: of(&running, "τ"),
        pipe_capacity_kn: value(capacity(job, bore)),
        pipe_joints: count(made.pipe.clone(), "j"),
        pipes: count(made.pipe, "n"),
        casings: count(made.casing, "n"),
        pilot_tubes: count(made.pilot, "n"),
        depth_beyond_roots_m: value(under_roots(bore)),
    }
}

fn value<E>(worked: Result<Working, E>) -> Option<f64> {
    worked.ok().map(|w| w.value())
}

/// A bore, for what is to be said of its figures.
#[derive(Debug, Clone, Copy)]
pub struct Shown<'a> {
    /// Its id.
    pub id: &'a str,
    /// What its figures follow from.
    pub facts: BoreFacts,
    /// Its figures.
    pub figures: BoreFigures,
}

/// What an engineer must know of the figures of these bores: what is missing and why, what is out of bounds.
pub fn findings(job: &Job, bores: &[Shown]) -> Vec<String> {
    let mut out = vec![];
    out.extend(gap(
        bores,
        "the range of thrust",
        &|b| match b.figures.thrust_low_kn {
            None => thrust(job, &b.facts).err(),
            Some(_) => None,
        },
    ));
    out.extend(gap(
        bores,
        "settlement",
        &|b| match b.figures.settlement_mm {
            None => settlement(job, &b.facts).err(),
            Some(_) => None,
        },
    ));
    out.extend(gap(bores, "flow", &|b| match b.figures.capacity_l_s {
        None => flow(job, &b.facts).err(),
        Some(_) => None,
    }));
    out.extend(out_of_bounds(job, bores));
    out
}

/// Which bores lack a figure, and why.
fn gap(bores: &[Shown], what: &str, why: &dyn Fn(&Shown) -> Option<NotWorked>) -> Option<String> {
    let missing = bores.iter().filter_map(|b| Some((b.id, why(b)?)));
    let missing: Vec<(&str, NotWorked)> = missing.collect();
    let (_, first) = missing.first()?;
    let which = match first {
        NotWorked::NotSet(_) | NotWorked::Nothing(_) => String::new(),
        NotWorked::OutOfRange(_) => format!(" of {}", ids(missing.iter().map(|m| m.0))),
    };
    Some(format!("{what}{which} is not worked out: {first}"))
}

fn out_of_bounds(job: &Job, bores: &[Shown]) -> Vec<String> {
    let limits = [job.rig.thrust_kn, job.pipe.axial_limit_kn].into_iter();
    let limit = limits.flatten().fold(f64::INFINITY, f64::min);
    let backfall = |f: &BoreFigures| f.grade_after_errors.is_some_and(|g| g <= 0.0);
    let over = |f: &BoreFigures| f.thrust_high_kn.is_some_and(|t| t > limit);
    let harm = |f: &BoreFigures| {
        let both = f.settlement_mm.zip(f.settlement_slope);
        both.is_some_and(|(s, slope)| damage(s, slope) == Damage::Expected)
    };
    let full = |f: &BoreFigures| f.flow_share.is_some_and(|share| share > 1.0);
    let joint = |f: &BoreFigures| {
        let both = f.thrust_high_kn.zip(f.pipe_capacity_kn);
        both.is_some_and(|(high, bears)| high > bears)
    };
    let roots = |f: &BoreFigures| f.depth_beyond_roots_m.is_some_and(|m| m < 0.0);
    let said = [
        named(bores, &backfall).map(|which| {
            format!("water may stand in {which} after the errors of both ends: steeper, or bored with less error")
        }),
        named(bores, &over).map(|which| {
            format!("the greatest thrust of any model passes the {limit:.0} kN of rig or pipe in {which}: lubrication, shorter drives, or a trial")
        }),
        named(bores, &harm).map(|which| {
            format!("over {which} settlement or its slope may reach what damages a building right above, if all the overcut closes (curves fitted to tunnels): less overcut, grout, or more cover")
        }),
        named(bores, &joint).map(|which| {
            format!("the greatest thrust of any model passes what the pipe bears at its joint in {which}: lubrication, shorter drives, a stronger joint, or a trial")
        }),
        named(bores, &full).map(|which| {
            format!("{which}: the pipe flowing full carries less than the design flow of the lots served: a wider pipe, or a steeper grade")
        }),
        named(bores, &roots).map(|which| {
            format!("{which}: less deep under a tree that stays than Arlington County asks (4.5 ft within 10 to 15 ft of the trunk): ask an arborist")
        }),
        shallow(bores),
    ];
    said.into_iter().flatten().collect()
}

/// Bores with less cover than a displaced pilot should have.
fn shallow(bores: &[Shown]) -> Option<String> {
    let less = |b: &&Shown| {
        let least = b.figures.displacement_cover_m;
        least.is_some_and(|least| b.facts.min_cover_m < least - 1e-6)
    };
    let found: Vec<&str> = bores.iter().filter(less).map(|b| b.id).collect();
    (!found.is_empty()).then(|| {
        format!(
            "{}: less cover than ten times the pilot's diameter (rule of thumb, from memory): the ground above may heave",
            ids(found.into_iter())
        )
    })
}

fn named(bores: &[Shown], is: &dyn Fn(&BoreFigures) -> bool) -> Option<String> {
    let found: Vec<&str> = bores
        .iter()
        .filter(|b| is(&b.figures))
        .map(|b| b.id)
        .collect();
    (!found.is_empty()).then(|| ids(found.into_iter()))
}

/// The first ids, and how many more.
pub fn ids<'a>(all: impl Iterator<Item = &'a str>) -> String {
    let all: Vec<&str> = all.collect();
    let shown = all[..all.len().min(5)].join(", ");
    match all.len().saturating_sub(5) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::checks::example::{BORE, job};

    fn shown<'a>(job: &Job, bores: &[(&'a str, BoreFacts)]) -> Vec<Shown<'a>> {
        let one = |(id, facts): &(&'a str, BoreFacts)| Shown {
            id,
            facts: *facts,
            figures: figures(job, facts),
        };
        bores.iter().map(one).collect()
    }

    #[test]
    fn missing_figures_are_none_and_named_once() {
        let f = figures(&job(""), &BORE);
        assert_eq!((f.thrust_low_kn, f.settlement_mm), (None, None));
        assert!(f.velocity_m_s.is_some() && f.grade_after_errors.is_some());
        let said = findings(&job(""), &shown(&job(""), &[("B1", BORE), ("B2", BORE)]));
        assert_eq!(said.len(), 2, "{said:?}");
        assert!(said[0].starts_with("the range of thrust is not worked out: set soil.class"));
        assert!(findings(&job(""), &[]).is_empty());
    }

    #[test]
    fn a_clay_has_every_figure() {
        let clay = job("[soil]\nclass = \"firm-clay\"\n");
        let f = figures(&clay, &BORE);
        assert!(f.thrust_low_kn < f.thrust_high_kn && f.settlement_slope.is_some());
        assert_eq!(
            findings(&clay, &shown(&clay, &[("B1", BORE)])),
            Vec::<String>::new()
        );
    }

    #[test]
    fn a_thrust_that_may_pass_its_limit_is_named() {
        let weak = job("[soil]\nclass = \"firm-clay\"\n[rig]\nthrust_kn = 300\n");
        let high = figures(&weak, &BORE).thrust_high_kn.expect("worked");
        assert!(high > 300.0, "{high}");
        let said = findings(&weak, &shown(&weak, &[("B1", BORE)]));
        assert!(
            said[0].contains("passes the 300 kN of rig or pipe in B1"),
            "{said:?}"
        );
    }

    #[test]
    fn a_pipe_that_lacks_capacity_is_named_and_has_no_depth() {
        let clay = job("[soil]\nclass = \"firm-clay\"\n");
        let busy = BoreFacts {
            lots_served: Some(500),
            ..BORE
        };
        let f = figures(&clay, &busy);
        assert!(f.flow_share.expect("worked") > 1.0 && f.flow_depth_mm.is_none());
        let said = findings(&clay, &shown(&clay, &[("B1", busy), ("B2", BORE)]));
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].starts_with("B1: the pipe flowing full carries less"));
        let one = figures(&clay, &BORE);
        assert!(one.flow_velocity_m_s < one.velocity_m_s && one.flow_depth_mm.is_some());
    }

    #[test]
    fn flat_bores_and_shallow_ones_are_named() {
        let clay = job("[soil]\nclass = \"firm-clay\"\n");
        let flat = BoreFacts {
            grade: 0.0007,
            ..BORE
        };
        let shallow = BoreFacts {
            bore_mm: 260.0,
            min_cover_m: 0.6,
            ..BORE
        };
        let said = findings(
            &clay,
            &shown(&clay, &[("B1", flat), ("B2", shallow), ("B3", BORE)]),
        );
        assert_eq!(said.len(), 3, "{said:?}");
        assert!(said[0].starts_with("water may stand in B1 after"));
        assert!(said[1].starts_with("over B2 settlement"));
        assert!(said[2].starts_with("B2: less cover than ten times"));
    }
}
