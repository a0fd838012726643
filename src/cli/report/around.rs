//! What lies around the routes, read again for the drawings.

use super::Source;
use crate::{
    cli::kept_job::site_around,
    read::{self, Need},
    report::Surroundings,
};

/// How far around the routes things are drawn (m).
const AROUND_M: f64 = 60.0;

/// The site around, from the file named, the one with the results or the one that they were made of; else why not.
pub fn around(source: &Source) -> Result<Surroundings, String> {
    let Source { args, job, crs, .. } = source;
    let file = site_around(args.around.as_deref(), &args.site, source.run.as_ref());
    let base = args.job.as_deref().and_then(|p| p.parent());
    let system = crs.authority.as_deref().unwrap_or(&crs.wkt);
    let wanted = read::Request {
        layers: &job.layers,
        base: base.filter(|b| !b.as_os_str().is_empty()),
        crs: Some(system),
        around_m: AROUND_M,
        all_obstacles: false,
        need: Need::Plan,
    };
    let reading = read::site(&file, &wanted, &mut |_| {});
    let site = reading.map_err(|e| e.to_string())?.site;
    Ok(Surroundings::new(site))
}

/// That it could not be read, and what to do.
pub fn warning(why: &str) -> String {
    format!(
        "streets, lots, buildings and services are not drawn ({why}); name the site that was planned with --around"
    )
}
