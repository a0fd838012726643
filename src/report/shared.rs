//! What all drawings of a report share.

use super::{crossed::Crossings, marks::colour_class, model::Report, nearby::Surroundings};

/// What all drawings of a report share.
#[derive(Debug)]
pub struct Shared<'a> {
    /// What lies around, where it was read.
    pub around: Option<&'a Surroundings>,
    /// Levels of the services that rows name, where they were read.
    pub crossings: Option<Crossings>,
    /// Class of the colours of services.
    pub code: &'static str,
}

impl Shared<'_> {
    /// Of a report.
    pub fn of(report: &Report) -> Shared<'_> {
        let around = report.around.as_ref().ok();
        let rows = || report.routes.iter().flat_map(|r| &r.conflicts);
        let job = &report.head.job;
        Shared {
            around,
            crossings: around.map(|a| Crossings::new(&a.site, job, rows())),
            code: colour_class(job),
        }
    }
}
