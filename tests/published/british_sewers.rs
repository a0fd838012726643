//! Flow, velocity and place of British and European sewers.

use crate::page::Page;
use pitwright::{
    bibliography::{Source, Tag},
    job::Job,
    mechanics::{
        hydraulics::{CLEANSING, DWELLING_L_DAY, flow_of_dwellings, one_in_dn},
        setting_out::TOLERANCES,
    },
};

pub fn sector_guidance() -> Vec<Page> {
    let one = flow_of_dwellings(1.0, DWELLING_L_DAY).expect("one").value();
    let page = Page::read(
        Source::SewerageSectorGuidance,
        "appendix C, B3.1 and B5.1.3",
    )
    .rule("litres a dwelling and day", "4000", DWELLING_L_DAY)
    .worked("the same, l/s", "0.05", one)
    .rule(
        "sewer to building, m",
        "1.2",
        Job::default().rules.clearance_building_m,
    );
    vec![page]
}

fn velocity(source: Source, tag: Tag) -> f64 {
    let rule = CLEANSING.iter().find(|c| c.cited.source == Some(source));
    let rule = rule.expect("a rule of it");
    assert_eq!(rule.cited.tag, tag);
    rule.velocity_m_s
}

pub fn en752() -> Vec<Page> {
    let one_in = 1.0 / one_in_dn(150.0).expect("below DN 300").value();
    vec![
        Page::secondary(Source::En752, "self-cleansing").rule(
            "once a day, m/s",
            "0.7",
            velocity(Source::En752, Tag::Secondary),
        ),
        Page::from_memory(Source::En752, "1 in DN").rule("DN 150, 1 in", "150", one_in),
    ]
}

pub fn design_and_construction() -> Vec<Page> {
    let source = Source::DesignConstructionGuidance;
    let page = Page::from_memory(source, "self-cleansing; line and level")
        .rule(
            "at a third of the flow, m/s",
            "0.75",
            velocity(source, Tag::FromMemory),
        )
        .rule("line, mm", "20", TOLERANCES[0].line_mm)
        .rule("level, mm", "20", TOLERANCES[0].level_mm);
    vec![page]
}
