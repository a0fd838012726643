//! Our formulas beside libraries that others wrote: the tables of `tests/peers/tables`, made by `tests/peers/tables.py`.

use geo::Coord;
use pitwright::{
    clearance::normal_cdf,
    mechanics::{
        hydraulics::{Full, at_flow, colebrook_white, manning, proportions},
        jacking::{Ground, Jacked, SiloSet, silo_friction},
        setting_out::ellipsoid_line,
        settlement::{Trough, greatest_settlement, slope_from},
        trees::straight_edge,
    },
    pits::bearing_deg,
};

/// The rows of a table, each of so many numbers.
fn rows<const N: usize>(table: &str) -> Vec<[f64; N]> {
    let path = format!(
        "{}/tests/peers/tables/{table}.csv",
        env!("CARGO_MANIFEST_DIR")
    );
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    let row = |line: &str| {
        let numbers = line.split(',').map(|n| n.parse().expect("a number"));
        numbers
            .collect::<Vec<f64>>()
            .try_into()
            .expect("all columns")
    };
    let rows: Vec<[f64; N]> = text.lines().skip(2).map(row).collect();
    assert!(rows.len() >= 20, "{table} has {} rows only", rows.len());
    rows
}

fn near(ours: f64, theirs: f64, relative: f64, what: &str) {
    let apart = (ours - theirs).abs();
    assert!(
        apart <= relative * theirs.abs(),
        "{what}: {ours}, not {theirs}"
    );
}

#[test]
fn the_normal_distribution_is_that_of_scipy() {
    for [x, p] in rows("normal") {
        near(normal_cdf(x), p, 1e-12, &format!("Φ({x})"));
    }
}

/// Theirs solves the friction factor, which is implicit, for a velocity; ours gives the velocity of the grade.
#[test]
fn colebrook_white_is_that_of_fluids() {
    for [id_mm, roughness_mm, viscosity, grade, velocity] in rows("colebrook") {
        let w = colebrook_white(Full { id_mm, grade }, roughness_mm, viscosity).expect("turbulent");
        let ours = w.term("V").expect("of the full pipe").value;
        near(ours, velocity, 1e-9, &format!("{id_mm} mm at {grade}"));
    }
}

#[test]
fn manning_part_full_is_that_of_fluids() {
    for [id_mm, grade, n, depth, velocity, flow] in rows("manning") {
        let full = manning(Full { id_mm, grade }, n).expect("in range");
        let part = proportions(depth).expect("in range");
        let ours = full.term("V").expect("full").value * part.term("V_r").expect("part").value;
        let what = format!("{id_mm} mm, {depth} full");
        near(ours, velocity, 1e-9, &what);
        near(full.value() * part.value(), flow, 1e-9, &what);
    }
}

/// Theirs integrates the balance of a slice of the silo; ours is the closed form.
#[test]
fn the_silo_is_what_scipy_integrates() {
    for [od_mm, cover, weight, cohesion, phi, atv, pressure] in rows("silo") {
        let pipe = Jacked {
            od_mm,
            length_m: 1.0,
        };
        let ground = Ground {
            unit_weight_kn_m3: weight,
            friction_deg: phi,
            cohesion_kpa: cohesion,
            pipe_mu: 0.4,
        };
        let set = [SiloSet::Terzaghi, SiloSet::AtvA161][atv as usize];
        let w = silo_friction(pipe, ground, cover, set).expect("in range");
        let ours = w.term("σ_v").expect("of the silo").value;
        near(ours, pressure, 1e-7, &format!("{od_mm} mm under {cover} m"));
    }
}

/// Theirs makes the area under the curve the ground lost, by quadrature.
#[test]
fn the_trough_holds_the_ground_lost_by_quadrature() {
    for [lost_m3_m, depth_m, k, settlement_mm] in rows("trough") {
        let at = Trough {
            lost_m3_m,
            depth_m,
            k,
        };
        let ours = greatest_settlement(at).expect("in range").value();
        near(ours, settlement_mm, 1e-9, &format!("{depth_m} m deep"));
    }
}

#[test]
fn the_segment_of_a_root_zone_is_that_of_quadrature() {
    for [distance, radius, area] in rows("segment") {
        let w = straight_edge(distance, radius).expect("in range");
        let ours = w.term("A").expect("of the segment").value;
        assert!(
            (ours - area).abs() < 1e-7,
            "{distance} of {radius}: {ours}, not {area}"
        );
    }
}

/// Theirs solves the depth that carries the flow.
#[test]
fn the_pipe_at_a_flow_is_what_scipy_and_fluids_find() {
    for [id_mm, grade, n, flow, depth_mm, velocity, shear] in rows("part_full") {
        let w = at_flow(Full { id_mm, grade }, n, flow).expect("it carries that");
        let of = |symbol| w.term(symbol).expect("of the pipe").value;
        let what = format!("{id_mm} mm at {flow} l/s");
        near(of("h"), depth_mm, 1e-8, &what);
        near(of("V"), velocity, 1e-8, &what);
        near(of("τ"), shear, 1e-8, &what);
    }
}

/// Theirs looks for the steepest place on the curve's numeric derivative.
#[test]
fn the_steepest_slope_from_a_place_outward_is_what_scipy_finds() {
    for [lost_m3_m, depth_m, k, beside, slope] in rows("slope") {
        let at = Trough {
            lost_m3_m,
            depth_m,
            k,
        };
        let ours = slope_from(at, beside).expect("in range").value();
        near(
            ours,
            slope,
            1e-7,
            &format!("{beside} m beside, {depth_m} m deep"),
        );
    }
}

/// Length, bearing and scale of drives on the grids of seven systems, in metres and feet. Theirs: the ellipsoid's own lines and
/// the projection's factors. Within a micrometre, and as much across the end of the drive.
#[test]
fn drives_on_the_grid_are_those_of_proj() {
    for row in rows::<14>("geometry") {
        let [
            _,
            unit,
            e1,
            n1,
            e2,
            n2,
            lon1,
            lat1,
            lon2,
            lat2,
            azimuth,
            scale,
            bearing,
            length,
        ] = row;
        let d = Coord {
            x: (e2 - e1) * unit,
            y: (n2 - n1) * unit,
        };
        let (on_grid, what) = (d.x.hypot(d.y), format!("{e1} {n1}, {bearing}°"));
        let apart_m = |deg: f64, other: f64| {
            let turn = (deg - other + 540.0).rem_euclid(360.0) - 180.0;
            turn.to_radians().abs() * length
        };
        assert!((on_grid - length).abs() < 1e-6, "{what}: {on_grid} m");
        assert!(apart_m(bearing_deg(d / on_grid), bearing) < 2e-6, "{what}");
        let line = ellipsoid_line([lon1, lat1], [lon2, lat2]).expect("a short line");
        assert!((line.value() * scale - length).abs() < 1e-6, "{what}");
        let true_bearing = line.term("α").expect("worked out").value;
        assert!(
            apart_m(true_bearing, azimuth) < 2e-6,
            "{what}: {true_bearing}"
        );
    }
}
