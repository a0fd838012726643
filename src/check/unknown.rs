//! What is not known, counted: it is never clear.

use super::{Bores, Found, Hole, Reason};
use crate::{
    plan::Obstacle,
    site::{Quality, Records},
};

/// How much of what was checked is not known.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Unknown {
    /// Rows of services whose depth is recorded nowhere.
    pub depth: usize,
    /// Rows of services without a diameter: that of their kind was taken.
    pub diameter: usize,
    /// Rows of services of unknown location quality: the widest limits were taken.
    pub quality: usize,
    /// Rows of services where the ground model says nothing, so that nothing at all is known of their depth.
    pub ground: usize,
    /// Rows of buildings of which neither floor nor ground is known.
    pub foundation: usize,
    /// Bores without levels.
    pub bore_levels: usize,
    /// Bores whose diameter was taken from the job.
    pub bore_size: usize,
    /// Bores that leave the ground model somewhere: their cover was looked at only where there is ground.
    pub bore_ground: usize,
    /// Bores without length, which were not checked.
    pub bore_length: usize,
}

impl Unknown {
    /// Of bores, before they are checked.
    pub(super) fn of(bores: &Bores) -> Unknown {
        Unknown {
            bore_length: bores.without_length.len(),
            bore_levels: bores.all.iter().filter(|b| !b.levels).count(),
            bore_size: bores.all.iter().filter(|b| b.size_assumed).count(),
            ..Unknown::default()
        }
    }

    /// Of rows.
    pub(super) fn of_rows(found: &[Found], records: &Records) -> Unknown {
        let mut u = Unknown::default();
        for f in found {
            match f.obstacle {
                Obstacle::Service => {
                    let r = &records.all[f.thing as usize];
                    u.depth += usize::from(f.depth_missing);
                    u.ground += usize::from(f.no_ground);
                    u.diameter += usize::from(r.diameter_mm.is_none());
                    u.quality += usize::from(r.quality == Quality::Unknown);
                }
                Obstacle::Building => u.foundation += usize::from(!f.depth_known),
                _ => {}
            }
        }
        u
    }

    /// Of both.
    pub(super) fn and(self, other: Unknown) -> Unknown {
        Unknown {
            depth: self.depth + other.depth,
            diameter: self.diameter + other.diameter,
            quality: self.quality + other.quality,
            ground: self.ground + other.ground,
            foundation: self.foundation + other.foundation,
            bore_levels: self.bore_levels + other.bore_levels,
            bore_size: self.bore_size + other.bore_size,
            bore_ground: self.bore_ground + other.bore_ground,
            bore_length: self.bore_length + other.bore_length,
        }
    }

    /// Nothing is unknown.
    pub fn is_none(&self) -> bool {
        *self == Unknown::default()
    }
}

impl Hole {
    /// Why, in words, put into the memory of `spent`.
    pub fn words(&self, mut spent: String, kind: crate::site::Kind) -> String {
        let (before, after) = match self.reason {
            Reason::DepthNotRecorded => (
                "depth of this ",
                " is not recorded: expose it before boring",
            ),
            Reason::NoGround => (
                "no ground level here, so nothing is known of the depth of this ",
                ": expose it before boring",
            ),
            Reason::BoreWithoutLevel => (
                "the bore has no level: expose this ",
                " before one is chosen and bored",
            ),
        };
        spent.clear();
        spent.push_str(before);
        spent.push_str(kind.word());
        spent.push_str(after);
        spent
    }
}
