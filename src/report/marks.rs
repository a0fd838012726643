//! The signs of plans and sections: told apart by shape and dashes first, by colour besides.

use super::text::{at, label, put};
use crate::{bibliography::Source, job::Job};

/// Class of a kind of service, its letter in drawings, and its word.
const KINDS: [(&str, &str, &str); 9] = [
    ("water", "W", "water"),
    ("gas", "G", "gas"),
    ("electricity", "E", "electricity"),
    ("telecom", "T", "telecom"),
    ("sewer", "S", "sewer"),
    ("stormwater", "D", "storm drain"),
    ("recycled-water", "R", "recycled water"),
    ("fuel", "F", "fuel"),
    ("other", "O", "other service"),
];

/// Class of a drawing by the colour code of the job's rule set; empty where that has none that was read. Services have colours
/// only from a published code, for red is electricity in one country and fire in another.
pub fn colour_class(job: &Job) -> &'static str {
    match colour_code(job) {
        Some(_) => " apwa",
        None => "",
    }
}

/// The publication of that code.
///
/// American Public Works Association: potable water blue; gas, oil and petroleum yellow; electricity red; communication orange;
/// sewers and drains green; reclaimed water purple.
pub fn colour_code(job: &Job) -> Option<Source> {
    (job.rules.base == "us-states").then_some(Source::Mississippi811)
}

/// Class, letter and word of a kind; what is not known counts as other.
pub fn kind(word: &str) -> (&'static str, &'static str, &'static str) {
    let known = KINDS.iter().find(|k| k.0 == word);
    *known.unwrap_or(&KINDS[KINDS.len() - 1])
}

/// Every kind, in the order of the interface.
pub fn kinds() -> impl Iterator<Item = &'static str> {
    KINDS.iter().map(|k| k.0)
}

/// Words that a pointer shows.
pub fn told(text: &str) -> String {
    format!("<title>{}</title>", label(text))
}

/// The sign of a verdict: cross in a box, question in a triangle, diamond, ring. A word that is none of the four says that nobody
/// knows: it has the question.
pub fn verdict(word: &str, x: f64, y: f64) -> String {
    let (x0, y0) = (at(x), at(y));
    let (class, shape) = match word {
        "clash" => (word, "M-6 -6H6V6H-6ZM-4 -4L4 4M-4 4L4 -4"),
        "watch" => (word, "M0 -7L6 0L0 7L-6 0Z"),
        "clear" => (word, "M-4 0A4 4 0 1 0 4 0A4 4 0 1 0 -4 0Z"),
        _ => ("prove", "M0 -9L9 7H-9Z"),
    };
    let question = if class == "prove" {
        "<text class=\"vq\" y=\"5\">?</text>"
    } else {
        ""
    };
    format!(
        "<g transform=\"translate({x0} {y0})\"><path class=\"v {class}\" d=\"{shape}\"/>{question}</g>"
    )
}

/// A test hole: its number in a ring.
pub fn hole(number: i64, x: f64, y: f64) -> String {
    format!(
        "<circle class=\"hole\" cx=\"{0}\" cy=\"{1}\" r=\"9\"/><text class=\"holeno\" x=\"{0}\" y=\"{2}\">{number}</text>",
        at(x),
        at(y),
        at(y + 4.0)
    )
}

/// An arrow head at a point, turned by so many degrees from pointing right, clockwise.
pub fn arrow(class: &str, x: f64, y: f64, turn_deg: f64) -> String {
    let (x, y, turn) = (at(x), at(y), at(turn_deg));
    let d = if class == "flow" {
        "M9 0L-7 -7L-3 0L-7 7Z"
    } else {
        "M6 0L-3 -6M6 0L-3 6M-1 0L-10 -6M-1 0L-10 6"
    };
    format!("<path class=\"{class}\" transform=\"translate({x} {y}) rotate({turn})\" d=\"{d}\"/>")
}

/// Text at a place.
pub fn text(out: &mut String, class: &str, x: f64, y: f64, words: &str) {
    put!(
        out,
        "<text class=\"{class}\" x=\"{}\" y=\"{}\">{words}</text>",
        at(x),
        at(y)
    );
}

/// Text that reads upwards from a place.
pub fn upright(out: &mut String, class: &str, x: f64, y: f64, words: &str) {
    let (x, y) = (at(x), at(y));
    put!(
        out,
        "<text class=\"{class}\" transform=\"translate({x} {y}) rotate(-90)\">{words}</text>"
    );
}

/// A straight line.
pub fn line(out: &mut String, class: &str, from: (f64, f64), to: (f64, f64)) {
    put!(
        out,
        "<path class=\"{class}\" d=\"M{} {}L{} {}\"/>",
        at(from.0),
        at(from.1),
        at(to.0),
        at(to.1)
    );
}

/// A rectangle by two corners.
pub fn rectangle(out: &mut String, class: &str, a: (f64, f64), b: (f64, f64)) {
    put!(
        out,
        "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
        at(a.0.min(b.0)),
        at(a.1.min(b.1)),
        at((a.0 - b.0).abs()),
        at((a.1 - b.1).abs())
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn verdicts_differ_in_shape_and_kinds_in_letter_and_dash() {
        let shape = |v: &str| verdict(v, 0.0, 0.0).split(" d=").nth(1).map(String::from);
        let shapes: BTreeSet<_> = ["clash", "prove", "watch", "clear"].map(shape).into();
        assert_eq!(shapes.len(), 4);
        for unknown in ["", "Clear", "none"] {
            assert_eq!(verdict(unknown, 0.0, 0.0), verdict("prove", 0.0, 0.0));
        }
        let letters: BTreeSet<_> = kinds().map(|k| kind(k).1).collect();
        assert_eq!(letters.len(), KINDS.len());
        let style = include_str!("drawing.css");
        let dash = |k: &str| {
            let rule = style.split(&format!(".s.{k}{{")).nth(1).expect("a rule");
            rule.split("stroke-dasharray:")
                .nth(1)
                .expect("a dash")
                .split('}')
                .next()
                .map(String::from)
        };
        let dashes: BTreeSet<_> = kinds().map(dash).collect();
        assert_eq!(dashes.len(), KINDS.len());
    }

    #[test]
    fn services_have_colours_only_from_a_published_code() {
        let mut job = crate::job::JobFile::default().job;
        assert_eq!((colour_class(&job), colour_code(&job)), ("", None));
        job.rules.base = "us-states".to_string();
        assert_eq!(colour_class(&job), " apwa");
        let style = include_str!("drawing.css");
        let colours = |rule: &str| {
            let rule = style.split(rule).nth(1).expect("a rule");
            let rule = rule.split('}').next().expect("an end");
            let of = |k: &str| {
                rule.split(&format!("--{k}:"))
                    .nth(1)?
                    .split(';')
                    .next()
                    .map(String::from)
            };
            kinds()
                .map(|k| of(k).expect("a colour"))
                .collect::<BTreeSet<_>>()
        };
        assert_eq!(colours(".drawing{").len(), 1);
        // Sewers and storm drains share green, gas and fuel yellow.
        assert_eq!(colours(".drawing.apwa{").len(), KINDS.len() - 2);
    }

    #[test]
    fn an_unknown_kind_is_another_service() {
        assert_eq!(kind("\"><script>").0, "other");
    }
}
