//! Least velocities and grades of American states and towns.

use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::hydraulics::{
        CLEANSING, Cleansing, MIN_GRADES, MinGrades, VIRGINIA_SETTLED_FT_S, WISCONSIN_GAL_DAY,
        grade_for_velocity, min_grade,
    },
};

fn rule_of(source: Source) -> Cleansing {
    let of = |c: &&Cleansing| c.cited.source == Some(source);
    *CLEANSING.iter().find(of).expect("a rule of it")
}

/// The velocity that its flattest grade gives back, in ft/s, and its n.
fn velocity(page: Page, source: Source, feet: &'static str, n: &'static str) -> Page {
    let rule = rule_of(source);
    page.rule("least velocity, ft/s", feet, rule.velocity_m_s / 0.3048)
        .rule("n", n, rule.n.expect("named by the rule"))
}

pub fn wisconsin() -> Vec<Page> {
    let page = Page::read(Source::WisconsinNr110, "NR 110.13");
    let page = velocity(page, Source::WisconsinNr110, "2.0", "0.013");
    let table = min_grade("Wisconsin, with the owner's reasons").expect("there");
    let flattest = table.at(203.2).expect("8 in");
    // The bare rule asks for more than this exception gives.
    let asked = grade_for_velocity(203.2, 0.6096, 0.013).expect("in range");
    assert!(asked.value() > flattest);
    let page = page
        .rule("8 in with the owner's reasons, %", "0.30", flattest * 100.0)
        .rule("US gal a head and day", "100", WISCONSIN_GAL_DAY);
    vec![page]
}

pub fn virginia() -> Vec<Page> {
    let page = Page::read(Source::VirginiaSewers, "9VAC25-790-320 B 1");
    let page = velocity(page, Source::VirginiaSewers, "2", "0.014");
    vec![page.rule("settled sewage, ft/s", "1.3", VIRGINIA_SETTLED_FT_S)]
}

/// Its copy of the table prints 0.20 at 10 in, less than at 12: found as a misprint.
pub fn purcell() -> Vec<Page> {
    let page = Page::read(Source::PurcellOk, "minimum slopes");
    let page = velocity(page, Source::PurcellOk, "2.0", "0.013");
    let mut rows = MIN_GRADES[0].rows.to_vec();
    rows[2].1 = 0.0020;
    let found = MinGrades::misprint(&rows).expect("out of order");
    vec![page.rule(
        "first diameter that is steeper than a smaller one, in",
        "12",
        found / 25.4,
    )]
}

pub fn tolono() -> Vec<Page> {
    let table = min_grade("laterals of 6 in, Illinois and Ohio").expect("there");
    let percent = table.at(152.4).expect("6 in") * 100.0;
    let page = Page::read(Source::TolonoIlLaterals, "§ 153.186, 1/8 in a foot");
    vec![page.worked("6 in, %", "1.042", percent)]
}

pub fn chicago() -> Vec<Page> {
    let table = min_grade("plumbing code, Chicago").expect("there");
    let inches = |dn: f64| table.at(dn * 25.4).expect("in the table") * 12.0;
    let page = Page::read(Source::ChicagoPlumbing, "table 18-29-704.1")
        .rule("2 1/2 in, in a foot", "0.25", inches(2.5))
        .rule("6 in, in a foot", "0.125", inches(6.0))
        .rule("8 in, in a foot", "0.0625", inches(8.0));
    vec![page]
}
