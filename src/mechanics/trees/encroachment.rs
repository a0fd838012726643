//! How much of a root zone a dig takes, by area.

use crate::{
    bibliography::{Cited, Source, Tag},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

const CIRCLE: Cited = Cited::unsourced("segment of a circle", Tag::Derived);

/// Greatest minor encroachment (share of the zone's area), outside the structural root zone.
///
/// # Source
/// [AS 4970](Source::As4970), 2009, as restated.
pub const MINOR: f64 = 0.10;

/// Where [`MINOR`] is from.
pub const MINOR_CITED: Cited = Cited::restated(Source::As4970, "minor encroachment");

/// Share of a zone that lies under an area (pit, laydown), the area inside the zone known.
///
/// # Errors
/// An area below 0 or greater than the zone, no radius.
pub fn encroachment(inside_m2: f64, radius_m: f64) -> Result<Working, OutOfRange> {
    let r = asked("radius of the zone", radius_m, "m").positive(CIRCLE)?;
    let most = PI * r * r * (1.0 + 1e-9);
    let area = asked("area inside the zone", inside_m2, "m2").within(0.0, most, CIRCLE)?;
    let mut w = Working::new("Share of the root zone taken", MINOR_CITED);
    w.given("A", "area inside the zone", area, "m2");
    w.given("r", "radius of the zone", r, "m");
    Ok(with_share(w, area, r))
}

/// Share of a zone beyond a straight edge at a distance from the trunk: `A = r²·acos(d/r) - d·√(r² - d²)`.
///
/// # Errors
/// A distance outside 0 to the radius, no radius.
pub fn straight_edge(distance_m: f64, radius_m: f64) -> Result<Working, OutOfRange> {
    let r = asked("radius of the zone", radius_m, "m").positive(CIRCLE)?;
    let d = asked("distance from the trunk", distance_m, "m").within(0.0, r, CIRCLE)?;
    let mut w = Working::new("Share of the root zone beyond an edge", CIRCLE);
    w.given("d", "distance from the trunk", d, "m");
    w.given("r", "radius of the zone", r, "m");
    let area = r * r * (d / r).acos() - d * (r * r - d * d).sqrt();
    w.line(
        ("A", "area beyond the edge"),
        "r²·acos(d/r)·π/180 - d·√(r² - d²)",
        area,
        "m2",
    );
    Ok(with_share(w, area, r))
}

/// The share that an area is of the zone.
fn with_share(mut w: Working, area: f64, r: f64) -> Working {
    let share = area / (PI * r * r);
    w.line(("p", "share of the zone"), "A/(π·r²)", share, "");
    w
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: r 6, edge at 4; and where 5, 10 and 20 % are reached.
    #[test]
    fn an_edge_takes_a_segment() {
        let w = straight_edge(4.0, 6.0).unwrap();
        assert!((w.term("A").unwrap().value - 12.39).abs() < 0.005);
        assert!((w.value() - 0.1096).abs() < 5e-5);
        assert!(w.value() > MINOR);
        calculator::agrees(&w);
        for (d, share) in [(0.8054, 0.05), (0.6870, 0.10), (0.4919, 0.20)] {
            assert!((straight_edge(d, 1.0).unwrap().value() - share).abs() < 1e-4);
        }
    }

    /// Worked by hand: 4.53 m2 inside a zone of 4.8 m.
    #[test]
    fn a_pit_takes_what_lies_inside() {
        let w = encroachment(4.53, 4.8).unwrap();
        assert!((w.value() - 0.0626).abs() < 5e-5);
        calculator::agrees(&w);
        assert!(encroachment(80.0, 4.8).is_err());
        assert!(straight_edge(7.0, 6.0).is_err());
    }
}
