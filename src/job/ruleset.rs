//! Rule sets: every default with its meaning and source, read from data that is part of the program.

use super::{
    error::{JobError, JobFault},
    keys::{self, Found},
    setcheck,
    settings::PipeSize,
    text::{self, Source},
    value::{KeyPath, Value},
};
use crate::{
    bibliography::{self, Tag},
    site::Quality,
};
use std::collections::BTreeMap;
use toml::de::DeTable;

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Provenance {
    /// How far it may be trusted.
    pub tag: Tag,
    /// Source, where there is one.
    pub source: Option<bibliography::Source>,
    /// Where in the source.
    pub at: Option<String>,
}

/// One key of a rule set.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Default; none where the key is not set unless a job sets it.
    pub value: Option<Value>,
    /// Unit; empty for words.
    pub unit: String,
    /// What it means, in a line.
    pub about: String,
    /// Where it comes from.
    pub from: Provenance,
    /// Why the source gives no number, where a job must therefore state one.
    pub asked: Option<String>,
}

/// Pipe sizes of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// What it is.
    pub about: String,
    /// Sizes by nominal diameter (mm).
    pub sizes: BTreeMap<u32, PipeSize>,
    /// Where they come from.
    pub from: Provenance,
}

/// Friction and face pressure of one soil class (kPa).
#[derive(Debug, Clone, PartialEq)]
pub struct SoilClass {
    /// What it is.
    pub about: String,
    /// Least skin friction.
    pub friction_low_kpa: f64,
    /// Expected skin friction.
    pub friction_kpa: f64,
    /// Greatest skin friction.
    pub friction_high_kpa: f64,
    /// Expected face pressure.
    pub face_kpa: f64,
    /// Where they come from.
    pub from: Provenance,
}

/// A rule set, or a scheme of location quality, which is one of limits only.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleSet {
    /// Name, as `[rules] base` has it.
    pub name: String,
    /// What it is for.
    pub title: String,
    /// Rule set that it starts from, if it does.
    pub extends: Option<String>,
    /// Tables and keys of that one that it does not take over.
    pub without: Vec<KeyPath>,
    /// Keys, and in capitals what describes many.
    pub entries: BTreeMap<KeyPath, Entry>,
    /// Pipe sizes by material.
    pub materials: BTreeMap<String, Material>,
    /// Soil classes.
    pub soils: BTreeMap<String, SoilClass>,
}

impl RuleSet {
    /// Reads a rule set.
    ///
    /// # Errors
    /// The text is not TOML, names a key that no job has, a value does not fit its key, or the set does not keep the rules for
    /// rule sets ([`super::setcheck`]).
    pub fn read(text: &str, name: &str) -> Result<RuleSet, JobError> {
        let source = Source { name, text };
        let tree = source.tree()?;
        let mut set = RuleSet {
            name: name.to_string(),
            title: String::new(),
            extends: None,
            without: vec![],
            entries: BTreeMap::new(),
            materials: BTreeMap::new(),
            soils: BTreeMap::new(),
        };
        for (key, value) in &tree {
            let Some(table) = value.get_ref().as_table() else {
                continue;
            };
            match key.get_ref().as_ref() {
                "about" => set.about(table),
                "materials" => set.materials = members(table, |t| material(&source, t))?,
                "soils" => set.soils = members(table, |t| soil_class(&source, t))?,
                top => read_entries(&source, &KeyPath::of(top), table, &mut set.entries)?,
            }
        }
        setcheck::written(&source, &tree)?;
        inherit(&mut set.entries);
        setcheck::values(&set).map_err(|fault| JobError::new(name, None, fault))?;
        Ok(set)
    }

    fn about(&mut self, table: &DeTable) {
        self.title = word(table, "title").unwrap_or_default();
        self.extends = word(table, "extends");
        let names = table.get("without").and_then(|v| v.get_ref().as_array());
        let names = names.into_iter().flatten();
        self.without = names
            .filter_map(|v| v.get_ref().as_str().map(KeyPath::of))
            .collect();
    }

