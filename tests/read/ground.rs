//! Levels of the ground.

use crate::fixture::*;
use gdal::DriverManager;
use gdal::raster::{Buffer, RasterCreationOptions};
use gdal::spatial_ref::CoordTransform;
use geo::coord;
use pitwright::job::{LayerSource, Role};
use pitwright::read::Problem;
use std::path::PathBuf;

/// A raster of 2 m cells, 200 x 200, top left at (`x`, `y`), on a steep plane; cell (3, 3) holds no data.
fn plane(folder: &Folder, driver: &str, name: &str, crs: &str, (x, y): (f64, f64)) -> PathBuf {
    let path = folder.0.join(name);
    let driver = DriverManager::get_driver_by_name(driver).unwrap();
    let mut cells = vec![];
    for row in 0..200 {
        for col in 0..200 {
            cells.push(level(x, y, x + 1.0 + 2.0 * col as f64, y - 1.0 - 2.0 * row as f64) as f32);
        }
    }
    cells[3 * 200 + 3] = -9999.0;
    let mut file = driver
        .create_with_band_type_with_options::<f32, _>(
            &path,
            200,
            200,
            1,
            &RasterCreationOptions::default(),
        )
        .unwrap();
    file.set_spatial_ref(&srs(crs)).unwrap();
    file.set_geo_transform(&[x, 2.0, 0.0, y, 0.0, -2.0])
        .unwrap();
    let mut band = file.rasterband(1).unwrap();
    band.set_no_data_value(Some(-9999.0)).unwrap();
    band.write((0, 0), (200, 200), &mut Buffer::new((200, 200), cells))
        .unwrap();
    drop(file);
    path
}

fn level(x0: f64, y0: f64, x: f64, y: f64) -> f64 {
    100.0 + 0.5 * (x - x0) - 0.25 * (y0 - y)
}

fn file(path: PathBuf) -> LayerSource {
    LayerSource {
        file: Some(path),
        ..LayerSource::default()
    }
}

#[test]
fn a_raster_file_gives_the_level_between_cell_centres() {
    let folder = Folder::new();
    let (x0, y0) = (499_900.0, 5_800_200.0);
    let dem = plane(&folder, "GTiff", "dem.tif", "EPSG:25832", (x0, y0));
    let site = folder.gpkg(&[route()]);
    let r = read_with(&site, &naming(Role::Ground, file(dem))).unwrap();
    for (x, y) in [
        (500_000.0, 5_800_000.0),
        (500_033.3, 5_799_987.7),
        (500_100.0, 5_800_001.0),
    ] {
        let z = r.site.ground.level(coord! {x: x, y: y}).unwrap();
        assert!(
            (z - level(x0, y0, x, y)).abs() < 1e-4,
            "{z} {}",
            level(x0, y0, x, y)
        );
    }
    assert_eq!(
        (r.inputs[1].role, r.inputs[1].layer.as_str()),
        (Role::Ground, "dem")
    );
    assert!(r.inputs[1].features > 100 * 100);
}

#[test]
fn only_the_window_round_the_routes_is_read_and_it_acts_as_the_whole() {
    let folder = Folder::new();
    let (x0, y0) = (499_900.0, 5_800_200.0);
    let dem = plane(&folder, "GTiff", "dem.tif", "EPSG:25832", (x0, y0));
    let site = folder.gpkg(&[route()]);
    let layers = naming(Role::Ground, file(dem));
    let near = pitwright::read::Request {
        around_m: 10.0,
        all_obstacles: false,
        ..plan(&layers)
    };
    let r = pitwright::read::site(&site, &near, &mut |_| {}).unwrap();
    assert_eq!(r.inputs[1].features, (60 + 4) * (10 + 4));
    let whole = read_with(&site, &layers).unwrap();
    for (x, y) in [
        (499_990.0, 5_799_990.0),
        (500_110.0, 5_800_010.0),
        (500_050.3, 5_800_009.9),
    ] {
        let p = coord! {x: x, y: y};
        assert_eq!(r.site.ground.level(p), whole.site.ground.level(p));
        assert!(r.site.ground.level(p).is_some());
    }
}

