//! What a bore or pit must keep away from, services apart: buildings, trees, keepouts; and existing manholes.

use super::features::Cells;
use crate::site::{Building, Keepout, Manhole, Tree};

/// Trunk of a tree that states none (m).
const TRUNK_M: f64 = 0.5;

pub(super) fn building(c: &mut Cells) -> Option<Building> {
    Some(Building {
        at: c.at(),
        floor_m: c.level("floor_m"),
        foundation_depth_m: c.depth("foundation_depth_m"),
        parts: c.areas()?,
    })
}

pub(super) fn tree(c: &mut Cells) -> Option<Tree> {
    Some(Tree {
        at: c.at(),
        trunk_diameter_m: c
            .positive("trunk_diameter_m", "a diameter above 0")
            .unwrap_or(TRUNK_M),
        retain: c.flag("retain").unwrap_or(true),
        points: c.points()?.iter().map(|v| v.plan()).collect(),
    })
}

/// A multi-point is several manholes of one record.
pub(super) fn manholes(c: &mut Cells) -> Option<Vec<Manhole>> {
    let one = Manhole {
        at: c.at(),
        manhole_id: c.text("manhole_id"),
        cover_level_m: c.level("cover_level_m"),
        invert_m: c.level("invert_m"),
        point: geo::Coord::zero(),
    };
    Some(
        c.points()?
            .iter()
            .map(|v| Manhole {
                point: v.plan(),
                ..one.clone()
            })
            .collect(),
    )
}

pub(super) fn keepout(c: &mut Cells) -> Option<Keepout> {
    Some(Keepout {
        at: c.at(),
        reason: c.text("reason"),
        parts: c.areas()?,
    })
}
