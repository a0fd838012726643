//! Which way round a ring goes.

use super::Position;

/// Twice the area within a closed ring; positive where it goes against the clock.
fn twice_area(ring: &[Position]) -> f64 {
    let Some(o) = ring.first() else { return 0.0 };
    // From the first corner: far from the origin the products would lose their digits.
    let cross = |a: &Position, b: &Position| (a.x - o.x) * (b.y - o.y) - (b.x - o.x) * (a.y - o.y);
    ring.windows(2).map(|w| cross(&w[0], &w[1])).sum()
}

/// An area by the right-hand rule: the outer ring against the clock, holes with it.
///
/// # Source
/// RFC 7946, section 3.1.6.
pub(super) fn right_handed(rings: &[Vec<Position>]) -> Vec<Vec<Position>> {
    let turned = |(i, ring): (usize, &Vec<Position>)| {
        let mut ring = ring.clone();
        if (twice_area(&ring) > 0.0) != (i == 0) {
            ring.reverse();
        }
        ring
    };
    rings.iter().enumerate().map(turned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_outer_ring_goes_against_the_clock_and_holes_with_it() {
        let at = |x, y| Position { x, y, z: None };
        let with_clock = vec![at(0., 0.), at(0., 4.), at(4., 4.), at(4., 0.), at(0., 0.)];
        let against = vec![at(1., 1.), at(2., 1.), at(2., 2.), at(1., 1.)];
        let turned = right_handed(&[with_clock.clone(), against.clone()]);
        assert!(twice_area(&turned[0]) == 32.0 && twice_area(&turned[1]) == -1.0);
        assert_eq!(right_handed(&turned), turned);
    }
}
