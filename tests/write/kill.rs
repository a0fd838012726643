//! Killed at any moment, a run leaves the file wholly old or wholly new.

use crate::dump::{Dump, integrity, whole};
use crate::site::Site;
use crate::synthetic::{self, Seeded};
use crate::victim::Orders;
use gdal::{Dataset, vector::LayerAccess};
use pitwright::write::plan_tables;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// About 27 000 rows, laid down in a draft and taken over from there, and 18 000, inserted one by one. Both are many times the
/// page cache, so that pages reach the file long before the commit.
const LAID_DOWN: usize = 2000;
const INSERTED: usize = 1200;

/// When the kill fell, told from outside by the log and by what is in the file.
#[derive(Default, Debug)]
struct Fell {
    before: usize,
    within: usize,
    after: usize,
}

/// Runs the victim unhurt; how long it takes.
fn unhurt(orders: &Orders) -> Duration {
    let began = Instant::now();
    assert_eq!(orders.run(&[]), "wrote 13 layers");
    began.elapsed()
}

fn kill_after(orders: &Orders, moment: Duration) {
    let mut child = orders.command(&[]).spawn().unwrap();
    std::thread::sleep(moment);
    child.kill().unwrap(); // SIGKILL
    child.wait().unwrap();
}

/// Kills as soon as so much is written; how much is asked again and again, since nobody knows how fast it goes.
fn kill_when(orders: &Orders, bytes: u64, written: impl Fn() -> u64) {
    let mut child = orders.command(&[]).spawn().unwrap();
    while written() < bytes && child.try_wait().unwrap().is_none() {
        std::thread::sleep(Duration::from_micros(100));
    }
    child.kill().unwrap(); // SIGKILL
    child.wait().unwrap();
}

/// `n` sizes, from the first byte to just past `whole`.
fn sizes(n: u64, whole: u64) -> impl Iterator<Item = u64> {
    (0..n).map(move |i| 1 + whole * i / (n - 2))
}

/// `n` moments from start to just past the end, one in each equal part.
fn moments(n: usize, whole: Duration, seed: u64) -> impl Iterator<Item = Duration> {
    let mut seeded = Seeded(seed);
    (0..n).map(move |i| whole.mul_f64(1.1 * (i as f64 + seeded.next()) / n as f64))
}

fn size(file: &Path) -> u64 {
    fs::metadata(file).map(|m| m.len()).unwrap_or(0)
}

/// A site with the result of an earlier, smaller plan.
fn site_with_result(wal: bool) -> Site {
    let site = Site::new();
    if wal {
        site.sql("PRAGMA journal_mode = WAL");
    }
    site.write(&plan_tables(&synthetic::plan(30, 4)), false)
        .unwrap();
    site
}

/// Every layer opens, for reading only, and has the features that its count promises.
fn readable(file: &Path) {
    let set = Dataset::open(file).unwrap();
    assert_eq!(set.layer_count(), 17);
    for mut layer in set.layers() {
        let promised = layer.feature_count() as usize;
        assert_eq!(layer.features().count(), promised, "{}", layer.name());
    }
}

/// A site whose copy is written, killed and looked at, time and again.
struct Range {
    site: Site,
    copy: Orders,
    old: Dump,
    new: Dump,
    /// Of a run left alone.
    time: Duration,
}

impl Range {
    fn new(wal: bool, bores: usize) -> Range {
        let site = site_with_result(wal);
        let copy = Orders {
            site: site.beside("copy.gpkg"),
            out: None,
            bores,
        };
        let old = whole(&site.file);
        fs::copy(&site.file, &copy.site).unwrap();
        let time = unhurt(&copy);
        let new = whole(&copy.site);
        assert!(old != new);
        Range {
            site,
            copy,
            old,
            new,
            time,
        }
    }

    fn end(&self, end: &str) -> PathBuf {
        self.site.beside(&format!("copy.gpkg{end}"))
    }

    /// One kill; whether it found the file new.
    fn kill(&self, moment: Duration, fell: &mut Fell) -> bool {
        self.kill_by(|copy| kill_after(copy, moment), fell)
    }

    fn kill_by(&self, kill: impl FnOnce(&Orders), fell: &mut Fell) -> bool {
        for end in ["", "-journal", "-wal", "-shm"] {
            let _ = fs::remove_file(self.end(end));
        }
        fs::copy(&self.site.file, &self.copy.site).unwrap();
        kill(&self.copy);
        assert!(!must_be_rolled_back(&self.end("-journal")));
        let written = size(&self.end("-wal")) > 0;
        readable(&self.copy.site);
        assert_eq!(integrity(&self.copy.site), ["ok"]);
        let new = wholly_new(&whole(&self.copy.site), &self.old, &self.new);
        fell.count(written, new);
        new
    }
}

