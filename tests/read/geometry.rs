//! Geometry in all its forms.

use crate::fixture::*;
use geo::Area;

#[test]
fn every_part_of_an_obstacle_is_read_under_its_fid() {
    let two =
        "MULTILINESTRING ((500010 5799990, 500010 5800010), (500020 5799990, 500020 5800010))";
    let r = read_layers(&[
        route(),
        layer("services", &[two]).column("kind", TEXT, &[V::T("gas")]),
    ])
    .unwrap();
    assert_eq!(
        (
            r.site.services.len(),
            r.site.services[0].parts.len(),
            r.site.services[0].at.fid
        ),
        (1, 2, 1)
    );
}

#[test]
fn an_obstacle_without_geometry_is_said_and_left_out() {
    let r = read_layers(&[
        route(),
        layer("trees", &["", "POINT EMPTY", "POINT (500010 5800000)"]),
    ])
    .unwrap();
    assert_eq!(
        r.site.trees.iter().map(|t| t.at.fid).collect::<Vec<_>>(),
        [3]
    );
    assert_eq!(
        faults(&r),
        [
            "trees fid 1: has no geometry",
            "trees fid 2: has an empty geometry"
        ]
    );
}

#[test]
fn a_route_must_be_one_line() {
    let bad = [
        (
            "MULTILINESTRING Z ((500000 5800000 9, 500001 5800000 9), (500002 5800000 9, 500003 5800000 9))",
            "has 2 parts",
        ),
        ("", "has no geometry"),
        ("LINESTRING EMPTY", "has an empty geometry"),
        (
            "LINESTRING Z (500000 5800000 9, 500000 5800000 9)",
            "a line of no length",
        ),
        ("POINT Z (500000 5800000 9)", "is not made of lines"),
    ];
    for (wkt, why) in bad {
        let e = read_layers(&[layer("routes", &[wkt])]).unwrap_err();
        assert_eq!(e.place.fid, Some(1));
        assert!(
            e.to_string().contains(&format!("routes fid 1: {why}")),
            "{e}"
        );
    }
    let one = "MULTILINESTRING Z ((500000 5800000 9, 500001 5800000 9))";
    assert_eq!(
        read_layers(&[layer("routes", &[one])])
            .unwrap()
            .site
            .routes
            .len(),
        1
    );
}

#[test]
fn repeated_vertices_of_a_route_are_dropped() {
    let wkt = "LINESTRING Z (500000 5800000 9, 500000 5800000 8, 500010 5800000 7, 500010 5800000 7, 500020 5800000 6)";
    let r = read_layers(&[layer("routes", &[wkt])]).unwrap();
    assert_eq!(r.site.routes[0].line.points.len(), 3);
    assert_eq!(r.site.routes[0].line.levels, Some(vec![9.0, 7.0, 6.0]));
}

#[test]
fn an_invalid_polygon_is_made_valid_with_a_warning() {
    let tie = "POLYGON ((500000 5800000, 500010 5800010, 500010 5800000, 500000 5800010, 500000 5800000))";
    let r = read_layers(&[route(), layer("buildings", &[tie])]).unwrap();
    let parts = &r.site.buildings[0].parts;
    assert_eq!(
        (
            parts.len(),
            parts.iter().map(|p| p.unsigned_area()).sum::<f64>()
        ),
        (2, 50.0)
    );
    assert_eq!(
        faults(&r),
        ["buildings fid 1: is not a valid polygon; was made valid"]
    );
}

#[test]
fn curves_become_lines_within_a_centimetre() {
    let arc = "CIRCULARSTRING (500050 5800000, 500075 5800025, 500100 5800000)";
    let round = "CURVEPOLYGON (CIRCULARSTRING (500000 5800000, 500020 5800000, 500000 5800000))";
    let r = read_layers(&[
        route(),
        layer("fences", &[arc]),
        layer("buildings", &[round]),
        layer("streets", &["COMPOUNDCURVE (CIRCULARSTRING (500000 5800000, 500010 5800010, 500020 5800000), (500020 5800000, 500090 5800000))"]),
    ])
    .unwrap();
    let line = &r.site.fences[0].parts[0].points;
    for w in line.windows(2) {
        let sag = 25.0
            - ((w[0].x + w[1].x) / 2.0 - 500_075.0).hypot((w[0].y + w[1].y) / 2.0 - 5_800_000.0);
        assert!((-1e-6..=0.010001).contains(&sag), "{sag}");
    }
    assert!(line.len() > 30);
    let area = r.site.buildings[0].parts[0].unsigned_area();
    assert!(
        (area - std::f64::consts::PI * 100.0).abs() < 2.0 * std::f64::consts::PI * 10.0 * 0.01,
        "{area}"
    );
    assert_eq!(
        r.site.streets[0].parts[0].points.last().unwrap().x,
        500_090.0
    );
    assert_eq!(faults(&r), Vec::<String>::new());
}