#[test]
fn no_data_is_no_ground() {
    let folder = Folder::new();
    let dem = plane(
        &folder,
        "GTiff",
        "dem.tif",
        "EPSG:25832",
        (499_995.0, 5_800_005.0),
    );
    let site = folder.gpkg(&[route()]);
    let r = read_with(&site, &naming(Role::Ground, file(dem))).unwrap();
    assert_eq!(
        r.site.ground.level(coord! {x: 500_002.0, y: 5_799_998.0}),
        None
    );
    assert!(
        r.site
            .ground
            .level(coord! {x: 500_010.0, y: 5_799_998.0})
            .is_some()
    );
    assert_eq!(
        r.site.ground.level(coord! {x: 499_990.0, y: 5_799_998.0}),
        None
    );
}

#[test]
fn a_raster_in_another_system_is_asked_at_the_carried_point() {
    let folder = Folder::new();
    let way = CoordTransform::new(&srs("EPSG:25832"), &srs("EPSG:25833")).unwrap();
    let carried = |x: f64, y: f64| {
        let (mut xs, mut ys) = ([x], [y]);
        way.transform_coords(&mut xs, &mut ys, &mut [0.0]).unwrap();
        (xs[0], ys[0])
    };
    let (cx, cy) = carried(500_050.0, 5_800_000.0);
    let (x0, y0) = ((cx - 200.0).round(), (cy + 200.0).round());
    let dem = plane(&folder, "GTiff", "dem.tif", "EPSG:25833", (x0, y0));
    let site = folder.gpkg(&[route()]);
    let r = read_with(&site, &naming(Role::Ground, file(dem))).unwrap();
    let ground = &r.site.ground;
    std::thread::scope(|s| {
        for n in 0..4 {
            let carried = &carried;
            let (x, y) = (500_010.0 + 20.0 * n as f64, 5_800_003.0);
            let (rx, ry) = carried(x, y);
            s.spawn(move || {
                let z = ground.level(coord! {x: x, y: y}).unwrap();
                assert!((z - level(x0, y0, rx, ry)).abs() < 1e-4, "{z}");
            });
        }
    });
}

#[test]
fn a_raster_in_feet_under_a_job_in_feet() {
    let folder = Folder::new();
    let (x0, y0) = (999_900.0, 200_200.0);
    let dem = plane(&folder, "GTiff", "dem.tif", "EPSG:2263", (x0, y0));
    let site = folder.gpkg(&[
        layer("routes", &["LINESTRING (1000000 200000, 1000100 200000)"]).crs("EPSG:2263"),
    ]);
    let source = LayerSource {
        z_unit: Some("us-ft".into()),
        ..file(dem)
    };
    let r = read_with(&site, &naming(Role::Ground, source)).unwrap();
    let foot = 1200.0 / 3937.0;
    let z = r
        .site
        .ground
        .level(coord! {x: 1_000_050.0 * foot, y: 200_010.0 * foot})
        .unwrap();
    assert!(
        (z / foot - level(x0, y0, 1_000_050.0, 200_010.0)).abs() < 1e-3,
        "{z}"
    );
}

