use crate::page::Page;
use pitwright::{bibliography::Source, mechanics::jacking::ARCHING};

pub fn pages() -> Vec<Page> {
    let page = Page::from_memory(Source::Bennett1998, "arching factor")
        .rule("low", "0.66", ARCHING.low)
        .rule("best", "1.0", ARCHING.expected)
        .rule("high", "1.5", ARCHING.high);
    vec![page]
}
