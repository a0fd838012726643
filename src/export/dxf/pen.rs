//! Entities of a drawing, one after the other, and the file around them.

use super::layers::ALL;
use std::fmt::Write;

/// A point of the drawing, all three in its unit.
pub(super) type At = [f64; 3];

/// Letters that a line of text may have.
const LONGEST: usize = 250;

/// What has been drawn so far.
#[derive(Debug, Default)]
pub(super) struct Pen {
    entities: String,
    least: Option<At>,
    greatest: Option<At>,
}

/// How a text stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lettering {
    /// Height of its capitals, in units of the drawing.
    pub height: f64,
    /// Degrees against the clock from east.
    pub turn_deg: f64,
    /// Whether it is centred on its place; else it begins there.
    pub centred: bool,
}

impl Pen {
    /// A line in space; `closed` for one that returns to where it began.
    pub fn polyline(&mut self, layer: &str, points: &[At], closed: bool) {
        let flags = 8 + i32::from(closed);
        self.put(format_args!(
            "0\nPOLYLINE\n8\n{layer}\n66\n1\n10\n0.0\n20\n0.0\n30\n0.0\n70\n{flags}\n"
        ));
        for point in points {
            self.put(format_args!("0\nVERTEX\n8\n{layer}\n"));
            self.place(point);
            self.put(format_args!("70\n32\n"));
        }
        self.put(format_args!("0\nSEQEND\n8\n{layer}\n"));
    }

    /// A point.
    pub fn point(&mut self, layer: &str, at: &At) {
        self.put(format_args!("0\nPOINT\n8\n{layer}\n"));
        self.place(at);
    }

    /// A circle, level.
    pub fn circle(&mut self, layer: &str, at: &At, radius: f64) {
        self.put(format_args!("0\nCIRCLE\n8\n{layer}\n"));
        self.place(at);
        self.put(format_args!("40\n{radius:.4}\n"));
    }

    /// A line of text.
    pub fn text(&mut self, layer: &str, at: &At, words: &str, how: Lettering) {
        let Lettering {
            height, turn_deg, ..
        } = how;
        self.put(format_args!("0\nTEXT\n8\n{layer}\n"));
        self.place(at);
        let words = plain(words);
        self.put(format_args!(
            "40\n{height:.4}\n1\n{words}\n50\n{turn_deg:.4}\n"
        ));
        if how.centred {
            let [x, y, z] = at;
            self.put(format_args!(
                "72\n1\n73\n2\n11\n{x:.4}\n21\n{y:.4}\n31\n{z:.4}\n"
            ));
        }
    }

    /// The corner of what is drawn that lies west, south and lowest; none of nothing.
    pub fn corner(&self) -> Option<At> {
        self.least
    }

    fn put(&mut self, text: std::fmt::Arguments) {
        // Writing to a string does not fail.
        let _ = self.entities.write_fmt(text);
    }

    fn place(&mut self, at: &At) {
        let [x, y, z] = at;
        self.put(format_args!("10\n{x:.4}\n20\n{y:.4}\n30\n{z:.4}\n"));
        let with = |old: Option<At>, pick: fn(f64, f64) -> f64| {
            old.map_or(*at, |o| std::array::from_fn(|i| pick(o[i], at[i])))
        };
        self.least = Some(with(self.least, f64::min));
        self.greatest = Some(with(self.greatest, f64::max));
    }

    /// The whole file; dashes are for a plan at this scale (units of the drawing in a millimetre of paper).
    pub fn file(self, millimetre: f64) -> String {
        let [least, greatest] = [self.least, self.greatest].map(Option::unwrap_or_default);
        let corner =
            |name: &str, [x, y, z]: At| format!("9\n{name}\n10\n{x:.4}\n20\n{y:.4}\n30\n{z:.4}\n");
        format!(
            "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n{}{}9\n$LTSCALE\n40\n{millimetre:.4}\n0\nENDSEC\n{}0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n",
            corner("$EXTMIN", least),
            corner("$EXTMAX", greatest),
            tables(),
            self.entities
        )
    }
}

/// Line types by what is drawn and left out, in millimetres of paper.
const LINES: [(&str, &str, &[f64]); 4] = [
    ("CONTINUOUS", "Solid", &[]),
    ("DASHED", "Dashed", &[4.0, -2.0]),
    ("DOT", "Dotted", &[0.0, -1.5]),
    ("DASHDOT", "Dash dot", &[6.0, -1.5, 0.0, -1.5]),
];

fn tables() -> String {
    let line = |(name, about, dashes): &(&str, &str, &[f64])| {
        let whole: f64 = dashes.iter().map(|d| d.abs()).sum();
        let each: String = dashes.iter().map(|d| format!("49\n{d:.1}\n")).collect();
        let number = dashes.len();
        format!(
            "0\nLTYPE\n2\n{name}\n70\n0\n3\n{about}\n72\n65\n73\n{number}\n40\n{whole:.1}\n{each}"
        )
    };
    let lines: String = LINES.iter().map(line).collect();
    let layer = |l: &super::layers::DrawingLayer| {
        format!(
            "0\nLAYER\n2\n{}\n70\n0\n62\n{}\n6\n{}\n",
            l.name, l.colour, l.line
        )
    };
    let layers: String = ALL.iter().map(layer).collect();
    let style =
        "0\nSTYLE\n2\nSTANDARD\n70\n0\n40\n0.0\n41\n1.0\n50\n0.0\n71\n0\n42\n2.5\n3\ntxt\n4\n\n";
    let table = |name: &str, number: usize, rows: &str| {
        format!("0\nTABLE\n2\n{name}\n70\n{number}\n{rows}0\nENDTAB\n")
    };
    format!(
        "0\nSECTION\n2\nTABLES\n{}{}{}0\nENDSEC\n",
        table("LTYPE", LINES.len(), &lines),
        table("LAYER", ALL.len(), &layers),
        table("STYLE", 1, style)
    )
}

/// Text as a drawing holds it: one line, ASCII, with the signs that would be codes made harmless.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars().take(LONGEST) {
        match c {
            '^' => out.push_str("^ "),
            // Two of them begin a code.
            '%' if out.ends_with('%') => out.push_str(" %"),
            '\\' => out.push('/'),
            c if c.is_control() => out.push(' '),
            c if c.is_ascii() => out.push(c),
            c => c
                .encode_utf16(&mut [0; 2])
                .iter()
                .for_each(|unit| out.push_str(&format!("\\U+{unit:04X}"))),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_cannot_leave_its_line_or_become_a_code() {
        assert_eq!(plain("a\n0\nEOF"), "a 0 EOF");
        assert_eq!(plain("50%%d \\P^J"), "50% %d /P^ J");
        assert_eq!(plain("Ø"), "\\U+00D8");
    }
}
