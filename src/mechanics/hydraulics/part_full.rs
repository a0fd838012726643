//! A circular pipe flowing part-full: velocity and flow by those of the full pipe, roughness the same at every depth.

use super::full::{Full, GRAVITY, manning};
use crate::{
    bibliography::{Cited, Source, Tag},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

const CITED: Cited = Cited::unsourced("geometry of the circle, with Manning", Tag::Derived);
const MANNING: Cited = Cited::from_memory(Source::Manning1891, "with one roughness at every depth");

/// Depth by diameter at which most flows, by Manning: above it two depths carry the same flow, and the lower is meant.
pub const FULLEST: f64 = 0.938_181_6;

/// Flow by full flow (`Q_r`), with velocity by full velocity (`V_r`) on the way, at depth by diameter.
///
/// # Valid for
/// Depths above 0 up to the full pipe.
///
/// # Errors
/// A depth outside that.
pub fn proportions(depth_by_diameter: f64) -> Result<Working, OutOfRange> {
    let y = asked("depth by diameter", depth_by_diameter, "").within(1e-9, 1.0, CITED)?;
    let mut w = Working::new("Part-full flow by full flow", CITED);
    w.given("y", "depth by diameter", y, "");
    let angle = 2.0 * (1.0 - 2.0 * y).acos();
    w.line(
        ("θ", "angle of the water's surface at the centre"),
        "2·acos(1 - 2·y)",
        angle.to_degrees(),
        "deg",
    );
    let area = (angle - angle.sin()) / (2.0 * PI);
    w.line(
        ("A_r", "area by full area"),
        "(θ·π/180 - sin(θ))/(2·π)",
        area,
        "",
    );
    let radius = 1.0 - angle.sin() / angle;
    w.line(
        ("R_r", "hydraulic radius by that of the full pipe"),
        "1 - sin(θ)/(θ·π/180)",
        radius,
        "",
    );
    let v = radius.powf(2.0 / 3.0);
    w.line(("V_r", "velocity by full velocity"), "R_r^(2/3)", v, "");
    w.line(("Q_r", "flow by full flow"), "V_r·A_r", v * area, "");
    Ok(w)
}

/// Depth by diameter at which a share of the full flow runs: the lower of two where there are two.
///
/// # Valid for
/// Shares above 0, up to what the fullest pipe carries (1.076).
///
/// # Errors
/// A share outside that: the pipe does not carry it.
pub fn depth_for(flow_by_full: f64) -> Result<f64, OutOfRange> {
    let most = proportions(FULLEST)?.value();
    let q = asked("flow by full flow", flow_by_full, "").within(1e-12, most, MANNING)?;
    let (mut low, mut high) = (1e-9, FULLEST);
    // 60 halvings leave less than a double can tell.
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if proportions(middle)?.value() < q {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok((low + high) / 2.0)
}

/// A pipe at a flow (l/s): depth `h` (mm), velocity `V` (m/s), shear `τ` (Pa), and the share `p` of the full capacity.
///
/// # Errors
/// As [`manning`] for the full pipe, and [`depth_for`]: the pipe does not carry that much.
///
/// # Source
/// [Manning 1891](Source::Manning1891), roughness the same at every depth; from memory.
pub fn at_flow(pipe: Full, n: f64, flow_l_s: f64) -> Result<Working, OutOfRange> {
    let full = manning(pipe, n)?.value();
    let flow = asked("flow", flow_l_s, "l/s").positive(MANNING)?;
    let y = depth_for(flow / full)?;
    let (d, s) = (pipe.id_mm / 1000.0, pipe.grade);
    let mut w = Working::new("The pipe at its design flow, by Manning", MANNING);
    w.given("Q", "design flow", flow, "l/s");
    w.given("Q_f", "capacity of the full pipe", full, "l/s");
    w.given("D", "inside diameter", d, "m");
    w.given("S", "grade", s, "m/m");
    w.given("n", "roughness", n, "s/m^(1/3)");
    w.given("ρ", "density of water", 1000.0, "kg/m3");
    w.given("g", "gravity", GRAVITY, "m/s2");
    w.given("y", "depth by diameter, found by halving", y, "");
    let part = proportions(y)?;
    let lines = part
        .steps
        .iter()
        .filter(|s| ["θ", "R_r"].contains(&s.term.symbol));
    w.steps.extend(lines.copied());
    let r = part.term("R_r").map_or(f64::NAN, |t| t.value);
    w.line(("h", "depth of water"), "1000·y·D", 1000.0 * y * d, "mm");
    let v = (r * d / 4.0).powf(2.0 / 3.0) * s.sqrt() / n;
    w.line(("V", "velocity"), "1/n·(R_r·D/4)^(2/3)·√S", v, "m/s");
    let shear = 1000.0 * GRAVITY * r * d / 4.0 * s;
    w.line(("τ", "mean shear"), "ρ·g·R_r·D/4·S", shear, "Pa");
    w.line(
        ("p", "share of the full capacity"),
        "Q/Q_f",
        flow / full,
        "",
    );
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::{
        calculator,
        hydraulics::{Full, manning, shear},
    };

    /// Worked by hand: depth, velocity, flow by those of the full pipe.
    #[test]
    fn proportions_of_the_circle() {
        for (y, v, q) in [
            (0.10, 0.4012, 0.0209),
            (0.25, 0.7007, 0.1370),
            (0.40, 0.9022, 0.3370),
            (0.50, 1.0000, 0.5000),
            (0.60, 1.0724, 0.6718),
            (0.75, 1.1335, 0.9119),
            (0.80, 1.1397, 0.9775),
            (0.95, 1.0950, 1.0745),
        ] {
            let w = proportions(y).unwrap();
            assert!((w.term("V_r").unwrap().value - v).abs() < 5e-5, "{y}");
            assert!((w.value() - q).abs() < 5e-5, "{y}");
            calculator::agrees(&w);
        }
    }

    /// Worked by hand: DN150 at 1 in 100, n 0.013, 2.5 l/s: 41.1 mm deep, 0.636 m/s.
    #[test]
    fn one_house_in_a_wide_pipe() {
        let full = manning(
            Full {
                id_mm: 150.0,
                grade: 0.01,
            },
            0.013,
        )
        .unwrap();
        let y = depth_for(2.5 / full.value()).unwrap();
        assert!((y * 150.0 - 41.1).abs() < 0.05);
        let v = proportions(y).unwrap().term("V_r").unwrap().value;
        assert!((v * full.term("V").unwrap().value - 0.636).abs() < 5e-4);
    }

    /// The same house again, all in one sheet.
    #[test]
    fn a_pipe_at_its_design_flow() {
        let pipe = Full {
            id_mm: 150.0,
            grade: 0.01,
        };
        let w = at_flow(pipe, 0.013, 2.5).unwrap();
        let of = |symbol| w.term(symbol).unwrap().value;
        assert!((of("h") - 41.1).abs() < 0.05 && (of("V") - 0.636).abs() < 5e-4);
        let part = proportions(of("y")).unwrap();
        let tau = shear(150.0, part.term("R_r").unwrap().value, 0.01).unwrap();
        assert!((of("τ") - tau.value()).abs() < 1e-9);
        calculator::agrees(&w);
        assert_eq!(
            at_flow(pipe, 0.013, 17.0).unwrap_err().quantity,
            "flow by full flow"
        );
        assert!(at_flow(pipe, 0.013, 0.0).is_err());
    }

    #[test]
    fn depth_and_flow_undo_each_other_below_the_fullest() {
        for y in [0.02, 0.3, 0.5, 0.8, 0.93] {
            let q = proportions(y).unwrap().value();
            assert!((depth_for(q).unwrap() - y).abs() < 1e-9);
        }
        let most = proportions(FULLEST).unwrap().value();
        for beside in [FULLEST - 1e-3, FULLEST + 1e-3] {
            assert!(proportions(beside).unwrap().value() < most);
        }
        assert!(depth_for(1.08).is_err());
        assert!(proportions(0.0).is_err() && proportions(1.1).is_err());
    }
}
