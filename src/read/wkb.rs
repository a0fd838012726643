//! Well-known binary, in all the ways that files hold it.
//!
//! Either byte order; ISO codes (1002) and old-style 25D codes (0x80000002); curves are made straight; M is passed over.
//! Source: OGC 06-103r4 §8.2 (well-known binary); OGC 12-128r18 §2.1.3 (GeoPackage header).

use super::curve::arc;
use super::shape::{Bounds, Shape, Vertex};

/// Geometry nested deeper than this is no honest geometry.
const DEEPEST: usize = 32;

struct Bytes<'a> {
    rest: &'a [u8],
    little: bool,
}

type Parsed<T> = Result<T, String>;

impl<'a> Bytes<'a> {
    fn take(&mut self, n: usize) -> Parsed<&'a [u8]> {
        let (head, rest) = self.rest.split_at_checked(n).ok_or("it ends too early")?;
        self.rest = rest;
        Ok(head)
    }

    fn order(&mut self) -> Parsed<()> {
        self.little = match self.take(1)?[0] {
            0 => false,
            1 => true,
            b => return Err(format!("unknown byte order {b}")),
        };
        Ok(())
    }

    fn u32(&mut self) -> Parsed<u32> {
        let b: [u8; 4] = self.take(4)?.try_into().expect("four bytes were taken");
        Ok(if self.little {
            u32::from_le_bytes(b)
        } else {
            u32::from_be_bytes(b)
        })
    }

    fn f64(&mut self) -> Parsed<f64> {
        let b: [u8; 8] = self.take(8)?.try_into().expect("eight bytes were taken");
        Ok(if self.little {
            f64::from_le_bytes(b)
        } else {
            f64::from_be_bytes(b)
        })
    }

    /// A count of things of at least `size` bytes each, so that a wrong count cannot ask for all memory.
    fn count(&mut self, size: usize) -> Parsed<usize> {
        let n = self.u32()? as usize;
        if n.saturating_mul(size) > self.rest.len() {
            Err("it ends too early".into())
        } else {
            Ok(n)
        }
    }
}

#[derive(Clone, Copy)]
struct Dims {
    z: bool,
    m: bool,
}

/// Type code without its dimensions, and the dimensions.
fn code(raw: u32) -> (u32, Dims) {
    let (old_z, old_m) = (raw & 0x8000_0000 != 0, raw & 0x4000_0000 != 0);
    let iso = raw & 0x0fff_ffff;
    let thousands = iso / 1000;
    (
        iso % 1000,
        Dims {
            z: old_z || thousands == 1 || thousands == 3,
            m: old_m || thousands == 2 || thousands == 3,
        },
    )
}

/// Takes a geometry apart; arcs deviate from their lines by at most `tolerance` (units of the layer).
pub(super) fn parse(wkb: &[u8], tolerance: f64) -> Parsed<Shape> {
    let mut shape = Shape::default();
    geometry(
        &mut Bytes {
            rest: wkb,
            little: true,
        },
        tolerance,
        0,
        &mut shape,
    )?;
    Ok(shape)
}

fn geometry(b: &mut Bytes, tol: f64, depth: usize, out: &mut Shape) -> Parsed<()> {
    if depth > DEEPEST {
        return Err("it is nested too deep".into());
    }
    b.order()?;
    let (kind, dims) = code(b.u32()?);
    match kind {
        1 => out
            .points
            .extend(Some(vertex(b, dims)?).filter(|v| !(v.x.is_nan() && v.y.is_nan()))),
        2 => push(&mut out.lines, run(b, dims)?),
        8 => push(&mut out.lines, arcs(&run(b, dims)?, tol)),
        9 => push(&mut out.lines, compound(b, tol, depth)?),
        3 | 17 => push(&mut out.areas, rings(b, dims)?),
        10 => push(&mut out.areas, curve_rings(b, tol, depth)?),
        4..=7 | 11 | 12 | 15 | 16 => {
            for _ in 0..b.count(5)? {
                geometry(b, tol, depth + 1, out)?;
            }
        }
        k => return Err(format!("geometry type {k} is not known")),
    }
    Ok(())
}

