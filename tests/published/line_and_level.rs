//! Tolerance of sewers, misclosure of levelling.

use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::setting_out::{
        LEVELLING_MM_SQRT_KM, lesser_of_share_and_limit, levelling_misclosure,
    },
};

pub fn tauranga() -> Vec<Page> {
    let mm = |dn| lesser_of_share_and_limit(dn).expect("in range").value();
    let page = Page::read(Source::TaurangaIdc, "CS-9.4")
        .rule("share of DN, %", "5", mm(100.0))
        .rule("greatest, mm", "20", mm(1000.0));
    vec![page]
}

pub fn levelling() -> Vec<Page> {
    let at_a_km = |c| levelling_misclosure(1.0, c).expect("in range").value();
    let page = Page::read(Source::SaLevelling, "misclosure, mm for the root of a km")
        .rule("third order", "12", at_a_km(LEVELLING_MM_SQRT_KM[0]))
        .rule("fourth order", "18", at_a_km(LEVELLING_MM_SQRT_KM[1]));
    vec![page]
}
