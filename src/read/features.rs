//! The features of one layer, in metres of the job, with their values.

use super::carrier::Carrier;
use super::columns::{self, Drawn};
use super::digest::Digest;
use super::fault::{Faults, Place, ReadError};
use super::polygons;
use super::roles::Source;
use super::shape::{Bounds, Shape, Vertex, polyline};
use super::site::Context;
use super::store::Raw;
use super::values::Value;
use super::{Problem, wkb};
use crate::site::{FeatureRef, Polyline};
use geo::Polygon;
use std::sync::Arc;

/// One feature. A geometry that cannot be used is what is wrong with it.
pub(super) struct Row {
    pub fid: i64,
    pub shape: Result<Shape, Problem>,
    values: Vec<Value>,
}

/// The features of a layer that lie in the window, by fid.
pub(super) struct Table {
    pub place: Place,
    pub layer: Arc<str>,
    pub source: Source,
    /// Features of the whole layer.
    pub total: usize,
    pub rows: Vec<Row>,
}

/// Reads a layer. Features outside `window` (metres of the job) are passed over, those partly inside come whole.
pub(super) fn gather(
    cx: &mut Context,
    source: &Source,
    window: Option<&Bounds>,
) -> Result<Table, ReadError> {
    let Way {
        place,
        carrier,
        tolerance,
    } = Way::of(cx, source)?;
    let mut scan = Scan {
        window: window.and_then(|w| carrier.window(w)),
        tolerance,
        z_unit_m: source.z_unit_m.unwrap_or(1.0),
        carrier,
        whole: Bounds::NOTHING,
        total: 0,
        digest: Digest::default(),
        rows: vec![],
    };
    let names: Vec<String> = source.columns.iter().map(|c| c.1.clone()).collect();
    cx.stores.files[source.store]
        .1
        .scan(&source.table, &names, &mut |raw| scan.visit(raw))?;
    let taken = (scan.rows.len() as u64, scan.digest.hex());
    cx.note(source, &scan.carrier, &scan.whole, taken);
    let layer = source.table.as_str().into();
    Ok(Table {
        place,
        layer,
        source: source.clone(),
        total: scan.total,
        rows: scan.rows,
    })
}

/// How a layer comes in.
pub(super) struct Way {
    pub place: Place,
    pub carrier: Carrier,
    /// By how much lines may deviate from curves, in units of the layer.
    pub tolerance: f64,
}

impl Way {
    /// Notes what is assumed of the layer.
    pub fn of(cx: &mut Context, source: &Source) -> Result<Way, ReadError> {
        let place = cx.stores.place(source);
        let head = cx.stores.head(source);
        if head.crs.is_none() && head.geometry.is_some() {
            cx.faults.note(place.clone(), Problem::AssumedCrs);
        }
        if let (Some(unit), None) = (&head.height_unit, source.z_unit_m) {
            let unit = unit.clone();
            cx.faults.note(place.clone(), Problem::HeightUnit { unit });
        }
        let crs = head.crs.as_ref().unwrap_or(&cx.job);
        let carrier = Carrier::new(crs, &cx.job).map_err(|p| ReadError::new(place.clone(), p))?;
        Ok(Way {
            place,
            carrier,
            tolerance: crs.centimetre(),
        })
    }
}

/// The way of a layer that needs no more than another unit, for every thread to use.
pub(super) struct Direct {
    pub place: Place,
    pub tolerance: f64,
    pub unit_m: f64,
}

/// One feature as its file holds it.
pub(super) struct Odd<'a> {
    pub fid: i64,
    pub wkb: Result<Option<&'a [u8]>, String>,
    pub values: Vec<Value>,
}

impl Direct {
    /// None where the layer is in another system than the job.
    pub fn of(way: &Way) -> Option<Direct> {
        way.carrier.is_direct().then(|| Direct {
            place: way.place.clone(),
            tolerance: way.tolerance,
            unit_m: way.carrier.unit_m(),
        })
    }

