//! The service records of a whole city, side by side in flat arrays: a million lines in the memory that they need.

use super::{FeatureRef, Kind, Quality, Service, ZMeans};
use std::{collections::HashMap, sync::Arc};

/// Stands for an owner that is not recorded.
const NO_OWNER: u32 = u32::MAX;

/// One service, its line apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Record {
    /// Feature id.
    pub fid: i64,
    /// Outside diameter (mm), where recorded.
    pub diameter_mm: Option<f64>,
    /// Ground to top (m), where recorded.
    pub cover_m: Option<f64>,
    /// Index into [`Records::layers`].
    pub layer: u16,
    /// What it carries.
    pub kind: Kind,
    /// Location quality level.
    pub quality: Quality,
    owner: u32,
}

/// One part of a service's line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecordPart {
    /// Index into [`Records::all`].
    pub record: u32,
    /// Its first point.
    pub first: u32,
    /// Its points have levels.
    pub levels: bool,
}

/// A layer that records came from.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordLayer {
    /// Its name.
    pub name: Arc<str>,
    /// What a level of its lines is.
    pub z_means: ZMeans,
}

/// Services in the order of their layers, then fid; parts in the order of services, points in the order of parts.
#[derive(Debug, Clone, Default)]
pub struct Records {
    /// Layers.
    pub layers: Vec<RecordLayer>,
    /// Services.
    pub all: Vec<Record>,
    /// Parts of lines; every part has two points or more.
    pub parts: Vec<RecordPart>,
    /// x, y and level; the level is 0 where the part has none.
    pub points: Vec<[f64; 3]>,
    owners: Vec<Arc<str>>,
    owner_numbers: HashMap<Arc<str>, u32>,
}

/// What layers and owners of records are numbered among others.
struct Moved {
    layers: Vec<u16>,
    owners: Vec<u32>,
}

impl Moved {
    fn record(&self, r: &Record) -> Record {
        Record {
            layer: self.layers[r.layer as usize],
            owner: (self.owners.get(r.owner as usize).copied()).unwrap_or(NO_OWNER),
            ..*r
        }
    }
}

impl Records {
    /// The same as [`Service`]s say it, for what comes by the general way.
    pub fn of(services: &[Service]) -> Records {
        let mut records = Records::default();
        for s in services {
            records.add(s);
        }
        records
    }

    /// Adds a service behind all others.
    pub fn add(&mut self, s: &Service) {
        let layer = self.layer(&s.at.layer, s.z_means);
        let record = Record {
            fid: s.at.fid,
            diameter_mm: s.diameter_mm,
            cover_m: s.cover_m,
            layer,
            kind: s.kind,
            quality: s.quality,
            owner: NO_OWNER,
        };
        self.begin(record, s.owner.as_deref());
        for part in &s.parts {
            self.begin_part(part.levels.is_some());
            let z = |i: usize| part.levels.as_ref().map_or(0.0, |z| z[i]);
            let points = part.points.iter().enumerate();
            self.points.extend(points.map(|(i, p)| [p.x, p.y, z(i)]));
        }
    }

    /// The number of a layer; the one added last is looked for first.
    pub fn layer(&mut self, name: &Arc<str>, z_means: ZMeans) -> u16 {
        let same = |l: &RecordLayer| l.name == *name && l.z_means == z_means;
        let known = self.layers.iter().rposition(same);
        let number = known.unwrap_or_else(|| {
            self.layers.push(RecordLayer {
                name: name.clone(),
                z_means,
            });
            self.layers.len() - 1
        });
        u16::try_from(number).expect("no site has so many layers")
    }

    /// A record without owner, for [`Records::begin`].
    pub fn record(fid: i64, layer: u16, (kind, quality): (Kind, Quality)) -> Record {
        Record {
            fid,
            diameter_mm: None,
            cover_m: None,
            layer,
            kind,
            quality,
            owner: NO_OWNER,
        }
    }

    /// Begins a service; its parts follow.
    pub fn begin(&mut self, record: Record, owner: Option<&str>) {
        let owner = owner.map_or(NO_OWNER, |o| self.owner_number(o));
        self.all.push(Record { owner, ..record });
    }

    /// Begins a part of the service begun last; its points follow.
    pub fn begin_part(&mut self, levels: bool) {
        let number = |n: usize| u32::try_from(n).expect("no site has four thousand million points");
        self.parts.push(RecordPart {
            record: number(self.all.len() - 1),
            first: number(self.points.len()),
            levels,
        });
    }

    fn owner_number(&mut self, owner: &str) -> u32 {
        if let Some(n) = self.owner_numbers.get(owner) {
            return *n;
        }
        let (name, number): (Arc<str>, _) = (owner.into(), self.owners.len() as u32);
        self.owners.push(name.clone());
        self.owner_numbers.insert(name, number);
        number
    }

