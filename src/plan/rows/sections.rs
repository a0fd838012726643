//! Rows of `long_sections`.

use super::drawn::{Drawn, DrawnDrive, Sample, crown_m};
use crate::plan::{Conflict, Encounter, Feature, SectionRow};
use std::collections::BTreeSet;

/// Rows of `long_sections`, by rising chainage: one a cover sample, at a manhole inlet then outlet.
pub fn sections(drawn: &Drawn, conflicts: &[Conflict]) -> Vec<SectionRow> {
    let mut out = vec![];
    for (k, d) in drawn.drives.iter().enumerate() {
        let crossed = crossed_samples(d, conflicts);
        for (i, s) in d.samples.iter().enumerate().rev() {
            let mut r = row(drawn, d, s);
            let at_ds = i + 1 == d.samples.len();
            if i == 0 || at_ds {
                let pit = &drawn.pits[d.solved.pits[usize::from(at_ds)]];
                if at_ds && k > 0 && !pit.solved.manhole {
                    continue; // a through pit has one row, that of the drive below it
                }
                r.pit_id = Some(pit.pit_id.clone());
                r.feature = if pit.solved.manhole {
                    Feature::Manhole
                } else {
                    Feature::Pit
                };
            } else if crossed.contains(&i) {
                r.feature = Feature::Crossing;
            }
            out.push(r);
        }
        put_inlet_first(&mut out, d.samples.len());
    }
    out
}

/// At a manhole the inlet (of the drive above) goes before the outlet (of the drive below), which came first.
fn put_inlet_first(rows: &mut [SectionRow], of_drive: usize) {
    let Some(first) = rows.len().checked_sub(of_drive).filter(|i| *i > 0) else {
        return;
    };
    let same_manhole =
        rows[first].feature == Feature::Manhole && rows[first - 1].pit_id == rows[first].pit_id;
    if same_manhole {
        rows.swap(first - 1, first);
    }
}

fn row(drawn: &Drawn, d: &DrawnDrive, s: &Sample) -> SectionRow {
    let [us, ds] = d.solved.pits.map(|k| drawn.solution.pits[k].chainage_m);
    SectionRow {
        route_id: drawn.cx.route.route_id.clone(),
        chainage_m: us + s.share * (ds - us),
        ground_m: s.ground_m,
        invert_m: s.invert_m,
        crown_m: crown_m(drawn.cx, s.invert_m),
        cover_m: d.cover_m(drawn.cx, s),
        bore_id: Some(d.bore_id.clone()),
        pit_id: None,
        feature: Feature::Ground,
    }
}

/// Samples nearest to a service crossed.
fn crossed_samples(d: &DrawnDrive, conflicts: &[Conflict]) -> BTreeSet<usize> {
    let rows = conflicts
        .iter()
        .filter(|c| c.bore_id.as_deref() == Some(&d.bore_id));
    let crossings = rows
        .filter(|c| c.encounter == Some(Encounter::Crossing))
        .filter_map(|c| c.chainage_m);
    let n = d.samples.len() - 1;
    let from_upstream = |from_launch: f64| {
        let s = from_launch / d.length_m;
        if d.solved.side == crate::clearance::FROM_UPSTREAM {
            s
        } else {
            1.0 - s
        }
    };
    crossings
        .map(|c| (from_upstream(c) * n as f64).round() as usize)
        .collect()
}
