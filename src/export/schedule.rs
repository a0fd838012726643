//! The setting-out schedule: a line for each bore at each of its pits, as comma-separated values.
//!
//! Eastings and northings are in the job's system; all other lengths and levels in the unit asked for. Levels of the axis are
//! those of the pipe's centre line, half the inside diameter above the invert.

use super::{
    Feature, Layer, Shape, Unit, Value,
    axis::{Box, to_wall_m},
    cell::{number, words},
};
use crate::mechanics::setting_out::ellipsoid_line;

/// What the schedule takes beside bores and pits.
#[derive(Clone, Copy)]
pub struct Beside<'a> {
    /// `bore_conflicts`.
    pub conflicts: &'a Layer,
    /// `test_holes`.
    pub holes: &'a Layer,
    /// Quality level of a service, by layer and fid, as its record has it; empty where nobody knows.
    pub quality: &'a dyn Fn(&str, i64) -> String,
    /// `proposed_bores` in degrees on WGS 84, for the grid's scale and turn.
    pub degrees: &'a Layer,
}

/// What a column holds.
enum Cell {
    /// A word.
    Word(String),
    /// A number without a unit of length, with so many decimals.
    Number(Option<f64>, usize),
    /// Metres, with so many decimals.
    Length(Option<f64>, usize),
    /// Millimetres.
    Small(Option<f64>),
}

/// The schedule as the text of one file: bores in the order of the plan, each at its launch pit, then at its reception pit.
pub fn schedule(pits: &Layer, bores: &Layer, beside: &Beside, unit: Unit) -> String {
    let nobody = Feature {
        fid: 0,
        shape: None,
        values: vec![],
    };
    let line = |bore, end| line(&Ends::new(pits, bores, bore, end), beside);
    let mut text = heads(&line(&nobody, "launch"), unit);
    for bore in &bores.features {
        text.push_str(&cells(&line(bore, "launch"), unit));
        text.push_str(&cells(&line(bore, "reception"), unit));
    }
    text
}

/// A bore, seen from one of its pits.
struct Ends<'a> {
    pits: &'a Layer,
    bores: &'a Layer,
    bore: &'a Feature,
    end: &'static str,
    pit: Option<&'a Feature>,
    other: Option<&'a Feature>,
}

type Row = Vec<(&'static str, Cell)>;

impl<'a> Ends<'a> {
    fn new(pits: &'a Layer, bores: &'a Layer, bore: &'a Feature, end: &'static str) -> Ends<'a> {
        let at = |column| pits.find("pit_id", bores.word(bore, column));
        let (launch, reception) = (at("launch_pit"), at("reception_pit"));
        let (pit, other) = match end {
            "launch" => (launch, reception),
            _ => (reception, launch),
        };
        Ends {
            pits,
            bores,
            bore,
            end,
            pit,
            other,
        }
    }

    fn of_bore(&self, column: &str) -> Option<f64> {
        self.bores.number(self.bore, column)
    }

    fn word_of_bore(&self, column: &str) -> String {
        self.bores.word(self.bore, column).to_string()
    }

    fn of_pit(&self, column: &str) -> Option<f64> {
        self.pits.number(self.pit?, column)
    }

    fn word_of_pit(&self, column: &str) -> String {
        self.pit
            .map_or(String::new(), |pit| self.pits.word(pit, column).to_string())
    }

    fn yes_no(&self, column: &str) -> String {
        let value = self.pit.and_then(|pit| self.pits.value(pit, column));
        value.map_or(String::new(), Value::said)
    }

    fn is_launch(&self) -> bool {
        self.end == "launch"
    }

    /// Whether the bore arrives at this pit with the flow.
    fn arrives(&self) -> bool {
        self.pit.is_some() && self.word_of_bore("ds_pit") == self.word_of_pit("pit_id")
    }

    /// The bore's invert in the middle of this pit, where it arrives with the flow or leaves, as asked.
    fn invert_m(&self, arriving: bool) -> Option<f64> {
        let column = if arriving {
            "ds_invert_m"
        } else {
            "us_invert_m"
        };
        (self.arrives() == arriving).then(|| self.of_bore(column))?
    }

    /// Level of the axis where it passes the wall of this pit (m).
    fn axis_at_wall_m(&self) -> Option<f64> {
        let arrives = self.arrives();
        let centre_m = self.invert_m(arrives)? + self.of_bore("id_mm")? / 2000.0;
        let in_m = to_wall_m(&self.walls()?, self.of_bore("bearing_deg")?);
        // With the flow it falls: from an upstream pit on the way out, to a downstream pit on the way in.
        let fall_m = self.of_bore("grade")? * in_m;
        Some(if arrives {
            centre_m + fall_m
        } else {
            centre_m - fall_m
        })
        .filter(|z| z.is_finite())
    }

    fn walls(&self) -> Option<Box> {
        Some(Box {
            length_m: self.of_pit("length_m")?,
            width_m: self.of_pit("width_m")?,
            bearing_deg: self.of_pit("bearing_deg")?,
        })
    }

    /// Centre to centre, as the marks of the line stand.
    fn base_line(&self) -> String {
        let [here, there] =
            [self.pit, self.other].map(|pit| pit.map_or("", |p| self.pits.word(p, "pit_id")));
        format!("{here} to {there}")
    }
}

