//! The engineering numbers of one bore.

use super::reason::NotWorked;
use crate::{
    job::{Job, Soil},
    mechanics::{
        OutOfRange, Range, Working,
        hydraulics::{Full, manning},
        jacking::{
            Drive, Ground, Jacked, LUBRICATED_T_M2, TONNE_KPA, ThrustEstimate, estimate,
            skin_range_kpa,
        },
        setting_out::{Ends, Setup, grade_needed, predicted_error},
        settlement::{self as ground, overcut_loss, pilot_heave, share_loss},
        trees::under_tree,
    },
};

const NO_TROUGH: NotWorked =
    NotWorked::NotSet("set soil.trough_k, or soil.class to a clay or sand");

/// The hole, and the pipe in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bored {
    /// Bored diameter (mm).
    pub bore_mm: f64,
    /// Pipe outside diameter (mm).
    pub od_mm: f64,
}

/// The retained tree under which a bore passes with the least depth to spare.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RootsPassed {
    /// Trunk diameter (m).
    pub trunk_m: f64,
    /// Plan distance of the bore from the trunk (m).
    pub beside_m: f64,
    /// Cover of the bore there (m).
    pub cover_m: f64,
}

/// What a bore's row says of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoreFacts {
    /// Nominal diameter (mm).
    pub dn_mm: u32,
    /// Pipe outside diameter (mm).
    pub od_mm: f64,
    /// Pipe inside diameter (mm).
    pub id_mm: f64,
    /// Bored diameter (mm).
    pub bore_mm: f64,
    /// Plan length (m).
    pub length_m: f64,
    /// Fall by length.
    pub grade: f64,
    /// Least cover to the crown (m).
    pub min_cover_m: f64,
    /// Error at the reception pit (mm, 95 % limit).
    pub tolerance_mm: f64,
    /// Its cost, pits left out.
    pub cost: f64,
    /// Cost of the same in open trench.
    pub trench_cost: f64,
    /// Lots whose flow passes it; none where no lot of the site is to be served.
    pub lots_served: Option<u32>,
    /// The tree that it passes with the least depth to spare; none where it passes none.
    pub roots: Option<RootsPassed>,
}

impl BoreFacts {
    /// The hole, and the pipe in it.
    pub fn bored(&self) -> Bored {
        Bored {
            bore_mm: self.bore_mm,
            od_mm: self.od_mm,
        }
    }
}

/// Thrust by every model that the job has figures for.
///
/// Skin friction is that of the soil class. Friction that the job states without a class is taken as expected, within the
/// range for all ground. With neither, the range for all ground stands beside the models of the ground's figures.
///
/// # Errors
/// The job says nothing of the ground, or friction is out of every range.
pub fn thrust(job: &Job, bore: &BoreFacts) -> Result<ThrustEstimate, NotWorked> {
    let (soil, ground) = (&job.soil, ground_figures(&job.soil));
    if soil.friction_kpa == 0.0 && ground.is_none() {
        return Err(NotWorked::NotSet(
            "set soil.class, soil.friction_kpa, or soil.unit_weight_kn_m3, soil.friction_deg and soil.pipe_mu",
        ));
    }
    Ok(estimate(Drive {
        pipe: pipe(bore),
        bore_mm: bore.bore_mm,
        cover_m: bore.min_cover_m,
        face_kpa: soil.face_kpa,
        skin_kpa: skin(soil),
        ground,
        lubricated: job.rig.lubrication,
        stops: soil.sticky_stop,
    })?)
}

fn pipe(bore: &BoreFacts) -> Jacked {
    Jacked {
        od_mm: bore.od_mm,
        length_m: bore.length_m,
    }
}

fn skin(soil: &Soil) -> Range {
    let general = skin_range_kpa();
    let by_class = soil.friction_low_kpa < soil.friction_high_kpa;
    match (soil.friction_kpa, by_class) {
        (0.0, _) => general,
        (f, true) => Range {
            // Fill has no least friction of its own: no pipe slides with less than lubrication brings.
            low: soil
                .friction_low_kpa
                .max(LUBRICATED_T_M2 * TONNE_KPA)
                .min(f),
            expected: f,
            high: soil.friction_high_kpa,
        },
        (f, false) => Range {
            low: general.low.min(f),
            expected: f,
            high: general.high.max(f),
        },
    }
}

fn ground_figures(soil: &Soil) -> Option<Ground> {
    Some(Ground {
        unit_weight_kn_m3: soil.unit_weight_kn_m3?,
        friction_deg: soil.friction_deg?,
        cohesion_kpa: soil.cohesion_kpa.unwrap_or(0.0),
        pipe_mu: soil.pipe_mu?,
    })
}

