//! What a look at a file brings up.

use crate::fixture::*;
use pitwright::job::{Layers, Role};
use pitwright::read::{self, Inspection, Plays, Problem};

fn look(layers: &[L]) -> Inspection {
    look_with(layers, &Layers::default())
}

fn look_with(layers: &[L], job: &Layers) -> Inspection {
    let folder = Folder::new();
    read::inspect(&folder.gpkg(layers), &plan(job)).unwrap()
}

fn said(i: &Inspection) -> Vec<String> {
    let name = |f: &read::Fault| {
        f.to_string()
            .rsplit_once("site.gpkg: ")
            .map(|s| s.1.to_string())
            .unwrap_or(f.to_string())
    };
    i.faults.iter().map(name).collect()
}

#[test]
fn every_layer_is_listed_with_the_part_it_plays() {
    let line = "LINESTRING (500010 5799990, 500010 5800010)";
    let i = look(&[
        route(),
        layer("gas_pipes", &[line, line])
            .column("medium", TEXT, &[V::T("gas"); 2])
            .column("diameter", TEXT, &[V::T("100"); 2]),
        layer("proposed_bores", &[line]),
        layer("notes", &["POINT (500000 5800000)"]),
    ]);
    let plays: Vec<_> = i
        .layers
        .iter()
        .map(|l| (l.name.as_str(), l.plays, l.features))
        .collect();
    assert_eq!(
        plays,
        [
            ("routes", Plays::ByName(Role::Routes), 1),
            ("gas_pipes", Plays::Guess(Role::Services), 2),
            ("proposed_bores", Plays::Result, 1),
            ("notes", Plays::Nothing, 1),
        ]
    );
    let guess = &i.guess.by_role[&Role::Services][0];
    assert_eq!(
        (
            guess.table.as_deref(),
            guess.columns["kind"].as_str(),
            guess.columns["diameter_mm"].as_str()
        ),
        (Some("gas_pipes"), "medium", "diameter")
    );
    assert_eq!(i.crs.unwrap().authority.as_deref(), Some("EPSG:25832"));
}

#[test]
fn a_site_without_streets_is_told_of() {
    let street = "LINESTRING (500000 5800010, 500100 5800010)";
    let none = said(&look(&[route()]));
    assert!(has(&none, "every pit counts as dug by machine"), "{none:?}");
    let one = said(&look(&[route(), layer("streets", &[street])]));
    assert!(!has(&one, "every pit counts as dug by machine"), "{one:?}");
}

#[test]
fn problems_are_found_far_from_the_routes_too() {
    let far = "LINESTRING (900000 5799990, 900000 5800010)";
    let dot = "LINESTRING (900000 5799990, 900000 5799990)";
    let i = look(&[
        route(),
        layer("services", &[far, far, dot])
            .column("kind", TEXT, &[V::T("gas"), V::T("gas"), V::T("oil")])
            .column("diameter_mm", TEXT, &[V::T("4\""), V::T("100"), V::Null]),
    ]);
    let said = said(&i);
    for piece in [
        "services fid 1: diameter_mm: '4\"' is not a plain number",
        "services fid 3: kind: 'oil' is none of",
        "services fid 2: is the same as fid 1",
        "services fid 3: a line of no length",
        "services: 3 of 3 have no depth",
        "services: 2 of 3 have no diameter_mm",
        "services: 3 of 3 have no quality",
    ] {
        assert!(has(&said, piece), "{piece}: {said:#?}");
    }
}

#[test]
fn all_that_stops_a_plan_is_listed_and_not_only_the_first() {
    let two =
        "MULTILINESTRING ((500000 5800000, 500001 5800000), (500002 5800000, 500003 5800000))";
    let area = "POLYGON ((500000 5800000, 500010 5800000, 500010 5800010, 500000 5800000))";
    let i = look(&[
        layer(
            "routes",
            &[two, "", "LINESTRING (500000 5800000, 500001 5800000)"],
        )
        .column("joins", TEXT, &[V::Null, V::Null, V::T("Z")]),
        layer("surfaces", &[area]),
        layer("lots", &[area]),
    ]);
    let said = said(&i);
    for piece in [
        "routes fid 1: has 2 parts",
        "routes fid 2: has no geometry",
        "there is no route 'Z'",
        "surfaces: surface: the column",
        "no source of ground",
        "lots: 1 of 1 have no entry",
    ] {
        assert!(has(&said, piece), "{piece}: {said:#?}");
    }
}

#[test]
fn routes_that_climb_or_leave_the_ground_are_told_of() {
    let spots = [
        "POINT Z (499990 5799990 1)",
        "POINT Z (500110 5799990 13)",
        "POINT Z (500050 5800100 7)",
    ];
    let i = look(&[
        layer(
            "routes",
            &[
                "LINESTRING (500010 5800000, 500090 5800000)",
                "LINESTRING (500010 5800000, 500510 5800000)",
            ],
        ),
        layer("ground", &spots),
    ]);
    let said = said(&i);
    assert!(
        has(&said, "routes fid 1: the ground rises by 8.00 m"),
        "{said:#?}"
    );
    assert!(
        has(&said, "routes fid 2: no ground level at its downstream end"),
        "{said:#?}"
    );
}

#[test]
fn a_file_in_degrees_is_still_looked_at() {
    let i = look(&[
        layer("routes", &["LINESTRING Z (9.0 52.35 2, 9.001 52.35 1)"]).crs("EPSG:4326"),
        layer("trees", &["", "POINT (9 52.35)"]).crs("EPSG:4326"),
    ]);
    assert_eq!(i.crs, None);
    assert!(
        i.faults
            .iter()
            .any(|f| matches!(f.problem, Problem::Geographic { .. }))
    );
    assert!(has(&said(&i), "trees fid 1: has no geometry"));
    assert!(i.faults.iter().all(|f| !f.remedy().is_empty()));
}
