//! A job as one document that reads back as the same job.

use super::{
    jobfile::JobFile,
    layers::{LayerSource, Layers, Role},
};
use toml::{Table, Value};

impl JobFile {
    /// The job file's tables and keys with every default filled in. Keys that are not set are left out.
    ///
    /// Written as TOML, or as JSON and back, it parses to the same job.
    pub fn to_table(&self) -> Table {
        let mut all = Table::new();
        for (path, setting) in &self.in_force.settings {
            insert(&mut all, &path.0, setting.value.to_toml());
        }
        if !self.layers.by_role.is_empty() {
            all.insert("layers".to_string(), layers(&self.layers).into());
        }
        all
    }
}

fn insert(table: &mut Table, path: &[String], value: Value) {
    match path {
        [] => {}
        [key] => {
            table.insert(key.clone(), value);
        }
        [key, rest @ ..] => {
            let inner = table
                .entry(key.clone())
                .or_insert_with(|| Table::new().into());
            if let Some(inner) = inner.as_table_mut() {
                insert(inner, rest, value);
            }
        }
    }
}

fn layers(layers: &Layers) -> Table {
    let of_role = |(role, sources): (&Role, &Vec<LayerSource>)| {
        let mut tables: Vec<Value> = sources.iter().map(|s| layer(s).into()).collect();
        let value = if *role == Role::Services {
            Value::Array(tables)
        } else {
            tables.swap_remove(0)
        };
        (role.name().to_string(), value)
    };
    layers
        .by_role
        .iter()
        .filter(|(_, sources)| !sources.is_empty())
        .map(of_role)
        .collect()
}

/// One `[layers.ROLE]` as a table.
pub(super) fn layer(source: &LayerSource) -> Table {
    let file = source.file.as_ref().map(|f| f.display().to_string());
    let fixed = [
        ("table", source.table.clone()),
        ("file", file),
        ("z_means", source.z_means.clone()),
        ("z_unit", source.z_unit.clone()),
    ];
    let fixed = fixed
        .into_iter()
        .filter_map(|(key, text)| Some((key.to_string(), text?.into())));
    fixed
        .chain(
            source
                .columns
                .iter()
                .map(|(k, v)| (k.clone(), v.clone().into())),
        )
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn comes_back(text: &str) -> Table {
        let first = JobFile::parse(text, "job.toml").expect("reads");
        let table = first.to_table();
        let again = JobFile::parse(&table.to_string(), "again.toml").expect("reads back");
        assert_eq!(again.job, first.job);
        assert_eq!(again.layers, first.layers);
        assert_eq!(again.to_table(), table);
        table
    }

    #[test]
    fn a_job_reads_back_from_its_document() {
        comes_back("");
        comes_back(
            "[rules]\nmin_grade = 0.006\n[soil]\nclass = \"silt\"\n[rig.reach_by_class]\nsilt = 30\n",
        );
        comes_back(
            "[pipe]\ndn_mm = 175\nod_mm = 190\nid_mm = 175\n[costs.fence]\n\"dry stone\" = 900\n",
        );
        comes_back("[soil]\nclass = \"fill\"\nfriction_kpa = 9\n[pipe]\nmaterial = \"own\"\n");
        let layers = "[layers.routes]\ntable = \"r\"\n[[layers.services]]\ntable = \"a\"\nz_means = \"centre\"\n";
        comes_back(&format!(
            "{layers}[[layers.services]]\nfile = \"b.gpkg\"\nkind = \"type\"\n"
        ));
    }

    #[test]
    fn every_default_is_filled_in_and_what_is_not_set_is_left_out() {
        let table = comes_back("");
        assert_eq!(table["rig"]["reach_m"].as_float(), Some(60.0));
        assert_eq!(table["pipe"]["od_mm"].as_float(), Some(160.0));
        assert_eq!(table["soil"]["friction_kpa"].as_float(), Some(0.0));
        assert!(table["rig"].get("thrust_kn").is_none());
        assert!(table["soil"].get("class").is_none());
        assert!(table.get("layers").is_none());
    }
}
