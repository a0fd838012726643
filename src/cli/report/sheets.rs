//! Rows of all layers, put together by route.

use super::rows::Row;
use crate::{
    cli::exit::Failure,
    read::{DrawnRow, Results},
    report::{Pit, RouteSheet, give_holes},
};
use serde_json::Value as Json;
use std::{
    collections::{BTreeMap, BTreeSet},
    path::Path,
};

/// Every route in the order of the plan, as its run lists them; routes that no run lists come after, as their rows stand.
pub fn sheets(
    file: &Path,
    results: &Results,
    unit_m: f64,
    summary: &Json,
) -> Result<Vec<RouteSheet>, Failure> {
    let layers = Layers::read(file, results, unit_m)?;
    let listed = summary["routes"].as_array().into_iter().flatten();
    let listed = listed.filter_map(|r| r["route_id"].as_str().map(String::from));
    let drawn = [&layers.bores, &layers.blockers].into_iter().flatten();
    let drawn = drawn.filter_map(|r| r.row.text("route_id"));
    let mut seen = BTreeSet::new();
    let ids: Vec<String> = listed
        .chain(drawn)
        .filter(|id| seen.insert(id.clone()))
        .collect();
    let mut routes = Routes::of(&ids);
    routes.fill(&layers)?;
    Ok(routes.sheets)
}

/// All rows.
struct Layers<'a> {
    file: &'a Path,
    unit_m: f64,
    pits: Vec<DrawnRow>,
    bores: Vec<DrawnRow>,
    conflicts: Vec<DrawnRow>,
    holes: Vec<DrawnRow>,
    sections: Vec<DrawnRow>,
    costs: Vec<DrawnRow>,
    blockers: Vec<DrawnRow>,
    compared: Vec<DrawnRow>,
    tasks: Vec<DrawnRow>,
}

impl<'a> Layers<'a> {
    fn read(file: &'a Path, results: &Results, unit_m: f64) -> Result<Layers<'a>, Failure> {
        Ok(Layers {
            file,
            unit_m,
            pits: results.drawn("proposed_pits")?,
            bores: results.drawn("proposed_bores")?,
            conflicts: results.drawn("bore_conflicts")?,
            holes: results.drawn("test_holes")?,
            sections: results.drawn("long_sections")?,
            costs: results.drawn("cost_items")?,
            blockers: results.drawn("route_blockers")?,
            compared: results.drawn("bore_or_trench")?,
            tasks: results.drawn("bore_programme")?,
        })
    }

    fn row<'r>(&'r self, layer: &'r str, of: &'r DrawnRow) -> Row<'r> {
        Row {
            file: self.file,
            layer,
            unit_m: self.unit_m,
            of,
        }
    }
}

/// Sheets in the making, and which route each bore and pit belongs to.
struct Routes {
    sheets: Vec<RouteSheet>,
    by_id: BTreeMap<String, usize>,
    of_bore: BTreeMap<String, usize>,
    of_pit: BTreeMap<String, usize>,
}

impl Routes {
    fn of(ids: &[String]) -> Routes {
        let sheet = |id: &String| RouteSheet {
            route_id: id.clone(),
            ..RouteSheet::default()
        };
        Routes {
            sheets: ids.iter().map(sheet).collect(),
            by_id: ids
                .iter()
                .enumerate()
                .map(|(i, id)| (id.clone(), i))
                .collect(),
            of_bore: BTreeMap::new(),
            of_pit: BTreeMap::new(),
        }
    }

    /// The route that a row names.
    fn named(&self, row: &DrawnRow) -> Option<usize> {
        self.by_id.get(&row.row.text("route_id")?).copied()
    }

    fn fill(&mut self, layers: &Layers) -> Result<(), Failure> {
        self.bores_and_pits(layers)?;
        for row in &layers.conflicts {
            let c = layers.row("bore_conflicts", row).conflict()?;
            let bore = c.bore_id.as_ref().and_then(|b| self.of_bore.get(b));
            if let Some(i) = bore.or_else(|| self.of_pit.get(c.pit_id.as_ref()?)) {
                self.sheets[*i].conflicts.push(c);
            }
        }
        for row in &layers.holes {
            let hole = layers.row("test_holes", row).hole()?;
            if let Some(i) = self.of_bore.get(&hole.bore_id) {
                self.sheets[*i].holes.push(hole);
            }
        }
        for row in &layers.sections {
            if let Some(i) = self.named(row) {
                self.sheets[i]
                    .section
                    .push(layers.row("long_sections", row).section()?);
            }
        }
        for row in &layers.costs {
            if let Some(i) = self.named(row) {
                self.sheets[i]
                    .costs
                    .push(layers.row("cost_items", row).cost()?);
            }
        }
        for row in &layers.compared {
            // Lots have no route.
            if let Some(i) = self.named(row) {
                let compared = layers.row("bore_or_trench", row).compared()?;
                self.sheets[i].compared.push(compared);
            }
        }
        for row in &layers.tasks {
            if let Some(i) = self.named(row) {
                let task = layers.row("bore_programme", row).task()?;
                self.sheets[i].tasks.push(task);
            }
        }
        for row in &layers.blockers {
            if let Some(i) = self.named(row) {
                self.sheets[i]
                    .blockers
                    .push(layers.row("route_blockers", row).blocker()?);
            }
        }
        for sheet in &mut self.sheets {
            sheet.holes.sort_by_key(|h| h.priority);
            give_holes(&mut sheet.conflicts, &sheet.holes);
            sheet
                .section
                .sort_by(|a, b| a.chainage_m.total_cmp(&b.chainage_m));
        }
        Ok(())
    }

    /// A junction's pit stands on the sheet of every route that ends in it; what it comes near, on the parent's.
    fn bores_and_pits(&mut self, layers: &Layers) -> Result<(), Failure> {
        let mut pits: BTreeMap<String, Pit> = BTreeMap::new();
        let mut order = vec![];
        for row in &layers.pits {
            let pit = layers.row("proposed_pits", row).pit()?;
            if let Some(i) = self.named(row) {
                self.of_pit.insert(pit.pit_id.clone(), i);
            }
            order.push(pit.pit_id.clone());
            pits.insert(pit.pit_id.clone(), pit);
        }
        let mut used: Vec<BTreeSet<String>> = vec![BTreeSet::new(); self.sheets.len()];
        for row in &layers.bores {
            let bore = layers.row("proposed_bores", row).bore()?;
            let Some(i) = self.named(row) else { continue };
            self.of_bore.insert(bore.bore_id.clone(), i);
            used[i].extend([bore.us_pit.clone(), bore.ds_pit.clone()]);
            self.sheets[i].planned = true;
            self.sheets[i].bores.push(bore);
        }
        for (sheet, used) in self.sheets.iter_mut().zip(&used) {
            let ids = order.iter().filter(|id| used.contains(*id));
            sheet.pits = ids.filter_map(|id| pits.get(id).cloned()).collect();
        }
        Ok(())
    }
}
