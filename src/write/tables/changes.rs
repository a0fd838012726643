//! `conflict_changes`.

use crate::check::{Change, Outcome};
use crate::write::layer::{int, real, text};
use crate::write::{Geometry, GeometryType, Layer, Shape, Value, Word};

/// What has changed since an earlier check.
pub static CONFLICT_CHANGES: Layer<Change> = Layer {
    name: "conflict_changes",
    description: "Encounters that are new, gone, worse or better than in an earlier check; empty where none was compared with. Lengths in metres.",
    geometry: Some(Geometry {
        kind: GeometryType::PointZ,
        shape: |c| Shape::PointZ(c.of.point),
    }),
    columns: &[
        text("change", |c| c.change.word().into()),
        text("bore_id", |c| (&c.of.bore_id).into()),
        text("obstacle", |c| c.of.obstacle.word().into()),
        text("source_layer", |c| {
            c.of.source.as_ref().map(|s| &s.0).into()
        }),
        int("source_fid", |c| c.of.source.as_ref().map(|s| s.1).into()),
        text("kind", |c| c.of.kind.map(|k| k.word()).into()),
        text("owner", |c| c.of.owner.as_ref().into()),
        text("encounter", |c| c.of.encounter.map(Word::word).into()),
        real("chainage_m", |c| c.of.chainage_m.into()),
        text("verdict_before", |c| verdict(c.before)),
        text("verdict", |c| verdict(c.now)),
        real("clearance_before_m", |c| {
            c.before.map(|o| o.clearance_m).into()
        }),
        real("clearance_m", |c| c.now.map(|o| o.clearance_m).into()),
        real("margin_before_m", |c| c.before.map(|o| o.margin_m).into()),
        real("margin_m", |c| c.now.map(|o| o.margin_m).into()),
        real("p_contact_before", |c| {
            c.before.and_then(|o| o.p_contact).into()
        }),
        real("p_contact", |c| c.now.and_then(|o| o.p_contact).into()),
    ],
};

fn verdict(o: Option<Outcome>) -> Value<'static> {
    o.map(|o| o.verdict.word()).into()
}
