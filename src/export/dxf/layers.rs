//! Layers of the drawing. No two kinds differ by colour alone: line type, weight of text or the sign drawn tells them too.

/// A layer of a drawing.
#[derive(Debug)]
pub(super) struct DrawingLayer {
    /// Its name.
    pub name: &'static str,
    /// Number of its colour in the index that every drawing program has.
    pub colour: u8,
    /// Its line type.
    pub line: &'static str,
}

const fn layer(name: &'static str, colour: u8, line: &'static str) -> DrawingLayer {
    DrawingLayer { name, colour, line }
}

pub(super) const BORE: &str = "SEWER-BORE";
pub(super) const BORE_TEXT: &str = "SEWER-BORE-TEXT";
pub(super) const FLOW: &str = "SEWER-FLOW";
pub(super) const PIT_LAUNCH: &str = "PIT-LAUNCH";
pub(super) const PIT_RECEPTION: &str = "PIT-RECEPTION";
pub(super) const PIT_FLOOR: &str = "PIT-FLOOR";
pub(super) const PIT_TEXT: &str = "PIT-TEXT";
pub(super) const HOLE: &str = "TEST-HOLE";
pub(super) const HOLE_TEXT: &str = "TEST-HOLE-TEXT";
pub(super) const CONFLICT_TEXT: &str = "CONFLICT-TEXT";
pub(super) const LOT: &str = "LOT-AFFECTED";
pub(super) const BLOCKER: &str = "ROUTE-BLOCKER";
pub(super) const ROUTE: &str = "ROUTE-PROPOSED";
pub(super) const RECORD: &str = "SEWER-AS-BORED";
pub(super) const NOTES: &str = "NOTES";

/// All of them, `0` first, which every drawing has.
pub(super) const ALL: [DrawingLayer; 20] = [
    layer("0", 7, "CONTINUOUS"),
    layer(BORE, 5, "CONTINUOUS"),
    layer(BORE_TEXT, 7, "CONTINUOUS"),
    layer(FLOW, 5, "CONTINUOUS"),
    layer(PIT_LAUNCH, 5, "CONTINUOUS"),
    layer(PIT_RECEPTION, 30, "DASHED"),
    layer(PIT_FLOOR, 8, "DOT"),
    layer(PIT_TEXT, 7, "CONTINUOUS"),
    layer("CONFLICT-CLASH", 1, "CONTINUOUS"),
    layer("CONFLICT-PROVE", 6, "CONTINUOUS"),
    layer("CONFLICT-WATCH", 30, "CONTINUOUS"),
    layer("CONFLICT-CLEAR", 8, "CONTINUOUS"),
    layer(CONFLICT_TEXT, 7, "CONTINUOUS"),
    layer(HOLE, 6, "CONTINUOUS"),
    layer(HOLE_TEXT, 7, "CONTINUOUS"),
    layer(LOT, 9, "DASHDOT"),
    layer(BLOCKER, 1, "DASHED"),
    layer(ROUTE, 3, "DASHED"),
    layer(RECORD, 3, "CONTINUOUS"),
    layer(NOTES, 7, "CONTINUOUS"),
];

/// The layer of a verdict. A word that is none of the four says that nobody knows: it is to be proved.
pub(super) fn of_verdict(verdict: &str) -> &'static str {
    match verdict {
        "clash" => "CONFLICT-CLASH",
        "watch" => "CONFLICT-WATCH",
        "clear" => "CONFLICT-CLEAR",
        _ => "CONFLICT-PROVE",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_clear_is_clear() {
        assert_eq!(of_verdict("clear"), "CONFLICT-CLEAR");
        for unknown in ["", "Clear", "none", "prove"] {
            assert_eq!(of_verdict(unknown), "CONFLICT-PROVE");
        }
    }
}