#[test]
fn a_gridded_coverage_of_the_site_itself_fills_the_role_by_its_name() {
    let folder = Folder::new();
    let (x0, y0) = (499_900.0, 5_800_200.0);
    let dem = plane(&folder, "GTiff", "dem.tif", "EPSG:25832", (x0, y0));
    // GDAL keeps whole numbers in PNG tiles.
    for (format, tolerance) in [("TIFF", 1e-4), ("PNG", 0.5)] {
        let site = folder.gpkg(&[route()]);
        let options = [
            "APPEND_SUBDATASET=YES",
            "RASTER_TABLE=ground",
            &format!("TILE_FORMAT={format}"),
        ];
        let options = RasterCreationOptions::from_iter(options);
        let gpkg = DriverManager::get_driver_by_name("GPKG").unwrap();
        gdal::Dataset::open(&dem)
            .unwrap()
            .create_copy(&gpkg, &site, &options)
            .unwrap()
            .close()
            .unwrap();
        let r = read(&site).unwrap();
        let (x, y) = (500_050.0, 5_800_001.0);
        let z = r.site.ground.level(coord! {x: x, y: y}).unwrap();
        assert!(
            (z - level(x0, y0, x, y)).abs() < tolerance,
            "{format}: {z} {}",
            level(x0, y0, x, y)
        );
        std::fs::remove_file(site).unwrap();
    }
}

#[test]
fn points_are_read_whole_and_a_level_goes_before_z() {
    let far = [
        "POINT Z (499000 5799000 10)",
        "POINT Z (501000 5799000 10)",
        "POINT Z (501000 5801000 10)",
        "POINT Z (499000 5801000 99)",
    ];
    let level = [V::Null, V::Null, V::Null, V::R(10.0)];
    let bare = layer("routes", &["LINESTRING (500000 5800000, 500100 5800000)"]);
    let r = read_layers(&[bare, layer("ground", &far).column("level_m", REAL, &level)]).unwrap();
    let z = r
        .site
        .ground
        .level(coord! {x: 500_050.0, y: 5_800_020.0})
        .unwrap();
    assert!((z - 10.0).abs() < 1e-9, "{z}");
    assert_eq!(
        r.site.ground.level(coord! {x: 498_000.0, y: 5_800_020.0}),
        None
    );
}

#[test]
fn without_a_layer_the_routes_give_the_ground_or_nothing_does() {
    let r = read_layers(&[route()]).unwrap();
    assert_eq!(
        r.site.ground.level(coord! {x: 500_050.0, y: 5_800_003.0}),
        Some(10.5)
    );
    let bare = layer(
        "routes",
        &["LINESTRING Z (500000 5800000 0, 500100 5800000 0)"],
    );
    let e = read_layers(&[bare]).unwrap_err();
    assert_eq!(*e.problem, Problem::NoGround);
}

#[test]
fn a_raster_elsewhere_or_too_few_points_stop() {
    let folder = Folder::new();
    let dem = plane(
        &folder,
        "GTiff",
        "dem.tif",
        "EPSG:25832",
        (600_000.0, 5_800_200.0),
    );
    let site = folder.gpkg(&[route()]);
    let e = read_with(&site, &naming(Role::Ground, file(dem))).unwrap_err();
    assert!(e.to_string().contains("it does not cover the site"), "{e}");
    let e = read_layers(&[route(), layer("ground", &["POINT Z (500000 5800000 1)"])]).unwrap_err();
    assert!(
        e.to_string()
            .contains("1 points with levels, and no triangle"),
        "{e}"
    );
}

#[test]
fn the_raster_reaches_to_the_far_corner_of_a_building_that_reaches_in() {
    let folder = Folder::new();
    let (x0, y0) = (499_900.0, 5_800_200.0);
    let dem = plane(&folder, "GTiff", "dem.tif", "EPSG:25832", (x0, y0));
    let long = "POLYGON ((500000 5800005, 500010 5800005, 500010 5800150, 500000 5800150, 500000 5800005))";
    let site = folder.gpkg(&[route(), layer("buildings", &[long])]);
    let layers = naming(Role::Ground, file(dem));
    let near = pitwright::read::Request {
        around_m: 10.0,
        all_obstacles: false,
        ..plan(&layers)
    };
    let r = pitwright::read::site(&site, &near, &mut |_| {}).unwrap();
    assert!(
        r.site
            .ground
            .level(coord! {x: 500_000.0, y: 5_800_150.0})
            .is_some()
    );
}
