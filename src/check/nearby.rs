//! The drives near one part of a service after the other, and what of it each may be near.

use super::{
    cells::{Four, Seek, both, meet},
    drives::{Driven, Drives},
};
use std::ops::Range;

/// A segment of the part in hand that may be near a drive.
#[derive(Debug, Clone, Copy)]
pub(super) struct Near {
    /// The drive's place in [`Drives::all`].
    pub drive: u32,
    pub segment: u32,
    /// Between which shares of it.
    pub span: (f64, f64),
}

/// Somebody who looks for drives, with memory to do so.
pub(super) struct Nearby<'b> {
    drives: &'b Drives,
    seek: Seek<'b>,
    /// Around each segment of the line in hand.
    windows: Vec<Four>,
    /// Drives that may concern some of them.
    some: Vec<u32>,
    /// Segments whose boxes meet that of the drive in hand.
    met: Vec<u32>,
    near: Vec<Near>,
}

impl<'b> Nearby<'b> {
    pub fn new(drives: &'b Drives) -> Nearby<'b> {
        Nearby {
            drives,
            seek: Seek::new(&drives.cells),
            windows: vec![],
            some: vec![],
            met: vec![],
            near: vec![],
        }
    }

    /// The segments of a line that may be near drives, drive by drive. `within_m`: what is farther from a drive in plan does not
    /// concern it.
    pub fn find(
        &mut self,
        points: &[[f64; 3]],
        mut within_m: impl FnMut(&Driven) -> f64,
    ) -> &[Near] {
        self.near.clear();
        self.windows.clear();
        let window = |ab: &[[f64; 3]]| self.drives.cells.window(plan(ab));
        self.windows.extend(points.windows(2).map(window));
        let (mut from, mut times) = (0, 0);
        while from < self.windows.len() {
            let to = self.collect(points, from);
            if !self.some.is_empty() {
                self.measure(points, from..to, &mut within_m);
                times += 1;
            }
            from = to;
        }
        if times > 1 {
            self.near.sort_unstable_by_key(|n| (n.drive, n.segment));
        }
        &self.near
    }

    /// The drives that may concern some segments, from `from` on; up to which ones.
    fn collect(&mut self, points: &[[f64; 3]], from: usize) -> usize {
        let cells = self.seek.cells;
        self.seek.turn(&mut self.some);
        let mut window = self.windows[from];
        let mut to = from + 1;
        if cells.few(&window) {
            while let Some(next) = self.windows.get(to)
                && cells.few(&both(&window, next))
            {
                window = both(&window, next);
                to += 1;
            }
            self.seek.near(&window, &mut self.some);
        } else {
            cells.along(plan(&points[from..]), 0.0, |window| {
                self.seek.near(&window, &mut self.some);
            });
        }
        to
    }

    /// Which of these segments may be near which of the drives collected.
    fn measure(
        &mut self,
        points: &[[f64; 3]],
        segments: Range<usize>,
        within_m: &mut impl FnMut(&Driven) -> f64,
    ) {
        for drive in &self.some {
            let around = &self.drives.cells.boxes[*drive as usize];
            self.met.clear();
            self.met.resize(segments.len(), 0);
            let mut count = 0;
            // No branches: whether a segment meets the box cannot be foreseen.
            for (i, window) in segments.clone().zip(&self.windows[segments.clone()]) {
                self.met[count] = i as u32;
                count += usize::from(meet(around, window));
            }
            if count == 0 {
                continue;
            }
            let driven = &self.drives.all[*drive as usize];
            let within_m = within_m(driven);
            for segment in &self.met[..count] {
                let line = plan(&points[*segment as usize..]);
                if let Some(span) = driven.axis.near(line, within_m) {
                    self.near.push(Near {
                        drive: *drive,
                        segment: *segment,
                        span,
                    });
                }
            }
        }
    }
}

/// The first segment of a line in plan.
#[inline]
fn plan(points: &[[f64; 3]]) -> [[f64; 2]; 2] {
    let (a, b) = (&points[0], &points[1]);
    [[a[0], a[1]], [b[0], b[1]]]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        check::Bores,
        clearance::{Segment, nearest},
    };

    #[test]
    fn all_that_is_near_of_a_long_line_is_found_drive_by_drive() {
        let mut dice = crate::dice::Dice(0x9E37_79B9_7F4A_7C15);
        let mut roll = || dice.roll();
        let mut next = |p: [f64; 3], by: f64| {
            let [dx, dy] = [roll() - 0.5, roll() - 0.5];
            [p[0] + by * dx, p[1] + by * dy, 0.0]
        };
        let middle = [4e5, 6e6, 0.0];
        let mut line = || {
            let a = next(middle, 600.0);
            let b = next(a, 40.0);
            Segment { a, b }
        };
        let lines: Vec<Segment> = (0..800).map(|_| line()).collect();
        let drives = Drives::new(&Bores::of_lines(&lines), |_| 3.0);
        let mut nearby = Nearby::new(&drives);
        let mut found = 0;
        for k in 0..40 {
            let mut points = vec![next(middle, 300.0)];
            for i in 0..30 {
                let by = if (i + k) % 11 == 0 { 500.0 } else { 25.0 };
                points.push(next(points[i], by));
            }
            let near = nearby.find(&points, |_| 3.0);
            let order: Vec<(u32, u32)> = near.iter().map(|n| (n.drive, n.segment)).collect();
            for some in near.chunk_by(|a, b| a.drive == b.drive) {
                let elsewhere = order.iter().filter(|o| o.0 == some[0].drive).count();
                assert_eq!(elsewhere, some.len(), "a drive comes twice");
                assert!(some.windows(2).all(|n| n[0].segment < n[1].segment));
            }
            for (d, driven) in (0..).zip(&drives.all) {
                let drive = &lines[driven.number as usize];
                for (i, ab) in (0..).zip(points.windows(2)) {
                    let line = Segment { a: ab[0], b: ab[1] };
                    if nearest(drive, &line).distance_m <= 3.0 {
                        assert!(order.contains(&(d, i)), "{drive:?} {line:?}");
                        found += 1;
                    }
                }
            }
        }
        assert!(found > 500, "{found}");
    }
}
