//! One run of `check`, and the rows that it wrote.

use rusqlite::{Connection, Row, types::FromSql};
use serde_json::Value;
use std::{path::Path, process::Command};

/// A row of `bore_conflicts`, as far as the reference knows it.
pub struct Conflict {
    pub bore_id: Option<String>,
    pub obstacle: String,
    pub source_layer: Option<String>,
    pub source_fid: Option<i64>,
    pub encounter: Option<String>,
    pub verdict: String,
    pub depth_known: Option<bool>,
    pub chainage_m: Option<f64>,
    pub angle_deg: Option<f64>,
    pub clearance_m: f64,
    pub required_m: f64,
    pub allowance_m: f64,
    pub margin_m: f64,
    pub p_contact: Option<f64>,
}

/// What a run came to.
pub struct Checked {
    pub code: i32,
    pub said: Value,
    pub rows: Vec<Conflict>,
    pub holes: i64,
}

/// Runs `check` on `folder/name.gpkg` with the job beside it; the result goes to `out`.
pub fn check(folder: &Path, name: &str, table: &str, out: &Path) -> Checked {
    let run = Command::new(env!("CARGO_BIN_EXE_pitwright"))
        .arg("check")
        .arg(folder.join(format!("{name}.gpkg")))
        .args(["--bores", table, "--json", "--quiet", "--job"])
        .arg(folder.join(format!("{name}.job.toml")))
        .arg("--out")
        .arg(out)
        .output()
        .expect("the program runs");
    let text = String::from_utf8_lossy(&run.stdout);
    let said = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{name}: {e}: {text}"));
    let code = run.status.code().expect("it was not killed");
    assert!(code <= 1, "{name}: exit {code}: {text}");
    let file = Connection::open(out).expect("the result opens");
    Checked {
        code,
        said,
        rows: conflicts(&file),
        holes: file
            .query_row("SELECT count(*) FROM test_holes", [], |r| r.get(0))
            .expect("there is a layer of test holes"),
    }
}

fn conflicts(file: &Connection) -> Vec<Conflict> {
    let mut all = file
        .prepare("SELECT * FROM bore_conflicts ORDER BY rowid")
        .expect("there is a layer of conflicts");
    all.query_map([], |r| Ok(conflict(r)))
        .expect("its rows can be read")
        .map(|r| r.expect("a row"))
        .collect()
}

fn conflict(r: &Row) -> Conflict {
    Conflict {
        bore_id: of(r, "bore_id"),
        obstacle: of(r, "obstacle"),
        source_layer: of(r, "source_layer"),
        source_fid: of(r, "source_fid"),
        encounter: of(r, "encounter"),
        verdict: of(r, "verdict"),
        depth_known: of(r, "depth_known"),
        chainage_m: of(r, "chainage_m"),
        angle_deg: of(r, "angle_deg"),
        clearance_m: of(r, "clearance_m"),
        required_m: of(r, "required_m"),
        allowance_m: of(r, "allowance_m"),
        margin_m: of(r, "margin_m"),
        p_contact: of(r, "p_contact"),
    }
}

fn of<T: FromSql>(r: &Row, column: &str) -> T {
    r.get(column).unwrap_or_else(|e| panic!("{column}: {e}"))
}
