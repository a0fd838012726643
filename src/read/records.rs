//! Service records of a GeoPackage, straight from its blobs into flat arrays, on every core at once.
//!
//! Rows of the usual shape (a line or lines of the plain kind, numbers where numbers belong) are read here; any other row is
//! handed to the general reader, which finds the same faults in it as for a plan. Rows are numbered in ranges of fid; each range is
//! read by one thread through a connection of its own, and the ranges are put together in order, so that the number of
//! threads changes nothing.

use super::digest::Digest;
use super::fault::{Faults, ReadError};
use super::features::{Direct, Odd, Way};
use super::geopackage::{GeoPackage, value};
use super::nearby::Nearby;
use super::roles::Source;
use super::shape::Bounds;
use super::site::{Context, Input};
use super::store::{Store, unreadable};
use super::{services, wkb};
use crate::site::{Kind, Quality, Records};
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row};
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Fewer features a range than this are not worth a range.
const RANGE: i64 = 4096;
/// No more ranges than this, however far apart the fids lie.
const MOST_RANGES: i64 = 4096;
/// The index is asked where the bores' straights, times this, are fewer than the features.
const SPARSE: usize = 60;

/// Reads a layer of services near the bores. None where it must be read the general way: another format or coordinate system,
/// a view, features without numbers.
pub(super) fn records(
    cx: &mut Context,
    source: &Source,
    near: &Nearby,
) -> Result<Option<Records>, ReadError> {
    let numbered = match &cx.stores.files[source.store].1 {
        Store::Gpkg(file) => file.numbered(&source.table),
        Store::Ogr(_) => None,
    };
    let before = cx.faults.0.len();
    let whole_way = Way::of(cx, source)?;
    let (Some(table), Some(way)) = (numbered, Direct::of(&whole_way)) else {
        // What was noted of the layer is noted again by the general way.
        cx.faults.0.truncate(before);
        return Ok(None);
    };
    let Store::Gpkg(file) = &cx.stores.files[source.store].1 else {
        return Ok(None);
    };
    let fail = |e: rusqlite::Error| {
        unreadable(
            &way.place.file.clone().unwrap_or_default(),
            Some(&source.table),
            e,
        )
    };
    let ranges = file.fid_range(&table).map_err(fail)?.map(Ranges::of);
    let ids = match ranges {
        Some(_) => file
            .near_by_index(&table, near, way.unit_m, SPARSE)
            .map_err(fail)?,
        None => None,
    };
    let job = Job {
        sql: file.select(&table, &source.columns, ids.is_some()),
        source,
        way: &way,
        near,
        places: Places::of(source),
    };
    let parts = match ranges {
        Some(ranges) => job.all(file, ranges, ids).map_err(fail)?,
        None => vec![],
    };
    Ok(Some(put_together(cx, source, &whole_way, parts)))
}

/// Ranges of fid.
#[derive(Clone, Copy)]
struct Ranges {
    first: i64,
    step: i64,
    n: usize,
}

impl Ranges {
    fn of((first, last): (i64, i64)) -> Ranges {
        let span = last.saturating_sub(first).saturating_add(1);
        let step = RANGE.max(span / MOST_RANGES + 1);
        Ranges {
            first,
            step,
            n: (span.saturating_sub(1) / step + 1) as usize,
        }
    }

    /// From, up to and with.
    fn range(&self, i: usize) -> (i64, i64) {
        let from = self.first + self.step * i as i64;
        (from, from.saturating_add(self.step - 1))
    }
}

/// What came of one range.
struct Part {
    records: Records,
    faults: Faults,
    digest: Digest,
    whole: Bounds,
    features: u64,
}

/// Where the values of a row stand in the query.
struct Places {
    kind: Option<usize>,
    diameter: Option<usize>,
    cover: Option<usize>,
    quality: Option<usize>,
    owner: Option<usize>,
    status: Option<usize>,
    n: usize,
}

impl Places {
    fn of(source: &Source) -> Places {
        let at = |name: &str| {
            source
                .columns
                .iter()
                .position(|c| c.0 == name)
                .map(|i| i + 2)
        };
        Places {
            kind: at("kind"),
            diameter: at("diameter_mm"),
            cover: at("cover_m"),
            quality: at("quality"),
            owner: at("owner"),
            status: at("status"),
            n: source.columns.len(),
        }
    }
}

struct Job<'a> {
    sql: String,
    source: &'a Source,
    way: &'a Direct,
    near: &'a Nearby,
    places: Places,
}

