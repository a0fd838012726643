//! What a footprint stands on.

use crate::clearance::{Areas, Corners, crossing, overlap_m2, polygon_edges};
use geo::{Coord, Polygon};

/// Smaller shared areas do not count (m2).
pub const SHARED_AREA_M2: f64 = 1e-4;

/// Area of `corners` on each feature of `areas`; where features lie over each other the first counts.
///
/// Own arithmetic rather than a library's polygon overlay: those snap to a grid of about a hundred-millionth of the
/// figure, which prices as visible money, and costs here must agree to 1e-6.
pub fn ground_cover(corners: &Corners, areas: &Areas) -> Vec<(usize, f64)> {
    let shared = areas
        .near(corners, 0.0)
        .map(|part| (part, overlap_m2(corners, &part.1)));
    let touching: Vec<_> = shared.filter(|(_, area)| *area > 0.0).collect();
    match touching[..] {
        [] => vec![],
        [(part, area)] => vec![(part.0, area)],
        _ => first_on_top(corners, &touching.iter().map(|t| t.0).collect::<Vec<_>>()),
    }
}

/// The feature that shares the most with `corners`, if any shares enough to count; of equals the first.
pub fn largest_overlap(corners: &Corners, areas: &Areas) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    let mut shared: std::collections::BTreeMap<usize, f64> = Default::default();
    for (i, p) in areas.near(corners, 0.0) {
        *shared.entry(*i).or_default() += overlap_m2(corners, p);
    }
    for (i, area) in shared {
        if area > SHARED_AREA_M2 && best.is_none_or(|b| area > b.1) {
            best = Some((i, area));
        }
    }
    best.map(|b| b.0)
}

type Edge = (Coord<f64>, Coord<f64>);

/// Cuts the figure into upright slabs at every corner and crossing. Inside a slab no two edges cross, so a slab's
/// shares are those of its middle line.
fn first_on_top(corners: &Corners, touching: &[&(usize, Polygon<f64>)]) -> Vec<(usize, f64)> {
    let origin = corners[0];
    let figure: Vec<Edge> = (0..4)
        .map(|i| (corners[i] - origin, corners[(i + 1) % 4] - origin))
        .collect();
    let mut whole: Vec<Vec<Edge>> = touching.iter().map(|t| all_edges(&t.1, origin)).collect();
    let near = |edges: &Vec<Edge>| {
        edges
            .iter()
            .filter(|e| near_figure(e, &figure))
            .copied()
            .collect()
    };
    let polygons: Vec<Vec<Edge>> = whole.iter().map(near).collect();
    let cuts = cuts(&figure, &polygons);
    let (Some(first), Some(last)) = (cuts.first(), cuts.last()) else {
        return vec![];
    };
    // No upright line through the figure meets an edge that lies beside it.
    let is_beside = |(a, b): &Edge| a.x.max(b.x) < *first || a.x.min(b.x) > *last;
    for edges in &mut whole {
        edges.retain(|e| !is_beside(e));
    }
    let mut areas = vec![0.0; touching.len()];
    let (mut free, mut taken, mut room) = (vec![], vec![], Room::default());
    for slab in cuts.windows(2).filter(|slab| slab[1] > slab[0]) {
        let (x, width) = ((slab[0] + slab[1]) / 2.0, slab[1] - slab[0]);
        spans_at(x, &figure, &mut room, &mut free);
        for (area, edges) in areas.iter_mut().zip(&whole) {
            spans_at(x, edges, &mut room, &mut taken);
            *area += width * take(&mut free, &taken, &mut room);
        }
    }
    touching
        .iter()
        .zip(areas)
        .filter(|(_, a)| *a > 0.0)
        .map(|(t, a)| (t.0, a))
        .collect()
}

fn all_edges(p: &Polygon<f64>, origin: Coord<f64>) -> Vec<Edge> {
    polygon_edges(p)
        .map(|(a, b)| (a - origin, b - origin))
        .collect()
}

fn near_figure(e: &Edge, figure: &[Edge]) -> bool {
    let range = |of: fn(Coord<f64>) -> f64| {
        let v = figure.iter().map(|f| of(f.0));
        (
            v.clone().fold(f64::INFINITY, f64::min),
            v.fold(f64::NEG_INFINITY, f64::max),
        )
    };
    let outside = |a: f64, b: f64, (low, high): (f64, f64)| a.max(b) < low || a.min(b) > high;
    !outside(e.0.x, e.1.x, range(|c| c.x)) && !outside(e.0.y, e.1.y, range(|c| c.y))
}

