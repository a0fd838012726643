//! The signs of the map, and what they mean: the report's, each known by its shape before its colour.

use crate::report::{
    marks::{arrow, kind, kinds, verdict},
    text::put,
};

/// Sign by sign: its name on the map, its drawing round 0 0, and its meaning.
fn signs() -> Vec<(&'static str, String, &'static str)> {
    let at = |class: &str, d: &str| format!("<path class=\"{class}\" d=\"{d}\"/>");
    let round = "M-5 0A5 5 0 1 0 5 0A5 5 0 1 0 -5 0Z";
    let triangle = "M0 -7L6.5 5H-6.5Z";
    vec![
        ("launch", at("pit launch", triangle), "launch pit"),
        ("reception", at("pit reception", round), "reception pit"),
        (
            "both",
            at("pit launch", triangle)
                + &at(
                    "pit reception",
                    "M-2.2 1.4A2.2 2.2 0 1 0 2.2 1.4A2.2 2.2 0 1 0 -2.2 1.4Z",
                ),
            "pit that launches and receives",
        ),
        (
            "flow",
            arrow("flow", 0.0, 0.0, 0.0),
            "bore, arrow with the flow",
        ),
        ("clash", verdict("clash", 0.0, 0.0), "clash"),
        ("prove", verdict("prove", 0.0, 0.0), "prove: expose first"),
        ("watch", verdict("watch", 0.0, 0.0), "watch"),
        ("clear", verdict("clear", 0.0, 0.0), "clear by the records"),
        (
            "hole",
            at("hole", "M-9 0A9 9 0 1 0 9 0A9 9 0 1 0 -9 0Z"),
            "test hole, numbered in the order of digging",
        ),
        (
            "inspect",
            at("inspect", "M-7 -5H7V5H-7Z")
                + &at(
                    "inspect",
                    "M-2.5 0A2.5 2.5 0 1 0 2.5 0A2.5 2.5 0 1 0 -2.5 0Z",
                ),
            "sewer or drain to look into after boring",
        ),
        (
            "blocker",
            at("blocker", "M-7 0A7 7 0 1 0 7 0A7 7 0 1 0 -7 0Z") + &at("blocker", "M-5 5L5 -5"),
            "stretch that no lawful pits bridge",
        ),
    ]
}

/// The signs for the script to use, not seen themselves.
pub fn symbols(code: &str) -> String {
    let mut out = format!(
        "<svg class=\"drawing symbols{code}\" width=\"0\" height=\"0\" aria-hidden=\"true\" focusable=\"false\"><defs>"
    );
    for (name, drawing, _) in signs() {
        put!(
            out,
            "<symbol id=\"sign-{name}\" viewBox=\"-12 -12 24 24\">{drawing}</symbol>"
        );
    }
    out.push_str("</defs></svg>");
    out
}

/// What everything means.
pub fn key(code: &str) -> String {
    let mut out = format!("<ul class=\"key drawing{code}\">");
    let mut entry = |drawing: &str, words: &str| {
        put!(
            out,
            "<li><svg class=\"drawing{code}\" width=\"40\" height=\"24\" viewBox=\"-20 -12 40 24\" aria-hidden=\"true\" focusable=\"false\">{drawing}</svg>{words}</li>"
        );
    };
    for (name, drawing, words) in signs() {
        let under = match name {
            "flow" => "<path class=\"bore\" d=\"M-19 0H19\"/>",
            "blocker" => "<path class=\"blocked\" d=\"M-19 0H19\"/>",
            _ => "",
        };
        entry(&format!("{under}{drawing}"), words);
    }
    let line = |class: &str| format!("<path class=\"{class}\" d=\"M-19 0H19\"/>");
    for of in kinds() {
        let (class, letter, word) = kind(of);
        let sign =
            format!("<text class=\"sign {class}\" y=\"4\" data-kind=\"{class}\">{letter}</text>");
        entry(&(line(&format!("s {class}")) + &sign), word);
    }
    entry(
        "<text class=\"sign other\" y=\"4\">W?</text>",
        "? depth not recorded",
    );
    entry(&line("fence"), "fence");
    entry(&line("street"), "middle of a street");
    entry(&line("way"), "route");
    entry(
        "<path class=\"keepout\" d=\"M-15 -8H15V8H-15Z\"/>",
        "keepout",
    );
    entry(
        "<circle class=\"tree\" r=\"8\"/><circle class=\"trunk\" r=\"1.6\"/>",
        "tree",
    );
    entry("<circle class=\"oldmanhole\" r=\"5\"/>", "existing manhole");
    out.push_str("</ul>");
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_sign_has_a_shape_of_its_own() {
        let shape = |d: &str| -> Vec<String> {
            let parts = d.split(" d=\"").skip(1);
            let until_quote = |p: &str| p.split('"').next().map(String::from);
            parts.filter_map(until_quote).collect()
        };
        let shapes: BTreeSet<_> = signs().iter().map(|s| shape(&s.1)).collect();
        assert_eq!(shapes.len(), signs().len());
    }
}
