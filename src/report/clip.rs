//! Lines cut off at the edge of a drawing.

use super::view::Frame;
use geo::Coord;

/// The part of a straight line within a frame; none where it passes by. After Liang and Barsky.
pub fn clipped(a: Coord<f64>, b: Coord<f64>, frame: &Frame) -> Option<(Coord<f64>, Coord<f64>)> {
    let d = b - a;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let edges = [
        (-d.x, a.x - frame.min.x),
        (d.x, frame.max.x - a.x),
        (-d.y, a.y - frame.min.y),
        (d.y, frame.max.y - a.y),
    ];
    for (p, q) in edges {
        if p == 0.0 {
            if q < 0.0 {
                return None;
            }
        } else if p < 0.0 {
            from = from.max(q / p);
        } else {
            to = to.min(q / p);
        }
    }
    (from < to).then(|| (a + d * from, a + d * to))
}

/// The parts of a line within a frame.
pub fn parts(line: &[Coord<f64>], frame: &Frame) -> Vec<Vec<Coord<f64>>> {
    let mut out: Vec<Vec<Coord<f64>>> = vec![];
    for ab in line.windows(2) {
        let Some((a, b)) = clipped(ab[0], ab[1], frame) else {
            continue;
        };
        match out.last_mut() {
            Some(part) if part.last() == Some(&a) => part.push(b),
            _ => out.push(vec![a, b]),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_ends_at_the_edge_and_comes_back() {
        let at = |x: f64, y: f64| Coord { x, y };
        let frame = Frame {
            min: at(0.0, 0.0),
            max: at(10.0, 10.0),
        };
        let line = [at(-5.0, 5.0), at(5.0, 5.0), at(5.0, 20.0), at(8.0, 5.0)];
        let parts = parts(&line, &frame);
        assert_eq!(parts[0], [at(0.0, 5.0), at(5.0, 5.0), at(5.0, 10.0)]);
        assert_eq!(parts[1], [at(7.0, 10.0), at(8.0, 5.0)]);
        assert_eq!(clipped(at(-1.0, -1.0), at(-1.0, 20.0), &frame), None);
        assert_eq!(clipped(at(-5.0, 8.0), at(5.0, 18.0), &frame), None);
    }
}
