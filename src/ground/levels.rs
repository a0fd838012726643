//! The levels of a raster's cells, all of them or only those of some tiles.

use super::highest;

/// Cells of a tile, across and down.
pub const TILE: usize = 128;

/// Cells of a block, across and down: of each block of a tile its least value is kept.
const BLOCK: usize = 8;
/// Blocks of a tile, across and down.
const BLOCKS: usize = TILE / BLOCK;
/// The least of more blocks than this is not looked for: whoever asks is as soon done with the cells that matter.
const BLOCKS_TOGETHER: usize = 64;

/// Levels of cells (m), NaN where there is none.
pub enum Levels {
    /// Every cell, row by row from the first.
    Whole(Vec<f64>),
    /// Only the tiles that somebody will ask about.
    Tiles(Tiles),
}

/// Square tiles of single-precision values as the raster holds them.
pub struct Tiles {
    /// Tiles in a row of tiles.
    pub across: usize,
    /// Row by row; none where nobody will ask. There the ground counts as not known, which is never clear.
    pub tiles: Vec<Option<Tile>>,
    /// A value v stands for the level (v · scale + offset) · unit.
    pub scale: f64,
    /// See `scale`.
    pub offset: f64,
    /// See `scale` (m).
    pub unit_m: f64,
}

/// The values of a tile.
#[derive(Debug, Clone)]
pub struct Tile {
    /// Row by row; NaN where there is none.
    cells: Box<[f32]>,
    /// The least value of each block, row by row; -∞ where some cell of it has none.
    least: Box<[f32]>,
}

impl Tile {
    /// Of [`TILE`]² cells, row by row.
    ///
    /// # Panics
    /// If they are not as many.
    pub fn new(cells: Box<[f32]>) -> Tile {
        assert_eq!(cells.len(), TILE * TILE);
        let of_rows = |rows: &[f32]| {
            let mut least = [f32::INFINITY; TILE];
            for row in rows.chunks_exact(TILE) {
                // No branches: the processor does several at once.
                for (least, v) in least.iter_mut().zip(row) {
                    let v = if v.is_nan() { f32::NEG_INFINITY } else { *v };
                    *least = if v < *least { v } else { *least };
                }
            }
            let of_block = |some: &[f32]| some.iter().copied().fold(f32::INFINITY, f32::min);
            std::array::from_fn::<f32, BLOCKS, _>(|k| of_block(&least[k * BLOCK..][..BLOCK]))
        };
        let least = cells.chunks_exact(BLOCK * TILE).flat_map(of_rows).collect();
        Tile { cells, least }
    }
}

impl Levels {
    /// No cell of these columns and rows (first and last) has a lower level. None where some has none, where that is not known
    /// without looking at cells, or would be long to find out.
    pub(super) fn least(&self, columns: [usize; 2], rows: [usize; 2]) -> Option<f64> {
        match self {
            Levels::Whole(_) => None,
            Levels::Tiles(t) => t.least(columns, rows),
        }
    }

    /// Level of a cell of a raster of `width` columns.
    pub fn at(&self, column: usize, row: usize, width: usize) -> f64 {
        match self {
            Levels::Whole(cells) => cells[row * width + column],
            Levels::Tiles(t) => t.at(column, row),
        }
    }

    /// Levels of the cells of two columns in two rows, row by row.
    #[inline]
    pub(super) fn four(&self, i: [usize; 2], j: [usize; 2], width: usize) -> [f64; 4] {
        if let Levels::Tiles(t) = self
            && i[0] / TILE == i[1] / TILE
            && j[0] / TILE == j[1] / TILE
        {
            return t.four(i, j);
        }
        let at = |i: usize, j: usize| self.at(i, j, width);
        [
            at(i[0], j[0]),
            at(i[1], j[0]),
            at(i[0], j[1]),
            at(i[1], j[1]),
        ]
    }

    /// Highest of all cells that were read.
    pub(super) fn highest(&self) -> Option<f64> {
        match self {
            Levels::Whole(cells) => highest(cells.iter().copied()),
            Levels::Tiles(t) => {
                let cells = t.tiles.iter().flatten().flat_map(|tile| tile.cells.iter());
                highest(cells.map(|v| t.level(*v)))
            }
        }
    }
}

impl Tiles {
    fn level(&self, v: f32) -> f64 {
        (f64::from(v) * self.scale + self.offset) * self.unit_m
    }

    /// Of cells in one tile.
    #[inline]
    fn four(&self, i: [usize; 2], j: [usize; 2]) -> [f64; 4] {
        let tile = &self.tiles[j[0] / TILE * self.across + i[0] / TILE];
        let Some(tile) = tile else {
            return [f64::NAN; 4];
        };
        let cells: &[f32; TILE * TILE] = (&*tile.cells).try_into().expect("a tile is whole");
        let at = |i: usize, j: usize| self.level(cells[j % TILE * TILE + i % TILE]);
        [
            at(i[0], j[0]),
            at(i[1], j[0]),
            at(i[0], j[1]),
            at(i[1], j[1]),
        ]
    }

