use crate::page::Page;
use pitwright::{
    bibliography::Source,
    job::Job,
    mechanics::hydraulics::{flow_by_table, min_grade, smallest_dn_mm},
};

pub fn pages() -> Vec<Page> {
    vec![flows(), grades(), spacing()]
}

fn flows() -> Page {
    let rows: [(u32, &'static str); 7] = [
        (1, "2.5"),
        (5, "3.5"),
        (10, "4.1"),
        (15, "4.6"),
        (20, "5.1"),
        (25, "5.4"),
        (30, "5.8"),
    ];
    let page = Page::secondary(Source::ApprovedDocumentH, "table 5, as restated by LABC");
    let page = rows.into_iter().fold(page, |page, (n, printed)| {
        let flow = flow_by_table(f64::from(n)).expect("in the table").value();
        page.rule(&format!("{n} dwellings, l/s"), printed, flow)
    });
    page.rule("DN of 10 dwellings", "100", f64::from(smallest_dn_mm(10)))
        .rule("DN of more", "150", f64::from(smallest_dn_mm(11)))
}

fn grades() -> Page {
    let table = min_grade("drains of more than 1 l/s, Approved Document H").expect("there");
    let one_in = |dn| 1.0 / table.at(dn).expect("in the table");
    Page::from_memory(Source::ApprovedDocumentH, "table 6, more than 1 l/s")
        .rule("DN 75, 1 in", "80", one_in(75.0))
        .rule("DN 100, 1 in", "80", one_in(100.0))
        .rule("DN 150, 1 in", "150", one_in(150.0))
}

fn spacing() -> Page {
    let spacing = Job::default().rules.manhole_spacing_m;
    let setback = Job::default().pits.building_setback_m;
    Page::from_memory(Source::ApprovedDocumentH, "table 13; diagram 8")
        .rule("manhole to manhole, m", "90", spacing)
        .rule("excavation beside a foundation, m", "1", setback)
}
