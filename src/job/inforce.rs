//! Every value in force: the rule set's, overlaid with what the job file says.

use super::{
    error::{JobError, JobFault},
    given::Given,
    keys,
    ruleset::{Provenance, RuleSet},
    value::{KeyPath, Value},
};
use crate::bibliography::Tag;
use crate::site::Kind;
use std::collections::BTreeMap;

/// A value in force.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// The value.
    pub value: Value,
    /// Line of the job file that sets it; none where the rule set does.
    pub line: Option<usize>,
    /// Where it comes from; none where the job file says something else than the rule set.
    pub from: Option<Provenance>,
}

/// Every value in force, by key. Keys that are not set are not there.
#[derive(Debug, Clone, PartialEq)]
pub struct InForce {
    /// The rule set the job starts from.
    pub rule_set: RuleSet,
    /// The values.
    pub settings: BTreeMap<KeyPath, Setting>,
    /// What is not wrong but should be looked at.
    pub warnings: Vec<String>,
}

/// Tables that a job file replaces whole, because half of one beside half of the rule set's means nothing.
const REPLACED_WHOLE: [&str; 1] = ["rules.min_grade"];

/// Tables whose kinds take what `other` says where they say nothing.
const BY_KIND: [&str; 4] = [
    "rules.clearance",
    "rules.depth_band",
    "rules.default_diameter_mm",
    "costs.strike",
];

impl InForce {
    /// Overlays a rule set with what a job file says.
    ///
    /// # Errors
    /// The rule set is unknown, or pipe or soil are not wholly described.
    pub fn new(given: &Given, file: &str) -> Result<InForce, JobError> {
        let rule_set = rule_set(given, file)?;
        let mut all = InForce {
            settings: defaults(&rule_set),
            rule_set,
            warnings: Vec::new(),
        };
        all.overlay(given);
        all.fill_kinds();
        all.fill_pipe();
        all.fill_soil().map_err(|fault| {
            let line = given
                .values
                .get(&KeyPath::of("soil.class"))
                .map(|(_, line)| *line);
            JobError::new(file, line, fault)
        })?;
        Ok(all)
    }

    /// The values of a rule set by itself. Numbers that it asks a job for are not set.
    ///
    /// # Errors
    /// None by that name is built in.
    pub fn of_rule_set(name: &str) -> Result<InForce, JobFault> {
        let mut given = Given::default();
        let base = (Value::Text(name.to_string()), 1);
        given.values.insert(KeyPath::of("rules.base"), base);
        InForce::new(&given, name).map_err(|e| *e.fault)
    }

    /// The value of a key, if it is set.
    pub fn get(&self, key: &str) -> Option<&Value> {
        self.settings.get(&KeyPath::of(key)).map(|s| &s.value)
    }

    /// The keys and values in a table, at any depth, by the rest of their path.
    pub fn table(&self, table: &str) -> impl Iterator<Item = (&[String], &Value)> {
        let table = KeyPath::of(table);
        let depth = table.0.len();
        self.settings
            .iter()
            .filter(move |(k, _)| k.is_in(&table))
            .map(move |(k, s)| (&k.0[depth..], &s.value))
    }

    /// Keys in the order of the interface page.
    pub fn in_order(&self) -> Vec<(&KeyPath, &Setting)> {
        let mut all: Vec<_> = self.settings.iter().collect();
        all.sort_by_cached_key(|(path, _)| keys::order(path));
        all
    }

    fn overlay(&mut self, given: &Given) {
        for table in REPLACED_WHOLE.map(KeyPath::of) {
            if given.values.keys().any(|k| *k == table || k.is_in(&table)) {
                self.settings.retain(|k, _| !k.is_in(&table) && *k != table);
            }
        }
        for (path, (value, line)) in &given.values {
            let same = self
                .rule_set
                .entries
                .get(path)
                .filter(|e| e.value.as_ref() == Some(value));
            let from = same.map(|e| e.from.clone());
            self.settings.insert(
                path.clone(),
                Setting {
                    value: value.clone(),
                    line: Some(*line),
                    from,
                },
            );
        }
    }

    /// Gives kinds that a table by kind leaves out what it says of `other`.
    fn fill_kinds(&mut self) {
        for table in BY_KIND.map(KeyPath::of) {
            let other = table.join(Kind::Other.word());
            let is_others = |k: &KeyPath| *k == other || k.is_in(&other);
            let others: Vec<_> = self.settings.iter().filter(|(k, _)| is_others(k)).collect();
            let others: Vec<_> = others
                .into_iter()
                .map(|(k, s)| (k.clone(), s.clone()))
                .collect();
            for (kind, (path, setting)) in Kind::ALL
                .iter()
                .flat_map(|kind| others.iter().map(move |o| (kind, o)))
            {
                let mut path = path.clone();
                path.0[table.0.len()] = kind.word().to_string();
                self.settings.entry(path).or_insert_with(|| setting.clone());
            }
        }
    }

