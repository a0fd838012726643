//! A window of a raster of ground levels.

use super::Problem;
use super::carrier::Carrier;
use super::crs::Crs;
use super::digest::Digest;
use super::fault::ReadError;
use super::hush::last_words;
use super::nearby::Nearby;
use super::roles::Source;
use super::shape::Bounds;
use super::site::{Context, Input};
use super::tiles;
use crate::ground::{Grid, Levels, Project};
use gdal::raster::{GdalDataType, RasterBand};
use gdal::spatial_ref::{AxisMappingStrategy, CoordTransform, SpatialRef};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use geo::Coord;
use std::cell::RefCell;
use std::sync::atomic::{AtomicU64, Ordering};

/// A window of more cells than this does not go into memory (3 GB of levels).
const MOST_CELLS: usize = 400_000_000;

/// Cells beyond the window on every side, so that within it the cut is not felt.
const MARGIN: f64 = 2.0;

/// The part of the raster that covers `reach` (metres of the job).
///
/// With `near` only the tiles near bores (and under `others`, boxes in metres of the job) are read, where single precision holds
/// their values and the raster is in the job's system.
pub(super) fn grid(
    cx: &mut Context,
    source: &Source,
    reach: &Bounds,
    near: Option<(&Nearby, &[Bounds])>,
) -> Result<Grid, ReadError> {
    let place = cx.stores.place(source);
    let bad = |why: String| ReadError::new(place.clone(), Problem::BadGround { why });
    let raster = open(cx, source).map_err(bad)?;
    let crs = crs_of(&raster);
    if crs.is_none() {
        cx.faults.note(place.clone(), Problem::AssumedCrs);
    }
    let crs = crs.unwrap_or_else(|| cx.job.clone());
    let carrier = Carrier::new(&crs, &cx.job).map_err(|p| ReadError::new(place.clone(), p))?;
    let there = carrier
        .window(reach)
        .ok_or_else(|| bad("the site cannot be carried into its system".into()))?;
    let to_cell = inverse(
        raster
            .geo_transform()
            .map_err(|_| bad("it is not placed on the ground".into()))?,
    )
    .ok_or_else(|| bad("its cells have no size".into()))?;
    let cut = Cut::of(&there, &to_cell, raster.raster_size())
        .ok_or_else(|| bad("it does not cover the site".into()))?;
    let unit_m = source.z_unit_m.unwrap_or(1.0);
    let single = raster.rasterband(1).is_ok_and(|b| tiles::fit(&b));
    let (levels, digest) = match near.filter(|_| single && carrier.is_direct()) {
        Some((near, others)) => {
            let job_unit_m = carrier.unit_m();
            let others = others.iter().map(|b| Bounds {
                min: b.min.map(|v| v / job_unit_m),
                max: b.max.map(|v| v / job_unit_m),
            });
            let boxes: Vec<Bounds> = tiles::boxes(near, job_unit_m).chain(others).collect();
            let marked = tiles::wanted(&cut, &to_cell, &boxes);
            let name = name(cx, source);
            let (tiles, digest) =
                tiles::read(&cut, &marked, unit_m, || open_named(&name)).map_err(bad)?;
            (Levels::Tiles(tiles), digest)
        }
        None => {
            if cut.width * cut.height > MOST_CELLS {
                return Err(bad(format!(
                    "{} x {} cells round the site are too many",
                    cut.width, cut.height
                )));
            }
            let levels = cut.read(&raster, unit_m).map_err(bad)?;
            let mut digest = Digest::default();
            digest.numbers(&levels);
            (Levels::Whole(levels), digest)
        }
    };
    let project =
        (!carrier.is_direct()).then(|| Box::new(Way::new(&cx.job, &crs)) as Box<dyn Project>);
    let grid = Grid {
        width: cut.width,
        height: cut.height,
        levels,
        to_cell: cut.shifted(to_cell),
        unit_m: cx.job.info.unit_m,
        project,
    };
    cx.inputs.push(input(cx, source, &grid, digest));
    Ok(grid)
}

