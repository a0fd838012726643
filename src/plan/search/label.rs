//! Partial plans, and which of two is better.

use super::grid::NodeId;
use std::cmp::Ordering;

/// Costs nearer than this are equal.
pub const SAME_COST: f64 = 1e-6;
/// Sums of the same numbers in another order differ by less than this.
pub const ROUNDING: f64 = 1e-9;
/// Lengths and levels nearer than this are equal (m).
const SAME_LENGTH_M: f64 = 1e-6;

/// Index of a step in the [`Book`].
pub type StepId = u32;

/// A drive of a run that ends at a through pit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// The pit.
    pub ds: NodeId,
    /// Chainage of its station (m).
    pub chainage_m: f64,
    /// Launched there.
    pub from_downstream: bool,
}

/// The last run of a partial plan. There are millions: it takes as little room as it can.
#[derive(Debug, Clone)]
pub struct RunStep {
    /// Whose: the route's place in the system.
    pub member: u32,
    /// The partial plan before it; none at the upstream end.
    pub before: Option<StepId>,
    /// Upstream and downstream manhole (positions).
    pub positions: [u32; 2],
    /// Chainage of the upstream manhole (m).
    pub chainage_m: f64,
    /// Outlet invert upstream, inlet invert downstream.
    pub inverts: [f64; 2],
    /// Its drives to through pits, from upstream.
    pub through: Box<[Leg]>,
    /// Its last drive is launched at the downstream manhole.
    pub from_downstream: bool,
}

/// What made a partial plan longer.
#[derive(Debug, Clone)]
pub enum Step {
    /// A run.
    Run(RunStep),
    /// A branch that comes in, with all that lies upstream of it.
    Join {
        /// The route's own partial plan; none at its upstream end.
        before: Option<StepId>,
        /// The branch's.
        branch: StepId,
    },
}

impl Step {
    /// The steps that it builds on.
    fn before_mut(&mut self) -> impl Iterator<Item = &mut StepId> {
        let (before, branch) = match self {
            Step::Run(run) => (&mut run.before, None),
            Step::Join { before, branch } => (before, Some(branch)),
        };
        before.iter_mut().chain(branch)
    }
}

/// A partial plan from the upstream end to the inlet of a manhole, that manhole's pit left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Label {
    /// Cost so far.
    pub cost: f64,
    /// Pits so far.
    pub pits: u32,
    /// Sum of their depths (m).
    pub depth_m: f64,
    /// Sum of |offset| of manholes so far (m).
    pub offset_m: f64,
    /// Drives launched from their downstream pit so far.
    pub from_downstream: u32,
    /// How it came about; none where nothing has been built yet.
    pub step: Option<StepId>,
}

impl Label {
    /// Nothing built.
    pub const NOTHING: Label = Label {
        cost: 0.0,
        pits: 0,
        depth_m: 0.0,
        offset_m: 0.0,
        from_downstream: 0,
        step: None,
    };

    /// With a branch that comes in, `step` joining the two.
    pub fn with_branch(self, branch: &Label, step: StepId) -> Label {
        Label {
            cost: self.cost + branch.cost,
            pits: self.pits + branch.pits,
            depth_m: self.depth_m + branch.depth_m,
            offset_m: self.offset_m + branch.offset_m,
            from_downstream: self.from_downstream + branch.from_downstream,
            step: Some(step),
        }
    }

    /// With a pit more.
    pub fn with_pit(self, cost: f64, depth_m: f64, offset_m: f64) -> Label {
        Label {
            cost: self.cost + cost,
            pits: self.pits + 1,
            depth_m: self.depth_m + depth_m,
            offset_m: self.offset_m + offset_m.abs(),
            ..self
        }
    }
}

/// All steps of all partial plans kept, of all routes of a system.
#[derive(Debug)]
pub struct Book {
    steps: Vec<Step>,
    /// The members of the system in input order.
    input_order: Vec<usize>,
}

impl Book {
    /// An empty book for a system with its members in this order of input.
    pub fn new(input_order: Vec<usize>) -> Book {
        Book {
            steps: vec![],
            input_order,
        }
    }

    /// Writes a step down.
    pub fn note(&mut self, step: Step) -> StepId {
        self.steps.push(step);
        (self.steps.len() - 1) as StepId
    }

    /// How many steps there are.
    pub fn len(&self) -> usize {
        self.steps.len()
    }

