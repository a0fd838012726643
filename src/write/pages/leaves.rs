//! Rows put into leaf pages, one behind the other; what does not fit into a leaf goes on in overflow pages.

use super::varint;

/// Bytes of a leaf before the places of its cells.
const HEAD: usize = 8;
const LEAF: u8 = 0x0d;

/// How long pages are.
#[derive(Clone, Copy)]
pub(super) struct Page {
    /// Bytes of a page.
    pub size: usize,
    /// Those of them that are for use; some systems keep a few at the end of each page for themselves.
    pub usable: usize,
}

/// Pages of some rows that follow each other, before it is known where in the file they come to lie.
pub(crate) struct Leaves {
    page: Page,
    pages: Vec<u8>,
    /// Of each leaf: its place among the pages, and its last row.
    ends: Vec<(usize, i64)>,
    /// Where in `pages` the number of a page is to stand, and the place of that page among them.
    links: Vec<(usize, usize)>,
    /// Of the leaf that is being filled: cells in it, and where they begin.
    cells: usize,
    top: usize,
    /// What stands before a row in its cell.
    lead: Vec<u8>,
}

impl Leaves {
    /// None yet, with room for so many bytes of pages.
    pub(super) fn with_room(page: Page, bytes: usize) -> Leaves {
        Leaves {
            page,
            pages: Vec::with_capacity(bytes + bytes / 8),
            ends: vec![],
            links: vec![],
            cells: 0,
            top: 0,
            lead: Vec::with_capacity(18),
        }
    }

    /// Adds the row of this number, greater than any before it; `row` is the row in pieces.
    pub fn add(&mut self, rowid: i64, row: [&[u8]; 3]) {
        let bytes = row.iter().map(|piece| piece.len()).sum();
        self.lead.clear();
        varint::put(bytes as u64, &mut self.lead);
        varint::put(rowid as u64, &mut self.lead);
        let local = local(self.page.usable, bytes);
        let link = if local < bytes { 4 } else { 0 };
        let at = self.cell(rowid, self.lead.len() + local + link);
        let (lead, rest) = (self.lead.len(), at + self.lead.len() + local);
        self.pages[at..at + lead].copy_from_slice(&self.lead);
        if link > 0 {
            let row = row.concat();
            self.pages[at + lead..rest].copy_from_slice(&row[..local]);
            return self.overflow(rest, &row[local..]);
        }
        let mut cell = &mut self.pages[at + lead..rest];
        for piece in row {
            let (to, behind) = cell.split_at_mut(piece.len());
            to.copy_from_slice(piece);
            cell = behind;
        }
    }

    /// Room for a cell, in a new leaf where the last is full.
    fn cell(&mut self, rowid: i64, bytes: usize) -> usize {
        let pointers = HEAD + 2 * (self.cells + 1);
        if self.ends.is_empty() || self.top < pointers + bytes {
            let page = self.begin();
            self.ends.push((page, rowid));
            (self.cells, self.top) = (0, self.page.usable);
        }
        let end = self.ends.last_mut().expect("a leaf was begun");
        let leaf = end.0 * self.page.size;
        (end.1, self.top, self.cells) = (rowid, self.top - bytes, self.cells + 1);
        let mut note = |at: usize, value: usize| {
            // 65,536 is noted as 0.
            self.pages[leaf + at..leaf + at + 2].copy_from_slice(&(value as u16).to_be_bytes());
        };
        note(3, self.cells);
        note(5, self.top);
        note(HEAD + 2 * (self.cells - 1), self.top);
        self.pages[leaf] = LEAF;
        leaf + self.top
    }

    /// A page with nothing in it.
    fn begin(&mut self) -> usize {
        let page = self.len();
        self.pages.resize(self.pages.len() + self.page.size, 0);
        page
    }

    /// Puts the rest of a row into pages of which each says the next; `link` is where the first is to be said.
    fn overflow(&mut self, mut link: usize, rest: &[u8]) {
        for piece in rest.chunks(self.page.usable - 4) {
            let page = self.begin();
            self.links.push((link, page));
            link = page * self.page.size;
            self.pages[link + 4..link + 4 + piece.len()].copy_from_slice(piece);
        }
    }

    /// How many pages.
    pub(super) fn len(&self) -> usize {
        self.pages.len() / self.page.size
    }

    /// How many bytes they take.
    pub(super) fn bytes(&self) -> usize {
        self.pages.len()
    }

    /// How many of them are leaves.
    pub(super) fn leaves(&self) -> usize {
        self.ends.len()
    }

    /// The pages, now that it is known which number each has in the file; and of each leaf its number and its last row.
    pub(super) fn placed(mut self, numbers: &[u32]) -> (Vec<u8>, Vec<(u32, i64)>) {
        for (at, page) in self.links {
            self.pages[at..at + 4].copy_from_slice(&numbers[page].to_be_bytes());
        }
        let ends = self.ends.iter().map(|end| (numbers[end.0], end.1));
        (self.pages, ends.collect())
    }
}

/// How many bytes of a row of `row` bytes stay in its leaf, of which so many are for use.
fn local(usable: usize, row: usize) -> usize {
    if row <= usable - 35 {
        return row;
    }
    let least = (usable - 12) * 32 / 255 - 23;
    let fits = least + (row - least) % (usable - 4);
    if fits <= usable - 35 { fits } else { least }
}
