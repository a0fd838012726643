//! Values: taken strictly, and what cannot be taken is named.

use crate::fixture::*;
use pitwright::site::{Kind, Quality, Surface, ZMeans};

const LINE: &str = "LINESTRING (500010 5799990, 500010 5800010)";

fn services(rows: usize) -> L {
    layer("services", &vec![LINE; rows]).column("kind", TEXT, &vec![V::T("gas"); rows])
}

#[test]
fn dirty_diameters_are_faults_and_count_as_missing() {
    let dirty = ["300", "4\"", "block", "", "-300", "0", "1,5", " 63.5 "].map(V::T);
    let r = read_layers(&[route(), services(8).column("diameter_mm", TEXT, &dirty)]).unwrap();
    let d: Vec<_> = r.site.services.iter().map(|s| s.diameter_mm).collect();
    assert_eq!(
        d,
        [Some(300.0), None, None, None, None, None, None, Some(63.5)]
    );
    let said = faults(&r);
    assert_eq!(said.len(), 5, "{said:?}");
    assert_eq!(
        said[0],
        "services fid 2: diameter_mm: '4\"' is not a plain number"
    );
    assert!(has(
        &said,
        "services fid 5: diameter_mm: '-300' is not an outside diameter above 0"
    ));
}

#[test]
fn text_in_a_column_of_numbers_is_seen_as_it_lies() {
    let folder = Folder::new();
    let path = folder.gpkg(&[
        route(),
        services(1).column("diameter_mm", REAL, &[V::R(100.0)]),
    ]);
    let db = rusqlite::Connection::open(&path).unwrap();
    let drop_triggers: Vec<String> = db
        .prepare(
            "SELECT 'DROP TRIGGER \"' || name || '\"' FROM sqlite_master WHERE type = 'trigger'",
        )
        .unwrap()
        .query_map([], |r| r.get(0))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    drop_triggers
        .iter()
        .for_each(|t| db.execute_batch(t).unwrap());
    db.execute("UPDATE services SET diameter_mm = '4\"'", [])
        .unwrap();
    drop(db);
    let r = read(&path).unwrap();
    assert_eq!(r.site.services[0].diameter_mm, None);
    assert!(has(&faults(&r), "'4\"' is not a plain number"));
}

#[test]
fn unknown_words_are_said_and_taken_as_the_interface_tells() {
    let r = read_layers(&[
        route(),
        layer("services", &[LINE, LINE, LINE])
            .column("kind", TEXT, &[V::T("Gas"), V::T("heating"), V::Null])
            .column("quality", TEXT, &[V::T("b"), V::T("QL-B"), V::Null])
            .column("status", TEXT, &[V::T("Abandoned"), V::Null, V::Null]),
        layer(
            "surfaces",
            &["POLYGON ((500000 5800000, 500010 5800000, 500010 5800010, 500000 5800000))"; 2],
        )
        .column("surface", TEXT, &[V::T("Lawn"), V::T("sand")]),
    ])
    .unwrap();
    let s = &r.site.services;
    assert_eq!(
        [s[0].kind, s[1].kind, s[2].kind],
        [Kind::Gas, Kind::Other, Kind::Other]
    );
    assert_eq!(
        [s[0].quality, s[1].quality, s[2].quality],
        [Quality::B, Quality::Unknown, Quality::Unknown]
    );
    assert!(s[0].abandoned && !s[1].abandoned);
    assert_eq!(
        [r.site.surfaces[0].surface, r.site.surfaces[1].surface],
        [Surface::Lawn, Surface::Bare]
    );
    let said = faults(&r);
    for piece in [
        "fid 2: kind: 'heating'",
        "fid 3: kind: no value",
        "fid 2: quality: 'QL-B'",
        "fid 2: surface: 'sand'",
    ] {
        assert!(has(&said, piece), "{piece}: {said:?}");
    }
}

