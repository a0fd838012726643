//! Designed bores made ready: their sizes, their levels, and which way they are bored.

use crate::{
    clearance::{DriveLine, Segment},
    job::{Job, PipeSize},
    site::{FeatureRef, GivenBore, Polyline},
};
use rayon::prelude::*;
use std::borrow::Cow;

/// So many bores are made ready by one thread in one go.
const TOGETHER: usize = 2048;

/// A bore whose diameter neither its layer nor the job gives.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no size is known of DN {dn_mm}")]
pub struct BoreFault {
    /// The bore.
    pub at: FeatureRef,
    /// Its nominal diameter.
    pub dn_mm: u32,
}

/// One straight of a bore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Centre line, from the launch pit on; level 0 where the bore has none.
    pub line: DriveLine,
}

/// A bore as it is checked.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckedBore {
    /// `bore_id`, or `B` + fid.
    pub bore_id: String,
    /// Where it came from.
    pub at: FeatureRef,
    /// Outside and inside diameter of the pipe.
    pub size: PipeSize,
    /// Bored diameter (mm).
    pub bore_mm: f64,
    /// A diameter was taken from the job, since its layer gives none.
    pub size_assumed: bool,
    /// Its levels are known.
    pub levels: bool,
    /// Plan length of all its drives (m).
    pub length_m: f64,
    /// Where it is launched and where it is received, in plan.
    pub ends: [[f64; 2]; 2],
    /// Its drives: from, up to.
    pub drives: (u32, u32),
}

/// All bores of a layer.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bores {
    /// In input order, drives from the launch pit on.
    pub all: Vec<CheckedBore>,
    /// Drives of all bores.
    pub drives: Vec<Drive>,
    /// Bores without length, which cannot be checked.
    pub without_length: Vec<FeatureRef>,
    /// Features that the bores came from.
    pub features: usize,
}

impl Bores {
    /// Makes bores ready.
    ///
    /// # Errors
    /// The first bore whose diameter is not known: it could be checked against nothing.
    pub fn new(given: Vec<GivenBore>, job: &Job) -> Result<Bores, BoreFault> {
        let some = given.into_par_iter().chunks(TOGETHER);
        let parts: Vec<_> = some.map(|some| Bores::of_some(some, job)).collect();
        let mut bores = Bores::default();
        for part in parts {
            bores.append(part?);
        }
        Ok(bores)
    }

    fn of_some(given: Vec<GivenBore>, job: &Job) -> Result<Bores, BoreFault> {
        let mut bores = Bores::default();
        for mut g in given {
            let sizes = Sizes::of(&g, job)?;
            let lines = joined(std::mem::take(&mut g.parts));
            let before = bores.all.len();
            for line in &lines {
                bores.add(&mut g, line, lines.len() == 1, &sizes);
            }
            match bores.all.len() > before {
                true => bores.features += 1,
                false => bores.without_length.push(g.at),
            }
        }
        Ok(bores)
    }

    fn append(&mut self, other: Bores) {
        let before = self.drives.len() as u32;
        self.all.extend(other.all.into_iter().map(|b| CheckedBore {
            drives: (b.drives.0 + before, b.drives.1 + before),
            ..b
        }));
        self.drives.extend(other.drives);
        self.without_length.extend(other.without_length);
        self.features += other.features;
    }

    /// The drives of a bore.
    pub fn of(&self, bore: &CheckedBore) -> &[Drive] {
        &self.drives[bore.drives.0 as usize..bore.drives.1 as usize]
    }

    /// Adds one of the lines of `g`, which gives away its id where the line is `alone`.
    fn add(&mut self, g: &mut GivenBore, line: &Polyline, alone: bool, sizes: &Sizes) {
        let ends = g.us_invert_m.zip(g.ds_invert_m).filter(|_| alone);
        let inverts = inverts(line, ends);
        let up = sizes.size.id_mm / 2000.0;
        let mut vertices: Vec<[f64; 3]> = (line.points.iter().enumerate())
            .map(|(i, p)| [p.x, p.y, inverts.as_ref().map_or(0.0, |z| z[i] + up)])
            .collect();
        if !g.launched_upstream {
            vertices.reverse();
        }
        let first = self.drives.len() as u32;
        let mut before_m = 0.0;
        for ab in vertices.windows(2).filter(|ab| ab[0] != ab[1]) {
            let centre = Segment { a: ab[0], b: ab[1] };
            let length_m = (ab[1][0] - ab[0][0]).hypot(ab[1][1] - ab[0][1]);
            let line = DriveLine {
                centre,
                length_m,
                before_m,
            };
            self.drives.push(Drive { line });
            before_m += length_m;
        }
        if self.drives.len() as u32 == first {
            return;
        }
        let bore_id = match alone {
            true => g.bore_id.take(),
            false => g.bore_id.clone(),
        };
        self.all.push(CheckedBore {
            bore_id: bore_id.unwrap_or_else(|| format!("B{}", g.at.fid)),
            at: g.at.clone(),
            size: sizes.size,
            bore_mm: sizes.bore_mm,
            size_assumed: sizes.assumed,
            levels: inverts.is_some(),
            length_m: before_m,
            ends: [0, vertices.len() - 1].map(|i| [vertices[i][0], vertices[i][1]]),
            drives: (first, self.drives.len() as u32),
        });
    }
}