    /// A table of one feature; none where its box (metres) is not one that `touches`.
    pub fn single(
        &self,
        source: &Source,
        odd: Odd,
        touches: impl Fn(&Bounds) -> bool,
    ) -> Option<Table> {
        let shape = match odd.wkb {
            Ok(None) => Err(Problem::NoGeometry),
            Err(why) => Err(Problem::BadGeometry { why }),
            Ok(Some(bytes)) => match wkb::parse(bytes, self.tolerance) {
                Err(why) => Err(Problem::BadGeometry { why }),
                Ok(mut shape) => {
                    let scale = |s: &mut Shape| {
                        s.vertices_mut()
                            .for_each(|v| (v.x, v.y) = (v.x * self.unit_m, v.y * self.unit_m));
                    };
                    scale(&mut shape);
                    let bounds = shape.bounds();
                    if !bounds.is_empty() && !touches(&bounds) {
                        return None;
                    }
                    placed(shape, |_| {}, source.z_unit_m.unwrap_or(1.0))
                }
            },
        };
        Some(Table {
            place: self.place.clone(),
            layer: source.table.as_str().into(),
            source: source.clone(),
            total: 1,
            rows: vec![Row {
                fid: odd.fid,
                shape,
                values: odd.values,
            }],
        })
    }
}

/// A geometry in metres of the job, or why it has no place there.
fn placed(
    mut shape: Shape,
    carry: impl FnOnce(&mut Shape),
    z_unit_m: f64,
) -> Result<Shape, Problem> {
    if shape.is_empty() {
        return Err(Problem::EmptyGeometry);
    }
    carry(&mut shape);
    shape.vertices_mut().for_each(|v| v.z *= z_unit_m);
    match shape.is_finite() {
        true => Ok(shape),
        false => Err(Problem::NotFinite),
    }
}

/// A layer on its way in.
struct Scan {
    carrier: Carrier,
    /// In units of the layer.
    window: Option<Bounds>,
    tolerance: f64,
    z_unit_m: f64,
    /// Of every feature, in units of the layer.
    whole: Bounds,
    total: usize,
    digest: Digest,
    rows: Vec<Row>,
}

impl Scan {
    fn visit(&mut self, raw: Raw) {
        self.total += 1;
        let (wkb, shape) = match &raw.wkb {
            Ok(Some(wkb)) => match self.near(wkb, raw.stated) {
                None => return,
                Some(shape) => (*wkb, shape),
            },
            Ok(None) => (&[][..], Err(Problem::NoGeometry)),
            Err(why) => (&[][..], Err(Problem::BadGeometry { why: why.clone() })),
        };
        let values = (raw.values)();
        self.digest.feature(raw.fid, wkb, &values);
        self.rows.push(Row {
            fid: raw.fid,
            shape,
            values,
        });
    }

    /// The geometry, or none where it lies outside the window. What cannot be placed counts as inside.
    fn near(&mut self, wkb: &[u8], stated: Option<Bounds>) -> Option<Result<Shape, Problem>> {
        let outside = |b: &Bounds, w: &Option<Bounds>| {
            w.as_ref().is_some_and(|w| !b.is_empty() && !b.meets(w))
        };
        if let Some(b) = stated.filter(|b| outside(b, &self.window)) {
            self.whole.join(&b);
            return None;
        }
        let shape = match wkb::parse(wkb, self.tolerance) {
            Ok(s) => s,
            Err(why) => return Some(Err(Problem::BadGeometry { why })),
        };
        let bounds = shape.bounds();
        self.whole.join(&bounds);
        if outside(&bounds, &self.window) {
            None
        } else {
            Some(self.carried(shape))
        }
    }

    fn carried(&self, shape: Shape) -> Result<Shape, Problem> {
        placed(shape, |s| self.carrier.carry(s), self.z_unit_m)
    }
}

/// One feature's values and geometry, with a place for what is wrong with them.
pub(super) struct Cells<'a> {
    pub table: &'a Table,
    pub row: &'a Row,
    pub faults: &'a mut Faults,
}

impl Table {
    pub fn cells<'a>(&'a self, row: &'a Row, faults: &'a mut Faults) -> Cells<'a> {
        Cells {
            table: self,
            row,
            faults,
        }
    }

    pub fn value_of<'a>(&self, row: &'a Row, name: &str) -> &'a Value {
        debug_assert!(columns::of(self.source.role).iter().any(|c| c.name == name));
        let i = self.source.columns.iter().position(|c| c.0 == name);
        i.and_then(|i| row.values.get(i)).unwrap_or(&Value::Null)
    }

    pub fn text_of(&self, row: &Row, name: &str) -> Option<String> {
        self.value_of(row, name).text()
    }
}

