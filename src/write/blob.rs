//! Geometries as GeoPackage stores them: a header with the envelope, then little-endian ISO WKB.
//!
//! Source: OGC GeoPackage Encoding Standard 12-128r18 (1.3), clause 2.1.3 (table 5: the header);
//! OGC 06-103r4, clause 8.2 (well-known binary), with the ISO codes of three dimensions (+ 1000).

use super::Shape;
use crate::plan::Point3;
use geo::orient::{Direction, Orient};
use geo::{Coord, LineString, Polygon};

const POINT: u32 = 1;
const LINE: u32 = 2;
const POLYGON: u32 = 3;
const MULTI_POLYGON: u32 = 6;
const WITH_Z: u32 = 1000;

/// Where a geometry lies, in the units it is stored in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bounds {
    /// Least x, y, z.
    pub min: [f64; 3],
    /// Greatest x, y, z.
    pub max: [f64; 3],
}

impl Bounds {
    /// Holds nothing.
    pub const EMPTY: Bounds = Bounds {
        min: [f64::INFINITY; 3],
        max: [f64::NEG_INFINITY; 3],
    };

    /// Nothing lies within.
    pub fn is_empty(&self) -> bool {
        self.min[0] > self.max[0]
    }

    /// The least bounds that hold both.
    pub fn with(self, other: Bounds) -> Bounds {
        Bounds {
            min: std::array::from_fn(|i| self.min[i].min(other.min[i])),
            max: std::array::from_fn(|i| self.max[i].max(other.max[i])),
        }
    }

    fn add(&mut self, axis: usize, value: f64) {
        self.min[axis] = self.min[axis].min(value);
        self.max[axis] = self.max[axis].max(value);
    }
}

/// What a geometry is stored with: the CRS's row, and metres in one of its units.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    /// `srs_id` in `gpkg_spatial_ref_sys`.
    pub srs_id: i32,
    /// Metres in one unit of X and Y.
    pub metres_per_unit: f64,
}

/// Puts the stored form of a shape into `out`, whose memory is used again, and tells where it lies.
///
/// Shapes without a point are stored as empty. Outer rings are put anticlockwise, holes clockwise.
pub(super) fn encode(shape: &Shape, grid: Grid, out: &mut Vec<u8>) -> Bounds {
    if let Shape::PointZ(p) = shape {
        return encode_point(p, grid, out);
    }
    let mut wkb = Wkb::new(grid);
    wkb.shape(shape);
    *out = header(shape, grid.srs_id, &wkb.bounds);
    out.extend_from_slice(&wkb.bytes);
    wkb.bounds
}

/// Points are most of what is written.
fn encode_point(p: &Point3, grid: Grid, out: &mut Vec<u8>) -> Bounds {
    let mut wkb = Wkb {
        bytes: std::mem::take(out),
        bounds: Bounds::EMPTY,
        metres_per_unit: grid.metres_per_unit,
    };
    wkb.bytes.clear();
    wkb.bytes.extend_from_slice(&[b'G', b'P', 0, 1]);
    wkb.bytes.extend_from_slice(&grid.srs_id.to_le_bytes());
    wkb.head(POINT + WITH_Z);
    wkb.point_z(p);
    *out = wkb.bytes;
    wkb.bounds
}

/// Magic, version, flags, CRS and envelope.
fn header(shape: &Shape, srs_id: i32, bounds: &Bounds) -> Vec<u8> {
    let axes = match shape {
        _ if bounds.is_empty() => 0,
        Shape::LineZ(_) => 3,
        _ => 2,
    };
    let envelope = [0, 0, 1, 2][axes] << 1;
    let empty = u8::from(bounds.is_empty()) << 4;
    let little_endian = 1;
    let mut out = vec![b'G', b'P', 0, empty | envelope | little_endian];
    out.extend_from_slice(&srs_id.to_le_bytes());
    for axis in 0..axes {
        out.extend_from_slice(&bounds.min[axis].to_le_bytes());
        out.extend_from_slice(&bounds.max[axis].to_le_bytes());
    }
    out
}

/// Well-known binary as it grows.
struct Wkb {
    bytes: Vec<u8>,
    bounds: Bounds,
    metres_per_unit: f64,
}

impl Wkb {
    fn new(grid: Grid) -> Wkb {
        Wkb {
            bytes: Vec::with_capacity(96),
            bounds: Bounds::EMPTY,
            metres_per_unit: grid.metres_per_unit,
        }
    }

    fn shape(&mut self, shape: &Shape) {
        match shape {
            Shape::PointZ(_) => unreachable!("points are encoded by themselves"),
            Shape::Line(points) => {
                self.head(LINE);
                self.line(points);
            }
            Shape::LineZ(points) => {
                self.head(LINE + WITH_Z);
                self.count(points.len());
                points.iter().for_each(|p| self.point_z(p));
            }
            Shape::Polygon(polygon) => self.polygon(polygon),
            Shape::MultiPolygon(parts) => self.multi_polygon(parts),
        }
    }