impl Job<'_> {
    /// Every range, or of every range the ids given (ascending).
    fn all(
        &self,
        file: &GeoPackage,
        ranges: Ranges,
        ids: Option<Vec<i64>>,
    ) -> rusqlite::Result<Vec<Part>> {
        let next = AtomicUsize::new(0);
        let parts: Mutex<Vec<(usize, Part)>> = Mutex::default();
        let work = |db: &Connection| -> rusqlite::Result<()> {
            let mut reader = Reader::new(self);
            loop {
                let i = next.fetch_add(1, Ordering::Relaxed);
                if i >= ranges.n {
                    return Ok(());
                }
                let range = ranges.range(i);
                let some = ids.as_ref().map(|ids| within(ids, range));
                let part = reader.range(db, range, some)?;
                parts.lock().expect("no reader panics").push((i, part));
            }
        };
        let helpers: Vec<Connection> = (1..rayon::current_num_threads().min(ranges.n))
            .map_while(|_| file.opened.again())
            .collect();
        std::thread::scope(|scope| {
            let work = &work;
            let hands: Vec<_> = helpers
                .into_iter()
                .map(|db| scope.spawn(move || work(&db)))
                .collect();
            let mine = work(&file.opened.db);
            let theirs = hands
                .into_iter()
                .map(|h| h.join().expect("no reader panics"));
            theirs.fold(mine, |all, one| all.and(one))
        })?;
        let mut parts = parts.into_inner().expect("no reader panics");
        parts.sort_by_key(|p| p.0);
        Ok(parts.into_iter().map(|p| p.1).collect())
    }
}

fn within(ids: &[i64], (from, to): (i64, i64)) -> &[i64] {
    let first = ids.partition_point(|id| *id < from);
    let last = ids.partition_point(|id| *id <= to);
    &ids[first..last]
}

/// One thread's reading, with the words it has met.
struct Reader<'j> {
    job: &'j Job<'j>,
    layer: Arc<str>,
    kinds: Words<Kind>,
    qualities: Words<Quality>,
    /// Whether a service of this status is there no longer.
    statuses: Words<bool>,
    bytes: Vec<u8>,
}