fn push<T>(parts: &mut Vec<Vec<T>>, part: Vec<T>) {
    if !part.is_empty() {
        parts.push(part);
    }
}

fn vertex(b: &mut Bytes, d: Dims) -> Parsed<Vertex> {
    let (x, y) = (b.f64()?, b.f64()?);
    let z = if d.z { b.f64()? } else { f64::NAN };
    if d.m {
        b.f64()?;
    }
    Ok(Vertex { x, y, z })
}

fn run(b: &mut Bytes, d: Dims) -> Parsed<Vec<Vertex>> {
    let size = 16 + 8 * usize::from(d.z) + 8 * usize::from(d.m);
    (0..b.count(size)?).map(|_| vertex(b, d)).collect()
}

fn rings(b: &mut Bytes, d: Dims) -> Parsed<Vec<Vec<Vertex>>> {
    let all: Parsed<Vec<_>> = (0..b.count(4)?).map(|_| run(b, d)).collect();
    Ok(all?.into_iter().filter(|r| !r.is_empty()).collect())
}

/// Control points of a circular string as a line.
fn arcs(control: &[Vertex], tol: f64) -> Vec<Vertex> {
    let mut line: Vec<Vertex> = control.first().copied().into_iter().collect();
    for k in (0..control.len().saturating_sub(2)).step_by(2) {
        arc(control[k], control[k + 1], control[k + 2], tol, &mut line);
    }
    line
}

/// The members of a compound curve, joined where one ends and the next starts.
fn compound(b: &mut Bytes, tol: f64, depth: usize) -> Parsed<Vec<Vertex>> {
    let mut line: Vec<Vertex> = vec![];
    for _ in 0..b.count(5)? {
        let member = one_line(b, tol, depth)?;
        let joined = usize::from(
            line.last()
                .zip(member.first())
                .is_some_and(|(a, c)| a.x == c.x && a.y == c.y),
        );
        line.extend(member.into_iter().skip(joined));
    }
    Ok(line)
}

fn curve_rings(b: &mut Bytes, tol: f64, depth: usize) -> Parsed<Vec<Vec<Vertex>>> {
    let all: Parsed<Vec<_>> = (0..b.count(5)?).map(|_| one_line(b, tol, depth)).collect();
    Ok(all?.into_iter().filter(|r| !r.is_empty()).collect())
}

fn one_line(b: &mut Bytes, tol: f64, depth: usize) -> Parsed<Vec<Vertex>> {
    let mut part = Shape::default();
    geometry(b, tol, depth + 1, &mut part)?;
    Ok(part.lines.into_iter().flatten().collect())
}

/// The well-known binary inside a GeoPackage geometry, and the box its header states.
pub(super) fn geopackage(blob: &[u8]) -> Parsed<(&[u8], Option<Bounds>)> {
    let [b'G', b'P', _, flags, ..] = blob else {
        return Err("it has no GeoPackage header".into());
    };
    if flags & 0x20 != 0 {
        return Err("it is an extended GeoPackage geometry".into());
    }
    let floats = match (flags >> 1) & 7 {
        n @ 0..=1 => 4 * n as usize,
        2 | 3 => 6,
        4 => 8,
        _ => return Err("its header is not valid".into()),
    };
    let mut b = Bytes {
        rest: &blob[4..],
        little: flags & 1 == 1,
    };
    b.take(4)?;
    let mut head = Bytes {
        rest: b.take(8 * floats)?,
        little: b.little,
    };
    let bounds = if floats == 0 {
        None
    } else {
        Some(header_box(&mut head)?)
    };
    Ok((b.rest, bounds.filter(|x| !x.is_empty())))
}

