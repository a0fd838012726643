//! Every rule value in force as rows, for people and programs.

use super::{
    inforce::{InForce, Setting},
    jobfile::JobFile,
    keys,
    ruleset::Provenance,
    value::{KeyPath, Value},
};

/// One value, or one key that is not set.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleRow {
    /// Key with its tables.
    pub key: String,
    /// Value; none where it is not set.
    pub value: Option<Value>,
    /// Unit; empty for words.
    pub unit: String,
    /// What it means.
    pub about: String,
    /// Where it comes from; none where the job file says something else than the rule set.
    pub from: Option<Provenance>,
    /// Line of the job file that sets it; none where the rule set does.
    pub line: Option<usize>,
    /// Why a job must state it, where it must and does not.
    pub asked: Option<String>,
}

impl JobFile {
    /// [`InForce::rows`] of the job.
    pub fn rows(&self) -> Vec<RuleRow> {
        self.in_force.rows()
    }
}

impl InForce {
    /// Every value in force, then every key that is not set, in the order of the interface page; then the tables of
    /// the rule set that they are looked up in.
    pub fn rows(&self) -> Vec<RuleRow> {
        let v = self;
        let set = v
            .in_order()
            .into_iter()
            .map(|(path, setting)| set_row(v, path, setting));
        set.chain(unset_rows(v))
            .chain(material_rows(v))
            .chain(soil_rows(v))
            .collect()
    }
}

fn set_row(v: &InForce, path: &KeyPath, setting: &Setting) -> RuleRow {
    let entry = v.rule_set.entry(path);
    RuleRow {
        value: Some(setting.value.clone()),
        unit: entry.map(|e| e.unit.clone()).unwrap_or_default(),
        about: entry.map(|e| e.about.clone()).unwrap_or_default(),
        line: setting.line,
        ..row(path.to_string(), setting.from.as_ref())
    }
}

/// Keys that neither rule set nor job set.
fn unset_rows(v: &InForce) -> impl Iterator<Item = RuleRow> {
    let mut unset: Vec<_> = v
        .rule_set
        .entries
        .iter()
        .filter(|(path, e)| e.value.is_none() && is_unset(v, path))
        .collect();
    unset.sort_by_cached_key(|(path, _)| keys::order(path));
    unset.into_iter().map(|(path, entry)| RuleRow {
        unit: entry.unit.clone(),
        about: entry.about.clone(),
        asked: entry.asked.clone(),
        ..row(path.to_string(), None)
    })
}

/// A key is unset where it is not there, and one in capitals where nothing it stands for is.
fn is_unset(v: &InForce, path: &KeyPath) -> bool {
    let capitals = path.0.iter().position(|part| keys::is_placeholder(part));
    let head = &path.0[..capitals.unwrap_or(path.0.len())];
    !v.settings.keys().any(|k| k.0.starts_with(head))
}

fn material_rows(v: &InForce) -> impl Iterator<Item = RuleRow> {
    v.rule_set.materials.iter().flat_map(|(name, material)| {
        material.sizes.iter().flat_map(move |(dn, size)| {
            let of = move |key: &str, mm: f64| RuleRow {
                value: Some(Value::Number(mm)),
                unit: "mm".to_string(),
                about: material.about.clone(),
                ..row(format!("materials.{name}.{dn}.{key}"), Some(&material.from))
            };
            [of("od_mm", size.od_mm), of("id_mm", size.id_mm)]
        })
    })
}

fn soil_rows(v: &InForce) -> impl Iterator<Item = RuleRow> {
    v.rule_set.soils.iter().flat_map(|(name, soil)| {
        let of = move |key: &str, kpa: f64| RuleRow {
            value: Some(Value::Number(kpa)),
            unit: "kPa".to_string(),
            about: soil.about.clone(),
            ..row(format!("soils.{name}.{key}"), Some(&soil.from))
        };
        [
            of("friction_low_kpa", soil.friction_low_kpa),
            of("friction_kpa", soil.friction_kpa),
            of("friction_high_kpa", soil.friction_high_kpa),
            of("face_kpa", soil.face_kpa),
        ]
    })
}

fn row(key: String, from: Option<&Provenance>) -> RuleRow {
    RuleRow {
        key,
        value: None,
        unit: String::new(),
        about: String::new(),
        from: from.cloned(),
        line: None,
        asked: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Tag;

    fn rows(text: &str) -> Vec<RuleRow> {
        JobFile::parse(text, "job.toml").expect("reads").rows()
    }

    fn find<'a>(rows: &'a [RuleRow], key: &str) -> &'a RuleRow {
        rows.iter().find(|r| r.key == key).expect(key)
    }

    #[test]
    fn every_value_says_where_it_is_from_until_the_job_changes_it() {
        let before = rows("");
        assert!(
            before
                .iter()
                .filter(|r| r.value.is_some())
                .all(|r| r.from.is_some() && !r.about.is_empty())
        );
        let after = rows("[pits]\nsupport_from_depth_m = 1.2\nmax_depth_m = 6\n");
        let changed = find(&after, "pits.support_from_depth_m");
        assert_eq!((changed.line, &changed.from), (Some(2), &None));
        let same = find(&after, "pits.max_depth_m");
        assert_eq!(same.line, Some(3));
        assert_eq!(same.from, find(&before, "pits.max_depth_m").from);
    }

    #[test]
    fn a_published_value_cites_its_source() {
        let rows = rows("");
        let from = find(&rows, "pits.support_from_depth_m")
            .from
            .clone()
            .expect("a default");
        assert_eq!(from.tag, Tag::Published);
        assert!(from.cite().is_some_and(|s| s.ends_with("regulation 306")));
    }

    #[test]
    fn keys_that_are_not_set_are_listed_without_a_value() {
        let before = rows("");
        for key in [
            "rig.thrust_kn",
            "soil.class",
            "rig.reach_by_class.CLASS",
            "rules.max_end_error_mm",
        ] {
            assert_eq!(find(&before, key).value, None, "{key}");
        }
        assert!(
            !before
                .iter()
                .any(|r| r.key.starts_with("costs.strike.KIND"))
        );
        let after = rows("[rig.reach_by_class]\nsilt = 40\n");
        assert!(!after.iter().any(|r| r.key == "rig.reach_by_class.CLASS"));
    }

    #[test]
    fn the_tables_of_sizes_and_soils_are_listed() {
        let rows = rows("");
        assert_eq!(
            find(&rows, "materials.pvc-u.225.od_mm").value,
            Some(Value::Number(250.0))
        );
        assert_eq!(
            find(&rows, "soils.silt.face_kpa").value,
            Some(Value::Number(79.0))
        );
    }
}