impl<'j> Reader<'j> {
    fn new(job: &'j Job<'j>) -> Reader<'j> {
        Reader {
            job,
            layer: job.source.table.as_str().into(),
            kinds: Words::default(),
            qualities: Words::default(),
            statuses: Words::default(),
            bytes: vec![],
        }
    }

    fn range(
        &mut self,
        db: &Connection,
        (from, to): (i64, i64),
        ids: Option<&[i64]>,
    ) -> rusqlite::Result<Part> {
        let mut part = Part {
            records: Records::default(),
            faults: Faults::default(),
            digest: Digest::default(),
            whole: Bounds::NOTHING,
            features: 0,
        };
        let mut ask = db.prepare_cached(&self.job.sql)?;
        let Some(ids) = ids else {
            let mut rows = ask.query([from, to])?;
            while let Some(row) = rows.next()? {
                self.row(row, &mut part)?;
            }
            return Ok(part);
        };
        for id in ids {
            let mut rows = ask.query([id])?;
            while let Some(row) = rows.next()? {
                self.row(row, &mut part)?;
            }
        }
        Ok(part)
    }

    fn row(&mut self, row: &Row, part: &mut Part) -> rusqlite::Result<()> {
        let fid: i64 = row.get(0)?;
        let blob = row.get_ref(1)?;
        let lines = match blob {
            ValueRef::Blob(b) => Lines::of(b),
            _ => None,
        };
        let unit_m = self.job.way.unit_m;
        if let Some(lines) = &lines {
            let b = lines.bounds;
            let metres = Bounds {
                min: b.min.map(|v| v * unit_m),
                max: b.max.map(|v| v * unit_m),
            };
            part.whole.join(&b);
            if !self.job.near.touches(&metres) {
                return Ok(());
            }
        }
        let done = match &lines {
            Some(lines) => self.usual(row, fid, lines, part)?,
            None => false,
        };
        if !done && !self.odd(row, fid, part)? {
            return Ok(());
        }
        part.features += 1;
        self.digest(row, fid, part)
    }

    /// Adds a row of the usual shape; false where it is not.
    fn usual(
        &mut self,
        row: &Row,
        fid: i64,
        lines: &Lines,
        part: &mut Part,
    ) -> rusqlite::Result<bool> {
        let places = &self.job.places;
        let at = |place: Option<usize>| place.map_or(Ok(ValueRef::Null), |i| row.get_ref(i));
        let z_unit_m = self.job.source.z_unit_m.unwrap_or(1.0);
        let (status, kind, quality) = (at(places.status)?, at(places.kind)?, at(places.quality)?);
        let removed = match status {
            ValueRef::Null => Some(false),
            ValueRef::Text(t) => self
                .statuses
                .of(t, |s| Some(s.trim().to_lowercase() == "removed")),
            _ => None,
        };
        if removed == Some(true) {
            return Ok(true);
        }
        let kind = match kind {
            ValueRef::Text(t) => self.kinds.of(t, |s| s.parse().ok()),
            _ => None,
        };
        let quality = match quality {
            ValueRef::Null => Some(Quality::Unknown),
            ValueRef::Text(t) => self.qualities.of(t, |s| match s.trim() {
                "" => Some(Quality::Unknown),
                word => word.parse().ok(),
            }),
            _ => None,
        };
        let owner = match at(places.owner)? {
            ValueRef::Null => Some(None),
            ValueRef::Text(t) => std::str::from_utf8(t)
                .ok()
                .map(|t| Some(t.trim()).filter(|t| !t.is_empty())),
            _ => None,
        };
        let diameter = number(at(places.diameter)?).filter(|d| d.is_none_or(|d| d > 0.0));
        let cover = number(at(places.cover)?)
            .map(|c| c.map(|c| c * z_unit_m))
            .filter(|c| c.is_none_or(|c| c >= 0.0));
        let (Some(_), Some(kind), Some(quality), Some(owner), Some(diameter_mm), Some(cover_m)) =
            (removed, kind, quality, owner, diameter, cover)
        else {
            return Ok(false);
        };
        let layer = part.records.layer(&self.layer, self.job.source.z_means);
        let mut record = Records::record(fid, layer, (kind, quality));
        (record.diameter_mm, record.cover_m) = (diameter_mm, cover_m);
        part.records.begin(record, owner);
        lines.add_to(&mut part.records, self.job.way.unit_m, z_unit_m);
        Ok(true)
    }

    /// Adds a row by the general way; false where it lies elsewhere.
    fn odd(&mut self, row: &Row, fid: i64, part: &mut Part) -> rusqlite::Result<bool> {
        let blob = row.get_ref(1)?;
        let wkb = match blob {
            ValueRef::Null => Ok(None),
            ValueRef::Blob(b) => wkb::geopackage(b).map(|w| Some(w.0)),
            _ => Err("it is no geometry".to_string()),
        };
        let values = (0..self.job.places.n)
            .map(|i| row.get_ref(i + 2).map(value))
            .collect::<Result<_, _>>()?;
        let touches = |b: &Bounds| self.job.near.touches(b);
        let single = self
            .job
            .way
            .single(self.job.source, Odd { fid, wkb, values }, touches);
        let Some(table) = single else {
            return Ok(false);
        };
        let mut cells = table.cells(&table.rows[0], &mut part.faults);
        if let Some(service) = services::service(&mut cells) {
            part.records.add(&service);
        }
        Ok(true)
    }

    fn digest(&mut self, row: &Row, fid: i64, part: &mut Part) -> rusqlite::Result<()> {
        let blob = match row.get_ref(1)? {
            ValueRef::Blob(b) => wkb::geopackage(b).map_or(&b[..0], |w| w.0),
            _ => &[],
        };
        self.bytes.clear();
        for i in 0..self.job.places.n {
            let mut add = |tag: u8, rest: &[u8]| {
                self.bytes.push(tag);
                self.bytes.extend((rest.len() as u64).to_le_bytes());
                self.bytes.extend(rest);
            };
            match row.get_ref(i + 2)? {
                ValueRef::Null => add(b'n', &[]),
                ValueRef::Integer(n) => add(b'i', &n.to_le_bytes()),
                ValueRef::Real(r) => add(b'r', &r.to_le_bytes()),
                ValueRef::Text(t) => add(b't', t),
                ValueRef::Blob(b) => add(b'b', b),
            }
        }
        part.digest.bytes(fid, blob, &self.bytes);
        Ok(())
    }
}

/// A number or nothing; none where it is neither.
fn number(v: ValueRef) -> Option<Option<f64>> {
    match v {
        ValueRef::Null => Some(None),
        ValueRef::Integer(n) => Some(Some(n as f64)),
        ValueRef::Real(r) if r.is_finite() => Some(Some(r)),
        _ => None,
    }
}

/// What words mean, each looked up once.
struct Words<T>(Vec<(Vec<u8>, Option<T>)>);

impl<T> Default for Words<T> {
    fn default() -> Words<T> {
        Words(vec![])
    }
}

impl<T: Copy> Words<T> {
    fn of(&mut self, word: &[u8], mean: impl FnOnce(&str) -> Option<T>) -> Option<T> {
        if let Some((_, known)) = self.0.iter().find(|w| w.0 == word) {
            return *known;
        }
        let meaning = std::str::from_utf8(word).ok().and_then(mean);
        // A column of free text is no list of words.
        if self.0.len() < 32 {
            self.0.push((word.to_vec(), meaning));
        }
        meaning
    }
}

