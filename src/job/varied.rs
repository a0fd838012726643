//! A job with one setting changed, everything else as the job file says.

use super::{
    error::{JobError, JobFault},
    jobfile::JobFile,
    keys::{self, Found},
    value::{KeyPath, Value},
};
use std::fmt;

/// A setting that is worth trying with other values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Varied {
    /// `rig.reach_m`, also where `rig.reach_by_class` names the soil class.
    Reach,
    /// `soil.class`; friction, face pressure and reach follow where the job does not state them.
    Soil,
    /// `pipe.dn_mm`; a size that the job states for its own diameter stays with that one.
    Dn,
    /// `search.corridor_m`.
    Corridor,
}

impl Varied {
    /// All, in the order in which people are told of them.
    pub const ALL: [Varied; 4] = [Varied::Reach, Varied::Soil, Varied::Dn, Varied::Corridor];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Varied::Reach => "reach",
            Varied::Soil => "soil",
            Varied::Dn => "dn",
            Varied::Corridor => "corridor",
        }
    }

    /// The setting's key in a job file.
    pub fn key(self) -> &'static str {
        match self {
            Varied::Reach => "rig.reach_m",
            Varied::Soil => "soil.class",
            Varied::Dn => "pipe.dn_mm",
            Varied::Corridor => "search.corridor_m",
        }
    }
}

impl fmt::Display for Varied {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// The line that stands for what no line of the job file says.
const NO_LINE: usize = 0;

impl JobFile {
    /// The job with one setting changed to a value as typed.
    ///
    /// # Errors
    /// [`JobFault::BadValue`] where the value does not fit the setting; else what [`JobFile::parse`] says of a job file with
    /// that value.
    ///
    /// # Examples
    /// ```
    /// use pitwright::job::{JobFile, Varied};
    /// let file = JobFile::parse("[rig]\nreach_m = 45\n", "yard.job.toml")?;
    /// assert_eq!(file.varied(Varied::Reach, "80")?.job.rig.reach_m, 80.0);
    /// assert!(file.varied(Varied::Reach, "-80").is_err());
    /// # Ok::<(), pitwright::job::JobError>(())
    /// ```
    pub fn varied(&self, what: Varied, typed: &str) -> Result<JobFile, JobError> {
        let name = format!("{what}={typed}");
        let value = self
            .value(what, typed)
            .map_err(|fault| JobError::new(&name, None, fault))?;
        let mut given = self.given.clone();
        let mut set = |key: KeyPath, value: Value| given.values.insert(key, (value, NO_LINE));
        if let (Varied::Reach, Some(class)) = (what, &self.job.soil.class) {
            let by_class = KeyPath::of("rig.reach_by_class").join(class);
            if self.in_force.settings.contains_key(&by_class) {
                set(by_class, value.clone());
            }
        }
        set(KeyPath::of(what.key()), value.clone());
        let dn_mm = self.job.pipe.dn_mm;
        if what == Varied::Dn && value != Value::Whole(dn_mm) {
            for key in ["od_mm", "id_mm"] {
                let stated = given.values.remove(&KeyPath::of("pipe").join(key));
                let sized = KeyPath::of(&format!("pipe.sizes.{dn_mm}.{key}"));
                given.values.extend(stated.map(|s| (sized, s)));
            }
        }
        JobFile::resolve(given, &name)
    }

    /// A value as typed, where it fits the setting.
    fn value(&self, what: Varied, typed: &str) -> Result<Value, JobFault> {
        let Found::Key(_, shape) = keys::find(&KeyPath::of(what.key()), false) else {
            unreachable!("the settings that vary are known keys, as a test proves");
        };
        let number = typed.parse().ok().and_then(|n| shape.number(n));
        let value = number.or_else(|| shape.text(typed));
        let bad = |expected: String| JobFault::BadValue {
            key: what.key().to_string(),
            seen: format!("\"{typed}\""),
            expected,
        };
        let value = value.ok_or_else(|| bad(shape.expected()))?;
        let known = self.soil_classes();
        if what == Varied::Soil && !known.iter().any(|k| k == typed) {
            return Err(bad(format!("one of {}", known.join(", "))));
        }
        Ok(value)
    }

    /// Soil classes that something is known of: the rule set's, those with a reach, and the job's own; sorted.
    fn soil_classes(&self) -> Vec<String> {
        let by_class = self.in_force.table("rig.reach_by_class");
        let mut all: Vec<String> = by_class
            .filter_map(|(path, _)| path.first().cloned())
            .collect();
        all.extend(self.in_force.rule_set.soils.keys().cloned());
        all.extend(self.job.soil.class.clone());
        all.sort();
        all.dedup();
        all
    }

