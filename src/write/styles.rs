//! How each layer with a geometry is drawn: the files of `styles/`, one SLD and one QML a layer.

/// The styles of a layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// The layer's table.
    pub layer: &'static str,
    /// Styled Layer Descriptor 1.0.0 (OGC 02-070).
    pub sld: &'static str,
    /// What open desktop viewers apply on opening.
    pub qml: &'static str,
}

macro_rules! style {
    ($layer:literal) => {
        Style {
            layer: $layer,
            sld: include_str!(concat!("../../styles/", $layer, ".sld")),
            qml: include_str!(concat!("../../styles/", $layer, ".qml")),
        }
    };
}

/// All styles; layers without a geometry have none.
pub const STYLES: [Style; 10] = [
    style!("proposed_pits"),
    style!("proposed_bores"),
    style!("bore_conflicts"),
    style!("test_holes"),
    style!("affected_lots"),
    style!("alternative_pits"),
    style!("alternative_bores"),
    style!("route_blockers"),
    style!("bore_inspections"),
    style!("conflict_changes"),
];

/// The style of a layer.
pub fn style_of(layer: &str) -> Option<&'static Style> {
    STYLES.iter().find(|s| s.layer == layer)
}