    fn multi_polygon(&mut self, parts: &[Polygon<f64>]) {
        let parts: Vec<_> = parts
            .iter()
            .filter(|p| !p.exterior().0.is_empty())
            .collect();
        self.head(MULTI_POLYGON);
        self.count(parts.len());
        parts.into_iter().for_each(|p| self.polygon(p));
    }

    fn polygon(&mut self, polygon: &Polygon<f64>) {
        self.head(POLYGON);
        let rings = rings(&polygon.orient(Direction::Default));
        self.count(rings.len());
        rings.iter().for_each(|r| self.line(&r.0));
    }

    fn line(&mut self, points: &[Coord<f64>]) {
        self.count(points.len());
        points.iter().for_each(|&p| self.point(p));
    }

    fn head(&mut self, code: u32) {
        let little_endian = 1;
        self.bytes.push(little_endian);
        self.bytes.extend_from_slice(&code.to_le_bytes());
    }

    fn count(&mut self, n: usize) {
        let n = u32::try_from(n).expect("no plan has four thousand million vertices in one ring");
        self.bytes.extend_from_slice(&n.to_le_bytes());
    }

    fn point(&mut self, at: Coord<f64>) {
        self.number(0, at.x / self.metres_per_unit);
        self.number(1, at.y / self.metres_per_unit);
    }

    fn point_z(&mut self, p: &Point3) {
        self.point(p.at);
        self.number(2, p.level);
    }

    fn number(&mut self, axis: usize, value: f64) {
        self.bounds.add(axis, value);
        self.bytes.extend_from_slice(&value.to_le_bytes());
    }
}

/// The rings that have points, the outer one first.
fn rings(polygon: &Polygon<f64>) -> Vec<LineString<f64>> {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .filter(|r| !r.0.is_empty())
        .cloned()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    const FEET: Grid = Grid {
        srs_id: 7,
        metres_per_unit: 0.3048,
    };

    fn encode(shape: &Shape, grid: Grid) -> (Vec<u8>, Bounds) {
        let mut out = vec![7];
        let bounds = super::encode(shape, grid, &mut out);
        (out, bounds)
    }

    fn number(blob: &[u8], at: usize) -> f64 {
        f64::from_le_bytes(blob[at..at + 8].try_into().unwrap())
    }

    #[test]
    fn plan_is_stored_in_feet_and_level_in_metres() {
        let point = Point3 {
            at: Coord { x: 3.048, y: 6.096 },
            level: 5.0,
        };
        let (blob, bounds) = encode(&Shape::PointZ(point), FEET);
        assert_eq!(blob[..8], [b'G', b'P', 0, 1, 7, 0, 0, 0]);
        assert_eq!(blob[8..13], [1, 0xe9, 3, 0, 0]); // little-endian, 1001
        assert_eq!([13, 21, 29].map(|i| number(&blob, i)), [10.0, 20.0, 5.0]);
        assert_eq!(
            (bounds.min, bounds.max),
            ([10.0, 20.0, 5.0], [10.0, 20.0, 5.0])
        );
    }

    #[test]
    fn a_line_with_levels_has_an_envelope_of_three_axes() {
        let at = |x, y, level| Point3 {
            at: Coord { x, y },
            level,
        };
        let line = vec![at(3.048, 0.0, 9.0), at(0.0, 6.096, 8.0)];
        let (blob, _) = encode(&Shape::LineZ(line.into()), FEET);
        assert_eq!(blob[3], 0b0101);
        let envelope: Vec<f64> = (0..6).map(|i| number(&blob, 8 + 8 * i)).collect();
        assert_eq!(envelope, [0.0, 10.0, 0.0, 20.0, 8.0, 9.0]);
    }

    #[test]
    fn a_clockwise_ring_is_stored_anticlockwise() {
        let clockwise = polygon![(x: 0., y: 0.), (x: 0., y: 1.), (x: 1., y: 1.)];
        let turned = polygon![(x: 0., y: 0.), (x: 1., y: 1.), (x: 0., y: 1.)];
        let grid = Grid {
            srs_id: 7,
            metres_per_unit: 1.0,
        };
        assert_eq!(
            encode(&Shape::Polygon(&clockwise), grid),
            encode(&Shape::Polygon(&turned), grid)
        );
    }

    #[test]
    fn a_lot_without_parts_is_stored_as_empty() {
        let (blob, bounds) = encode(&Shape::MultiPolygon(&[]), FEET);
        assert!(bounds.is_empty());
        assert_eq!(blob[3], 0b1_0001);
        assert_eq!(blob[8..], [1, 6, 0, 0, 0, 0, 0, 0, 0]);
    }
}