    /// Of the steps noted since there were so many, keeps those of these partial plans: the others are by far the most.
    pub fn keep_of<'f>(&mut self, since: usize, fronts: impl Iterator<Item = &'f mut Front>) {
        let mut fronts: Vec<&mut Front> = fronts.collect();
        let mut used = vec![false; self.steps.len() - since];
        let place = |step: StepId| (step as usize).checked_sub(since);
        let labels = fronts.iter().flat_map(|front| front.labels());
        for at in labels.filter_map(|label| label.step).filter_map(place) {
            used[at] = true;
        }
        for at in (0..used.len()).rev() {
            // A step builds on earlier ones.
            if used[at] {
                let before = self.steps[since + at].before_mut();
                before
                    .filter_map(|b| place(*b))
                    .for_each(|b| used[b] = true);
            }
        }
        let mut now: Vec<StepId> = vec![0; used.len()];
        for (at, mut step) in self.steps.split_off(since).into_iter().enumerate() {
            if used[at] {
                for before in step.before_mut() {
                    if let Some(at) = place(*before) {
                        *before = now[at];
                    }
                }
                now[at] = self.note(step);
            }
        }
        for label in fronts.iter_mut().flat_map(|front| &mut front.0) {
            if let Some(at) = label.step.and_then(place) {
                label.step = Some(now[at]);
            }
        }
    }

    /// Takes the newest step back: its label was not kept.
    pub fn strike_out_last(&mut self) {
        self.steps.pop();
    }

    /// Runs of a partial plan's own route, from its downstream end up.
    pub fn upward(&self, from: Option<StepId>) -> impl Iterator<Item = &RunStep> {
        let mut at = from;
        std::iter::from_fn(move || {
            loop {
                match &self.steps[at? as usize] {
                    Step::Run(run) => {
                        at = run.before;
                        return Some(run);
                    }
                    Step::Join { before, .. } => at = *before,
                }
            }
        })
    }

    /// The last step of every route in a partial plan, by member.
    pub fn strands(&self, from: Option<StepId>) -> Vec<Option<StepId>> {
        let mut out = vec![None; self.input_order.len()];
        let mut open: Vec<StepId> = from.into_iter().collect();
        while let Some(first) = open.pop() {
            let mut at = Some(first);
            while let Some(i) = at {
                at = match &self.steps[i as usize] {
                    Step::Run(run) => {
                        let last = &mut out[run.member as usize];
                        *last = last.or(Some(i));
                        run.before
                    }
                    Step::Join { before, branch } => {
                        open.push(*branch);
                        *before
                    }
                };
            }
        }
        out
    }

    /// Chainages of all pits of one route above the manhole that its part of a partial plan ends at, ascending.
    fn pit_chainages(&self, from: Option<StepId>) -> impl Iterator<Item = f64> + '_ {
        self.upward(from).flat_map(|step| {
            let through = step.through.iter().rev();
            through
                .map(|l| l.chainage_m)
                .chain(std::iter::once(step.chainage_m))
        })
    }

    /// Which of two partial plans of equal cost is better (`Less`): fewer pits; less total depth; smaller chainages;
    /// less total offset; more drives launched from downstream; higher outlets from downstream up.
    pub fn by_ties(&self, a: &Label, b: &Label) -> Ordering {
        let sums = a
            .pits
            .cmp(&b.pits)
            .then_with(|| nearly(a.depth_m, b.depth_m));
        if sums != Ordering::Equal || a.step == b.step {
            return sums;
        }
        if self.last_join(a.step) == self.last_join(b.step) {
            // All that they differ in lies below: on one route.
            return self.by_route_ties((a, b), |compare| compare(a.step, b.step));
        }
        let strands = [a, b].map(|l| self.strands(l.step));
        // Every route's pits end at its upstream end, so that no list is the beginning of another: route by route and
        // one list after the other are the same order.
        self.by_route_ties((a, b), |compare| {
            let routes = self
                .input_order
                .iter()
                .map(|m| (strands[0][*m], strands[1][*m]));
            let mut unequal = routes
                .filter(|(x, y)| x != y)
                .map(|(x, y)| compare(x, y))
                .filter(|o| *o != Ordering::Equal);
            unequal.next().unwrap_or(Ordering::Equal)
        })
    }

    /// The rules on ties that look at pits and levels one by one; `by` compares route by route.
    fn by_route_ties(
        &self,
        (a, b): (&Label, &Label),
        by: impl Fn(&dyn Fn(Option<StepId>, Option<StepId>) -> Ordering) -> Ordering,
    ) -> Ordering {
        let outlets = |s| self.upward(s).map(|s| -s.inverts[0]);
        let inlets = |s| self.upward(s).map(|s| s.inverts[1]);
        by(&|x, y| lexicographic(self.pit_chainages(x), self.pit_chainages(y)))
            .then_with(|| nearly(a.offset_m, b.offset_m))
            .then_with(|| b.from_downstream.cmp(&a.from_downstream))
            .then_with(|| by(&|x, y| lexicographic(outlets(x), outlets(y))))
            // beyond the planning model, where inlets are free: the smaller drops
            .then_with(|| by(&|x, y| lexicographic(inlets(x), inlets(y))))
    }

    /// The lowest step at which a branch came in.
    fn last_join(&self, from: Option<StepId>) -> Option<StepId> {
        let mut at = from;
        while let Some(i) = at {
            match &self.steps[i as usize] {
                Step::Run(run) => at = run.before,
                Step::Join { .. } => return at,
            }
        }
        None
    }
}