fn header_box(b: &mut Bytes) -> Parsed<Bounds> {
    let (x0, x1, y0, y1) = (b.f64()?, b.f64()?, b.f64()?, b.f64()?);
    let mut bounds = Bounds::NOTHING;
    bounds.add(x0, y0);
    bounds.add(x1, y1);
    Ok(bounds)
}

/// Two-dimensional binary of a polygon, for GEOS.
pub(super) fn of_polygon(rings: &[Vec<Vertex>]) -> Vec<u8> {
    let mut out = vec![1, 3, 0, 0, 0];
    out.extend((rings.len() as u32).to_le_bytes());
    for ring in rings {
        out.extend((ring.len() as u32).to_le_bytes());
        ring.iter()
            .for_each(|v| [v.x, v.y].iter().for_each(|c| out.extend(c.to_le_bytes())));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use gdal::vector::Geometry;

    fn of(wkt: &str) -> Shape {
        parse(&Geometry::from_wkt(wkt).unwrap().iso_wkb().unwrap(), 0.01).unwrap()
    }

    #[test]
    fn dimensions_of_either_style_are_read() {
        let z = |s: Shape| s.lines[0].iter().map(|v| v.z).collect::<Vec<_>>();
        let old = Geometry::from_wkt("LINESTRING Z (0 0 5, 1 0 6)")
            .unwrap()
            .wkb()
            .unwrap();
        assert_eq!(z(parse(&old, 0.01).unwrap()), [5.0, 6.0]);
        let iso = Geometry::from_wkt("LINESTRING ZM (0 0 5 9, 1 0 6 9)")
            .unwrap()
            .iso_wkb()
            .unwrap();
        assert_eq!(z(parse(&iso, 0.01).unwrap()), [5.0, 6.0]);
        assert!(
            z(of("LINESTRING M (0 0 5, 1 0 6)"))
                .iter()
                .all(|z| z.is_nan())
        );
    }

    #[test]
    fn collections_are_taken_apart_and_empty_parts_vanish() {
        let s = of(
            "GEOMETRYCOLLECTION (POINT (1 2), MULTILINESTRING ((0 0, 1 1), (2 2, 3 3)), POLYGON EMPTY)",
        );
        assert_eq!((s.points.len(), s.lines.len(), s.areas.len()), (1, 2, 0));
        assert!(of("POINT EMPTY").is_empty() && of("LINESTRING EMPTY").is_empty());
    }

    #[test]
    fn a_compound_curve_is_one_line() {
        let s = of("COMPOUNDCURVE ((0 0, 10 0), CIRCULARSTRING (10 0, 20 10, 30 0), (30 0, 40 0))");
        let line = &s.lines[0];
        assert_eq!((line[0].x, line.last().unwrap().x), (0.0, 40.0));
        assert!(line.windows(2).all(|w| w[0] != w[1]) && line.len() > 30);
    }

    #[test]
    fn a_curve_polygon_keeps_its_rings() {
        let s = of("CURVEPOLYGON (CIRCULARSTRING (0 0, 20 0, 0 0), (5 0, 6 0, 6 1, 5 0))");
        assert_eq!(s.areas[0].len(), 2);
        let area = geo::Area::unsigned_area(&super::super::shape::polygon(&s.areas[0]));
        assert!(
            (area - (std::f64::consts::PI * 100.0 - 0.5)).abs() < 0.7,
            "{area}"
        );
    }

    #[test]
    fn broken_bytes_are_an_error_and_no_panic() {
        let whole = Geometry::from_wkt("POLYGON ((0 0, 1 0, 1 1, 0 0))")
            .unwrap()
            .wkb()
            .unwrap();
        for n in 0..whole.len() {
            assert!(parse(&whole[..n], 0.01).is_err());
        }
        assert!(parse(&[1, 2, 0, 0, 0, 255, 255, 255, 255], 0.01).is_err());
    }
}
