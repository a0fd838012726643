//! For tests: a site with nothing but routes and falling ground.

use crate::{
    ground::Ground,
    job::Job,
    site::{FeatureRef, Kind, Polyline, Quality, Route, Service, Site},
};
use geo::Coord;

/// One route downstream through these points, ground falling 2 cm a metre eastward from 50 m at x = 0.
pub fn site(points: &[(f64, f64)]) -> Site {
    let points: Vec<Coord<f64>> = points.iter().map(|&p| p.into()).collect();
    let levels = points.iter().map(|p| 50.0 - 0.02 * p.x).collect();
    let line = Polyline {
        points,
        levels: Some(levels),
    };
    Site {
        ground: Ground::Lines(vec![line.clone()]),
        routes: vec![Route {
            at: FeatureRef {
                layer: "routes".into(),
                fid: 1,
            },
            route_id: "R1".into(),
            line,
            dn_mm: None,
            outfall_invert_m: None,
            head_invert_max_m: None,
            joins: None,
            follows: None,
            serves: vec![],
        }],
        ..Site::default()
    }
}

/// A water main of 150 mm, well located, at these levels; none: at a depth that nobody knows.
pub fn main(fid: i64, [from, to]: [(f64, f64); 2], levels: Option<f64>) -> Service {
    Service {
        at: FeatureRef {
            layer: "services".into(),
            fid,
        },
        kind: Kind::Water,
        diameter_mm: Some(150.0),
        cover_m: None,
        quality: Quality::A,
        owner: None,
        material: None,
        abandoned: false,
        z_means: Default::default(),
        parts: vec![Polyline {
            points: vec![from.into(), to.into()],
            levels: levels.map(|z| vec![z; 2]),
        }],
    }
}

/// The default job on a coarse grid.
pub fn job() -> Job {
    let mut job = Job::default();
    job.search.station_step_m = 5.0;
    job.search.level_step_m = 0.1;
    job
}
