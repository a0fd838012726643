//! Sheets bound into a PDF: text stays text, a page has the size of its paper, bookmarks lead to each sheet.

use super::{Fonts, Sheet};
use crate::report::model::Head;
use krilla::{
    Document,
    destination::XyzDestination,
    geom::{Point, Size},
    metadata::Metadata,
    outline::{Outline, OutlineNode},
    page::PageSettings,
};
use krilla_svg::{SurfaceExt, SvgSettings};
use rayon::prelude::*;
use usvg::{Options, Tree};

const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// The PDF. The same sheets give the same bytes.
///
/// # Errors
/// Only by a fault of this program: what could not be drawn.
pub fn pdf(head: &Head, sheets: &[Sheet], fonts: &Fonts) -> Result<Vec<u8>, String> {
    let options = Options {
        fontdb: fonts.db.clone(),
        font_family: super::fonts::FAMILY.to_string(),
        ..Options::default()
    };
    let mut document = Document::new();
    // A batch at a time, so that thousands of sheets are not all held as shapes.
    for batch in sheets.chunks(64) {
        let tree = |s: &Sheet| {
            let tree = Tree::from_str(&s.svg, &options);
            tree.map_err(|e| format!("sheet {}: {e}", s.name))
        };
        let trees: Result<Vec<Tree>, String> = batch.par_iter().map(tree).collect();
        for (sheet, tree) in batch.iter().zip(trees?) {
            draw(&mut document, sheet, &tree)?;
        }
    }
    document.set_outline(outline(sheets));
    document.set_metadata(
        Metadata::new()
            .title(format!("Bore plan: {}", head.title))
            .language("en".to_string())
            .creator(format!("pitwright {}", head.version)),
    );
    document.finish().map_err(|e| format!("{e:?}"))
}

fn draw(document: &mut Document, sheet: &Sheet, tree: &Tree) -> Result<(), String> {
    let failed = || format!("sheet {}: cannot be drawn", sheet.name);
    let points = |mm: f64| (mm * POINTS_PER_MM) as f32;
    let (w, h) = (points(sheet.size_mm.0), points(sheet.size_mm.1));
    let settings = PageSettings::from_wh(w, h).ok_or_else(failed)?;
    let size = Size::from_wh(w, h).ok_or_else(failed)?;
    let mut page = document.start_page_with(settings);
    let mut surface = page.surface();
    let drawn = surface.draw_svg(tree, size, SvgSettings::default());
    surface.finish();
    page.finish();
    drawn.ok_or_else(failed)
}

/// A bookmark a route, under it one a sheet; the second page of a sheet has none of its own.
fn outline(sheets: &[Sheet]) -> Outline {
    let mut outline = Outline::new();
    let to = |i: usize| XyzDestination::new(i, Point::from_xy(0.0, 0.0));
    let mut i = 0;
    for route in sheets.chunk_by(|a, b| a.route == b.route) {
        let mut of_route = OutlineNode::new(format!("Route {}", route[0].route), to(i));
        for same in route.chunk_by(|a, b| a.title == b.title) {
            of_route.push_child(OutlineNode::new(same[0].title.clone(), to(i)));
            i += same.len();
        }
        outline.push_child(of_route);
    }
    outline
}