#[test]
fn removed_services_are_left_out() {
    let r = read_layers(&[
        route(),
        services(2).column("status", TEXT, &[V::T("removed"), V::T("in use")]),
    ])
    .unwrap();
    assert_eq!(
        r.site.services.iter().map(|s| s.at.fid).collect::<Vec<_>>(),
        [2]
    );
}

#[test]
fn what_is_missing_takes_its_default() {
    let r = read_layers(&[
        route(),
        layer("trees", &["POINT (500010 5800000)"; 3])
            .column("trunk_diameter_m", REAL, &[V::Null, V::R(0.3), V::R(-1.0)])
            .column("retain", WHOLE, &[V::Null, V::I(0), V::I(1)]),
        layer(
            "lots",
            &["POLYGON ((500000 5800000, 500010 5800000, 500010 5800010, 500000 5800000))"; 3],
        )
        .column("entry", TEXT, &[V::T("yes"), V::Null, V::T("ask")])
        .column("serve", WHOLE, &[V::I(1), V::Null, V::I(0)]),
    ])
    .unwrap();
    let t = &r.site.trees;
    assert_eq!(
        [
            t[0].trunk_diameter_m,
            t[1].trunk_diameter_m,
            t[2].trunk_diameter_m
        ],
        [0.5, 0.3, 0.5]
    );
    assert_eq!([t[0].retain, t[1].retain, t[2].retain], [true, false, true]);
    let l = &r.site.lots;
    assert_eq!([&l[0].lot_id, &l[1].lot_id], ["L1", "L2"]);
    assert_eq!([l[0].entry, l[1].entry, l[2].entry], [true, false, false]);
    assert_eq!([l[0].serve, l[1].serve, l[2].serve], [true, false, false]);
    assert!(has(
        &faults(&r),
        "lots fid 3: entry: 'ask' is not yes or no"
    ));
    assert_eq!(r.site.routes[0].route_id, "R1");
}

#[test]
fn levels_of_a_layer_in_feet_become_metres() {
    let folder = Folder::new();
    let path = folder.gpkg(&[
        route(),
        layer(
            "services",
            &["LINESTRING Z (500010 5799990 10, 500010 5800010 20)"],
        )
        .column("kind", TEXT, &[V::T("water")])
        .column("cover_m", REAL, &[V::R(3.0)])
        .column("diameter_mm", REAL, &[V::R(100.0)]),
    ]);
    let mut source = table("services");
    source.z_unit = Some("us-ft".into());
    source.z_means = Some("invert".into());
    let r = read_with(
        &path,
        &naming(pitwright::job::Role::Services, source.clone()),
    )
    .unwrap();
    let s = &r.site.services[0];
    let foot = 1200.0 / 3937.0;
    assert_eq!(s.parts[0].levels, Some(vec![10.0 * foot, 20.0 * foot]));
    assert_eq!(
        (s.cover_m, s.diameter_mm, s.z_means),
        (Some(3.0 * foot), Some(100.0), ZMeans::Invert)
    );
    source.z_unit = Some("feet".into());
    let e = read_with(&path, &naming(pitwright::job::Role::Services, source)).unwrap_err();
    assert!(
        e.to_string()
            .contains("z_unit is 'feet'; use \"m\", \"ft\" or \"us-ft\""),
        "{e}"
    );
}

#[test]
fn a_route_with_a_value_that_cannot_be_used_stops_everything() {
    let e =
        read_layers(&[route().column("outfall_invert_m", TEXT, &[V::T("about 8")])]).unwrap_err();
    assert_eq!(
        (e.place.fid, e.place.column.as_deref()),
        (Some(1), Some("outfall_invert_m"))
    );
    let e = read_layers(&[route().column("dn_mm", REAL, &[V::R(150.5)])]).unwrap_err();
    assert!(
        e.to_string()
            .contains("routes fid 1: dn_mm: '150.5' is not a nominal diameter"),
        "{e}"
    );
}
