//! Values of the rule set `metric` beside the pages that they are from.

use crate::page::Page;
use pitwright::{
    bibliography::Source,
    job::{Clearance, Job, Limits},
    site::{Kind, Quality},
};

fn near(kind: Kind) -> Clearance {
    Job::default().rules.clearance[&kind]
}

fn located(level: Quality) -> Limits {
    Job::default().rules.quality[&level]
}

pub fn amaravati() -> Vec<Page> {
    let page = Page::read(Source::AmaravatiUtilities, "matrix of spacings, horizontal")
        .rule("gas to waste water, m", "0.5", near(Kind::Gas).parallel_m)
        .rule(
            "communications to waste water, m",
            "0.5",
            near(Kind::Telecom).parallel_m,
        )
        .rule(
            "waste water to waste water, m",
            "0.5",
            near(Kind::Sewer).parallel_m,
        )
        .rule(
            "storm water to waste water, m",
            "0.5",
            near(Kind::Stormwater).parallel_m,
        )
        .rule(
            "reuse to waste water, m",
            "0.5",
            near(Kind::RecycledWater).parallel_m,
        );
    vec![page]
}

pub fn as5488() -> Vec<Page> {
    let (a, b) = (located(Quality::A), located(Quality::B));
    vec![
        Page::secondary(Source::As5488Part1, "quality level B").rule(
            "in plan, m",
            "0.3",
            b.horizontal_m,
        ),
        Page::from_memory(Source::As5488Part1, "quality levels A and B")
            .rule("A in plan, m", "0.05", a.horizontal_m)
            .rule("A in level, m", "0.05", a.vertical_m)
            .rule("B in level, m", "0.5", b.vertical_m),
    ]
}

pub fn hsg47() -> Vec<Page> {
    let page = Page::from_memory(Source::Hsg47, "no mechanical excavation nearer than")
        .rule("gas, m", "0.5", near(Kind::Gas).pit_m)
        .rule("electricity, m", "0.5", near(Kind::Electricity).pit_m);
    vec![page]
}

pub fn wsa02() -> Vec<Page> {
    let page = Page::from_memory(Source::Wsa02, "clearances to other services")
        .rule(
            "water main, horizontal, mm",
            "1000",
            near(Kind::Water).parallel_m * 1000.0,
        )
        .rule(
            "water main, vertical, mm",
            "500",
            near(Kind::Water).crossing_m * 1000.0,
        )
        .rule(
            "electricity, horizontal, mm",
            "500",
            near(Kind::Electricity).parallel_m * 1000.0,
        );
    vec![page]
}

pub fn au_cover() -> Vec<Page> {
    let page = Page::secondary(Source::AuLocalCover, "cover in roads");
    vec![page.rule("mm", "900", Job::default().rules.min_cover_m * 1000.0)]
}
