//! A table of a source: lines of `#` say what it is, then heads, then rows.

use std::{fs, path::Path};

/// One row by its heads.
pub struct Row {
    heads: Vec<String>,
    cells: Vec<String>,
}

impl Row {
    /// The cell under a head.
    pub fn text(&self, head: &str) -> &str {
        let at = self.heads.iter().position(|h| h == head);
        &self.cells[at.unwrap_or_else(|| panic!("no column {head}"))]
    }

    /// The same as a number.
    pub fn number(&self, head: &str) -> f64 {
        let text = self.text(head);
        text.parse()
            .unwrap_or_else(|_| panic!("{head}: {text} is no number"))
    }
}

/// The rows of a file of `data/`; a file without rows proves nothing and is refused.
pub fn rows(name: &str) -> Vec<Row> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published/data");
    let text = fs::read_to_string(folder.join(name)).expect("the table is there");
    assert!(
        text.contains("# tolerance: "),
        "{name} says how near and why"
    );
    let mut lines = text.lines().filter(|l| !l.starts_with('#'));
    let cells = |line: &str| line.split(',').map(str::to_string).collect::<Vec<_>>();
    let heads = cells(lines.next().expect("heads"));
    let rows: Vec<Row> = lines
        .map(|line| Row {
            heads: heads.clone(),
            cells: cells(line),
        })
        .collect();
    assert!(!rows.is_empty(), "{name} has rows");
    assert!(rows.iter().all(|r| r.cells.len() == heads.len()), "{name}");
    rows
}
