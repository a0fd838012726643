//! The engineering numbers of one pit.

use super::reason::{Check, NotWorked};
use crate::{
    job::Job,
    mechanics::{
        Working,
        earthworks::{
            LADDER_ABOVE_FT, LENGTH_MORE_M, SLOPES, battered_volume, distance_from_foundation,
            ladders, loose_volume, pit_length, pit_volume, pit_width, spoil_set_back_m, top_width,
            truck_loads,
        },
        jacking::{WALL_SAFETY, thrust_wall},
    },
};

/// What a pit's row, and those of its bores, say of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PitFacts {
    /// Along the axis (m).
    pub length_m: f64,
    /// Square to the axis (m).
    pub width_m: f64,
    /// Ground to floor (m).
    pub depth_m: f64,
    /// Walls are supported.
    pub support: bool,
    /// Outside diameter of the pipe launched, where one is (mm).
    pub launched_od_mm: Option<f64>,
    /// Greatest thrust of the bores launched, where worked out (kN).
    pub thrust_kn: Option<f64>,
}

/// Every check of a pit, in the order of the work.
pub fn pit_checks(job: &Job, pit: &PitFacts) -> Vec<Check> {
    let mut all = size(job, pit);
    all.extend(spoil(job, pit));
    all.extend(sides(pit));
    all.push(foundation(job, pit));
    if pit.launched_od_mm.is_some() {
        all.push(wall(job, pit));
    }
    all
}

fn size(job: &Job, pit: &PitFacts) -> Vec<Check> {
    let Some(od_mm) = pit.launched_od_mm else {
        return vec![];
    };
    let beside = |own: f64| {
        move |w: &Working| {
            let words = if own >= w.value() - 1e-9 {
                "no less"
            } else {
                "LESS"
            };
            format!("the pit's {own:.2} m is {words}")
        }
    };
    let long = pit_length(job.pipe.segment_m, LENGTH_MORE_M.low);
    vec![
        Check::new("size", long).judged(beside(pit.length_m)),
        Check::new("size", pit_width(od_mm)).judged(beside(pit.width_m)),
    ]
}

fn spoil(job: &Job, pit: &PitFacts) -> Vec<Check> {
    let volume = pit_volume((pit.length_m, pit.width_m), pit.depth_m);
    let loose = swollen(job, &volume);
    let loads = loose.clone().and_then(|w| {
        let truck = job.pits.truck_m3;
        let truck = truck.ok_or(NotWorked::NotSet("truck loads: set pits.truck_m3"))?;
        Ok(truck_loads(w.value(), truck)?)
    });
    let back = |_: &Working| {
        format!(
            "spoil and plant kept {:.2} m from the edge (OSHA subpart P), 0.60 m by DIN 4124",
            spoil_set_back_m()
        )
    };
    let mut all = vec![
        Check::new("spoil", volume).judged(back),
        Check::new("spoil", loose.clone()),
    ];
    // Without swell there is nothing more to say of trucks.
    if loose.is_ok() {
        all.push(Check::new("spoil", loads));
    }
    all
}

fn swollen(
    job: &Job,
    volume: &Result<Working, crate::mechanics::OutOfRange>,
) -> Result<Working, NotWorked> {
    let swell = job.soil.swell_percent;
    let swell = swell.ok_or(NotWorked::NotSet("spoil once dug: set soil.swell_percent"))?;
    Ok(loose_volume(volume.clone()?.value(), swell)?)
}

