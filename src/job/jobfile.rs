//! A job file: settings, layers, and where each value comes from.

use super::{
    asked, consistency,
    error::{JobError, JobFault},
    given::{self, Given},
    halves,
    inforce::InForce,
    layers::Layers,
    resolve,
    settings::Job,
    text::Source,
    value::KeyPath,
};
use std::sync::LazyLock;

/// A job file, read and resolved.
#[derive(Debug, Clone, PartialEq)]
pub struct JobFile {
    /// Settings, every default filled in.
    pub job: Job,
    /// Which layer plays which role.
    pub layers: Layers,
    /// Every value in force with where it comes from.
    pub in_force: InForce,
    /// What the file itself says.
    pub(super) given: Given,
}

impl JobFile {
    /// Reads a job file. `name` is what errors call it.
    ///
    /// # Errors
    /// It is not TOML, has a key that no job has, a value that does not fit its key, or values that do not fit together.
    ///
    /// # Examples
    /// ```
    /// let file = pitwright::job::JobFile::parse("[rig]\nreach_m = 45\n", "yard.job.toml")?;
    /// assert_eq!(file.job.rig.reach_m, 45.0);
    /// assert_eq!(file.job.pipe.dn_mm, 150);
    /// # Ok::<(), pitwright::job::JobError>(())
    /// ```
    pub fn parse(text: &str, name: &str) -> Result<JobFile, JobError> {
        JobFile::resolve(given::read(&Source { name, text })?, name)
    }

    pub(super) fn resolve(given: Given, name: &str) -> Result<JobFile, JobError> {
        let in_force = InForce::new(&given, name)?;
        asked::check(&in_force).map_err(|fault| {
            let named = ["rules.quality_scheme", "rules.base"].map(KeyPath::of);
            let line = named.iter().find_map(|key| given.values.get(key));
            JobError::new(name, line.map(|(_, line)| *line), fault)
        })?;
        halves::check(&in_force)
            .map_err(|fault| JobError::new(name, line_of(&given, &fault), fault))?;
        let job = resolve::job(&in_force);
        consistency::check(&job)
            .map_err(|fault| JobError::new(name, line_of(&given, &fault), fault))?;
        check_sizes(&given, &job, name)?;
        Ok(JobFile {
            job,
            layers: given.layers.clone(),
            in_force,
            given,
        })
    }

    /// What is not wrong with it but should be looked at.
    pub fn warnings(&self) -> &[String] {
        &self.in_force.warnings
    }
}

impl Default for JobFile {
    /// What an empty job file makes.
    fn default() -> JobFile {
        // Read once: whoever varies jobs asks again and again.
        static DEFAULT: LazyLock<JobFile> = LazyLock::new(|| {
            JobFile::parse("", "defaults")
                .expect("the built-in rule set is consistent, as its test proves")
        });
        DEFAULT.clone()
    }
}

/// A size that the job begins must be whole, by itself or with the material's.
fn check_sizes(given: &Given, job: &Job, name: &str) -> Result<(), JobError> {
    let table = KeyPath::of("pipe.sizes");
    for (path, (_, line)) in &given.values {
        let dn = match path.0.as_slice() {
            [pipe, key] if pipe == "pipe" && (key == "od_mm" || key == "id_mm") => job.pipe.dn_mm,
            [_, _, dn, _] if path.is_in(&table) => dn.parse().unwrap_or_default(),
            _ => continue,
        };
        if !job.pipe.sizes.contains_key(&dn) {
            let why = format!(
                "DN {dn} needs both od_mm and id_mm: material \"{}\" has no such size",
                job.pipe.material
            );
            return Err(JobError::new(
                name,
                Some(*line),
                JobFault::Inconsistent {
                    key: path.to_string(),
                    why,
                },
            ));
        }
    }
    Ok(())
}

