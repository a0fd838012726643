//! `bore_conflicts` and `test_holes`.

use crate::plan::{Conflict, TestHole};
use crate::write::layer::{flag, int, real, text};
use crate::write::{Geometry, GeometryType, Layer, Shape, Value, Word};

/// What bores and pits come near, with the clearance found and the clearance asked for.
pub static BORE_CONFLICTS: Layer<Conflict> = Layer {
    name: "bore_conflicts",
    description: "What proposed bores and pits come near, by the records; records are not proof. Clearances in metres.",
    geometry: Some(Geometry {
        kind: GeometryType::PointZ,
        shape: |c| Shape::PointZ(c.point),
    }),
    columns: &[
        text("conflict_id", |c| (&c.conflict_id).into()),
        text("bore_id", |c| c.bore_id.as_ref().into()),
        text("pit_id", |c| c.pit_id.as_ref().into()),
        text("obstacle", |c| c.obstacle.word().into()),
        text("source_layer", |c| {
            c.source.as_ref().map(|s| &*s.layer).into()
        }),
        int("source_fid", |c| c.source.as_ref().map(|s| s.fid).into()),
        text("kind", |c| c.kind.map(|k| k.word()).into()),
        text("owner", |c| c.owner.as_ref().into()),
        real("chainage_m", |c| c.chainage_m.into()),
        real("angle_deg", |c| c.angle_deg.into()),
        text("encounter", |c| c.encounter.map(Word::word).into()),
        real("clearance_m", |c| c.clearance_m.into()),
        real("required_m", |c| c.required_m.into()),
        real("allowance_m", |c| c.allowance_m.into()),
        real("margin_m", |c| c.margin_m.into()),
        real("p_contact", |c| c.p_contact.into()),
        real("settlement_mm", |c| {
            c.over_bore.map(|o| o.settlement_mm).into()
        }),
        real("settlement_slope", |c| {
            c.over_bore.map(|o| o.settlement_slope).into()
        }),
        real("heave_mm", |c| c.over_bore.and_then(|o| o.heave_mm).into()),
        real("above_axis_m", |c| {
            c.over_bore.map(|o| o.above_axis_m).into()
        }),
        real("beside_axis_m", |c| {
            c.over_bore.map(|o| o.beside_axis_m).into()
        }),
        flag("depth_known", |c| c.depth_known.into()),
        text("verdict", |c| c.verdict.word().into()),
        text("rule", |c| (&c.rule).into()),
    ],
};

/// Where to expose a service of unknown depth before boring. A hole is dug for a bore, so `pit_id` is null.
pub static TEST_HOLES: Layer<TestHole> = Layer {
    name: "test_holes",
    description: "Where to expose a service of unknown depth before boring; Z is the ground in metres.",
    geometry: Some(Geometry {
        kind: GeometryType::PointZ,
        shape: |h| Shape::PointZ(h.point),
    }),
    columns: &[
        text("hole_id", |h| (&h.hole_id).into()),
        text("bore_id", |h| (&h.bore_id).into()),
        text("pit_id", |_| Value::Null),
        text("source_layer", |h| (&*h.source.layer).into()),
        int("source_fid", |h| h.source.fid.into()),
        text("kind", |h| h.kind.word().into()),
        real("expected_depth_m", |h| h.expected_depth_m.into()),
        real("dig_to_m", |h| h.dig_to_m.into()),
        int("priority", |h| h.priority.into()),
        text("reason", |h| (&h.reason).into()),
    ],
};
