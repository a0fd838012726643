//! A curve that fills the plane: things near each other on it are near each other.

use rayon::prelude::*;

/// Place on the Hilbert curve of a cell of a grid of 65,536 by 65,536; what lies beyond counts as on its edge.
///
/// # Source
/// Warren 2013, Hacker's Delight, 2nd ed., §16 (coordinates to distance along the curve); four levels are looked up at once.
pub fn hilbert(x: u32, y: u32) -> u32 {
    let (x, y) = (x.min(0xffff), y.min(0xffff));
    let (mut d, mut turn) = (0, 0);
    for shift in [12, 8, 4, 0] {
        let (x, y) = ((x >> shift) & 15, (y >> shift) & 15);
        let step = STEPS[(turn << 8 | x << 4 | y) as usize];
        d = d << 8 | u32::from(step & 0xff);
        turn = u32::from(step >> 8);
    }
    d
}

/// So many are looked at by one thread in one go.
const TOGETHER: usize = 1 << 15;
/// Binary places that tell the parts of the curve: each holds what fits near a processor.
const PARTS: u32 = 7;
/// A digit has no more binary places than this.
const DIGIT: u32 = 9;

/// What belongs to keys, sorted by them, that of equal keys as it comes. Keys are below 2^`bits`.
pub fn by_key<T: Copy + Default + Send + Sync>(all: &[(u32, T)], bits: u32) -> Vec<T> {
    let rest = bits.saturating_sub(PARTS);
    // Some of what comes first, put into the parts of the curve; then of each part what there is in all of these.
    let some = all
        .par_chunks(TOGETHER)
        .map(|some| sorted(some, rest, bits - rest));
    let some: Vec<Sorted<T>> = some.collect();
    let passes = rest.div_ceil(DIGIT).max(1);
    let digit = rest.div_ceil(passes);
    let part = |number: usize| {
        let within = some.iter().map(|(some, ends)| {
            let from = number.checked_sub(1).map_or(0, |before| ends[before]);
            &some[from..ends[number]]
        });
        let mut part = within.collect::<Vec<_>>().concat();
        for pass in 0..passes {
            part = sorted(&part, pass * digit, digit).0;
        }
        part.into_iter().map(|one| one.1).collect::<Vec<T>>()
    };
    let parts = (0..1 << (bits - rest)).into_par_iter().map(part);
    parts.collect::<Vec<_>>().concat()
}

/// What is sorted, and where what is equal ends.
type Sorted<T> = (Vec<(u32, T)>, Vec<usize>);

/// Sorted by the `places` binary places of the key from `shift` on; where these are equal, as it comes.
fn sorted<T: Copy + Default>(all: &[(u32, T)], shift: u32, places: u32) -> Sorted<T> {
    let digit = |key: u32| (key >> shift) as usize & ((1 << places) - 1);
    let mut ends = vec![0; 1 << places];
    all.iter().for_each(|(key, _)| ends[digit(*key)] += 1);
    let mut before = 0;
    for end in &mut ends {
        before += std::mem::replace(end, before);
    }
    let mut sorted = vec![(0, T::default()); all.len()];
    for one in all {
        let place = &mut ends[digit(one.0)];
        sorted[*place] = *one;
        *place += 1;
    }
    (sorted, ends)
}

/// By how the curve is turned (1: x and y change places, 2: both are counted from the other end) and four binary places of x and
/// of y: distance along the curve, and 256 times how it is turned there.
static STEPS: [u16; 1024] = {
    let mut steps = [0; 1024];
    let mut i = 0;
    while i < 1024 {
        steps[i] = step((i >> 8) as u16, (i >> 4 & 15) as u16, (i & 15) as u16);
        i += 1;
    }
    steps
};

const fn step(mut turn: u16, x: u16, y: u16) -> u16 {
    let (mut d, mut bit) = (0, 4);
    while bit > 0 {
        bit -= 1;
        let from_other_end = turn >> 1;
        let (x, y) = (x >> bit & 1 ^ from_other_end, y >> bit & 1 ^ from_other_end);
        let (x, y) = if turn & 1 == 1 { (y, x) } else { (x, y) };
        d = d << 2 | (3 * x) ^ y;
        if y == 0 {
            turn ^= 1 | x << 1;
        }
    }
    turn << 8 | d
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_on_the_curve_are_neighbours_in_the_plane() {
        let mut cells: Vec<(u32, i32, i32)> = vec![];
        for x in 0..16 {
            for y in 0..16 {
                cells.push((hilbert(x << 12, y << 12), x as i32, y as i32));
            }
        }
        cells.sort();
        let step = |w: &[(u32, i32, i32)]| (w[0].1 - w[1].1).abs() + (w[0].2 - w[1].2).abs();
        assert!(cells.windows(2).all(|w| step(w) == 1));
    }

    #[test]
    fn four_levels_at_once_are_as_one_after_the_other() {
        let one_by_one = |mut x: u32, mut y: u32| {
            let mut d = 0;
            for place in (0..16).rev() {
                let (rx, ry) = (x >> place & 1, y >> place & 1);
                d = d << 2 | (3 * rx) ^ ry;
                if ry == 0 {
                    if rx == 1 {
                        (x, y) = (0xffff - x, 0xffff - y);
                    }
                    std::mem::swap(&mut x, &mut y);
                }
            }
            d
        };
        let places = (0..0xffff).step_by(997).chain([0xffff]);
        for (x, y) in places
            .clone()
            .flat_map(|x| places.clone().map(move |y| (x, y)))
        {
            assert_eq!(hilbert(x, y), one_by_one(x, y), "{x} {y}");
        }
        assert_eq!(hilbert(70_000, 5), hilbert(0xffff, 5));
    }

    #[test]
    fn sorting_by_key_keeps_equal_keys_as_they_came() {
        let mut x = 7u32;
        let mut next = || {
            x = x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            x
        };
        for bits in [1, 11, 22, 30, 32] {
            let n = 3 * TOGETHER as u32 + 7;
            let mut key = || (next() >> (32 - bits)) & !5;
            let all: Vec<(u32, u32)> = (0..n).map(|i| (key(), i)).collect();
            let mut expected = all.clone();
            expected.sort();
            let expected: Vec<u32> = expected.iter().map(|one| one.1).collect();
            assert!(by_key(&all, bits) == expected, "{bits}");
        }
    }
}
