//! Blocks from top to bottom, onto as many pages as they take.

use super::{
    blocks::{Block, Cell, Table},
    fonts::Fonts,
    table::{self, PAD},
};
use crate::report::{
    marks::{line, rectangle, text},
    text::{drawn, put},
};

/// Where blocks may stand on a page (units).
#[derive(Debug, Clone, Copy)]
pub struct Area {
    pub left: f64,
    pub width: f64,
    pub top: f64,
    pub foot: f64,
}

const TEXT: f64 = 12.0;
const CELL: f64 = 10.5;
/// Height of a line by the size of its letters.
const LINE: f64 = 1.32;
/// A cell of more lines is cut, and says so: a row does not go on on the next page.
const MOST_LINES: usize = 40;
const CUT: &str = "… cut; whole on the page";

/// Pages in the making.
pub struct Flow<'a> {
    fonts: &'a Fonts,
    area: Area,
    pages: Vec<String>,
    y: f64,
}

/// A row of a table, its words in lines.
struct Row {
    cells: Vec<(Vec<String>, bool)>,
    height: f64,
}

impl<'a> Flow<'a> {
    /// An empty page.
    pub fn new(fonts: &'a Fonts, area: Area) -> Flow<'a> {
        Flow {
            fonts,
            area,
            pages: vec![String::new()],
            y: area.top,
        }
    }

    /// What the blocks came to, a text a page.
    pub fn pages(mut self, blocks: Vec<Block>) -> Vec<String> {
        blocks.into_iter().for_each(|b| self.block(b));
        self.pages
    }

    fn out(&mut self) -> &mut String {
        self.pages.last_mut().expect("there is one")
    }

    /// Goes to the next page where `height` is not left.
    fn room(&mut self, height: f64) -> bool {
        let next = self.y + height > self.area.foot && self.y > self.area.top;
        if next {
            self.pages.push(String::new());
            self.y = self.area.top;
        }
        next
    }

    fn block(&mut self, block: Block) {
        match block {
            Block::Heading(words) => {
                self.room(40.0);
                let (x, y) = (self.area.left, self.y + 18.0);
                text(self.out(), "heading", x, y, &drawn(&words));
                self.y += 28.0;
            }
            Block::Text { words, mind } => self.text(&words, mind),
            Block::Table(table) => {
                let parts = table::cut(self.fonts, table, CELL, self.area.width);
                parts.iter().for_each(|t| self.table(t));
            }
            Block::Figures(figures) => self.figures(&figures),
        }
    }

    fn text(&mut self, words: &str, mind: bool) {
        let indent = if mind { 10.0 } else { 0.0 };
        let width = self.area.width - indent;
        let (left, height) = (self.area.left, TEXT * LINE);
        for words in table::lines(self.fonts, words, TEXT, false, width) {
            self.room(height);
            let y = self.y;
            if mind {
                rectangle(self.out(), "mind", (left, y), (left + 3.0, y + height));
            }
            text(self.out(), "para", left + indent, y + TEXT, &drawn(&words));
            self.y += height;
        }
        self.y += 8.0;
    }

    fn table(&mut self, table: &Table) {
        let widths = table::columns(self.fonts, table, CELL, self.area.width);
        let head = self.row(&table.head, &widths);
        let rows: Vec<Row> = table.rows.iter().map(|r| self.row(r, &widths)).collect();
        let first = rows.first().map_or(0.0, |r| r.height);
        let captioned = if table.caption.is_empty() { 0.0 } else { 22.0 };
        self.room(captioned + head.height + first);
        if captioned > 0.0 {
            let (x, y) = (self.area.left, self.y + 14.0);
            text(self.out(), "caption", x, y, &drawn(&table.caption));
            self.y += captioned;
        }
        self.head(&head, &widths);
        for row in &rows {
            if self.room(row.height) {
                self.head(&head, &widths);
            }
            self.draw(row, &widths);
        }
        self.y += 10.0;
    }

    fn head(&mut self, head: &Row, widths: &[f64]) {
        if !head.cells.is_empty() {
            let (x, y) = (self.area.left, self.y);
            let end = (x + self.area.width, y + head.height);
            rectangle(self.out(), "headrow", (x, y), end);
            self.draw(head, widths);
        }
    }

    fn row(&self, cells: &[Cell], widths: &[f64]) -> Row {
        let of = |(c, w): (&Cell, &f64)| (self.lines(&c.words, c.bold, w - PAD), c.bold);
        let cells: Vec<(Vec<String>, bool)> = cells.iter().zip(widths).map(of).collect();
        let lines = cells.iter().map(|c| c.0.len()).max().unwrap_or(0);
        let height = if cells.is_empty() {
            0.0
        } else {
            CELL * LINE * lines as f64 + 5.0
        };
        Row { cells, height }
    }

    /// Words of a cell in lines.
    fn lines(&self, words: &str, bold: bool, width: f64) -> Vec<String> {
        let mut lines = table::lines(self.fonts, words, CELL, bold, width);
        if lines.len() > MOST_LINES {
            lines.truncate(MOST_LINES);
            lines.push(CUT.to_string());
        }
        lines
    }

    fn draw(&mut self, row: &Row, widths: &[f64]) {
        let (top, left, width) = (self.y, self.area.left, self.area.width);
        let foot = top + row.height;
        line(self.out(), "rule", (left, top), (left + width, top));
        line(self.out(), "rule", (left, foot), (left + width, foot));
        let mut x = left;
        for ((lines, bold), w) in row.cells.iter().zip(widths) {
            line(self.out(), "rule", (x, top), (x, foot));
            let class = if *bold { "td bold" } else { "td" };
            for (i, words) in lines.iter().enumerate() {
                let y = top + 2.0 + CELL * (LINE * i as f64 + 1.0);
                text(self.out(), class, x + PAD / 2.0, y, &drawn(words));
            }
            x += w;
        }
        line(
            self.out(),
            "rule",
            (left + width, top),
            (left + width, foot),
        );
        self.y = foot;
    }

    /// Two columns of names and values, filled row by row.
    fn figures(&mut self, figures: &[(String, String)]) {
        let gap = 16.0;
        let width = (self.area.width - gap) / 2.0;
        let named = 0.5;
        for pair in figures.chunks(2) {
            let of = |(name, value): &(String, String)| {
                let name = self.lines(name, false, width * named - PAD);
                let value = self.lines(value, true, width * (1.0 - named));
                (name, value)
            };
            let cells: Vec<(Vec<String>, Vec<String>)> = pair.iter().map(of).collect();
            let lines = cells
                .iter()
                .map(|c| c.0.len().max(c.1.len()))
                .max()
                .unwrap_or(0);
            let height = CELL * LINE * lines as f64 + 4.0;
            self.room(height);
            let top = self.y;
            for (i, (name, value)) in cells.iter().enumerate() {
                let x = self.area.left + (width + gap) * i as f64;
                for (class, words, x) in [("td", name, x), ("td bold", value, x + width * named)] {
                    for (k, line) in words.iter().enumerate() {
                        let y = top + CELL * (LINE * k as f64 + 1.0);
                        text(self.out(), class, x, y, &drawn(line));
                    }
                }
                line(
                    self.out(),
                    "rule",
                    (x, top + height - 1.0),
                    (x + width, top + height - 1.0),
                );
            }
            self.y += height;
        }
        self.y += 10.0;
    }
}

/// The style of what is drawn here.
pub fn style() -> String {
    let mut out = String::new();
    let family = super::fonts::FAMILY;
    put!(
        out,
        ".paper text{{font-family:\"{family}\",sans-serif;fill:#1d2326}}"
    );
    put!(
        out,
        ".paper .heading{{font-size:18px;font-weight:700}}.paper .caption{{font-size:11.5px;font-weight:700;fill:#4d575b}}"
    );
    put!(
        out,
        ".paper .para{{font-size:{TEXT}px}}.paper .td{{font-size:{CELL}px}}.paper .bold{{font-weight:700}}"
    );
    out.push_str(".paper .rule{stroke:#8a9296;stroke-width:.6;fill:none}.paper .headrow{fill:#eeece2}.paper .mind{fill:#7a1230}");
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_ends_below_the_page_unsaid() {
        let fonts = Fonts::new(&[] as &[&str]).expect("the typeface");
        let area = Area {
            left: 40.0,
            width: 700.0,
            top: 60.0,
            foot: 700.0,
        };
        let long: String = (0..3000).map(|i| format!("w{i} ")).collect();
        let text = Block::Text {
            words: long.trim().to_string(),
            mind: true,
        };
        let cell = Cell {
            words: long,
            bold: false,
        };
        let table = Block::Table(Table {
            rows: vec![vec![cell]],
            ..Table::default()
        });
        let pages = Flow::new(&fonts, area).pages(vec![text]);
        assert!(pages.len() > 1 && pages.concat().contains("w2999"));
        let pages = Flow::new(&fonts, area).pages(vec![table]);
        assert!(pages.concat().contains(CUT));
        for y in pages.concat().split(" y=\"").skip(1) {
            let y: f64 = y
                .split('"')
                .next()
                .expect("a number")
                .parse()
                .expect("a number");
            assert!(y <= area.foot, "{y}");
        }
    }

    #[test]
    fn a_long_table_goes_on_with_its_head_on_the_next_page() {
        let fonts = Fonts::new(&[] as &[&str]).expect("the typeface");
        let cell = |words: String| Cell { words, bold: false };
        let table = Table {
            caption: "Things".to_string(),
            head: vec![cell("Name of it".to_string())],
            rows: (0..80).map(|i| vec![cell(format!("row {i}."))]).collect(),
        };
        let area = Area {
            left: 40.0,
            width: 700.0,
            top: 60.0,
            foot: 600.0,
        };
        let pages = Flow::new(&fonts, area).pages(vec![Block::Table(table)]);
        assert!(pages.len() > 1);
        assert!(pages.iter().all(|p| p.contains("Name of it")));
        let all = pages.concat();
        assert!((0..80).all(|i| all.matches(&format!(">row {i}.<")).count() == 1));
    }
}