/// A journal counts from when its first byte is written; until then it is passed over.
fn must_be_rolled_back(journal: &Path) -> bool {
    fs::read(journal).is_ok_and(|bytes| bytes.first().is_some_and(|b| *b != 0))
}

fn wholly_new(found: &Dump, old: &Dump, new: &Dump) -> bool {
    assert!(
        found == old || found == new,
        "neither the old result nor the new one"
    );
    found == new
}

impl Fell {
    fn count(&mut self, written: bool, new: bool) {
        match (new, written) {
            (true, _) => self.after += 1,
            (false, true) => self.within += 1,
            (false, false) => self.before += 1,
        }
    }
}

#[test]
fn fifty_kills_leave_a_file_old_or_new() {
    let (range, mut fell) = (Range::new(false, INSERTED), Fell::default());
    for moment in moments(50, range.time, 20) {
        range.kill(moment, &mut fell);
    }
    println!("kills from start to end: {fell:?}");
    assert!(
        fell.within >= 5,
        "too few kills fell within the transaction: {fell:?}"
    );
}

/// Sooner after a kill that came too late and later after one that came too soon, so that they close in on the commit.
#[test]
fn kills_round_the_commit_leave_a_file_old_or_new() {
    let range = Range::new(false, INSERTED);
    let (mut fell, mut moment, mut seeded) = (Fell::default(), range.time, Seeded(23));
    for _ in 0..40 {
        let late = range.kill(moment, &mut fell);
        let step = 0.08 * seeded.next();
        moment = moment.mul_f64(if late { 1.0 - step } else { 1.0 + step });
    }
    println!("kills round the commit: {fell:?}");
    assert!(
        fell.within >= 5 && fell.after >= 5,
        "the kills missed the commit: {fell:?}"
    );
}

/// Kills that wait for how far the log has come: how fast that goes nobody knows.
fn kill_as_the_log_grows(n: u64, wal: bool, bores: usize) {
    let range = Range::new(wal, bores);
    let (log, mut fell) = (range.end("-wal"), Fell::default());
    let whole = fs::metadata(&range.copy.site).unwrap().len();
    for bytes in sizes(n, whole) {
        range.kill_by(|copy| kill_when(copy, bytes, || size(&log)), &mut fell);
    }
    println!("kills as the log grows, {bores} bores: {fell:?}");
    assert!(
        fell.within >= n as usize / 2 && fell.after > 0,
        "the kills missed the transaction: {fell:?}"
    );
}

#[test]
fn kills_while_rows_are_taken_over_leave_a_file_old_or_new() {
    kill_as_the_log_grows(30, false, LAID_DOWN);
}

#[test]
fn kills_leave_a_file_in_wal_mode_old_or_new() {
    kill_as_the_log_grows(12, true, LAID_DOWN);
    kill_as_the_log_grows(12, true, INSERTED);
}

#[test]
fn kills_leave_a_new_file_whole_or_not_there() {
    let site = Site::new();
    let input = fs::read(&site.file).unwrap();
    let out = site.beside("out.gpkg");
    let orders = Orders {
        site: site.file.clone(),
        out: Some(out.clone()),
        bores: LAID_DOWN,
    };
    unhurt(&orders);
    let (new, length) = (whole(&out), size(&out));
    let mut fell = Fell::default();
    for bytes in sizes(20, length) {
        clear(&site);
        kill_when(&orders, bytes, || {
            drafts(&site).iter().map(|d| size(d)).sum()
        });
        let there = out.exists();
        assert!(!there || whole(&out) == new);
        fell.count(drafts(&site).iter().any(|d| size(d) > 0), there);
        assert!(input == fs::read(&site.file).unwrap());
    }
    println!("kills of a new file: {fell:?}");
    assert!(
        fell.within >= 10 && fell.after > 0,
        "the kills missed the making: {fell:?}"
    );
    clear(&site);
    unhurt(&orders);
}

/// Takes away all but the input.
fn clear(site: &Site) {
    drafts(site)
        .iter()
        .for_each(|d| fs::remove_file(d).unwrap());
    let _ = fs::remove_file(site.beside("out.gpkg"));
}

fn drafts(site: &Site) -> Vec<PathBuf> {
    let all = fs::read_dir(site.folder.path())
        .unwrap()
        .map(|e| e.unwrap().path());
    all.filter(|p| p.to_string_lossy().contains("out.gpkg."))
        .collect()
}
