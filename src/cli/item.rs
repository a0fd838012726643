//! An item of the result: its row, and the checks that follow from it.

use crate::{
    job::Job,
    plan::checks::{
        Above, BoreFacts, Bored, Check, Compared, ConflictFacts, Launched, PitFacts, RootsPassed,
        TreeTaken, Way, bore_checks, compare_checks, conflict_checks, pit_checks, thrust,
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
    /// A run, route or lot, bored beside open trench.
    Comparison,
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
    pub const ALL: [ItemKind; 4] = [
        ItemKind::Bore,
        ItemKind::Pit,
        ItemKind::Conflict,
        ItemKind::Comparison,
    ];

    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            ItemKind::Bore => "bore",
            ItemKind::Pit => "pit",
            ItemKind::Conflict => "conflict",
            ItemKind::Comparison => "comparison",
        }
    }

    /// Layer, and its column of ids.
    pub fn place(self) -> (&'static str, &'static str) {
        match self {
            ItemKind::Bore => ("proposed_bores", "bore_id"),
            ItemKind::Pit => ("proposed_pits", "pit_id"),
            ItemKind::Conflict => ("bore_conflicts", "conflict_id"),
            ItemKind::Comparison => ("bore_or_trench", "item_id"),
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
        ItemKind::Bore => {
            let id = item.row.text("bore_id").unwrap_or_default();
            let rows = results.rows("bore_or_trench", "item_id", &id)?;
            let whole = rows.first().and_then(compared);
            bore(&item.row).map(|b| {
                let with_pits = whole.iter().flat_map(|c| compare_checks(job, c));
                bore_checks(job, &b).into_iter().chain(with_pits).collect()
            })
        }
        ItemKind::Comparison => compared(&item.row).map(|c| compare_checks(job, &c)),
        ItemKind::Conflict => {
            let id = item.row.text("bore_id").unwrap_or_default();
            let bores = results.rows("proposed_bores", "bore_id", &id)?;
            conflict(&item.row, bores.first()).map(|c| conflict_checks(job, &c))
        }
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
        lots_served: row.number("lots_served").map(|n| n as u32),
        roots: roots(row),
    })
}

fn roots(row: &ResultRow) -> Option<RootsPassed> {
    Some(RootsPassed {
        trunk_m: row.number("tree_trunk_m")?,
        beside_m: row.number("tree_distance_m")?,
        cover_m: row.number("tree_cover_m")?,
    })
}

fn pit(row: &ResultRow, launched: &[ResultRow], job: &Job) -> Option<PitFacts> {
    let bores: Vec<BoreFacts> = launched.iter().filter_map(bore).collect();
    let most = |of: &dyn Fn(&BoreFacts) -> f64| bores.iter().map(of).reduce(f64::max);
    let thrusts = bores.iter().filter_map(|b| thrust(job, b).ok());
    let launched = || {
        Some(Launched {
            length_m: most(&|b| b.length_m)?,
            od_mm: most(&|b| b.od_mm)?,
            bore_mm: most(&|b| b.bore_mm)?,
        })
    };
    let tree = || {
        Some(TreeTaken {
            trunk_m: row.number("tree_trunk_m")?,
            zone_m2: row.number("tree_zone_m2")?,
            girth_m2: row.number("tree_girth_zone_m2")?,
        })
    };
    Some(PitFacts {
        length_m: row.number("length_m")?,
        width_m: row.number("width_m")?,
        depth_m: row.number("depth_m")?,
        support: row.number("support")? != 0.0,
        launched: launched(),
        thrust_kn: thrusts.map(|t| t.total_kn.high).reduce(f64::max),
        tree: tree(),
    })
}

fn conflict(row: &ResultRow, bore: Option<&ResultRow>) -> Option<ConflictFacts> {
    let over = || {
        let bored = Bored {
            bore_mm: bore?.number("bore_mm")?,
            od_mm: bore?.number("od_mm")?,
        };
        let there = Above {
            above_m: row.number("above_axis_m")?,
            beside_m: row.number("beside_axis_m")?,
        };
        Some((bored, there))
    };
    Some(ConflictFacts {
        clearance_m: row.number("clearance_m")?,
        allowance_m: row.number("allowance_m")?,
        required_m: row.number("required_m")?,
        depth_known: row.number("depth_known")? != 0.0,
        verdict: row.text("verdict")?,
        rule: row.text("rule")?,
        over: over(),
        building: row.text("obstacle")? == "building",
    })
}

fn compared(row: &ResultRow) -> Option<Compared> {
    let way = |of: &str| {
        let number = |column: &str| row.number(&format!("{of}{column}"));
        Some(Way {
            cost: number("cost")?,
            days: number("days")?,
            street_days: number("street_days")?,
            yards: number("yards")? as u32,
            spoil_m3: number("spoil_m3")?,
        })
    };
    Some(Compared {
        length_m: row.number("length_m")?,
        fixed_cost: row.number("fixed_cost")?,
        bore_per_m: row.number("cost_per_m")?,
        bore: way("")?,
        trench: way("trench_")?,
    })
}
