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
    let job = String::from_utf8(place.bytes("osier-hollow.job.toml")).expect("UTF-8");
    let wide = job.replace("corridor_m = 0.0", "corridor_m = 0.5");
    assert_ne!(job, wide);
    place.write("osier-hollow.job.toml", &wide);
    let mut seen = vec![];
    for threads in ["1", "2", "5"] {
        let folder = format!("with-{threads}");
        std::fs::create_dir(place.path(&folder)).expect("a folder");
        let ran = place.run(&format!(
            "plan osier-hollow.gpkg --out {folder}/plan.gpkg --json --threads {threads}"
        ));
        assert_eq!(ran.code, 0, "{}", ran.err);
        let mut document = ran.json();
        let routes = document["routes"].as_array().cloned().expect("routes");
        assert!(
            routes.iter().all(|r| r["status"] == "planned"),
            "{routes:?}"
        );
        // Only how long it took may differ.
        let said = document.as_object_mut().expect("an object");
        assert!(said.remove("seconds").is_some() && said.remove("stages").is_some());
        let said = document.to_string().replace(&folder, "");
        seen.push((rows(&place.path(&format!("{folder}/plan.gpkg"))), said));
    }
    for (layer, many) in [("proposed_bores", 4), ("test_holes", 0)] {
        let of = seen[0].0.iter().find(|(name, _)| name == layer);
        assert!(of.is_some_and(|(_, rows)| rows.len() > many), "{layer}");
    }
    assert!(seen.iter().all(|s| *s == seen[0]));
}

#[test]
fn a_route_that_follows_a_service_which_is_not_there_is_exit_3() {
    let place = Place::coarse("osier-hollow");
    let db = place.opened("osier-hollow.gpkg");
    let asked = "SELECT name FROM pragma_table_info('routes') WHERE name = 'follows'";
    if column(&db, asked).is_empty() {
        let added = db.execute("ALTER TABLE routes ADD COLUMN follows TEXT", []);
        added.expect("a column more");
    }
    let last = column(&db, "SELECT CAST(max(fid) AS TEXT) FROM services");
    let beyond = last[0].parse::<i64>().expect("a number") + 1;
    let follow = |fid: i64| {
        let sql = format!("UPDATE routes SET follows = 'services/{fid}' WHERE route_id = 'RANK'");
        assert_eq!(db.execute(&sql, []).expect("updates"), 1);
    };
    follow(beyond);
    let named = format!("services fid {beyond} to follow");
    place
        .run("plan osier-hollow.gpkg --out plan.gpkg")
        .refused(3, &["routes fid", "follows", &named]);
    assert!(!place.path("plan.gpkg").exists());
    follow(beyond - 1);
    let ran = place.run("plan osier-hollow.gpkg --out plan.gpkg");
    assert_eq!(ran.code, 0, "{}", ran.err);
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
