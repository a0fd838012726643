//! A curve that fills the plane: things near each other on it are near each other.

/// Place on the Hilbert curve of a cell of a grid of 65,536 by 65,536; what lies beyond counts as on its edge.
///
/// # Source
/// Warren 2013, Hacker's Delight, 2nd ed., §16 (coordinates to distance along the curve).
pub fn hilbert(x: u32, y: u32) -> u32 {
    let (mut x, mut y) = (x.min(0xffff), y.min(0xffff));
    let mut d = 0;
    let mut s = 1 << 15;
    while s > 0 {
        let (rx, ry) = (u32::from(x & s > 0), u32::from(y & s > 0));
        d += s * s * ((3 * rx) ^ ry);
        if ry == 0 {
            if rx == 1 {
                x = 0xffff - x;
                y = 0xffff - y;
            }
            std::mem::swap(&mut x, &mut y);
        }
        s >>= 1;
    }
    d
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
}
