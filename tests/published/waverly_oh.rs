use crate::page::Page;
use pitwright::{
    bibliography::Source,
    job::Job,
    mechanics::hydraulics::{MIN_GRADES, US_LATERAL_GAL_DAY, US_MAIN_GAL_DAY},
};

/// Inches and percent as printed. The copy prints 0.67 at 27 in, where the table would rise: 0.067 is meant.
const GRADES: [(f64, &str); 13] = [
    (6.0, "0.60"),
    (8.0, "0.40"),
    (10.0, "0.28"),
    (12.0, "0.22"),
    (14.0, "0.17"),
    (15.0, "0.15"),
    (16.0, "0.14"),
    (18.0, "0.12"),
    (21.0, "0.10"),
    (24.0, "0.08"),
    (27.0, "0.067"),
    (30.0, "0.058"),
    (36.0, "0.046"),
];

pub fn pages() -> Vec<Page> {
    let table = MIN_GRADES[0];
    let page = Page::read(Source::WaverlyOh, "§ 937.10");
    let page = GRADES.iter().fold(page, |page, (inches, percent)| {
        let grade = table.at(inches * 25.4).expect("in the table");
        page.rule(&format!("{inches} in, %"), percent, grade * 100.0)
    });
    let page = page
        .rule(
            "anchors from %",
            "20",
            Job::default().rules.max_grade * 100.0,
        )
        .rule("laterals, US gal a head and day", "400", US_LATERAL_GAL_DAY)
        .rule("mains, US gal a head and day", "250", US_MAIN_GAL_DAY);
    vec![page]
}
