//! What a report is put together from: chapters, and long tables that a folder of pages cuts into several.

use super::text::put;

/// One page with everything, or a folder of pages that are opened as needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// One page.
    Page,
    /// A folder of pages.
    Folder,
}

/// Rows of a table on one page of a folder: a browser lays them out at once.
const ROWS_A_PAGE: usize = 400;

/// A chapter. All texts but `id` and `file` are HTML.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Chapter {
    /// Its anchor on the one page.
    pub id: String,
    /// Its file in a folder, without the end.
    pub file: String,
    /// Its title.
    pub title: String,
    /// A line for the contents.
    pub about: String,
    /// Anchors in it, and their words.
    pub parts: Vec<(String, String)>,
    /// The chapter, its heading included.
    pub html: String,
}

/// A table that may be very long.
#[derive(Debug, Default)]
pub struct Listing {
    /// Anchor, and the beginning of its files.
    pub id: String,
    /// Title (HTML).
    pub title: String,
    /// A line for the contents (HTML).
    pub about: String,
    /// What stands before it (HTML).
    pub before: String,
    /// Caption (HTML).
    pub caption: String,
    /// Names of its columns; what is empty for people to fill in begins with `FILL`.
    pub head: Vec<&'static str>,
    /// Rows, each a whole `tr`.
    pub rows: Vec<String>,
    /// What stands in place of a table without rows (HTML).
    pub none: &'static str,
}

/// Begins the name of a column that people fill in.
pub const FILL: &str = "Found: ";

impl Listing {
    /// The chapters that it makes.
    pub fn chapters(&self, layout: Layout) -> Vec<Chapter> {
        let size = match layout {
            Layout::Page => usize::MAX,
            Layout::Folder => ROWS_A_PAGE,
        };
        let n = self.rows.len().div_ceil(size).max(1);
        let chapter = |i: usize| {
            let rows = &self.rows[(i * size).min(self.rows.len())..];
            let rows = &rows[..rows.len().min(size)];
            let (id, file, title) = if n == 1 {
                (self.id.clone(), self.id.clone(), self.title.clone())
            } else {
                let number = i + 1;
                (
                    format!("{}-{number}", self.id),
                    format!("{}-{number:04}", self.id),
                    format!("{}, part {number} of {n}", self.title),
                )
            };
            let html = format!(
                "<section id=\"{id}\" class=\"listing\"><h2 id=\"{id}h\">{title}</h2>{}</section>",
                self.html(rows, &id)
            );
            Chapter {
                id,
                file,
                title,
                about: self.about.clone(),
                parts: vec![],
                html,
            }
        };
        (0..n).map(chapter).collect()
    }

    /// The table with these rows; the heading whose anchor is `id` and an h names it.
    pub fn html(&self, rows: &[String], id: &str) -> String {
        let mut out = self.before.clone();
        if rows.is_empty() {
            out.push_str(self.none);
            return out;
        }
        put!(
            out,
            "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-labelledby=\"{id}h\"><table><caption>{}</caption><thead><tr>",
            self.caption
        );
        for head in &self.head {
            match head.strip_prefix(FILL) {
                Some(to_fill_in) => {
                    put!(out, "<th scope=\"col\" class=\"fill\">{to_fill_in}</th>");
                }
                None => put!(out, "<th scope=\"col\">{head}</th>"),
            }
        }
        out.push_str("</tr></thead><tbody>");
        rows.iter().for_each(|r| out.push_str(r));
        out.push_str("</tbody></table></div>");
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_table_is_cut_into_pages_and_no_row_is_lost() {
        let rows: Vec<String> = (0..ROWS_A_PAGE * 2 + 1)
            .map(|i| format!("<tr><td>{i}.</td></tr>"))
            .collect();
        let listing = Listing {
            id: "holes".to_string(),
            rows: rows.clone(),
            none: "nothing",
            ..Listing::default()
        };
        let one = listing.chapters(Layout::Page);
        assert_eq!((one.len(), one[0].file.as_str()), (1, "holes"));
        let many = listing.chapters(Layout::Folder);
        assert_eq!(many.len(), 3);
        assert_eq!(many[2].file, "holes-0003");
        for row in &rows {
            assert_eq!(many.iter().filter(|c| c.html.contains(row)).count(), 1);
        }
        let empty = Listing {
            none: "nothing",
            ..Listing::default()
        };
        assert!(empty.chapters(Layout::Folder)[0].html.contains("nothing"));
    }
}
