//! Services read in flat arrays are those that the general reader reads, fault by fault.

use crate::fixture::{Folder, L, REAL, TEXT, V, faults, layer, plan, read_with, table};
use pitwright::job::{LayerSource, Layers, Role};
use pitwright::read::{self, Need, Reading, Request};
use pitwright::site::Records;
use std::path::Path;

fn design() -> L {
    layer("design", &["LINESTRING (500000 5800000, 500100 5800000)"])
}

fn checked(path: &Path, layers: &Layers) -> Reading {
    let request = Request {
        need: Need::Check(table("design")),
        around_m: 20.0,
        ..plan(layers)
    };
    read::site(path, &request, &mut |_| {}).unwrap()
}

fn whole(path: &Path, layers: &Layers) -> Reading {
    let request = Request {
        need: Need::Routing,
        ..plan(layers)
    };
    read::site(path, &request, &mut |_| {}).unwrap()
}

fn same(a: &Records, b: &Records) {
    assert_eq!((&a.parts, &a.points), (&b.parts, &b.points));
    let said = |r: &Records| -> Vec<String> {
        r.all
            .iter()
            .map(|s| {
                format!(
                    "{} {:?} {:?} {:?} {:?} {:?}",
                    r.at(s),
                    s.kind,
                    s.quality,
                    s.diameter_mm,
                    s.cover_m,
                    r.owner(s)
                )
            })
            .collect()
    };
    assert_eq!(said(a), said(b));
    let means = |r: &Records| r.layers.iter().map(|l| l.z_means).collect::<Vec<_>>();
    assert_eq!(means(a), means(b));
}

/// Odd rows of every kind, all of them near the bore.
fn odd() -> L {
    let lines = [
        "LINESTRING Z (500010 5799990 8.5, 500010 5800010 8.5)",
        "LINESTRING (500020 5799990, 500020 5800010)",
        "MULTILINESTRING ((500030 5799990, 500030 5800010), (500031 5799990, 500031 5800010))",
        "LINESTRING Z (500040 5799990 0, 500040 5800010 0)",
        "LINESTRING M (500050 5799990 3, 500050 5800010 4)",
        "COMPOUNDCURVE (CIRCULARSTRING (500060 5799990, 500065 5800000, 500060 5800010))",
        "POINT (500070 5800000)",
        "",
        "GEOMETRYCOLLECTION (LINESTRING (500080 5799990, 500080 5800010))",
        "LINESTRING (500090 5799990, 500090 5800010)",
        "LINESTRING (500095 5799990, 500095 5800010)",
    ];
    let t = V::T;
    let kinds = [
        "gas", " Water ", "steam", "sewer", "", "gas", "gas", "gas", "gas", "gas", "fuel",
    ]
    .map(t);
    let diameters = [
        "110", "4\"", "-3", "", "0", "200", "1e3", "5", "6", "7", "8",
    ]
    .map(t);
    let covers = [
        V::R(1.0),
        V::R(-0.5),
        V::Null,
        V::R(0.0),
        V::R(f64::NAN),
        V::R(2.0),
        V::Null,
        V::Null,
        V::Null,
        V::Null,
        V::R(0.7),
    ];
    let qualities = ["A", "b", "E", "", "D", "C", "A", "A", "A", "A", " B"].map(t);
    let owners = [
        "Town",
        "  ",
        "",
        " Gas Board ",
        "Town",
        "x",
        "x",
        "x",
        "x",
        "x",
        "Town",
    ]
    .map(t);
    let statuses = [
        "",
        "in use",
        "REMOVED",
        "abandoned",
        " removed ",
        "x",
        "x",
        "x",
        "x",
        "removed",
        "x",
    ]
    .map(t);
    layer("services", &lines)
        .column("kind", TEXT, &kinds)
        .column("diameter_mm", TEXT, &diameters)
        .column("cover_m", REAL, &covers)
        .column("quality", TEXT, &qualities)
        .column("owner", TEXT, &owners)
        .column("status", TEXT, &statuses)
}

