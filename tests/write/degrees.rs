//! Places of bores and pits through a file: in the system's own unit, and in degrees, beside what PROJ says through another program
//! (`tests/peers/tables.py`).

use crate::{dump::open, site::run, synthetic};
use gdal::spatial_ref::SpatialRef;
use geo::Coord;
use pitwright::{
    export::Shape,
    plan::{Bore, Pit, Plan, Point3},
    read::{System, planned},
    write::{CrsInfo, Target, layers, plan_tables},
};
use std::{collections::BTreeMap, path::Path};

/// Drives of a table: unit (m), both ends in the system, both ends in degrees.
struct Row {
    unit_m: f64,
    ends: [[f64; 2]; 2],
    degrees: [[f64; 2]; 2],
}

fn rows() -> BTreeMap<u32, Vec<Row>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/peers/tables/geometry.csv");
    let text = std::fs::read_to_string(path).expect("the table is there");
    let mut out: BTreeMap<u32, Vec<Row>> = BTreeMap::new();
    for line in text.lines().skip(2) {
        let n: Vec<f64> = line
            .split(',')
            .map(|x| x.parse().expect("a number"))
            .collect();
        out.entry(n[0] as u32).or_default().push(Row {
            unit_m: n[1],
            ends: [[n[2], n[3]], [n[4], n[5]]],
            degrees: [[n[6], n[7]], [n[8], n[9]]],
        });
    }
    out
}

fn crs(epsg: u32, unit_m: f64) -> CrsInfo {
    let srs = SpatialRef::from_epsg(epsg).expect("PROJ knows it");
    CrsInfo {
        name: srs.name().expect("it has one"),
        authority: Some(format!("EPSG:{epsg}")),
        wkt: srs.to_wkt().expect("it has one"),
        unit_m,
        unit_name: "unit".into(),
        srs_id: None,
    }
}

/// A bore a drive, from its first end to its second, and a pit at every first end.
fn plan(rows: &[Row]) -> Plan {
    let like = synthetic::plan(1, 1);
    let at = |[x, y]: [f64; 2], unit: f64| Coord {
        x: x * unit,
        y: y * unit,
    };
    let end = |end, unit| Point3 {
        at: at(end, unit),
        level: 10.0,
    };
    let bore = |r: &Row| Bore {
        us: end(r.ends[0], r.unit_m),
        ds: end(r.ends[1], r.unit_m),
        ..like.bores[0].clone()
    };
    let pit = |r: &Row| Pit {
        centre: at(r.ends[0], r.unit_m),
        ..like.pits[0].clone()
    };
    Plan {
        bores: rows.iter().map(bore).collect(),
        pits: rows.iter().map(pit).collect(),
        ..Plan::default()
    }
}

#[test]
fn coordinates_and_degrees_are_those_of_proj() {
    let folder = tempfile::tempdir().expect("a folder");
    let all = rows();
    assert!(all.len() >= 7);
    for (epsg, rows) in &all {
        let file = folder.path().join(format!("{epsg}.gpkg"));
        let plan = plan(rows);
        let target = Target::out(folder.path().join("none.gpkg"), &file);
        layers(
            &target,
            &crs(*epsg, rows[0].unit_m),
            &plan_tables(&plan),
            &run(),
            false,
        )
        .expect("writes");
        let mut told = open(&file);
        let told = told.transaction().expect("reads");
        let mut places = told
            .prepare("SELECT easting, northing FROM proposed_pits ORDER BY fid")
            .expect("columns");
        let places = places.query_map([], |r| Ok([r.get::<_, f64>(0)?, r.get::<_, f64>(1)?]));
        for (place, row) in places.expect("rows").zip(rows) {
            let place = place.expect("a row");
            let off = (0..2).map(|i| (place[i] - row.ends[0][i]).abs());
            assert!(off.fold(0.0, f64::max) < 1e-6, "{epsg}: {place:?}");
        }
        let read = planned(&file, System::Degrees).expect("carries");
        let bores = read.layers.iter().find(|l| l.name == "proposed_bores");
        for (bore, row) in bores.expect("bores").features.iter().zip(rows) {
            let Some(Shape::Line(line)) = &bore.shape else {
                panic!("{epsg}: no line")
            };
            for (p, [lon, lat]) in line.iter().zip(row.degrees) {
                // A billionth of a degree is a tenth of a millimetre.
                assert!(
                    (p.x - lon).abs() < 1e-9 && (p.y - lat).abs() < 1e-9,
                    "{epsg}: {} {}, not {lon} {lat}",
                    p.x,
                    p.y
                );
            }
        }
    }
}
