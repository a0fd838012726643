//! Bores of a GeoPackage, straight from its rows and on every core at once: a city's worth of designs has a hundred thousand.
//!
//! A row of the usual shape (a line or lines of the plain kind, numbers where numbers belong, words where words do) is read here; any
//! other row is handed to the general reader, which finds the same faults in it as ever.

use super::bores;
use super::digest::Digest;
use super::fault::{Faults, ReadError};
use super::features::{Direct, Odd, Way};
use super::geopackage::{GeoPackage, value};
use super::line_blob::Lines;
use super::plain_values::{self, number, text};
use super::ranges::Ranges;
use super::roles::Source;
use super::rows::Rows;
use super::shape::Bounds;
use super::site::Context;
use super::store::{Store, unreadable};
use super::wkb;
use crate::site::{FeatureRef, GivenBore, Polyline};
use geo::Coord;
use rusqlite::Connection;
use rusqlite::types::ValueRef;
use std::sync::Arc;

/// Reads a layer of bores. None where it must be read the general way: another format or coordinate system, a view, features
/// without numbers.
pub(super) fn bores(
    cx: &mut Context,
    source: &Source,
) -> Result<Option<Vec<GivenBore>>, ReadError> {
    let Store::Gpkg(file) = &cx.stores.files[source.store].1 else {
        return Ok(None);
    };
    let Some(table) = file.numbered(&source.table) else {
        return Ok(None);
    };
    let before = cx.faults.0.len();
    let whole_way = Way::of(cx, source)?;
    let Some(way) = Direct::of(&whole_way) else {
        // What was noted of the layer is noted again by the general way.
        cx.faults.0.truncate(before);
        return Ok(None);
    };
    let (path, Store::Gpkg(file)) = &cx.stores.files[source.store] else {
        return Ok(None);
    };
    let fail = |e: rusqlite::Error| unreadable(path, Some(&source.table), e);
    let ranges = file.fid_range(&table).map_err(fail)?.map(Ranges::of);
    let job = Job {
        rows: Rows::of(file, &table, source),
        source,
        way: &way,
        places: Places::of(source),
    };
    let parts = ranges.map_or(Ok(vec![]), |r| job.all(file, r));
    let parts = parts.map_err(fail)?;
    Ok(Some(put_together(cx, source, &whole_way, parts)))
}

/// What came of one range.
struct Part {
    bores: Vec<GivenBore>,
    faults: Faults,
    /// What the digest is of.
    bytes: Vec<u8>,
    /// Box of all that was read, in units of the layer.
    whole: Bounds,
    features: u64,
}

impl Default for Part {
    fn default() -> Part {
        Part {
            bores: vec![],
            faults: Faults::default(),
            bytes: vec![],
            whole: Bounds::NOTHING,
            features: 0,
        }
    }
}

/// Where the values of a row stand.
struct Places {
    bore_id: Option<usize>,
    diameters: [Option<usize>; 4],
    inverts: [Option<usize>; 2],
    launch: Option<usize>,
    pits: [Option<usize>; 2],
}

impl Places {
    fn of(source: &Source) -> Places {
        let at = |name: &str| {
            let place = source.columns.iter().position(|c| c.0 == name);
            place.map(|i| i + 1)
        };
        Places {
            bore_id: at("bore_id"),
            diameters: ["dn_mm", "od_mm", "id_mm", "bore_mm"].map(at),
            inverts: ["us_invert_m", "ds_invert_m"].map(at),
            launch: at("launch"),
            pits: ["launch_pit", "us_pit"].map(at),
        }
    }
}

struct Job<'a> {
    rows: Rows<'a>,
    source: &'a Source,
    way: &'a Direct,
    places: Places,
}

