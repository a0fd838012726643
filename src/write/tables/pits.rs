//! `proposed_pits`.

use crate::plan::Pit;
use crate::write::layer::{flag, int, real, text};
use crate::write::{Geometry, GeometryType, Layer, Shape, Value, Word};

/// Pits, by footprint.
pub static PROPOSED_PITS: Layer<Pit> = Layer {
    name: "proposed_pits",
    description: "Proposed launch and reception pits, footprints. Levels and lengths in metres.",
    geometry: Some(Geometry {
        kind: GeometryType::Polygon,
        shape: |p| Shape::Polygon(&p.footprint),
    }),
    columns: &[
        text("pit_id", |p| (&p.pit_id).into()),
        text("route_id", |p| (&p.route_id).into()),
        real("chainage_m", |p| p.chainage_m.into()),
        real("offset_m", |p| p.offset_m.into()),
        text("role", |p| p.role.word().into()),
        flag("manhole", |p| p.manhole.into()),
        real("easting", |p| Value::Plan(p.centre.x)),
        real("northing", |p| Value::Plan(p.centre.y)),
        real("ground_m", |p| p.ground_m.into()),
        real("invert_m", |p| p.invert_m.into()),
        real("floor_m", |p| p.floor_m.into()),
        real("depth_m", |p| p.depth_m.into()),
        real("length_m", |p| p.length_m.into()),
        real("width_m", |p| p.width_m.into()),
        real("bearing_deg", |p| p.bearing_deg.into()),
        text("dig", |p| p.dig.word().into()),
        flag("support", |p| p.support.into()),
        text("surface", |p| p.surface.word().into()),
        text("street", |p| p.street.as_ref().into()),
        text("lot_id", |p| p.lot_id.as_ref().into()),
        real("volume_m3", |p| p.volume_m3.into()),
        real("spoil_loose_m3", |p| p.figures.spoil_loose_m3.into()),
        real("truck_loads", |p| p.figures.truck_loads.into()),
        real("tree_zone_share", |p| p.figures.tree_zone_share.into()),
        real("tree_trunk_m", |p| p.tree.map(|t| t.trunk_m).into()),
        real("tree_zone_m2", |p| p.tree.map(|t| t.zone_m2).into()),
        real("tree_girth_zone_m2", |p| p.tree.map(|t| t.girth_m2).into()),
        real("spoil_set_back_m", |p| p.figures.spoil_set_back_m.into()),
        int("ladders", |p| p.figures.ladders.map(|n| n as i64).into()),
        real("batter_width_m", |p| p.figures.batter_width_m.into()),
        real("batter_volume_m3", |p| p.figures.batter_volume_m3.into()),
        real("building_keep_m", |p| p.figures.building_keep_m.into()),
        real("laydown_m2", |p| p.figures.laydown_m2.into()),
        real("thrust_wall_kn", |p| p.figures.thrust_wall_kn.into()),
        real("thrust_wall_ratio", |p| p.figures.thrust_wall_ratio.into()),
        real("cost", |p| p.cost.into()),
        text("notes", |p| p.notes.as_ref().into()),
    ],
};
