use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::programme::{DIESEL, Fuel, diesel_carbon},
};

pub fn pages() -> Vec<Page> {
    let litre = |fuel: &Fuel| diesel_carbon(1.0, fuel).expect("in range");
    let blend = litre(&DIESEL[0]);
    let burnt = blend.term("C_b").expect("burnt").value;
    let page = Page::secondary(Source::UkGreenhouseGas2025, "fuels, kg CO2e a litre")
        .rule("diesel, average blend", "2.57082", burnt)
        .rule("diesel, mineral", "2.66155", litre(&DIESEL[1]).value())
        .rule("gas oil", "2.75541", litre(&DIESEL[2]).value())
        .rule("well to tank", "0.62665", blend.value() - burnt)
        .worked("blend, well to wheel", "3.19747", blend.value());
    vec![page]
}
