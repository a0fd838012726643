//! The letters of sheets. One open typeface is carried along, so that a sheet is the same on every machine.

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
    sync::Arc,
};
use ttf_parser::Face;
use usvg::fontdb::Database;

/// DejaVu Sans (see `fonts/LICENSE`): Latin, Greek, Cyrillic, Armenian, Georgian, Hebrew, Arabic, signs.
static SANS: &[u8] = include_bytes!("fonts/DejaVuSans.ttf");
static BOLD: &[u8] = include_bytes!("fonts/DejaVuSans-Bold.ttf");

/// Its name in a style.
pub const FAMILY: &str = "DejaVu Sans";

/// The typeface, and others that were named for letters that it lacks.
pub struct Fonts {
    /// For what draws.
    pub db: Arc<Database>,
    sans: Face<'static>,
    bold: Face<'static>,
    more: Vec<Vec<u8>>,
}

impl Fonts {
    /// The typeface and the files named.
    ///
    /// # Errors
    /// A file cannot be read, or holds no typeface: which, and why.
    pub fn new(files: &[impl AsRef<Path>]) -> Result<Fonts, (PathBuf, String)> {
        let within =
            |e: ttf_parser::FaceParsingError| (PathBuf::from("typeface within"), e.to_string());
        let face = |bytes| Face::parse(bytes, 0).map_err(within);
        let mut db = Database::new();
        db.load_font_data(SANS.to_vec());
        db.load_font_data(BOLD.to_vec());
        db.set_sans_serif_family(FAMILY);
        let mut more = vec![];
        for file in files {
            let file = file.as_ref();
            let of = |why: String| (file.to_path_buf(), why);
            let bytes = std::fs::read(file).map_err(|e| of(e.to_string()))?;
            Face::parse(&bytes, 0).map_err(|e| of(format!("is no typeface ({e})")))?;
            db.load_font_data(bytes.clone());
            more.push(bytes);
        }
        Ok(Fonts {
            db: Arc::new(db),
            sans: face(SANS)?,
            bold: face(BOLD)?,
            more,
        })
    }

    /// Width of a line of text, in the units of its size.
    pub fn width(&self, text: &str, size: f64, bold: bool) -> f64 {
        let face = if bold { &self.bold } else { &self.sans };
        let advance = |c: char| {
            let glyph = face.glyph_index(c).unwrap_or_default();
            f64::from(face.glyph_hor_advance(glyph).unwrap_or(0))
        };
        text.chars().map(advance).sum::<f64>() * size / f64::from(face.units_per_em())
    }

    /// Letters for which no typeface has a shape: a box stands for each.
    pub fn lacking<'a>(&self, texts: impl Iterator<Item = &'a str>) -> BTreeSet<char> {
        let used: BTreeSet<char> = texts.flat_map(str::chars).collect();
        let more: Vec<Face> = (self.more.iter())
            .filter_map(|bytes| Face::parse(bytes, 0).ok())
            .collect();
        let lacks = |c: &char| {
            !c.is_control()
                && [&self.sans]
                    .into_iter()
                    .chain(&more)
                    .all(|f| f.glyph_index(*c).is_none())
        };
        used.into_iter().filter(lacks).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_measured_and_those_it_lacks_are_told() {
        let fonts = Fonts::new(&[] as &[&str]).expect("the typeface");
        let (one, two) = (
            fonts.width("m", 10.0, false),
            fonts.width("mm", 10.0, false),
        );
        assert!(one > 5.0 && (two - 2.0 * one).abs() < 1e-9);
        assert!(fonts.width("mm", 10.0, true) > two);
        let lacking = fonts.lacking(["Größe Ж α ◆ ✕ ○ ◯ ש", "株 a"].into_iter());
        assert_eq!(lacking.into_iter().collect::<String>(), "株");
        let error = Fonts::new(&["Cargo.toml"]).err().expect("no typeface");
        assert_eq!(error.0, Path::new("Cargo.toml"));
    }
}
