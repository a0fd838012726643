//! What a map shows of a layer.

use geo::Coord;
use serde_json::Value as Json;

/// Most features of a layer that are drawn at a time.
pub const MOST_THINGS: usize = 4_000;
/// Most features of a result layer, each of which is a sign, that are drawn at a time.
pub const MOST_SIGNS: usize = 1_000;

/// A feature. Places in metres of the job.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Thing {
    /// Feature id.
    pub fid: i64,
    /// Points.
    pub points: Vec<Coord<f64>>,
    /// Lines.
    pub lines: Vec<Vec<Coord<f64>>>,
    /// Areas, each its rings, the outer one first.
    pub areas: Vec<Vec<Vec<Coord<f64>>>>,
    /// The line has levels.
    pub levels: bool,
    /// Name in the interface and value, of the columns that are there.
    pub cells: Vec<(&'static str, Json)>,
}

/// A layer in a window.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The part that it plays, or its own name where it is a result.
    pub part: &'static str,
    /// Its table.
    pub layer: String,
    /// Its features by fid, or why they are not drawn.
    pub things: Result<Vec<Thing>, NotDrawn>,
    /// Features whose shape cannot be read.
    pub broken: usize,
}

/// Why a layer is not drawn. Half of one never is: whoever sees a part would take it for the whole.
#[derive(Debug, Clone, PartialEq)]
pub enum NotDrawn {
    /// More lies in the window than a page can show.
    TooMany,
    /// It cannot be read.
    Unreadable(String),
}

impl Thing {
    /// A word of it; empty where there is none.
    pub fn word(&self, column: &str) -> &str {
        let cell = self.cells.iter().find(|c| c.0 == column);
        cell.and_then(|c| c.1.as_str()).unwrap_or_default()
    }

    /// Its vertices.
    pub fn vertices(&self) -> impl Iterator<Item = &Coord<f64>> {
        let lines = self.lines.iter().flatten();
        let areas = self.areas.iter().flatten().flatten();
        self.points.iter().chain(lines).chain(areas)
    }
}
