//! The tiles of a raster of ground levels that lie near some bores, read on every core at once.

use super::digest::Digest;
use super::nearby::Nearby;
use super::raster::{Cut, NoData};
use super::shape::Bounds;
use crate::ground::{TILE, Tile, Tiles};
use gdal::Dataset;
use gdal::raster::{GdalDataType, RasterBand};
use rayon::prelude::*;

/// So many boxes are looked at by one thread in one go.
const BOXES_TOGETHER: usize = 8192;

/// A row of tiles, none where one was not asked for, and the digest of their values.
type RowOfTiles = (Vec<Option<Tile>>, Digest);

/// Whether single precision holds every value of the band.
pub(super) fn fit(band: &RasterBand) -> bool {
    use GdalDataType::*;
    matches!(band.band_type(), UInt8 | UInt16 | Int16 | Float32)
}

/// Which tiles of `cut` hold a cell whose level may be asked for within the boxes (units of the raster).
pub(super) fn wanted(cut: &Cut, to_cell: &[f64; 6], boxes: &[Bounds]) -> Vec<bool> {
    let none = || vec![false; cut.width.div_ceil(TILE) * cut.height.div_ceil(TILE)];
    let some = boxes.par_chunks(BOXES_TOGETHER).map(|some| {
        let mut marked = none();
        some.iter().for_each(|b| mark(cut, to_cell, b, &mut marked));
        marked
    });
    some.reduce(none, |mut all, some| {
        all.iter_mut()
            .zip(some)
            .for_each(|(all, some)| *all |= some);
        all
    })
}

/// Marks the tiles that a box is in.
fn mark(cut: &Cut, to_cell: &[f64; 6], b: &Bounds, marked: &mut [bool]) {
    let across = cut.width.div_ceil(TILE);
    let Some(part) = Cut::of(b, to_cell, (cut.left + cut.width, cut.top + cut.height)) else {
        return;
    };
    let tiles = |from: usize, n: usize, left: usize| {
        let first = from.saturating_sub(left) / TILE;
        (first, (from + n).saturating_sub(left + 1) / TILE)
    };
    let (x, y) = (
        tiles(part.left, part.width, cut.left),
        tiles(part.top, part.height, cut.top),
    );
    for row in y.0..=y.1 {
        marked[row * across + x.0..=row * across + x.1].fill(true);
    }
}

/// Boxes of the bores' straights (metres of the job) in units of the raster.
pub(super) fn boxes(near: &Nearby, unit_m: f64) -> impl Iterator<Item = Bounds> + '_ {
    near.boxes.iter().map(move |b| Bounds {
        min: b.min.map(|v| v / unit_m),
        max: b.max.map(|v| v / unit_m),
    })
}

/// Reads the marked tiles of a window; `open` opens the raster anew for each thread. The digest is of their values in order.
pub(super) fn read(
    cut: &Cut,
    marked: &[bool],
    unit_m: f64,
    open: impl Fn() -> Result<Dataset, String> + Sync,
) -> Result<(Tiles, Digest), String> {
    let across = cut.width.div_ceil(TILE);
    let rows: Vec<&[bool]> = marked.chunks(across).collect();
    // One raster a thread and piece of work, for one is not to be shared.
    let some = rows.len().div_ceil(4 * rayon::current_num_threads()).max(1);
    let indexed: Vec<(usize, &[bool])> = rows.into_iter().enumerate().collect();
    let read = |some: &[(usize, &[bool])]| -> Result<Vec<RowOfTiles>, String> {
        if some.iter().all(|(_, row)| row.iter().all(|m| !m)) {
            return Ok(some
                .iter()
                .map(|(_, row)| (vec![None; row.len()], Digest::default()))
                .collect());
        }
        let raster = open()?;
        let band = raster.rasterband(1).map_err(|e| e.to_string())?;
        let empty = NoData::of(&band);
        some.iter()
            .map(|(ty, row)| row_of_tiles(&band, &empty, cut, *ty, row))
            .collect()
    };
    let parts: Vec<Vec<RowOfTiles>> = indexed
        .par_chunks(some)
        .map(read)
        .collect::<Result<_, _>>()?;
    let raster = open()?;
    let band = raster.rasterband(1).map_err(|e| e.to_string())?;
    let (mut tiles, mut digest) = (Vec::with_capacity(marked.len()), Digest::default());
    for (row, of_row) in parts.into_iter().flatten() {
        tiles.extend(row);
        digest.of_part(of_row);
    }
    let tiles = Tiles {
        across,
        tiles,
        scale: band.scale().unwrap_or(1.0),
        offset: band.offset().unwrap_or(0.0),
        unit_m,
    };
    Ok((tiles, digest))
}

/// One row of tiles: neighbours are read together.
fn row_of_tiles(
    band: &RasterBand,
    empty: &NoData,
    cut: &Cut,
    ty: usize,
    marked: &[bool],
) -> Result<RowOfTiles, String> {
    let mut out: Vec<Option<Tile>> = vec![None; marked.len()];
    let mut digest = Digest::default();
    let top = ty * TILE;
    let height = TILE.min(cut.height - top);
    let mut tx = 0;
    while tx < marked.len() {
        if !marked[tx] {
            tx += 1;
            continue;
        }
        let n = marked[tx..].iter().take_while(|m| **m).count();
        let left = tx * TILE;
        let width = (n * TILE).min(cut.width - left);
        let place = ((cut.left + left) as isize, (cut.top + top) as isize);
        let cells = band
            .read_as::<f32>(place, (width, height), (width, height), None)
            .map_err(|_| super::last_words())?;
        let cells = cells.data();
        for k in 0..n {
            let mut tile = vec![f32::NAN; TILE * TILE];
            let (from, wide) = (k * TILE, TILE.min(width - k * TILE));
            for row in 0..height {
                let source = &cells[row * width + from..][..wide];
                for (to, v) in tile[row * TILE..].iter_mut().zip(source) {
                    *to = if empty.is(f64::from(*v)) {
                        f32::NAN
                    } else {
                        *v
                    };
                }
            }
            digest.singles(&tile);
            out[tx + k] = Some(Tile::new(tile.into_boxed_slice()));
        }
        tx += n;
    }
    Ok((out, digest))
}
