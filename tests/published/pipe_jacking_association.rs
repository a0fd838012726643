use crate::page::Page;
use pitwright::{
    bibliography::Source,
    job::JobFile,
    mechanics::jacking::{LUBRICATED_T_M2, TONNE_KPA, skin_range_kpa},
};

pub fn pages() -> Vec<Page> {
    let skin = skin_range_kpa();
    let page = Page::read(Source::PipeJackingAssociation, "section 6, page 23")
        .rule("least friction, t/m2", "0.5", skin.low / TONNE_KPA)
        .rule("greatest friction, t/m2", "2.5", skin.high / TONNE_KPA)
        .rule("least with lubrication, t/m2", "0.1", LUBRICATED_T_M2);
    vec![page, by_soil()]
}

/// Friction by soil, as a job with that soil class takes it.
fn by_soil() -> Page {
    let of = |class: &str| {
        let text = format!("[soil]\nclass = \"{class}\"\n");
        JobFile::parse(&text, "job.toml")
            .expect("a class of the rule set")
            .job
            .soil
    };
    let page = Page::from_memory(
        Source::PipeJackingAssociation,
        "older table of friction by soil",
    );
    let rows: [(&str, &'static str, &'static str); 5] = [
        ("boulder-clay", "5", "18"),
        ("firm-clay", "5", "20"),
        ("silt", "5", "20"),
        ("wet-sand", "10", "15"),
        ("dry-sand", "25", "45"),
    ];
    let page = rows.iter().fold(page, |page, (class, low, high)| {
        page.rule(
            &format!("least of {class}, kPa"),
            low,
            of(class).friction_low_kpa,
        )
        .rule(
            &format!("greatest of {class}, kPa"),
            high,
            of(class).friction_high_kpa,
        )
    });
    page.rule("greatest of fill, kPa", "45", of("fill").friction_high_kpa)
}
