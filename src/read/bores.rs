//! Bores that somebody else designed.

use super::features::Cells;
use crate::site::GivenBore;

pub(super) fn bore(c: &mut Cells) -> Option<GivenBore> {
    Some(GivenBore {
        at: c.at(),
        parts: c.lines()?,
        bore_id: c.text("bore_id"),
        dn_mm: c
            .positive("dn_mm", "a diameter above 0 in millimetres")
            .map(|n| n.round() as u32),
        od_mm: c.positive("od_mm", "a diameter above 0 in millimetres"),
        id_mm: c.positive("id_mm", "a diameter above 0 in millimetres"),
        bore_mm: c.positive("bore_mm", "a diameter above 0 in millimetres"),
        us_invert_m: c.level("us_invert_m"),
        ds_invert_m: c.level("ds_invert_m"),
        launched_upstream: launched_upstream(c),
    })
}

fn launched_upstream(c: &mut Cells) -> bool {
    match c.text("launch").map(|l| l.to_lowercase()).as_deref() {
        Some("us") => return true,
        Some("ds") => return false,
        Some(other) => c.bad("launch", other.to_string(), "us or ds"),
        None => {}
    }
    match (c.text("launch_pit"), c.text("us_pit")) {
        (Some(launch), Some(us)) => launch == us,
        _ => true,
    }
}
