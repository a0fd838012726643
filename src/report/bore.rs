//! One bore by itself: the long section of the run that it belongs to, and its drive sheet.

use super::{
    crossed::Crossings,
    drive_sheet,
    marks::colour_class,
    model::Report,
    section::section,
    section_table,
    shared::Shared,
    text::{label, put, words},
    view::Room,
};

/// Section and sheet of a bore as part of a page; none where no route has it.
pub fn bore(report: &Report, bore_id: &str) -> Option<String> {
    let (route, bore) = report.routes.iter().find_map(|route| {
        let bore = route.bores.iter().find(|b| b.bore_id == bore_id)?;
        Some((route, bore))
    })?;
    let runs = route.runs();
    let run = runs.iter().find(|r| r[0].run_id == bore.run_id)?;
    let mut out = String::new();
    put!(
        out,
        "<h3>Long section of run {}, route {}</h3>",
        words(&bore.run_id),
        words(&route.route_id)
    );
    let (around, job) = (report.around.as_ref().ok(), &report.head.job);
    let shared = Shared {
        around,
        crossings: around.map(|a| Crossings::new(&a.site, job, &route.conflicts)),
        code: colour_class(job),
    };
    let drawn = section(route, run, &shared, "s", Room::SECTION);
    match drawn {
        Some(section) => {
            let name = format!("run {}", label(&bore.run_id));
            put!(
                out,
                "<figure><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"Long section, {name}\">{}</div></figure>",
                section.svg
            );
            drive_sheet::sheet(&mut out, report, route, bore, "sheet");
            section_table::table(&mut out, &name, &section.stations);
        }
        None => {
            out.push_str(
                "<p>No long section, since the file has no chainage for the pits of this run.</p>",
            );
            drive_sheet::sheet(&mut out, report, route, bore, "sheet");
        }
    }
    Some(out)
}