fn input(cx: &Context, source: &Source, grid: &Grid, levels: Digest) -> Input {
    let mut digest = Digest::default();
    digest.numbers(&[grid.width as f64, grid.height as f64]);
    digest.numbers(&grid.to_cell);
    digest.of_part(levels);
    Input {
        layer: source.table.clone(),
        file: cx.stores.files[source.store].0.clone(),
        role: source.role,
        features: (grid.width * grid.height) as u64,
        sha256: digest.hex(),
    }
}

/// By which GDAL opens the raster.
fn name(cx: &Context, source: &Source) -> String {
    let store = &cx.stores.files[source.store].1;
    let path = store.real_path();
    let name = path.to_string_lossy();
    if store.is_gpkg() {
        format!("GPKG:{name}:{}", source.table)
    } else {
        name.into_owned()
    }
}

fn open(cx: &Context, source: &Source) -> Result<Dataset, String> {
    open_named(&name(cx, source))
}

fn open_named(name: &str) -> Result<Dataset, String> {
    let flags = GdalOpenFlags::GDAL_OF_RASTER | GdalOpenFlags::GDAL_OF_READONLY;
    let options = DatasetOptions {
        open_flags: flags,
        ..DatasetOptions::default()
    };
    Dataset::open_ex(name, options).map_err(|_| last_words())
}

fn crs_of(raster: &Dataset) -> Option<Crs> {
    let srs = raster.spatial_ref().ok()?;
    let undefined = srs.name().is_none_or(|n| n.starts_with("Undefined"));
    (!undefined).then(|| Crs::of(srs, None))
}

/// From coordinates to columns and rows: the inverse of a GDAL geotransform.
fn inverse(g: [f64; 6]) -> Option<[f64; 6]> {
    let d = g[1] * g[5] - g[2] * g[4];
    let inverse = [
        (g[2] * g[3] - g[0] * g[5]) / d,
        g[5] / d,
        -g[2] / d,
        (g[0] * g[4] - g[1] * g[3]) / d,
        -g[4] / d,
        g[1] / d,
    ];
    (d != 0.0 && inverse.iter().all(|v| v.is_finite())).then_some(inverse)
}

/// A window of cells.
pub(super) struct Cut {
    pub left: usize,
    pub top: usize,
    pub width: usize,
    pub height: usize,
}

impl Cut {
    /// The cells that cover `b` and the margin, none where there are none.
    pub fn of(b: &Bounds, c: &[f64; 6], (columns, rows): (usize, usize)) -> Option<Cut> {
        let mut cells = Bounds::NOTHING;
        for (x, y) in [(0, 0), (0, 1), (1, 0), (1, 1)]
            .map(|(i, j)| ([b.min, b.max][i][0], [b.min, b.max][j][1]))
        {
            cells.add(c[0] + c[1] * x + c[2] * y, c[3] + c[4] * x + c[5] * y);
        }
        let span = |i: usize, n: usize| {
            let from = (cells.min[i].floor() - MARGIN).clamp(0.0, n as f64) as usize;
            let to = (cells.max[i].ceil() + MARGIN).clamp(0.0, n as f64) as usize;
            (to > from).then_some((from, to - from))
        };
        let ((left, width), (top, height)) = (span(0, columns)?, span(1, rows)?);
        Some(Cut {
            left,
            top,
            width,
            height,
        })
    }

    fn shifted(&self, c: [f64; 6]) -> [f64; 6] {
        [
            c[0] - self.left as f64,
            c[1],
            c[2],
            c[3] - self.top as f64,
            c[4],
            c[5],
        ]
    }

    /// Levels in metres, NaN where there is no data.
    fn read(&self, raster: &Dataset, unit_m: f64) -> Result<Vec<f64>, String> {
        last_words();
        let band = raster.rasterband(1).map_err(|e| e.to_string())?;
        let (place, size) = (
            (self.left as isize, self.top as isize),
            (self.width, self.height),
        );
        let cells = band
            .read_as::<f64>(place, size, size, None)
            .map_err(|_| last_words())?;
        let (_, mut levels) = cells.into_shape_and_vec();
        let (scale, offset) = (band.scale().unwrap_or(1.0), band.offset().unwrap_or(0.0));
        let empty = NoData::of(&band);
        for v in &mut levels {
            *v = if empty.is(*v) {
                f64::NAN
            } else {
                (*v * scale + offset) * unit_m
            };
        }
        Ok(levels)
    }
}

