//! Joined routes on the command line.

use crate::place::Place;
use rusqlite::{Connection, types::Value};
use std::path::Path;

/// The rows of every layer that a plan wrote, in their order.
fn rows(file: &Path) -> Vec<(String, Vec<Vec<Value>>)> {
    let file = Connection::open(file).expect("opens");
    let list =
        "SELECT table_name FROM gpkg_contents WHERE table_name <> 'pitwright_runs' ORDER BY 1";
    let of = |name: &String| {
        let mut all = file
            .prepare(&format!("SELECT * FROM \"{name}\""))
            .expect("a table");
        let n = all.column_count();
        let read = all.query_map([], |r| {
            (0..n).map(|i| r.get(i)).collect::<Result<Vec<Value>, _>>()
        });
        read.expect("rows")
            .collect::<Result<Vec<_>, _>>()
            .expect("rows")
    };
    let names = column(&file, list);
    names.iter().map(|n| (n.clone(), of(n))).collect()
}

/// The one column that a query gives.
fn column(file: &Connection, query: &str) -> Vec<String> {
    let mut all = file.prepare(query).expect("a query");
    let all = all.query_map([], |r| r.get(0)).expect("rows");
    all.collect::<Result<_, _>>().expect("text")
}

#[test]
fn a_tree_is_planned_as_one_and_any_number_of_threads_gives_the_same_rows() {
    let place = Place::coarse("osier-hollow");
    let mut seen = vec![];
    for threads in ["1", "2"] {
        let out = format!("plan{threads}.gpkg");
        let ran = place.run(&format!(
            "plan osier-hollow.gpkg --out {out} --json --threads {threads}"
        ));
        assert_eq!(ran.code, 0, "{}", ran.err);
        let routes = ran.json()["routes"].as_array().cloned().expect("routes");
        assert!(
            routes.iter().all(|r| r["status"] == "planned"),
            "{routes:?}"
        );
        seen.push(rows(&place.path(&out)));
    }
    assert!(
        seen[0]
            .iter()
            .any(|(name, rows)| name == "proposed_bores" && rows.len() > 4)
    );
    assert_eq!(seen[0], seen[1]);
}

#[test]
fn a_branch_that_does_not_reach_the_route_it_joins_is_exit_3() {
    let place = Place::coarse("osier-hollow");
    let file = Connection::open(place.path("osier-hollow.gpkg")).expect("opens");
    // The triggers of the spatial index call functions that SQLite alone does not have.
    let triggers = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'routes'";
    for name in column(&file, triggers) {
        let drop = format!("DROP TRIGGER \"{name}\"");
        file.execute(&drop, []).expect("drops");
    }
    let changed = file.execute(
        "UPDATE routes SET joins = 'CLOSE' WHERE route_id = 'RANK'",
        [],
    );
    assert_eq!(changed.expect("updates"), 1);
    place
        .run("plan osier-hollow.gpkg --out plan.gpkg")
        .refused(3, &["routes fid", "joins", "'CLOSE'", "search.snap_m = "]);
    assert!(!place.path("plan.gpkg").exists());
}
