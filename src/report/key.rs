//! The foot of a plan: north point, scale bar, and what the signs mean.

use super::{
    marks::{arrow, hole, kind, kinds, line, rectangle, text, verdict},
    text::{number, put},
    view::{View, round_below},
};
use std::collections::BTreeSet;

/// What a plan shows, so that its key holds no more.
#[derive(Debug, Default)]
pub struct Shown {
    /// Kinds of services.
    pub kinds: BTreeSet<&'static str>,
    /// Some service has no recorded depth.
    pub unknown: bool,
    /// Verdicts.
    pub verdicts: BTreeSet<String>,
    /// Test holes.
    pub hole: bool,
    /// Existing manholes.
    pub manhole: bool,
    /// Trees.
    pub tree: bool,
    /// Keepouts.
    pub keepout: bool,
    /// Fences.
    pub fence: bool,
    /// Pits with support.
    pub support: bool,
}

const COLUMN: f64 = 196.0;
const LINE: f64 = 24.0;
const HEAD: f64 = 62.0;

/// The foot below a map, and its height (units).
pub fn foot(view: &View, shown: &Shown) -> (String, f64) {
    let top = view.height;
    let entries = entries(shown);
    let per_line = ((view.width - 20.0) / COLUMN) as usize;
    let lines = entries.len().div_ceil(per_line);
    let height = HEAD + LINE * lines as f64 + 8.0;
    let mut out = String::new();
    line(&mut out, "frame", (0.0, top), (view.width, top));
    scale_bar(&mut out, view, top + 34.0);
    north(&mut out, view.width - 44.0, top + 32.0);
    for (i, (sign, words)) in entries.iter().enumerate() {
        let x = 20.0 + COLUMN * (i % per_line) as f64;
        let y = top + HEAD + LINE * (i / per_line) as f64 + 8.0;
        put!(
            out,
            "<g transform=\"translate({x} {y})\">{sign}<text class=\"keytext\" x=\"44\" y=\"4\">{words}</text></g>"
        );
    }
    (out, height)
}

/// Ends at a round number of metres, a fifth to a half of the sheet.
fn scale_bar(out: &mut String, view: &View, y: f64) {
    let step_m = round_below(view.width * 0.45 / view.scale / 4.0);
    let step = step_m * view.scale;
    for i in 0..4 {
        let class = if i % 2 == 0 { "bar dark" } else { "bar" };
        let x = 20.0 + step * f64::from(i);
        rectangle(out, class, (x, y - 8.0), (x + step, y));
        text(
            out,
            "barno",
            x,
            y + 15.0,
            &number(step_m * f64::from(i), if step_m < 1.0 { 1 } else { 0 }),
        );
    }
    let end = format!(
        "{} m",
        number(step_m * 4.0, if step_m < 1.0 { 1 } else { 0 })
    );
    text(out, "barno", 20.0 + step * 4.0, y + 15.0, &end);
    if let Some(n) = view.one_to {
        let words = format!("1 : {}", number(n, 0));
        text(out, "keytext", 50.0 + step * 4.0, y, &words);
    }
}

fn north(out: &mut String, x: f64, y: f64) {
    put!(
        out,
        "<g transform=\"translate({x} {y})\"><path class=\"north\" d=\"M0 -24L9 14L0 7Z\"/><path class=\"north hollow\" d=\"M0 -24L-9 14L0 7Z\"/><text class=\"northn\" x=\"-20\" y=\"-10\">N</text><title>Grid north is up</title></g>"
    );
}

/// Signs, drawn around 20 right of their start, and words.
fn entries(shown: &Shown) -> Vec<(String, String)> {
    let path = |class: &str| format!("<path class=\"{class}\" d=\"M0 0H36\"/>");
    let bx = |class: &str| {
        format!("<rect class=\"{class}\" x=\"8\" y=\"-7\" width=\"22\" height=\"14\"/>")
    };
    let entry = |sign: String, words: &str| (sign, words.to_string());
    let mut all = vec![
        entry(
            path("bore") + &arrow("flow", 20.0, 0.0, 0.0),
            "bore, flow this way",
        ),
        entry(arrow("drive", 22.0, 0.0, 0.0), "drive starts this way"),
        entry(bx("pit launch"), "L launch pit"),
        entry(bx("pit reception"), "R reception pit"),
        entry(bx("pit both"), "L+R both"),
        entry(
            "<circle class=\"manhole\" cx=\"19\" cy=\"0\" r=\"4.5\"/>".to_string(),
            "new manhole",
        ),
    ];
    for k in kinds().filter(|k| shown.kinds.contains(k)) {
        let (class, letter, word) = kind(k);
        let sign = path(&format!("s {class}"))
            + &format!("<text class=\"sign {class}\" x=\"18\" y=\"4\">{letter}</text>");
        all.push((sign, word.to_string()));
    }
    if shown.unknown {
        all.push(entry(
            "<text class=\"sign other\" x=\"18\" y=\"4\">W?</text>".to_string(),
            "? depth not recorded",
        ));
    }
    for (word, says) in [
        ("clash", "clash"),
        ("prove", "prove: expose first"),
        ("watch", "watch"),
        ("clear", "clear by the records"),
    ] {
        if shown.verdicts.contains(word) {
            all.push(entry(verdict(word, 19.0, 0.0), says));
        }
    }
    for (there, sign, words) in [
        (shown.hole, hole(1, 19.0, 0.0), "test hole, by order"),
        (shown.manhole, "<circle class=\"oldmanhole\" cx=\"19\" cy=\"0\" r=\"5\"/>".to_string(), "existing manhole"),
        (shown.tree, "<circle class=\"tree\" cx=\"19\" cy=\"0\" r=\"8\"/><circle class=\"trunk\" cx=\"19\" cy=\"0\" r=\"1.6\"/>".to_string(), "tree"),
        (shown.keepout, bx("keepout"), "keepout"),
        (shown.fence, path("fence"), "fence"),
        (shown.support, bx("support") + &bx("pit reception"), "pit with support"),
    ] {
        if there {
            all.push(entry(sign, words));
        }
    }
    all
}
