//! Where the levels of the ground come from.

use super::fault::{Faults, ReadError};
use super::features::{Table, gather};
use super::nearby::Nearby;
use super::roles::Source;
use super::shape::Bounds;
use super::site::Context;
use super::{Problem, raster};
use crate::ground::{Ground, Tin};
use crate::site::Site;
use geo::{BoundingRect, Coord};

/// The `ground` layer, else the Z of the routes, else none.
pub(super) fn ground(
    cx: &mut Context,
    source: Option<&Source>,
    site: &Site,
    window: Option<&Bounds>,
    near: Option<&Nearby>,
) -> Result<Ground, ReadError> {
    match source {
        Some(s) if s.raster => {
            let outlines: Vec<Bounds> = outlines(site).collect();
            let near = near.map(|n| (n, outlines.as_slice()));
            raster::grid(cx, s, &reach(cx, site, window), near).map(Ground::Grid)
        }
        Some(s) => points(cx, s),
        None => Ok(of_routes(site)),
    }
}

/// Where levels are asked for: the window, and the whole outline of each building that reaches into it,
/// since the lowest ground at any of its vertices counts.
fn reach(cx: &Context, site: &Site, window: Option<&Bounds>) -> Bounds {
    let Some(window) = window else {
        return cx.extent;
    };
    let mut all = *window;
    for part in outlines(site).filter(|p| p.meets(window)) {
        all.join(&part);
    }
    all
}

/// Boxes of the outlines of buildings.
fn outlines(site: &Site) -> impl Iterator<Item = Bounds> + '_ {
    let parts = site.buildings.iter().flat_map(|b| &b.parts);
    parts.filter_map(|p| p.bounding_rect()).map(|r| Bounds {
        min: [r.min().x, r.min().y],
        max: [r.max().x, r.max().y],
    })
}

/// All points of the layer: the triangles between far ones may cover the site.
fn points(cx: &mut Context, source: &Source) -> Result<Ground, ReadError> {
    let table = gather(cx, source, None)?;
    let spots = spots(&table, &mut cx.faults);
    let why = || {
        format!(
            "{} points with levels, and no triangle between them",
            spots.len()
        )
    };
    let problem = || ReadError::new(table.place.clone(), Problem::BadGround { why: why() });
    Tin::new(&spots).map(Ground::Points).ok_or_else(problem)
}

/// Points with levels: `level_m`, else Z.
pub(super) fn spots(table: &Table, faults: &mut Faults) -> Vec<(Coord<f64>, f64)> {
    let mut spots = vec![];
    for row in &table.rows {
        let mut cells = table.cells(row, faults);
        let level = cells.level("level_m");
        for v in cells.points().unwrap_or_default() {
            match level.or(Some(v.z).filter(|z| z.is_finite())) {
                Some(z) => spots.push((v.plan(), z)),
                None => cells.fault(Problem::Missing {
                    taken: "no ground point",
                }),
            }
        }
    }
    spots
}

fn of_routes(site: &Site) -> Ground {
    let lines: Vec<_> = site
        .routes
        .iter()
        .map(|r| &r.line)
        .filter(|l| l.levels.is_some())
        .cloned()
        .collect();
    if lines.is_empty() {
        Ground::None
    } else {
        Ground::Lines(lines)
    }
}
