//! The engineering numbers of one pit.

use super::reason::{Check, NotWorked};
use crate::{
    job::Job,
    mechanics::{
        OutOfRange, Working,
        earthworks::{
            LADDER_ABOVE_FT, LENGTH_MORE_M, Laydown, SLOPES, Slope, battered_volume, bore_spoil,
            distance_from_foundation, ladders, laydown_area, loose_volume, pit_length, pit_volume,
            pit_width, spoil_set_back_m, top_width, truck_loads,
        },
        jacking::{WALL_SAFETY, thrust_wall},
        trees::{MINOR, encroachment, precautionary_zone, protection_zone, root_protection_radius},
    },
};

/// Of the retained trees near a pit the one whose protection zone it takes most of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TreeTaken {
    /// Trunk diameter (m).
    pub trunk_m: f64,
    /// Area of the footprint inside the protection zone of AS 4970 (m2).
    pub zone_m2: f64,
    /// Area of the footprint inside the precautionary zone of NJUG volume 4 (m2).
    pub girth_m2: f64,
}

impl TreeTaken {
    /// Share of the protection zone taken; 0 where the zone has no radius.
    pub fn share(&self) -> f64 {
        let radius = protection_zone(self.trunk_m).map(|w| w.value());
        let share = radius.and_then(|r| encroachment(self.zone_m2, r));
        share.map_or(0.0, |w| w.value())
    }
}

/// The longest drive launched from a pit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Launched {
    /// Length (m).
    pub length_m: f64,
    /// Greatest outside diameter of the pipes launched (mm).
    pub od_mm: f64,
    /// Greatest bored diameter of those drives (mm).
    pub bore_mm: f64,
}

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
    /// What is launched; none of a reception pit.
    pub launched: Option<Launched>,
    /// Greatest thrust of the bores launched, where worked out (kN).
    pub thrust_kn: Option<f64>,
    /// The tree it takes most of; none where it takes of none.
    pub tree: Option<TreeTaken>,
}

/// Every check of a pit, in the order of the work.
pub fn pit_checks(job: &Job, pit: &PitFacts) -> Vec<Check> {
    let mut all = size(job, pit);
    all.extend(spoil(job, pit));
    if pit.launched.is_some() {
        all.push(room(job, pit));
    }
    all.extend(sides(pit));
    all.push(foundation(job, pit));
    all.extend(roots(pit));
    if pit.launched.is_some() {
        all.push(wall_check(job, pit));
    }
    all
}

fn size(job: &Job, pit: &PitFacts) -> Vec<Check> {
    let Some(launched) = pit.launched else {
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
        Check::new("size", pit_width(launched.od_mm)).judged(beside(pit.width_m)),
    ]
}

fn volume(pit: &PitFacts) -> Result<Working, OutOfRange> {
    pit_volume((pit.length_m, pit.width_m), pit.depth_m)
}

/// Spoil once dug.
pub fn loose(job: &Job, pit: &PitFacts) -> Result<Working, NotWorked> {
    let swell = job.soil.swell_percent;
    let swell = swell.ok_or(NotWorked::NotSet("spoil once dug: set soil.swell_percent"))?;
    Ok(loose_volume(volume(pit)?.value(), swell)?)
}

/// Truck loads of it.
pub fn trucks(job: &Job, pit: &PitFacts) -> Result<Working, NotWorked> {
    let loose = loose(job, pit)?.value();
    let truck = job.pits.truck_m3;
    let truck = truck.ok_or(NotWorked::NotSet("truck loads: set pits.truck_m3"))?;
    Ok(truck_loads(loose, truck)?)
}

fn spoil(job: &Job, pit: &PitFacts) -> Vec<Check> {
    let back = |_: &Working| {
        format!(
            "spoil and plant kept {:.2} m from the edge (OSHA subpart P), 0.60 m by DIN 4124",
            spoil_set_back_m()
        )
    };
    let loose = loose(job, pit);
    let swollen = loose.is_ok();
    let mut all = vec![
        Check::new("spoil", volume(pit)).judged(back),
        Check::new("spoil", loose),
    ];
    // Without swell there is nothing more to say of trucks.
    if swollen {
        all.push(Check::new("spoil", trucks(job, pit)));
    }
    all
}

