//! What lies near a service: the drives of all bores, in square cells of the ground.
//!
//! Bores are few beside services, so it is their drives that are laid out to be found, and every service is asked about once, in
//! the order in which it lies in memory. Only cells that some drive passes are there, in blocks, so bores may lie scattered over
//! a country. Coordinates are single, half the memory of double, and widened by what that may be off.

use super::drives::Driven;
use rayon::prelude::*;

/// Cells along a side of a block.
const BLOCK: i32 = 8;
const IN_BLOCK: usize = (BLOCK * BLOCK) as usize;

/// Cells are no smaller than this (m).
const LEAST_SIDE_M: f32 = 8.0;

/// Of so many cells the drives are collected at once.
const CELLS_TOGETHER: f32 = 16.0;

/// So many drives are laid out by one thread in one go.
const DRIVES_TOGETHER: usize = 4096;

/// Low corner of a box and high, from the low corner of all drives (m).
pub(super) type Four = [f32; 4];

/// Which drives come near a place.
pub(super) struct Cells {
    low: [f64; 2],
    cells_per_m: f32,
    /// Blocks that some drive passes, ascending.
    blocks: Vec<[i32; 2]>,
    /// Of each cell, block by block, where its drives begin; and where the last ones end.
    begins: Vec<u32>,
    /// Drives by number, ascending in each cell.
    drives: Vec<u32>,
    /// Around each drive, as far as it may concern a service.
    pub boxes: Vec<Four>,
    /// By how much a rounded coordinate may be off (m).
    slack_m: f32,
}

impl Cells {
    /// Of all drives, each as far around as it may concern a service.
    pub fn new(drives: &[Driven]) -> Cells {
        let low = low_corner(drives);
        let mut cells = Cells {
            low,
            cells_per_m: 1.0,
            blocks: vec![],
            begins: vec![],
            drives: vec![],
            boxes: drives.par_iter().map(|d| around(d, low)).collect(),
            slack_m: 0.0,
        };
        let far = cells.boxes.iter().flatten();
        let far = far.fold(1.0, |far: f32, v| far.max(v.abs()));
        cells.slack_m = 8.0 * far * f32::EPSILON;
        cells.cells_per_m = 1.0 / side_m(&cells.boxes);
        let some = drives.par_chunks(DRIVES_TOGETHER).enumerate();
        let passed = some.map(|(i, some)| cells.passed(i * DRIVES_TOGETHER, some));
        let passed: Vec<Vec<([i32; 2], u32)>> = passed.collect();
        cells.blocks = blocks(&passed);
        cells.deal(&passed);
        cells
    }

    /// Every cell with every drive that passes it, drives ascending; `first` is the number of the first of them.
    fn passed(&self, first: usize, some: &[Driven]) -> Vec<([i32; 2], u32)> {
        let mut passed = vec![];
        for (number, drive) in (first..).zip(some) {
            let begin = passed.len();
            let number = number as u32;
            self.along(drive.ends(), drive.by_m as f32, |window| {
                self.within(&window, |cell| passed.push((cell, number)));
            });
            passed[begin..].sort_unstable();
            let mut kept = begin;
            for i in begin..passed.len() {
                if i == begin || passed[i] != passed[kept - 1] {
                    passed[kept] = passed[i];
                    kept += 1;
                }
            }
            passed.truncate(kept);
        }
        passed
    }

    /// Puts drives into their cells.
    fn deal(&mut self, passed: &[Vec<([i32; 2], u32)>]) {
        let mut seek = Seek::new(self);
        let place = |cell| {
            seek.place(cell)
                .expect("every block that is passed is there")
        };
        let places: Vec<usize> = passed.iter().flatten().map(|p| p.0).map(place).collect();
        let mut ends = vec![0; self.blocks.len() * IN_BLOCK];
        places.iter().for_each(|place| ends[*place] += 1);
        let mut before = 0;
        for end in &mut ends {
            before += std::mem::replace(end, before);
        }
        self.begins = ends.clone();
        self.begins.push(before);
        self.drives = vec![0; before as usize];
        for (place, (_, drive)) in places.iter().zip(passed.iter().flatten()) {
            self.drives[ends[*place] as usize] = *drive;
            ends[*place] += 1;
        }
    }

    /// The box around a line, as far as rounding may put it.
    #[inline]
    pub fn window(&self, [a, b]: [[f64; 2]; 2]) -> Four {
        let at = |p: [f64; 2], axis: usize| (p[axis] - self.low[axis]) as f32;
        let span = |axis: usize| {
            let (p, q) = (at(a, axis), at(b, axis));
            if p < q { (p, q) } else { (q, p) }
        };
        let (x, y) = (span(0), span(1));
        let by = self.slack_m;
        [x.0 - by, y.0 - by, x.1 + by, y.1 + by]
    }

