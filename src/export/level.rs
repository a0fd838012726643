//! Levels for layers that hold them in a column and not in their shapes.

use super::{Layer, Shape};

/// Layers of footprints, and the column with the level at which one is drawn.
const FLAT: [(&str, &str); 2] = [
    ("proposed_pits", "ground_m"),
    ("alternative_pits", "ground_m"),
];

/// Lifts the footprint of a pit to the level of the ground there. Every other layer stays as it is.
pub fn with_levels(layer: &mut Layer) {
    let Some((_, column)) = FLAT.iter().find(|(name, _)| *name == layer.name) else {
        return;
    };
    let levels: Vec<Option<f64>> = layer
        .features
        .iter()
        .map(|f| layer.number(f, column))
        .collect();
    layer.has_levels = true;
    for (feature, level) in layer.features.iter_mut().zip(levels) {
        lift(feature.shape.as_mut(), level);
    }
}

fn lift(shape: Option<&mut Shape>, level: Option<f64>) {
    if let Some(shape) = shape {
        shape.map(&mut |p| p.z = level.or(p.z));
    }
}