/// Greatest settlement (`s_max`, mm) and steepest slope over the bore where it is shallowest, as much as there can be: all of
/// the overcut closes unless the job states a volume loss, and the trough is as narrow as its ground makes it.
///
/// # Errors
/// Neither `soil.trough_k` nor a class with a known width, or the trough does not hold there.
pub fn settlement(job: &Job, bore: &BoreFacts) -> Result<Working, NotWorked> {
    let k = trough_k(&job.soil).ok_or(NO_TROUGH)?;
    let lost = ground_lost(job, &bore.bored())?;
    Ok(ground::steepest_slope(ground::Trough {
        lost_m3_m: lost.value(),
        depth_m: bore.min_cover_m + bore.od_mm / 2000.0,
        k,
    })?)
}

/// Where something lies above a bore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Above {
    /// Level above the bore's axis (m).
    pub above_m: f64,
    /// Plan distance from the axis (m).
    pub beside_m: f64,
}

/// Settlement (`s_y`, mm) of a service or foundation above the bore, and the steepest slope of the trough from there outward,
/// as much as there can be.
///
/// # Errors
/// As [`settlement`]; or it lies no higher than the bore is wide, where the curve says nothing.
pub fn settlement_there(job: &Job, bore: &Bored, there: Above) -> Result<Working, NotWorked> {
    if there.above_m < bore.bore_mm / 1000.0 {
        return Err(NotWorked::Nothing(
            "no higher above the axis than the bore is wide",
        ));
    }
    let trough = ground::Trough {
        lost_m3_m: ground_lost(job, bore)?.value(),
        depth_m: there.above_m,
        k: trough_k(&job.soil).ok_or(NO_TROUGH)?,
    };
    Ok(ground::slope_from(trough, there.beside_m)?)
}

/// Ground lost for each metre of bore (m3/m), as much as there can be.
pub fn ground_lost(job: &Job, bore: &Bored) -> Result<Working, OutOfRange> {
    match job.soil.volume_loss {
        Some(share) => share_loss(bore.bore_mm, share),
        None => overcut_loss(bore.bore_mm, bore.od_mm, 1.0),
    }
}

fn trough_k(soil: &Soil) -> Option<f64> {
    let by_class = || match soil.class.as_deref()? {
        "boulder-clay" => Some(ground::Ground::StiffClay),
        "firm-clay" => Some(ground::Ground::SoftToFirmClay),
        "wet-sand" | "dry-sand" => Some(ground::Ground::Granular),
        // Silt and fill are in no table of trough widths.
        _ => None,
    };
    soil.trough_k.or_else(|| by_class().map(|g| g.k().low))
}

/// Heave over the pilot (mm) where the bore is shallowest, as much as there can be.
///
/// # Errors
/// As [`settlement`].
pub fn heave(job: &Job, bore: &BoreFacts) -> Result<Working, NotWorked> {
    let k = trough_k(&job.soil).ok_or(NO_TROUGH)?;
    let axis_m = bore.min_cover_m + bore.od_mm / 2000.0;
    Ok(pilot_heave(job.rig.pilot_mm, axis_m, k)?)
}

/// Capacity (l/s) and velocity (`V`, m/s) of the full pipe, by Manning.
///
/// # Errors
/// The pipe does not fall, or n is out of range.
pub fn flow(job: &Job, bore: &BoreFacts) -> Result<Working, NotWorked> {
    Ok(manning(full(bore), job.pipe.manning_n)?)
}

/// The pipe and its grade.
pub fn full(bore: &BoreFacts) -> Full {
    Full {
        id_mm: bore.id_mm,
        grade: bore.grade,
    }
}

/// Grade that the bore needs to fall at all after its errors, and with the rule's least grade in it. The error is the rig's,
/// or that by instrument and base line where it is worked out and greater.
///
/// # Errors
/// No length.
pub fn grade_left(job: &Job, bore: &BoreFacts) -> Result<Working, NotWorked> {
    let least = job.rules.min_grade(bore.dn_mm).max(job.rig.grade_min);
    Ok(grade_needed(
        least,
        error_mm(job, bore),
        bore.length_m,
        Ends::Worst,
    )?)
}

/// Error at the reception pit (mm): the greater of the rig's and the predicted one.
pub fn error_mm(job: &Job, bore: &BoreFacts) -> f64 {
    let predicted = predicted(job, bore).map_or(0.0, |w| w.value());
    bore.tolerance_mm.max(predicted)
}

/// Depth under the tree passed, beyond what the rule for its trunk asks.
///
/// # Errors
/// No retained tree stands so near.
pub fn under_roots(bore: &BoreFacts) -> Result<Working, NotWorked> {
    let tree = bore.roots.ok_or(NotWorked::Nothing(
        "it passes no tree that stays nearer than the rule reaches",
    ))?;
    Ok(under_tree(tree.trunk_m, tree.beside_m, tree.cover_m)?)
}

