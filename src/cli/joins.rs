//! Whether every branch reaches the route that it joins.

use super::{exit::Failure, route_fault::of_route};
use crate::{job::JobFile, plan::system::branches_apart, read::Reading};

/// Checks the downstream end of every branch.
///
/// # Errors
/// A branch that ends farther than `search.snap_m` from the route that it joins.
pub fn check(reading: &Reading, file: &JobFile) -> Result<(), Failure> {
    let snap_m = file.job.search.snap_m;
    let Some(&(i, apart_m)) = branches_apart(&reading.site, snap_m).first() else {
        return Ok(());
    };
    let route = &reading.site.routes[i];
    let what = format!(
        "the downstream end is {apart_m:.2} m from the route '{}' that it joins, farther than search.snap_m = {snap_m}; draw it up to that route (routes are digitised downstream), or name another",
        route.joins.as_deref().unwrap_or_default()
    );
    Err(of_route(reading, file, route, "joins", &what))
}
