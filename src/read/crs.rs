//! Coordinate reference systems: the job's, each layer's, and the way from one to the other.
//!
//! Only the horizontal part takes part: without grids a vertical datum can move a point by a hundred metres in plan.

use super::Problem;
use super::carrier::carried;
use super::fault::{Faults, Place, ReadError};
use super::fitting::fitting;
use super::hush::last_words;
use super::shape::Bounds;
use super::store::LayerHead;
use crate::site::CrsInfo;
use gdal::spatial_ref::{AxisMappingStrategy, CoordTransform, SpatialRef};

/// A horizontal coordinate reference system with X east (or what the layer has first) and Y north.
#[derive(Clone)]
pub(super) struct Crs {
    pub srs: SpatialRef,
    pub info: CrsInfo,
}

impl Crs {
    /// As typed: `EPSG:25832`, well-known text, anything GDAL takes.
    pub fn typed(text: &str) -> Result<Crs, Problem> {
        match SpatialRef::from_definition(text) {
            Ok(srs) => Ok(Crs::of(srs, None)),
            Err(_) => Err(Problem::BadCrs {
                crs: text.to_string(),
                gdal: last_words(),
            }),
        }
    }

    pub fn of(srs: SpatialRef, srs_id: Option<i32>) -> Crs {
        let mut srs = horizontal(srs);
        srs.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
        let degrees = srs.is_geographic();
        let info = CrsInfo {
            name: srs.name().unwrap_or_else(|| "unnamed".into()),
            authority: srs.authority().ok(),
            wkt: srs.to_wkt().unwrap_or_default(),
            unit_m: if degrees { 1.0 } else { srs.linear_units() },
            unit_name: if degrees {
                srs.angular_units_name()
            } else {
                srs.linear_units_name()
            }
            .unwrap_or_default(),
            srs_id,
        };
        Crs { srs, info }
    }

    pub fn same(&self, other: &Crs) -> bool {
        let by_code = self.info.authority.is_some() && self.info.authority == other.info.authority;
        by_code || self.srs == other.srs
    }

    /// A length of 1 cm in the units of the layer; in degrees along a meridian.
    pub fn centimetre(&self) -> f64 {
        if self.srs.is_geographic() {
            0.01 / 111_320.0
        } else {
            0.01 / self.info.unit_m
        }
    }

    /// Lengths and angles of this system can be used as they are, or why not. `data` is where the features are.
    pub fn fit_for_a_plan(&self, data: Option<&Bounds>) -> Result<(), Problem> {
        let name = self.info.name.clone();
        let fits = || {
            data.and_then(|b| self.degrees(b))
                .map(|b| fitting(&b))
                .unwrap_or_default()
        };
        if self.srs.is_geographic() {
            Err(Problem::Geographic {
                name,
                fitting: fits(),
            })
        } else if !self.srs.is_projected() {
            Err(Problem::NotProjected { name })
        } else if self.is_pseudo_mercator() {
            Err(Problem::NotTrueToScale {
                name,
                fitting: fits(),
            })
        } else {
            Ok(())
        }
    }

    fn is_pseudo_mercator(&self) -> bool {
        let code = self
            .info
            .authority
            .as_deref()
            .and_then(|a| a.rsplit(':').next());
        matches!(code, Some("3857" | "3785" | "900913" | "102100" | "102113"))
            || self.info.name.contains("Pseudo-Mercator")
            || self.info.wkt.contains("+proj=merc +a=6378137 +b=6378137")
    }

    /// Bounds in degrees, west and south first.
    fn degrees(&self, b: &Bounds) -> Option<Bounds> {
        if b.is_empty() {
            return None;
        }
        let world = Crs::typed("OGC:CRS84").ok()?;
        let way = CoordTransform::new(&self.srs, &world.srs).ok()?;
        carried(&way, b)
    }

    /// Ground metres per grid metre in the middle of `b` (units of this system).
    ///
    /// # Source
    /// Radii of curvature of the WGS 84 ellipsoid (EPSG Guidance Note 7-2, symbols ρ and ν).
    fn ground_metres_per_grid_metre(&self, b: &Bounds) -> Option<f64> {
        let world = Crs::typed("OGC:CRS84").ok()?;
        let way = CoordTransform::new(&self.srs, &world.srs).ok()?;
        let (x, y) = ((b.min[0] + b.max[0]) / 2.0, (b.min[1] + b.max[1]) / 2.0);
        let step = 100.0 / self.info.unit_m;
        let (mut xs, mut ys) = ([x, x + step], [y, y]);
        way.transform_coords(&mut xs, &mut ys, &mut [0.0; 2]).ok()?;
        let (a, e2) = (6_378_137.0, 0.006_694_379_990_14);
        let phi = ys[0].to_radians();
        let w2 = 1.0 - e2 * phi.sin().powi(2);
        let (nu, rho) = (a / w2.sqrt(), a * (1.0 - e2) / w2.powf(1.5));
        let (east, north) = (
            (xs[1] - xs[0]).to_radians() * nu * phi.cos(),
            (ys[1] - ys[0]).to_radians() * rho,
        );
        Some(east.hypot(north) / 100.0)
    }

