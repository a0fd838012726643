use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::earthworks::{Sides::*, least_width_m, working_space_m},
};

pub fn pages() -> Vec<Page> {
    vec![by_diameter(), by_depth()]
}

fn by_diameter() -> Page {
    let rows: [(u32, [&'static str; 3]); 5] = [
        (225, ["0.40", "0.40", "0.40"]),
        (350, ["0.50", "0.40", "0.50"]),
        (700, ["0.70", "0.40", "0.70"]),
        (1200, ["0.85", "0.40", "0.85"]),
        (1201, ["1.00", "0.40", "1.00"]),
    ];
    let page = Page::read(Source::En1610, "table 1, as reproduced by BG BAU");
    rows.into_iter().fold(page, |page, (dn, printed)| {
        [Supported, Sloped, Steep]
            .into_iter()
            .zip(printed)
            .fold(page, |page, (sides, printed)| {
                let name = format!("DN {dn}, {sides:?}, m");
                page.rule(&name, printed, working_space_m(dn, sides))
            })
    })
}

fn by_depth() -> Page {
    assert_eq!(least_width_m(0.999), None);
    let at = |depth| least_width_m(depth).expect("a metre or more");
    Page::read(Source::En1610, "table 2, as reproduced by BG BAU")
        .rule("from 1.00 m deep, m", "0.80", at(1.00))
        .rule("to 1.75 m deep, m", "0.80", at(1.75))
        .rule("to 4.00 m deep, m", "0.90", at(4.00))
        .rule("deeper, m", "1.00", at(4.01))
}
