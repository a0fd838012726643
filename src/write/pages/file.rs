//! A file in the making, and the pages that are put behind those that SQLite made.

use super::leaves::{Leaves, Page};
use super::varint;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::fs::{File, OpenOptions};
use std::io::{Error, ErrorKind, Read, Result, Seek, SeekFrom, Write};
use std::ops::Range;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{self, Receiver, SyncSender};
use std::thread::{self, JoinHandle};

/// So many rows are turned into pages by one thread in one go. Each go begins a page, so it must not hang on the number of threads.
const TOGETHER: usize = 2048;

/// On a byte of this page SQLite takes its locks; nothing may be in it.
const LOCK_BYTE: u64 = 1 << 30;

/// No more goes than this lie laid until the thread that writes takes them.
const MOST_WAITING: usize = 8;

/// After so many bytes the disk is set to work.
const FLUSH: usize = 32 << 20;

/// Bytes of an interior page before the places of its cells.
const HEAD: usize = 12;
const INTERIOR: u8 = 0x05;

/// A file that SQLite made and has closed. It is whole again after [`PageFile::finish`].
pub(crate) struct PageFile {
    file: File,
    page: Page,
    /// Number of the last page.
    last: u32,
    /// How often the file was changed.
    changes: u32,
    /// Where the file is to last.
    flush: Option<Flush>,
}

/// What is written is put on the disk meanwhile, so that less of it is left to wait for.
#[derive(Default)]
struct Flush {
    /// Bytes written since it last began.
    behind: usize,
    running: Option<JoinHandle<Result<()>>>,
}

impl PageFile {
    /// Opens the file.
    ///
    /// # Errors
    /// It cannot be read, or is no database of plain pages: one that keeps a map of what points to each.
    pub fn open(path: &Path) -> Result<PageFile> {
        let mut file = OpenOptions::new().read(true).write(true).open(path)?;
        let mut head = [0; 100];
        file.read_exact(&mut head)?;
        let number = |at: usize| u32::from_be_bytes([0, 1, 2, 3].map(|i| head[at + i]));
        let size = match u16::from_be_bytes([head[16], head[17]]) {
            1 => 65_536,
            size => usize::from(size),
        };
        let (kept, map) = (usize::from(head[20]), number(52));
        if !head.starts_with(b"SQLite format 3\0") || map != 0 {
            return Err(Error::new(
                ErrorKind::InvalidData,
                "no database of plain pages",
            ));
        }
        Ok(PageFile {
            file,
            page: Page {
                size,
                usable: size - kept,
            },
            last: number(28),
            changes: number(24),
            flush: None,
        })
    }

    /// The file is to last: what is written goes on to the disk at once.
    pub fn lasting(mut self) -> PageFile {
        self.flush = Some(Flush::default());
        self
    }

    /// Fills the table whose root is this page with `rows` rows. What was in the root is lost, so it must be the table's only page.
    ///
    /// `put` adds the rows of a range to leaves, by rising number; it is called for all ranges in parallel. What it says of
    /// each is given back in their order. The pages are the same for any number of threads.
    pub fn fill<T: Send>(
        &mut self,
        root: u32,
        rows: usize,
        put: impl Fn(Range<usize>, &mut Leaves) -> T + Sync,
    ) -> Result<Vec<T>> {
        let (page, goes) = (self.page, rows.div_ceil(TOGETHER));
        let next = AtomicUsize::new(0);
        let mut desk = Desk {
            file: self,
            root,
            alone: goes == 1,
            said: Vec::with_capacity(goes),
            ends: vec![],
        };
        // One thread writes and all others lay, for the disk keeps whoever writes waiting.
        let (laid, waiting) = mpsc::sync_channel(MOST_WAITING);
        let hand = |laid: &mut SyncSender<(usize, Leaves, T)>, _: usize| {
            let mut room = 0;
            loop {
                let go = next.fetch_add(1, Ordering::Relaxed);
                if go >= goes {
                    return;
                }
                let mut leaves = Leaves::with_room(page, room);
                let of = put(go * TOGETHER..rows.min((go + 1) * TOGETHER), &mut leaves);
                room = leaves.bytes();
                if laid.send((go, leaves, of)).is_err() {
                    return; // it could not be written, as the desk will tell
                }
            }
        };
        thread::scope(|scope| {
            let written = scope.spawn(|| desk.write(waiting));
            let hands = rayon::current_num_threads().min(goes);
            let hands = (0..hands).into_par_iter().with_max_len(1);
            hands.for_each_with(laid, hand);
            written.join().expect("writing does not panic")
        })?;
        let Desk { said, mut ends, .. } = desk;
        while ends.len() > 1 {
            ends = self.level(root, &ends)?;
        }
        Ok(said)
    }

    /// Writes leaves and what belongs to them. One that is alone in its table is its root.
    fn place(
        &mut self,
        root: u32,
        all: bool,
        leaves: Leaves,
        ends: &mut Vec<(u32, i64)>,
    ) -> Result<()> {
        let alone = all && leaves.leaves() == 1;
        let mut numbers = if alone { vec![root] } else { vec![] };
        let rest = leaves.len() - numbers.len();
        numbers.extend((0..rest).map(|_| self.number()));
        let (pages, of) = leaves.placed(&numbers);
        ends.extend(of);
        self.write(&numbers, &pages)
    }

