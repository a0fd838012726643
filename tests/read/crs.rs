//! Coordinate reference systems and units.

use crate::fixture::*;
use gdal::spatial_ref::CoordTransform;
use pitwright::job::Layers;
use pitwright::read::{self, Problem, Request};

const FOOT: f64 = 1200.0 / 3937.0;

fn with_crs(layers: &[L], crs: &str) -> Result<read::Reading, read::ReadError> {
    let path = Folder::new();
    let file = path.gpkg(layers);
    let none = Layers::default();
    read::site(
        &file,
        &Request {
            crs: Some(crs),
            ..plan(&none)
        },
        &mut |_| {},
    )
}

#[test]
fn plan_coordinates_in_feet_become_metres_and_levels_stay() {
    let r = read_layers(&[layer(
        "routes",
        &["LINESTRING Z (1000000 200000 30, 1000100 200000 29)"],
    )
    .crs("EPSG:2263")])
    .unwrap();
    let line = &r.site.routes[0].line;
    assert!((line.points[0].x - 1_000_000.0 * FOOT).abs() < 1e-9);
    assert!((line.points[1].x - line.points[0].x - 100.0 * FOOT).abs() < 1e-9);
    assert_eq!(line.levels, Some(vec![30.0, 29.0]));
    assert_eq!(
        (r.crs.authority.as_deref(), r.crs.srs_id),
        (Some("EPSG:2263"), Some(2263))
    );
    assert!((r.crs.unit_m - FOOT).abs() < 1e-15 && r.crs.unit_name.contains("foot"));
}

#[test]
fn another_layer_is_carried_in_plan_and_keeps_its_z() {
    let world = "LINESTRING Z (9.0005 52.345 7, 9.0005 52.36 8)";
    let r = read_layers(&[
        route(),
        layer("services", &[world])
            .crs("EPSG:4326")
            .column("kind", TEXT, &[V::T("gas")]),
    ])
    .unwrap();
    let part = &r.site.services[0].parts[0];
    let way = CoordTransform::new(&srs("EPSG:4326"), &srs("EPSG:25832")).unwrap();
    let (mut x, mut y) = ([9.0005], [52.345]);
    way.transform_coords(&mut x, &mut y, &mut [0.0]).unwrap();
    assert!((part.points[0].x - x[0]).abs() < 1e-6 && (part.points[0].y - y[0]).abs() < 1e-6);
    assert_eq!(part.levels, Some(vec![7.0, 8.0]));
}

#[test]
fn degrees_stop_with_the_codes_of_what_fits() {
    let e = read_layers(&[
        layer("routes", &["LINESTRING Z (9.0 52.35 1, 9.001 52.35 1)"]).crs("EPSG:4326"),
    ])
    .unwrap_err();
    assert!(
        matches!(&*e.problem, Problem::Geographic { fitting, .. } if fitting[0].code == "EPSG:32632"),
        "{e}"
    );
    assert!(
        e.to_string().contains("EPSG:32632 (WGS 84 / UTM zone 32N)"),
        "{e}"
    );
}

#[test]
fn a_web_map_is_refused_unless_the_job_names_a_true_system() {
    let web = || {
        [layer(
            "routes",
            &["LINESTRING Z (1001875 6862000 1, 1001975 6862000 1)"],
        )
        .crs("EPSG:3857")]
    };
    let e = read_layers(&web()).unwrap_err();
    assert!(matches!(&*e.problem, Problem::NotTrueToScale { .. }), "{e}");
    let r = with_crs(&web(), "EPSG:25832").unwrap();
    let p = &r.site.routes[0].line.points;
    let length = (p[1] - p[0]).x.hypot((p[1] - p[0]).y);
    assert!(
        (length - 61.0).abs() < 1.0,
        "100 m of the web map are {length} m"
    );
    assert_eq!(r.crs.authority.as_deref(), Some("EPSG:25832"));
}

#[test]
fn routes_without_a_system_need_one_from_the_job() {
    let e = read_layers(&[route().crs("")]).unwrap_err();
    assert_eq!(
        (*e.problem, e.place.layer.as_deref()),
        (Problem::NoCrs, Some("routes"))
    );
    let r = with_crs(&[route().crs("")], "EPSG:25832").unwrap();
    assert!(has(
        &faults(&r),
        "routes: the coordinate reference system is not defined; taken as the job's"
    ));
    let e = with_crs(&[route()], "EPSG:99999999").unwrap_err();
    assert!(matches!(*e.problem, Problem::BadCrs { .. }));
}

#[test]
fn another_layer_without_a_system_is_taken_as_the_jobs() {
    let r = read_layers(&[route(), layer("trees", &["POINT (500010 5800000)"]).crs("")]).unwrap();
    assert_eq!(r.site.trees[0].points[0].x, 500_010.0);
    assert!(has(
        &faults(&r),
        "trees: the coordinate reference system is not defined"
    ));
}

#[test]
fn a_compound_system_counts_by_its_horizontal_part() {
    let r = read_layers(&[
        layer(
            "routes",
            &["LINESTRING Z (121600 487000 1, 121700 487000 0.5)"],
        )
        .crs("EPSG:7415"),
        layer("trees", &["POINT (121650 487000)"]).crs("EPSG:28992"),
    ])
    .unwrap();
    assert_eq!(r.crs.authority.as_deref(), Some("EPSG:28992"));
    assert_eq!(r.site.trees[0].points[0].x, 121_650.0);
}

#[test]
fn heights_in_feet_are_asked_about() {
    let feet = layer(
        "routes",
        &["LINESTRING Z (1000000 200000 30, 1000100 200000 29)"],
    )
    .crs("EPSG:2263+6360");
    let r = read_layers(&[feet]).unwrap();
    assert!(
        has(
            &faults(&r),
            "heights of this coordinate reference system are in"
        ),
        "{:?}",
        faults(&r)
    );
}

#[test]
fn a_grid_far_from_its_meridian_is_told_of() {
    let far = "LINESTRING Z (1200000 5800000 1, 1200100 5800000 0)";
    let r = read_layers(&[layer("routes", &[far])]).unwrap();
    assert!(
        has(&faults(&r), "a metre on this grid is 0.99"),
        "{:?}",
        faults(&r)
    );
    assert_eq!(
        faults(&read_layers(&[route()]).unwrap()),
        Vec::<String>::new()
    );
}
