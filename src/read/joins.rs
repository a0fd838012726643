//! How routes hang together, and the old pipes they follow: every name must lead somewhere.

use super::Problem;
use super::fault::{Faults, Place, ReadError};
use super::roles::{Source, Stores};
use super::store::nearest_first;
use crate::job::Role;
use crate::site::{Route, Service};
use std::collections::BTreeMap;

/// Unknown, self and circular `joins`.
pub(super) fn check(routes: &[Route], place: &Place, faults: &mut Faults) {
    let parent: BTreeMap<&str, &str> = routes
        .iter()
        .filter_map(|r| Some((r.route_id.as_str(), r.joins.as_deref()?)))
        .collect();
    for r in routes {
        let Some(name) = &r.joins else { continue };
        let wrong = if *name == r.route_id {
            Some(Problem::JoinsItself { name: name.clone() })
        } else if !routes.iter().any(|o| o.route_id == *name) {
            let known = nearest_first(name, routes.iter().map(|o| o.route_id.clone()));
            Some(Problem::JoinsUnknown {
                name: name.clone(),
                known,
            })
        } else {
            circle(&r.route_id, &parent).map(|names| Problem::JoinsCircle { names })
        };
        if let Some(problem) = wrong {
            faults.stop(place.clone().fid(r.at.fid).column("joins"), problem);
        }
    }
}

/// The way from a route back to itself, if there is one.
fn circle(start: &str, parent: &BTreeMap<&str, &str>) -> Option<Vec<String>> {
    let mut names = vec![start.to_string()];
    let mut at = *parent.get(start)?;
    while names.len() <= parent.len() {
        names.push(at.to_string());
        if at == start {
            return Some(names);
        }
        at = parent.get(at)?;
    }
    None
}

/// Services that are followed must be there.
pub(super) fn check_follows(
    routes: &[Route],
    services: &[Service],
    (stores, sources): (&Stores, &[Source]),
    place: &Place,
    faults: &mut Faults,
) -> Result<(), ReadError> {
    for r in routes {
        let Some(old) = r
            .follows
            .as_ref()
            .filter(|old| !services.iter().any(|s| s.at == **old))
        else {
            continue;
        };
        let (layer, fid) = (old.layer.to_string(), old.fid);
        let place = place.clone().fid(r.at.fid).column("follows");
        if exists(stores, sources, &layer, fid)? {
            faults.note(place, Problem::FollowsFar { layer, fid });
        } else {
            let known = nearest_first(&layer, of_services(sources).map(|s| s.table.clone()));
            faults.stop(place, Problem::FollowsMissing { layer, fid, known });
        }
    }
    Ok(())
}

fn of_services(sources: &[Source]) -> impl Iterator<Item = &Source> {
    sources.iter().filter(|s| s.role == Role::Services)
}

fn exists(stores: &Stores, sources: &[Source], layer: &str, fid: i64) -> Result<bool, ReadError> {
    let mut found = false;
    for s in of_services(sources).filter(|s| s.table == layer) {
        stores.files[s.store]
            .1
            .scan(layer, &[], &mut |raw| found |= raw.fid == fid)?;
    }
    Ok(found)
}
