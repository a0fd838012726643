//! From job metres to a drawing: north up, one scale.

use super::text::at;
use geo::Coord;

/// What a drawing may take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Width (units; on a page about as many dots of a screen).
    pub width: f64,
    /// Greatest height of the map, or of the section itself (units).
    pub tallest: f64,
    /// A unit on paper (m), where the drawing is to have a scale; none for a page, which is as large as the screen.
    pub unit_m: Option<f64>,
}

/// Scales that are drawn on paper: one to so many.
const SCALES: [f64; 15] = [
    50.0, 100.0, 200.0, 250.0, 500.0, 750.0, 1000.0, 1250.0, 1500.0, 2000.0, 2500.0, 5000.0,
    10_000.0, 25_000.0, 50_000.0,
];

impl Room {
    /// A plan on a page.
    pub const PLAN: Room = Room {
        width: 1000.0,
        tallest: 1150.0,
        unit_m: None,
    };
    /// A section on a page.
    pub const SECTION: Room = Room {
        width: 1000.0,
        tallest: 340.0,
        unit_m: None,
    };

    /// Units to a metre, and one to how many that is on paper: the greatest common scale that is no greater than `most`.
    pub fn scale(&self, most: f64) -> (f64, Option<f64>) {
        let Some(unit_m) = self.unit_m else {
            return (most, None);
        };
        let scale = |n: &f64| 1.0 / (n * unit_m);
        let fits = |n: &&f64| scale(n) <= most;
        let n = SCALES
            .iter()
            .find(fits)
            .unwrap_or(&SCALES[SCALES.len() - 1]);
        (scale(n), Some(*n))
    }
}

/// Least height of it (units).
const LOWEST: f64 = 320.0;
/// Metres shown around what is drawn.
const MARGIN_M: f64 = 9.0;

/// A box in plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// South-west corner.
    pub min: Coord<f64>,
    /// North-east corner.
    pub max: Coord<f64>,
}

/// How plan positions are put on a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// What is seen.
    pub frame: Frame,
    /// Units in a metre.
    pub scale: f64,
    /// Width (units).
    pub width: f64,
    /// Height (units).
    pub height: f64,
    /// One to how many it is on paper.
    pub one_to: Option<f64>,
}

impl Frame {
    /// Around these points; none without any.
    pub fn around(points: impl IntoIterator<Item = Coord<f64>>) -> Option<Frame> {
        let joined = |f: Option<Frame>, p: Coord<f64>| {
            let f = f.unwrap_or(Frame { min: p, max: p });
            let (lo, hi) = (f.min, f.max);
            Some(Frame {
                min: Coord {
                    x: lo.x.min(p.x),
                    y: lo.y.min(p.y),
                },
                max: Coord {
                    x: hi.x.max(p.x),
                    y: hi.y.max(p.y),
                },
            })
        };
        points.into_iter().fold(None, joined)
    }

    /// Whether the box around these points meets it.
    pub fn meets(&self, points: impl IntoIterator<Item = Coord<f64>>) -> bool {
        Frame::around(points).is_some_and(|f| {
            f.min.x <= self.max.x
                && self.min.x <= f.max.x
                && f.min.y <= self.max.y
                && self.min.y <= f.max.y
        })
    }

    /// Whether a point lies in it.
    pub fn holds(&self, p: Coord<f64>) -> bool {
        self.meets([p])
    }
}

impl View {
    /// All of the points, a margin around, as large as the sheet allows.
    pub fn of(points: impl IntoIterator<Item = Coord<f64>>, room: Room) -> Option<View> {
        let f = Frame::around(points)?;
        let (w, h) = (
            f.max.x - f.min.x + 2.0 * MARGIN_M,
            f.max.y - f.min.y + 2.0 * MARGIN_M,
        );
        let (scale, one_to) = room.scale((room.width / w).min(room.tallest / h));
        let height = (h * scale).max(LOWEST);
        let centre = (f.min + f.max) / 2.0;
        let half = Coord {
            x: room.width,
            y: height,
        } / (2.0 * scale);
        Some(View {
            frame: Frame {
                min: centre - half,
                max: centre + half,
            },
            scale,
            width: room.width,
            height,
            one_to,
        })
    }

    /// Where a position is drawn.
    pub fn xy(&self, p: Coord<f64>) -> (f64, f64) {
        (
            (p.x - self.frame.min.x) * self.scale,
            (self.frame.max.y - p.y) * self.scale,
        )
    }

    /// A path along points.
    pub fn path(&self, line: &[Coord<f64>], close: bool) -> String {
        let mut d = String::new();
        for (i, p) in line.iter().enumerate() {
            let (x, y) = self.xy(*p);
            d.push(if i == 0 { 'M' } else { 'L' });
            d.push_str(&format!("{} {}", at(x), at(y)));
        }
        if close {
            d.push('Z');
        }
        d
    }
}

/// The greatest of 0.001, 0.002, 0.005, 0.01 … not above `x`; 0.001 for less.
pub fn round_below(x: f64) -> f64 {
    let decades = (-3..7).map(|n| 10.0_f64.powi(n));
    let steps = decades.flat_map(|d| [d, 2.0 * d, 5.0 * d]);
    let below = steps.take_while(|s| *s <= x * (1.0 + 1e-9));
    below.last().unwrap_or(1e-3)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn north_is_up_and_all_is_seen() {
        let at = |x: f64, y: f64| Coord { x, y };
        let view = View::of([at(100.0, 200.0), at(300.0, 240.0)], Room::PLAN).expect("a view");
        let (x0, y0) = view.xy(at(100.0, 200.0));
        let (x1, y1) = view.xy(at(300.0, 240.0));
        assert!(x0 > 0.0 && x1 < Room::PLAN.width && y1 > 0.0 && y0 < view.height && y1 < y0);
        assert!(((x1 - x0) / 200.0 - view.scale).abs() < 1e-9);
        let tall = View::of([at(0.0, 0.0), at(1.0, 500.0)], Room::PLAN).expect("a view");
        assert!(tall.height <= Room::PLAN.tallest && tall.frame.holds(at(0.0, 500.0)));
        assert_eq!(View::of([], Room::PLAN), None);
        let paper = Room {
            unit_m: Some(0.25e-3),
            ..Room::PLAN
        };
        let drawn = View::of([at(0.0, 0.0), at(100.0, 0.0)], paper).expect("a view");
        assert_eq!((drawn.scale, drawn.one_to), (8.0, Some(500.0)));
    }

    #[test]
    fn steps_are_one_two_five() {
        for (x, step) in [
            (1.0, 1.0),
            (1.9, 1.0),
            (4.9, 2.0),
            (5.0, 5.0),
            (99.0, 50.0),
            (0.3, 0.2),
        ] {
            assert!(
                (round_below(x) - step).abs() < 1e-9,
                "{x}: {}",
                round_below(x)
            );
        }
    }
}
