//! Carbon of burning diesel.

use crate::{
    bibliography::{Cited, Source, Tag},
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

const FUEL: Cited = Cited::unsourced(
    "crew days and truck loads, each at the user's rate",
    Tag::Derived,
);

/// Fuel (l) of crew days and truck loads: `V = T·f + n·t`.
///
/// # Errors
/// Anything below 0.
pub fn fuel(days: f64, l_per_day: f64, loads: f64, l_per_load: f64) -> Result<Working, OutOfRange> {
    let t = asked("crew days", days, "day").not_negative(FUEL)?;
    let f = asked("fuel of a crew day", l_per_day, "l/day").not_negative(FUEL)?;
    let n = asked("truck loads", loads, "").not_negative(FUEL)?;
    let each = asked("fuel of a load", l_per_load, "l").not_negative(FUEL)?;
    let mut w = Working::new("Fuel", FUEL);
    w.given("T", "crew days", t, "day");
    w.given("f", "fuel of a crew day", f, "l/day");
    w.given("n", "truck loads", n, "");
    w.given("t", "fuel of a load", each, "l");
    w.line(("V", "fuel"), "T·f + n·t", t * f + n * each, "l");
    Ok(w)
}

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
        let v = fuel(2.5, 40.0, 3.0, 8.0).unwrap();
        assert_eq!(v.value(), 124.0);
        calculator::agrees(&v);
        assert!(fuel(-1.0, 40.0, 0.0, 0.0).is_err());
        assert!(diesel_carbon(-1.0, &DIESEL[0]).is_err());
    }
}