    /// This set on top of the one that it extends: what it says itself, and what it takes over.
    ///
    /// What describes keys (in capitals) is always taken over.
    pub(super) fn over(mut self, base: RuleSet) -> RuleSet {
        let left = |path: &KeyPath| {
            let mut out = self.without.iter();
            let described = path.0.iter().any(|part| keys::is_placeholder(part));
            !described && out.any(|w| path == w || path.is_in(w))
        };
        let kept = base.entries.into_iter().filter(|(path, _)| !left(path));
        let mut entries: BTreeMap<KeyPath, Entry> = kept.collect();
        entries.append(&mut self.entries);
        inherit(&mut entries);
        let mut materials = base.materials;
        materials.append(&mut self.materials);
        let mut soils = base.soils;
        soils.append(&mut self.soils);
        RuleSet {
            entries,
            materials,
            soils,
            ..self
        }
    }

    /// This set with the limits of a scheme of location quality in place of its own for levels A to D. What it says of services
    /// that state no level stays.
    pub(super) fn with_scheme(mut self, scheme: RuleSet) -> RuleSet {
        let table = KeyPath::of("rules.quality");
        let stays = ["LEVEL", Quality::Unknown.word()];
        self.entries
            .retain(|path, _| !path.is_in(&table) || stays.contains(&path.0[2].as_str()));
        self.entries.extend(scheme.entries);
        inherit(&mut self.entries);
        self
    }

    /// What is said of a key: its own entry, else the one in capitals that describes it.
    pub fn entry(&self, path: &KeyPath) -> Option<&Entry> {
        self.entries
            .get(path)
            .or_else(|| self.entries.get(&pattern_of(path)?))
    }
}

/// The key in capitals that describes this one.
fn pattern_of(path: &KeyPath) -> Option<KeyPath> {
    match keys::find(path, false) {
        Found::Key(pattern, _) => Some(KeyPath::of(pattern)),
        _ => None,
    }
}

/// Reads the keys of a table and of the tables in it.
fn read_entries(
    source: &Source,
    path: &KeyPath,
    table: &DeTable,
    into: &mut BTreeMap<KeyPath, Entry>,
) -> Result<(), JobError> {
    for (key, value) in table {
        let (path, at) = (path.join(key.get_ref()), value.span().start);
        let Some(inner) = value.get_ref().as_table() else {
            return Err(source.bad(
                &path,
                value.get_ref(),
                at,
                "a table of value, unit, about, tag".to_string(),
            ));
        };
        if !is_entry(inner) {
            read_entries(source, &path, inner, into)?;
        } else if let Found::Key(_, shape) = keys::find(&path, false) {
            let raw = inner.get("value");
            let value = raw
                .map(|v| source.value(&path, shape, v.get_ref(), at))
                .transpose()?;
            into.insert(path, entry(inner, value));
        } else {
            let fault = JobFault::UnknownKey {
                key: path.to_string(),
                nearest: super::nearest::key(&path),
            };
            return Err(source.error(at, fault));
        }
    }
    Ok(())
}

fn is_entry(table: &DeTable) -> bool {
    ["value", "unit", "about", "tag", "ask"]
        .iter()
        .any(|k| table.contains_key(*k))
}

fn entry(table: &DeTable, value: Option<Value>) -> Entry {
    let text = |key| word(table, key).unwrap_or_default();
    Entry {
        value,
        unit: text("unit"),
        about: text("about"),
        from: provenance(table),
        asked: word(table, "ask"),
    }
}

/// Gives every key the unit and meaning of the one in capitals that describes it, where it says none itself.
fn inherit(entries: &mut BTreeMap<KeyPath, Entry>) {
    let described = entries.clone();
    for (path, entry) in entries {
        let Some(general) = pattern_of(path).and_then(|p| described.get(&p)) else {
            continue;
        };
        if entry.unit.is_empty() {
            entry.unit.clone_from(&general.unit);
        }
        if entry.about.is_empty() {
            entry.about.clone_from(&general.about);
        }
    }
}

fn word(table: &DeTable, key: &str) -> Option<String> {
    table.get(key)?.get_ref().as_str().map(str::to_string)
}

/// Where the values of a table come from. No tag says `project default`.
fn provenance(table: &DeTable) -> Provenance {
    Provenance {
        tag: word(table, "tag")
            .and_then(|t| Tag::of(&t))
            .unwrap_or(Tag::ProjectDefault),
        source: word(table, "source").and_then(|s| bibliography::Source::named(&s)),
        at: word(table, "at"),
    }
}

/// Reads each table in a table.
fn members<T>(
    table: &DeTable,
    read: impl Fn(&DeTable) -> Result<T, JobError>,
) -> Result<BTreeMap<String, T>, JobError> {
    let tables = table
        .iter()
        .filter_map(|(k, v)| Some((k.get_ref().to_string(), v.get_ref().as_table()?)));
    tables.map(|(name, t)| Ok((name, read(t)?))).collect()
}

