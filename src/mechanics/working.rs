//! A formula worked out, with all that an engineer writes into a check.

use super::range::figure;
use crate::bibliography::Cited;
use std::fmt::{self, Write};

/// A quantity of a working.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// Letter in the formulas.
    pub symbol: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Value.
    pub value: f64,
    /// Unit; empty for a ratio.
    pub unit: &'static str,
}

/// One line of a working: a quantity by a formula of those before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// What comes out.
    pub term: Term,
    /// The formula in letters. Angles are in degrees.
    pub formula: &'static str,
}

/// A formula worked out: what was given, the lines, the source. The last line is the result.
#[derive(Debug, Clone, PartialEq)]
pub struct Working {
    /// What is checked.
    pub title: String,
    /// What was given.
    pub inputs: Vec<Term>,
    /// Line by line; never empty once handed out.
    pub steps: Vec<Step>,
    /// Where the formula is from.
    pub cited: Cited,
}

impl Working {
    /// A working without lines as yet.
    pub(crate) fn new(title: impl Into<String>, cited: Cited) -> Working {
        Working {
            title: title.into(),
            inputs: vec![],
            steps: vec![],
            cited,
        }
    }

    /// Notes what is given, and hands it back.
    pub(crate) fn given(
        &mut self,
        symbol: &'static str,
        what: &'static str,
        value: f64,
        unit: &'static str,
    ) -> f64 {
        self.inputs.push(Term {
            symbol,
            what,
            value,
            unit,
        });
        value
    }

    /// Notes a line, and hands its value back.
    pub(crate) fn line(
        &mut self,
        (symbol, what): (&'static str, &'static str),
        formula: &'static str,
        value: f64,
        unit: &'static str,
    ) -> f64 {
        let term = Term {
            symbol,
            what,
            value,
            unit,
        };
        self.steps.push(Step { term, formula });
        value
    }

    /// The last line's quantity.
    pub fn result(&self) -> Term {
        self.steps.last().expect("a working has a line").term
    }

    /// The last line's value.
    pub fn value(&self) -> f64 {
        self.result().value
    }

    /// The value of a letter, given or worked out.
    pub fn term(&self, symbol: &str) -> Option<Term> {
        let lines = self.steps.iter().map(|s| s.term);
        let mut all = self.inputs.iter().copied().chain(lines);
        all.find(|t| t.symbol == symbol)
    }

    /// A line's formula with numbers put in for letters.
    pub fn put_in(&self, step: &Step) -> String {
        let mut out = String::new();
        for piece in pieces(step.formula) {
            match self.term(piece) {
                Some(term) if term.value < 0.0 => {
                    let _ = write!(out, "({})", figure(term.value));
                }
                Some(term) => out.push_str(&figure(term.value)),
                None => out.push_str(piece),
            }
        }
        out
    }
}

/// Cuts a formula into names and what stands between them.
fn pieces(formula: &str) -> Vec<&str> {
    let mut out = vec![];
    let mut rest = formula;
    while let Some(first) = rest.chars().next() {
        let of_name = |c: char| c.is_alphabetic() || c == '_' || c.is_ascii_digit();
        let in_name = of_name(first);
        let end = rest.find(|c| of_name(c) != in_name).unwrap_or(rest.len());
        let (piece, after) = rest.split_at(end);
        out.push(piece);
        rest = after;
    }
    out
}

impl fmt::Display for Term {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} = {}", self.symbol, figure(self.value))?;
        if self.unit.is_empty() {
            Ok(())
        } else {
            write!(f, " {}", self.unit)
        }
    }
}

impl fmt::Display for Working {
    /// As written on a check sheet: title, what is given, the lines with numbers, the source.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}", self.title)?;
        for t in &self.inputs {
            writeln!(f, "  {t}  {}", t.what)?;
        }
        for step in &self.steps {
            let Term { symbol, what, .. } = step.term;
            let (letters, numbers) = (step.formula, self.put_in(step));
            writeln!(f, "  {symbol} = {letters}")?;
            if numbers != letters {
                writeln!(f, "  {symbol} = {numbers}")?;
            }
            writeln!(f, "  {}  {what}", step.term)?;
        }
        writeln!(f, "  by {}", self.cited)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bibliography::Tag;

    fn fall() -> Working {
        let mut w = Working::new("Fall", Cited::unsourced("geometry", Tag::Derived));
        let length = w.given("L", "plan length", 30.0, "m");
        let grade = w.given("S", "grade", -0.01, "m/m");
        w.line(("h", "fall"), "S·L", grade * length, "m");
        w
    }

    #[test]
    fn numbers_are_put_in_for_letters_only_where_a_name_stands() {
        let w = fall();
        assert_eq!(w.put_in(&w.steps[0]), "(-0.01)·30");
        let step = Step {
            formula: "max(L, LS)·S²",
            ..w.steps[0]
        };
        assert_eq!(w.put_in(&step), "max(30, LS)·(-0.01)²");
    }

    #[test]
    fn a_check_reads_from_what_is_given_to_the_source() {
        let text = fall().to_string();
        assert_eq!(
            text,
            "Fall\n  L = 30 m  plan length\n  S = -0.01 m/m  grade\n  h = S·L\n  h = (-0.01)·30\n  \
             h = -0.3 m  fall\n  by geometry [derived]\n"
        );
    }
}
