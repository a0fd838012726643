//! Circular arcs as short straight lines.

use super::shape::Vertex;

/// Appends the arc through three vertices to `out`, without its first vertex.
///
/// No point of the arc is farther than `tolerance` from the lines. The three vertices themselves stay.
/// Equal first and last vertices are a full circle whose centre is half way to the middle one; three in line are two straight lines.
pub(super) fn arc(a: Vertex, m: Vertex, b: Vertex, tolerance: f64, out: &mut Vec<Vertex>) {
    let Some((cx, cy)) = centre(a, m, b) else {
        out.extend([m, b]);
        return;
    };
    let radius = libm::hypot(a.x - cx, a.y - cy);
    let angle = |v: Vertex| libm::atan2(v.y - cy, v.x - cx);
    let counter_clockwise = (m.x - a.x) * (b.y - m.y) - (m.y - a.y) * (b.x - m.x) >= 0.0;
    for (p, q) in [(a, m), (m, b)] {
        let turn = sweep(angle(p), angle(q), counter_clockwise);
        half(p, q, (cx, cy, radius), (angle(p), turn), tolerance, out);
    }
}

/// One half: equal steps of the angle, Z in proportion.
fn half(
    p: Vertex,
    q: Vertex,
    (cx, cy, r): (f64, f64, f64),
    (from, turn): (f64, f64),
    tol: f64,
    out: &mut Vec<Vertex>,
) {
    // Sagitta of a step: r (1 - cos(step / 2)).
    let step = 2.0 * libm::acos((1.0 - tol / r).clamp(-1.0, 1.0));
    let n = ((turn.abs() / step).ceil() as usize).clamp(1, 100_000);
    for i in 1..n {
        let t = i as f64 / n as f64;
        let w = from + t * turn;
        out.push(Vertex {
            x: cx + r * libm::cos(w),
            y: cy + r * libm::sin(w),
            z: p.z + t * (q.z - p.z),
        });
    }
    out.push(q);
}

fn sweep(from: f64, to: f64, counter_clockwise: bool) -> f64 {
    let full = std::f64::consts::TAU;
    let turn = (to - from).rem_euclid(full);
    if counter_clockwise { turn } else { turn - full }
}

/// Centre of the circle through three points, none where they are in line.
fn centre(a: Vertex, m: Vertex, b: Vertex) -> Option<(f64, f64)> {
    if a.x == b.x && a.y == b.y {
        return (a.x != m.x || a.y != m.y).then_some(((a.x + m.x) / 2.0, (a.y + m.y) / 2.0));
    }
    // Relative to a, so that large coordinates cost no digits.
    let (mx, my, bx, by) = (m.x - a.x, m.y - a.y, b.x - a.x, b.y - a.y);
    let d = 2.0 * (mx * by - my * bx);
    let (m2, b2) = (mx * mx + my * my, bx * bx + by * by);
    let c = (a.x + (by * m2 - my * b2) / d, a.y + (mx * b2 - bx * m2) / d);
    (d.abs() > 1e-12 * (m2 + b2) && c.0.is_finite() && c.1.is_finite()).then_some(c)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn v(x: f64, y: f64) -> Vertex {
        Vertex { x, y, z: f64::NAN }
    }

    #[test]
    fn an_arc_keeps_within_its_tolerance() {
        let r = 50.0;
        let (a, m, b) = (v(1000.0 + r, 0.0), v(1000.0, r), v(1000.0 - r, 0.0));
        let mut out = vec![a];
        arc(a, m, b, 0.01, &mut out);
        let at = |v: &Vertex| (v.x, v.y);
        assert!(out.iter().any(|v| at(v) == at(&m)) && at(out.last().unwrap()) == at(&b));
        for w in out.windows(2) {
            let (x, y) = ((w[0].x + w[1].x) / 2.0 - 1000.0, (w[0].y + w[1].y) / 2.0);
            let sag = r - x.hypot(y);
            assert!((0.0..=0.01 + 1e-9).contains(&sag), "{sag}");
        }
        assert!(out.len() > 50 && out.len() < 120);
    }

    #[test]
    fn a_clockwise_arc_turns_the_other_way() {
        let mut out = vec![];
        arc(v(-1.0, 0.0), v(0.0, 1.0), v(1.0, 0.0), 0.01, &mut out);
        assert!(
            out.iter()
                .all(|p| p.y >= -1e-12 && (p.x.hypot(p.y) - 1.0).abs() < 1e-12)
        );
    }

    #[test]
    fn a_full_circle_and_three_points_in_line_are_no_trouble() {
        let mut out = vec![];
        arc(v(0.0, 0.0), v(2.0, 0.0), v(0.0, 0.0), 0.01, &mut out);
        assert!(
            out.len() > 10
                && out
                    .iter()
                    .all(|p| ((p.x - 1.0).hypot(p.y) - 1.0).abs() < 1e-12)
        );
        let mut straight = vec![];
        arc(v(0.0, 0.0), v(1.0, 1.0), v(2.0, 2.0), 0.01, &mut straight);
        assert_eq!(straight.len(), 2);
    }
}
