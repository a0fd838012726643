//! What a drive is made of, in whole pieces.

use crate::{
    bibliography::{Cited, Tag},
    mechanics::{OutOfRange, Working, asked},
};

const CITED: Cited = Cited::unsourced("whole pieces, end to end", Tag::Derived);

/// Pieces of a string: `⌈L/l⌉`. Pipes, casings and augers, pilot tubes alike.
///
/// # Errors
/// No length, a piece outside 0.3 to 6 m.
pub fn pieces(length_m: f64, piece_m: f64) -> Result<Working, OutOfRange> {
    let length = asked("length bored", length_m, "m").positive(CITED)?;
    let piece = asked("length of a piece", piece_m, "m").within(0.3, 6.0, CITED)?;
    let mut w = Working::new("Pieces of the string", CITED);
    w.given("L", "length bored", length, "m");
    w.given("l", "length of a piece", piece, "m");
    let n = w.line(
        ("n", "pieces"),
        "ceil(L/l)",
        (length / piece - 1e-6).ceil(),
        "",
    );
    w.line(("j", "joints between them"), "n - 1", n - 1.0, "");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    #[test]
    fn the_last_piece_is_whole() {
        let w = pieces(30.2, 1.0).unwrap();
        assert_eq!((w.term("n").unwrap().value, w.value()), (31.0, 30.0));
        calculator::agrees(&w);
        assert_eq!(pieces(30.0, 1.0).unwrap().value(), 29.0);
        assert!(pieces(30.0, 0.0).is_err());
    }
}
