use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::jacking::{RESTART, restart_thrust},
};

pub fn pages() -> Vec<Page> {
    let more = |factor| restart_thrust(100.0, factor).expect("in range").value() - 100.0;
    let page = Page::secondary(Source::ChuStoppage, "restart after several hours")
        .rule("least more thrust, %", "20", more(RESTART.low))
        .rule("greatest more thrust, %", "40", more(RESTART.high));
    vec![page]
}
