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
    pieces: Vec<Beheld>,
    /// What pieces came to that were judged when they were looked at: place among the pieces, values.
    already: Vec<(usize, Judged)>,
    judged: Vec<Judged>,
    encounters: Encounters,
    /// Pieces that rows may refer to.
    seen: Vec<Beheld>,
}

impl Stretch {
    /// The next piece that was looked at; it is judged at once where its estimate does not tell whether it belongs to a row.
    /// `next` where it follows the one before without a piece between.
    pub fn add(
        &mut self,
        at: &Looking,
        (next, class): (bool, Encounter),
        (piece, limits): (&Piece, Limits),
        estimate: Option<Estimate>,
    ) {
        let certain = estimate.filter(|e| e.counts.is_some());
        let (estimate, judged) = match certain {
            Some(estimate) => (estimate, None),
            None => {
                let judged = at.judge(piece, limits, class);
                (Estimate::of(&judged), Some(judged))
            }
        };
        if estimate.counts == Some(false) {
            self.close(at);
            return;
        }
        let known = at.driven.bore.levels && matches!(piece.depth, Depth::Known(_));
        if !(next && self.of == Some((class, known))) {
            self.close(at);
            self.of = Some((class, known));
        }
        if let Some(judged) = judged {
            self.already.push((self.pieces.len(), judged));
        }
        self.pieces.push(Beheld {
            piece: *piece,
            limits,
            estimate,
        });
    }

    /// The rows; what follows is of another part.
    pub fn rows(&mut self, at: &Looking) -> impl Iterator<Item = (Row, Beheld)> + '_ {
        self.close(at);
        let seen = &self.seen;
        self.encounters.drain().map(|row| (row, seen[row.piece]))
    }

    /// Forgets the pieces of the part before.
    pub fn begin(&mut self) {
        self.seen.clear();
    }

    /// Makes the row of the pieces so far.
    fn close(&mut self, at: &Looking) {
        let Some((class, _)) = self.of.take() else {
            return;
        };
        let proves = self.pieces.iter().any(|p| p.estimate.prove);
        let of_worst = self.pieces.iter().filter(|p| p.estimate.prove == proves);
        let least = of_worst.map(|p| p.estimate.most_m);
        let within_m = least.fold(f64::INFINITY, f64::min) + CLOSE_M;
        let close = |p: &Beheld| p.estimate.prove == proves && p.estimate.least_m <= within_m;
        self.judge(at, class, close);
        if tied(&self.judged) {
            self.judge(at, class, |_| true);
        }
        self.pieces.clear();
        self.already.clear();
        let first = self.seen.len() - self.judged.len();
        for (k, judged) in self.judged.iter().enumerate() {
            self.encounters.add(first + k, k > 0, class, *judged);
        }
    }

    /// Judges some pieces, and puts them where rows may refer to them.
    fn judge(&mut self, at: &Looking, class: Encounter, some: impl Fn(&Beheld) -> bool) {
        self.judged.clear();
        let mut already = self.already.iter().peekable();
        for (k, piece) in self.pieces.iter().enumerate() {
            let known = already.next_if(|a| a.0 == k).map(|a| a.1);
            if some(piece) {
                let judge = || at.judge(&piece.piece, piece.limits, class);
                self.judged.push(known.unwrap_or_else(judge));
                self.seen.push(*piece);
            }
        }
    }
}

/// Some margin is as close to the least as rounding.
fn tied(judged: &[Judged]) -> bool {
    let margins = || judged.iter().map(|j| j.margin_m);
    let least = margins().fold(f64::INFINITY, f64::min);
    judged.len() > 1 && margins().any(|m| m > least && m <= least + 2.0 * LENGTH_TOLERANCE_M)
}
