//! What lies on the ground: streets, lots, surfaces, fences.

use super::Problem;
use super::fault::Faults;
use super::features::{Cells, Table};
use crate::site::{Fence, Lot, Street, Surface, SurfaceArea};

/// One thing a usable feature; what is wrong goes into `faults`.
pub(super) fn each<T>(
    table: &Table,
    faults: &mut Faults,
    make: impl Fn(&mut Cells) -> Option<T>,
) -> Vec<T> {
    table
        .rows
        .iter()
        .filter_map(|row| make(&mut table.cells(row, faults)))
        .collect()
}

pub(super) fn street(c: &mut Cells) -> Option<Street> {
    Some(Street {
        at: c.at(),
        name: c.text("name"),
        parts: c.lines()?,
    })
}

/// `serve` and `entry` must be said; a lot of which nothing is said is neither served nor entered.
pub(super) fn lot(c: &mut Cells) -> Option<Lot> {
    Some(Lot {
        at: c.at(),
        lot_id: c
            .text("lot_id")
            .unwrap_or_else(|| format!("L{}", c.row.fid)),
        serve: c.flag("serve").unwrap_or(false),
        entry: c.flag("entry").unwrap_or(false),
        low_level_m: c.level("low_level_m"),
        parts: c.areas()?,
    })
}

/// A word that is not known counts as bare ground.
pub(super) fn surface(c: &mut Cells) -> Option<SurfaceArea> {
    let surface = match c.text("surface") {
        None => {
            c.faults
                .fault(c.column("surface"), Problem::Missing { taken: "bare" });
            Surface::Bare
        }
        Some(word) => word.parse().unwrap_or_else(|e: crate::site::UnknownWord| {
            let problem = Problem::UnknownWord {
                value: word,
                known: e.known,
                taken: "bare",
            };
            c.faults.fault(c.column("surface"), problem);
            Surface::Bare
        }),
    };
    Some(SurfaceArea {
        at: c.at(),
        surface,
        parts: c.areas()?,
    })
}

pub(super) fn fence(c: &mut Cells) -> Option<Fence> {
    let material = c.text("material").unwrap_or_default().to_lowercase();
    Some(Fence {
        at: c.at(),
        material,
        parts: c.lines()?,
    })
}
