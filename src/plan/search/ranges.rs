//! Numbers by level, asked and lowered a range at a time.

use std::ops::Range;

/// Numbers with the least of any range at hand (a sparse table).
///
/// Mostly only some levels are of any use, one beside the other: what is +inf before the first of these and after the last takes no room.
#[derive(Debug, Default)]
pub struct Ranges {
    /// How many numbers.
    len: usize,
    /// The first that is not +inf.
    first: usize,
    /// How many up to the last that is not.
    n: usize,
    /// Of these by power of two the least of so many numbers from each on, the numbers themselves first; then the least of all up to each, it
    /// included; then the least of all from each on. In one piece, for thousands are made and let go.
    all: Vec<f64>,
    /// Where the least of all up to each begins.
    upto: usize,
}

/// Where the row of a power of two begins: before it lie those of the lesser powers, each so much shorter than `n`.
fn row_at(n: usize, power: usize) -> usize {
    power * (n + 1) - ((1 << power) - 1)
}

/// How many powers of two are no greater than `n`; 1 of nothing.
fn powers(n: usize) -> usize {
    n.checked_ilog2().map_or(1, |most| most as usize + 1)
}

impl Ranges {
    /// Of these numbers.
    pub fn new(values: &[f64]) -> Ranges {
        let len = values.len();
        let is_some = |v: &f64| *v != f64::INFINITY;
        let first = values.iter().position(is_some).unwrap_or(len);
        let last = values.iter().rposition(is_some);
        let values = &values[first..last.map_or(first, |last| last + 1)];
        let n = values.len();
        let powers = powers(n);
        let upto = row_at(n, powers);
        let mut all = vec![0.0; upto + 2 * n];
        all[..n].copy_from_slice(values);
        for power in 1..powers {
            let span = 1 << (power - 1);
            let (below, row) = all.split_at_mut(row_at(n, power));
            let below = &below[row_at(n, power - 1)..];
            for (row, (a, b)) in row.iter_mut().zip(below.iter().zip(&below[span..])) {
                *row = if b < a { *b } else { *a };
            }
        }
        let mut least = f64::INFINITY;
        for i in 0..n {
            least = least.min(all[i]);
            all[upto + i] = least;
        }
        least = f64::INFINITY;
        for i in (0..n).rev() {
            least = least.min(all[i]);
            all[upto + n + i] = least;
        }
        Ranges {
            len,
            first,
            n,
            all,
            upto,
        }
    }

    /// By power of two: the least of so many numbers from each on.
    fn row(&self, power: usize) -> &[f64] {
        let from = row_at(self.n, power);
        &self.all[from..from + self.n + 1 - (1 << power)]
    }

    /// For every place i of `out` the least of the numbers from i + `from` up to i + `to`, as far as there are any; else +inf.
    pub fn moving(&self, window: [i64; 2], out: &mut [f64]) {
        let [from, to] = window.map(|by| by - self.first as i64);
        let (n, places) = (self.n as i64, out.len() as i64);
        let (upto, onward) = self.all[self.upto..].split_at(self.n);
        let within = |i: i64| i.clamp(0, places) as usize;
        // Places before these have nothing; begin at the first number; end at the last one or before it.
        let (begins, inside, ends) = (within(-to), within(1 - from), within(n - to));
        out.fill(f64::INFINITY);
        if from > to || n == 0 {
            return;
        }
        let at = |i: usize, by: i64| (i as i64 + by) as usize;
        for (i, out) in out[..inside].iter_mut().enumerate().skip(begins) {
            *out = upto[at(i, to).min(n as usize - 1)];
        }
        let span = (to - from + 1) as usize;
        if inside < ends {
            let k = span.ilog2() as usize;
            let row = self.row(k);
            let first = &row[at(inside, from)..];
            let last = &row[at(inside, to + 1 - (1 << k))..];
            for (out, (a, b)) in out[inside..ends].iter_mut().zip(first.iter().zip(last)) {
                *out = if a < b { *a } else { *b };
            }
        }
        let cut = inside.max(ends);
        let left = within(n - from);
        for (i, out) in out[..left.max(cut)].iter_mut().enumerate().skip(cut) {
            *out = onward[at(i, from)];
        }
    }

    /// Least of a range; +inf of an empty one.
    pub fn least(&self, r: Range<usize>) -> f64 {
        let r = self.inside(r);
        if r.start >= r.end {
            return f64::INFINITY;
        }
        let k = (r.end - r.start).ilog2() as usize;
        let row = self.row(k);
        row[r.start].min(row[r.end - (1 << k)])
    }

