//! Parameters of the silo as three authors set them.

use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::{
        Working,
        jacking::{Ground, Jacked, SiloSet, silo_friction},
    },
};

/// A metre of pipe of a metre, 32° of friction.
fn silo(set: SiloSet) -> Working {
    let pipe = Jacked {
        od_mm: 1000.0,
        length_m: 1.0,
    };
    let ground = Ground {
        unit_weight_kn_m3: 19.0,
        friction_deg: 32.0,
        cohesion_kpa: 0.0,
        pipe_mu: 0.4,
    };
    silo_friction(pipe, ground, 2.0, set).expect("in range")
}

fn term(w: &Working, symbol: &str) -> f64 {
    w.term(symbol).expect("of the silo").value
}

pub fn terzaghi() -> Vec<Page> {
    let w = silo(SiloSet::Terzaghi);
    let page = Page::from_memory(Source::Terzaghi1943, "arching over a yielding strip")
        .rule("K", "1.0", term(&w, "K"))
        .rule("wall friction by friction angle", "1", term(&w, "δ") / 32.0);
    vec![page]
}

pub fn atv_a161() -> Vec<Page> {
    let w = silo(SiloSet::AtvA161);
    let page = Page::from_memory(Source::AtvA161, "silo theory")
        .rule("K", "0.5", term(&w, "K"))
        .rule(
            "wall friction by friction angle",
            "0.5",
            term(&w, "δ") / 32.0,
        )
        .rule("width by diameter, squared", "3", term(&w, "b").powi(2));
    vec![page]
}

pub fn pellet_kastner() -> Vec<Page> {
    let w = silo(SiloSet::Terzaghi);
    let page = Page::from_memory(Source::PelletKastner2002, "pressure at the pipe's sides");
    vec![page.rule("side by crown", "0.3", term(&w, "K2"))]
}