    /// Writes the pages above those that `below` tells of, each with its last row, evenly filled; tells the same of them.
    fn level(&mut self, root: u32, below: &[(u32, i64)]) -> Result<Vec<(u32, i64)>> {
        // The last page of each is said in its head, all others take a cell: number, last row, and its place.
        let cell = 4
            + 2
            + below
                .iter()
                .map(|b| varint::size(b.1 as u64))
                .max()
                .unwrap_or(9);
        let most = (self.page.usable - HEAD) / cell + 1;
        let n = below.len().div_ceil(most);
        let (mut pages, mut above) = (Vec::with_capacity(n * self.page.size), vec![]);
        for i in 0..n {
            let those = &below[below.len() * i / n..below.len() * (i + 1) / n];
            let number = if n == 1 { root } else { self.number() };
            interior(those, self.page, &mut pages);
            above.push((number, those[those.len() - 1].1));
        }
        let numbers: Vec<u32> = above.iter().map(|a| a.0).collect();
        self.write(&numbers, &pages)?;
        Ok(above)
    }

    /// The next page that may be used.
    fn number(&mut self) -> u32 {
        let lock = (LOCK_BYTE / self.page.size as u64) as u32 + 1;
        self.last += if self.last + 1 == lock { 2 } else { 1 };
        self.last
    }

    /// Writes pages at their places, those that follow each other at once.
    fn write(&mut self, numbers: &[u32], pages: &[u8]) -> Result<()> {
        let mut pages = pages;
        for run in numbers.chunk_by(|a, b| a + 1 == *b) {
            let (these, rest) = pages.split_at(run.len() * self.page.size);
            let at = u64::from(run[0] - 1) * self.page.size as u64;
            self.file.seek(SeekFrom::Start(at))?;
            self.file.write_all(these)?;
            pages = rest;
        }
        let flush = self.flush.as_mut();
        flush.map_or(Ok(()), |f| {
            f.wrote(&self.file, numbers.len() * self.page.size)
        })
    }

    /// Tells SQLite of the pages: how many there are, and that the file was changed.
    pub fn finish(mut self) -> Result<()> {
        let changes = self.changes.wrapping_add(1).to_be_bytes();
        for (at, value) in [(24, changes), (28, self.last.to_be_bytes()), (92, changes)] {
            self.file.seek(SeekFrom::Start(at))?;
            self.file.write_all(&value)?;
        }
        self.flush.map_or(Ok(()), Flush::end)
    }
}

/// Where leaves are given their numbers and written, in the order of their rows.
struct Desk<'f, T> {
    file: &'f mut PageFile,
    root: u32,
    /// There is one go of rows only.
    alone: bool,
    /// What was said of each go that was written.
    said: Vec<T>,
    /// Number and last row of each leaf.
    ends: Vec<(u32, i64)>,
}

impl<T> Desk<'_, T> {
    /// Writes what was laid, each go when all before it are written, until no more comes.
    fn write(&mut self, laid: Receiver<(usize, Leaves, T)>) -> Result<()> {
        let mut early = BTreeMap::new();
        for (go, leaves, of) in laid {
            early.insert(go, (leaves, of));
            while let Some((leaves, of)) = early.remove(&self.said.len()) {
                self.file
                    .place(self.root, self.alone, leaves, &mut self.ends)?;
                self.said.push(of);
            }
        }
        Ok(())
    }
}

impl Flush {
    /// Begins anew where enough was written and the last is done.
    fn wrote(&mut self, file: &File, bytes: usize) -> Result<()> {
        self.behind += bytes;
        let busy = self.running.as_ref().is_some_and(|r| !r.is_finished());
        if self.behind >= FLUSH && !busy {
            std::mem::take(self).end()?;
            let file = file.try_clone()?;
            self.running = Some(thread::spawn(move || file.sync_data()));
        }
        Ok(())
    }

    /// Waits for the last; the system tells only once of what it could not put on the disk.
    fn end(self) -> Result<()> {
        let last = self.running.map(JoinHandle::join);
        last.map_or(Ok(()), |done| done.expect("flushing does not panic"))
    }
}

/// Appends an interior page over the pages that `below` tells of, two or more.
fn interior(below: &[(u32, i64)], page: Page, pages: &mut Vec<u8>) {
    let from = pages.len();
    pages.resize(from + page.size, 0);
    let (mut top, page) = (page.usable, &mut pages[from..]);
    let (last, others) = below
        .split_last()
        .expect("a page above others has some below it");
    let mut cell = vec![];
    for (i, (number, row)) in others.iter().enumerate() {
        cell.clear();
        cell.extend(number.to_be_bytes());
        varint::put(*row as u64, &mut cell);
        top -= cell.len();
        page[top..top + cell.len()].copy_from_slice(&cell);
        page[HEAD + 2 * i..][..2].copy_from_slice(&(top as u16).to_be_bytes());
    }
    page[0] = INTERIOR;
    page[3..5].copy_from_slice(&(others.len() as u16).to_be_bytes());
    page[5..7].copy_from_slice(&(top as u16).to_be_bytes());
    page[8..12].copy_from_slice(&last.0.to_be_bytes());
}