/// Heave over the pilot (mm) of something above it, as much as there can be.
///
/// # Errors
/// As [`heave`]; or it lies no higher than the pilot is wide.
pub fn heave_there(job: &Job, there: Above) -> Result<Working, NotWorked> {
    if there.above_m < job.rig.pilot_mm / 1000.0 {
        return Err(NotWorked::Nothing(
            "no higher above the axis than the pilot is wide",
        ));
    }
    let k = trough_k(&job.soil).ok_or(NO_TROUGH)?;
    Ok(pilot_heave(job.rig.pilot_mm, there.above_m, k)?)
}

/// Error by instrument, base line, air and rig, where the job says how line and grade are set out.
///
/// # Errors
/// A key of `[setting_out]` is not set, or a term does not hold.
pub fn predicted(job: &Job, bore: &BoreFacts) -> Result<Working, NotWorked> {
    let s = &job.setting_out;
    let setup = || {
        Some(Setup {
            centring_mm: s.centring_mm?,
            pointing_s: s.pointing_s?,
            base_m: s.base_m?,
            marks_mm: s.marks_mm?,
            gradient: s.gradient_c_m?,
            rig_mm: job.rig.line_accuracy_mm * bore.length_m / job.rig.accuracy_at_m,
        })
    };
    let setup = setup().ok_or(NotWorked::NotSet(
        "the error by instrument and base line: set every key of [setting_out]",
    ))?;
    Ok(predicted_error(setup, bore.length_m)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::checks::example::{BORE, job};

    #[test]
    fn a_class_gives_its_own_range_of_friction() {
        let clay = thrust(&job("[soil]\nclass = \"firm-clay\"\n"), &BORE).expect("worked");
        let skin = [5.0, 12.5, 20.0].map(|f| f * std::f64::consts::PI * 0.16 * 30.0);
        let got: Vec<f64> = clay.workings.iter().map(Working::value).collect();
        assert!(got.iter().zip(skin).all(|(a, b)| (a - b).abs() < 1e-9));
    }

    #[test]
    fn stated_friction_stands_within_the_range_of_all_ground() {
        let stated = thrust(&job("[soil]\nfriction_kpa = 8\n"), &BORE).expect("worked");
        let kn = |f: f64| f * std::f64::consts::PI * 0.16 * 30.0;
        let range = stated.total_kn;
        assert!((range.low - kn(4.903_325)).abs() < 1e-9);
        assert!((range.expected - kn(8.0)).abs() < 1e-9);
        assert!((range.high - kn(24.516_625)).abs() < 1e-9);
    }

    #[test]
    fn without_a_word_on_the_ground_nothing_is_worked_out() {
        let empty = job("");
        assert!(matches!(thrust(&empty, &BORE), Err(NotWorked::NotSet(_))));
        assert!(matches!(
            settlement(&empty, &BORE),
            Err(NotWorked::NotSet(_))
        ));
        let wild = thrust(&job("[soil]\nfriction_kpa = 90\n"), &BORE);
        assert!(matches!(wild, Err(NotWorked::OutOfRange(_))));
    }

    #[test]
    fn what_lies_higher_settles_less_over_the_axis() {
        let clay = job("[soil]\nclass = \"firm-clay\"\n");
        let at =
            |above_m, beside_m| settlement_there(&clay, &BORE.bored(), Above { above_m, beside_m });
        let mm = |above_m, beside_m| {
            let there = at(above_m, beside_m).expect("worked");
            there.term("s_y").expect("there").value
        };
        assert!(mm(0.5, 0.0) > mm(1.0, 0.0) && mm(1.0, 0.0) > mm(1.0, 0.5));
        assert!(matches!(at(0.1, 0.0), Err(NotWorked::Nothing(_))));
        let surface = BORE.min_cover_m + BORE.od_mm / 2000.0;
        let top = settlement(&clay, &BORE).expect("worked");
        assert!((mm(surface, 0.0) - top.term("s_max").expect("there").value).abs() < 1e-12);
    }

    #[test]
    fn fill_has_no_least_friction_of_its_own() {
        let fill = thrust(&job("[soil]\nclass = \"fill\"\n"), &BORE).expect("worked");
        assert!(fill.total_kn.low > 0.0 && fill.total_kn.low < fill.total_kn.expected);
        assert!(settlement(&job("[soil]\nclass = \"fill\"\n"), &BORE).is_err());
    }

    #[test]
    fn a_stated_trough_outranks_the_class() {
        let narrow = job("[soil]\nclass = \"firm-clay\"\ntrough_k = 0.3\n");
        let by_class = job("[soil]\nclass = \"firm-clay\"\n");
        let k = |job| {
            settlement(job, &BORE)
                .expect("worked")
                .term("K")
                .expect("given")
                .value
        };
        assert_eq!((k(&narrow), k(&by_class)), (0.3, 0.4));
    }
}
