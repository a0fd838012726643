//! Into which parts edges and lines across gaps divide the plane.

use super::{
    fences::{Line, lines},
    gaps::Gap,
    walls::Walls,
};
use crate::clearance::LENGTH_TOLERANCE_M;
use geo::Coord;
use spade::{
    ConstrainedDelaunayTriangulation, HasPosition, HierarchyHintGenerator, Point2,
    PositionInTriangulation, Triangulation, handles::FixedVertexHandle, mitigate_underflow,
};
use std::collections::{BTreeSet, HashMap};

type Triangles = ConstrainedDelaunayTriangulation<Corner, (), (), (), HierarchyHintGenerator<f64>>;

/// Far beyond any place in any coordinate system (m).
const FARTHEST_M: f64 = 1e50;

#[derive(Debug, Clone, Copy)]
struct Corner(Point2<f64>);

impl HasPosition for Corner {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.0
    }
}

/// The plane, cut along lines.
pub(super) struct Parts {
    triangles: Triangles,
    /// Part of each triangle; the first is all that lies outside.
    part: Vec<u32>,
}

impl Parts {
    /// Parts between obstacles, gaps closed.
    pub fn new(walls: &Walls, gaps: &[Gap]) -> Parts {
        let (triangles, part) = cut(&lines(walls, gaps));
        Parts { triangles, part }
    }

    /// The part that a point lies in.
    pub fn at(&self, p: Coord<f64>) -> u32 {
        let face = match self.triangles.locate(Point2::new(p.x, p.y)) {
            PositionInTriangulation::OnFace(f) => f.index(),
            PositionInTriangulation::OnEdge(e) => {
                self.triangles.directed_edge(e).face().fix().index()
            }
            PositionInTriangulation::OnVertex(v) => {
                let out = self.triangles.vertex(v).out_edge();
                out.map_or(0, |e| e.face().fix().index())
            }
            PositionInTriangulation::OutsideOfConvexHull(_)
            | PositionInTriangulation::NoTriangulation => 0,
        };
        self.part[face]
    }

    /// Which parts inside a box have an edge on its outline, the outline being among the lines.
    pub fn along(&self, [low, high]: Line) -> Vec<bool> {
        let near = |v: f64, w: f64| (v - w).abs() < LENGTH_TOLERANCE_M;
        let mut along = vec![false; self.part.len()];
        for e in self
            .triangles
            .undirected_edges()
            .filter(|e| e.is_constraint_edge())
        {
            let ends = e.positions();
            let on_x = |x| ends.iter().all(|p| near(p.x, x));
            let on_y = |y| ends.iter().all(|p| near(p.y, y));
            if on_x(low.x) || on_x(high.x) || on_y(low.y) || on_y(high.y) {
                let sides = [e.as_directed(), e.as_directed().rev()].map(|s| s.face());
                let inside = sides.iter().filter_map(|f| f.as_inner()).filter(|f| {
                    let c = f.center();
                    c.x > low.x && c.x < high.x && c.y > low.y && c.y < high.y
                });
                inside.for_each(|f| along[self.part[f.fix().index()] as usize] = true);
            }
        }
        along
    }

    /// Whether a part of a kind may come into a box: one of its triangles' own boxes does.
    pub fn any_in(&self, [low, high]: Line, wanted: impl Fn(u32) -> bool) -> bool {
        self.triangles.inner_faces().any(|face| {
            let [a, b, c] = face.positions();
            let meets = |v: [f64; 3], low: f64, high: f64| {
                v.iter().any(|w| *w >= low) && v.iter().any(|w| *w <= high)
            };
            wanted(self.part[face.fix().index()])
                && meets([a.x, b.x, c.x], low.x, high.x)
                && meets([a.y, b.y, c.y], low.y, high.y)
        })
    }

    /// How many numbers parts can have.
    pub fn count(&self) -> usize {
        self.part.len()
    }
}

/// Cuts the plane along lines: triangles, and the part of each.
fn cut(lines: &[Line]) -> (Triangles, Vec<u32>) {
    let mut seen = HashMap::new();
    let mut corners = vec![];
    let mut corner = |c: Coord<f64>| {
        let p = mitigate_underflow(Point2::new(c.x + 0.0, c.y + 0.0));
        *seen
            .entry((p.x.to_bits(), p.y.to_bits()))
            .or_insert_with(|| {
                corners.push(Corner(p));
                corners.len() - 1
            })
    };
    // The triangulation refuses what is farther out, and nobody is shut off there.
    let near = |c: &Coord<f64>| c.x.abs() < FARTHEST_M && c.y.abs() < FARTHEST_M;
    let lines = lines.iter().filter(|l| l.iter().all(near));
    let ends = lines.map(|&[a, b]| {
        let (p, q) = (corner(a), corner(b));
        [p.min(q), p.max(q)]
    });
    let ends: BTreeSet<[usize; 2]> = ends.filter(|[p, q]| p != q).collect();
    let mut crossed = vec![];
    let mut triangles =
        Triangles::try_bulk_load_cdt(corners, ends.into_iter().collect(), |e| crossed.push(e))
            .expect("coordinates too large were left out, too small ones made 0");
    for e in crossed {
        let [p, q] = e.map(FixedVertexHandle::from_index);
        triangles.add_constraint_and_split(p, q, Corner);
    }
    let part = join(&triangles);
    (triangles, part)
}

/// Triangles on either side of an edge that nothing fixes are one part.
fn join(triangles: &Triangles) -> Vec<u32> {
    let mut part: Vec<u32> = (0..triangles.num_all_faces() as u32).collect();
    for e in triangles
        .undirected_edges()
        .filter(|e| !e.is_constraint_edge())
    {
        let e = e.as_directed();
        let sides = [e.face(), e.rev().face()].map(|f| root(&mut part, f.fix().index() as u32));
        let (low, high) = (sides[0].min(sides[1]), sides[0].max(sides[1]));
        part[high as usize] = low;
    }
    (0..part.len() as u32).map(|f| root(&mut part, f)).collect()
}

fn root(part: &mut [u32], mut f: u32) -> u32 {
    while part[f as usize] != f {
        part[f as usize] = part[part[f as usize] as usize];
        f = part[f as usize];
    }
    f
}
