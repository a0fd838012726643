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

/// A drive of a run, named by its downstream node and the side that launches it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Downstream pit.
    pub ds: NodeId,
    /// Launch side.
    pub side: usize,
}

/// The last run of a partial plan.
#[derive(Debug, Clone)]
pub struct Step {
    /// The partial plan before it; none at the upstream end.
    pub before: Option<StepId>,
    /// Upstream and downstream manhole (positions).
    pub positions: [usize; 2],
    /// Outlet invert upstream, inlet invert downstream.
    pub inverts: [f64; 2],
    /// Its drives, from upstream.
    pub legs: Vec<Leg>,
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

/// All steps of all partial plans kept.
#[derive(Debug)]
pub struct Book {
    steps: Vec<Step>,
    /// Chainage of every node's station.
    pub chainages: Vec<f64>,
    /// Node of every position.
    pub position_nodes: Vec<NodeId>,
}

impl Book {
    /// An empty book.
    pub fn new(position_nodes: Vec<NodeId>) -> Book {
        Book {
            steps: vec![],
            chainages: vec![],
            position_nodes,
        }
    }

    /// Writes a step down.
    pub fn note(&mut self, step: Step) -> StepId {
        self.steps.push(step);
        (self.steps.len() - 1) as StepId
    }

    /// Takes the newest step back: its label was not kept.
    pub fn strike_out_last(&mut self) {
        self.steps.pop();
    }

    /// Steps from the downstream end of a partial plan up.
    pub fn upward(&self, from: Option<StepId>) -> impl Iterator<Item = &Step> {
        std::iter::successors(from.map(|i| &self.steps[i as usize]), |s| {
            s.before.map(|i| &self.steps[i as usize])
        })
    }

    /// Chainages of all pits above the manhole that a partial plan ends at, ascending.
    fn pit_chainages(&self, from: Option<StepId>) -> impl Iterator<Item = f64> + '_ {
        self.upward(from).flat_map(|step| {
            let through = step.legs[..step.legs.len() - 1].iter().rev().map(|l| l.ds);
            let manhole = self.position_nodes[step.positions[0]];
            through
                .chain(std::iter::once(manhole))
                .map(|n| self.chainages[n as usize])
        })
    }

    /// Which of two partial plans of equal cost is better (`Less`): fewer pits; less total depth; smaller chainages;
    /// less total offset; more drives launched from downstream; higher outlets from downstream up.
    pub fn by_ties(&self, a: &Label, b: &Label) -> Ordering {
        a.pits
            .cmp(&b.pits)
            .then_with(|| nearly(a.depth_m, b.depth_m))
            .then_with(|| lexicographic(self.pit_chainages(a.step), self.pit_chainages(b.step)))
            .then_with(|| nearly(a.offset_m, b.offset_m))
            .then_with(|| b.from_downstream.cmp(&a.from_downstream))
            .then_with(|| {
                let outlets = |l: &Label| self.upward(l.step).map(|s| -s.inverts[0]);
                lexicographic(outlets(a), outlets(b))
            })
            // beyond the planning model, where inlets are free: the smaller drops
            .then_with(|| {
                let inlets = |l: &Label| self.upward(l.step).map(|s| s.inverts[1]);
                lexicographic(inlets(a), inlets(b))
            })
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

    /// The best by cost, then ties.
    pub fn best(&self, book: &Book) -> Option<Label> {
        let least = self.least();
        let equal = self.0.iter().filter(|l| l.cost <= least + SAME_COST);
        equal
            .min_by(|a, b| book.by_ties(a, b).then(a.cost.total_cmp(&b.cost)))
            .copied()
    }
}
