//! Service records of a GeoPackage, straight from its blobs into flat arrays, on every core at once.
//!
//! Rows of the usual shape (a line or lines of the plain kind, numbers where numbers belong) are read here; any other row is
//! handed to the general reader, which finds the same faults in it as for a plan. Ranges of rows are read side by side
//! (`ranges`) and put together in order.

use super::digest::Digest;
use super::fault::{Faults, ReadError};
use super::features::{Direct, Odd, Way};
use super::geopackage::{GeoPackage, value};
use super::line_blob::Lines;
use super::nearby::Nearby;
use super::plain_values::{Words, number, text};
use super::ranges::Ranges;
use super::roles::Source;
use super::rows::Rows;
use super::shape::Bounds;
use super::site::Context;
use super::store::{Store, unreadable};
use super::{services, wkb};
use crate::site::{Kind, Quality, Records};
use rusqlite::Connection;
use rusqlite::types::ValueRef;
use std::sync::Arc;

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
        rows: Rows::of(file, &table, source),
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

/// What came of one range.
struct Part {
    records: Records,
    faults: Faults,
    digest: Digest,
    whole: Bounds,
    features: u64,
}

impl Default for Part {
    fn default() -> Part {
        Part {
            records: Records::default(),
            faults: Faults::default(),
            digest: Digest::default(),
            whole: Bounds::NOTHING,
            features: 0,
        }
    }
}

/// Where the values of a row stand.
struct Places {
    kind: Option<usize>,
    diameter: Option<usize>,
    cover: Option<usize>,
    quality: Option<usize>,
    owner: Option<usize>,
    status: Option<usize>,
}

impl Places {
    fn of(source: &Source) -> Places {
        let at = |name: &str| {
            source
                .columns
                .iter()
                .position(|c| c.0 == name)
                .map(|i| i + 1)
        };
        Places {
            kind: at("kind"),
            diameter: at("diameter_mm"),
            cover: at("cover_m"),
            quality: at("quality"),
            owner: at("owner"),
            status: at("status"),
        }
    }
}

struct Job<'a> {
    rows: Rows<'a>,
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
        ranges.read(file, || {
            let (mut reader, ids) = (Reader::new(self), &ids);
            move |db: &Connection, range| {
                let some = ids.as_ref().map(|ids| within(ids, range));
                reader.range(db, range, some)
            }
        })
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
    /// Memory for pages.
    pages: Vec<u8>,
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
            pages: vec![],
        }
    }

    fn range(
        &mut self,
        db: &Connection,
        (from, to): (i64, i64),
        ids: Option<&[i64]>,
    ) -> rusqlite::Result<Part> {
        let job = self.job;
        let Some(ids) = ids else {
            let mut bytes = std::mem::take(&mut self.pages);
            let see = |fid, row: &[ValueRef], part: &mut Part| self.row(fid, row, part);
            let part = (job.rows).of_range(db, (from, to), &mut bytes, Part::default, see);
            self.pages = bytes;
            return part;
        };
        let mut part = Part::default();
        for id in ids {
            (job.rows).ask(db, *id, |fid, row| self.row(fid, row, &mut part))?;
        }
        Ok(part)
    }

    /// A row: its shape, then its values.
    fn row(&mut self, fid: i64, row: &[ValueRef], part: &mut Part) {
        let lines = match row[0] {
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
                return;
            }
        }
        let done = lines.is_some_and(|lines| self.usual(row, fid, &lines, part));
        if !done && !self.odd(row, fid, part) {
            return;
        }
        part.features += 1;
        self.digest(row, fid, part);
    }

    /// Adds a row of the usual shape; false where it is not.
    fn usual(&mut self, row: &[ValueRef], fid: i64, lines: &Lines, part: &mut Part) -> bool {
        let places = &self.job.places;
        let at = |place: Option<usize>| place.map_or(ValueRef::Null, |i| row[i]);
        let z_unit_m = self.job.source.z_unit_m.unwrap_or(1.0);
        let (status, kind, quality) = (at(places.status), at(places.kind), at(places.quality));
        let removed = match status {
            ValueRef::Null => Some(false),
            ValueRef::Text(t) => self
                .statuses
                .of(t, |s| Some(s.trim().to_lowercase() == "removed")),
            _ => None,
        };
        if removed == Some(true) {
            return true;
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
        let owner = text(at(places.owner));
        let diameter = number(at(places.diameter)).filter(|d| d.is_none_or(|d| d > 0.0));
        let cover = number(at(places.cover))
            .map(|c| c.map(|c| c * z_unit_m))
            .filter(|c| c.is_none_or(|c| c >= 0.0));
        let (Some(_), Some(kind), Some(quality), Some(owner), Some(diameter_mm), Some(cover_m)) =
            (removed, kind, quality, owner, diameter, cover)
        else {
            return false;
        };
        let layer = part.records.layer(&self.layer, self.job.source.z_means);
        let mut record = Records::record(fid, layer, (kind, quality));
        (record.diameter_mm, record.cover_m) = (diameter_mm, cover_m);
        part.records.begin(record, owner);
        for line in lines.parts(z_unit_m) {
            part.records.begin_part(line.levels);
            (part.records.points).extend(line.points(self.job.way.unit_m));
        }
        true
    }

    /// Adds a row by the general way; false where it lies elsewhere.
    fn odd(&mut self, row: &[ValueRef], fid: i64, part: &mut Part) -> bool {
        let wkb = match row[0] {
            ValueRef::Null => Ok(None),
            ValueRef::Blob(b) => wkb::geopackage(b).map(|w| Some(w.0)),
            _ => Err("it is no geometry".to_string()),
        };
        let values = row[1..].iter().map(|v| value(*v)).collect();
        let touches = |b: &Bounds| self.job.near.touches(b);
        let single = self
            .job
            .way
            .single(self.job.source, Odd { fid, wkb, values }, touches);
        let Some(table) = single else {
            return false;
        };
        let mut cells = table.cells(&table.rows[0], &mut part.faults);
        if let Some(service) = services::service(&mut cells) {
            part.records.add(&service);
        }
        true
    }

    fn digest(&mut self, row: &[ValueRef], fid: i64, part: &mut Part) {
        let blob = match row[0] {
            ValueRef::Blob(b) => wkb::geopackage(b).map_or(&b[..0], |w| w.0),
            _ => &[],
        };
        self.bytes.clear();
        for value in &row[1..] {
            let mut add = |tag: u8, rest: &[u8]| {
                self.bytes.push(tag);
                self.bytes.extend((rest.len() as u64).to_le_bytes());
                self.bytes.extend(rest);
            };
            match *value {
                ValueRef::Null => add(b'n', &[]),
                ValueRef::Integer(n) => add(b'i', &n.to_le_bytes()),
                ValueRef::Real(r) => add(b'r', &r.to_le_bytes()),
                ValueRef::Text(t) => add(b't', t),
                ValueRef::Blob(b) => add(b'b', b),
            }
        }
        part.digest.bytes(fid, blob, &self.bytes);
    }
}

fn put_together(cx: &mut Context, source: &Source, way: &Way, parts: Vec<Part>) -> Records {
    let mut records = Records::default();
    let (mut digest, mut features, mut whole) = (Digest::default(), 0, Bounds::NOTHING);
    let mut of_parts = Vec::with_capacity(parts.len());
    for part in parts {
        of_parts.push(part.records);
        cx.faults.0.extend(part.faults.0);
        digest.of_part(part.digest);
        features += part.features;
        whole.join(&part.whole);
    }
    records.append_all(of_parts);
    cx.note(source, &way.carrier, &whole, (features, digest.hex()));
    records
}
