//! Sheets of paper: plans and long sections to a scale, and drive sheets, as drawings and as a PDF.
//!
//! A sheet is a drawing that is whole in itself. A drive sheet says what the page says, word for word: its own markup is what is
//! laid out here.

mod blocks;
mod flow;
mod fonts;
mod frame;
mod pdf;
mod sheets;
mod table;

pub use fonts::Fonts;
pub use pdf::pdf;
pub use sheets::{drive_sheets, sheets};

/// A sheet of paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Name of a file, without its end.
    pub name: String,
    /// The route that it is of.
    pub route: String,
    /// What it is, in words.
    pub title: String,
    /// Width and height (mm).
    pub size_mm: (f64, f64),
    /// The drawing.
    pub svg: String,
}

/// Paper that plans and long sections are drawn on, lying; drive sheets are on A4, standing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 297 x 210 mm.
    A4,
    /// 420 x 297 mm.
    A3,
}

impl Paper {
    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::A3 => "A3",
        }
    }

    /// Width and height (mm).
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Paper::A4 => (297.0, 210.0),
            Paper::A3 => (420.0, 297.0),
        }
    }
}