/// Line of the key that a fault names, where the job file has it.
fn line_of(given: &Given, fault: &JobFault) -> Option<usize> {
    let JobFault::Inconsistent { key, .. } = fault else {
        return None;
    };
    let path = KeyPath::of(key);
    let mut lines = given
        .values
        .iter()
        .filter(|(k, _)| **k == path || k.is_in(&path))
        .map(|(_, (_, line))| *line);
    lines.next()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        job::*,
        site::{Kind, Quality},
    };

    fn job(text: &str) -> Job {
        JobFile::parse(text, "job.toml").expect("reads").job
    }

    fn refused(text: &str) -> String {
        JobFile::parse(text, "job.toml")
            .expect_err("refused")
            .to_string()
    }

    #[test]
    fn an_empty_job_has_the_defaults_of_the_interface() {
        let job = Job::default();
        assert_eq!((job.watch_distance_m, job.pipe.dn_mm), (2.0, 150));
        assert_eq!(
            (
                job.rig.reach_m,
                job.rig.line_accuracy_mm,
                job.rig.accuracy_at_m
            ),
            (60.0, 20.0, 50.0)
        );
        assert_eq!(
            (
                job.rig.setting_out_mm,
                job.rig.dn_max_mm,
                job.rig.overcut_mm
            ),
            (10.0, 250, 20.0)
        );
        assert_eq!(
            (job.rig.grade_min, job.rig.grade_max, job.rig.access_width_m),
            (0.005, 0.2, 0.9)
        );
        assert_eq!(
            (
                job.rig.launch_from,
                job.rig.setup_days,
                job.rig.metres_per_day
            ),
            (LaunchFrom::Either, 0.5, 15.0)
        );
        assert_eq!(
            (job.rules.watch_margin_m, job.rules.unknown_depth),
            (0.3, UnknownDepth::Prove)
        );
        assert_eq!(
            (
                job.pits.on_lots,
                job.pits.max_depth_m,
                job.pits.support_from_depth_m
            ),
            (OnLots::Entry, 6.0, 1.5)
        );
        assert_eq!(
            (
                job.pits.building_spread_deg,
                job.search.station_step_m,
                job.search.level_step_m
            ),
            (45.0, 1.0, 0.02)
        );
        assert_eq!(
            (
                job.search.corridor_m,
                job.search.corridor_step_m,
                job.search.snap_m
            ),
            (0.0, 0.5, 0.5)
        );
        assert_eq!(job.rules.base, "metric");
    }

    #[test]
    fn what_has_no_default_is_not_set() {
        let job = Job::default();
        assert_eq!(
            (job.rig.thrust_kn, job.pipe.axial_limit_kn, job.rig.bore_mm),
            (None, None, None)
        );
        assert_eq!(
            (job.rules.max_end_error_mm, job.rules.manhole_drop_max_m),
            (None, None)
        );
        assert_eq!(
            (job.soil.class, job.soil.friction_kpa, job.soil.face_kpa),
            (None, 0.0, 0.0)
        );
    }

    #[test]
    fn a_kind_table_overrides_only_what_it_says() {
        let base = Job::default().rules.clearance;
        let set =
            job("[rules.clearance.gas]\npit_m = 2\n[rules.clearance.other]\ncrossing_m = 9\n")
                .rules
                .clearance;
        assert_eq!(
            set[&Kind::Gas],
            Clearance {
                pit_m: 2.0,
                ..base[&Kind::Gas]
            }
        );
        assert_eq!(
            set[&Kind::Other],
            Clearance {
                crossing_m: 9.0,
                ..base[&Kind::Other]
            }
        );
        assert_eq!(set[&Kind::Water], base[&Kind::Water]);
    }

    #[test]
    fn minimum_grade_is_a_number_or_a_table_that_replaces_the_rule_sets() {
        let one = job("[rules]\nmin_grade = 0.007\n").rules;
        assert_eq!((one.min_grade(100), one.min_grade(300)), (0.007, 0.007));
        let table = job("[rules.min_grade]\n150 = 0.005\n200 = 0.004\n").rules;
        assert_eq!(
            (
                table.min_grade(100),
                table.min_grade(150),
                table.min_grade(225)
            ),
            (0.005, 0.005, 0.004)
        );
    }

    #[test]
    fn minimum_grade_may_not_rise_with_diameter() {
        let words = refused("[rules.min_grade]\n150 = 0.005\n225 = 0.006\n");
        assert_eq!(
            words,
            "job.toml line 3: rules.min_grade.225: minimum grade may not rise with diameter, but 0.006 is above the 0.005 of a smaller pipe"
        );
    }

    #[test]
    fn a_least_value_may_not_be_above_its_greatest() {
        let cases = [
            (
                "[rig]\ngrade_min = 0.3\n",
                "rig.grade_min: 0.3 may not be above rig.grade_max, which is 0.2",
            ),
            (
                "[rules]\nmax_grade = 0.001\n",
                "rules.min_grade: 0.01 may not be above rules.max_grade, which is 0.001",
            ),
            (
                "[rules]\nmanhole_drop_max_m = 0.01\n",
                "rules.manhole_drop_m: 0.02 may not be above",
            ),
            (
                "[rules.depth_band.gas]\nmin_m = 3\n",
                "rules.depth_band.gas.min_m: 3 may not be above",
            ),
            (
                "[rig]\nbore_mm = 150\n",
                "pipe.od_mm: 160 may not be above rig.bore_mm, which is 150",
            ),
            (
                "[pipe]\nid_mm = 160\n",
                "pipe.sizes.150: id_mm 160 must be less than od_mm 160",
            ),
        ];
        for (text, expected) in cases {
            let words = refused(text);
            assert!(words.contains(expected), "{words}");
        }
    }

    #[test]
    fn pipe_sizes_come_from_the_job_then_the_material() {
        let sized =
            job("[pipe]\nod_mm = 170\nid_mm = 150\n[pipe.sizes.225]\nod_mm = 240\nid_mm = 220\n")
                .pipe
                .sizes;
        assert_eq!(
            sized[&150],
            PipeSize {
                od_mm: 170.0,
                id_mm: 150.0
            }
        );
        assert_eq!(
            sized[&225],
            PipeSize {
                od_mm: 240.0,
                id_mm: 220.0
            }
        );
        assert_eq!(
            sized[&100],
            PipeSize {
                od_mm: 110.0,
                id_mm: 103.6
            }
        );
        let clay = job("[pipe]\nmaterial = \"vitrified-clay\"\n").pipe.sizes;
        assert_eq!(
            clay[&150],
            PipeSize {
                od_mm: 213.0,
                id_mm: 149.0
            }
        );
    }

    #[test]
    fn half_a_size_of_a_pipe_that_no_table_has_is_refused() {
        let words = refused("[pipe.sizes.175]\nod_mm = 190\n");
        assert_eq!(
            words,
            "job.toml line 2: pipe.sizes.175.od_mm: DN 175 needs both od_mm and id_mm: material \"pvc-u\" has no such size"
        );
    }

    #[test]
    fn reach_and_friction_follow_the_soil_class() {
        let text = "[rig.reach_by_class]\nsilt = 45\nfill = 30\n[soil]\nclass = \"silt\"\n";
        let set = job(text);
        assert_eq!(set.rig.reach_m, 45.0);
        assert_eq!(
            (
                set.soil.friction_low_kpa,
                set.soil.friction_kpa,
                set.soil.friction_high_kpa
            ),
            (5.0, 12.5, 20.0)
        );
        let stated = job("[soil]\nclass = \"silt\"\nfriction_kpa = 30\n").soil;
        assert_eq!(
            (
                stated.friction_low_kpa,
                stated.friction_kpa,
                stated.friction_high_kpa
            ),
            (5.0, 30.0, 30.0)
        );
    }

    #[test]
    fn a_soil_class_that_nothing_describes_is_refused() {
        assert!(
            refused("[soil]\nclass = \"mud\"\n")
                .starts_with("job.toml line 2: soil.class is \"mud\", expected a class")
        );
        let own = JobFile::parse(
            "[soil]\nclass = \"mud\"\n[rig.reach_by_class]\nmud = 25\n",
            "job.toml",
        )
        .expect("reads");
        assert_eq!(own.job.rig.reach_m, 25.0);
        assert_eq!(own.warnings().len(), 1);
    }

    /// What "us-states" asks for, in any numbers.
    const US: &str = "[rules]\nbase = \"us-states\"\n[rules.clearance]\nbuilding = 3\n[rules.clearance.water]\npit_m = 1\n\
        [rules.clearance.other]\ncrossing_m = 0.3\nparallel_m = 0.6\npit_m = 0.7\n\
        [rules.quality]\nA = { horizontal_m = 0.1, vertical_m = 0.1 }\nB = { horizontal_m = 0.5, vertical_m = 0.6 }\n\
        C = { horizontal_m = 1, vertical_m = 1 }\nD = { horizontal_m = 2, vertical_m = 1 }\n";

    #[test]
    fn a_rule_set_without_a_number_asks_the_job_for_it() {
        let words = refused("[rules]\nbase = \"us-states\"\n");
        assert!(words.starts_with("job.toml line 2: the job must state rules.clearance.building, rules.clearance.water.pit_m, rules.clearance.other.crossing_m"), "{words}");
        assert!(
            words.contains(
                "rules.quality.D.vertical_m: no source gives them, and pitwright invents none."
            ),
            "{words}"
        );
        let rules = job(US).rules;
        let gas = rules.clearance[&Kind::Gas];
        assert_eq!((gas.crossing_m, gas.parallel_m, gas.pit_m), (0.3, 0.6, 0.7));
        let missing = refused(&US.replace("building = 3\n", ""));
        assert!(
            missing.contains("must state rules.clearance.building: no source"),
            "{missing}"
        );
    }

    #[test]
    fn a_separation_is_there_for_the_kinds_that_have_one() {
        assert!(Job::default().rules.separation.is_empty());
        let us = job(US).rules.separation;
        let water = Separation {
            horizontal_m: 3.048,
            vertical_m: 0.4572,
            service: Side::Above,
        };
        assert_eq!(us, [(Kind::Water, water)].into());
        let own = job(
            "[rules.separation.gas]\nhorizontal_m = 1\nvertical_m = 0.5\nservice = \"either\"\n",
        )
        .rules;
        assert_eq!(own.separation[&Kind::Gas].service, Side::Either);
        let half = refused("[rules.separation.gas]\nhorizontal_m = 1\n");
        assert!(
            half.starts_with("job.toml line 2: rules.separation.gas: a separation needs both"),
            "{half}"
        );
        let odd = refused("[rules.separation.gas]\nhorizontal_m = 1\nvertical_m = 2\n");
        assert!(
            odd.contains("rules.separation.gas.vertical_m: 2 may not be above"),
            "{odd}"
        );
    }

    #[test]
    fn a_scheme_of_location_quality_replaces_levels_a_to_d() {
        let asked = refused("[rules]\nquality_scheme = \"as5488\"\n");
        assert!(asked.contains("rules.quality.C.horizontal_m, rules.quality.C.vertical_m, rules.quality.D.horizontal_m"), "{asked}");
        assert!(!asked.contains("quality.B"), "{asked}");
        let cd = "[rules.quality]\nC = { horizontal_m = 1, vertical_m = 1 }\nD = { horizontal_m = 2, vertical_m = 1 }\n";
        let file = JobFile::parse(&format!("[rules]\nquality_scheme = \"one-call-24in\"\n[rules.quality.A]\nhorizontal_m = 0.1\nvertical_m = 0.1\n[rules.quality.B]\nvertical_m = 1\n{}", cd.replace("[rules.quality]\n", "").replace("C =", "[rules.quality]\nC =")), "job.toml").expect("reads");
        assert_eq!(file.job.rules.quality[&Quality::B].horizontal_m, 0.6096);
        assert!(!file.in_force.knows_level(Quality::B1));
        assert_eq!(
            file.job.rules.quality[&Quality::B1],
            file.job.rules.quality[&Quality::Unknown]
        );
        let unknown = refused("[rules]\nquality_scheme = \"pas\"\n");
        assert!(
            unknown.starts_with("job.toml line 2: rules.quality_scheme is \"pas\""),
            "{unknown}"
        );
        let half = refused("[rules.quality.B2]\nhorizontal_m = 0.3\n");
        assert!(
            half.contains("line 2: rules.quality.B2: a quality level needs both"),
            "{half}"
        );
    }

    #[test]
    fn limits_grow_with_depth_where_the_level_says_so() {
        let text = "[rules.quality.B2]\nhorizontal_m = 0.25\nvertical_m = 0\nhorizontal_share = 0.4\nvertical_share = 0.4\n";
        let rules = job(text).rules;
        let at = |depth| {
            let limits = rules.limits(Quality::B2, depth);
            (limits.horizontal_m, limits.vertical_m)
        };
        assert_eq!(at(Some(0.5)), (0.25, 0.2));
        assert_eq!(at(Some(2.0)), (0.8, 0.8));
        assert_eq!(at(Some(-1.0)), (0.25, 0.0));
        let unknown = rules.quality[&Quality::Unknown];
        assert_eq!(at(None), (unknown.horizontal_m, unknown.vertical_m));
        assert_eq!(rules.limits(Quality::A, None), rules.quality[&Quality::A]);
    }

    #[test]
    fn an_unknown_rule_set_names_those_there_are() {
        let words = refused("[rules]\nbase = \"imperial\"\n");
        assert_eq!(
            words,
            "job.toml line 2: rules.base is \"imperial\", which is no rule set; known are: metric, us-states"
        );
    }
}
