//! Velocity and discharge of full pipes by Colebrook-White, as tables and a worked problem print them.

use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::{
        Working,
        hydraulics::{Full, colebrook_white},
    },
};

/// The tables do not print the viscosity. The first has the digits of 1.0e-6 m2/s; the manual those of 1.005e-6 to 1.07e-6, of
/// which the least is water's at 20 °C and the one that the worked problem names.
const OF_TABLE: f64 = 1.0e-6;
const OF_MANUAL: f64 = 1.005e-6;

/// Diameter (mm), one in, velocity (m/s), discharge (l/s).
type Row = (f64, f64, &'static str, &'static str);

const TABLE: [Row; 7] = [
    (100.0, 300.0, "0.439", "3.45"),
    (150.0, 300.0, "0.575", "10.16"),
    (225.0, 300.0, "0.750", "29.81"),
    (300.0, 300.0, "0.903", "63.80"),
    (150.0, 225.0, "0.666", "11.77"),
    (100.0, 400.0, "0.379", "2.97"),
    (300.0, 400.0, "0.780", "55.13"),
];

const MANUAL: [Row; 2] = [
    (300.0, 200.0, "1.11", "78.3"),
    (450.0, 200.0, "1.43", "228.0"),
];

fn full(id_mm: f64, one_in: f64, viscosity: f64) -> Working {
    let pipe = Full {
        id_mm,
        grade: 1.0 / one_in,
    };
    colebrook_white(pipe, 0.6, viscosity).expect("turbulent")
}

fn velocity(w: &Working) -> f64 {
    w.term("V").expect("of the full pipe").value
}

fn rows(page: Page, rows: &[Row], viscosity: f64) -> Page {
    rows.iter().fold(page, |page, (id, one_in, v, q)| {
        let w = full(*id, *one_in, viscosity);
        page.worked(&format!("{id} mm, 1 in {one_in}, m/s"), v, velocity(&w))
            .worked(&format!("{id} mm, 1 in {one_in}, l/s"), q, w.value())
    })
}

pub fn table() -> Vec<Page> {
    let page = Page::read(Source::PipeFlowTable, "ks 0.6 mm");
    vec![rows(page, &TABLE, OF_TABLE)]
}

pub fn manual() -> Vec<Page> {
    let page = Page::read(Source::SewerFlowTable, "ks 0.6 mm");
    vec![rows(page, &MANUAL, OF_MANUAL)]
}

pub fn exercise() -> Vec<Page> {
    let w = full(1200.0, 250.0, OF_MANUAL);
    let page = Page::read(Source::PipeFlowExercise, "answer").differs(
        "1200 mm, 1 in 250, m/s",
        "2.363",
        velocity(&w),
        "the text rounds on the way; worked through without rounding it is 2.362",
    );
    vec![page]
}