impl<'a> Cells<'a> {
    pub fn at(&self) -> FeatureRef {
        FeatureRef {
            layer: self.table.layer.clone(),
            fid: self.row.fid,
        }
    }

    pub fn place(&self) -> Place {
        self.table.place.clone().fid(self.row.fid)
    }

    /// The feature and a column, by the layer's name for it.
    pub fn column(&self, name: &str) -> Place {
        let own = self.table.source.columns.iter().find(|c| c.0 == name);
        self.place().column(own.map_or(name, |c| &c.1))
    }

    pub fn value(&self, name: &str) -> &Value {
        self.table.value_of(self.row, name)
    }

    pub fn text(&self, name: &str) -> Option<String> {
        self.value(name).text()
    }

    /// A number; anything else is a fault and counts as missing.
    pub fn number(&mut self, name: &str) -> Option<f64> {
        self.value(name).number().unwrap_or_else(|value| {
            self.bad(name, value, "a plain number");
            None
        })
    }

    /// A number above zero; anything else is a fault and counts as missing.
    pub fn positive(&mut self, name: &str, expected: &'static str) -> Option<f64> {
        let number = self.number(name)?;
        self.kept(name, number, number > 0.0, expected)
    }

    /// A level in metres.
    pub fn level(&mut self, name: &str) -> Option<f64> {
        Some(self.number(name)? * self.table.source.z_unit_m.unwrap_or(1.0))
    }

    /// A depth or cover in metres, not below zero.
    pub fn depth(&mut self, name: &str) -> Option<f64> {
        let depth = self.level(name)?;
        self.kept(name, depth, depth >= 0.0, "a depth of 0 or more")
    }

    pub fn flag(&mut self, name: &str) -> Option<bool> {
        self.value(name).flag().unwrap_or_else(|value| {
            self.bad(name, value, "yes or no");
            None
        })
    }

    fn kept(&mut self, name: &str, number: f64, good: bool, expected: &'static str) -> Option<f64> {
        if !good {
            let value = self.text(name).unwrap_or_default();
            self.bad(name, value, expected);
        }
        good.then_some(number)
    }

    pub fn bad(&mut self, name: &str, value: String, expected: &'static str) {
        self.faults
            .fault(self.column(name), Problem::BadValue { value, expected });
    }

    pub fn fault(&mut self, problem: Problem) {
        self.faults.fault(self.place(), problem);
    }

    /// Lines of two points or more; none, and a fault, where there are none.
    pub fn lines(&mut self) -> Option<Vec<Polyline>> {
        let shape = self.shape(Drawn::Lines)?;
        let parts: Vec<Polyline> = shape
            .lines
            .iter()
            .filter(|l| l.len() > 1)
            .map(|l| polyline(l))
            .collect();
        if parts.len() < shape.lines.len() {
            self.fault(Problem::TooShort);
        }
        (!parts.is_empty()).then_some(parts)
    }

    /// Valid polygons; none, and a fault, where there are none.
    pub fn areas(&mut self) -> Option<Vec<Polygon<f64>>> {
        let shape = self.shape(Drawn::Areas)?;
        let (parts, problem) = polygons::valid(&shape.areas);
        match problem {
            Some(p @ Problem::MadeValid) => self.faults.note(self.place(), p),
            Some(p) => self.fault(p),
            None => {}
        }
        (!parts.is_empty()).then_some(parts)
    }

    /// Points; none, and a fault, where there are none.
    pub fn points(&mut self) -> Option<&'a [Vertex]> {
        self.shape(Drawn::Points).map(|s| &s.points[..])
    }

    fn shape(&mut self, wanted: Drawn) -> Option<&'a Shape> {
        let row = self.row;
        let problem = match &row.shape {
            Ok(s) if s.has(wanted) => return Some(s),
            Ok(_) => Problem::WrongGeometry {
                wanted: wanted.word(),
            },
            Err(p) => p.clone(),
        };
        self.fault(problem);
        None
    }
}

impl Shape {
    pub fn has(&self, wanted: Drawn) -> bool {
        match wanted {
            Drawn::Points => !self.points.is_empty(),
            Drawn::Lines => !self.lines.is_empty(),
            Drawn::Areas => !self.areas.is_empty(),
        }
    }
}
