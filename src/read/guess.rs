//! Which role a layer would play, and which of its columns are meant, judged by names and geometry.

use super::columns::{self, Drawn};
use super::roles::is_own_layer;
use super::store::{LayerHead, Store, distance};
use crate::job::{LayerSource, Layers, Role};

/// Pieces of layer names, by role; the first role that fits wins.
const NAMES: [(Role, &[&str]); 11] = [
    (Role::Routes, &["route", "alignment"]),
    (
        Role::Keepouts,
        &["keepout", "keep_out", "exclusion", "no_dig"],
    ),
    (Role::Manholes, &["manhole", "chamber"]),
    (Role::Trees, &["tree"]),
    (Role::Fences, &["fence", "wall"]),
    (Role::Buildings, &["building", "house"]),
    (Role::Lots, &["lot", "parcel", "cadastr", "propert"]),
    (
        Role::Surfaces,
        &["surface", "landcover", "land_cover", "pavement"],
    ),
    (
        Role::Ground,
        &["ground", "spot", "height", "elevation", "dem", "dtm"],
    ),
    (
        Role::Services,
        &[
            "service",
            "connection",
            "lateral",
            "pipe",
            "main",
            "cable",
            "duct",
            "sewer",
            "storm",
            "water",
            "gas",
            "power",
            "electric",
            "telecom",
            "utilit",
        ],
    ),
    (
        Role::Streets,
        &["street", "road", "centreline", "centerline"],
    ),
];

/// Pieces of column names, by the column of the interface.
const COLUMNS: [(&str, &[&str]); 22] = [
    ("route_id", &["route", "name", "label"]),
    ("dn_mm", &["dn", "nominal"]),
    ("name", &["street", "road"]),
    ("class", &["class", "highway", "category"]),
    ("width_m", &["width"]),
    ("lot_id", &["lot", "parcel", "plot"]),
    ("serve", &["serve"]),
    ("entry", &["entry", "access"]),
    ("floor_m", &["floor"]),
    ("foundation_depth_m", &["foundation"]),
    ("surface", &["cover", "paving", "ground"]),
    ("material", &["material"]),
    ("trunk_diameter_m", &["trunk", "dbh"]),
    ("retain", &["retain", "keep"]),
    ("kind", &["kind", "medium", "utility"]),
    ("diameter_mm", &["diameter", "dia_"]),
    ("cover_m", &["cover", "depth"]),
    ("quality", &["quality"]),
    ("owner", &["owner", "operator"]),
    ("status", &["status"]),
    ("manhole_id", &["manhole", "label"]),
    ("level_m", &["level", "elevation", "height", "ele"]),
];

/// The job's layers, and for roles that nothing fills and columns that nothing is said of, the likeliest.
pub(super) fn complete(site: &Store, layers: &Layers) -> Layers {
    let mut all = layers.clone();
    for head in site.layers().iter().filter(|h| !is_own_layer(&h.name)) {
        let named = layers
            .by_role
            .values()
            .flatten()
            .any(|s| s.table.as_deref() == Some(&head.name));
        let by_name = Role::ALL.into_iter().find(|r| r.name() == head.name);
        let Some(role) = by_name.or_else(|| role(head)).filter(|_| !named) else {
            continue;
        };
        let filled = layers.by_role.contains_key(&role)
            || (by_name.is_none() && site.layer(role.name()).is_some());
        let several = role == Role::Services || !all.by_role.contains_key(&role);
        if !filled && several {
            all.by_role
                .entry(role)
                .or_default()
                .push(source(role, head));
        }
    }
    all
}

fn source(role: Role, head: &LayerHead) -> LayerSource {
    let table = (head.name != role.name()).then(|| head.name.clone());
    let there = |name: &str| head.columns.iter().any(|c| c.eq_ignore_ascii_case(name));
    let mut taken: Vec<&String> = vec![];
    let mut columns = std::collections::BTreeMap::new();
    for wanted in columns::of(role).iter().filter(|c| !there(c.name)) {
        let free = |c: &&String| {
            !taken.contains(c)
                && !columns::of(role)
                    .iter()
                    .any(|k| k.name.eq_ignore_ascii_case(c))
        };
        if let Some(found) = column(wanted.name, head.columns.iter().filter(free)) {
            taken.push(found);
            columns.insert(wanted.name.to_string(), found.clone());
        }
    }
    LayerSource {
        table,
        columns,
        ..LayerSource::default()
    }
}

