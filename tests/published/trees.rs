//! Root zones and digging near trees.

use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::{Working, trees::*},
};
use std::f64::consts::PI;

const FT: f64 = 0.3048;

fn radius(worked: Result<Working, pitwright::mechanics::OutOfRange>) -> f64 {
    worked.expect("in range").value()
}

pub fn as4970() -> Vec<Page> {
    let structural = |d| radius(structural_zone(d));
    let exponent = (structural(1.0) / structural(0.5)).ln() / 2f64.ln();
    let restated = Page::secondary(Source::As4970, "zones, as restated")
        .rule(
            "protection zone by trunk",
            "12",
            radius(protection_zone(0.5)) / 0.5,
        )
        .rule("structural zone, exponent", "0.42", exponent)
        .rule(
            "structural zone, factor",
            "0.64",
            structural(1.0) / 50f64.powf(0.42),
        )
        .rule("structural zone, least, m", "1.5", structural(0.149))
        .rule("minor encroachment, %", "10", MINOR * 100.0);
    let memory = Page::from_memory(Source::As4970, "bounds of the protection zone")
        .rule("least, m", "2.0", radius(protection_zone(0.1)))
        .rule("greatest, m", "15", radius(protection_zone(2.0)));
    vec![restated, memory]
}

pub fn bs5837() -> Vec<Page> {
    let capped = radius(root_protection_radius(&[3.0]));
    let page = Page::secondary(Source::Bs5837, "root protection area, as restated")
        .rule(
            "radius by stem",
            "12",
            radius(root_protection_radius(&[0.5])) / 0.5,
        )
        .rule("greatest radius, m", "15", capped)
        .worked("greatest area, m2", "707", PI * capped * capped)
        .rule("the same, as we print it, m2", "707", RPA_CAP_M2);
    vec![page]
}

pub fn njug() -> Vec<Page> {
    let girths = radius(precautionary_zone(0.5)) / (PI * 0.5);
    let page = Page::read(Source::NjugVolume4, "operatives' handout, issue 2")
        .rule("prohibited zone, m", "1", NJUG_PROHIBITED_M)
        .rule("precautionary zone, girths", "4", girths)
        .rule("most roots within, mm", "600", ROOTS_WITHIN_M * 1000.0);
    vec![page]
}

pub fn arlington() -> Vec<Page> {
    let (small, large) = (cover_under_trees(0.1524), cover_under_trees(0.1525));
    let page = Page::read(Source::ArlingtonTrees, "boring near trees")
        .rule("depth, ft", "4.5", small.depth_m / FT)
        .worked("the same, m", "1.37", large.depth_m)
        .rule("within, trunks to 6 in, ft", "10", small.within_m / FT)
        .rule("within, larger trunks, ft", "15", large.within_m / FT);
    vec![page]
}

pub fn permits() -> Vec<Page> {
    let fence_ft = radius(fence_radius(12.0 * 0.0254)) / FT;
    vec![
        Page::read(Source::AvonLakeOh, "excavation near trees")
            .rule("permit within, ft", "10", PERMIT_RADIUS_FT[0])
            .rule("fence of a 12 in trunk, ft", "12", fence_ft),
        Page::read(Source::DanburyCt, "§ 42-161").rule(
            "permit within, ft",
            "20",
            PERMIT_RADIUS_FT[1],
        ),
    ]
}
