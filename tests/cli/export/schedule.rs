//! The setting-out schedule.

use super::planned;
use crate::place::Place;
use std::collections::BTreeMap;

type Line = BTreeMap<String, String>;

/// Lines by the names of their columns; no cell of the sample has a comma.
fn lines(place: &Place, file: &str) -> Vec<Line> {
    let text = String::from_utf8(place.bytes(file)).expect("UTF-8");
    assert!(!text.contains('"'));
    let mut lines = text.split("\r\n").map(|l| l.split(',').map(String::from));
    let heads: Vec<String> = lines.next().expect("heads").collect();
    let line = |cells: Vec<String>| {
        assert_eq!(cells.len(), heads.len());
        heads.iter().cloned().zip(cells).collect()
    };
    let full = lines
        .map(Iterator::collect::<Vec<_>>)
        .filter(|l| l.len() > 1);
    full.map(line).collect()
}

fn number(line: &Line, column: &str) -> f64 {
    let cell = &line[column];
    cell.parse()
        .unwrap_or_else(|_| panic!("{column} is '{cell}'"))
}

/// A bore and its pits, as the file has them.
struct Row {
    us_invert_m: f64,
    ds_invert_m: f64,
    length_m: f64,
    id_mm: f64,
    easting: f64,
    ground_m: f64,
    floor_m: f64,
    is_upstream: bool,
}

fn row(place: &Place, bore: &str, pit: &str) -> Row {
    let db = rusqlite::Connection::open(place.path("plan.gpkg")).expect("opens");
    let sql = "SELECT us_invert_m, ds_invert_m, b.length_m, id_mm, easting, p.ground_m, floor_m, us_pit = pit_id
               FROM proposed_bores b, proposed_pits p WHERE bore_id = ?1 AND pit_id = ?2";
    let read = |r: &rusqlite::Row| {
        Ok(Row {
            us_invert_m: r.get(0)?,
            ds_invert_m: r.get(1)?,
            length_m: r.get(2)?,
            id_mm: r.get(3)?,
            easting: r.get(4)?,
            ground_m: r.get(5)?,
            floor_m: r.get(6)?,
            is_upstream: r.get(7)?,
        })
    };
    db.query_row(sql, [bore, pit], read)
        .expect("a bore at its pit")
}

#[test]
fn every_bore_is_set_out_at_both_its_pits() {
    let place = planned();
    let ran = place.run("export plan.gpkg --to csv -o out");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let lines = lines(&place, "out/plan-setting-out.csv");
    let db = rusqlite::Connection::open(place.path("plan.gpkg")).expect("opens");
    let count: i64 = db
        .query_row("SELECT count(*) FROM proposed_bores", [], |r| r.get(0))
        .expect("reads");
    assert_eq!(lines.len() as i64, 2 * count);
    for pair in lines.chunks(2) {
        assert_eq!(pair[0]["bore_id"], pair[1]["bore_id"]);
        assert_eq!([&pair[0]["end"], &pair[1]["end"]], ["launch", "reception"]);
    }
    for line in &lines {
        let it = row(&place, &line["bore_id"], &line["pit_id"]);
        let close = |column: &str, value: f64, by: f64| {
            let told = number(line, column);
            assert!(
                (told - value).abs() <= by,
                "{column} {told} {value} {line:?}"
            );
        };
        close("easting", it.easting, 0.000_06);
        close("ground_m", it.ground_m, 0.0006);
        let (column, empty) = match it.is_upstream {
            true => ("invert_out_m", "invert_in_m"),
            false => ("invert_in_m", "invert_out_m"),
        };
        let invert_m = if it.is_upstream {
            it.us_invert_m
        } else {
            it.ds_invert_m
        };
        close(column, invert_m, 0.0006);
        assert_eq!(line[empty], "");
        let (wall, other) = match line["end"].as_str() {
            "launch" => ("axis_launch_wall_m", "axis_reception_wall_m"),
            _ => ("axis_reception_wall_m", "axis_launch_wall_m"),
        };
        assert_eq!(line[other], "");
        // The axis runs straight between the two centres; the wall is where it leaves the rectangle.
        let turn = (number(line, "bearing_deg") - number(line, "pit_bearing_deg")).to_radians();
        let (half_length, half_width) = (
            number(line, "pit_length_m") / 2.0,
            number(line, "pit_width_m") / 2.0,
        );
        let inside =
            |d: f64| (d * turn.cos()).abs() <= half_length && (d * turn.sin()).abs() <= half_width;
        let steps = (0..100_000)
            .map(|i| f64::from(i) * 0.0001)
            .take_while(|d| inside(*d));
        let to_wall = steps.last().expect("the centre is inside");
        let share = to_wall / it.length_m;
        let share = if it.is_upstream { share } else { 1.0 - share };
        let axis_m = it.us_invert_m + (it.ds_invert_m - it.us_invert_m) * share + it.id_mm / 2000.0;
        close(wall, axis_m, 0.0007);
        // The grid of the sample shrinks lines by less than 4 in 10,000, and turns by less than 2 degrees.
        assert!(
            (number(line, "grid_scale") - 1.0).abs() < 4.1e-4,
            "{line:?}"
        );
        let turn = number(line, "true_bearing_deg") - number(line, "bearing_deg");
        let turn = (turn + 540.0).rem_euclid(360.0) - 180.0;
        assert!(turn.abs() < 2.0, "{line:?}");
        if line["end"] == "launch" {
            close("laser_height_m", axis_m - it.floor_m, 0.0007);
        }
    }
}

