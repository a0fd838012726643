//! Which layer plays which role, and the names that lead from one to another.

use crate::fixture::*;
use pitwright::job::{LayerSource, Layers, Role};
use pitwright::read::Problem;

const GAS: &str = "LINESTRING (500010 5799990, 500010 5800010)";

fn mains(name: &'static str) -> L {
    layer(name, &[GAS])
        .column("medium", TEXT, &[V::T("gas")])
        .column("dia", TEXT, &[V::T("110")])
}

fn mapped(name: &str, pairs: &[(&str, &str)]) -> LayerSource {
    let columns = pairs
        .iter()
        .map(|(a, b)| (a.to_string(), b.to_string()))
        .collect();
    LayerSource {
        columns,
        ..table(name)
    }
}

#[test]
fn several_layers_share_the_services_in_the_order_of_the_job() {
    let folder = Folder::new();
    let path = folder.gpkg(&[route(), mains("a"), mains("b")]);
    let mut layers = Layers::default();
    let map = [("kind", "medium"), ("diameter_mm", "dia")];
    layers
        .by_role
        .insert(Role::Services, vec![mapped("b", &map), mapped("a", &map)]);
    let r = read_with(&path, &layers).unwrap();
    assert_eq!(
        r.site
            .services
            .iter()
            .map(|s| s.at.to_string())
            .collect::<Vec<_>>(),
        ["b fid 1", "a fid 1"]
    );
    assert_eq!(r.site.services[0].diameter_mm, Some(110.0));
}

#[test]
fn a_layer_of_another_file_and_format_fills_a_role() {
    let folder = Folder::new();
    let path = folder.gpkg(&[route()]);
    let world = layer("trees", &["POINT (9.0001 52.35)", "POINT (9.0002 52.35)"]).crs("EPSG:4326");
    folder.file("GeoJSON", "trees.geojson", &[world]);
    let source = LayerSource {
        file: Some("trees.geojson".into()),
        ..LayerSource::default()
    };
    let r = read_with(&path, &naming(Role::Trees, source)).unwrap();
    assert_eq!(r.site.trees.len(), 2);
    assert!(
        (r.site.trees[0].points[0].x - 500_006.8).abs() < 0.1,
        "{:?}",
        r.site.trees[0].points
    );
}

#[test]
fn a_layer_or_column_that_is_not_there_is_named_with_the_nearest_first() {
    let folder = Folder::new();
    let path = folder.gpkg(&[route(), mains("gas_mains"), mains("x")]);
    let e = read_with(&path, &naming(Role::Services, mapped("gas_main", &[]))).unwrap_err();
    assert!(
        matches!(&*e.problem, Problem::NoLayer { known, .. } if known[0] == "gas_mains"),
        "{e}"
    );
    let e = read_with(
        &path,
        &naming(Role::Services, mapped("gas_mains", &[("kind", "mediums")])),
    )
    .unwrap_err();
    assert!(
        matches!(&*e.problem, Problem::NoColumn { known, .. } if known[0] == "medium"),
        "{e}"
    );
    let e = read_with(
        &path,
        &naming(Role::Services, mapped("gas_mains", &[("diametre", "dia")])),
    )
    .unwrap_err();
    assert!(
        matches!(&*e.problem, Problem::NoMeaning { known, .. } if known[0] == "diameter_mm"),
        "{e}"
    );
}

#[test]
fn a_required_column_that_is_missing_stops_with_file_layer_and_column() {
    let e = read_layers(&[route(), mains("services")]).unwrap_err();
    assert_eq!(
        (e.place.layer.as_deref(), e.place.column.as_deref()),
        (Some("services"), Some("kind"))
    );
    assert!(
        e.place.file.is_some() && e.remedy().contains("[layers.services] kind"),
        "{e}"
    );
    let area = "POLYGON ((500000 5800000, 500010 5800000, 500010 5800010, 500000 5800000))";
    let e = read_layers(&[route(), layer("surfaces", &[area])]).unwrap_err();
    assert_eq!(e.place.column.as_deref(), Some("surface"));
}

#[test]
fn without_routes_there_is_no_plan() {
    let e = read_layers(&[layer(
        "route",
        &["LINESTRING (500000 5800000, 500100 5800000)"],
    )])
    .unwrap_err();
    assert!(
        e.to_string().contains("no layer fills the role routes") && e.remedy().contains("route"),
        "{e}"
    );
    let e = read(std::path::Path::new("no-such-site.gpkg")).unwrap_err();
    assert_eq!(*e.problem, Problem::NoFile);
}

