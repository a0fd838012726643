//! Carbon of burning diesel.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};

const CITED: Cited = Cited::restated(Source::UkGreenhouseGas2025, "fuels");

/// Factors of a fuel (kg CO2e for each litre).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fuel {
    /// Name.
    pub name: &'static str,
    /// Burnt.
    pub burnt: f64,
    /// Won, refined and brought, where known.
    pub well_to_tank: Option<f64>,
}

/// Diesel of several kinds; the factors are those of one year and go out of date.
///
/// # Source
/// [UK Government conversion factors 2025](Source::UkGreenhouseGas2025), as restated.
pub const DIESEL: [Fuel; 3] = [
    Fuel {
        name: "diesel, average biofuel blend",
        burnt: 2.57082,
        well_to_tank: Some(0.62665),
    },
    Fuel {
        name: "diesel, mineral",
        burnt: 2.66155,
        well_to_tank: None,
    },
    Fuel {
        name: "gas oil",
        burnt: 2.75541,
        well_to_tank: None,
    },
];

/// Carbon (kg CO2e): burnt, and with well to tank where the factor is known.
///
/// # Errors
/// Litres below 0.
///
/// # Source
/// [UK Government conversion factors 2025](Source::UkGreenhouseGas2025), as restated.
pub fn diesel_carbon(litres: f64, fuel: &Fuel) -> Result<Working, OutOfRange> {
    let litres = asked("fuel", litres, "l").not_negative(CITED)?;
    let mut w = Working::new(format!("Carbon of {}", fuel.name), CITED);
    w.given("V", "fuel", litres, "l");
    let burnt = w.given("f_b", "burnt", fuel.burnt, "kg/l");
    match fuel.well_to_tank {
        Some(before) => {
            w.given("f_w", "won, refined and brought", before, "kg/l");
            w.line(("C_b", "burnt"), "V·f_b", litres * burnt, "kg CO2e");
            let all = litres * (burnt + before);
            w.line(("C", "carbon"), "V·(f_b + f_w)", all, "kg CO2e");
        }
        None => {
            w.line(("C", "carbon"), "V·f_b", litres * burnt, "kg CO2e");
        }
    }
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: 180 l.
    #[test]
    fn a_tank_of_diesel() {
        let w = diesel_carbon(180.0, &DIESEL[0]).unwrap();
        assert!((w.term("C_b").unwrap().value - 462.7).abs() < 0.05);
        assert!((w.value() - 575.5).abs() < 0.05);
        calculator::agrees(&w);
        calculator::agrees(&diesel_carbon(10.0, &DIESEL[2]).unwrap());
        assert!(diesel_carbon(-1.0, &DIESEL[0]).is_err());
    }
}