#[test]
fn rows_of_every_kind_are_as_the_general_reader_reads_them() {
    let folder = Folder::new();
    let path = folder.gpkg(&[odd(), design()]);
    for setting in ["", "ft"] {
        let mut layers = Layers::default();
        let source = LayerSource {
            z_unit: Some(setting.to_string()).filter(|s| !s.is_empty()),
            z_means: Some("invert".into()),
            ..table("services")
        };
        layers.by_role.insert(Role::Services, vec![source]);
        let (flat, general) = (checked(&path, &layers), whole(&path, &layers));
        assert!(flat.site.services.is_empty() && general.site.services.len() > 5);
        same(&flat.records, &Records::of(&general.site.services));
        let services = |r: &Reading| -> Vec<String> {
            faults(r)
                .into_iter()
                .filter(|f| f.contains("services"))
                .collect()
        };
        assert_eq!(services(&flat), services(&general));
        // A dirty diameter, a negative cover, a point, and nothing at all; what was removed has no faults.
        assert_eq!(services(&flat).len(), 4);
    }
}

#[test]
fn several_layers_other_systems_and_feet_come_in_order() {
    let gas = layer("gas", &["LINESTRING (500010 5799990, 500010 5800010)"]).column(
        "kind",
        TEXT,
        &[V::T("gas")],
    );
    let far = layer("old", &["LINESTRING (9.0 52.349, 9.0 52.351)"])
        .crs("OGC:CRS84")
        .column("kind", TEXT, &[V::T("water")]);
    let folder = Folder::new();
    let path = folder.gpkg(&[gas, far, design()]);
    let mut layers = Layers::default();
    layers
        .by_role
        .insert(Role::Services, vec![table("old"), table("gas")]);
    let request = Request {
        need: Need::Check(table("design")),
        around_m: 60.0,
        crs: Some("EPSG:25832"),
        ..plan(&layers)
    };
    let flat = read::site(&path, &request, &mut |_| {}).unwrap();
    let names: Vec<String> = flat
        .records
        .all
        .iter()
        .map(|r| flat.records.at(r).to_string())
        .collect();
    assert_eq!(names, ["old fid 1", "gas fid 1"]);
}

/// A long street of services, and a bore near one end of it.
fn street() -> L {
    let lines: Vec<&'static str> = (0..600)
        .map(|i| {
            let x = 500_000 + 10 * i;
            &*Box::leak(format!("LINESTRING ({x} 5799990, {x} 5800010)").into_boxed_str())
        })
        .collect();
    layer("services", &lines).column("kind", TEXT, &[V::T("gas"); 600])
}

fn sql(path: &Path, sql: &str) {
    rusqlite::Connection::open(path)
        .unwrap()
        .execute_batch(sql)
        .unwrap();
}

#[test]
fn by_the_index_and_without_it_the_same_is_read() {
    let folder = Folder::new();
    let path = folder.gpkg(&[street(), design()]);
    let layers = Layers::default();
    let by_index = checked(&path, &layers);
    assert!((10..20).contains(&by_index.records.all.len()));
    let digest = |r: &Reading| {
        r.inputs
            .iter()
            .find(|i| i.role == Role::Services)
            .map(|i| i.sha256.clone())
    };
    // Without its triggers an index is not trusted; then all is read.
    sql(&path, "DROP TRIGGER rtree_services_geom_delete");
    let without = checked(&path, &layers);
    same(&by_index.records, &without.records);
    assert_eq!(digest(&by_index), digest(&without));
    assert!(digest(&without).is_some());
}

#[test]
fn an_index_that_lacks_a_feature_hides_nothing() {
    let folder = Folder::new();
    let path = folder.gpkg(&[street(), design()]);
    let layers = Layers::default();
    let before = checked(&path, &layers);
    sql(&path, "DELETE FROM rtree_services_geom WHERE id = 5");
    same(&before.records, &checked(&path, &layers).records);
}