fn material(source: &Source, table: &DeTable) -> Result<Material, JobError> {
    let sizes = table.get("sizes").and_then(|s| s.get_ref().as_table());
    let sizes = sizes
        .map(|t| members(t, |size| pipe_size(source, size)))
        .transpose()?
        .unwrap_or_default();
    Ok(Material {
        about: word(table, "about").unwrap_or_default(),
        sizes: sizes
            .into_iter()
            .filter_map(|(dn, size)| Some((dn.parse().ok()?, size)))
            .collect(),
        from: provenance(table),
    })
}

fn pipe_size(source: &Source, table: &DeTable) -> Result<PipeSize, JobError> {
    Ok(PipeSize {
        od_mm: figure(source, table, "od_mm")?,
        id_mm: figure(source, table, "id_mm")?,
    })
}

fn soil_class(source: &Source, table: &DeTable) -> Result<SoilClass, JobError> {
    Ok(SoilClass {
        about: word(table, "about").unwrap_or_default(),
        friction_low_kpa: figure(source, table, "friction_low_kpa")?,
        friction_kpa: figure(source, table, "friction_kpa")?,
        friction_high_kpa: figure(source, table, "friction_high_kpa")?,
        face_kpa: figure(source, table, "face_kpa")?,
        from: provenance(table),
    })
}

/// A number that must be there.
fn figure(source: &Source, table: &DeTable, key: &str) -> Result<f64, JobError> {
    let path = KeyPath::of(key);
    let missing = || JobFault::Inconsistent {
        key: key.to_string(),
        why: "a table of the rule set lacks it".to_string(),
    };
    let raw = table
        .get(key)
        .ok_or_else(|| JobError::new(source.name, None, missing()))?;
    let expected = || "a number".to_string();
    text::number(raw.get_ref())
        .ok_or_else(|| source.bad(&path, raw.get_ref(), raw.span().start, expected()))
}

impl Provenance {
    /// Source and place in it, for people; none where there is no source.
    pub fn cite(&self) -> Option<String> {
        let source = self.source?;
        Some(
            self.at
                .as_ref()
                .map_or_else(|| source.to_string(), |at| format!("{source}, {at}")),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keys::KEYS;

    fn metric() -> RuleSet {
        RuleSet::named("metric").expect("built in")
    }

    #[test]
    fn every_key_is_described() {
        let set = metric();
        for (pattern, _) in KEYS.iter().filter(|(p, _)| *p != "rules.min_grade") {
            let entry = set.entry(&KeyPath::of(pattern));
            assert!(entry.is_some_and(|e| !e.about.is_empty()), "{pattern}");
        }
    }

    #[test]
    fn every_value_says_what_it_is_and_where_it_is_from() {
        let entries = metric().entries;
        assert!(entries.len() > 150);
        for (path, entry) in entries {
            assert!(!entry.about.is_empty(), "{path}");
            let cites = matches!(entry.from.tag, Tag::Published | Tag::Secondary);
            assert!(!cites || entry.from.source.is_some(), "{path}");
        }
    }

    #[test]
    fn face_pressure_is_the_edge_resistance_spread_over_the_face() {
        let share = 4.0 * 10.0 * 160.0 / (180.0 * 180.0);
        for (class, edge_kpa) in [
            ("firm-clay", 1000.0),
            ("silt", 400.0),
            ("wet-sand", 4000.0),
            ("dry-sand", 2000.0),
        ] {
            let face = metric().soils[class].face_kpa;
            assert!((face - share * edge_kpa).abs() < 0.5, "{class}: {face}");
        }
    }

    #[test]
    fn expected_friction_is_the_middle_of_its_range() {
        for (name, soil) in metric().soils {
            assert_eq!(
                soil.friction_kpa,
                (soil.friction_low_kpa + soil.friction_high_kpa) / 2.0,
                "{name}"
            );
        }
    }

    #[test]
    fn a_rule_set_with_a_key_no_job_has_is_refused() {
        let text = "[rig]\nreach = { value = 60.0, about = \"\", tag = \"project default\" }\n";
        let error = RuleSet::read(text, "mine").expect_err("no such key");
        assert_eq!(
            error.to_string(),
            "mine line 2: unknown key rig.reach; the nearest known one is rig.reach_m"
        );
    }
}