/// A line, or lines, of the plain kind in a GeoPackage blob: little-endian, every part of two points or more, all finite.
struct Lines<'b> {
    parts: Vec<&'b [u8]>,
    /// Bytes of a point: two or three numbers.
    step: usize,
    bounds: Bounds,
}

impl<'b> Lines<'b> {
    fn of(blob: &'b [u8]) -> Option<Lines<'b>> {
        let [b'G', b'P', _, flags, ..] = blob else {
            return None;
        };
        // Extended, empty, or big-endian.
        if flags & 0x31 != 1 {
            return None;
        }
        let envelope = [0, 32, 48, 48, 64].get(usize::from((flags >> 1) & 7))?;
        let mut rest = blob.get(8 + envelope..)?;
        let (code, step) = head(&mut rest)?;
        let mut lines = Lines {
            parts: vec![],
            step,
            bounds: Bounds::NOTHING,
        };
        match code {
            2 => lines.part(&mut rest)?,
            5 => {
                for _ in 0..count(&mut rest)? {
                    let inner = head(&mut rest)?;
                    (inner == (2, step)).then_some(())?;
                    lines.part(&mut rest)?;
                }
            }
            _ => return None,
        }
        (!lines.parts.is_empty() && rest.is_empty()).then_some(lines)
    }

    fn part(&mut self, rest: &mut &'b [u8]) -> Option<()> {
        let n = count(rest)?;
        let (points, more) = rest.split_at_checked(n.checked_mul(self.step)?)?;
        *rest = more;
        if n < 2 {
            return None;
        }
        for p in points.chunks_exact(self.step) {
            let (x, y) = (real(p, 0), real(p, 8));
            if !(x.is_finite() && y.is_finite()) {
                return None;
            }
            self.bounds.add(x, y);
        }
        self.parts.push(points);
        Some(())
    }

    fn add_to(&self, records: &mut Records, unit_m: f64, z_unit_m: f64) {
        for points in &self.parts {
            let z = |p: &[u8]| {
                if self.step == 24 {
                    real(p, 16) * z_unit_m
                } else {
                    f64::NAN
                }
            };
            let all = || points.chunks_exact(self.step);
            let levels = all().all(|p| z(p).is_finite()) && all().any(|p| z(p) != 0.0);
            records.begin_part(levels);
            records.points.extend(all().map(|p| {
                let level = if levels { z(p) } else { 0.0 };
                [real(p, 0) * unit_m, real(p, 8) * unit_m, level]
            }));
        }
    }
}

/// Type of a little-endian geometry without its dimensions, and bytes of a point.
fn head(rest: &mut &[u8]) -> Option<(u32, usize)> {
    let (order, more) = rest.split_first()?;
    *rest = more;
    let code = count(rest)? as u32;
    if *order != 1 {
        return None;
    }
    match code {
        2 | 5 => Some((code, 16)),
        1002 | 1005 => Some((code - 1000, 24)),
        0x8000_0002 | 0x8000_0005 => Some((code & 7, 24)),
        _ => None,
    }
}

fn count(rest: &mut &[u8]) -> Option<usize> {
    let (n, more) = rest.split_at_checked(4)?;
    *rest = more;
    Some(u32::from_le_bytes(n.try_into().ok()?) as usize)
}

fn real(p: &[u8], at: usize) -> f64 {
    f64::from_le_bytes(p[at..at + 8].try_into().expect("eight bytes"))
}

fn put_together(cx: &mut Context, source: &Source, way: &Way, parts: Vec<Part>) -> Records {
    let mut records = Records::default();
    let sum = |of: fn(&Records) -> usize| parts.iter().map(|p| of(&p.records)).sum();
    records.reserve(
        sum(|r| r.all.len()),
        sum(|r| r.parts.len()),
        sum(|r| r.points.len()),
    );
    let (mut digest, mut features, mut whole) = (Digest::default(), 0, Bounds::NOTHING);
    for part in parts {
        records.append(part.records);
        cx.faults.0.extend(part.faults.0);
        digest.of_part(part.digest);
        features += part.features;
        whole.join(&part.whole);
    }
    cx.extent
        .join(&way.carrier.bounds(&whole).unwrap_or(Bounds::NOTHING));
    cx.inputs.push(Input {
        layer: source.table.clone(),
        file: cx.stores.files[source.store].0.clone(),
        role: source.role,
        features,
        sha256: digest.hex(),
    });
    records
}