fn line(e: &Ends, beside: &Beside) -> Row {
    let nearest = nearest(e, beside.conflicts);
    let of_nearest = |column| nearest.map_or(String::new(), |c| said(beside.conflicts, c, column));
    let clearance = nearest.and_then(|c| beside.conflicts.number(c, "clearance_m"));
    let quality = nearest.map_or(String::new(), |c| quality(beside, c));
    let mut row = place(e);
    row.extend(drive(e));
    row.extend([
        (
            "min_clearance",
            Cell::Length(e.of_bore("min_clearance_m"), 3),
        ),
        ("controlling_layer", Cell::Word(of_nearest("source_layer"))),
        ("controlling_fid", Cell::Word(of_nearest("source_fid"))),
        ("controlling_kind", Cell::Word(of_nearest("kind"))),
        ("controlling_owner", Cell::Word(of_nearest("owner"))),
        ("controlling_quality", Cell::Word(quality)),
        ("controlling_clearance", Cell::Length(clearance, 3)),
        ("controlling_verdict", Cell::Word(of_nearest("verdict"))),
        ("test_holes", Cell::Word(holes(e, beside.holes))),
        ("trees", Cell::Word(trees(e, beside.conflicts))),
    ]);
    row.extend(pit(e));
    row.extend(on_ellipsoid(e, beside.degrees));
    row
}

/// The grid's scale along the drive (length on the grid by length on the ellipsoid), and the true bearing in its middle from
/// launch to reception; a line on the ground h above the ellipsoid is longer still by h by the earth's radius.
fn on_ellipsoid(e: &Ends, degrees: &Layer) -> Row {
    let line = || {
        let same = degrees.features.iter().find(|b| b.fid == e.bore.fid)?;
        let Some(Shape::Line(points)) = &same.shape else {
            return None;
        };
        let [us, ds] = [points.first()?, points.last()?].map(|p| [p.x, p.y]);
        let from_upstream = e.word_of_bore("us_pit") == e.word_of_bore("launch_pit");
        let (from, to) = if from_upstream { (us, ds) } else { (ds, us) };
        ellipsoid_line(from, to).ok()
    };
    let line = line();
    let scale = line.as_ref().zip(e.of_bore("length_m"));
    let scale = scale.map(|(line, length_m)| length_m / line.value());
    let bearing = line.and_then(|line| Some(line.term("α")?.value));
    vec![
        ("grid_scale", Cell::Number(scale, 8)),
        ("true_bearing_deg", Cell::Number(bearing, 5)),
    ]
}

/// Where the pit is, and the levels there.
fn place(e: &Ends) -> Row {
    vec![
        ("pit_id", Cell::Word(e.word_of_pit("pit_id"))),
        ("route_id", Cell::Word(e.word_of_bore("route_id"))),
        ("manhole", Cell::Word(e.yes_no("manhole"))),
        ("easting", Cell::Number(e.of_pit("easting"), 4)),
        ("northing", Cell::Number(e.of_pit("northing"), 4)),
        ("ground", Cell::Length(e.of_pit("ground_m"), 3)),
        ("bore_id", Cell::Word(e.word_of_bore("bore_id"))),
        ("end", Cell::Word(e.end.to_string())),
        ("invert_in", Cell::Length(e.invert_m(true), 3)),
        ("invert_out", Cell::Length(e.invert_m(false), 3)),
    ]
}

/// The line and grade that are set there.
fn drive(e: &Ends) -> Row {
    let axis = e.axis_at_wall_m();
    let at = |is_here: bool| if is_here { axis } else { None };
    let above_floor = axis
        .zip(e.of_pit("floor_m"))
        .map(|(axis, floor)| axis - floor);
    vec![
        ("axis_launch_wall", Cell::Length(at(e.is_launch()), 3)),
        ("axis_reception_wall", Cell::Length(at(!e.is_launch()), 3)),
        ("bearing_deg", Cell::Number(e.of_bore("bearing_deg"), 5)),
        ("plan_length", Cell::Length(e.of_bore("length_m"), 3)),
        (
            "grade_percent",
            Cell::Number(e.of_bore("grade").map(|g| g * 100.0), 3),
        ),
        ("grade_1_in", Cell::Number(e.of_bore("grade_1_in"), 1)),
        (
            "laser_height",
            Cell::Length(above_floor.filter(|_| e.is_launch()), 3),
        ),
        ("base_line", Cell::Word(e.base_line())),
        (
            "predicted_error",
            Cell::Small(e.of_bore("predicted_error_mm")),
        ),
        ("tolerance", Cell::Small(e.of_bore("tolerance_mm"))),
    ]
}

