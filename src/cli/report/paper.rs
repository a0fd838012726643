//! Drawings and the PDF of a plan.

use super::files::{Kind, Staged};
use crate::{
    cli::{
        args::{Paper as Asked, Report as Args},
        exit::{Exit, Failure},
    },
    report::{
        self, Piece, Report,
        paper::{self, Fonts, Paper, Sheet},
    },
};
use std::path::PathBuf;

/// So many letters without a shape are named.
const NAMED: usize = 20;

/// What was made.
#[derive(Debug, Default)]
pub struct OnPaper {
    /// Folder of drawings, and how many.
    pub drawings: Option<(PathBuf, usize)>,
    /// PDF, and its sheets.
    pub pdf: Option<(PathBuf, usize)>,
    /// Letters that no typeface has.
    pub lacking: Option<String>,
}

/// Makes what is asked for, beside its place.
pub fn stage(args: &Args, report: &Report, staged: &mut Staged) -> Result<OnPaper, Failure> {
    let mut made = OnPaper::default();
    if args.svg.is_none() && args.pdf.is_none() {
        return Ok(made);
    }
    let fonts = Fonts::new(&args.font).map_err(not_a_typeface)?;
    if let Some(folder) = &args.svg {
        let mut pieces = report::drawings(report);
        let sheets = paper::drive_sheets(report, &fonts).map_err(|why| fault(args, &why))?;
        pieces.extend(sheets.into_iter().map(piece));
        staged.folder(Kind::Drawings, folder, &pieces)?;
        made.drawings = Some((folder.clone(), pieces.len()));
    }
    if let Some(file) = &args.pdf {
        let size = match args.paper {
            Some(Asked::A4) => Paper::A4,
            Some(Asked::A3) | None => Paper::A3,
        };
        let sheets = paper::sheets(report, &fonts, size).map_err(|why| fault(args, &why))?;
        let bytes = paper::pdf(&report.head, &sheets, &fonts).map_err(|why| fault(args, &why))?;
        staged.file(Kind::Pdf, file, &bytes)?;
        made.pdf = Some((file.clone(), sheets.len()));
        made.lacking = lacking(&sheets, &fonts);
    }
    Ok(made)
}

fn piece(sheet: Sheet) -> Piece {
    Piece {
        name: format!("{}.svg", sheet.name),
        text: sheet.svg,
    }
}

/// A name must not vanish unsaid: which letters are drawn as boxes.
fn lacking(sheets: &[Sheet], fonts: &Fonts) -> Option<String> {
    let letters = fonts.lacking(sheets.iter().map(|s| &*s.svg));
    if letters.is_empty() {
        return None;
    }
    let more = if letters.len() > NAMED { " …" } else { "" };
    let named: String = letters.iter().take(NAMED).collect();
    Some(format!(
        "the typeface of the PDF has no shape for {named}{more}: a box stands for each; name a typeface that has them with --font, or print the page from a browser"
    ))
}

fn not_a_typeface((file, why): (PathBuf, String)) -> Failure {
    let message = format!(
        "{}: {why}; name a file of a typeface (.ttf, .otf) with --font",
        file.display()
    );
    Failure::of_file(Exit::Input, file, message)
}

fn fault(args: &Args, why: &str) -> Failure {
    let message = format!(
        "{}: its drawings could not be made ({why}); write the page alone, without --pdf and --svg",
        args.site.display()
    );
    Failure::of_file(Exit::Output, &args.site, message)
}
