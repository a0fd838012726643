//! `affected_lots` and `cost_items`.

use crate::plan::{AffectedLot, CostItem};
use crate::write::layer::{real, text};
use crate::write::{Geometry, GeometryType, Layer, Shape, Value, Word};

/// Lots with a pit on them or a bore under them.
pub static AFFECTED_LOTS: Layer<AffectedLot> = Layer {
    name: "affected_lots",
    description: "Lots with a proposed pit on them or a proposed bore under them. Lengths in metres.",
    geometry: Some(Geometry {
        kind: GeometryType::MultiPolygon,
        shape: |l| Shape::MultiPolygon(&l.parts),
    }),
    columns: &[
        text("lot_id", |l| (&l.lot_id).into()),
        text("effect", |l| {
            if l.pit { "pit" } else { "bore-under" }.into()
        }),
        text("bore_ids", |l| Value::list(&l.bore_ids)),
        text("pit_ids", |l| Value::list(&l.pit_ids)),
        real("bore_length_m", |l| l.bore_length_m.into()),
        real("shallowest_cover_m", |l| l.shallowest_cover_m.into()),
    ],
};

/// What is paid for, bored and in open trench.
pub static COST_ITEMS: Layer<CostItem> = Layer {
    name: "cost_items",
    description: "What each bore and pit costs, item by item, bored and in open trench.",
    geometry: None,
    columns: &[
        text("route_id", |c| (&c.route_id).into()),
        text("bore_id", |c| c.bore_id.as_ref().into()),
        text("pit_id", |c| c.pit_id.as_ref().into()),
        text("method", |c| c.method.word().into()),
        text("item", |c| (&c.item).into()),
        text("unit", |c| c.unit.into()),
        real("quantity", |c| c.quantity.into()),
        real("rate", |c| c.rate.into()),
        real("amount", |c| c.amount.into()),
    ],
};
