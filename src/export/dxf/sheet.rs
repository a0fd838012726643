//! What is drawn of each layer.

use super::{
    layers::*,
    pen::{At, Lettering, Pen},
};
use crate::export::{Feature, Layer, Position, Shape, Unit, labels};

/// How it is drawn.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Name and unit of the job's system, for the note.
    pub crs: String,
    /// Metres in one unit of X and Y; levels are drawn in that unit too, so that a line in space has one.
    pub unit_m: f64,
    /// Unit of the lengths and levels in texts.
    pub labels: Unit,
    /// The scale it is to be plotted at: 500 for 1:500.
    pub scale: f64,
}

/// Layers in the job's system as the text of one drawing.
pub fn drawing(sheet: &Sheet, layers: &[Layer]) -> String {
    let mut draft = Draft {
        sheet,
        pen: Pen::default(),
        millimetre: sheet.scale / 1000.0 / sheet.unit_m,
    };
    for layer in layers {
        for row in &layer.features {
            draft.row(layer, row);
        }
    }
    draft.note();
    draft.pen.file(draft.millimetre)
}

struct Draft<'a> {
    sheet: &'a Sheet,
    pen: Pen,
    /// A millimetre of paper, in units of the drawing.
    millimetre: f64,
}

/// Heights of text on paper (mm): ids, and what stands under them.
const HEIGHTS_MM: [f64; 2] = [3.5, 2.5];