    /// So few cells are in a box that one can look into all of them.
    pub fn few(&self, window: &Four) -> bool {
        let wide = (window[2] - window[0]) * self.cells_per_m + 1.0;
        let high = (window[3] - window[1]) * self.cells_per_m + 1.0;
        wide * high <= CELLS_TOGETHER
    }

    /// Boxes that hold all within `by_m` of a line; each part of it that has one is no longer than a cell.
    pub fn along(&self, [a, b]: [[f64; 2]; 2], by_m: f32, mut tell: impl FnMut(Four)) {
        let d = [b[0] - a[0], b[1] - a[1]];
        let parts = (d[0].abs().max(d[1].abs()) * f64::from(self.cells_per_m)) as usize + 1;
        let at = |k: usize| [0, 1].map(|i| a[i] + d[i] * (k as f64 / parts as f64));
        for k in 0..parts {
            let [x0, y0, x1, y1] = self.window([at(k), at(k + 1)]);
            tell([x0 - by_m, y0 - by_m, x1 + by_m, y1 + by_m]);
        }
    }

    /// The cells of a box.
    #[inline]
    fn within(&self, window: &Four, mut tell: impl FnMut([i32; 2])) {
        // Casts round towards nought: the cells there are twice as wide, for drives and services alike.
        let at = |v: f32| (v * self.cells_per_m) as i32;
        let [x0, y0, x1, y1] = *window;
        let (x0, y0, x1, y1) = (at(x0), at(y0), at(x1), at(y1));
        let mut y = y0;
        while y <= y1 {
            let mut x = x0;
            while x <= x1 {
                tell([x, y]);
                x += 1;
            }
            y += 1;
        }
    }
}

/// Somebody who asks what is near one place after the other; neighbours are found at once.
pub(super) struct Seek<'c> {
    pub cells: &'c Cells,
    /// The block asked about last, and its number.
    last: ([i32; 2], Option<usize>),
    /// Of each drive, at which turn it was told last.
    told: Vec<u32>,
    turn: u32,
}

impl<'c> Seek<'c> {
    pub fn new(cells: &'c Cells) -> Seek<'c> {
        Seek {
            cells,
            last: ([i32::MIN; 2], None),
            told: vec![0; cells.boxes.len()],
            turn: 0,
        }
    }

    /// The number of a cell; none where no drive passes its block.
    #[inline]
    fn place(&mut self, cell: [i32; 2]) -> Option<usize> {
        let block = block_of(cell);
        if self.last.0 != block {
            self.last = (block, self.cells.blocks.binary_search(&block).ok());
        }
        let [x, y] = cell;
        let within = (x.rem_euclid(BLOCK) + BLOCK * y.rem_euclid(BLOCK)) as usize;
        self.last.1.map(|block| block * IN_BLOCK + within)
    }

    /// Turns to another place; [`Seek::near`] says what is near it, once for all that it is asked about there.
    pub fn turn(&mut self, out: &mut Vec<u32>) {
        out.clear();
        self.turn = self.turn.wrapping_add(1);
        if self.turn == 0 {
            self.told.fill(0);
            self.turn = 1;
        }
    }

    /// Adds the numbers of the drives that may concern something in a box and were not told since the last turn. None that does is
    /// left out.
    #[inline]
    pub fn near(&mut self, window: &Four, out: &mut Vec<u32>) {
        let cells = self.cells;
        cells.within(window, |cell| {
            let Some(place) = self.place(cell) else {
                return;
            };
            let (from, to) = (cells.begins[place], cells.begins[place + 1]);
            let drives = &cells.drives[from as usize..to as usize];
            let mut count = out.len();
            out.resize(count + drives.len(), 0);
            // No branches: whether a drive meets the box cannot be foreseen.
            for drive in drives {
                let number = *drive as usize;
                let meets = meet(&cells.boxes[number], window) & (self.told[number] != self.turn);
                let told = if meets { self.turn } else { self.told[number] };
                self.told[number] = told;
                out[count] = *drive;
                count += usize::from(meets);
            }
            out.truncate(count);
        });
    }
}

/// Two boxes have a point in common.
#[inline]
pub(super) fn meet(a: &Four, b: &Four) -> bool {
    (a[0] <= b[2]) & (b[0] <= a[2]) & (a[1] <= b[3]) & (b[1] <= a[3])
}

/// The box that holds both.
pub(super) fn both(a: &Four, b: &Four) -> Four {
    [
        a[0].min(b[0]),
        a[1].min(b[1]),
        a[2].max(b[2]),
        a[3].max(b[3]),
    ]
}

fn around(drive: &Driven, low: [f64; 2]) -> Four {
    let [a, b] = drive.ends();
    let least = |axis: usize| (a[axis].min(b[axis]) - low[axis] - drive.by_m) as f32;
    let most = |axis: usize| (a[axis].max(b[axis]) - low[axis] + drive.by_m) as f32;
    [least(0), least(1), most(0), most(1)]
}

#[inline]
fn block_of([x, y]: [i32; 2]) -> [i32; 2] {
    [x.div_euclid(BLOCK), y.div_euclid(BLOCK)]
}

/// The blocks that drives pass.
fn blocks(passed: &[Vec<([i32; 2], u32)>]) -> Vec<[i32; 2]> {
    let of_some = |some: &Vec<([i32; 2], u32)>| {
        let mut blocks: Vec<[i32; 2]> = vec![];
        for (cell, _) in some {
            let block = block_of(*cell);
            if blocks.last() != Some(&block) {
                blocks.push(block);
            }
        }
        blocks
    };
    let mut blocks = passed.par_iter().flat_map_iter(of_some).collect::<Vec<_>>();
    blocks.par_sort_unstable();
    blocks.dedup();
    blocks
}

fn low_corner(drives: &[Driven]) -> [f64; 2] {
    let lower = |a: [f64; 2], b: [f64; 2]| [a[0].min(b[0]), a[1].min(b[1])];
    let ends = drives.par_iter().map(|d| lower(d.ends()[0], d.ends()[1]));
    match drives.is_empty() {
        true => [0.0; 2],
        false => ends.reduce(|| [f64::INFINITY; 2], lower),
    }
}

/// As long as the box around a drive is on average: so a drive is in a few cells.
fn side_m(boxes: &[Four]) -> f32 {
    let longer = |b: &Four| f64::from((b[2] - b[0]).max(b[3] - b[1]));
    let mean_m = boxes.iter().map(longer).sum::<f64>() / boxes.len().max(1) as f64;
    (mean_m as f32).max(LEAST_SIDE_M)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        check::{Bores, drives::Drives},
        clearance::{Segment, nearest},
        dice::Dice,
    };