/// Area beside a launch pit: pipes of its longest drive, power pack, that drive's spoil (as in the ground where swell is not set).
pub fn laydown(job: &Job, pit: &PitFacts) -> Result<Working, NotWorked> {
    let launched = pit
        .launched
        .ok_or(NotWorked::Nothing("no drive is launched"))?;
    let bored = bore_spoil(launched.bore_mm, launched.length_m)?.value();
    let spoil_m3 = match job.soil.swell_percent {
        Some(swell) => loose_volume(bored, swell)?.value(),
        None => bored,
    };
    Ok(laydown_area(Laydown {
        length_m: launched.length_m,
        od_mm: launched.od_mm,
        segment_m: job.pipe.segment_m,
        power_pack_m2: job.pits.power_pack_m2,
        spoil_m3,
        heap_m: job.pits.heap_m,
    })?)
}

fn room(job: &Job, pit: &PitFacts) -> Check {
    let swell = job.soil.swell_percent.is_some();
    Check::new("room beside it", laydown(job, pit)).judged(|_| {
        let spoil = if swell {
            ""
        } else {
            ", its spoil as in the ground (soil.swell_percent is not set)"
        };
        format!(
            "for the longest drive launched{spoil}; whether there is such room is not looked into"
        )
    })
}

/// Ladders.
pub fn ladders_of(pit: &PitFacts) -> Result<Working, OutOfRange> {
    ladders(pit.length_m, pit.depth_m)
}

/// Width at the top and volume with sloped sides, of a pit that would else be supported.
pub fn batter(pit: &PitFacts) -> Option<[Result<Working, OutOfRange>; 2]> {
    // The slope of clay and unknown ground stands for what a batter would take.
    let slope: &Slope = &SLOPES[2];
    pit.support.then(|| {
        [
            top_width(pit.width_m, pit.depth_m, slope),
            battered_volume((pit.length_m, pit.width_m), pit.depth_m, slope),
        ]
    })
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
    let mut all = vec![Check::new("ways out", ladders_of(pit)).judged(ladder)];
    if let Some([width, volume]) = batter(pit) {
        let shored = pit.length_m * pit.width_m * pit.depth_m;
        let times = |w: &Working| format!("{:.1} times the supported pit", w.value() / shored);
        all.push(Check::new("batter instead of support", width));
        all.push(Check::new("batter instead of support", volume).judged(times));
    }
    all
}

/// Distance from a building founded as deep as the job assumes.
pub fn foundation_keep(job: &Job, pit: &PitFacts) -> Result<Working, OutOfRange> {
    let spread = job.pits.building_spread_deg;
    distance_from_foundation(pit.depth_m, job.rules.foundation_depth_m, spread)
}

fn foundation(job: &Job, pit: &PitFacts) -> Check {
    let setback = job.pits.building_setback_m;
    Check::new("foundations near", foundation_keep(job, pit)).judged(|w| {
        let most = setback.max(w.value());
        format!("kept {most:.2} m from a building founded as deep as the job assumes; those near have rows in bore_conflicts")
    })
}

/// Roots taken, by three methods.
fn roots(pit: &PitFacts) -> Vec<Check> {
    const SUBJECT: &str = "trees";
    let Some(tree) = pit.tree else {
        let none = NotWorked::Nothing("it takes of no protection zone of a tree that stays");
        return vec![Check::new(SUBJECT, Err::<Working, _>(none))];
    };
    let share = |zone: Result<Working, OutOfRange>, inside_m2: f64| {
        let zone = zone?;
        let mut w = encroachment(inside_m2, zone.value())?;
        w.title = format!("{}: share taken", zone.title);
        Ok::<_, OutOfRange>(w)
    };
    let minor = |w: &Working| {
        let words = if w.value() > MINOR { "MORE" } else { "no more" };
        format!("{words} than the 10 % of a minor encroachment (AS 4970, secondary)")
    };
    let trunk = tree.trunk_m;
    // The two zones of twelve trunks differ only below 2 m; where they do the inner one is not known to be entered.
    let british = root_protection_radius(&[trunk]);
    let same =
        british.as_ref().map(|w| w.value()).ok() == protection_zone(trunk).map(|w| w.value()).ok();
    let mut all = vec![
        Check::new(SUBJECT, protection_zone(trunk)),
        Check::new(SUBJECT, share(protection_zone(trunk), tree.zone_m2)).judged(minor),
        Check::new(SUBJECT, british.clone()),
    ];
    if same {
        all.push(Check::new(SUBJECT, share(british, tree.zone_m2)));
    }
    all.push(Check::new(SUBJECT, precautionary_zone(trunk)));
    all.push(Check::new(
        SUBJECT,
        share(precautionary_zone(trunk), tree.girth_m2),
    ));
    all
}

