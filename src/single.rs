//! Numbers of single precision on the certain side of one of double precision.

/// The greatest not above `x`.
pub(crate) fn down(x: f64) -> f32 {
    let near = x as f32;
    if f64::from(near) > x {
        near.next_down()
    } else {
        near
    }
}

/// The least not below `x`.
pub(crate) fn up(x: f64) -> f32 {
    -down(-x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_is_on_its_side_and_near() {
        for x in [4_000_000.1f64, -4_000_000.1, 0.1, 16_777_217.0] {
            assert!(f64::from(down(x)) <= x && f64::from(up(x)) >= x && down(x) < up(x));
        }
        assert_eq!((down(0.5), up(0.5)), (0.5, 0.5));
    }
}
