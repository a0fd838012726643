//! KML: every layer a folder of one document.
//!
//! # Source
//! OGC 12-007r2 (KML 2.3, of which only elements of 2.2 are used): element order of `Placemark` and `Style`, `SchemaData`,
//! colours as `aabbggrr`. Not read here; from memory, and held by GDAL's reader in `tests/cli/export`.
//! Levels are the third numbers, above the job's height datum. Viewers are told to clamp to the ground: taken for heights
//! above sea level they would draw a sewer under the earth, where nobody sees it.

use super::{Feature, Holds, Layer, Position, Shape, Value, labels, orient::right_handed};
use std::fmt::Write;

/// Layers in degrees as the text of one file. `title` is the document's name.
pub fn kml(title: &str, layers: &[Layer]) -> String {
    let mut out = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\">\n<Document>\n",
    );
    put(&mut out, format_args!("<name>{}</name>\n", escaped(title)));
    out.push_str(
        "<description>Proposed by records; records are not proof. Levels are metres above the job's height datum.</description>\n",
    );
    STYLES.iter().for_each(|style| style.put(&mut out));
    layers.iter().for_each(|layer| schema(&mut out, layer));
    layers.iter().for_each(|layer| folder(&mut out, layer));
    out.push_str("</Document>\n</kml>\n");
    out
}

fn put(out: &mut String, text: std::fmt::Arguments) {
    // Writing to a string does not fail.
    let _ = out.write_fmt(text);
}

/// How a kind of row is drawn; colours of the styles of the layers, as `aabbggrr`.
struct Style {
    id: &'static str,
    line: &'static str,
    width: u32,
    fill: &'static str,
}

const STYLES: [Style; 10] = [
    style("launch", "ffb27200", 3, "99b27200"),
    style("reception", "ff009fe6", 3, "80009fe6"),
    style("both", "ff739e00", 3, "99739e00"),
    style("bore", "ff404040", 4, "00000000"),
    style("clash", "ff005ed5", 3, "ff005ed5"),
    style("prove", "ffa779cc", 3, "ffa779cc"),
    style("watch", "ff42e4f0", 2, "ff42e4f0"),
    style("clear", "ff8c8c8c", 1, "ff8c8c8c"),
    style("test_holes", "ff000000", 2, "ff000000"),
    style("other", "ff606060", 2, "33606060"),
];

const fn style(id: &'static str, line: &'static str, width: u32, fill: &'static str) -> Style {
    Style {
        id,
        line,
        width,
        fill,
    }
}

impl Style {
    fn put(&self, out: &mut String) {
        put(
            out,
            format_args!(
                "<Style id=\"{}\"><IconStyle><color>{}</color></IconStyle><LineStyle><color>{}</color><width>{}</width></LineStyle><PolyStyle><color>{}</color></PolyStyle></Style>\n",
                self.id, self.fill, self.line, self.width, self.fill
            ),
        );
    }
}

/// The style that a row has: by role, by verdict, else by layer.
fn style_of(layer: &Layer, row: &Feature) -> &'static str {
    let named = |word: &str| STYLES.iter().map(|s| s.id).find(|id| *id == word);
    let by_layer = match layer.name.as_str() {
        "proposed_bores" | "alternative_bores" => "bore",
        name => name,
    };
    let words = [
        layer.word(row, "role"),
        layer.word(row, "verdict"),
        by_layer,
    ];
    words.into_iter().find_map(named).unwrap_or("other")
}

fn schema(out: &mut String, layer: &Layer) {
    put(
        out,
        format_args!("<Schema name=\"{0}\" id=\"{0}\">\n", layer.name),
    );
    for column in &layer.columns {
        let kind = match column.holds {
            Holds::Text => "string",
            Holds::Integer => "int",
            Holds::Real => "double",
            Holds::Flag => "bool",
        };
        let name = escaped(&column.name);
        put(
            out,
            format_args!("<SimpleField name=\"{name}\" type=\"{kind}\"/>\n"),
        );
    }
    out.push_str("</Schema>\n");
}

fn folder(out: &mut String, layer: &Layer) {
    put(out, format_args!("<Folder><name>{}</name>\n", layer.name));
    layer.features.iter().for_each(|f| placemark(out, layer, f));
    out.push_str("</Folder>\n");
}

fn placemark(out: &mut String, layer: &Layer, row: &Feature) {
    let name = escaped(&labels::name(layer, row));
    put(
        out,
        format_args!(
            "<Placemark><name>{name}</name><styleUrl>#{}</styleUrl>\n<ExtendedData><SchemaData schemaUrl=\"#{}\">\n",
            style_of(layer, row),
            layer.name
        ),
    );
    for (column, value) in layer.columns.iter().zip(&row.values) {
        if let Some(text) = text(value) {
            let name = escaped(&column.name);
            put(
                out,
                format_args!("<SimpleData name=\"{name}\">{text}</SimpleData>\n"),
            );
        }
    }
    out.push_str("</SchemaData></ExtendedData>\n");
    if let Some(shape) = &row.shape {
        geometry(out, shape);
    }
    out.push_str("</Placemark>\n");
}

fn text(value: &Value) -> Option<String> {
    match value {
        Value::Null => None,
        Value::Flag(yes) => Some(if *yes { "1" } else { "0" }.to_string()),
        other => Some(escaped(&other.said())),
    }
}

const MODE: &str = "<altitudeMode>clampToGround</altitudeMode>";

fn geometry(out: &mut String, shape: &Shape) {
    match shape {
        Shape::Point(p) => put(
            out,
            format_args!(
                "<Point>{MODE}<coordinates>{}</coordinates></Point>\n",
                places(&[*p])
            ),
        ),
        Shape::Line(line) => put(
            out,
            format_args!(
                "<LineString><tessellate>1</tessellate>{MODE}<coordinates>{}</coordinates></LineString>\n",
                places(line)
            ),
        ),
        Shape::Polygon(rings) => polygon(out, rings),
        Shape::MultiPolygon(areas) => {
            out.push_str("<MultiGeometry>\n");
            areas.iter().for_each(|rings| polygon(out, rings));
            out.push_str("</MultiGeometry>\n");
        }
    }
}

fn polygon(out: &mut String, rings: &[Vec<Position>]) {
    put(
        out,
        format_args!("<Polygon><tessellate>1</tessellate>{MODE}"),
    );
    for (i, ring) in right_handed(rings).iter().enumerate() {
        let side = if i == 0 { "outer" } else { "inner" };
        let places = places(ring);
        put(
            out,
            format_args!(
                "<{side}BoundaryIs><LinearRing><coordinates>{places}</coordinates></LinearRing></{side}BoundaryIs>"
            ),
        );
    }
    out.push_str("</Polygon>\n");
}

/// Longitude, latitude, level, between blanks; degrees to eight decimals (a millimetre).
fn places(line: &[Position]) -> String {
    let place = |p: &Position| match p.z {
        Some(z) => format!("{:.8},{:.8},{z:.3}", p.x, p.y),
        None => format!("{:.8},{:.8}", p.x, p.y),
    };
    line.iter().map(place).collect::<Vec<_>>().join(" ")
}

/// Text as XML holds it; characters that XML 1.0 cannot hold become blanks.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(c),
            '\u{fffe}' | '\u{ffff}' => out.push(' '),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_would_be_markup_is_text() {
        assert_eq!(
            escaped("<script>\"&\"\u{1}"),
            "&lt;script&gt;&quot;&amp;&quot; "
        );
    }
}
