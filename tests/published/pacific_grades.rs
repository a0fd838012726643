//! Flattest grades of Australia and New Zealand.

use crate::page::Page;
use pitwright::{bibliography::Source, job::Job, mechanics::hydraulics::min_grade};

fn percent(table: &str, dn: f64) -> f64 {
    let table = min_grade(table).expect("there");
    table.at(dn).expect("in the table") * 100.0
}

pub fn as_nzs_3500() -> Vec<Page> {
    let drains = |dn| percent("house drains, AS/NZS 3500.2", dn);
    let in_force = |dn| Job::default().rules.min_grade(dn) * 100.0;
    let restated = Page::secondary(Source::AsNzs3500Part2, "minimum grades of drains")
        .rule("DN 65, %", "2.50", drains(65.0))
        .rule("DN 100, %", "1.65", drains(100.0))
        .rule("DN 100 as a job has it, %", "1.65", in_force(100));
    let memory = Page::from_memory(Source::AsNzs3500Part2, "minimum grades of drains")
        .rule("DN 80, %", "1.65", drains(80.0))
        .rule("DN 150, %", "1.00", drains(150.0))
        .rule("DN 225, %", "0.65", drains(225.0))
        .rule("DN 150 as a job has it, %", "1.00", in_force(150))
        .rule("DN 225 as a job has it, %", "0.65", in_force(225));
    vec![restated, memory]
}

pub fn nzs4404() -> Vec<Page> {
    let sewers = |dn| percent("sewers, NZS 4404", dn);
    let house = |dn| percent("property connections, NZS 4404", dn);
    let page = Page::from_memory(Source::Nzs4404, "tables 5.4 and 5.5")
        .rule("DN 150, %", "0.55", sewers(150.0))
        .rule("DN 200, %", "0.33", sewers(200.0))
        .rule("DN 225, %", "0.33", sewers(225.0))
        .rule("DN 300, %", "0.25", sewers(300.0))
        .rule("connection DN 100, %", "1.65", house(100.0))
        .rule("connection DN 150, %", "1.20", house(150.0));
    vec![page]
}