    /// What of a changed setting does not come through because the job states it otherwise, in words.
    pub fn stays(&self, what: Varied) -> Vec<String> {
        let stated = |key: &&str| self.given.values.contains_key(&KeyPath::of(key));
        let stated: Vec<&str> = ["soil.friction_kpa", "soil.face_kpa"]
            .into_iter()
            .filter(|key| what == Varied::Soil && stated(key))
            .collect();
        let stays = |key: &str| {
            format!("{key} is stated in the job and stays as it is, whatever the soil class")
        };
        stated.into_iter().map(stays).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(text: &str) -> JobFile {
        JobFile::parse(text, "job.toml").expect("reads")
    }

    fn refused(text: &str, what: Varied, typed: &str) -> String {
        let error = file(text).varied(what, typed).expect_err("refused");
        error.to_string()
    }

    #[test]
    fn nothing_else_changes() {
        let text = "[rig]\nreach_m = 45\n[rules.min_grade]\n100 = 0.02\n[pipe]\nod_mm = 170\nid_mm = 150\n";
        for (what, same) in [
            (Varied::Reach, "45"),
            (Varied::Dn, "150"),
            (Varied::Corridor, "0"),
        ] {
            assert_eq!(
                file(text).varied(what, same).expect("fits").job,
                file(text).job
            );
        }
        let mut job = file(text).job;
        job.search.corridor_m = 0.5;
        assert_eq!(
            file(text)
                .varied(Varied::Corridor, "0.5")
                .expect("fits")
                .job,
            job
        );
    }

    #[test]
    fn reach_goes_before_the_reach_of_the_soil_class() {
        let text = "[rig.reach_by_class]\nsilt = 45\n[soil]\nclass = \"silt\"\n";
        let set = file(text).varied(Varied::Reach, "80").expect("fits");
        assert_eq!(set.job.rig.reach_m, 80.0);
    }

    #[test]
    fn friction_face_and_reach_follow_the_soil_class() {
        let text = "[rig.reach_by_class]\nsilt = 45\nmud = 25\n";
        let silt = file(text).varied(Varied::Soil, "silt").expect("fits").job;
        let as_stated = file(&format!("{text}[soil]\nclass = \"silt\"\n")).job;
        assert_eq!(silt, as_stated);
        assert_eq!((silt.rig.reach_m, silt.soil.friction_kpa), (45.0, 12.5));
        let mud = file(text).varied(Varied::Soil, "mud").expect("fits").job;
        assert_eq!(mud.rig.reach_m, 25.0);
    }

    #[test]
    fn stated_friction_stays_and_is_named() {
        let own = file("[soil]\nfriction_kpa = 8\n");
        let silt = own.varied(Varied::Soil, "silt").expect("fits").job;
        assert_eq!(silt.soil.friction_kpa, 8.0);
        assert_eq!(own.stays(Varied::Soil).len(), 1);
        assert_eq!(own.stays(Varied::Reach).len(), 0);
        assert_eq!(file("").stays(Varied::Soil).len(), 0);
    }

    #[test]
    fn a_size_stays_with_its_diameter() {
        let own = file("[pipe]\nod_mm = 170\nid_mm = 150\n");
        let set = own.varied(Varied::Dn, "100").expect("fits").job.pipe;
        assert_eq!(set.dn_mm, 100);
        assert_eq!(
            (set.sizes[&100].od_mm, set.sizes[&150].od_mm),
            (110.0, 170.0)
        );
    }

    #[test]
    fn a_value_that_does_not_fit_says_what_would() {
        for (what, typed, expected) in [
            (
                Varied::Reach,
                "far",
                "rig.reach_m is \"far\", expected a number above 0",
            ),
            (Varied::Reach, "0", "expected a number above 0"),
            (Varied::Reach, "nan", "expected a number above 0"),
            (
                Varied::Dn,
                "150.5",
                "expected a whole number from 1 to 10000",
            ),
            (Varied::Corridor, "-1", "expected a number of at least 0"),
            (Varied::Soil, "mudd", "expected one of "),
        ] {
            let words = refused("[soil]\nfriction_kpa = 3\n", what, typed);
            assert!(words.contains(expected), "{words}");
        }
        assert!(refused("", Varied::Soil, "mud").contains("silt"));
    }
}
