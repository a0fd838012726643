//! The figures that a pit's row shows.

use crate::{
    job::Job,
    mechanics::{
        earthworks::{loose_volume, truck_loads},
        trees::MINOR,
    },
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
}

/// Spoil and loads of a pit, where the job says how it swells and what a truck holds.
pub fn pit_figures(job: &Job, volume_m3: f64, tree_zone_share: f64) -> PitFigures {
    let swell = job.soil.swell_percent;
    let loose = swell.and_then(|s| loose_volume(volume_m3, s).ok());
    let loose = loose.map(|w| w.value());
    let loads = loose.zip(job.pits.truck_m3);
    let loads = loads.and_then(|(m3, truck)| truck_loads(m3, truck).ok());
    PitFigures {
        spoil_loose_m3: loose,
        truck_loads: loads.map(|w| w.value()),
        tree_zone_share: Some(tree_zone_share),
    }
}

/// What an engineer must know of the figures of these pits.
pub fn pit_findings(pits: &[(&str, PitFigures)]) -> Vec<String> {
    let major = |f: &PitFigures| f.tree_zone_share.is_some_and(|share| share > MINOR);
    let found: Vec<&str> = pits.iter().filter(|p| major(&p.1)).map(|p| p.0).collect();
    if found.is_empty() {
        return vec![];
    }
    let which = super::figures::ids(found.into_iter());
    vec![format!(
        "{which}: the pit takes more than 10 % of the protection zone of a tree that stays (AS 4970, secondary): ask an arborist, or move it"
    )]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;

    #[test]
    fn spoil_is_worked_out_where_swell_is_set() {
        let job = |text| JobFile::parse(text, "job.toml").expect("reads").job;
        let none = pit_figures(&job(""), 13.2, 0.0);
        assert_eq!((none.spoil_loose_m3, none.truck_loads), (None, None));
        let both = job("[soil]\nswell_percent = 25\n[pits]\ntruck_m3 = 6\n");
        let some = pit_figures(&both, 13.2, 0.0);
        assert_eq!(some.truck_loads, Some(3.0));
        assert!((some.spoil_loose_m3.expect("worked") - 16.5).abs() < 1e-9);
    }

    #[test]
    fn a_pit_that_takes_much_of_a_tree_is_named() {
        let share = |s| PitFigures {
            tree_zone_share: Some(s),
            ..PitFigures::default()
        };
        let said = pit_findings(&[("P1", share(0.11)), ("P2", share(0.10))]);
        assert_eq!(said.len(), 1);
        assert!(said[0].starts_with("P1: "));
        assert!(pit_findings(&[("P2", share(0.0))]).is_empty());
    }
}
