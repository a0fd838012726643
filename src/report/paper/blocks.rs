//! The markup of a drive sheet, read into blocks that paper takes.

use usvg::roxmltree::{Document, Node};

/// A piece of a sheet, from top to bottom.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// The heading.
    Heading(String),
    /// A paragraph; what must be minded has a bar beside it.
    Text { words: String, mind: bool },
    /// A table.
    Table(Table),
    /// Names and values.
    Figures(Vec<(String, String)>),
}

/// A table.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Table {
    /// Caption.
    pub caption: String,
    /// Names of the columns; empty where its rows have names only.
    pub head: Vec<Cell>,
    /// Rows.
    pub rows: Vec<Vec<Cell>>,
}

/// A cell.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Cell {
    /// Words in it.
    pub words: String,
    /// Set in bold.
    pub bold: bool,
}

/// Blocks of an `article`.
///
/// # Errors
/// It is not well formed, which only a fault of this program can make it.
pub fn blocks(markup: &str) -> Result<Vec<Block>, String> {
    let document = Document::parse(markup).map_err(|e| format!("drive sheet: {e}"))?;
    let children = document.root_element().children();
    Ok(children.filter_map(block).collect())
}

fn block(node: Node) -> Option<Block> {
    let class = node.attribute("class").unwrap_or_default();
    Some(match node.tag_name().name() {
        "h4" => Block::Heading(words(node)),
        "p" => Block::Text {
            words: words(node),
            mind: class == "remind",
        },
        "div" => Block::Table(table(node)),
        "dl" => Block::Figures(
            node.children()
                .map(|pair| (word_of(pair, "dt"), word_of(pair, "dd")))
                .collect(),
        ),
        _ => return None,
    })
}

fn table(node: Node) -> Table {
    let rows = |part: &str| -> Vec<Vec<Cell>> {
        let part = node.descendants().filter(|n| n.has_tag_name(part));
        let rows = part.flat_map(|p| p.children().filter(|n| n.has_tag_name("tr")));
        rows.map(|r| r.children().map(cell).collect()).collect()
    };
    Table {
        caption: word_of(node, "caption"),
        head: rows("thead").pop().unwrap_or_default(),
        rows: rows("tbody"),
    }
}

fn cell(node: Node) -> Cell {
    let strong = node.descendants().any(|n| {
        let class = n.attribute("class").unwrap_or_default();
        n.has_tag_name("strong") || matches!(class, "tag clash" | "tag prove")
    });
    Cell {
        words: words(node),
        bold: node.has_tag_name("th") || strong,
    }
}

fn word_of(node: Node, tag: &str) -> String {
    let found = node.descendants().find(|n| n.has_tag_name(tag));
    found.map_or(String::new(), words)
}

/// All words in it, with one blank between them.
fn words(node: Node) -> String {
    let texts = node.descendants().filter(Node::is_text);
    let all: String = texts.filter_map(|t| t.text()).collect();
    all.split([' ', '\n'])
        .filter(|w| !w.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_becomes_blocks() {
        let markup = "<article id=\"a\"><h4>Drive sheet, bore <bdi>A&amp;B</bdi></h4><p class=\"remind\">Mind.</p>\
            <div class=\"wide\"><table><caption>C</caption><thead><tr><th>H</th></tr></thead><tbody><tr><th>r</th><td><strong>1</strong></td><td>2 <span>x</span></td></tr></tbody></table></div>\
            <dl><div><dt>n</dt><dd>v\u{a0}m</dd></div></dl></article>";
        let blocks = blocks(markup).expect("well formed");
        assert_eq!(
            blocks[0],
            Block::Heading("Drive sheet, bore A&B".to_string())
        );
        assert!(matches!(&blocks[1], Block::Text { mind: true, .. }));
        let Block::Table(table) = &blocks[2] else {
            panic!("no table")
        };
        assert_eq!((table.caption.as_str(), table.head.len()), ("C", 1));
        let row: Vec<(&str, bool)> = table.rows[0]
            .iter()
            .map(|c| (c.words.as_str(), c.bold))
            .collect();
        assert_eq!(row, [("r", true), ("1", true), ("2 x", false)]);
        assert_eq!(
            blocks[3],
            Block::Figures(vec![("n".to_string(), "v\u{a0}m".to_string())])
        );
    }
}