fn sides(pit: &PitFacts) -> Vec<Check> {
    let ladder = |w: &Working| {
        let above = LADDER_ABOVE_FT * 0.3048;
        if w.value() > 0.0 {
            format!("each to stand {above:.2} m above the ground")
        } else {
            "by this rule none is asked for".to_string()
        }
    };
    let mut all = vec![Check::new("ways out", ladders(pit.length_m, pit.depth_m)).judged(ladder)];
    if pit.support {
        // The slope of clay and unknown ground stands for what a batter would take.
        let slope = &SLOPES[2];
        let shored = pit.length_m * pit.width_m * pit.depth_m;
        let times = |w: &Working| format!("{:.1} times the supported pit", w.value() / shored);
        all.push(Check::new(
            "batter instead of support",
            top_width(pit.width_m, pit.depth_m, slope),
        ));
        all.push(
            Check::new(
                "batter instead of support",
                battered_volume((pit.length_m, pit.width_m), pit.depth_m, slope),
            )
            .judged(times),
        );
    }
    all
}

fn foundation(job: &Job, pit: &PitFacts) -> Check {
    let spread = job.pits.building_spread_deg;
    let depth = job.rules.foundation_depth_m;
    let setback = job.pits.building_setback_m;
    Check::new(
        "foundations near",
        distance_from_foundation(pit.depth_m, depth, spread),
    )
    .judged(|w| {
        let most = setback.max(w.value());
        format!("kept {most:.2} m from a building founded as deep as the job assumes")
    })
}

fn wall(job: &Job, pit: &PitFacts) -> Check {
    let soil = &job.soil;
    let worked = match soil.unit_weight_kn_m3.zip(soil.friction_deg) {
        None => Err(NotWorked::NotSet(
            "the thrust wall: set soil.unit_weight_kn_m3 and soil.friction_deg",
        )),
        Some((weight, phi)) => {
            thrust_wall(weight, phi, (pit.depth_m, pit.width_m)).map_err(NotWorked::from)
        }
    };
    Check::new("thrust wall", worked).judged(|w| match pit.thrust_kn {
        None => "the thrust of its bores is not worked out".to_string(),
        Some(thrust) => {
            let ratio = w.value() / thrust;
            let enough = ratio >= WALL_SAFETY.low;
            let words = if enough { "no less" } else { "LESS" };
            format!(
                "{ratio:.2} times the greatest thrust of its bores, {thrust:.0} kN: {words} than the {:.1} asked for (from memory)",
                WALL_SAFETY.low
            )
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;

    const PIT: PitFacts = PitFacts {
        length_m: 2.5,
        width_m: 2.2,
        depth_m: 2.4,
        support: true,
        launched_od_mm: Some(160.0),
        thrust_kn: Some(200.0),
    };

    fn job(text: &str) -> Job {
        JobFile::parse(text, "job.toml").expect("reads").job
    }

    #[test]
    fn a_launch_pit_has_every_check_that_the_job_has_figures_for() {
        let all = job(
            "[soil]\nunit_weight_kn_m3 = 19\nfriction_deg = 32\nswell_percent = 25\n[pits]\ntruck_m3 = 6\n",
        );
        let checks = pit_checks(&all, &PIT);
        assert!(checks.iter().all(|c| c.worked.is_ok()), "{checks:?}");
        let value = |title: &str| {
            let worked = checks.iter().filter_map(|c| c.worked.as_ref().ok());
            let of = worked.clone().find(|w| w.title.starts_with(title));
            of.unwrap_or_else(|| panic!("no {title}")).value()
        };
        assert!((value("Volume of the pit") - 13.2).abs() < 1e-9);
        assert!((value("Spoil once dug") - 16.5).abs() < 1e-9);
        assert_eq!(value("Truck loads"), 3.0);
        assert!(value("Volume of a battered pit") > 4.0 * 13.2);
    }

    #[test]
    fn a_reception_pit_has_no_thrust_wall() {
        let plain = PitFacts {
            launched_od_mm: None,
            thrust_kn: None,
            support: false,
            ..PIT
        };
        let checks = pit_checks(&job(""), &plain);
        assert!(
            checks
                .iter()
                .all(|c| c.subject != "thrust wall" && c.subject != "size")
        );
        assert!(checks.iter().any(|c| c.worked.is_err()), "swell is not set");
    }
}