#[test]
fn what_governs_and_what_is_dug_first_stands_in_the_line() {
    let place = planned();
    assert_eq!(place.run("export plan.gpkg --to csv -o out").code, 0);
    let lines = lines(&place, "out/plan-setting-out.csv");
    let db = rusqlite::Connection::open(place.path("plan.gpkg")).expect("opens");
    let site = rusqlite::Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    let mut known = 0;
    for line in &lines {
        let sql = "SELECT group_concat(hole_id, ' ') FROM (SELECT hole_id FROM test_holes WHERE bore_id = ?1 ORDER BY fid)";
        let holes: Option<String> = db
            .query_row(sql, [&line["bore_id"]], |r| r.get(0))
            .expect("reads");
        assert_eq!(line["test_holes"], holes.unwrap_or_default());
        if line["controlling_layer"].is_empty() {
            continue;
        }
        let sql = format!(
            "SELECT quality FROM {} WHERE fid = {}",
            line["controlling_layer"], line["controlling_fid"]
        );
        let quality: Option<String> = site.query_row(&sql, [], |r| r.get(0)).expect("reads");
        known += usize::from(quality.is_some());
        assert_eq!(line["controlling_quality"], quality.unwrap_or_default());
    }
    assert!(known > 0);
}

#[test]
fn in_feet_levels_turn_and_coordinates_stay() {
    let place = planned();
    for unit in ["m", "ft", "us-ft"] {
        let ran = place.run(&format!(
            "export plan.gpkg --to csv -o {unit} --units {unit}"
        ));
        assert_eq!(ran.code, 0, "{}", ran.err);
    }
    let read = |unit: &str| lines(&place, &format!("{unit}/plan-setting-out.csv"));
    let metres = read("m");
    for (unit, word, foot) in [("ft", "ft", 0.3048), ("us-ft", "usft", 1200.0 / 3937.0)] {
        for (m, ft) in metres.iter().zip(&read(unit)) {
            let column = |name: &str| (format!("{name}_m"), format!("{name}_{word}"));
            for name in ["ground", "plan_length", "pit_floor"] {
                let (in_m, in_ft) = column(name);
                assert!((number(m, &in_m) / foot - number(ft, &in_ft)).abs() < 0.0025);
            }
            assert_eq!(
                (&m["easting"], &m["grade_percent"]),
                (&ft["easting"], &ft["grade_percent"])
            );
            let inches = number(m, "tolerance_mm") / foot / 1000.0 * 12.0;
            assert!((inches - number(ft, "tolerance_in")).abs() < 0.008);
        }
    }
}
