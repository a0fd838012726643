//! The figures that a pit's row shows, and what is said where they are bad.

use super::{
    figures::ids,
    pit::{PitFacts, batter, foundation_keep, ladders_of, laydown, loose, trucks, wall},
};
use crate::{
    job::Job,
    mechanics::{Working, earthworks::spoil_set_back_m, trees::MINOR},
};

/// Figures of a pit's row; none where they were not worked out.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct PitFigures {
    /// Spoil once dug (m3).
    pub spoil_loose_m3: Option<f64>,
    /// Truck loads of it.
    pub truck_loads: Option<f64>,
    /// Greatest share of a retained tree's protection zone that the footprint takes; 0 where it takes of none.
    pub tree_zone_share: Option<f64>,
    /// Spoil and plant keep so far from the edge (m).
    pub spoil_set_back_m: Option<f64>,
    /// Ladders.
    pub ladders: Option<f64>,
    /// Width at the top with sloped sides in place of support (m); none where no support is asked.
    pub batter_width_m: Option<f64>,
    /// Volume with sloped sides (m3), likewise.
    pub batter_volume_m3: Option<f64>,
    /// Distance from a building founded as deep as the job assumes (m).
    pub building_keep_m: Option<f64>,
    /// Area beside a launch pit for pipes, power pack and spoil (m2).
    pub laydown_m2: Option<f64>,
    /// Passive resistance behind the thrust wall of a launch pit (kN).
    pub thrust_wall_kn: Option<f64>,
    /// It by the greatest thrust of the bores launched.
    pub thrust_wall_ratio: Option<f64>,
}

/// Figures of a pit.
pub fn pit_figures(job: &Job, pit: &PitFacts) -> PitFigures {
    fn value<E>(w: Result<Working, E>) -> Option<f64> {
        w.ok().map(|w| w.value())
    }
    let launches = pit.launched.is_some();
    let resists = value(wall(job, pit)).filter(|_| launches);
    let [width, volume] = batter(pit).map_or([None; 2], |sides| sides.map(value));
    PitFigures {
        spoil_loose_m3: value(loose(job, pit)),
        truck_loads: value(trucks(job, pit)),
        tree_zone_share: Some(pit.tree.map_or(0.0, |t| t.share())),
        spoil_set_back_m: Some(spoil_set_back_m()),
        ladders: value(ladders_of(pit)),
        batter_width_m: width,
        batter_volume_m3: volume,
        building_keep_m: value(foundation_keep(job, pit)),
        laydown_m2: value(laydown(job, pit)),
        thrust_wall_kn: resists,
        thrust_wall_ratio: resists
            .zip(pit.thrust_kn)
            .map(|(wall, thrust)| wall / thrust),
    }
}

/// What an engineer must know of the figures of these pits.
pub fn pit_findings(pits: &[(&str, PitFigures)]) -> Vec<String> {
    let named = |is: &dyn Fn(&PitFigures) -> bool| {
        let found: Vec<&str> = pits.iter().filter(|p| is(&p.1)).map(|p| p.0).collect();
        (!found.is_empty()).then(|| ids(found.into_iter()))
    };
    let least = crate::mechanics::jacking::WALL_SAFETY.low;
    let said = [
        named(&|f| f.tree_zone_share.is_some_and(|share| share > MINOR)).map(|which| {
            format!("{which}: the pit takes more than 10 % of the protection zone of a tree that stays (AS 4970, secondary): ask an arborist, or move it")
        }),
        named(&|f| f.thrust_wall_ratio.is_some_and(|r| r < least)).map(|which| {
            format!("{which}: the ground behind the thrust wall resists less than {least} times the greatest thrust of its bores (from memory): a wider or deeper wall, or less thrust")
        }),
    ];
    said.into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        job::JobFile,
        plan::checks::pit::{TreeTaken, example::PIT},
    };

    fn job(text: &str) -> Job {
        JobFile::parse(text, "job.toml").expect("reads").job
    }

    #[test]
    fn spoil_is_worked_out_where_swell_is_set() {
        let none = pit_figures(&job(""), &PIT);
        assert_eq!((none.spoil_loose_m3, none.truck_loads), (None, None));
        let both = job("[soil]\nswell_percent = 25\n[pits]\ntruck_m3 = 6\n");
        let some = pit_figures(&both, &PIT);
        assert_eq!(some.truck_loads, Some(3.0));
        assert!((some.spoil_loose_m3.expect("worked") - 16.5).abs() < 1e-9);
    }

    #[test]
    fn a_launch_pit_needs_room_beside_it_and_a_reception_pit_no_wall() {
        let sand = job("[soil]\nunit_weight_kn_m3 = 19\nfriction_deg = 32\n");
        let launch = pit_figures(&sand, &PIT);
        // 30 pipes of 1 m by 0.16 m, the power pack, a heap of the bore's spoil 1 m high.
        let spoil = std::f64::consts::PI * 0.18 * 0.18 / 4.0 * 30.0;
        assert!((launch.laydown_m2.expect("worked") - (4.8 + 4.0 + 2.0 * spoil)).abs() < 1e-9);
        assert!(launch.thrust_wall_ratio.is_some() && launch.batter_volume_m3 > Some(13.2));
        let plain = PitFacts {
            launched: None,
            thrust_kn: None,
            support: false,
            ..PIT
        };
        let reception = pit_figures(&sand, &plain);
        assert_eq!(
            (reception.laydown_m2, reception.thrust_wall_kn),
            (None, None)
        );
        assert_eq!(reception.batter_width_m, None);
        assert!(reception.building_keep_m.is_some() && reception.ladders == Some(1.0));
    }

    #[test]
    fn a_pit_that_takes_much_of_a_tree_or_whose_wall_gives_way_is_named() {
        let share = |s: f64| {
            let tree = TreeTaken {
                trunk_m: 0.5,
                zone_m2: s * std::f64::consts::PI * 36.0,
                girth_m2: 0.0,
            };
            pit_figures(
                &job(""),
                &PitFacts {
                    tree: Some(tree),
                    ..PIT
                },
            )
        };
        let said = pit_findings(&[("P1", share(0.11)), ("P2", share(0.0999))]);
        assert_eq!(said.len(), 1);
        assert!(said[0].starts_with("P1: "));
        let sand = job("[soil]\nunit_weight_kn_m3 = 19\nfriction_deg = 32\n");
        let pushed = PitFacts {
            thrust_kn: Some(2000.0),
            ..PIT
        };
        let said = pit_findings(&[("P3", pit_figures(&sand, &pushed))]);
        assert!(
            said[0].starts_with("P3: the ground behind the thrust wall"),
            "{said:?}"
        );
    }
}
