//! `long_sections`.

use crate::plan::SectionRow;
use crate::write::layer::{real, text};
use crate::write::{Layer, Word};

/// Ground and pipe along each route.
pub static LONG_SECTIONS: Layer<SectionRow> = Layer {
    name: "long_sections",
    description: "Ground and pipe along each route by ascending chainage, in metres.",
    geometry: None,
    columns: &[
        text("route_id", |s| (&s.route_id).into()),
        real("chainage_m", |s| s.chainage_m.into()),
        real("ground_m", |s| s.ground_m.into()),
        real("invert_m", |s| s.invert_m.into()),
        real("crown_m", |s| s.crown_m.into()),
        real("cover_m", |s| s.cover_m.into()),
        text("bore_id", |s| s.bore_id.as_ref().into()),
        text("pit_id", |s| s.pit_id.as_ref().into()),
        text("feature", |s| s.feature.word().into()),
    ],
};
