//! A small calculator for tests: works a printed formula out anew, so that what is printed is what was computed.

use super::working::Working;
use std::f64::consts::PI;

/// Asserts that every printed formula, with its letters' values, gives the value printed beside it.
pub fn agrees(w: &Working) {
    assert!(!w.steps.is_empty(), "{} has no lines", w.title);
    for (i, step) in w.steps.iter().enumerate() {
        let known = |name: &str| {
            let before = w.steps[..i].iter().map(|s| s.term);
            let mut terms = w.inputs.iter().copied().chain(before);
            terms.find(|t| t.symbol == name).map(|t| t.value)
        };
        let mut reader = Reader {
            left: step.formula,
            known: &known,
        };
        let value = reader.sum();
        assert!(reader.left.trim().is_empty(), "left over: {}", reader.left);
        let near = (value - step.term.value).abs() <= 1e-9 * step.term.value.abs().max(1.0);
        assert!(
            near,
            "{}: {} is {value}, not {}",
            w.title, step.formula, step.term.value
        );
    }
}

struct Reader<'a> {
    left: &'a str,
    known: &'a dyn Fn(&str) -> Option<f64>,
}

impl<'a> Reader<'a> {
    fn takes(&mut self, sign: &str) -> bool {
        let left = self.left.trim_start();
        let rest = left.strip_prefix(sign);
        if let Some(rest) = rest {
            self.left = rest;
        }
        rest.is_some()
    }

    fn sum(&mut self) -> f64 {
        let mut value = self.product();
        loop {
            if self.takes("+") {
                value += self.product();
            } else if self.takes("-") {
                value -= self.product();
            } else {
                return value;
            }
        }
    }

    fn product(&mut self) -> f64 {
        let mut value = self.signed();
        loop {
            if self.takes("·") {
                value *= self.signed();
            } else if self.takes("/") {
                value /= self.signed();
            } else {
                return value;
            }
        }
    }

    fn signed(&mut self) -> f64 {
        if self.takes("-") {
            -self.signed()
        } else {
            self.power()
        }
    }

    fn power(&mut self) -> f64 {
        let base = self.atom();
        if self.takes("²") {
            base * base
        } else if self.takes("³") {
            base.powi(3)
        } else if self.takes("^") {
            base.powf(self.signed())
        } else {
            base
        }
    }

    fn atom(&mut self) -> f64 {
        if self.takes("(") {
            return self.closed();
        }
        if self.takes("√") {
            return self.atom().sqrt();
        }
        let left = self.left.trim_start();
        let of_word = |c: char| c.is_alphabetic() || c == '_' || c.is_ascii_digit() || c == '.';
        let end = left.find(|c| !of_word(c)).unwrap_or(left.len());
        let (word, rest) = left.split_at(end);
        self.left = rest;
        if let Ok(number) = word.parse() {
            return number;
        }
        if word == "π" {
            return PI;
        }
        if self.takes("(") {
            return self.function(word);
        }
        (self.known)(word).unwrap_or_else(|| panic!("'{word}' has no value before '{rest}'"))
    }

    fn closed(&mut self) -> f64 {
        let value = self.sum();
        assert!(self.takes(")"), "no ) before {}", self.left);
        value
    }

    fn function(&mut self, name: &str) -> f64 {
        let first = self.sum();
        if self.takes(",") {
            let second = self.closed();
            return match name {
                "max" => first.max(second),
                "min" => first.min(second),
                _ => panic!("no function {name} of two"),
            };
        }
        assert!(self.takes(")"), "no ) before {}", self.left);
        let x = first;
        match name {
            "tan" => x.to_radians().tan(),
            "sin" => x.to_radians().sin(),
            "cos" => x.to_radians().cos(),
            "acos" => x.acos().to_degrees(),
            "exp" => x.exp(),
            "log10" => x.log10(),
            "ceil" => (x - 1e-6).ceil(),
            _ => panic!("no function {name}"),
        }
    }
}