/// The value that stands for none.
pub(super) struct NoData {
    value: Option<f64>,
    single: bool,
}

impl NoData {
    pub fn of(band: &RasterBand) -> NoData {
        NoData {
            value: band.no_data_value(),
            single: band.band_type() == GdalDataType::Float32,
        }
    }

    /// A band of single precision holds its no-data value rounded.
    pub fn is(&self, v: f64) -> bool {
        !v.is_finite()
            || self
                .value
                .is_some_and(|n| v == n || (self.single && v as f32 == n as f32))
    }
}

/// The way from metres of the job into a raster's system. A GDAL transformation belongs to one thread, so each makes its own.
struct Way {
    number: u64,
    from: String,
    to: String,
    unit_m: f64,
}

static WAYS: AtomicU64 = AtomicU64::new(0);

thread_local! {
    /// The way last used by this thread.
    static OPEN: RefCell<Option<(u64, CoordTransform)>> = const { RefCell::new(None) };
}

impl Way {
    fn new(job: &Crs, raster: &Crs) -> Way {
        let number = WAYS.fetch_add(1, Ordering::Relaxed);
        Way {
            number,
            from: definition(job),
            to: definition(raster),
            unit_m: job.info.unit_m,
        }
    }

    fn open(&self) -> Option<CoordTransform> {
        let srs = |text: &str| {
            let mut srs = SpatialRef::from_definition(text).ok()?;
            srs.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
            Some(srs)
        };
        CoordTransform::new(&srs(&self.from)?, &srs(&self.to)?).ok()
    }
}

/// By code where there is one: it carries more than well-known text does.
fn definition(crs: &Crs) -> String {
    crs.info
        .authority
        .clone()
        .unwrap_or_else(|| crs.info.wkt.clone())
}

impl Project for Way {
    fn project(&self, p: Coord<f64>) -> Option<Coord<f64>> {
        OPEN.with_borrow_mut(|open| {
            if open.as_ref().is_none_or(|(n, _)| *n != self.number) {
                *open = Some((self.number, self.open()?));
            }
            let (_, way) = open.as_ref()?;
            let (mut x, mut y) = ([p.x / self.unit_m], [p.y / self.unit_m]);
            way.transform_coords(&mut x, &mut y, &mut [0.0]).ok()?;
            (x[0].is_finite() && y[0].is_finite()).then_some(Coord { x: x[0], y: y[0] })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_inverse_leads_back_even_from_a_turned_raster() {
        let g = [100.0, 2.0, 0.5, 900.0, 0.25, -3.0];
        let c = inverse(g).unwrap();
        let (x, y) = (
            g[0] + g[1] * 3.5 + g[2] * 7.0,
            g[3] + g[4] * 3.5 + g[5] * 7.0,
        );
        assert!((c[0] + c[1] * x + c[2] * y - 3.5).abs() < 1e-9);
        assert!((c[3] + c[4] * x + c[5] * y - 7.0).abs() < 1e-9);
    }

    #[test]
    fn a_cut_keeps_two_cells_more_and_stays_on_the_raster() {
        let c = inverse([0.0, 10.0, 0.0, 1000.0, 0.0, -10.0]).unwrap();
        let cut = |x0, y0, x1, y1| {
            Cut::of(
                &Bounds {
                    min: [x0, y0],
                    max: [x1, y1],
                },
                &c,
                (100, 100),
            )
        };
        let k = cut(105.0, 805.0, 195.0, 895.0).unwrap();
        assert_eq!((k.left, k.top, k.width, k.height), (8, 8, 14, 14));
        let edge = cut(-50.0, 950.0, 5.0, 1050.0).unwrap();
        assert_eq!((edge.left, edge.top, edge.width, edge.height), (0, 0, 3, 7));
        assert!(cut(5000.0, 5000.0, 5100.0, 5100.0).is_none());
    }
}
