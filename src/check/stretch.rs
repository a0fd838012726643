//! One row in the making: pieces that follow each other, of which only those are judged that may be its worst.
//!
//! A row has the values of its worst piece; of margins that differ by rounding only, the first along the service counts
//! ([`Encounters`]). So a piece that has more margin than the least by far changes nothing, whatever its place. Where margins
//! are as close as rounding every piece is judged.

use super::piece::Looking;
use crate::clearance::{Encounter, Encounters, Estimate, Judged, LENGTH_TOLERANCE_M, Row};

/// Pieces whose margin may be within this of the least are judged (m): ten times what counts as rounding.
const CLOSE_M: f64 = 10.0 * LENGTH_TOLERANCE_M;

/// A piece that was looked at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen {
    /// Its segment among those of the part.
    pub segment: u32,
    /// The joint where it begins.
    pub joint: u32,
}

impl Seen {
    /// The `k`-th behind it in its segment.
    pub fn plus(self, k: usize) -> Seen {
        Seen {
            joint: self.joint + k as u32,
            ..self
        }
    }
}

/// A row in the making, and the rows made.
#[derive(Default)]
pub(super) struct Stretch {
    /// Class, and whether the depth is known.
    of: Option<(Encounter, bool)>,
    /// All pieces of the part in hand that belong to rows.
    pieces: Vec<(Seen, Estimate)>,
    /// The first of them that belongs to the row in the making.
    first: usize,
    /// Some piece of that is to be proved.
    proves: bool,
    /// The least that some piece of that has at most as its margin, of those not to be proved and of those that are.
    most_m: [f64; 2],
    /// What pieces of the row in the making came to that were judged when they were looked at: place among the pieces, values.
    already: Vec<(usize, Judged)>,
    /// Likewise, of those that may be the worst.
    judged: Vec<(usize, Judged)>,
    encounters: Encounters,
}

impl Stretch {
    /// The next piece that was looked at; it is judged at once where its estimate does not tell whether it belongs to a row.
    /// `next` where it follows the one before without a piece between; `known` where its levels and the bore's are.
    #[inline(always)]
    pub fn add(
        &mut self,
        at: &Looking,
        (next, class, known): (bool, Encounter, bool),
        seen: Seen,
        estimate: Option<Estimate>,
    ) {
        match estimate {
            Some(e) if e.counts == Some(true) && next && self.of == Some((class, known)) => {
                self.push(seen, e);
            }
            _ => self.add_other(at, (next, class, known), seen, estimate),
        }
    }

    /// The next piece, which may be of another row or of none.
    fn add_other(
        &mut self,
        at: &Looking,
        (next, class, known): (bool, Encounter, bool),
        seen: Seen,
        estimate: Option<Estimate>,
    ) {
        let certain = estimate.filter(|e| e.counts.is_some());
        let estimate = certain.unwrap_or_else(|| self.at_once(at, &seen, class));
        if estimate.counts == Some(false) {
            self.close(at);
            return;
        }
        if !(next && self.of == Some((class, known))) {
            // What was just judged belongs to the next row.
            let judged = self.already.pop_if(|last| last.0 == self.pieces.len());
            self.close(at);
            self.of = Some((class, known));
            self.proves = false;
            self.most_m = [f64::INFINITY; 2];
            self.already.extend(judged);
        }
        self.push(seen, estimate);
    }

    #[inline(always)]
    fn push(&mut self, seen: Seen, estimate: Estimate) {
        self.proves |= estimate.prove;
        let most_m = &mut self.most_m[usize::from(estimate.prove)];
        if estimate.most_m < *most_m {
            *most_m = estimate.most_m;
        }
        self.pieces.push((seen, estimate));
    }

    /// Judges the next piece.
    fn at_once(&mut self, at: &Looking, seen: &Seen, class: Encounter) -> Estimate {
        let judged = at.judge(&at.piece(seen), class);
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
    pub fn rows(&self) -> impl Iterator<Item = (&Row, &Seen)> + '_ {
        let rows = self.encounters.rows().iter();
        rows.map(|row| (row, &self.pieces[row.piece].0))
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
        let proves = self.proves;
        let within_m = self.most_m[usize::from(proves)] + CLOSE_M;
        let close = |e: &Estimate| e.prove == proves && e.least_m <= within_m;
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
    fn judge(&mut self, at: &Looking, class: Encounter, some: impl Fn(&Estimate) -> bool) {
        let mut judged = std::mem::take(&mut self.judged);
        judged.clear();
        let mut already = self.already.iter().peekable();
        for (k, (seen, estimate)) in self.pieces.iter().enumerate().skip(self.first) {
            let known = already.next_if(|a| a.0 == k);
            if some(estimate) {
                judged.push(match known {
                    Some(known) => *known,
                    None => (k, at.judge(&at.piece(seen), class)),
                });
            }
        }
        self.judged = judged;
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
