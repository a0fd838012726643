//! Chapters put together: all on one page, or a folder of pages with an index.

use super::{
    chapter::{Chapter, Layout},
    model::{Head, Report},
    notes, register, route,
    shared::Shared,
    text::{label, moment, put, words},
};
use rayon::prelude::*;

/// Nothing may be fetched from anywhere, whatever a value in the file says.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/// How every page begins, by which a file is known to be a report.
pub const HEADING: &str = "<!DOCTYPE html>\n<!-- report by pitwright -->\n";

/// A report's name among the pages of a folder.
pub const INDEX: &str = "index.html";

/// A text that becomes a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Name of the file.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// A report, ready to be put on pages.
#[derive(Debug)]
pub struct Book<'a> {
    /// What it is of.
    pub head: &'a Head,
    /// What it is.
    pub kind: &'static str,
    /// What was done to make its rows.
    pub made: &'static str,
    /// What came of it, and what this report does not show (HTML).
    pub before: String,
    /// Chapters in order.
    pub chapters: Vec<Chapter>,
}

/// The report of a plan.
pub fn plan_book(report: &Report, layout: Layout) -> Book<'_> {
    let shared = Shared::of(report);
    let head = &report.head;
    let mut chapters: Vec<Chapter> = (0..report.routes.len())
        .into_par_iter()
        .map(|n| route::chapter(report, n, &shared))
        .collect();
    let rows = report.routes.iter().flat_map(|r| {
        let row = |of| register::Row {
            of,
            hole: r.hole(of),
        };
        r.conflicts.iter().map(row)
    });
    chapters.extend(register::register(&rows.collect::<Vec<_>>(), layout));
    let holes = report.routes.iter().flat_map(|r| &r.holes);
    chapters.extend(register::holes(head, holes, layout));
    chapters.push(notes::assumptions(head, "plan"));
    let mut before = String::new();
    notes::warnings(&mut before, head, report.around.as_ref().err());
    Book {
        head,
        kind: "Bore plan report",
        made: "planned",
        before,
        chapters,
    }
}

impl Book<'_> {
    /// The whole report as one page that needs nothing beside it.
    pub fn page(&self) -> String {
        let mut out = String::new();
        self.begin(&mut out, None);
        contents(&mut out, &self.chapters, &|chapter, part| match part {
            None => format!("#{}", chapter.id),
            Some(part) => format!("#{part}"),
        });
        out.push_str(&self.before);
        self.chapters.iter().for_each(|c| out.push_str(&c.html));
        self.end(&mut out);
        out
    }

    /// An index, and a page a chapter.
    pub fn pages(&self) -> Vec<Piece> {
        let mut out = String::new();
        self.begin(&mut out, None);
        out.push_str("<p id=\"finder\" hidden><label>Find a route, bore or owner: <input type=\"search\" autocomplete=\"off\" spellcheck=\"false\"></label> <span role=\"status\"></span></p>");
        contents(&mut out, &self.chapters, &|chapter, part| match part {
            None => format!("{}.html", chapter.file),
            Some(part) => format!("{}.html#{part}", chapter.file),
        });
        out.push_str(&self.before);
        self.end(&mut out);
        let index = Piece {
            name: INDEX.to_string(),
            text: out,
        };
        let page = |i: usize| {
            let chapter = &self.chapters[i];
            let mut text = String::new();
            self.begin(&mut text, Some(chapter));
            self.beside(&mut text, i);
            text.push_str(&chapter.html);
            self.end(&mut text);
            let name = format!("{}.html", chapter.file);
            Piece { name, text }
        };
        let pages = (0..self.chapters.len()).map(page);
        [index].into_iter().chain(pages).collect()
    }

    fn begin(&self, out: &mut String, chapter: Option<&Chapter>) {
        out.push_str(HEADING);
        put!(
            out,
            "<html lang=\"en\"><head><meta charset=\"utf-8\"><meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\"><meta name=\"viewport\" content=\"width=device-width,initial-scale=1\"><meta name=\"color-scheme\" content=\"light dark\"><meta name=\"generator\" content=\"pitwright report\"><link rel=\"icon\" href=\"data:,\">"
        );
        let of = chapter.map_or(String::new(), |c| {
            // A title holds words alone.
            format!("{}: ", c.title.replace("<bdi>", "").replace("</bdi>", ""))
        });
        put!(
            out,
            "<title>{of}{}: {}</title><style>{}{}</style></head><body>",
            self.kind,
            label(&self.head.title),
            include_str!("page.css"),
            include_str!("drawing.css")
        );
        put!(
            out,
            "<a class=\"skip\" href=\"#main\">Skip to the report</a><header><p class=\"kind\">{}</p><h1>{}</h1><p>{}</p></header><main id=\"main\" tabindex=\"-1\">",
            self.kind,
            words(&self.head.title),
            self.origin()
        );
        notes::cautions(out);
    }

    fn origin(&self) -> String {
        let head = self.head;
        let when = (head.made_at.as_deref()).map_or(String::new(), |at| {
            format!(", {} {}", self.made, words(&moment(at)))
        });
        let by = (head.made_by.as_deref())
            .map_or(String::new(), |v| format!(" by version {}", words(v)));
        format!(
            "From {}{when}{by}. Coordinates in {}, {}; levels and all other lengths in metres above the job's height datum.",
            words(&head.file),
            words(&head.place.crs),
            words(&head.place.unit_name)
        )
    }

    /// Links to the index and to the chapters before and after.
    fn beside(&self, out: &mut String, i: usize) {
        put!(
            out,
            "<nav aria-label=\"Pages\"><p><a href=\"{INDEX}\">Index of the report</a>"
        );
        let before = i.checked_sub(1).map(|b| (b, "Before"));
        let after = (i + 1 < self.chapters.len()).then_some((i + 1, "After"));
        for (j, way) in [before, after].into_iter().flatten() {
            let chapter = &self.chapters[j];
            put!(
                out,
                " · {way}: <a href=\"{}.html\">{}</a>",
                chapter.file,
                chapter.title
            );
        }
        out.push_str("</p></nav>");
    }

    fn end(&self, out: &mut String) {
        put!(
            out,
            "</main><footer><p>Made by pitwright {} from {}. A proposal, no better than the records that went in.</p></footer>",
            words(&self.head.version),
            words(&self.head.file)
        );
        put!(
            out,
            "<script>{}</script></body></html>\n",
            include_str!("script.js")
        );
    }
}

fn contents(
    out: &mut String,
    chapters: &[Chapter],
    link: &dyn Fn(&Chapter, Option<&str>) -> String,
) {
    out.push_str("<nav aria-label=\"Contents\" class=\"contents\"><h2>Contents</h2><ul>");
    for chapter in chapters {
        put!(
            out,
            "<li><a href=\"{}\">{}</a>",
            link(chapter, None),
            chapter.title
        );
        if !chapter.about.is_empty() {
            put!(out, " <span class=\"small\">{}</span>", chapter.about);
        }
        for (i, (anchor, name)) in chapter.parts.iter().enumerate() {
            put!(
                out,
                "{}<a href=\"{}\">{name}</a>",
                if i == 0 { ": " } else { " " },
                link(chapter, Some(anchor))
            );
        }
        out.push_str("</li>");
    }
    out.push_str("</ul></nav>");
}
