//! Open pits: three rule books.

use crate::page::Page;
use pitwright::{bibliography::Source, job::Job, mechanics::earthworks::*};

const FT: f64 = 0.3048;

fn support_from(source: Source) -> f64 {
    let row = SUPPORT_FROM.iter().find(|s| s.cited.source == Some(source));
    row.expect("a rule of it").from_m
}

fn slope(soil: &str) -> Slope {
    *SLOPES
        .iter()
        .find(|s| s.soil == soil)
        .expect("a slope of it")
}

pub fn osha() -> Vec<Page> {
    let page = Page::read(Source::OshaSubpartP, "slopes, H:V and angle");
    let rows: [(&str, &'static str, &'static str); 4] = [
        ("type A", "0.75", "53"),
        ("type B", "1", "45"),
        ("type C", "1.5", "34"),
        ("type A, up to 24 hours", "0.5", "63"),
    ];
    let slopes = rows.into_iter().fold(page, |page, (soil, ratio, degrees)| {
        let slope = slope(soil);
        page.rule(
            &format!("{soil}, across by down"),
            ratio,
            slope.across_by_down,
        )
        .worked(&format!("{soil}, degrees"), degrees, slope.angle_deg())
    });
    vec![slopes, osha_depths()]
}

fn osha_depths() -> Page {
    let from_m = support_from(Source::OshaSubpartP);
    let travel = ladders(100.0, 2.0)
        .expect("in range")
        .term("l")
        .expect("given")
        .value;
    let ladder_from = (1..=60)
        .map(|tenths| f64::from(tenths) / 10.0)
        .find(|feet| ladders(3.0, feet * FT + 1e-9).expect("in range").value() > 0.0);
    Page::read(Source::OshaSubpartP, "excavations by the numbers")
        .rule("protective system from, ft", "5", from_m / FT)
        .worked("protective system from, m", "1.52", from_m)
        .rule("designed from, ft", "20", OSHA_DESIGNED_FROM_FT)
        .worked("designed from, m", "6.1", slope("type B").to_depth_m)
        .rule(
            "short-term slope to, ft",
            "12",
            slope("type A, up to 24 hours").to_depth_m / FT,
        )
        .rule("spoil back, ft", "2", spoil_set_back_m() / FT)
        .worked("spoil back, m", "0.61", spoil_set_back_m())
        .rule(
            "ladders from, ft",
            "4",
            ladder_from.unwrap_or(EGRESS_FROM_FT + 99.0),
        )
        .rule("way to a ladder, ft", "25", travel / FT)
        .worked("way to a ladder, m", "7.62", travel)
        .rule("ladder above ground, ft", "3", LADDER_ABOVE_FT)
        .rule("shield above, in", "18", SHIELD_ABOVE_IN)
        .rule("dug below a shield, ft", "2", SHIELD_BELOW_FT)
}

pub fn din4124() -> Vec<Page> {
    let degrees = |soil| slope(soil).angle_deg();
    let page = Page::read(Source::Din4124, "as reproduced by BFGA")
        .rule(
            "vertical without support to, m",
            "1.25",
            support_from(Source::Din4124),
        )
        .rule("battered above that to, m", "1.75", DIN_BATTERED_M)
        .rule(
            "non-cohesive, degrees",
            "45",
            degrees("non-cohesive or soft cohesive"),
        )
        .rule("stiff cohesive, degrees", "60", degrees("stiff cohesive"))
        .rule("rock, degrees", "80", degrees("rock"))
        .rule("deepest without proof, m", "5", slope("rock").to_depth_m)
        .rule("strip kept clear, m", "0.60", DIN_STRIP_M);
    vec![page]
}

pub fn nt_whs() -> Vec<Page> {
    let page = Page::read(Source::NtWhsRegulations, "regulation 306")
        .rule(
            "trench from, m",
            "1.5",
            support_from(Source::NtWhsRegulations),
        )
        .rule(
            "as a job has it, m",
            "1.5",
            Job::default().pits.support_from_depth_m,
        );
    vec![page]
}

pub fn swell() -> Vec<Page> {
    let rows = [
        (Swell::Clay, "40"),
        (Swell::ClayAndGravel, "40"),
        (Swell::Loam, "25"),
        (Swell::Gravel, "12"),
        (Swell::Sand, "12"),
        (Swell::Hardpan, "50"),
        (Swell::Sandstone, "54"),
    ];
    let page = Page::read(Source::SwellFactors, "swell by soil");
    let page = rows.into_iter().fold(page, |page, (soil, printed)| {
        let more = loose_volume(100.0, soil.percent())
            .expect("in range")
            .value()
            - 100.0;
        page.rule(&format!("{soil:?}, %"), printed, more)
    });
    vec![page]
}

pub fn thomson() -> Vec<Page> {
    let beyond = |more| pit_length(1.0, more).expect("in range").value() - 1.0;
    let most = pit_length(1.0, 99.0).expect_err("too long").high;
    let width = pit_width(160.0).expect("in range").value() - 0.160;
    let page = Page::read(Source::Thomson1993, "drive and reception pits")
        .rule("width beyond the pipe, mm", "2000", width * 1000.0)
        .rule(
            "length beyond the segment, compact, mm",
            "1000",
            beyond(LENGTH_MORE_M.low) * 1000.0,
        )
        .rule(
            "the same, usual from, mm",
            "1500",
            beyond(LENGTH_MORE_M.expected) * 1000.0,
        )
        .rule(
            "the same, usual to, mm",
            "2000",
            beyond(LENGTH_MORE_M.high) * 1000.0,
        )
        .rule("the same, some equipment, mm", "5000", most * 1000.0);
    vec![page]
}

pub fn watercare() -> Vec<Page> {
    let row = SPREAD_DEG[0];
    assert_eq!(row.cited.source, Some(Source::WatercareNearSewers));
    let page = Page::secondary(Source::WatercareNearSewers, "line of influence")
        .rule("degrees", "45", row.deg.expected)
        .rule(
            "as a job has it, degrees",
            "45",
            Job::default().pits.building_spread_deg,
        );
    vec![page]
}
