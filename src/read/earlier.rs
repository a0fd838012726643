//! What an earlier check found, read back from its layers.

use super::Problem;
use super::fault::{Place, ReadError};
use super::geopackage::GeoPackage;
use super::opening::Opened;
use super::store::unreadable;
use super::wkb;
use crate::check::{Earlier, Outcome};
use crate::clearance::{Encounter, Verdict};
use crate::plan::{Obstacle, Point3};
use crate::site::CrsInfo;
use geo::Coord;
use rusqlite::{OptionalExtension, Row};
use std::path::Path;

/// The layer that is read.
const LAYER: &str = "bore_conflicts";

/// Which earlier check is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// The run of this number; its rows must still be there.
    Run(i64),
    /// Whichever wrote last.
    Last,
}

/// The rows of bores that an earlier run wrote, in their order, in metres, and the system that they are in.
///
/// # Errors
/// No such run, or a later one that has written the layer anew; a file that holds no such rows or cannot be read.
pub fn earlier(path: &Path, which: Which) -> Result<(Vec<Earlier>, Option<CrsInfo>), ReadError> {
    super::hush();
    if !path.is_file() {
        return Err(ReadError::new(Place::file(path), Problem::NoFile));
    }
    let none = || ReadError::new(Place::file(path), Problem::NoEarlierRows);
    if !super::opening::is_sqlite(path) {
        return Err(none());
    }
    let file = GeoPackage::of(path, Opened::new(path)?)?.ok_or_else(none)?;
    if let Which::Run(run_id) = which {
        still_there(&file, path, run_id)?;
    }
    let head = file
        .layers
        .iter()
        .find(|l| l.name == LAYER)
        .ok_or_else(none)?;
    let crs = head.crs.as_ref().map(|c| c.info.clone());
    let unit_m = crs.as_ref().map_or(1.0, |c| c.unit_m);
    let rows = rows(&file, unit_m).map_err(|e| unreadable(path, Some(LAYER), e))?;
    Ok((rows, crs))
}

/// The run is a check, and no later run has written the layer.
fn still_there(file: &GeoPackage, path: &Path, run_id: i64) -> Result<(), ReadError> {
    let place = || Place::file(path).layer("pitwright_runs");
    let fail = |e: rusqlite::Error| unreadable(path, Some("pitwright_runs"), e);
    let wrong = |problem| Err(ReadError::new(place(), problem));
    let known = || -> Result<Vec<String>, ReadError> {
        let sql = "SELECT '' || run_id FROM pitwright_runs WHERE command = 'check' ORDER BY run_id";
        let ids = || -> rusqlite::Result<Vec<String>> {
            file.opened
                .db
                .prepare(sql)?
                .query_map([], |r| r.get(0))?
                .collect()
        };
        ids().map_err(fail)
    };
    let sql = "SELECT count(*) FROM sqlite_master WHERE name = 'pitwright_runs'";
    let db = &file.opened.db;
    if db
        .query_row(sql, [], |r| r.get::<_, i64>(0))
        .map_err(fail)?
        == 0
    {
        return wrong(Problem::NoSuchRun {
            run_id,
            known: vec![],
        });
    }
    let sql = "SELECT command FROM pitwright_runs WHERE run_id = ?1";
    let command: Option<String> = db
        .query_row(sql, [run_id], |r| r.get(0))
        .optional()
        .map_err(fail)?;
    match command {
        None => {
            return wrong(Problem::NoSuchRun {
                run_id,
                known: known()?,
            });
        }
        Some(command) if command != "check" => {
            return wrong(Problem::NotACheck {
                run_id,
                command,
                known: known()?,
            });
        }
        Some(_) => {}
    }
    let sql = "SELECT max(run_id) FROM pitwright_runs WHERE ',' || layers || ',' LIKE '%,bore_conflicts,%'";
    let last: Option<i64> = db.query_row(sql, [], |r| r.get(0)).map_err(fail)?;
    match last {
        Some(by) if by != run_id => wrong(Problem::RunOverwritten { run_id, by }),
        _ => Ok(()),
    }
}

fn rows(file: &GeoPackage, unit_m: f64) -> rusqlite::Result<Vec<Earlier>> {
    let mut ask = file.opened.db.prepare(
        "SELECT bore_id, obstacle, source_layer, source_fid, kind, owner, encounter, chainage_m, verdict, clearance_m,
                margin_m, p_contact, geom
         FROM bore_conflicts WHERE bore_id IS NOT NULL ORDER BY fid",
    )?;
    ask.query_map([], |r| row(r, unit_m))?.collect()
}

fn row(r: &Row, unit_m: f64) -> rusqlite::Result<Earlier> {
    let text = |i: usize| r.get::<_, Option<String>>(i);
    let layer = text(2)?;
    let blob: Option<Vec<u8>> = r.get(12)?;
    Ok(Earlier {
        bore_id: r.get(0)?,
        obstacle: obstacle(&text(1)?.unwrap_or_default()),
        source: layer.zip(r.get::<_, Option<i64>>(3)?),
        kind: text(4)?.and_then(|k| k.parse().ok()),
        owner: text(5)?,
        encounter: match text(6)?.as_deref() {
            Some("crossing") => Some(Encounter::Crossing),
            Some("parallel") => Some(Encounter::Parallel),
            _ => None,
        },
        chainage_m: r.get::<_, Option<f64>>(7)?.unwrap_or(0.0),
        outcome: Outcome {
            verdict: verdict(&text(8)?.unwrap_or_default()),
            clearance_m: r.get(9)?,
            margin_m: r.get(10)?,
            p_contact: r.get(11)?,
        },
        point: point(blob.as_deref(), unit_m),
    })
}

fn obstacle(word: &str) -> Obstacle {
    match word {
        "building" => Obstacle::Building,
        "tree" => Obstacle::Tree,
        "lot" => Obstacle::Lot,
        "keepout" => Obstacle::Keepout,
        "ground" => Obstacle::Ground,
        _ => Obstacle::Service,
    }
}

/// A word that is not known counts as the worst.
fn verdict(word: &str) -> Verdict {
    match word {
        "prove" => Verdict::Prove,
        "watch" => Verdict::Watch,
        "clear" => Verdict::Clear,
        _ => Verdict::Clash,
    }
}

fn point(blob: Option<&[u8]>, unit_m: f64) -> Point3 {
    let parsed = blob.and_then(|b| wkb::geopackage(b).ok());
    let shape = parsed.and_then(|(bytes, _)| wkb::parse(bytes, 0.01).ok());
    let vertex = shape.and_then(|s| s.points.first().copied());
    let (x, y, z) = vertex.map_or((0.0, 0.0, 0.0), |v| (v.x, v.y, v.z));
    Point3 {
        at: Coord {
            x: x * unit_m,
            y: y * unit_m,
        },
        level: z,
    }
}
