//! Lines straight from the blob of a GeoPackage, without a shape in between.

use super::shape::Bounds;

/// A line, or lines, of the plain kind: little-endian, every part of two points or more, all finite.
pub(super) struct Lines<'b> {
    first: &'b [u8],
    /// Parts behind the first: few features have any.
    others: Vec<&'b [u8]>,
    /// Bytes of a point: two or three numbers.
    step: usize,
    /// Box of all points, in units of the layer.
    pub bounds: Bounds,
}

/// One part of a line: what a point is, and whether the line has levels.
pub(super) struct Part<'b> {
    points: &'b [u8],
    step: usize,
    z_unit_m: f64,
    /// Every level is a number, and not all are 0.
    pub levels: bool,
}

impl<'b> Lines<'b> {
    /// None where the blob holds anything else.
    pub fn of(blob: &'b [u8]) -> Option<Lines<'b>> {
        let [b'G', b'P', _, flags, ..] = blob else {
            return None;
        };
        // Extended, empty, or big-endian.
        if flags & 0x31 != 1 {
            return None;
        }
        let envelope = [0, 32, 48, 48, 64].get(usize::from((flags >> 1) & 7))?;
        let mut rest = blob.get(8 + envelope..)?;
        let (code, step) = head(&mut rest)?;
        let mut lines = Lines {
            first: &[],
            others: vec![],
            step,
            bounds: Bounds::NOTHING,
        };
        match code {
            2 => lines.part(&mut rest)?,
            5 => {
                for _ in 0..count(&mut rest)? {
                    let inner = head(&mut rest)?;
                    (inner == (2, step)).then_some(())?;
                    lines.part(&mut rest)?;
                }
            }
            _ => return None,
        }
        (!lines.first.is_empty() && rest.is_empty()).then_some(lines)
    }

    fn part(&mut self, rest: &mut &'b [u8]) -> Option<()> {
        let n = count(rest)?;
        let (points, more) = rest.split_at_checked(n.checked_mul(self.step)?)?;
        *rest = more;
        if n < 2 {
            return None;
        }
        for p in points.chunks_exact(self.step) {
            let (x, y) = (real(p, 0), real(p, 8));
            if !(x.is_finite() && y.is_finite()) {
                return None;
            }
            self.bounds.add(x, y);
        }
        match self.first.is_empty() {
            true => self.first = points,
            false => self.others.push(points),
        }
        Some(())
    }

    /// The parts; levels are turned into metres by `z_unit_m`.
    pub fn parts(&self, z_unit_m: f64) -> impl Iterator<Item = Part<'b>> + '_ {
        let all = std::iter::once(&self.first).chain(&self.others);
        all.map(move |points| Part::of(points, self.step, z_unit_m))
    }
}

impl<'b> Part<'b> {
    fn of(points: &'b [u8], step: usize, z_unit_m: f64) -> Part<'b> {
        let mut part = Part {
            points,
            step,
            z_unit_m,
            levels: step == 24,
        };
        if part.levels {
            let levels = || part.points.chunks_exact(step).map(|p| part.level(p));
            part.levels = levels().all(f64::is_finite) && levels().any(|z| z != 0.0);
        }
        part
    }

    fn level(&self, p: &[u8]) -> f64 {
        real(p, 16) * self.z_unit_m
    }

    /// x, y and level of its points, x and y turned into metres; the level is 0 where the line has none.
    pub fn points(&self, unit_m: f64) -> impl ExactSizeIterator<Item = [f64; 3]> + '_ {
        (self.points.chunks_exact(self.step)).map(move |p| {
            let level = if self.levels { self.level(p) } else { 0.0 };
            [real(p, 0) * unit_m, real(p, 8) * unit_m, level]
        })
    }
}

/// Type of a little-endian geometry without its dimensions, and bytes of a point.
fn head(rest: &mut &[u8]) -> Option<(u32, usize)> {
    let (order, more) = rest.split_first()?;
    *rest = more;
    let code = count(rest)? as u32;
    if *order != 1 {
        return None;
    }
    match code {
        2 | 5 => Some((code, 16)),
        1002 | 1005 => Some((code - 1000, 24)),
        0x8000_0002 | 0x8000_0005 => Some((code & 7, 24)),
        _ => None,
    }
}

fn count(rest: &mut &[u8]) -> Option<usize> {
    let (n, more) = rest.split_at_checked(4)?;
    *rest = more;
    Some(u32::from_le_bytes(n.try_into().ok()?) as usize)
}

fn real(p: &[u8], at: usize) -> f64 {
    f64::from_le_bytes(p[at..at + 8].try_into().expect("eight bytes"))
}
