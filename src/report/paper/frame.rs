//! What stands around a sheet: border, title block, what to mind.

use super::{Paper, flow};
use crate::report::{
    marks::{line, rectangle, text},
    model::Head,
    route::MARK,
    style::plain_style,
    text::{at, drawn, label, moment, put},
};

/// A sheet that lies is so many units wide and high, whatever its size; one that stands is A4.
pub const LYING: (f64, f64) = (1680.0, 1188.0);
pub const STANDING: (f64, f64) = (840.0, 1188.0);
/// Edge of the paper to the border (units), where printers may leave a strip white.
pub const EDGE: f64 = 40.0;
/// Height of the title block of a sheet that lies.
pub const BLOCK: f64 = 84.0;

const MIND: &str = "Records are not proof. Every service is located and exposed before boring, whatever stands here. A proposal that nobody has signed.";

/// A sheet with a drawing, whole. `words` is what it is, `scale` at which scale, `n` of how many.
pub fn lying(
    head: &Head,
    paper: Paper,
    drawing: &str,
    words: &str,
    scale: &str,
    n: (usize, usize),
) -> String {
    let (w, h) = LYING;
    let mut out = String::new();
    put!(
        out,
        "<svg x=\"{0}\" y=\"{0}\" {1}",
        at(EDGE),
        drawing.strip_prefix("<svg ").unwrap_or(drawing)
    );
    let top = h - EDGE - BLOCK;
    rectangle(&mut out, "border", (EDGE, EDGE), (w - EDGE, h - EDGE));
    line(&mut out, "border", (EDGE, top), (w - EDGE, top));
    let columns = [
        (0.0, label(&head.title), label(words)),
        (560.0, "Scale".to_string(), drawn(scale)),
        (920.0, drawn(&source(head)), drawn(&place(head))),
        (1440.0, "Sheet".to_string(), format!("{} of {}", n.0, n.1)),
    ];
    for (along, name, value) in columns {
        let x = EDGE + along;
        if along > 0.0 {
            line(&mut out, "border", (x, top), (x, top + 56.0));
        }
        text(&mut out, "block", x + 10.0, top + 20.0, &name);
        text(&mut out, "block bold", x + 10.0, top + 42.0, &value);
    }
    line(
        &mut out,
        "border",
        (EDGE, top + 56.0),
        (w - EDGE, top + 56.0),
    );
    text(&mut out, "block", EDGE + 10.0, top + 75.0, &drawn(MIND));
    whole(&out, LYING, paper.size_mm(), words)
}

/// A sheet of words, whole.
pub fn standing(head: &Head, body: &str, words: &str, page: &str, n: (usize, usize)) -> String {
    let (w, h) = STANDING;
    let mut out = body.to_string();
    text(
        &mut out,
        "block bold",
        EDGE,
        EDGE + 6.0,
        &label(&head.title),
    );
    let of = format!("sheet {} of {}", n.0, n.1);
    put!(
        out,
        "<text class=\"block\" x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
        at(w - EDGE),
        at(EDGE + 6.0),
        drawn(&format!("{page}{of}"))
    );
    line(
        &mut out,
        "border",
        (EDGE, EDGE + 14.0),
        (w - EDGE, EDGE + 14.0),
    );
    line(
        &mut out,
        "border",
        (EDGE, h - EDGE - 26.0),
        (w - EDGE, h - EDGE - 26.0),
    );
    text(&mut out, "foot", EDGE, h - EDGE - 12.0, &drawn(MIND));
    let from = format!("{}. {}", source(head), place(head));
    text(&mut out, "foot", EDGE, h - EDGE + 3.0, &drawn(&from));
    whole(&out, STANDING, (210.0, 297.0), words)
}

/// `From plan.gpkg, planned 2026-01-02 03:04 UTC`.
fn source(head: &Head) -> String {
    let when =
        (head.made_at.as_deref()).map_or(String::new(), |at| format!(", planned {}", moment(at)));
    format!("From {}{when}", head.file)
}

fn place(head: &Head) -> String {
    format!(
        "{}, {}; levels in metres",
        head.place.crs, head.place.unit_name
    )
}

fn whole(body: &str, (w, h): (f64, f64), (wide, high): (f64, f64), words: &str) -> String {
    format!(
        "<svg class=\"paper\" xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" height=\"{high}mm\" viewBox=\"0 0 {w} {h}\"><title>{}</title><style>{}{}\
         .paper .border{{fill:none;stroke:#1d2326;stroke-width:1.2}}.paper .block{{font-size:13px}}.paper .foot{{font-size:9.5px;fill:#4d575b}}</style>\
         <rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>{body}</svg>\n{MARK}",
        label(words),
        plain_style().replace("#fbfaf6", "#fff"),
        flow::style(),
    )
}
