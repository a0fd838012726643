//! What flows to a pipe from the lots it serves.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};

const DWELLINGS: Cited = Cited::read(Source::SewerageSectorGuidance, "appendix C, B3.1");
const TABLE: Cited = Cited::restated(Source::ApprovedDocumentH, "table 5");
const BY_HEAD: Cited = Cited::read(Source::WaverlyOh, "§ 937.10, design flow");

/// Peak flow of a dwelling (litres a day); the guidance rounds it to 0.05 l/s.
pub const DWELLING_L_DAY: f64 = 4000.0;
/// Flow of a head in American laterals, flowing full (US gallons a day).
pub const US_LATERAL_GAL_DAY: f64 = 400.0;
/// The same in mains.
pub const US_MAIN_GAL_DAY: f64 = 250.0;
/// Mean flow of a head in Wisconsin (US gallons a day).
pub const WISCONSIN_GAL_DAY: f64 = 100.0;
/// Litres in a US gallon, exactly.
const GALLON_L: f64 = 3.785_411_784;
/// Seconds in a day.
const DAY_S: f64 = 86_400.0;

/// Dwellings and flow of their drain (l/s).
///
/// # Source
/// [Approved Document H](Source::ApprovedDocumentH), table 5, as restated by a body of building inspectors.
pub const HOUSE_FLOWS: [(u32, f64); 7] = [
    (1, 2.5),
    (5, 3.5),
    (10, 4.1),
    (15, 4.6),
    (20, 5.1),
    (25, 5.4),
    (30, 5.8),
];

/// Peak flow of dwellings (l/s), at so many litres a day each; the guidance says 4000.
///
/// # Errors
/// No dwelling, a flow of one outside 100 to 20 000 litres a day.
///
/// # Source
/// [Sewerage Sector Guidance](Source::SewerageSectorGuidance), appendix C, B3.1, which prints 0.05 l/s for 0.0463.
pub fn flow_of_dwellings(dwellings: f64, l_day: f64) -> Result<Working, OutOfRange> {
    let n = asked("dwellings", dwellings, "").positive(DWELLINGS)?;
    let each = asked("peak flow of a dwelling", l_day, "l/day").within(1e2, 2e4, DWELLINGS)?;
    let mut w = Working::new("Design flow of the dwellings served", DWELLINGS);
    w.given("N", "dwellings", n, "");
    w.given("q", "peak flow of one", each, "l/day");
    let flow = n * each / DAY_S;
    w.line(("Q", "design flow"), "N·q/86400", flow, "l/s");
    Ok(w)
}

/// Flow of a drain of few dwellings (l/s), by table: between rows that of the next row up.
///
/// # Valid for
/// 1 to 30 dwellings.
///
/// # Errors
/// None, or more.
///
/// # Source
/// [Approved Document H](Source::ApprovedDocumentH), table 5, as restated.
pub fn flow_by_table(dwellings: f64) -> Result<Working, OutOfRange> {
    let n = asked("dwellings", dwellings, "").within(f64::MIN_POSITIVE, 30.0, TABLE)?;
    let row = HOUSE_FLOWS
        .iter()
        .find(|(row, _)| f64::from(*row) >= n - 1e-9);
    let (of, flow) = *row.expect("30 is the last row");
    let mut w = Working::new("Design flow of a drain of few dwellings", TABLE);
    w.given("N", "dwellings", n, "");
    w.given("N_t", "dwellings of the table's row", f64::from(of), "");
    w.given("Q_t", "flow of that row", flow, "l/s");
    w.line(("Q", "design flow"), "Q_t", flow, "l/s");
    Ok(w)
}

/// Least nominal diameter of a drain of so many dwellings (mm).
///
/// # Source
/// [Approved Document H](Source::ApprovedDocumentH), as restated.
pub fn smallest_dn_mm(dwellings: u32) -> u32 {
    if dwellings <= 10 { 100 } else { 150 }
}

/// Design flow (l/s) by heads and US gallons a day.
///
/// # Errors
/// No heads, a flow outside 10 to 1000 gallons a day.
///
/// # Source
/// [Waverly, Ohio](Source::WaverlyOh): 400 gallons in laterals, 250 in mains, flowing full.
pub fn flow_by_head(heads: f64, gallons_day: f64) -> Result<Working, OutOfRange> {
    let n = asked("heads", heads, "").positive(BY_HEAD)?;
    let gallons = asked("flow of a head", gallons_day, "gal/day").within(10.0, 1000.0, BY_HEAD)?;
    let mut w = Working::new("Design flow by heads", BY_HEAD);
    w.given("N", "heads", n, "");
    w.given("q", "flow of one", gallons, "US gal/day");
    w.given("G", "litres in a US gallon", GALLON_L, "l");
    let flow = n * gallons * GALLON_L / DAY_S;
    w.line(("Q", "design flow"), "N·q·G/86400", flow, "l/s");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    #[test]
    fn flow_grows_with_what_is_served() {
        let w = flow_of_dwellings(30.0, DWELLING_L_DAY).unwrap();
        assert!((w.value() - 30.0 * 0.0463).abs() < 30.0 * 5e-5);
        calculator::agrees(&w);
        calculator::agrees(&flow_by_head(100.0, US_MAIN_GAL_DAY).unwrap());
        assert!(flow_of_dwellings(0.0, DWELLING_L_DAY).is_err());
        assert!(flow_of_dwellings(1.0, 50.0).is_err());
        assert!(flow_by_head(0.0, 400.0).is_err());
    }

    #[test]
    fn between_rows_the_table_gives_the_next_up() {
        let two = flow_by_table(2.0).unwrap();
        assert_eq!(
            (two.value(), flow_by_table(30.0).unwrap().value()),
            (3.5, 5.8)
        );
        calculator::agrees(&two);
        assert!(flow_by_table(31.0).is_err() && flow_by_table(0.0).is_err());
        assert_eq!((smallest_dn_mm(10), smallest_dn_mm(11)), (100, 150));
    }
}
