//! What a drive is made of: pipe, casing with auger, pilot, in whole pieces; and what the pipe bears.

use super::{bore::BoreFacts, reason::NotWorked};
use crate::{
    job::Job,
    mechanics::{
        OutOfRange, Working,
        jacking::{CLAY_ASTM_MPA, CLAY_ASTM_SAFETY, Gap, Joint, pipe_capacity},
        programme::pieces,
    },
};

/// Pieces of a drive's strings.
#[derive(Debug, Clone, PartialEq)]
pub struct Strings {
    /// Pipes.
    pub pipe: Result<Working, OutOfRange>,
    /// Casings, each with its auger.
    pub casing: Result<Working, OutOfRange>,
    /// Pilot tubes.
    pub pilot: Result<Working, OutOfRange>,
}

/// What the drive is made of.
pub fn strings(job: &Job, bore: &BoreFacts) -> Strings {
    let named = |title: &str, piece_m: f64| {
        let w = pieces(bore.length_m, piece_m)?;
        Ok(Working {
            title: title.to_string(),
            ..w
        })
    };
    Strings {
        pipe: named("Pipes", job.pipe.segment_m),
        casing: named("Casings, each with its auger", job.rig.casing_segment_m),
        pilot: named("Pilot tubes", job.rig.pilot_segment_m),
    }
}

/// Thrust that the pipe bears at its joint, the gap closed on one side.
///
/// Strength and safety are the job's; those of vitrified clay are else ASTM C1208's (from memory).
///
/// # Errors
/// The joint, the strength or the safety is not stated, the bore is of another diameter than the joint, or out of range.
pub fn capacity(job: &Job, bore: &BoreFacts) -> Result<Working, NotWorked> {
    let pipe = &job.pipe;
    let clay = (pipe.material == "vitrified-clay").then_some((CLAY_ASTM_MPA, CLAY_ASTM_SAFETY));
    let strength = pipe.strength_mpa.or(clay.map(|c| c.0));
    let safety = pipe.strength_safety.or(clay.map(|c| c.1));
    let stated = pipe.joint.zip(strength.zip(safety));
    let (joint, (strength_mpa, safety)) = stated.ok_or(NotWorked::NotSet(
        "what the pipe bears: set pipe.joint_od_mm, pipe.joint_id_mm, pipe.strength_mpa and pipe.strength_safety, or state the maker's limit as pipe.axial_limit_kn",
    ))?;
    if bore.dn_mm != pipe.dn_mm {
        return Err(NotWorked::NotSet(
            "what the pipe bears: pipe.joint_od_mm and pipe.joint_id_mm are those of pipe.dn_mm only",
        ));
    }
    let joint = Joint {
        od_mm: joint.od_mm,
        id_mm: joint.id_mm,
        strength_mpa,
        safety,
    };
    Ok(pipe_capacity(joint, Gap::ClosedOnOneSide)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::checks::example::{BORE, job};

    #[test]
    fn strings_take_their_own_lengths() {
        let all = strings(
            &job("[rig]\ncasing_segment_m = 1.5\npilot_segment_m = 0.8\n"),
            &BORE,
        );
        let n = |w: Result<Working, OutOfRange>| w.expect("worked").term("n").expect("there").value;
        assert_eq!(
            [n(all.pipe), n(all.casing), n(all.pilot)],
            [30.0, 20.0, 38.0]
        );
    }

    #[test]
    fn a_joint_bears_what_it_is_stated_to() {
        assert!(matches!(
            capacity(&job(""), &BORE),
            Err(NotWorked::NotSet(_))
        ));
        let clay = "[pipe]\nmaterial = \"vitrified-clay\"\njoint_od_mm = 244\njoint_id_mm = 199\n";
        let kn = capacity(&job(clay), &BORE).expect("worked").value();
        assert!((kn - 151.25).abs() < 0.05, "{kn}");
        let other = BoreFacts { dn_mm: 200, ..BORE };
        assert!(capacity(&job(clay), &other).is_err());
    }
}
