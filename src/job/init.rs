//! A job file to start from: what was guessed of the site, and every setting with its meaning.

use super::{
    document,
    inforce::InForce,
    jobfile::JobFile,
    keys,
    layers::{LayerSource, Role},
    ruleset::Entry,
    value::{KeyPath, Value},
};

/// What was guessed of a site.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Guess {
    /// Name of the site.
    pub site: String,
    /// Coordinate system of its routes, as a remark only.
    pub crs: Option<String>,
    /// Layers by role, in the order they shall stand.
    pub layers: Vec<(Role, LayerSource)>,
    /// Remarks, such as layers that no role was found for.
    pub remarks: Vec<String>,
}

/// The text of a job file: guessed roles and columns, then every setting with its default, unit and source.
///
/// Settings without a default stand in comments. The text reads as a job with the defaults.
pub fn init_text(guess: &Guess) -> String {
    let file = JobFile::default();
    let mut text = head(guess);
    text.push_str(&layers_text(guess));
    for table in tables(&file.in_force) {
        text.push_str(&table_text(&file.in_force, &table));
    }
    text
}

fn head(guess: &Guess) -> String {
    let mut lines = vec![format!("Job file for {}.", guess.site)];
    lines.extend(
        guess
            .crs
            .as_ref()
            .map(|crs| format!("Coordinate system of the routes: {crs}.")),
    );
    lines.push("Every setting stands with its default. Leave one out, and it takes the default of the rule set.".into());
    lines.push("Prices are placeholders. Values marked \"from memory\" or \"project default\" need a look.".into());
    lines.extend(guess.remarks.iter().cloned());
    lines
        .iter()
        .map(|line| format!("# {}\n", one_line(line)))
        .collect()
}

/// The guessed layers, as the job file names them.
fn layers_text(guess: &Guess) -> String {
    let table = |(role, source): &(Role, LayerSource)| {
        let header = match role {
            Role::Services => "[[layers.services]]".to_string(),
            role => format!("[layers.{}]", role.name()),
        };
        format!("\n{header}\n{}", document::layer(source))
    };
    guess.layers.iter().map(table).collect()
}

/// The tables that the keys of a rule set stand in, in order.
fn tables(v: &InForce) -> Vec<KeyPath> {
    let mut paths: Vec<&KeyPath> = v.rule_set.entries.keys().collect();
    paths.sort_by_cached_key(|path| keys::order(path));
    let mut tables: Vec<KeyPath> = Vec::new();
    for table in paths.into_iter().map(KeyPath::table) {
        if !tables.contains(&table) {
            tables.push(table);
        }
    }
    tables.retain(|table| !is_described_elsewhere(v, table));
    tables
}

/// A table in capitals is left out where the rule set has tables that it stands for.
fn is_described_elsewhere(v: &InForce, table: &KeyPath) -> bool {
    keys::is_placeholder(table.name())
        && v.rule_set
            .entries
            .keys()
            .any(|k| k.is_in(&table.table()) && !k.is_in(table))
}

fn table_text(v: &InForce, table: &KeyPath) -> String {
    let mut rows: Vec<_> = v
        .rule_set
        .entries
        .iter()
        .filter(|(path, _)| path.table() == *table)
        .collect();
    rows.sort_by_cached_key(|(path, _)| keys::order(path));
    let has_values = rows.iter().any(|(_, e)| e.value.is_some());
    rows.retain(|(path, _)| !(has_values && keys::is_placeholder(path.name())));
    let comment = if table.0.iter().any(|part| keys::is_placeholder(part)) {
        "# "
    } else {
        ""
    };
    let lines: String = rows
        .into_iter()
        .map(|(path, entry)| key_text(path, entry))
        .collect();
    format!("\n{comment}[{table}]\n{lines}")
}

/// `reach_m = 60.0  # m · longest drive · project default`, or the same in a comment where it has no default.
fn key_text(path: &KeyPath, entry: &Entry) -> String {
    let source = entry
        .from
        .cite()
        .map_or(String::new(), |s| format!(": {s}"));
    let parts = [
        entry.unit.clone(),
        entry.about.clone(),
        format!("{}{source}", entry.from.tag),
    ];
    let parts: Vec<String> = parts.into_iter().filter(|p| !p.is_empty()).collect();
    let name = KeyPath(vec![path.name().to_string()]);
    let remark = one_line(&parts.join(" · "));
    match &entry.value {
        Some(value) => format!("{name} = {}  # {remark}\n", plain(value)),
        None => format!("# {name} =  # not set · {remark}\n"),
    }
}

/// A value as TOML writes it.
fn plain(value: &Value) -> String {
    value.to_toml().to_string()
}

/// A comment is one line, whatever a site calls its layers.
fn one_line(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guess() -> Guess {
        let mut services = LayerSource {
            table: Some("gas \"old\"\nmains".into()),
            ..LayerSource::default()
        };
        services.columns.insert("kind".into(), "type".into());
        Guess {
            site: "yard.gpkg".into(),
            crs: Some("EPSG:28356".into()),
            layers: vec![
                (
                    Role::Routes,
                    LayerSource {
                        table: Some("new".into()),
                        ..LayerSource::default()
                    },
                ),
                (Role::Services, services.clone()),
                (Role::Services, services),
            ],
            remarks: vec!["two\nlines".into()],
        }
    }

    #[test]
    fn the_text_reads_as_the_defaults_with_the_guessed_layers() {
        let read = JobFile::parse(&init_text(&guess()), "job.toml").expect("reads");
        assert_eq!(read.job, JobFile::default().job);
        assert_eq!(read.layers.by_role[&Role::Services].len(), 2);
        assert_eq!(
            read.layers.by_role[&Role::Services][0].table.as_deref(),
            Some("gas \"old\"\nmains")
        );
    }

    #[test]
    fn every_key_stands_in_it_with_its_meaning() {
        let text = init_text(&Guess::default());
        assert!(
            text.contains("\nreach_m = 60.0  # m · longest drive · project default\n"),
            "{text}"
        );
        assert!(
            text.contains("\n# thrust_kn =  # not set · kN · greatest thrust of the rig"),
            "{text}"
        );
        assert!(
            text.contains("\n# [rig.reach_by_class]\n# CLASS =")
                || text.contains("\n[rig.reach_by_class]\n# CLASS =")
        );
        for (pattern, _) in keys::KEYS.iter().filter(|(p, _)| *p != "rules.min_grade") {
            let name = pattern.rsplit('.').next().expect("has a name");
            let shown = keys::is_placeholder(name)
                || text.contains(&format!("\n{name} ="))
                || text.contains(&format!("\n# {name} ="));
            assert!(shown, "{pattern}");
        }
    }
}