impl Job<'_> {
    fn all(&self, file: &GeoPackage, ranges: Ranges) -> rusqlite::Result<Vec<Part>> {
        ranges.read(file, || {
            let layer: Arc<str> = self.source.table.as_str().into();
            let mut bytes = vec![];
            move |db: &Connection, range| {
                let see = |fid, row: &[ValueRef], part: &mut Part| self.row(fid, row, &layer, part);
                (self.rows).of_range(db, range, &mut bytes, Part::default, see)
            }
        })
    }

    /// A row: its shape, then its values.
    fn row(&self, fid: i64, row: &[ValueRef], layer: &Arc<str>, part: &mut Part) {
        let lines = match row[0] {
            ValueRef::Blob(b) => Lines::of(b),
            _ => None,
        };
        let at = FeatureRef {
            layer: layer.clone(),
            fid,
        };
        match lines.and_then(|lines| Some((self.usual(row, at, &lines)?, lines))) {
            Some((bore, lines)) => {
                part.whole.join(&lines.bounds);
                part.bores.push(bore);
            }
            None => self.odd(row, fid, part),
        }
        part.features += 1;
        self.digest(row, fid, part);
    }

    /// A row of the usual shape; none where it is not.
    fn usual(&self, row: &[ValueRef], at: FeatureRef, lines: &Lines) -> Option<GivenBore> {
        let cell = |place: Option<usize>| place.map_or(ValueRef::Null, |i| row[i]);
        let z_unit_m = self.source.z_unit_m.unwrap_or(1.0);
        let mut diameters = [None; 4];
        for (mm, place) in diameters.iter_mut().zip(self.places.diameters) {
            *mm = number(cell(place)).filter(|d| d.is_none_or(|d| d > 0.0))?;
        }
        let mut inverts = [None; 2];
        for (level, place) in inverts.iter_mut().zip(self.places.inverts) {
            *level = number(cell(place))?.map(|z| z * z_unit_m);
        }
        let [launch_pit, us_pit] = self.places.pits;
        let pits = text(cell(launch_pit))?.zip(text(cell(us_pit))?);
        let launched_upstream = match text(cell(self.places.launch))? {
            Some("us") => true,
            Some("ds") => false,
            Some(_) => return None,
            None => pits.is_none_or(|(launch, us)| launch == us),
        };
        let [dn_mm, od_mm, id_mm, bore_mm] = diameters;
        Some(GivenBore {
            at,
            bore_id: text(cell(self.places.bore_id))?.map(String::from),
            dn_mm: dn_mm.map(|n| n.round() as u32),
            od_mm,
            id_mm,
            bore_mm,
            us_invert_m: inverts[0],
            ds_invert_m: inverts[1],
            launched_upstream,
            parts: self.parts(lines, z_unit_m),
        })
    }

    fn parts(&self, lines: &Lines, z_unit_m: f64) -> Vec<Polyline> {
        let line = |part: super::line_blob::Part| {
            let points = || part.points(self.way.unit_m);
            Polyline {
                points: points().map(|p| Coord { x: p[0], y: p[1] }).collect(),
                levels: part.levels.then(|| points().map(|p| p[2]).collect()),
            }
        };
        lines.parts(z_unit_m).map(line).collect()
    }

    /// Reads a row by the general way.
    fn odd(&self, row: &[ValueRef], fid: i64, part: &mut Part) {
        let wkb = match row[0] {
            ValueRef::Null => Ok(None),
            ValueRef::Blob(b) => wkb::geopackage(b).map(|w| Some(w.0)),
            _ => Err("it is no geometry".to_string()),
        };
        if let Ok(Some(bytes)) = &wkb
            && let Ok(shape) = wkb::parse(bytes, self.way.tolerance)
        {
            part.whole.join(&shape.bounds());
        }
        let values = row[1..].iter().map(|v| value(*v)).collect();
        let odd = Odd { fid, wkb, values };
        if let Some(table) = self.way.single(self.source, odd, |_| true) {
            let mut cells = table.cells(&table.rows[0], &mut part.faults);
            part.bores.extend(bores::bore(&mut cells));
        }
    }

    fn digest(&self, row: &[ValueRef], fid: i64, part: &mut Part) {
        let blob = match row[0] {
            ValueRef::Blob(b) => wkb::geopackage(b).map_or(&b[..0], |w| w.0),
            _ => &[],
        };
        Digest::head(fid, blob, &mut part.bytes);
        for value in &row[1..] {
            plain_values::bytes(*value, &mut part.bytes);
        }
    }
}

fn put_together(cx: &mut Context, source: &Source, way: &Way, parts: Vec<Part>) -> Vec<GivenBore> {
    let mut bores = Vec::with_capacity(parts.iter().map(|p| p.bores.len()).sum());
    let (mut bytes, mut features, mut whole) = (vec![], 0, Bounds::NOTHING);
    for part in parts {
        bores.extend(part.bores);
        cx.faults.0.extend(part.faults.0);
        bytes.push(part.bytes);
        features += part.features;
        whole.join(&part.whole);
    }
    cx.digest_later(bytes);
    cx.note(source, &way.carrier, &whole, (features, String::new()));
    bores
}
