//! The lines to plan along. What is wrong with a route stops everything: no constraint may be dropped unsaid.

use super::Problem;
use super::fault::Faults;
use super::features::{Cells, Table};
use super::shape::{Vertex, polyline};
use crate::site::{FeatureRef, Polyline, Route};
use std::collections::BTreeMap;

/// All routes of the layer.
pub(super) fn routes(table: &Table, faults: &mut Faults) -> Vec<Route> {
    let all: Vec<Route> = table
        .rows
        .iter()
        .filter_map(|row| route(&mut table.cells(row, faults)))
        .collect();
    let mut seen = BTreeMap::new();
    for r in &all {
        if let Some(other) = seen.insert(r.route_id.clone(), r.at.fid) {
            let place = table.place.clone().fid(r.at.fid).column("route_id");
            faults.stop(
                place,
                Problem::DuplicateId {
                    id: r.route_id.clone(),
                    other,
                },
            );
        }
    }
    all
}

fn route(c: &mut Cells) -> Option<Route> {
    Some(Route {
        at: c.at(),
        line: line(c)?,
        route_id: c
            .text("route_id")
            .unwrap_or_else(|| format!("R{}", c.row.fid)),
        dn_mm: dn(c),
        outfall_invert_m: level(c, "outfall_invert_m"),
        head_invert_max_m: level(c, "head_invert_max_m"),
        joins: c.text("joins"),
        follows: follows(c),
        serves: serves(c),
    })
}

fn line(c: &mut Cells) -> Option<Polyline> {
    let problem = match &c.row.shape {
        Err(p) => p.clone(),
        Ok(s) if s.lines.is_empty() => Problem::WrongGeometry { wanted: "lines" },
        Ok(s) if s.lines.len() > 1 => Problem::RouteParts {
            parts: s.lines.len(),
        },
        Ok(s) => match &without_repeats(&s.lines[0])[..] {
            [] | [_] => Problem::ZeroLength,
            line => return Some(polyline(line)),
        },
    };
    c.faults.stop(c.place(), problem);
    None
}

/// Of vertices at one place in a row the first stays.
fn without_repeats(line: &[Vertex]) -> Vec<Vertex> {
    let mut line = line.to_vec();
    line.dedup_by(|b, a| a.x == b.x && a.y == b.y);
    line
}

fn level(c: &mut Cells, name: &str) -> Option<f64> {
    let unit_m = c.table.source.z_unit_m.unwrap_or(1.0);
    Some(number(c, name, "a level as a plain number", |_| true)? * unit_m)
}

fn dn(c: &mut Cells) -> Option<u32> {
    let whole = |n: f64| n >= 1.0 && n.fract() == 0.0 && n < 100_000.0;
    number(c, "dn_mm", "a nominal diameter in whole millimetres", whole).map(|n| n as u32)
}

fn number(
    c: &mut Cells,
    name: &str,
    expected: &'static str,
    good: impl Fn(f64) -> bool,
) -> Option<f64> {
    let value = match c.value(name).number() {
        Ok(None) => return None,
        Ok(Some(n)) if good(n) => return Some(n),
        _ => c.text(name).unwrap_or_default(),
    };
    c.faults
        .stop(c.column(name), Problem::BadValue { value, expected });
    None
}

/// Ids between commas.
fn serves(c: &Cells) -> Vec<String> {
    let listed = c.text("serves").unwrap_or_default();
    let ids = listed.split(',').map(|id| id.trim().to_string());
    ids.filter(|id| !id.is_empty()).collect()
}

/// `LAYER/FID`, the fid after the last slash.
fn follows(c: &mut Cells) -> Option<FeatureRef> {
    let value = c.text("follows")?;
    let named = value
        .rsplit_once('/')
        .and_then(|(l, f)| Some((l.to_string(), f.trim().parse().ok()?)));
    match named.filter(|(l, _)| !l.is_empty()) {
        Some((layer, fid)) => Some(FeatureRef {
            layer: layer.into(),
            fid,
        }),
        None => {
            c.faults
                .stop(c.column("follows"), Problem::FollowsForm { value });
            None
        }
    }
}