    /// Puts others behind.
    pub fn append(&mut self, other: Records) {
        if self.all.is_empty() && self.all.capacity() == 0 {
            *self = other;
            return;
        }
        self.append_all(vec![other]);
    }

    /// Puts others behind, one after the other; what is most of it is moved side by side.
    pub fn append_all(&mut self, others: Vec<Records>) {
        let sum = |of: fn(&Records) -> usize| others.iter().map(of).sum();
        let (records, parts, points): (usize, usize, usize) = (
            sum(|r| r.all.len()),
            sum(|r| r.parts.len()),
            sum(|r| r.points.len()),
        );
        assert!(self.points.len() + points <= u32::MAX as usize);
        self.all.reserve_exact(records);
        self.parts.reserve_exact(parts);
        self.points.reserve_exact(points);
        let moves: Vec<Moved> = others.iter().map(|o| self.room_for(o)).collect();
        let (all, parts, points) = (&mut self.all, &mut self.parts, &mut self.points);
        let (mut before, mut first) = (all.len() as u32, points.len() as u32);
        let features = || {
            for (other, moved) in others.iter().zip(&moves) {
                all.extend(other.all.iter().map(|r| moved.record(r)));
                parts.extend(other.parts.iter().map(|p| RecordPart {
                    record: p.record + before,
                    first: p.first + first,
                    ..*p
                }));
                before += other.all.len() as u32;
                first += other.points.len() as u32;
            }
        };
        let vertices = || (others.iter()).for_each(|o| points.extend_from_slice(&o.points));
        rayon::join(features, vertices);
    }

    /// The numbers that layers and owners of `other` have here.
    fn room_for(&mut self, other: &Records) -> Moved {
        let layers = (other.layers.iter()).map(|l| self.layer(&l.name, l.z_means));
        let layers = layers.collect();
        let owners = (other.owners.iter()).map(|o| self.owner_number(o));
        Moved {
            layers,
            owners: owners.collect(),
        }
    }

    /// Owner of a service.
    pub fn owner(&self, r: &Record) -> Option<&str> {
        self.owners.get(r.owner as usize).map(|o| &**o)
    }

    /// Where a service came from.
    pub fn at(&self, r: &Record) -> FeatureRef {
        self.at_again(None, r)
    }

    /// The same; `spent` is used again where it is of the same layer.
    pub fn at_again(&self, spent: Option<FeatureRef>, r: &Record) -> FeatureRef {
        let name = &self.layers[r.layer as usize].name;
        let spent = spent.filter(|s| Arc::ptr_eq(&s.layer, name));
        FeatureRef {
            layer: spent.map_or_else(|| name.clone(), |s| s.layer),
            fid: r.fid,
        }
    }

    /// The points of a part.
    #[inline]
    pub fn points_of(&self, part: usize) -> &[[f64; 3]] {
        let end = self
            .parts
            .get(part + 1)
            .map_or(self.points.len(), |p| p.first as usize);
        &self.points[self.parts[part].first as usize..end]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::Polyline;
    use geo::coord;

    fn service(fid: i64, owner: Option<&str>) -> Service {
        Service {
            at: FeatureRef {
                layer: "mains".into(),
                fid,
            },
            kind: Kind::Gas,
            diameter_mm: Some(100.0),
            cover_m: None,
            quality: Quality::B,
            owner: owner.map(str::to_string),
            material: None,
            abandoned: false,
            z_means: ZMeans::Top,
            parts: vec![Polyline {
                points: vec![coord! {x: fid as f64, y: 0.}, coord! {x: 5., y: 1.}],
                levels: Some(vec![7.0, 8.0]),
            }],
        }
    }

    #[test]
    fn put_together_from_pieces_they_are_as_if_read_in_one() {
        let all = [
            service(1, Some("a")),
            service(2, None),
            service(3, Some("b")),
            service(4, Some("a")),
        ];
        let mut joined = Records::of(&all[..2]);
        joined.append(Records::of(&all[2..]));
        let whole = Records::of(&all);
        assert_eq!((&joined.all, &joined.parts), (&whole.all, &whole.parts));
        assert_eq!(
            (&joined.points, &joined.layers),
            (&whole.points, &whole.layers)
        );
        let owners: Vec<_> = joined.all.iter().map(|r| joined.owner(r)).collect();
        assert_eq!(owners, [Some("a"), None, Some("b"), Some("a")]);
        assert_eq!(joined.points_of(2), [[3.0, 0.0, 7.0], [5.0, 1.0, 8.0]]);
    }
}
