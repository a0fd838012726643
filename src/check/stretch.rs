//! One row in the making: pieces that follow each other, of which only those are judged that may be its worst.
//!
//! A row has the values of its worst piece; of margins that differ by rounding only, the first along the service counts
//! ([`Encounters`]). So a piece that has more margin than the least by far changes nothing, whatever its place. Where margins
//! are as close as rounding every piece is judged.

use super::piece::{Beheld, Looking};
use crate::{
    clearance::{Depth, Encounter, Encounters, Estimate, Judged, LENGTH_TOLERANCE_M, Piece, Row},
    job::Limits,
};

/// Pieces whose margin may be within this of the least are judged (m): ten times what counts as rounding.
const CLOSE_M: f64 = 10.0 * LENGTH_TOLERANCE_M;

/// A row in the making, and the rows made.
#[derive(Default)]
pub(super) struct Stretch {
    /// Class, and whether the depth is known.
    of: Option<(Encounter, bool)>,
    /// All pieces of the part in hand that belong to rows.
    pieces: Vec<Beheld>,
    /// The first of them that belongs to the row in the making.
    first: usize,
    /// What pieces of the row in the making came to that were judged when they were looked at: place among the pieces, values.
    already: Vec<(usize, Judged)>,
    /// Likewise, of those that may be the worst.
    judged: Vec<(usize, Judged)>,
    encounters: Encounters,
}

impl Stretch {
    /// The next piece that was looked at; it is judged at once where its estimate does not tell whether it belongs to a row.
    /// `next` where it follows the one before without a piece between.
    #[inline]
    pub fn add(
        &mut self,
        at: &Looking,
        (next, class): (bool, Encounter),
        (piece, limits): (&Piece, Limits),
        estimate: Option<Estimate>,
    ) {
        let certain = estimate.filter(|e| e.counts.is_some());
        let estimate = certain.unwrap_or_else(|| self.at_once(at, piece, limits, class));
        if estimate.counts == Some(false) {
            self.close(at);
            return;
        }
        let known = at.driven.bore.levels && matches!(piece.depth, Depth::Known(_));
        if !(next && self.of == Some((class, known))) {
            // What was just judged belongs to the next row.
            let judged = self.already.pop_if(|last| last.0 == self.pieces.len());
            self.close(at);
            self.of = Some((class, known));
            self.already.extend(judged);
        }
        self.pieces.push(Beheld {
            piece: *piece,
            limits,
            estimate,
        });
    }

    /// Judges the next piece.
    fn at_once(
        &mut self,
        at: &Looking,
        piece: &Piece,
        limits: Limits,
        class: Encounter,
    ) -> Estimate {
        let judged = at.judge(piece, limits, class);
        let estimate = Estimate::of(&judged);
        if estimate.counts == Some(true) {
            self.already.push((self.pieces.len(), judged));
        }
        estimate
    }

    /// Makes the last row; what follows is of another part.
    pub fn end(&mut self, at: &Looking) {
        self.close(at);
    }

    /// The rows, each with the piece whose values it has.
    pub fn rows(&self) -> impl Iterator<Item = (&Row, &Beheld)> + '_ {
        let rows = self.encounters.rows().iter();
        rows.map(|row| (row, &self.pieces[row.piece]))
    }

    /// Forgets the part before.
    pub fn begin(&mut self) {
        self.pieces.clear();
        self.first = 0;
        self.encounters.clear();
    }

    /// Makes the row of the pieces so far.
    fn close(&mut self, at: &Looking) {
        let Some((class, _)) = self.of.take() else {
            return;
        };
        let pieces = &self.pieces[self.first..];
        let proves = pieces.iter().any(|p| p.estimate.prove);
        let of_worst = pieces.iter().filter(|p| p.estimate.prove == proves);
        let least = of_worst.map(|p| p.estimate.most_m);
        let within_m = least.fold(f64::INFINITY, f64::min) + CLOSE_M;
        let close = |p: &Beheld| p.estimate.prove == proves && p.estimate.least_m <= within_m;
        self.judge(at, class, close);
        if tied(&self.judged) {
            self.judge(at, class, |_| true);
        }
        self.first = self.pieces.len();
        self.already.clear();
        for (k, (piece, judged)) in self.judged.iter().enumerate() {
            self.encounters.add(*piece, k > 0, class, *judged);
        }
    }

    /// Judges some pieces of the row in the making.
    fn judge(&mut self, at: &Looking, class: Encounter, some: impl Fn(&Beheld) -> bool) {
        self.judged.clear();
        let mut already = self.already.iter().peekable();
        for (k, piece) in self.pieces.iter().enumerate().skip(self.first) {
            let known = already.next_if(|a| a.0 == k);
            if some(piece) {
                self.judged.push(match known {
                    Some(known) => *known,
                    None => (k, at.judge(&piece.piece, piece.limits, class)),
                });
            }
        }
    }
}

/// Some margin is as close to the least as rounding.
fn tied(judged: &[(usize, Judged)]) -> bool {
    if judged.len() < 2 {
        return false;
    }
    let margins = || judged.iter().map(|j| j.1.margin_m);
    let least = margins().fold(f64::INFINITY, f64::min);
    margins().any(|m| m > least && m <= least + 2.0 * LENGTH_TOLERANCE_M)
}
