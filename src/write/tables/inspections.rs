//! `bore_inspections`.

use crate::check::Inspection;
use crate::write::layer::{int, real, text};
use crate::write::{Geometry, GeometryType, Layer, Shape, Word};

/// Gravity pipes crossed without a test hole, to be looked into from inside after boring.
pub static BORE_INSPECTIONS: Layer<Inspection> = Layer {
    name: "bore_inspections",
    description: "Gravity pipes that bores cross without exposing them, to be looked into by camera after boring; by the records, on the bore.",
    geometry: Some(Geometry {
        kind: GeometryType::PointZ,
        shape: |i| Shape::PointZ(i.point),
    }),
    columns: &[
        int("priority", |i| i.priority.into()),
        text("bore_id", |i| (&i.bore_id).into()),
        text("source_layer", |i| (&*i.source.layer).into()),
        int("source_fid", |i| i.source.fid.into()),
        text("kind", |i| i.kind.word().into()),
        text("owner", |i| i.owner.as_ref().into()),
        real("chainage_m", |i| i.chainage_m.into()),
        real("clearance_m", |i| i.clearance_m.into()),
        real("p_contact", |i| i.p_contact.into()),
        text("quality", |i| i.quality.word().into()),
        text("verdict", |i| i.verdict.word().into()),
    ],
};
