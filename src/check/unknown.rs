//! What is not known, counted: it is never clear.

use super::{Bores, Found, Hole, Reason, run::ROWS_TOGETHER};
use crate::{
    plan::Obstacle,
    site::{Quality, Records},
};
use rayon::prelude::*;

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
    /// Of rows and bores; what concerns the bores' ground is counted while they are checked.
    pub(super) fn count(
        found: &[Found],
        bores: &Bores,
        records: &Records,
        bore_ground: usize,
    ) -> Unknown {
        let some = (found.par_chunks(ROWS_TOGETHER)).map(|some| Unknown::of_rows(some, records));
        let rows = some.reduce(Unknown::default, |a, b| Unknown {
            depth: a.depth + b.depth,
            diameter: a.diameter + b.diameter,
            quality: a.quality + b.quality,
            ground: a.ground + b.ground,
            foundation: a.foundation + b.foundation,
            ..a
        });
        Unknown {
            bore_ground,
            bore_length: bores.without_length.len(),
            bore_levels: bores.all.iter().filter(|b| !b.levels).count(),
            bore_size: bores.all.iter().filter(|b| b.size_assumed).count(),
            ..rows
        }
    }

    /// Of some rows alone.
    fn of_rows(found: &[Found], records: &Records) -> Unknown {
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

    /// Nothing is unknown.
    pub fn is_none(&self) -> bool {
        *self == Unknown::default()
    }
}

impl Hole {
    /// Why, in words.
    pub fn words(&self, kind: crate::site::Kind) -> String {
        match self.reason {
            Reason::DepthNotRecorded => {
                format!("depth of this {kind} is not recorded: expose it before boring")
            }
            Reason::NoGround => format!(
                "no ground level here, so nothing is known of the depth of this {kind}: expose it before boring"
            ),
            Reason::BoreWithoutLevel => {
                format!("the bore has no level: expose this {kind} before one is chosen and bored")
            }
        }
    }
}