    impl Dice {
        /// A line somewhere in one of two towns 300 km apart; one in `long` is as long as a town is wide.
        fn line(&mut self, long: usize) -> Segment {
            let town = 3e5 * (2.0 * self.roll()).floor();
            let (x, y) = (4e5 + town + 400.0 * self.roll(), 6e6 + 400.0 * self.roll());
            let reach = if self.roll() * (long as f64) < 1.0 {
                900.0
            } else {
                20.0
            };
            let mut end = |v: f64| v + reach * (self.roll() - 0.5);
            Segment {
                a: [x, y, 0.0],
                b: [end(x), end(y), 0.0],
            }
        }
    }

    #[test]
    fn every_drive_that_is_near_a_line_is_found() {
        let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
        let lines: Vec<Segment> = (0..1000).map(|_| dice.line(40)).collect();
        let by_m = |number: usize| 1.0 + (number % 7) as f64;
        let bores = Bores::of_lines(&lines);
        let drives = Drives::new(&bores, |bore| by_m(bore.at.fid as usize));
        let (mut seek, mut some) = (Seek::new(&drives.cells), vec![]);
        let (mut found, mut told) = (0, 0);
        for _ in 0..2000 {
            let line = dice.line(100);
            seek.turn(&mut some);
            let ends = [line.a, line.b].map(|p| [p[0], p[1]]);
            drives
                .cells
                .along(ends, 0.0, |window| seek.near(&window, &mut some));
            let mut numbers: Vec<u32> = some
                .iter()
                .map(|d| drives.all[*d as usize].number)
                .collect();
            numbers.sort_unstable();
            assert!(numbers.windows(2).all(|two| two[0] < two[1]), "told twice");
            told += numbers.len();
            for (number, drive) in lines.iter().enumerate() {
                if nearest(drive, &line).distance_m <= by_m(number) {
                    let known = numbers.binary_search(&(number as u32)).is_ok();
                    assert!(known, "{drive:?} {line:?}");
                    found += 1;
                }
            }
        }
        assert!(found > 1000 && told < 60 * found, "{found} {told}");
    }

    #[test]
    fn without_bores_nothing_is_near() {
        let drives = Drives::new(&Bores::default(), |_| 1e6);
        let (mut seek, mut some) = (Seek::new(&drives.cells), vec![]);
        seek.turn(&mut some);
        seek.near(&[-1e6, -1e6, 1e6, 1e6].map(|v| v / 1e5), &mut some);
        assert!(some.is_empty());
    }
}
