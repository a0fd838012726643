//! What a short line on the grid is on the ellipsoid: true length and true bearing, and so the grid's scale and turn.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};

const CITED: Cited = Cited::from_memory(
    Source::EpsgGuidance7Part2,
    "radii of curvature; the line by its middle latitude",
);

/// Semi-major axis (m) of GRS 80, from which WGS 84 differs by less than a tenth of a millimetre.
const AXIS_M: f64 = 6_378_137.0;
/// Flattening of GRS 80.
const FLATTENING: f64 = 1.0 / 298.257_222_101;
/// Longest line of this kind (m).
const LONGEST_M: f64 = 1000.0;

/// Length on the ellipsoid (m), with the true bearing `α` (degrees from north) in the middle on the way.
///
/// # Units
/// Longitude, latitude (degrees) of both ends.
///
/// # Valid for
/// Lines to 1000 m, latitudes to 84°; within a micrometre there.
///
/// # Errors
/// Values outside that; both ends at one place.
///
/// # Source
/// [IOGP 373-7-2](Source::EpsgGuidance7Part2) for the radii; from memory.
pub fn ellipsoid_line(from: [f64; 2], to: [f64; 2]) -> Result<Working, OutOfRange> {
    let latitude = |deg| asked("latitude", deg, "deg").within(-84.0, 84.0, CITED);
    let longitude = |deg| asked("longitude", deg, "deg").within(-540.0, 540.0, CITED);
    let mut w = Working::new("The line on the ellipsoid", CITED);
    let f1 = w.given("φ1", "latitude of its beginning", latitude(from[1])?, "deg");
    let l1 = w.given(
        "λ1",
        "longitude of its beginning",
        longitude(from[0])?,
        "deg",
    );
    let f2 = w.given("φ2", "latitude of its end", latitude(to[1])?, "deg");
    let l2 = w.given("λ2", "longitude of its end", longitude(to[0])?, "deg");
    let a = w.given("a", "greater axis of GRS 80", AXIS_M, "m");
    let e2 = FLATTENING * (2.0 - FLATTENING);
    w.given("e2", "square of its eccentricity", e2, "");
    let f = w.line(
        ("φ", "middle latitude"),
        "(φ1 + φ2)/2",
        (f1 + f2) / 2.0,
        "deg",
    );
    let (sin, cos) = f.to_radians().sin_cos();
    let root = (1.0 - e2 * sin * sin).sqrt();
    let k = w.line(("W", "root of the radii"), "√(1 - e2·sin(φ)²)", root, "");
    let north = a * (1.0 - e2) / k.powi(3) * (f2 - f1).to_radians();
    let n = w.line(
        ("n", "northward"),
        "a·(1 - e2)/W³·(φ2 - φ1)·π/180",
        north,
        "m",
    );
    let east = a / k * cos * (l2 - l1).to_radians();
    let e = w.line(("e", "eastward"), "a/W·cos(φ)·(λ2 - λ1)·π/180", east, "m");
    let length = asked("length of the line", n.hypot(e), "m").within(1e-3, LONGEST_M, CITED)?;
    let turn = (n / length).clamp(-1.0, 1.0).acos().to_degrees();
    let (formula, bearing) = if e < 0.0 {
        ("360 - acos(n/√(n² + e²))", 360.0 - turn)
    } else {
        ("acos(n/√(n² + e²))", turn)
    };
    w.line(("α", "true bearing in its middle"), formula, bearing, "deg");
    w.line(("s", "length on the ellipsoid"), "√(n² + e²)", length, "m");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    #[test]
    fn lines_along_and_across_the_meridian() {
        // A minute of latitude at the equator and at the pole's side: 1842.9 m and 1861.6 m; a sixtieth of each.
        let north = ellipsoid_line([10.0, 0.0], [10.0, 1.0 / 3600.0]).unwrap();
        assert!((north.value() - 30.715).abs() < 1e-3, "{}", north.value());
        assert_eq!(north.term("α").unwrap().value, 0.0);
        let west = ellipsoid_line([10.0, 0.0], [10.0 - 1.0 / 3600.0, 0.0]).unwrap();
        assert!((west.value() - 30.922).abs() < 1e-3, "{}", west.value());
        assert!((west.term("α").unwrap().value - 270.0).abs() < 1e-9);
        calculator::agrees(&north);
        calculator::agrees(&west);
    }

    #[test]
    fn what_is_no_short_line_is_refused() {
        assert!(ellipsoid_line([10.0, 50.0], [10.0, 50.0]).is_err());
        assert!(ellipsoid_line([10.0, 50.0], [10.1, 50.0]).is_err());
        assert!(ellipsoid_line([10.0, 85.0], [10.0, 85.0001]).is_err());
        assert!(ellipsoid_line([f64::NAN, 50.0], [10.0, 50.0]).is_err());
    }
}