    /// Notes on a job's system: its scale at the site, and axes that are not east and north.
    pub fn notes(&self, data: &Bounds, place: &Place, faults: &mut Faults) {
        use gdal_sys::OGRAxisOrientation as Axis;
        let axes: Vec<_> = (0..2)
            .filter_map(|i| self.srs.axis_orientation("PROJCS", i).ok())
            .collect();
        if axes
            .iter()
            .any(|a| matches!(*a, Axis::OAO_West | Axis::OAO_South))
        {
            faults.note(
                place.clone(),
                Problem::Axes {
                    name: self.info.name.clone(),
                },
            );
        }
        let scale = if data.is_empty() {
            None
        } else {
            self.ground_metres_per_grid_metre(data)
        };
        if let Some(scale) = scale.filter(|s| s.is_finite() && (s - 1.0).abs() > 0.005) {
            faults.note(place.clone(), Problem::Scale { scale });
        }
    }
}

/// The horizontal part of a compound system; any other as it is.
fn horizontal(srs: SpatialRef) -> SpatialRef {
    if !srs.is_compound() {
        return srs;
    }
    let wkt = srs.to_wkt().unwrap_or_default();
    let part = node(&wkt, "PROJCS[").or_else(|| node(&wkt, "GEOGCS["));
    part.and_then(|p| SpatialRef::from_wkt(p).ok())
        .unwrap_or(srs)
}

/// The node that starts with `head`, up to its closing bracket.
fn node<'a>(wkt: &'a str, head: &str) -> Option<&'a str> {
    let from = &wkt[wkt.find(head)?..];
    let (mut depth, mut quoted) = (0, false);
    for (i, c) in from.char_indices() {
        match c {
            '"' => quoted = !quoted,
            '[' if !quoted => depth += 1,
            ']' if !quoted && depth == 1 => return Some(&from[..=i]),
            ']' if !quoted => depth -= 1,
            _ => {}
        }
    }
    None
}

/// Unit of the heights of a compound system, where it is not the metre.
pub(super) fn foreign_height_unit(srs: &SpatialRef) -> Option<String> {
    let factor: f64 = srs.get_attr_value("VERT_CS|UNIT", 1).ok()??.parse().ok()?;
    let name = srs.get_attr_value("VERT_CS|UNIT", 0).ok()??;
    ((factor - 1.0).abs() > 1e-9).then_some(name)
}

/// The job's system: `[job] crs`, else that of `lead`, the layer that the job is about. Where its features are is asked
/// only to name systems that fit better.
pub(super) fn of_job(
    typed: Option<&str>,
    lead: Option<(&LayerHead, Place)>,
    bounds: impl FnOnce() -> Result<Bounds, ReadError>,
) -> Result<Crs, ReadError> {
    let (crs, place) = match (typed, lead) {
        (Some(text), lead) => {
            let wrong = |p| ReadError::new(Place::default().column("[job] crs"), p);
            let place = lead.map(|l| l.1).unwrap_or_default();
            (Crs::typed(text).map_err(wrong)?, place)
        }
        (None, Some((head, place))) => match &head.crs {
            Some(crs) => (crs.clone(), place),
            None => return Err(ReadError::new(place, Problem::NoCrs)),
        },
        (None, None) => return Err(ReadError::new(Place::default(), Problem::NoCrs)),
    };
    if crs.fit_for_a_plan(None).is_ok() {
        return Ok(crs);
    }
    let data = match typed {
        Some(_) => None,
        None => Some(bounds()?),
    };
    crs.fit_for_a_plan(data.as_ref())
        .map_err(|p| ReadError::new(place, p))?;
    Ok(crs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::hush;

    #[test]
    fn a_us_survey_foot_is_known() {
        let crs = Crs::typed("EPSG:2263").unwrap();
        assert!((crs.info.unit_m - 1200.0 / 3937.0).abs() < 1e-15);
        assert_eq!(crs.info.authority.as_deref(), Some("EPSG:2263"));
        assert_eq!(crs.fit_for_a_plan(None), Ok(()));
    }

    #[test]
    fn only_the_horizontal_part_of_a_compound_system_counts() {
        let crs = Crs::typed("EPSG:7415").unwrap();
        assert_eq!(crs.info.authority.as_deref(), Some("EPSG:28992"));
        assert!(crs.same(&Crs::typed("EPSG:28992").unwrap()));
    }

    #[test]
    fn degrees_and_web_maps_are_refused_with_what_would_fit() {
        hush();
        let b = Bounds {
            min: [9.9, 53.5],
            max: [10.0, 53.6],
        };
        let Err(Problem::Geographic { fitting, .. }) =
            Crs::typed("EPSG:4326").unwrap().fit_for_a_plan(Some(&b))
        else {
            panic!("taken")
        };
        assert!(
            fitting.iter().any(|f| f.code == "EPSG:32632"),
            "{fitting:?}"
        );
        let m = Bounds {
            min: [1_100_000.0, 7_000_000.0],
            max: [1_100_100.0, 7_000_100.0],
        };
        let web = Crs::typed("EPSG:3857").unwrap();
        assert!(
            matches!(web.fit_for_a_plan(Some(&m)), Err(Problem::NotTrueToScale { fitting, .. }) if !fitting.is_empty())
        );
    }

    #[test]
    fn the_scale_of_a_grid_is_measured() {
        let middle = Bounds {
            min: [499_000.0, 5_800_000.0],
            max: [501_000.0, 5_801_000.0],
        };
        let s = Crs::typed("EPSG:25832")
            .unwrap()
            .ground_metres_per_grid_metre(&middle)
            .unwrap();
        assert!((s - 1.0 / 0.9996).abs() < 1e-5, "{s}");
    }
}
