//! Which layer of which file plays which role.

use super::Problem;
use super::columns;
use super::fault::{Place, ReadError};
use super::request::{Need, Request};
use super::store::{LayerHead, Store, nearest_first};
use crate::job::{LayerSource, Role};
use crate::site::ZMeans;
use std::path::{Path, PathBuf};

/// Layers that pitwright writes.
const OWN: [&str; 19] = [
    "proposed_routes",
    "proposed_pits",
    "proposed_bores",
    "bore_conflicts",
    "test_holes",
    "bore_inspections",
    "conflict_changes",
    "long_sections",
    "affected_lots",
    "cost_items",
    "bore_or_trench",
    "bore_programme",
    "alternatives",
    "alternative_pits",
    "alternative_bores",
    "route_blockers",
    "recorded_bores",
    "pitwright_runs",
    "layer_styles",
];

/// Whether a layer is one that pitwright writes (or its styles), and so no input.
pub fn is_own_layer(name: &str) -> bool {
    OWN.contains(&name)
}

/// Proposed routes may be planned, and proposed or recorded bores checked, by whoever names them.
fn may_be_named(role: Role, table: &str) -> bool {
    !is_own_layer(table)
        || matches!(
            (role, table),
            (Role::Routes, "proposed_routes")
                | (
                    Role::Bores,
                    "proposed_bores" | "alternative_bores" | "recorded_bores"
                )
        )
}

/// A layer that fills a role, with its columns found.
#[derive(Debug, Clone)]
pub(super) struct Source {
    pub role: Role,
    /// Index of its file in [`Stores`].
    pub store: usize,
    pub table: String,
    /// Name in the interface and name in the layer, of the columns that are there.
    pub columns: Vec<(&'static str, String)>,
    pub z_means: ZMeans,
    /// Metres in a unit of its levels.
    pub z_unit_m: Option<f64>,
    pub raster: bool,
}

/// The files that were opened, each once.
pub(super) struct Stores {
    site: PathBuf,
    base: PathBuf,
    pub files: Vec<(PathBuf, Store)>,
}

impl Stores {
    pub fn new(site: &Path, base: Option<&Path>) -> Result<Stores, ReadError> {
        let beside = || site.parent().map(Path::to_path_buf).unwrap_or_default();
        let base = base.map_or_else(beside, Path::to_path_buf);
        let mut stores = Stores {
            site: site.to_path_buf(),
            base,
            files: vec![],
        };
        stores.open(None)?;
        Ok(stores)
    }

    fn open(&mut self, file: Option<&Path>) -> Result<usize, ReadError> {
        let path = file.map_or_else(|| self.site.clone(), |f| self.base.join(f));
        if let Some(i) = self.files.iter().position(|(p, _)| *p == path) {
            return Ok(i);
        }
        let store = Store::open(&path)?;
        self.files.push((path, store));
        Ok(self.files.len() - 1)
    }

    pub fn head(&self, source: &Source) -> &LayerHead {
        let store = &self.files[source.store].1;
        store
            .layer(&source.table)
            .expect("a source names a layer that its file has")
    }

    pub fn place(&self, source: &Source) -> Place {
        Place::file(&self.files[source.store].0).layer(&source.table)
    }
}

/// Every layer that fills a role, in the order of the interface; services in the order of the job.
pub(super) fn sources(stores: &mut Stores, request: &Request) -> Vec<Result<Source, ReadError>> {
    Role::ALL
        .into_iter()
        .flat_map(|role| of_role(stores, request, role))
        .collect()
}

fn of_role(stores: &mut Stores, request: &Request, role: Role) -> Vec<Result<Source, ReadError>> {
    let bores;
    let named = match (&request.need, role) {
        (Need::Check(layer), Role::Bores) => {
            bores = vec![layer.clone()];
            Some(&bores)
        }
        (_, Role::Bores) => return vec![],
        _ => request.layers.by_role.get(&role).filter(|l| !l.is_empty()),
    };
    match named {
        Some(list) => list.iter().map(|l| named_source(stores, role, l)).collect(),
        None if stores.files[0].1.layer(role.name()).is_some() => {
            vec![source(
                stores,
                0,
                role,
                role.name().to_string(),
                &LayerSource::default(),
            )]
        }
        None => vec![],
    }
}

fn named_source(stores: &mut Stores, role: Role, layer: &LayerSource) -> Result<Source, ReadError> {
    let store = stores.open(layer.file.as_deref())?;
    let (path, file) = &stores.files[store];
    let table = match &layer.table {
        Some(t) => t.clone(),
        None => only_layer(file, role).unwrap_or_else(|| role.name().to_string()),
    };
    if file.layer(&table).is_none() {
        let known = nearest_first(&table, input_names(file));
        return Err(ReadError::new(
            Place::file(path),
            Problem::NoLayer {
                role: role.name(),
                table,
                known,
            },
        ));
    }
    if !may_be_named(role, &table) {
        return Err(ReadError::new(
            Place::file(path).layer(&table),
            Problem::OwnLayer { role: role.name() },
        ));
    }
    source(stores, store, role, table, layer)
}

/// A file that holds one layer and none of the role's name needs no `table`.
fn only_layer(file: &Store, role: Role) -> Option<String> {
    let names: Vec<String> = input_names(file).collect();
    let one = <[String; 1]>::try_from(names).ok()?;
    (file.layer(role.name()).is_none()).then(|| one[0].clone())
}

pub(super) fn input_names(file: &Store) -> impl Iterator<Item = String> + '_ {
    file.layers()
        .iter()
        .map(|l| l.name.clone())
        .filter(|n| !is_own_layer(n))
}