#[test]
fn result_layers_are_no_input() {
    let folder = Folder::new();
    let path = folder.gpkg(&[
        route(),
        layer("proposed_bores", &[GAS]).column("kind", TEXT, &[V::T("gas")]),
    ]);
    let e = read_with(&path, &naming(Role::Services, table("proposed_bores"))).unwrap_err();
    assert!(matches!(*e.problem, Problem::OwnLayer { .. }), "{e}");
}

#[test]
fn a_table_without_geometry_fills_no_role() {
    let mut plain = layer("trees", &[""]);
    plain.kind = gdal::vector::OGRwkbGeometryType::wkbNone;
    let e = read_layers(&[route(), plain]).unwrap_err();
    assert_eq!(
        (e.place.layer.as_deref(), e.problem.to_string().as_str()),
        (Some("trees"), "is not made of points")
    );
}

#[test]
fn a_site_without_services_is_told_of() {
    let said = all_faults(&read_layers(&[route(), mains("pipes")]).unwrap());
    assert!(has(&said, "no layer fills the role services"), "{said:?}");
    let filled = mains("services").column("kind", TEXT, &[V::T("gas")]);
    assert!(faults(&read_layers(&[route(), filled]).unwrap()).is_empty());
}

#[test]
fn a_site_without_streets_is_told_of() {
    let site =
        |streets: &[&'static str]| read_layers(&[route(), layer("streets", streets)]).unwrap();
    let none = all_faults(&read_layers(&[route()]).unwrap());
    assert!(has(&none, "no street is known"), "{none:?}");
    let empty = all_faults(&site(&[""]));
    assert!(has(&empty, "streets: no street is known"), "{empty:?}");
    assert!(!has(
        &all_faults(&site(&[FAR_STREET])),
        "no street is known"
    ));
}

const FAR_STREET: &str = "LINESTRING (509000 5800000, 509100 5800000)";

#[test]
fn streets_come_however_far_and_obstacles_on_demand() {
    let folder = Folder::new();
    let path = folder.gpkg(&[
        route(),
        layer("streets", &[FAR_STREET]),
        layer(
            "trees",
            &["POINT (500010 5800000)", "POINT (509000 5800000)"],
        ),
        layer("services", &[FAR_STREET]).column("kind", TEXT, &[V::T("gas")]),
    ]);
    let job = Layers::default();
    let near = read_with(&path, &job).unwrap().site;
    assert_eq!((near.streets.len(), near.trees.len()), (1, 1));
    let corner = |x: f64, y: f64| geo::coord! {x: x, y: y};
    let around = (corner(499900., 5799900.), corner(500200., 5800100.));
    assert_eq!(near.obstacles_within, Some(around));
    let asked = pitwright::read::Request {
        all_obstacles: true,
        ..plan(&job)
    };
    let all = pitwright::read::site(&path, &asked, &mut |_| {})
        .unwrap()
        .site;
    assert_eq!((all.trees.len(), all.services.len()), (2, 0));
    assert_eq!(all.obstacles_within, None);
    assert_eq!(near.extent, all.extent);
}

fn three(joins: [V; 3]) -> Result<pitwright::read::Reading, pitwright::read::ReadError> {
    let wkt = "LINESTRING Z (500000 5800000 11, 500100 5800000 10)";
    let ids = [V::T("A"), V::T("B"), V::T("C")];
    read_layers(&[layer("routes", &[wkt; 3])
        .column("route_id", TEXT, &ids)
        .column("joins", TEXT, &joins)])
}

#[test]
fn joins_must_lead_somewhere_and_not_in_a_circle() {
    assert!(three([V::Null, V::T("A"), V::T("B")]).is_ok());
    let why = |joins| *three(joins).unwrap_err().problem;
    assert!(matches!(
        why([V::T("Z"), V::Null, V::Null]),
        Problem::JoinsUnknown { .. }
    ));
    assert!(matches!(
        why([V::T("A"), V::Null, V::Null]),
        Problem::JoinsItself { .. }
    ));
    let circle = why([V::T("B"), V::T("C"), V::T("A")]);
    assert_eq!(
        circle.to_string(),
        "the routes join in a circle: A > B > C > A"
    );
    // A route that only leads into a circle is not in it.
    assert_eq!(
        why([V::T("B"), V::T("C"), V::T("B")]).to_string(),
        "the routes join in a circle: B > C > B"
    );
}

#[test]
fn a_route_id_twice_stops() {
    let wkt = "LINESTRING Z (500000 5800000 11, 500100 5800000 10)";
    let e = read_layers(&[layer("routes", &[wkt; 2]).column(
        "route_id",
        TEXT,
        &[V::T("A"), V::T("A")],
    )])
    .unwrap_err();
    assert_eq!(
        (e.place.fid, e.place.column.as_deref()),
        (Some(2), Some("route_id"))
    );
    // R2 by default, and R2 as typed.
    let e =
        read_layers(&[layer("routes", &[wkt; 2]).column("route_id", TEXT, &[V::T("R2"), V::Null])])
            .unwrap_err();
    assert!(
        matches!(&*e.problem, Problem::DuplicateId { other: 1, .. }),
        "{e}"
    );
}

#[test]
fn a_route_may_list_the_lots_that_drain_to_it() {
    let served = |listed| {
        let r = read_layers(&[route().column("serves", TEXT, &[V::T(listed)])]).unwrap();
        r.site.routes[0].serves.clone()
    };
    assert_eq!(served(" L2,L10 ,,L3"), ["L2", "L10", "L3"]);
    assert!(served(" ").is_empty());
}

#[test]
fn the_service_that_is_followed_must_be_there() {
    let with = |follows| {
        let services = layer("services", &[GAS]).column("kind", TEXT, &[V::T("sewer")]);
        read_layers(&[route().column("follows", TEXT, &[V::T(follows)]), services])
    };
    let r = with("services/1").unwrap();
    assert_eq!(
        r.site.routes[0].follows,
        Some(r.site.services[0].at.clone())
    );
    assert!(matches!(
        *with("services/2").unwrap_err().problem,
        Problem::FollowsMissing { fid: 2, .. }
    ));
    assert!(matches!(
        *with("old/pipes/1").unwrap_err().problem,
        Problem::FollowsMissing { fid: 1, .. }
    ));
    assert!(matches!(
        *with("services").unwrap_err().problem,
        Problem::FollowsForm { .. }
    ));
}

#[test]
fn the_digest_tells_of_what_was_read_and_of_nothing_else() {
    let read = |dia, name| {
        let folder = Folder::new();
        let services = layer("services", &[GAS])
            .column("kind", TEXT, &[V::T("gas")])
            .column("diameter_mm", TEXT, &[V::T(dia)]);
        let path = folder.file("GPKG", name, &[route(), services, layer("rail", &[GAS])]);
        read(&path)
            .unwrap()
            .inputs
            .into_iter()
            .map(|i| i.sha256)
            .collect::<Vec<_>>()
    };
    let (a, b, c) = (
        read("100", "one.gpkg"),
        read("100", "two.gpkg"),
        read("101", "one.gpkg"),
    );
    assert_eq!((a.len(), a[0].len(), &a), (2, 64, &b));
    assert!(a[0] == c[0] && a[1] != c[1]);
}

#[test]
fn bores_of_others_are_read_for_a_check_without_any_route() {
    let folder = Folder::new();
    let bores = layer(
        "design",
        &["LINESTRING Z (500000 5800000 8, 500040 5800000 7.5)"; 2],
    )
    .column("name", TEXT, &[V::T("B1"), V::Null])
    .column("launch", TEXT, &[V::T("ds"), V::Null])
    .column("dn_mm", WHOLE, &[V::I(150), V::Null]);
    let path = folder.gpkg(&[bores]);
    let layers = Layers::default();
    let need = pitwright::read::Need::Check(mapped("design", &[("bore_id", "name")]));
    let request = pitwright::read::Request {
        need,
        ..plan(&layers)
    };
    let r = pitwright::read::site(&path, &request, &mut |_| {}).unwrap();
    assert_eq!(
        (
            r.bores[0].bore_id.as_deref(),
            r.bores[0].launched_upstream,
            r.bores[0].dn_mm
        ),
        (Some("B1"), false, Some(150))
    );
    assert!(r.bores[1].launched_upstream && r.bores[1].parts[0].levels == Some(vec![8.0, 7.5]));
}