/// Compares lengths or levels, equal within a tolerance.
pub fn nearly(a: f64, b: f64) -> Ordering {
    if (a - b).abs() <= SAME_LENGTH_M {
        Ordering::Equal
    } else {
        a.total_cmp(&b)
    }
}

fn lexicographic(mut a: impl Iterator<Item = f64>, mut b: impl Iterator<Item = f64>) -> Ordering {
    loop {
        match (a.next(), b.next()) {
            (None, None) => return Ordering::Equal,
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(x), Some(y)) => match nearly(x, y) {
                Ordering::Equal => {}
                unequal => return unequal,
            },
        }
    }
}

/// The partial plans of one state that may still be part of the best plan: within [`SAME_COST`] of the cheapest, and
/// none both dearer and worse by ties than another. What is left out cannot win: both can be continued in the same
/// ways, at the same further cost.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Front(Vec<Label>);

impl Front {
    /// A front of one.
    pub fn of(label: Label) -> Front {
        Front(vec![label])
    }

    /// Least cost; +inf where there is none.
    pub fn least(&self) -> f64 {
        self.0.iter().map(|l| l.cost).fold(f64::INFINITY, f64::min)
    }

    /// No partial plan.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Takes no more room than it needs: there are many.
    pub fn fit(mut self) -> Front {
        self.0.shrink_to_fit();
        self
    }

    /// All kept.
    pub fn labels(&self) -> &[Label] {
        &self.0
    }

    /// Keeps a label if it may still win; says whether it did.
    pub fn insert(&mut self, label: Label, book: &Book) -> bool {
        let beaten = |by: &Label, l: &Label| {
            by.cost <= l.cost + ROUNDING
                && (l.cost > by.cost + SAME_COST || book.by_ties(by, l) != Ordering::Greater)
        };
        if self.0.iter().any(|k| beaten(k, &label)) {
            return false;
        }
        self.0.retain(|k| !beaten(&label, k));
        self.0.push(label);
        true
    }

    /// Keeps all of another that may still win.
    pub fn take(&mut self, other: &Front, book: &Book) {
        if self.is_empty() {
            self.0.clone_from(&other.0);
        } else {
            for label in &other.0 {
                self.insert(*label, book);
            }
        }
    }

    /// The best by cost, then ties.
    pub fn best(&self, book: &Book) -> Option<Label> {
        let least = self.least();
        let equal = self.0.iter().filter(|l| l.cost <= least + SAME_COST);
        equal
            .min_by(|a, b| book.by_ties(a, b).then(a.cost.total_cmp(&b.cost)))
            .copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(member: u32, before: Option<StepId>, chainage_m: f64) -> Step {
        Step::Run(RunStep {
            member,
            before,
            positions: [0; 2],
            chainage_m,
            inverts: [0.0; 2],
            through: Box::default(),
            from_downstream: false,
        })
    }

    fn front(step: StepId) -> Front {
        let step = Some(step);
        Front::of(Label {
            step,
            ..Label::NOTHING
        })
    }

    #[test]
    fn a_step_takes_little_room() {
        assert_eq!(size_of::<Step>(), 64);
    }

    #[test]
    fn what_is_kept_of_a_search_reads_as_before_and_the_rest_is_gone() {
        let mut book = Book::new(vec![0, 1]);
        let branch = book.note(run(1, None, 9.0));
        let since = book.len();
        let head = book.note(run(0, None, 40.0));
        book.note(run(0, Some(head), 30.0));
        let joined = book.note(Step::Join {
            before: Some(head),
            branch,
        });
        book.note(run(0, None, 35.0));
        let last = book.note(run(0, Some(joined), 20.0));
        book.note(run(0, Some(last), 10.0));
        let (mut of_branch, mut of_last) = (front(branch), front(last));
        let chainages = |book: &Book, front: &Front| -> Vec<Vec<f64>> {
            let strands = book.strands(front.labels()[0].step).into_iter();
            strands
                .map(|s| book.upward(s).map(|r| r.chainage_m).collect())
                .collect()
        };
        let before = chainages(&book, &of_last);
        assert_eq!(before, [vec![20.0, 40.0], vec![9.0]]);
        book.keep_of(since, [&mut of_branch, &mut of_last].into_iter());
        assert_eq!(book.len(), since + 3);
        assert_eq!(chainages(&book, &of_last), before);
        assert_eq!(of_branch, front(branch));
        book.keep_of(since, std::iter::empty());
        assert_eq!(book.len(), since);
        assert_eq!(chainages(&book, &of_branch), [vec![], vec![9.0]]);
    }
}
