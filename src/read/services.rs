//! Buried services.

use super::Problem;
use super::features::Cells;
use crate::site::{Kind, Quality, Service, UnknownWord};

/// None for one that was removed, and for one without a line.
pub(super) fn service(c: &mut Cells) -> Option<Service> {
    let status = c.text("status").unwrap_or_default().to_lowercase();
    if status == "removed" {
        return None;
    }
    Some(Service {
        at: c.at(),
        parts: c.lines()?,
        kind: kind(c),
        diameter_mm: c.positive("diameter_mm", "an outside diameter above 0 in millimetres"),
        cover_m: c.depth("cover_m"),
        quality: quality(c),
        owner: c.text("owner"),
        material: c.text("material"),
        abandoned: status == "abandoned",
        z_means: c.table.source.z_means,
    })
}

fn kind(c: &mut Cells) -> Kind {
    word(c, "kind", Kind::Other, "other").unwrap_or_else(|| {
        c.faults
            .note(c.column("kind"), Problem::Missing { taken: "other" });
        Kind::Other
    })
}

/// A level of post-processed radar (`B1P`) counts as the level without the P.
fn quality(c: &mut Cells) -> Quality {
    let written = c.text("quality").unwrap_or_default().to_uppercase();
    let without = written.strip_suffix('P').filter(|l| l.starts_with('B'));
    if let Some(level) = without.and_then(|l| l.parse().ok()) {
        return level;
    }
    word(c, "quality", Quality::Unknown, "unknown").unwrap_or(Quality::Unknown)
}

/// A word of a list; one that is not in it earns a note and is taken as `other`.
fn word<T: std::str::FromStr<Err = UnknownWord>>(
    c: &mut Cells,
    name: &str,
    other: T,
    taken: &'static str,
) -> Option<T> {
    let value = c.text(name)?;
    Some(value.parse().unwrap_or_else(|e: UnknownWord| {
        c.faults.note(
            c.column(name),
            Problem::UnknownWord {
                value,
                known: e.known,
                taken,
            },
        );
        other
    }))
}
