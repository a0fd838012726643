//! Ground lost into a bore, and grout to fill what is open.

use crate::{
    bibliography::{Cited, Tag},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

const CITED: Cited = Cited::unsourced("the ring between bore and pipe", Tag::Derived);

/// Ground lost (m3/m) where a share of the overcut closes: `V = k·π/4·(D_c² - D²)`.
///
/// # Units
/// `closes`: 1 where all of it closes, the most there can be; 0.2 to 0.5 where it is grouted (from memory).
///
/// # Errors
/// A bore narrower than the pipe, a share outside 0 to 1.
pub fn overcut_loss(bore_mm: f64, od_mm: f64, closes: f64) -> Result<Working, OutOfRange> {
    let (mut w, ring) = ring("Ground lost into the overcut", bore_mm, od_mm)?;
    let k = asked("share of the overcut that closes", closes, "").within(0.0, 1.0, CITED)?;
    w.given("k", "share of the overcut that closes", k, "");
    w.line(("V", "ground lost"), "k·A", k * ring, "m3/m");
    Ok(w)
}

/// Ground lost (m3/m) as a share of the bore: `V = VL·π·D_c²/4`.
///
/// # Errors
/// A share outside 0 to 1, no diameter.
pub fn share_loss(bore_mm: f64, share: f64) -> Result<Working, OutOfRange> {
    let bore = asked("bored diameter", bore_mm / 1000.0, "m").positive(CITED)?;
    let share = asked("volume loss", share, "").within(0.0, 1.0, CITED)?;
    let mut w = Working::new("Ground lost as a share of the bore", CITED);
    w.given("D_c", "bored diameter", bore, "m");
    w.given("VL", "volume loss", share, "");
    let lost = share * PI * bore * bore / 4.0;
    w.line(("V", "ground lost"), "VL·π·D_c²/4", lost, "m3/m");
    Ok(w)
}

/// Grout to fill the ring between bore (or casing) and pipe (m3), nothing added for waste.
///
/// # Errors
/// A bore narrower than the pipe, no length.
pub fn grout_volume(bore_mm: f64, od_mm: f64, length_m: f64) -> Result<Working, OutOfRange> {
    let (mut w, ring) = ring("Grout round the pipe", bore_mm, od_mm)?;
    let length = asked("length", length_m, "m").positive(CITED)?;
    w.given("L", "length", length, "m");
    w.line(("G", "grout"), "A·L", ring * length, "m3");
    Ok(w)
}

fn ring(title: &str, bore_mm: f64, od_mm: f64) -> Result<(Working, f64), OutOfRange> {
    let od = asked("outside diameter", od_mm / 1000.0, "m").positive(CITED)?;
    let bore = asked("bored diameter", bore_mm / 1000.0, "m").within(od, f64::MAX, CITED)?;
    let mut w = Working::new(title, CITED);
    w.given("D_c", "bored diameter", bore, "m");
    w.given("D", "outside diameter", od, "m");
    let area = PI / 4.0 * (bore * bore - od * od);
    w.line(("A", "ring"), "π/4·(D_c² - D²)", area, "m2");
    Ok((w, area))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: 324 in 298; over 30 m; casing 260.4 round 160 over 25 m.
    #[test]
    fn the_ring_is_lost_or_grouted() {
        let lost = overcut_loss(324.0, 298.0, 1.0).unwrap();
        assert!((lost.value() - 0.012701).abs() < 5e-6, "{}", lost.value());
        let grout = grout_volume(324.0, 298.0, 30.0).unwrap();
        assert!((grout.value() - 0.381).abs() < 5e-4);
        let casing = grout_volume(260.4, 160.0, 25.0).unwrap();
        assert!((casing.value() - 0.829).abs() < 5e-4);
        let share = share_loss(180.0, 0.02).unwrap();
        for w in [lost, grout, casing, share] {
            calculator::agrees(&w);
        }
    }

    #[test]
    fn a_pipe_wider_than_its_bore_is_refused() {
        assert!(overcut_loss(150.0, 160.0, 1.0).is_err());
        assert!(overcut_loss(180.0, 160.0, 1.1).is_err());
        assert!(share_loss(180.0, -0.1).is_err());
    }
}