fn source(
    stores: &Stores,
    store: usize,
    role: Role,
    table: String,
    layer: &LayerSource,
) -> Result<Source, ReadError> {
    let (path, file) = &stores.files[store];
    let place = Place::file(path).layer(&table);
    let head = file.layer(&table).expect("the caller looked for it");
    // A raster can only be ground, and a table without geometry nothing at all.
    if head.raster && role != Role::Ground || !head.raster && head.geometry.is_none() {
        return Err(ReadError::new(
            place,
            Problem::WrongGeometry {
                wanted: columns::drawn(role).word(),
            },
        ));
    }
    let (z_means, z_unit_m) = settings(layer).map_err(|p| ReadError::new(place.clone(), p))?;
    let columns = if head.raster {
        vec![]
    } else {
        columns_of(role, head, layer, &place)?
    };
    Ok(Source {
        role,
        store,
        table,
        columns,
        z_means,
        z_unit_m,
        raster: head.raster,
    })
}

fn settings(layer: &LayerSource) -> Result<(ZMeans, Option<f64>), Problem> {
    let bad = |key, value: &str, expected| Problem::BadSetting {
        key,
        value: value.to_string(),
        expected,
    };
    let means = match layer.z_means.as_deref() {
        None | Some("top") => ZMeans::Top,
        Some("centre") => ZMeans::Centre,
        Some("invert") => ZMeans::Invert,
        Some(v) => return Err(bad("z_means", v, "\"top\", \"centre\" or \"invert\"")),
    };
    let unit = match layer.z_unit.as_deref() {
        None => None,
        Some("m") => Some(1.0),
        Some("ft") => Some(0.3048),
        Some("us-ft") => Some(1200.0 / 3937.0),
        Some(v) => return Err(bad("z_unit", v, "\"m\", \"ft\" or \"us-ft\"")),
    };
    Ok((means, unit))
}

fn columns_of(
    role: Role,
    head: &LayerHead,
    layer: &LayerSource,
    place: &Place,
) -> Result<Vec<(&'static str, String)>, ReadError> {
    let wanted = columns::of(role);
    let known_here = || wanted.iter().map(|c| c.name.to_string());
    if let Some(strange) = layer
        .columns
        .keys()
        .find(|k| !wanted.iter().any(|c| c.name == **k))
    {
        let (meaning, known) = (strange.clone(), nearest_first(strange, known_here()));
        return Err(ReadError::new(
            place.clone(),
            Problem::NoMeaning {
                role: role.name(),
                meaning,
                known,
            },
        ));
    }
    let mut found = vec![];
    for column in wanted {
        let typed = layer.columns.get(column.name);
        let name = typed.map_or(column.name, String::as_str);
        let known = || nearest_first(name, head.columns.iter().cloned());
        // An exact name goes before one that differs in upper and lower case.
        let exact = head.columns.iter().find(|c| *c == name);
        match exact.or_else(|| head.columns.iter().find(|c| c.eq_ignore_ascii_case(name))) {
            Some(c) => found.push((column.name, c.clone())),
            None if typed.is_some() => {
                let problem = Problem::NoColumn {
                    column: name.into(),
                    meaning: column.name.into(),
                    known: known(),
                };
                return Err(ReadError::new(place.clone().column(name), problem));
            }
            None if column.required => {
                let problem = Problem::RequiredColumn {
                    role: role.name(),
                    column: column.name,
                    known: known(),
                };
                return Err(ReadError::new(place.clone().column(column.name), problem));
            }
            None => {}
        }
    }
    Ok(found)
}