    fn at(&self, column: usize, row: usize) -> f64 {
        let tile = &self.tiles[row / TILE * self.across + column / TILE];
        let Some(tile) = tile else { return f64::NAN };
        self.level(tile.cells[row % TILE * TILE + column % TILE])
    }

    fn least(&self, columns: [usize; 2], rows: [usize; 2]) -> Option<f64> {
        let (x, y) = (columns.map(|c| c / BLOCK), rows.map(|r| r / BLOCK));
        let many = (x[1] - x[0] + 1) * (y[1] - y[0] + 1) > BLOCKS_TOGETHER;
        // With a scale below nought the least value is the highest level.
        if many || !(self.scale >= 0.0 && self.unit_m > 0.0) {
            return None;
        }
        let mut least = f32::INFINITY;
        for j in y[0]..=y[1] {
            for i in x[0]..=x[1] {
                let tile = self.tiles[j / BLOCKS * self.across + i / BLOCKS].as_ref()?;
                least = least.min(tile.least[j % BLOCKS * BLOCKS + i % BLOCKS]);
            }
        }
        least.is_finite().then(|| self.level(least))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_is_found_in_its_tile_and_one_that_was_not_read_is_not_known() {
        let value = |column: usize, row: usize| (1000 * row + column) as f32;
        let tile = |tx: usize, ty: usize| {
            let cell = |k: usize| value(tx * TILE + k % TILE, ty * TILE + k / TILE);
            Tile::new((0..TILE * TILE).map(cell).collect())
        };
        let tiles = Tiles {
            across: 2,
            tiles: vec![Some(tile(0, 0)), None, Some(tile(0, 1)), Some(tile(1, 1))],
            scale: 0.5,
            offset: 3.0,
            unit_m: 2.0,
        };
        let width = 2 * TILE;
        let levels = Levels::Tiles(tiles);
        for (column, row) in [(0, 0), (127, 127), (5, 128), (200, 255)] {
            let expected = (f64::from(value(column, row)) * 0.5 + 3.0) * 2.0;
            assert_eq!(levels.at(column, row, width), expected);
        }
        assert!(levels.at(130, 3, width).is_nan());
        // In one tile, at the edge of one, across two and four of them, beside one that was not read.
        for (i, j) in [
            ([5, 6], [7, 8]),
            ([127, 127], [3, 4]),
            ([127, 128], [130, 131]),
            ([126, 127], [127, 128]),
            ([127, 128], [127, 128]),
        ] {
            let one = |i, j| levels.at(i, j, width).to_bits();
            let four = [
                one(i[0], j[0]),
                one(i[1], j[0]),
                one(i[0], j[1]),
                one(i[1], j[1]),
            ];
            assert_eq!(levels.four(i, j, width).map(f64::to_bits), four);
        }
        let last = f64::from(value(width - 1, width - 1));
        assert_eq!(levels.highest(), Some((last * 0.5 + 3.0) * 2.0));
    }

    #[test]
    fn the_least_of_some_cells_is_no_higher_than_any_and_unknown_where_one_is() {
        let mut dice = crate::dice::Dice(0x2545_F491_4F6C_DD1D);
        let mut roll = |n: usize| (dice.roll() * n as f64) as usize;
        let mut tile = |empty: bool| {
            let mut cells: Vec<f32> = (0..TILE * TILE).map(|_| roll(9000) as f32 / 8.0).collect();
            cells[roll(TILE * TILE)] = if empty { f32::NAN } else { -3.0 };
            Some(Tile::new(cells.into_boxed_slice()))
        };
        let mut tiles = Tiles {
            across: 2,
            tiles: vec![tile(false), tile(true), None, tile(false)],
            scale: 0.5,
            offset: 3.0,
            unit_m: 2.0,
        };
        let (mut known, mut unknown, mut close) = (0, 0, 0);
        for _ in 0..4000 {
            let mut span = || {
                let from = roll(2 * TILE);
                [from, (from + roll(20)).min(2 * TILE - 1)]
            };
            let (columns, rows) = (span(), span());
            let all =
                || (rows[0]..=rows[1]).flat_map(|r| (columns[0]..=columns[1]).map(move |c| (c, r)));
            let Some(least) = tiles.least(columns, rows) else {
                unknown += 1;
                continue;
            };
            // Nothing is below it, and what is no number is not above it either.
            let lowest = all()
                .map(|(c, r)| tiles.at(c, r))
                .fold(f64::INFINITY, f64::min);
            assert!(
                all().all(|(c, r)| tiles.at(c, r) >= least),
                "{columns:?} {rows:?}"
            );
            known += 1;
            close += usize::from(lowest == least);
        }
        assert!(
            known > 1000 && unknown > 500 && close > 100,
            "{known} {unknown} {close}"
        );
        tiles.scale = -0.5;
        assert_eq!(tiles.least([0, 1], [0, 1]), None);
    }
}
