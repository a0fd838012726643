use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::jacking::{EdgeSoil::*, Jacked, edge_resistance},
};

/// An edge of 10 mm round a pipe of 1000/π mm is 0.01 m2.
pub fn pages() -> Vec<Page> {
    let pipe = Jacked {
        od_mm: 1000.0 / std::f64::consts::PI,
        length_m: 1.0,
    };
    let rows = [
        (Rock, "12000"),
        (DenseGravel, "7000"),
        (DenseSand, "6000"),
        (MediumSand, "4000"),
        (LooseSand, "2000"),
        (Marl, "3000"),
        (StiffClay, "1000"),
        (SiltOrSoftClay, "400"),
    ];
    let page = Page::from_memory(
        Source::Herzog1985,
        "edge resistance by soil, as quoted by Stein",
    );
    let page = rows.into_iter().fold(page, |page, (soil, printed)| {
        let kn = edge_resistance(pipe, 10.0, soil).expect("in range").value();
        page.rule(&format!("{soil:?}, kPa"), printed, kn / 0.01)
    });
    vec![page]
}
