//! The way from a layer's coordinates into metres of the job, and back for a window.

use super::Problem;
use super::crs::Crs;
use super::hush::last_words;
use super::shape::{Bounds, Shape};
use gdal::spatial_ref::CoordTransform;

/// Bounds on the other side, from outside: the edges are followed point by point.
pub(super) fn carried(way: &CoordTransform, b: &Bounds) -> Option<Bounds> {
    let [x0, y0, x1, y1] = way
        .transform_bounds(&[b.min[0], b.min[1], b.max[0], b.max[1]], 21)
        .ok()?;
    let out = Bounds {
        min: [x0, y0],
        max: [x1, y1],
    };
    [x0, y0, x1, y1]
        .iter()
        .all(|v| v.is_finite())
        .then_some(out)
}

/// Carries a layer's coordinates into metres of the job.
pub(super) struct Carrier {
    there: Option<(CoordTransform, CoordTransform)>,
    unit_m: f64,
}

impl Carrier {
    pub fn new(from: &Crs, job: &Crs) -> Result<Carrier, Problem> {
        let unit_m = job.info.unit_m;
        if from.same(job) {
            return Ok(Carrier {
                there: None,
                unit_m,
            });
        }
        let way = |a: &Crs, b: &Crs| {
            CoordTransform::new(&a.srs, &b.srs)
                .map_err(|_| Problem::NoTransform { gdal: last_words() })
        };
        Ok(Carrier {
            there: Some((way(from, job)?, way(job, from)?)),
            unit_m,
        })
    }

    /// X and Y of every vertex; Z stays.
    pub fn carry(&self, shape: &mut Shape) {
        if let Some((way, _)) = &self.there {
            let (mut x, mut y): (Vec<f64>, Vec<f64>) = shape.vertices().map(|v| (v.x, v.y)).unzip();
            let mut z = vec![0.0; x.len()];
            // A point that cannot be carried comes back infinite, which is looked for afterwards.
            let _ = way.transform_coords(&mut x, &mut y, &mut z);
            for (v, (x, y)) in shape.vertices_mut().zip(x.into_iter().zip(y)) {
                (v.x, v.y) = (x, y);
            }
        }
        shape
            .vertices_mut()
            .for_each(|v| (v.x, v.y) = (v.x * self.unit_m, v.y * self.unit_m));
    }

    /// Bounds of the layer in metres of the job; from outside where the layer has another system.
    pub fn bounds(&self, b: &Bounds) -> Option<Bounds> {
        let b = match &self.there {
            None => *b,
            Some((way, _)) => carried(way, b)?,
        };
        Some(Bounds {
            min: b.min.map(|v| v * self.unit_m),
            max: b.max.map(|v| v * self.unit_m),
        })
    }

    /// A window of the job (metres) as the layer sees it, a little too large rather than too small.
    pub fn window(&self, b: &Bounds) -> Option<Bounds> {
        let job = |b: Bounds| Bounds {
            min: b.min.map(|v| v / self.unit_m),
            max: b.max.map(|v| v / self.unit_m),
        };
        match &self.there {
            None => Some(job(*b)),
            Some((_, back)) => {
                let span = (b.max[0] - b.min[0]).max(b.max[1] - b.min[1]);
                carried(back, &job(b.grown(1.0 + 0.01 * span)))
            }
        }
    }

    /// Metres in a unit of the job's X and Y.
    pub fn unit_m(&self) -> f64 {
        self.unit_m
    }

    pub fn is_direct(&self) -> bool {
        self.there.is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn carrying_keeps_east_first_and_z_as_it_is() {
        let job = Crs::typed("EPSG:28992").unwrap();
        let world = Crs::typed("EPSG:4326").unwrap();
        let v = crate::read::shape::Vertex {
            x: 4.8897,
            y: 52.3702,
            z: 7.0,
        };
        let mut s = Shape {
            points: vec![v],
            ..Shape::default()
        };
        Carrier::new(&world, &job).unwrap().carry(&mut s);
        let p = s.points[0];
        assert!(
            (p.x - 121_600.0).abs() < 500.0 && (p.y - 487_000.0).abs() < 500.0 && p.z == 7.0,
            "{p:?}"
        );
    }
}