/// A column whose name differs by a slip, else one that holds a telling piece.
fn column<'a>(wanted: &str, there: impl Iterator<Item = &'a String>) -> Option<&'a String> {
    let there: Vec<&String> = there.filter(|c| may_mean(wanted, c)).collect();
    let slip = there
        .iter()
        .find(|c| wanted.len() > 4 && distance(wanted, c) <= 2);
    let pieces = COLUMNS
        .iter()
        .find(|(name, _)| *name == wanted)
        .map_or(&[][..], |(_, p)| p);
    let telling = || {
        pieces
            .iter()
            .find_map(|p| there.iter().find(|c| c.to_lowercase().contains(p)))
    };
    slip.or_else(telling).copied()
}

/// Not a column whose name states another unit, nor one that holds at one end of a line only.
fn may_mean(wanted: &str, column: &str) -> bool {
    let column = column.to_lowercase();
    let unit = |name: &str| {
        name.rsplit_once('_')
            .map(|(_, u)| u.to_string())
            .filter(|u| UNITS.contains(&u.as_str()))
    };
    let clash = unit(wanted).is_some_and(|w| unit(&column).is_some_and(|u| u != w));
    !clash
        && !["us_", "ds_", "from_", "to_"]
            .iter()
            .any(|p| column.starts_with(p))
}

/// Endings of column names that state a unit.
const UNITS: [&str; 8] = ["m", "mm", "cm", "ft", "in", "inch", "inches", "feet"];

fn role(head: &LayerHead) -> Option<Role> {
    if head.raster {
        return NAMES
            .iter()
            .find(|(r, p)| *r == Role::Ground && has(&head.name, p))
            .map(|(r, _)| *r);
    }
    let fits = |r: Role| {
        head.geometry
            .as_deref()
            .is_some_and(|g| is_drawn_as(g, columns::drawn(r)))
    };
    NAMES
        .iter()
        .find(|(r, pieces)| fits(*r) && has(&head.name, pieces))
        .map(|(r, _)| *r)
}

fn has(name: &str, pieces: &[&str]) -> bool {
    let name = name.to_lowercase();
    pieces.iter().any(|p| name.contains(p))
}

fn is_drawn_as(geometry: &str, drawn: Drawn) -> bool {
    let g = geometry.to_uppercase();
    // A layer of any geometry is judged by its name alone.
    if g == "GEOMETRY" || g.starts_with("UNKNOWN") {
        return true;
    }
    let any: &[&str] = match drawn {
        Drawn::Points => &["POINT"],
        Drawn::Lines => &["LINE", "CURVE"],
        Drawn::Areas => &["POLYGON", "SURFACE"],
    };
    any.iter().any(|w| g.contains(w)) && !(drawn == Drawn::Lines && g.contains("POLYGON"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn head(name: &str, geometry: &str, columns: &[&str]) -> LayerHead {
        let columns = columns.iter().map(|c| c.to_string()).collect();
        LayerHead {
            name: name.into(),
            geometry: Some(geometry.into()),
            columns,
            crs: None,
            height_unit: None,
            raster: false,
        }
    }

    #[test]
    fn names_and_geometry_together_tell_the_role() {
        assert_eq!(
            role(&head("gas_pipes", "LINESTRING", &[])),
            Some(Role::Services)
        );
        assert_eq!(
            role(&head("sewer_manholes", "POINT", &[])),
            Some(Role::Manholes)
        );
        assert_eq!(role(&head("sewer_manholes", "POLYGON", &[])), None);
        assert_eq!(
            role(&head("ground_points", "POINT Z", &[])),
            Some(Role::Ground)
        );
    }

    #[test]
    fn columns_are_found_by_a_telling_piece_and_none_is_taken_twice() {
        let s = source(
            Role::Services,
            &head(
                "mains",
                "LINESTRING",
                &["medium", "diameter_raw", "operator", "type"],
            ),
        );
        assert_eq!(s.columns["kind"], "medium");
        assert_eq!(s.columns["diameter_mm"], "diameter_raw");
        assert_eq!(s.columns["owner"], "operator");
        let s = source(
            Role::Services,
            &head("mains", "LINESTRING", &["diameter_m", "us_cover"]),
        );
        assert!(s.columns.is_empty(), "{:?}", s.columns);
    }
}