impl Draft<'_> {
    fn row(&mut self, layer: &Layer, row: &Feature) {
        let Some(shape) = &row.shape else { return };
        match layer.name.as_str() {
            "proposed_bores" => self.bore(layer, row, shape),
            "proposed_pits" => self.pit(layer, row, shape),
            "bore_conflicts" => self.conflict(layer, row, shape),
            "test_holes" => self.hole(layer, row, shape),
            "affected_lots" => self.outline(LOT, shape),
            "route_blockers" => self.outline(BLOCKER, shape),
            "proposed_routes" => self.outline(ROUTE, shape),
            "recorded_bores" => self.outline(RECORD, shape),
            // The next cheapest plans are not drawn over the plan.
            _ => {}
        }
    }

    fn at(&self, p: &Position) -> At {
        [p.x, p.y, p.z.unwrap_or(0.0) / self.sheet.unit_m]
    }

    fn all_at(&self, shape: &Shape) -> Vec<At> {
        shape.positions().iter().map(|p| self.at(p)).collect()
    }

    fn bore(&mut self, layer: &Layer, row: &Feature, shape: &Shape) {
        self.outline(BORE, shape);
        let points = self.all_at(shape);
        let [Some(us), Some(ds)] = [points.first(), points.last()] else {
            return;
        };
        let along = [ds[0] - us[0], ds[1] - us[1]];
        let middle = std::array::from_fn(|i| (us[i] + ds[i]) / 2.0);
        self.arrow(&middle, along);
        let label = labels::bore(layer, row, self.sheet.labels);
        self.beside_line(&middle, along, &label);
    }

    /// A head with the flow, 3 mm long on paper.
    fn arrow(&mut self, tip: &At, along: [f64; 2]) {
        let length = along[0].hypot(along[1]);
        if length == 0.0 {
            return;
        }
        let [e, n] = along.map(|d| d / length * self.millimetre);
        let back = |side: f64| {
            [
                tip[0] - 3.0 * e - side * n,
                tip[1] - 3.0 * n + side * e,
                tip[2],
            ]
        };
        self.pen
            .polyline(FLOW, &[back(1.0), *tip, back(-1.0)], false);
    }

    /// Two lines of text, one above the line and one below it, never upside down.
    fn beside_line(&mut self, middle: &At, along: [f64; 2], label: &[String; 2]) {
        let mut turn_deg = along[1].atan2(along[0]).to_degrees();
        if turn_deg > 90.0 || turn_deg <= -90.0 {
            turn_deg -= 180.0_f64.copysign(turn_deg);
        }
        let up = (turn_deg + 90.0).to_radians();
        for (i, (words, side)) in label.iter().zip([1.0, -1.0]).enumerate() {
            let height = HEIGHTS_MM[i] * self.millimetre;
            let off = side * (1.5 * self.millimetre + height / 2.0);
            let at = [
                middle[0] + off * up.cos(),
                middle[1] + off * up.sin(),
                middle[2],
            ];
            let how = Lettering {
                height,
                turn_deg,
                centred: true,
            };
            self.pen.text(BORE_TEXT, &at, words, how);
        }
    }

    /// The footprint at the ground, and again at the floor.
    fn pit(&mut self, layer: &Layer, row: &Feature, shape: &Shape) {
        let on = match layer.word(row, "role") {
            "reception" => PIT_RECEPTION,
            _ => PIT_LAUNCH,
        };
        self.outline(on, shape);
        if let Some(floor_m) = layer.number(row, "floor_m") {
            let mut floor = shape.clone();
            floor.map(&mut |p| p.z = Some(floor_m));
            self.outline(PIT_FLOOR, &floor);
        }
        let positions = shape.positions();
        let east = positions.iter().max_by(|a, b| a.x.total_cmp(&b.x));
        if let Some(corner) = east.map(|p| self.at(p)) {
            let label = labels::pit(layer, row, self.sheet.labels);
            self.lines(PIT_TEXT, &corner, &label);
        }
    }

    fn conflict(&mut self, layer: &Layer, row: &Feature, shape: &Shape) {
        let on = of_verdict(layer.word(row, "verdict"));
        // What is clear would write over what is not.
        let label = match layer.word(row, "verdict") {
            "clear" => String::new(),
            _ => labels::conflict(layer, row, self.sheet.labels),
        };
        for at in self.all_at(shape) {
            self.pen.point(on, &at);
            self.sign(on, &at);
            self.lines(CONFLICT_TEXT, &at, &[String::new(), label.clone()]);
        }
    }

    /// A cross for a clash, a triangle for what is to be proved, a square to watch; what is clear is a point alone.
    fn sign(&mut self, on: &str, at: &At) {
        let r = 1.5 * self.millimetre;
        let to = |e: f64, n: f64| [at[0] + e * r, at[1] + n * r, at[2]];
        match on {
            "CONFLICT-CLASH" => {
                self.pen.polyline(on, &[to(-1., -1.), to(1., 1.)], false);
                self.pen.polyline(on, &[to(-1., 1.), to(1., -1.)], false);
            }
            "CONFLICT-PROVE" => {
                self.pen
                    .polyline(on, &[to(-1., -1.), to(1., -1.), to(0., 1.)], true)
            }
            "CONFLICT-WATCH" => {
                let corners = [to(-1., -1.), to(1., -1.), to(1., 1.), to(-1., 1.)];
                self.pen.polyline(on, &corners, true);
            }
            _ => {}
        }
    }

    fn hole(&mut self, layer: &Layer, row: &Feature, shape: &Shape) {
        let label = labels::hole(layer, row, self.sheet.labels);
        for at in self.all_at(shape) {
            self.pen.point(HOLE, &at);
            self.pen.circle(HOLE, &at, 2.0 * self.millimetre);
            self.lines(HOLE_TEXT, &at, &[label.clone(), String::new()]);
        }
    }

    /// Lines and rings as lines in space; a ring is closed, its first point not said twice.
    fn outline(&mut self, on: &str, shape: &Shape) {
        match shape {
            Shape::Point(p) => {
                let at = self.at(p);
                self.pen.point(on, &at);
            }
            Shape::Line(line) => self.polyline(on, line, false),
            Shape::Polygon(rings) => rings.iter().for_each(|r| self.polyline(on, r, true)),
            Shape::MultiPolygon(areas) => {
                areas
                    .iter()
                    .flatten()
                    .for_each(|r| self.polyline(on, r, true));
            }
        }
    }

    fn polyline(&mut self, on: &str, line: &[Position], closed: bool) {
        let mut points: Vec<At> = line.iter().map(|p| self.at(p)).collect();
        if closed && points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        self.pen.polyline(on, &points, closed);
    }

    /// Lines of text east of a place; an empty one leaves its room free.
    fn lines(&mut self, on: &str, at: &At, label: &[String; 2]) {
        let mm = self.millimetre;
        for (i, words) in label.iter().enumerate().filter(|(_, w)| !w.is_empty()) {
            let up = if i == 0 { 0.5 } else { -0.5 - HEIGHTS_MM[1] };
            let how = Lettering {
                height: HEIGHTS_MM[i] * mm,
                turn_deg: 0.0,
                centred: false,
            };
            self.pen
                .text(on, &[at[0] + 2.0 * mm, at[1] + up * mm, at[2]], words, how);
        }
    }

    /// What the numbers mean, under the drawing.
    fn note(&mut self) {
        let Some([x, y, z]) = self.pen.corner() else {
            return;
        };
        let notes = [
            format!("Coordinates: {}. Levels above the job's height datum, drawn in the same unit.", self.sheet.crs),
            format!("Lengths and levels in texts: {}. Text sized for 1:{}.", self.sheet.labels.word(), self.sheet.scale),
            "Proposed by records. Records are not proof: locate and expose every service before boring.".to_string(),
        ];
        let mm = self.millimetre;
        for (i, words) in notes.iter().enumerate() {
            let at = [x, y - (10.0 + 5.0 * i as f64) * mm, z];
            let how = Lettering {
                height: HEIGHTS_MM[1] * mm,
                turn_deg: 0.0,
                centred: false,
            };
            self.pen.text(NOTES, &at, words, how);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::{Column, Holds, Kind, Value};

    const FOOT: f64 = 0.3048;

    fn bore() -> Layer {
        let at = |x, z| Position {
            x,
            y: 0.0,
            z: Some(z),
        };
        let column = |name: &str, holds| Column {
            name: name.into(),
            holds,
        };
        Layer {
            name: "proposed_bores".into(),
            kind: Kind::Line,
            has_levels: true,
            columns: vec![
                column("bore_id", Holds::Text),
                column("length_m", Holds::Real),
            ],
            features: vec![Feature {
                fid: 1,
                shape: Some(Shape::Line(vec![at(100.0, 30.48), at(200.0, 15.24)])),
                values: vec![Value::Text("B1".into()), Value::Real(30.48)],
            }],
        }
    }

    #[test]
    fn in_a_system_of_feet_levels_and_letters_are_feet_too() {
        let sheet = Sheet {
            crs: "a system of feet".into(),
            unit_m: FOOT,
            labels: Unit::Foot,
            scale: 500.0,
        };
        let text = drawing(&sheet, &[bore()]);
        assert!(text.contains("10\n100.0000\n20\n0.0000\n30\n100.0000\n"));
        assert!(text.contains("10\n200.0000\n20\n0.0000\n30\n50.0000\n"));
        // 3.5 mm on paper are 1.75 m in the street.
        assert!(text.contains(&format!("40\n{:.4}\n1\nB1\n", 1.75 / FOOT)));
        assert!(text.contains("\n1\nL 100.00  level  IL - / -\n"), "{text}");
    }

    #[test]
    fn a_drawing_of_nothing_is_a_drawing() {
        let sheet = Sheet {
            crs: String::new(),
            unit_m: 1.0,
            labels: Unit::Metre,
            scale: 500.0,
        };
        let text = drawing(&sheet, &[]);
        assert!(text.contains("2\nENTITIES\n0\nENDSEC\n0\nEOF\n"));
    }
}