#[test]
fn a_line_without_usable_z_has_no_levels() {
    let lines = [
        "LINESTRING Z (500010 5799990 0, 500010 5800010 0)",
        "LINESTRING M (500010 5799990 7, 500010 5800010 7)",
        "LINESTRING ZM (500010 5799990 8 1, 500010 5800010 9 1)",
    ];
    let r = read_layers(&[
        route(),
        layer("services", &lines).column("kind", TEXT, &[V::T("gas"); 3]),
    ])
    .unwrap();
    let z: Vec<_> = r
        .site
        .services
        .iter()
        .map(|s| s.parts[0].levels.clone())
        .collect();
    assert_eq!(z, [None, None, Some(vec![8.0, 9.0])]);
}

#[test]
fn far_things_are_passed_over_and_near_ones_come_whole() {
    let r = read_layers(&[
        route(),
        layer(
            "services",
            &[
                "LINESTRING (500050 5799000, 500050 5801000)",
                "LINESTRING (502000 5799000, 502000 5801000)",
            ],
        )
        .column("kind", TEXT, &[V::T("gas"), V::T("gas")]),
    ])
    .unwrap();
    assert_eq!(r.site.services.len(), 1);
    assert_eq!(r.site.services[0].parts[0].points[0].y, 5_799_000.0);
    let (min, max) = r.site.extent.unwrap();
    assert_eq!(
        (min.x, min.y, max.x, max.y),
        (500_000.0, 5_799_000.0, 502_000.0, 5_801_000.0)
    );
    assert_eq!(
        r.inputs.iter().map(|i| i.features).collect::<Vec<_>>(),
        [1, 1]
    );
}

#[test]
fn an_index_out_of_step_hides_nothing() {
    let folder = Folder::new();
    let services = layer("services", &["LINESTRING (500050 5799990, 500050 5800010)"]);
    let path = folder.gpkg(&[route(), services.column("kind", TEXT, &[V::T("gas")])]);
    let db = rusqlite::Connection::open(&path).unwrap();
    db.execute("DELETE FROM rtree_services_geom", []).unwrap();
    drop(db);
    assert_eq!(read(&path).unwrap().site.services.len(), 1);
}

#[test]
fn a_coordinate_that_is_no_number_is_a_fault() {
    let folder = Folder::new();
    let path = folder.gpkg(&[route(), layer("trees", &["POINT (500010 5800000)"])]);
    let db = rusqlite::Connection::open(&path).unwrap();
    db.execute_batch(
        "DROP TRIGGER rtree_trees_geom_update1; DROP TRIGGER rtree_trees_geom_update3;",
    )
    .ok();
    let blob: Vec<u8> = db
        .query_row("SELECT geom FROM trees", [], |r| r.get(0))
        .unwrap();
    let mut broken = blob.clone();
    let at = broken.len() - 16;
    broken[at..at + 8].copy_from_slice(&f64::INFINITY.to_le_bytes());
    let triggers: Vec<String> = db
        .prepare("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |r| r.get(0))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    triggers
        .iter()
        .for_each(|t| db.execute_batch(&format!("DROP TRIGGER \"{t}\"")).unwrap());
    db.execute("UPDATE trees SET geom = ?1", [&broken]).unwrap();
    db.execute(
        "INSERT INTO trees (geom) VALUES (?1)",
        [&b"no geometry"[..]],
    )
    .unwrap();
    drop(db);
    let r = read(&path).unwrap();
    assert!(r.site.trees.is_empty());
    assert!(
        has(
            &faults(&r),
            "trees fid 1: has a coordinate that is not a number"
        ),
        "{:?}",
        faults(&r)
    );
    assert!(
        has(&faults(&r), "trees fid 2: its geometry cannot be read"),
        "{:?}",
        faults(&r)
    );
}
