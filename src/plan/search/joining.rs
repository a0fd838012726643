//! Branches that come in at a position, put beside what comes down the route itself.

use super::{
    exact::{Branch, Exact, lowered},
    label::{Front, Step, StepId},
    pricing::DirectionId,
};
use crate::plan::context::Context;
use std::{collections::HashMap, ops::Range};

/// Partial plans of a position, its pit left out, by level: the drives that come in from upstream, in order of precedence.
pub type Incoming = (Vec<(DirectionId, bool)>, Vec<Front>);

/// Steps that join a branch, by what they join: one partial plan of it meets one of the route at many levels.
type Joins = HashMap<(Option<StepId>, StepId), StepId>;

impl Exact<'_, '_, '_> {
    /// Tells `hear` of what comes in at a position: partial plans of the route itself (`own`) with those of the branches that join.
    /// `lower` gives the levels of the position that a branch's inlet level allows; `most` what all may cost by level of the position,
    /// that a plan for the bound may come of it.
    pub fn each_coming_in(
        &mut self,
        p: usize,
        own: Vec<Incoming>,
        lower: impl Fn(&Context, f64) -> Range<usize>,
        most: &[f64],
        mut hear: impl FnMut(&mut Self, &Incoming),
    ) {
        let branches = self.of_branches(p, lower);
        let mut joins = Joins::new();
        for own in &own {
            self.together(&mut joins, own, (&branches, most), &mut hear);
        }
    }

    /// Partial plans of each branch that joins at a position, by the position's level.
    fn of_branches(
        &mut self,
        p: usize,
        lower: impl Fn(&Context, f64) -> Range<usize>,
    ) -> Vec<Vec<Incoming>> {
        let levels = self.grid.positions[p].levels.len();
        let branches = self.branches.remove(&p).unwrap_or_default();
        let mut lowered = |branch: &Branch| -> Vec<Incoming> {
            let arrivals = branch.arrivals.iter();
            arrivals
                .map(|(away, fronts)| {
                    let range = |z: usize| lower(self.prices.cx, branch.levels.level(z));
                    let drive = away.map(|u| (self.prices.direction_of(u), true));
                    let fronts = lowered(levels, fronts, range, self.book);
                    (drive.into_iter().collect(), fronts)
                })
                .collect()
        };
        branches.iter().map(|b| lowered(b)).collect()
    }

    /// Puts what comes in beside what comes of each of some branches, one way after the other, for there are many where several
    /// branches join.
    fn together(
        &mut self,
        joins: &mut Joins,
        own: &Incoming,
        (branches, most): (&[Vec<Incoming>], &[f64]),
        hear: &mut dyn FnMut(&mut Self, &Incoming),
    ) {
        let Some((branch, others)) = branches.split_first() else {
            return hear(self, own);
        };
        for (drives, fronts) in branch {
            let levels = own.1.iter().zip(fronts).zip(most);
            let both: Vec<Front> = levels
                .map(|((a, b), most)| self.both(joins, (a, b), *most))
                .collect();
            if both.iter().any(|f| !f.is_empty()) {
                let drives = [&own.0[..], drives].concat();
                self.together(joins, &(drives, both), (others, most), hear);
            }
        }
    }

    /// Every partial plan of the route with every one of a branch, where they cost no more than so much.
    fn both(&mut self, joins: &mut Joins, (own, branch): (&Front, &Front), most: f64) -> Front {
        let mut front = Front::default();
        for a in own.labels() {
            for b in branch.labels().iter().filter(|b| a.cost + b.cost <= most) {
                let branch = b.step.expect("a branch has runs");
                let known = joins.get(&(a.step, branch)).copied();
                let before = a.step;
                let step = known.unwrap_or_else(|| self.book.note(Step::Join { before, branch }));
                let is_kept = front.insert(a.with_branch(b, step), self.book);
                match (is_kept, known) {
                    (true, None) => {
                        joins.insert((before, branch), step);
                    }
                    (false, None) => self.book.strike_out_last(),
                    (_, Some(_)) => {}
                }
            }
        }
        front
    }
}