/// Passive resistance behind the thrust wall.
pub fn wall(job: &Job, pit: &PitFacts) -> Result<Working, NotWorked> {
    let soil = &job.soil;
    let ground = soil.unit_weight_kn_m3.zip(soil.friction_deg);
    let (weight, phi) = ground.ok_or(NotWorked::NotSet(
        "the thrust wall: set soil.unit_weight_kn_m3 and soil.friction_deg",
    ))?;
    Ok(thrust_wall(weight, phi, (pit.depth_m, pit.width_m))?)
}

fn wall_check(job: &Job, pit: &PitFacts) -> Check {
    Check::new("thrust wall", wall(job, pit)).judged(|w| match pit.thrust_kn {
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

/// A pit for the tests of this room.
#[cfg(test)]
pub mod example {
    use super::*;

    /// A supported launch pit.
    pub const PIT: PitFacts = PitFacts {
        length_m: 2.5,
        width_m: 2.2,
        depth_m: 2.4,
        support: true,
        launched: Some(Launched {
            length_m: 30.0,
            od_mm: 160.0,
            bore_mm: 180.0,
        }),
        thrust_kn: Some(200.0),
        tree: None,
    };
}

#[cfg(test)]
mod tests {
    use super::{example::PIT, *};
    use crate::job::JobFile;

    fn job(text: &str) -> Job {
        JobFile::parse(text, "job.toml").expect("reads").job
    }

    const TREE: TreeTaken = TreeTaken {
        trunk_m: 0.5,
        zone_m2: 4.0,
        girth_m2: 4.2,
    };

    #[test]
    fn a_launch_pit_has_every_check_that_the_job_has_figures_for() {
        let all = job(
            "[soil]\nunit_weight_kn_m3 = 19\nfriction_deg = 32\nswell_percent = 25\n[pits]\ntruck_m3 = 6\n",
        );
        let by_tree = PitFacts {
            tree: Some(TREE),
            ..PIT
        };
        let checks = pit_checks(&all, &by_tree);
        assert!(checks.iter().all(|c| c.worked.is_ok()), "{checks:?}");
        let worked = || checks.iter().filter_map(|c| c.worked.as_ref().ok());
        worked().for_each(crate::mechanics::calculator::agrees);
        let value = |title: &str| {
            let of = worked().find(|w| w.title.starts_with(title));
            of.unwrap_or_else(|| panic!("no {title}")).value()
        };
        assert!((value("Volume of the pit") - 13.2).abs() < 1e-9);
        assert!((value("Spoil once dug") - 16.5).abs() < 1e-9);
        assert_eq!(value("Truck loads"), 3.0);
        assert!(value("Volume of a battered pit") > 4.0 * 13.2);
        // A zone of 6 m, and one of two metres of girth.
        let circle = |r: f64| std::f64::consts::PI * r * r;
        assert!((value("Tree protection zone, AS 4970: share") - 4.0 / circle(6.0)).abs() < 1e-12);
        assert!((value("Root protection area, BS 5837: share") - 4.0 / circle(6.0)).abs() < 1e-12);
    }

    #[test]
    fn a_reception_pit_has_no_thrust_wall() {
        let plain = PitFacts {
            launched: None,
            thrust_kn: None,
            support: false,
            ..PIT
        };
        let checks = pit_checks(&job(""), &plain);
        let launching = ["thrust wall", "size", "room beside it"];
        assert!(checks.iter().all(|c| !launching.contains(&c.subject)));
        assert!(checks.iter().any(|c| c.worked.is_err()), "swell is not set");
    }
}
