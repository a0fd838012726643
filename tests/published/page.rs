//! One published value beside ours.

use pitwright::bibliography::{Source, Tag};

/// What a value proves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// A formula of ours, with the source's inputs, gives what the source prints.
    Worked,
    /// A rule value that our formulas use is the one that the source prints.
    Rule,
}

/// One value.
#[derive(Debug, Clone)]
pub struct Value {
    pub source: Source,
    pub at: &'static str,
    pub tag: Tag,
    pub proof: Proof,
    pub what: String,
    /// As the source prints it.
    pub printed: &'static str,
    pub found: f64,
    /// Half of the last digit printed; of rule values, nothing but rounding.
    pub tolerance: f64,
}

/// A value that the source prints otherwise, and why. The test fails when the difference goes away.
#[derive(Debug, Clone)]
pub struct Difference {
    pub value: Value,
    pub why: &'static str,
}

/// A page of a source: what is read from it.
#[derive(Debug, Clone)]
pub struct Page {
    source: Source,
    at: &'static str,
    tag: Tag,
    pub values: Vec<Value>,
    pub differences: Vec<Difference>,
}

impl Page {
    /// Read in the source.
    pub fn read(source: Source, at: &'static str) -> Page {
        Page::new(source, at, Tag::Published)
    }

    /// Read in a page that restates it.
    pub fn secondary(source: Source, at: &'static str) -> Page {
        Page::new(source, at, Tag::Secondary)
    }

    /// Not at hand.
    pub fn from_memory(source: Source, at: &'static str) -> Page {
        Page::new(source, at, Tag::FromMemory)
    }

    fn new(source: Source, at: &'static str, tag: Tag) -> Page {
        let (values, differences) = (vec![], vec![]);
        Page {
            source,
            at,
            tag,
            values,
            differences,
        }
    }

    /// A worked value: ours must round to what is printed.
    pub fn worked(mut self, what: &str, printed: &'static str, found: f64) -> Page {
        let tolerance = half_of_last_digit(printed) * (1.0 + 1e-9);
        self.values
            .push(self.value(Proof::Worked, what, printed, found, tolerance));
        self
    }

    /// A rule value: ours must be the same number.
    pub fn rule(mut self, what: &str, printed: &'static str, found: f64) -> Page {
        let tolerance = 1e-9 * number(printed).abs();
        self.values
            .push(self.value(Proof::Rule, what, printed, found, tolerance));
        self
    }

    /// A value that we know to differ.
    pub fn differs(
        mut self,
        what: &str,
        printed: &'static str,
        found: f64,
        why: &'static str,
    ) -> Page {
        let tolerance = half_of_last_digit(printed);
        let value = self.value(Proof::Worked, what, printed, found, tolerance);
        self.differences.push(Difference { value, why });
        self
    }

    fn value(
        &self,
        proof: Proof,
        what: &str,
        printed: &'static str,
        found: f64,
        tolerance: f64,
    ) -> Value {
        Value {
            source: self.source,
            at: self.at,
            tag: self.tag,
            proof,
            what: what.to_string(),
            printed,
            found,
            tolerance,
        }
    }
}

impl Value {
    /// Ours is what the source prints.
    pub fn agrees(&self) -> bool {
        (self.found - number(self.printed)).abs() <= self.tolerance
    }
}

fn number(printed: &str) -> f64 {
    printed.parse().expect("a number as printed")
}

fn half_of_last_digit(printed: &str) -> f64 {
    let decimals = printed.split_once('.').map_or(0, |(_, d)| d.len());
    0.5 * 10f64.powi(-(decimals as i32))
}

#[test]
fn the_tolerance_is_half_of_the_last_digit_printed() {
    let page = Page::read(Source::PipeFlowTable, "row")
        .worked("in", "0.439", 0.4394)
        .worked("out", "0.439", 0.4396)
        .rule("not the same", "0.5", 0.5001);
    let agrees: Vec<bool> = page.values.iter().map(Value::agrees).collect();
    assert_eq!(agrees, [true, false, false]);
}