/// All x at which an edge starts or two edges cross, within the figure.
fn cuts(figure: &[Edge], polygons: &[Vec<Edge>]) -> Vec<f64> {
    let low = figure.iter().map(|e| e.0.x).fold(f64::INFINITY, f64::min);
    let high = figure
        .iter()
        .map(|e| e.0.x)
        .fold(f64::NEG_INFINITY, f64::max);
    let all: Vec<Edge> = figure
        .iter()
        .chain(polygons.iter().flatten())
        .copied()
        .collect();
    let mut xs: Vec<f64> = all.iter().flat_map(|e| [e.0.x, e.1.x]).collect();
    for (i, e) in all.iter().enumerate() {
        xs.extend(
            all[..i].iter().filter_map(|f| {
                crossing(e.0, e.1, f.0, f.1).map(|(t, _)| e.0.x + t * (e.1 - e.0).x)
            }),
        );
    }
    xs.retain(|x| *x >= low && *x <= high);
    xs.sort_by(f64::total_cmp);
    xs
}

/// From and to along an upright line.
type Span = (f64, f64);

/// Memory that is used again from line to line.
#[derive(Default)]
struct Room {
    ys: Vec<f64>,
    left: Vec<Span>,
}

/// Finds the inside of a figure along the upright line at `x` (even-odd).
fn spans_at(x: f64, edges: &[Edge], room: &mut Room, out: &mut Vec<Span>) {
    let crossed = edges.iter().filter(|(a, b)| (a.x > x) != (b.x > x));
    let at = |(a, b): &Edge| a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y);
    room.ys.clear();
    room.ys.extend(crossed.map(at));
    room.ys.sort_unstable_by(f64::total_cmp);
    out.clear();
    out.extend(room.ys.chunks_exact(2).map(|c| (c[0], c[1])));
}

/// Takes what `spans` cover of what is `free`. Gives its length.
fn take(free: &mut Vec<Span>, spans: &[Span], room: &mut Room) -> f64 {
    let mut taken = 0.0;
    for &(from, to) in spans {
        room.left.clear();
        for &(a, b) in free.iter() {
            let (p, q) = (a.max(from), b.min(to));
            if p >= q {
                room.left.push((a, b));
                continue;
            }
            taken += q - p;
            let beside = [(a, p), (q, b)].into_iter().filter(|(u, v)| v > u);
            room.left.extend(beside);
        }
        std::mem::swap(free, &mut room.left);
    }
    taken
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        clearance::Obstacles,
        site::{FeatureRef, Site, Surface, SurfaceArea},
    };
    use geo::{coord, polygon};

    fn site(parts: Vec<Polygon<f64>>) -> Site {
        let area = |(i, p)| SurfaceArea {
            at: FeatureRef {
                layer: "surfaces".into(),
                fid: i as i64,
            },
            surface: Surface::Lawn,
            parts: vec![p],
        };
        Site {
            surfaces: parts.into_iter().enumerate().map(area).collect(),
            ..Site::default()
        }
    }

    fn square() -> Corners {
        [
            coord! {x: 0., y: 0.},
            coord! {x: 2., y: 0.},
            coord! {x: 2., y: 2.},
            coord! {x: 0., y: 2.},
        ]
    }

    fn cover(parts: Vec<Polygon<f64>>) -> Vec<(usize, f64)> {
        let site = site(parts);
        let job = crate::job::JobFile::default().job;
        ground_cover(&square(), &Obstacles::new(&site, &job).surfaces)
    }

    #[test]
    fn each_bit_of_ground_counts_for_the_first_surface() {
        let left = polygon![(x: -1., y: -1.), (x: 1., y: -1.), (x: 1., y: 3.), (x: -1., y: 3.)];
        let all = polygon![(x: -5., y: -5.), (x: 5., y: -5.), (x: 5., y: 5.), (x: -5., y: 5.)];
        assert_eq!(cover(vec![left.clone(), all.clone()]), [(0, 2.0), (1, 2.0)]);
        assert_eq!(cover(vec![all, left]), [(0, 4.0)]);
    }

    #[test]
    fn crossing_edges_share_out_the_ground_exactly() {
        let a = polygon![(x: 0., y: 0.), (x: 2., y: 0.), (x: 0., y: 2.)];
        let b = polygon![(x: 0., y: 0.), (x: 2., y: 0.), (x: 2., y: 2.)];
        let c = cover(vec![a, b]);
        assert!(
            (c[0].1 - 2.0).abs() < 1e-12 && (c[1].1 - 1.0).abs() < 1e-12,
            "{c:?}"
        );
    }
}