    /// Gives nominal diameters that the job does not size those of its material, and `od_mm`, `id_mm` those of `dn_mm`.
    fn fill_pipe(&mut self) {
        let material = self
            .get("pipe.material")
            .map(Value::to_string)
            .unwrap_or_default();
        let dn = self
            .get("pipe.dn_mm")
            .map(Value::to_string)
            .unwrap_or_default();
        let stock = self.rule_set.materials.get(&material).cloned();
        for (dn, size) in stock.iter().flat_map(|m| &m.sizes) {
            for (key, mm) in [("od_mm", size.od_mm), ("id_mm", size.id_mm)] {
                let from = stock.as_ref().map(|m| m.from.clone());
                let setting = Setting {
                    value: Value::Number(mm),
                    line: None,
                    from,
                };
                self.settings
                    .entry(KeyPath::of(&format!("pipe.sizes.{dn}.{key}")))
                    .or_insert(setting);
            }
        }
        for key in ["od_mm", "id_mm"] {
            let sized = KeyPath::of(&format!("pipe.sizes.{dn}.{key}"));
            let plain = KeyPath::of("pipe").join(key);
            if let Some(setting) = self.settings.get(&plain) {
                self.settings.insert(sized, setting.clone());
            } else if let Some(setting) = self.settings.get(&sized) {
                self.settings.insert(plain, setting.clone());
            }
        }
    }

    /// Gives friction and face pressure that the job does not state those of its soil class, else 0.
    fn fill_soil(&mut self) -> Result<(), JobFault> {
        let Some(class) = self.get("soil.class").map(Value::to_string) else {
            self.fill_figures(0.0, 0.0, &project_default());
            return Ok(());
        };
        if let Some(soil) = self.rule_set.soils.get(&class).cloned() {
            self.fill_figures(soil.friction_kpa, soil.face_kpa, &soil.from);
            return Ok(());
        }
        let stated = self.get("soil.friction_kpa").is_some();
        if !stated
            && !self
                .settings
                .contains_key(&KeyPath::of("rig.reach_by_class").join(&class))
        {
            let known: Vec<&str> = self.rule_set.soils.keys().map(String::as_str).collect();
            let expected = format!(
                "a class of the rule set ({}), one that rig.reach_by_class lists, or any with soil.friction_kpa",
                known.join(", ")
            );
            return Err(JobFault::BadValue {
                key: "soil.class".into(),
                seen: format!("\"{class}\""),
                expected,
            });
        }
        if !stated {
            self.warnings.push(format!(
                "soil class \"{class}\" has no friction: set soil.friction_kpa, or thrust limits no drive"
            ));
        }
        self.fill_figures(0.0, 0.0, &project_default());
        Ok(())
    }

    fn fill_figures(&mut self, friction_kpa: f64, face_kpa: f64, from: &Provenance) {
        for (key, kpa) in [
            ("soil.friction_kpa", friction_kpa),
            ("soil.face_kpa", face_kpa),
        ] {
            let setting = Setting {
                value: Value::Number(kpa),
                line: None,
                from: Some(from.clone()),
            };
            self.settings.entry(KeyPath::of(key)).or_insert(setting);
        }
    }
}

/// The rule set that a job starts from, with the scheme of location quality that it, or else the set, names.
fn rule_set(given: &Given, file: &str) -> Result<RuleSet, JobError> {
    let stated = |key: &str| given.values.get(&KeyPath::of(key));
    let at = |key: &str, fault| JobError::new(file, stated(key).map(|(_, line)| *line), fault);
    let base = stated("rules.base").map_or("metric".to_string(), |(v, _)| v.to_string());
    let set = RuleSet::named(&base).map_err(|fault| at("rules.base", fault))?;
    let own = set.entries.get(&KeyPath::of("rules.quality_scheme"));
    let own = own.and_then(|e| e.value.as_ref());
    let Some(scheme) = stated("rules.quality_scheme").map(|(v, _)| v).or(own) else {
        return Ok(set);
    };
    let scheme = RuleSet::scheme(&scheme.to_string());
    let scheme = scheme.map_err(|fault| at("rules.quality_scheme", fault))?;
    Ok(set.with_scheme(scheme))
}

fn project_default() -> Provenance {
    Provenance {
        tag: Tag::ProjectDefault,
        source: None,
        at: None,
    }
}

/// The values of a rule set, before any job file.
fn defaults(rule_set: &RuleSet) -> BTreeMap<KeyPath, Setting> {
    let entries = rule_set.entries.iter();
    let set = entries.filter_map(|(path, entry)| {
        let setting = Setting {
            value: entry.value.clone()?,
            line: None,
            from: Some(entry.from.clone()),
        };
        Some((path.clone(), setting))
    });
    set.collect()
}