    /// What of a range is not +inf before the first number or after the last that is not, counted from that first one.
    fn inside(&self, r: Range<usize>) -> Range<usize> {
        let from_first = |i: usize| i.saturating_sub(self.first).min(self.n);
        from_first(r.start)..from_first(r.end)
    }

    /// The numbers of a range, but for those at either end that are +inf; and how many of these come before.
    pub fn part(&self, r: Range<usize>) -> (usize, &[f64]) {
        let inside = self.inside(r.clone());
        let before = (self.first + inside.start).saturating_sub(r.start);
        (before.min(r.len()), &self.all[inside])
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.len
    }

    /// Least of all.
    pub fn least_of_all(&self) -> f64 {
        let numbers = &self.all[..self.n];
        numbers.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// The value at `i`.
    pub fn at(&self, i: usize) -> f64 {
        debug_assert!(i < self.len);
        self.least(i..i + 1)
    }
}

/// The least sum of two numbers of one place.
pub fn least_sum(a: &[f64], b: &[f64]) -> f64 {
    // Some at once: each waits for the one before it otherwise.
    const LANES: usize = 8;
    let mut least = [f64::INFINITY; LANES];
    let (a, b) = (a.chunks(LANES), b.chunks(LANES));
    for (a, b) in a.zip(b) {
        for (least, (a, b)) in least.iter_mut().zip(a.iter().zip(b)) {
            let sum = a + b;
            *least = if sum < *least { sum } else { *least };
        }
    }
    least.into_iter().fold(f64::INFINITY, f64::min)
}

/// The least of each of several ranges, whose ends rise from one to the next.
pub fn least_of_each(values: Vec<f64>, ranges: &[Range<usize>]) -> Vec<f64> {
    if ranges.iter().any(|r| r.start > 0) {
        let values = Ranges::new(&values);
        return ranges.iter().map(|r| values.least(r.clone())).collect();
    }
    // All begin at the first: one look at every value does.
    let (mut least, mut seen) = (f64::INFINITY, 0);
    let mut upto = |end: usize| {
        while seen < end {
            least = least.min(values[seen]);
            seen += 1;
        }
        least
    };
    ranges.iter().map(|r| upto(r.end)).collect()
}

/// Numbers that are lowered a range at a time, and read when all that is done.
#[derive(Debug, Default)]
pub struct Lowered {
    n: usize,
    /// By power of two: what so many numbers from each on are at most, one row after the other, up to the greatest power that was asked
    /// for: mostly it is a small one. Empty while nothing was lowered.
    all: Vec<f64>,
    /// How many rows there are.
    powers: usize,
}

impl Lowered {
    /// So many numbers, all +inf.
    pub fn new(n: usize) -> Lowered {
        Lowered {
            n,
            all: vec![],
            powers: 0,
        }
    }

    /// Nothing was lowered.
    pub fn is_untouched(&self) -> bool {
        self.all.is_empty()
    }

    /// There is a row for this power of two.
    fn touch(&mut self, power: usize) {
        if power >= self.powers {
            self.powers = power + 1;
            let room = row_at(self.n, self.powers);
            self.all.reserve_exact(room - self.all.len());
            self.all.resize(room, f64::INFINITY);
        }
    }

    /// Makes the numbers of a range no greater than `to`.
    pub fn lower(&mut self, range: Range<usize>, to: f64) {
        if range.start >= range.end || to.is_infinite() || to.is_nan() {
            return;
        }
        let power = (range.end - range.start).ilog2() as usize;
        self.touch(power);
        let row = row_at(self.n, power);
        for i in [range.start, range.end - (1 << power)] {
            self.all[row + i] = self.all[row + i].min(to);
        }
    }

    /// Makes numbers from the first named on no greater than their like of `to`.
    pub fn lower_each(&mut self, first: usize, to: &[f64]) {
        if to.iter().all(|to| to.is_infinite()) {
            return;
        }
        self.touch(0);
        for (number, to) in self.all[first..].iter_mut().zip(to) {
            *number = if to < number { *to } else { *number };
        }
    }