/// What is dug.
fn pit(e: &Ends) -> Row {
    let percent = e.of_pit("tree_zone_share").map(|share| share * 100.0);
    vec![
        ("tree_zone_percent", Cell::Number(percent, 1)),
        ("pit_length", Cell::Length(e.of_pit("length_m"), 3)),
        ("pit_width", Cell::Length(e.of_pit("width_m"), 3)),
        ("pit_bearing_deg", Cell::Number(e.of_pit("bearing_deg"), 5)),
        ("pit_depth", Cell::Length(e.of_pit("depth_m"), 3)),
        ("pit_floor", Cell::Length(e.of_pit("floor_m"), 3)),
        ("dig", Cell::Word(e.word_of_pit("dig"))),
        ("support", Cell::Word(e.yes_no("support"))),
    ]
}

/// The service that governs the bore: the one of least margin; of those whose depth nobody knows, before all others.
fn nearest<'a>(e: &Ends, conflicts: &'a Layer) -> Option<&'a Feature> {
    let bore_id = e.word_of_bore("bore_id");
    let services = conflicts.features.iter().filter(|c| {
        conflicts.word(c, "bore_id") == bore_id && conflicts.word(c, "obstacle") == "service"
    });
    let rank = |c: &Feature| {
        let unknown = conflicts.number(c, "depth_known") == Some(0.0);
        let margin = conflicts.number(c, "margin_m");
        (!unknown, margin.unwrap_or(f64::INFINITY))
    };
    services.min_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    })
}

fn quality(beside: &Beside, conflict: &Feature) -> String {
    let layer = beside.conflicts.word(conflict, "source_layer");
    match beside.conflicts.value(conflict, "source_fid") {
        Some(Value::Integer(fid)) => (beside.quality)(layer, *fid),
        _ => String::new(),
    }
}

fn said(layer: &Layer, row: &Feature, column: &str) -> String {
    layer.value(row, column).map_or(String::new(), Value::said)
}

/// Ids of the holes to dig before this bore.
fn holes(e: &Ends, holes: &Layer) -> String {
    let bore_id = e.word_of_bore("bore_id");
    let mine = holes.features.iter();
    let mine = mine.filter(|h| holes.word(h, "bore_id") == bore_id);
    mine.map(|h| holes.word(h, "hole_id"))
        .collect::<Vec<_>>()
        .join(" ")
}

/// Trees near this pit, as `LAYER/FID`.
fn trees(e: &Ends, conflicts: &Layer) -> String {
    let pit_id = e.word_of_pit("pit_id");
    let near = conflicts.features.iter().filter(|c| {
        conflicts.word(c, "pit_id") == pit_id && conflicts.word(c, "obstacle") == "tree"
    });
    let name = |c| {
        let (layer, fid) = (
            said(conflicts, c, "source_layer"),
            said(conflicts, c, "source_fid"),
        );
        format!("{layer}/{fid}")
    };
    near.map(name).collect::<Vec<_>>().join(" ")
}

fn heads(row: &Row, unit: Unit) -> String {
    let head = |(name, cell): &(&str, Cell)| match cell {
        Cell::Length(..) => format!("{name}_{}", unit.word()),
        Cell::Small(_) => format!("{name}_{}", unit.small_word()),
        _ => name.to_string(),
    };
    format!("{}\r\n", row.iter().map(head).collect::<Vec<_>>().join(","))
}

fn cells(row: &Row, unit: Unit) -> String {
    let print = |x: Option<f64>, decimals| x.map_or(String::new(), |x| number(x, decimals));
    let cell = |(_, cell): &(&str, Cell)| match cell {
        Cell::Word(word) => words(word),
        Cell::Number(x, decimals) => print(*x, *decimals),
        Cell::Length(m, decimals) => print(m.map(|m| unit.of(m)), *decimals),
        Cell::Small(mm) => print(
            mm.map(|mm| unit.small(mm)),
            if unit == Unit::Metre { 1 } else { 2 },
        ),
    };
    format!("{}\r\n", row.iter().map(cell).collect::<Vec<_>>().join(","))
}