/// Inverts at the vertices: the line's own, else straight along the plan between those of its ends, else none.
fn inverts(line: &Polyline, ends: Option<(f64, f64)>) -> Option<Cow<'_, [f64]>> {
    if let Some(levels) = &line.levels {
        return Some(levels.into());
    }
    let (us, ds) = ends?;
    let mut at = vec![0.0];
    for ab in line.points.windows(2) {
        at.push(at[at.len() - 1] + (ab[1] - ab[0]).x.hypot((ab[1] - ab[0]).y));
    }
    let whole = at[at.len() - 1];
    // The last one exactly: a share of 1 times a difference need not lead back to it.
    let mut z: Vec<f64> = at.iter().map(|a| us + a / whole * (ds - us)).collect();
    *z.last_mut()? = ds;
    Some(z.into())
}

/// Parts put together where one ends and the next begins.
fn joined(parts: Vec<Polyline>) -> Vec<Polyline> {
    let mut lines: Vec<Polyline> = vec![];
    for part in parts {
        match lines.last_mut() {
            Some(last) if goes_on(last, &part) => {
                last.points.extend(&part.points[1..]);
                if let (Some(z), Some(more)) = (&mut last.levels, &part.levels) {
                    z.extend(&more[1..]);
                }
            }
            _ => lines.push(part),
        }
    }
    lines
}

fn goes_on(last: &Polyline, next: &Polyline) -> bool {
    let levels = match (&last.levels, &next.levels) {
        (Some(a), Some(b)) => a.last() == b.first(),
        (None, None) => true,
        _ => false,
    };
    levels && last.points.last() == next.points.first()
}

struct Sizes {
    size: PipeSize,
    bore_mm: f64,
    assumed: bool,
}

impl Sizes {
    /// Of the layer, else of the table of sizes at its nominal diameter, else at the job's. A pipe of which only the outside
    /// is given has its bore taken as wide: the wall, a few millimetres, then counts as pipe.
    fn of(g: &GivenBore, job: &Job) -> Result<Sizes, BoreFault> {
        let dn_mm = g.dn_mm.unwrap_or(job.pipe.dn_mm);
        let listed = job.pipe.sizes.get(&dn_mm).copied();
        let stated = g.dn_mm.is_some() || g.od_mm.is_some() || g.bore_mm.is_some();
        // The job's own diameter says nothing of a pipe that states another outside.
        let fits = listed.filter(|_| g.dn_mm.is_some() || g.od_mm.is_none());
        let od_mm = g.od_mm.or(listed.map(|s| s.od_mm)).or(g.bore_mm);
        let Some(od_mm) = od_mm else {
            let at = g.at.clone();
            return Err(BoreFault { at, dn_mm });
        };
        let id_mm = g.id_mm.or(fits.map(|s| s.id_mm)).unwrap_or(od_mm);
        let size = PipeSize { od_mm, id_mm };
        Ok(Sizes {
            size,
            bore_mm: g.bore_mm.unwrap_or_else(|| job.bore_mm(size)),
            assumed: !stated,
        })
    }
}

#[cfg(test)]
impl Bores {
    /// A bore of 180 mm on each line.
    pub(super) fn of_lines(lines: &[Segment]) -> Bores {
        let drive = |centre: &Segment| {
            let d = crate::clearance::sub(centre.b, centre.a);
            let line = DriveLine {
                centre: *centre,
                length_m: d[0].hypot(d[1]),
                before_m: 0.0,
            };
            Drive { line }
        };
        let bore = |(number, line): (u32, &Segment)| CheckedBore {
            bore_id: format!("B{number}"),
            at: FeatureRef {
                layer: "bores".into(),
                fid: i64::from(number),
            },
            size: PipeSize {
                od_mm: 160.0,
                id_mm: 150.0,
            },
            bore_mm: 180.0,
            size_assumed: false,
            levels: true,
            length_m: drive(line).line.length_m,
            ends: [line.a, line.b].map(|p| [p[0], p[1]]),
            drives: (number, number + 1),
        };
        Bores {
            all: (0..).zip(lines).map(bore).collect(),
            drives: lines.iter().map(drive).collect(),
            ..Bores::default()
        }
    }
}
