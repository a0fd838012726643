//! Strength of vitrified clay jacking pipe, American and European.

use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::jacking::{CLAY_ASTM_MPA, CLAY_ASTM_SAFETY, CLAY_EN_MPA},
};

pub fn astm() -> Vec<Page> {
    let page = Page::from_memory(Source::AstmC1208, "compressive strength")
        .rule("strength, MPa", "48.3", CLAY_ASTM_MPA)
        .rule("safety", "2.5", CLAY_ASTM_SAFETY);
    vec![page]
}

pub fn en295() -> Vec<Page> {
    let page = Page::from_memory(Source::En295Part7, "compressive strength");
    vec![page.rule("strength, N/mm2", "75", CLAY_EN_MPA)]
}
