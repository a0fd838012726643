//! `proposed_bores`.

use crate::plan::Bore;
use crate::write::layer::{int, real, text};
use crate::write::{Geometry, GeometryType, Layer, Shape, Value, Word};

/// Bores, upstream to downstream, Z = pipe invert.
///
/// Null where the job does not say what a figure needs: the range of thrust, settlement, heave.
pub static PROPOSED_BORES: Layer<Bore> = Layer {
    name: "proposed_bores",
    description: "Proposed bores, upstream to downstream, pit centre to pit centre; Z is the pipe invert in metres.",
    geometry: Some(Geometry {
        kind: GeometryType::LineStringZ,
        shape: |b| Shape::LineZ(vec![b.us, b.ds].into()),
    }),
    columns: &[
        text("bore_id", |b| (&b.bore_id).into()),
        text("route_id", |b| (&b.route_id).into()),
        text("run_id", |b| (&b.run_id).into()),
        text("us_pit", |b| (&b.us_pit).into()),
        text("ds_pit", |b| (&b.ds_pit).into()),
        text("launch_pit", |b| (&b.launch_pit).into()),
        text("reception_pit", |b| (&b.reception_pit).into()),
        int("dn_mm", |b| b.dn_mm.into()),
        real("od_mm", |b| b.od_mm.into()),
        real("id_mm", |b| b.id_mm.into()),
        real("bore_mm", |b| b.bore_mm.into()),
        real("length_m", |b| b.length_m.into()),
        real("us_invert_m", |b| b.us_invert_m.into()),
        real("ds_invert_m", |b| b.ds_invert_m.into()),
        real("grade", |b| b.grade.into()),
        real("grade_1_in", |b| one_in(b.grade).into()),
        real("bearing_deg", |b| b.bearing_deg.into()),
        real("reach_m", |b| b.reach_m.into()),
        text("reach_governed_by", |b| b.reach_governed_by.word().into()),
        real("min_cover_m", |b| b.min_cover_m.into()),
        real("min_clearance_m", |b| b.min_clearance_m.into()),
        real("worst_margin_m", |b| b.worst_margin_m.into()),
        real("thrust_low_kn", |b| b.figures.thrust_low_kn.into()),
        real("thrust_kn", |b| b.thrust_kn.into()),
        real("thrust_high_kn", |b| b.figures.thrust_high_kn.into()),
        real("thrust_limit_kn", |b| b.thrust_limit_kn.into()),
        real("tolerance_mm", |b| b.tolerance_mm.into()),
        real("settlement_mm", |b| b.figures.settlement_mm.into()),
        real("settlement_slope", |b| b.figures.settlement_slope.into()),
        real("velocity_m_s", |b| b.figures.velocity_m_s.into()),
        real("capacity_l_s", |b| b.figures.capacity_l_s.into()),
        real("pilot_heave_mm", |b| b.figures.pilot_heave_mm.into()),
        real("predicted_error_mm", |b| {
            b.figures.predicted_error_mm.into()
        }),
        real("level_tolerance_mm", |b| {
            b.figures.level_tolerance_mm.into()
        }),
        real("grade_after_errors", |b| {
            b.figures.grade_after_errors.into()
        }),
        real("displacement_cover_m", |b| {
            b.figures.displacement_cover_m.into()
        }),
        real("tree_trunk_m", |b| b.roots.map(|r| r.trunk_m).into()),
        real("tree_distance_m", |b| b.roots.map(|r| r.beside_m).into()),
        real("tree_cover_m", |b| b.roots.map(|r| r.cover_m).into()),
        real("depth_beyond_roots_m", |b| {
            b.figures.depth_beyond_roots_m.into()
        }),
        real("pipe_capacity_kn", |b| b.figures.pipe_capacity_kn.into()),
        int("lots_served", |b| b.lots_served.into()),
        real("design_flow_l_s", |b| b.figures.design_flow_l_s.into()),
        real("flow_share", |b| b.figures.flow_share.into()),
        real("flow_depth_mm", |b| b.figures.flow_depth_mm.into()),
        real("flow_velocity_m_s", |b| b.figures.flow_velocity_m_s.into()),
        real("flow_shear_pa", |b| b.figures.flow_shear_pa.into()),
        int("pipes", |b| whole(b.figures.pipes)),
        int("pipe_joints", |b| whole(b.figures.pipe_joints)),
        int("casings", |b| whole(b.figures.casings)),
        int("pilot_tubes", |b| whole(b.figures.pilot_tubes)),
        real("days", |b| b.days.into()),
        real("cost", |b| b.cost.into()),
        real("trench_cost", |b| b.trench_cost.into()),
        text("notes", |b| b.notes.as_ref().into()),
    ],
};

/// A count.
fn whole(n: Option<f64>) -> Value<'static> {
    n.map(|n| n as i64).into()
}

/// How many metres along for one metre of fall; none where it is level.
fn one_in(grade: f64) -> Option<f64> {
    (grade != 0.0).then(|| 1.0 / grade)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_bore_has_no_one_in() {
        assert_eq!(one_in(0.0), None);
        assert_eq!(one_in(-0.0), None);
        assert_eq!(one_in(0.005), Some(200.0));
    }
}
