//! An item of the result: its row, and the checks that follow from it.

use crate::{
    job::Job,
    plan::checks::{
        BoreFacts, Check, ConflictFacts, PitFacts, bore_checks, conflict_checks, pit_checks, thrust,
    },
    read::{ReadError, ResultRow, Results},
};

/// Kinds of items that are explained.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ItemKind {
    /// A bore.
    Bore,
    /// A pit.
    Pit,
    /// A conflict.
    Conflict,
}

/// An item, found.
pub struct Item {
    /// What it is.
    pub kind: ItemKind,
    /// Its row.
    pub row: ResultRow,
}

impl ItemKind {
    /// All, in the order in which an id is looked for.
    pub const ALL: [ItemKind; 3] = [ItemKind::Bore, ItemKind::Pit, ItemKind::Conflict];

    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            ItemKind::Bore => "bore",
            ItemKind::Pit => "pit",
            ItemKind::Conflict => "conflict",
        }
    }

    /// Layer, and its column of ids.
    pub fn place(self) -> (&'static str, &'static str) {
        match self {
            ItemKind::Bore => ("proposed_bores", "bore_id"),
            ItemKind::Pit => ("proposed_pits", "pit_id"),
            ItemKind::Conflict => ("bore_conflicts", "conflict_id"),
        }
    }
}

/// The item of that id; none where no layer has it.
pub fn find(results: &Results, id: &str) -> Result<Option<Item>, ReadError> {
    for kind in ItemKind::ALL {
        let (layer, column) = kind.place();
        let mut rows = results.rows(layer, column, id)?;
        if !rows.is_empty() {
            let row = rows.swap_remove(0);
            return Ok(Some(Item { kind, row }));
        }
    }
    Ok(None)
}

/// The checks of an item; none where its row lacks what they need.
pub fn checks(item: &Item, results: &Results, job: &Job) -> Result<Option<Vec<Check>>, ReadError> {
    Ok(match item.kind {
        ItemKind::Bore => bore(&item.row).map(|b| bore_checks(job, &b)),
        ItemKind::Conflict => conflict(&item.row).map(|c| conflict_checks(&c)),
        ItemKind::Pit => {
            let id = item.row.text("pit_id").unwrap_or_default();
            let launched = results.rows("proposed_bores", "launch_pit", &id)?;
            pit(&item.row, &launched, job).map(|p| pit_checks(job, &p))
        }
    })
}

fn bore(row: &ResultRow) -> Option<BoreFacts> {
    Some(BoreFacts {
        dn_mm: row.number("dn_mm")? as u32,
        od_mm: row.number("od_mm")?,
        id_mm: row.number("id_mm")?,
        bore_mm: row.number("bore_mm")?,
        length_m: row.number("length_m")?,
        grade: row.number("grade")?,
        min_cover_m: row.number("min_cover_m")?,
        tolerance_mm: row.number("tolerance_mm")?,
        cost: row.number("cost")?,
        trench_cost: row.number("trench_cost")?,
    })
}

fn pit(row: &ResultRow, launched: &[ResultRow], job: &Job) -> Option<PitFacts> {
    let bores: Vec<BoreFacts> = launched.iter().filter_map(bore).collect();
    let greatest = |values: &mut dyn Iterator<Item = f64>| values.reduce(f64::max);
    let thrusts = bores.iter().filter_map(|b| thrust(job, b).ok());
    Some(PitFacts {
        length_m: row.number("length_m")?,
        width_m: row.number("width_m")?,
        depth_m: row.number("depth_m")?,
        support: row.number("support")? != 0.0,
        launched_od_mm: greatest(&mut bores.iter().map(|b| b.od_mm)),
        thrust_kn: greatest(&mut thrusts.map(|t| t.total_kn.high)),
    })
}

fn conflict(row: &ResultRow) -> Option<ConflictFacts> {
    Some(ConflictFacts {
        clearance_m: row.number("clearance_m")?,
        allowance_m: row.number("allowance_m")?,
        required_m: row.number("required_m")?,
        depth_known: row.number("depth_known")? != 0.0,
        verdict: row.text("verdict")?,
        rule: row.text("rule")?,
    })
}