#[test]
fn a_view_is_read_the_general_way() {
    let folder = Folder::new();
    let path = folder.gpkg(&[street(), design()]);
    sql(
        &path,
        "CREATE VIEW mains AS SELECT fid, geom, kind FROM services WHERE fid < 4;
         INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id) VALUES ('mains', 'features', 'mains', 25832);
         INSERT INTO gpkg_geometry_columns VALUES ('mains', 'geom', 'GEOMETRY', 25832, 0, 0);",
    );
    let mut layers = Layers::default();
    layers.by_role.insert(Role::Services, vec![table("mains")]);
    assert_eq!(checked(&path, &layers).records.all.len(), 3);
    assert!(read_with(&path, &layers).is_err());
}

/// Bores of every kind of row.
fn odd_bores() -> L {
    let lines = [
        "LINESTRING Z (500010 5799990 8.5, 500010 5800010 8.25)",
        "MULTILINESTRING ((500030 5799990, 500030 5800010), (500031 5799990, 500031 5800010))",
        "LINESTRING Z (500040 5799990 0, 500040 5800010 0)",
        "COMPOUNDCURVE (CIRCULARSTRING (500060 5799990, 500065 5800000, 500060 5800010))",
        "POINT (500070 5800000)",
        "",
        "LINESTRING (500090 5799990, 500095 5800000, 500090 5800010)",
        "LINESTRING (500100 5799990, 500100 5800010)",
    ];
    let t = V::T;
    let ids = [" D1 ", "", "D3", "D4", "D5", "D6", "D7", "D8"].map(t);
    let sizes = ["150", "-3", "big", "", "100", "100", "100.4", "7"].map(t);
    let inverts = [0.5, -1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0].map(V::R);
    let launches = ["ds", "DS", "us", "sideways", "", "us", " us ", ""].map(t);
    let pits = ["A", "A", "A", "A", "A", "A", "A", "B"].map(t);
    layer("designs", &lines)
        .column("bore_id", TEXT, &ids)
        .column("dn_mm", TEXT, &sizes)
        .column("od_mm", REAL, &[V::R(160.0); 8])
        .column("us_invert_m", REAL, &inverts)
        .column("launch", TEXT, &launches)
        .column("launch_pit", TEXT, &pits)
        .column("us_pit", TEXT, &[V::T("A"); 8])
}

#[test]
fn bores_of_every_kind_of_row_are_as_the_general_reader_reads_them() {
    let folder = Folder::new();
    let path = folder.gpkg(&[odd_bores(), street()]);
    // A view is read the general way.
    sql(
        &path,
        "CREATE VIEW seen AS SELECT * FROM designs;
         INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id) VALUES ('seen', 'features', 'seen', 25832);
         INSERT INTO gpkg_geometry_columns VALUES ('seen', 'geom', 'GEOMETRY', 25832, 0, 0);",
    );
    let layers = Layers::default();
    let read = |name: &str| {
        let source = LayerSource {
            z_unit: Some("ft".into()),
            ..table(name)
        };
        let request = Request {
            need: Need::Check(source),
            around_m: 20.0,
            ..plan(&layers)
        };
        let reading = read::site(&path, &request, &mut |_| {}).unwrap();
        let bores: Vec<String> = (reading.bores.iter())
            .map(|b| format!("{b:?}").replace(name, "bores"))
            .collect();
        let told: Vec<String> = (faults(&reading).iter())
            .map(|f| f.replace(name, "bores"))
            .collect();
        let input = reading.inputs.iter().find(|i| i.role == Role::Bores);
        let input = input.map(|i| (i.features, i.sha256.clone())).unwrap();
        (bores, told, input, reading.site.extent)
    };
    let (quick, general) = (read("designs"), read("seen"));
    assert_eq!(quick, general);
    // Two have no line; what else is wrong is told of.
    assert_eq!(quick.0.len(), 6, "{:?}", quick.1);
    assert!(quick.1.len() >= 5, "{:?}", quick.1);
    assert_eq!(quick.2.0, 8);
}