    /// The numbers.
    pub fn into_numbers(mut self) -> Vec<f64> {
        if self.is_untouched() {
            return vec![f64::INFINITY; self.n];
        }
        for power in (1..self.powers).rev() {
            let (below, row) = self.all.split_at_mut(row_at(self.n, power));
            let below = &mut below[row_at(self.n, power - 1)..];
            let row = &row[..self.n + 1 - (1 << power)];
            for from in [0, 1 << (power - 1)] {
                for (below, to) in below[from..].iter_mut().zip(row) {
                    *below = if to < below { *to } else { *below };
                }
            }
        }
        self.all.truncate(self.n);
        self.all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn least_of_every_range() {
        for v in [some(0), some(3)] {
            let r = Ranges::new(&v);
            assert_eq!(r.len(), v.len());
            assert_eq!(r.least_of_all(), 0.5);
            for i in 0..v.len() {
                assert_eq!(r.at(i), v[i]);
                for j in i + 1..=v.len() {
                    let least = v[i..j].iter().copied().fold(f64::INFINITY, f64::min);
                    assert_eq!(r.least(i..j), least);
                }
            }
            assert_eq!(r.least(3..3), f64::INFINITY);
        }
        let none = Ranges::new(&[f64::INFINITY; 4]);
        assert_eq!(
            (none.len(), none.least(0..4), none.at(2)),
            (4, f64::INFINITY, f64::INFINITY)
        );
        assert_eq!(none.least_of_all(), f64::INFINITY);
    }

    /// Numbers, as many at either end +inf, and one between.
    fn some(ends: usize) -> Vec<f64> {
        let inner = [5.0, 3.0, f64::INFINITY, 4.0, 1.0, 2.0, 6.0, 0.5];
        let ends = vec![f64::INFINITY; ends];
        [&ends[..], &inner, &ends].concat()
    }

    #[test]
    fn a_part_leaves_out_nothing_that_counts() {
        for v in [some(0), some(3), vec![f64::INFINITY; 5]] {
            let r = Ranges::new(&v);
            for i in 0..v.len() {
                for j in i..=v.len() {
                    let (before, part) = r.part(i..j);
                    let after = j - i - before - part.len();
                    let ends = [before, after].map(|n| vec![f64::INFINITY; n]);
                    assert_eq!([&ends[0], part, &ends[1]].concat(), v[i..j]);
                }
            }
        }
    }

    #[test]
    fn least_of_a_window_that_moves() {
        (0..3).for_each(least_of_a_window);
    }

    /// With so many numbers +inf at either end.
    fn least_of_a_window(ends: usize) {
        let number = |i: usize| match i < ends || i + ends >= 9 {
            true => f64::INFINITY,
            false => (i * 5 % 9) as f64,
        };
        let v: Vec<f64> = (0..9).map(number).collect();
        let ranges = Ranges::new(&v);
        for from in -12..12_i64 {
            for to in from - 1..14_i64 {
                for places in [0, 4, 9, 20] {
                    let mut out = vec![0.0; places];
                    ranges.moving([from, to], &mut out);
                    for (i, out) in out.iter().enumerate() {
                        let in_window = |j: i64| j >= i as i64 + from && j <= i as i64 + to;
                        let all = (0..9).filter(|j| in_window(*j)).map(|j| v[j as usize]);
                        let least = all.fold(f64::INFINITY, f64::min);
                        assert_eq!(*out, least, "{from} {to} {places} {i}");
                    }
                }
            }
        }
    }

    #[test]
    fn least_of_each_range_in_turn() {
        let v = vec![5.0, 3.0, 4.0, 1.0, 2.0];
        let from = |start: usize| {
            let ranges: Vec<Range<usize>> = (0..=5).map(|end| start.min(end)..end).collect();
            let each = least_of_each(v.clone(), &ranges);
            let plain =
                |r: &Range<usize>| v[r.clone()].iter().copied().fold(f64::INFINITY, f64::min);
            assert_eq!(each, ranges.iter().map(plain).collect::<Vec<_>>());
        };
        (0..4).for_each(from);
    }

    #[test]
    fn lowered_ranges_come_out_as_if_lowered_one_by_one() {
        let updates = [
            (2..9, 5.0),
            (0..3, 4.0),
            (8..11, 1.0),
            (4..5, 0.5),
            (6..6, 0.1),
            (0..11, 9.0),
        ];
        let (mut all, mut plain) = (Lowered::new(11), vec![f64::INFINITY; 11]);
        for (range, cost) in updates {
            plain[range.clone()]
                .iter_mut()
                .for_each(|p| *p = p.min(cost));
            all.lower(range, cost);
        }
        assert_eq!(all.into_numbers(), plain);
        assert_eq!(Lowered::new(3).into_numbers(), [f64::INFINITY; 3]);
        assert_eq!(Lowered::new(0).into_numbers(), [0.0; 0]);
    }
}
