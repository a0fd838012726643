//! Rows of `bore_or_trench`: each drive, run, route and lot bored, beside the same in open trench.

use super::taken::{Broken, Taken};
use crate::{
    job::Job,
    plan::{
        Bore, Comparison, CostItem, Method, Pit, Plan, Scope, Spared,
        checks::{Compared, Way, compare_figures},
    },
    site::{Site, Surface},
};
use std::{
    collections::{BTreeMap, BTreeSet},
    f64::consts::PI,
};

/// What a bore is counted with.
type IdOf = fn(&Bore) -> &String;

/// All rows: drives, runs, routes in the order of the bores, then lots in theirs.
///
/// A pit where several drives meet counts for each with an even share. Manholes are left out, since a trench needs the same.
pub fn comparisons(site: &Site, job: &Job, plan: &Plan, taken: &[Taken]) -> Vec<Comparison> {
    let ledger = Ledger::new(job, plan, taken);
    let bores: Vec<(&Bore, Sum)> = plan.bores.iter().map(|b| (b, ledger.bore(b))).collect();
    let mut out = vec![];
    let scopes: [(Scope, IdOf); 3] = [
        (Scope::Bore, |b| &b.bore_id),
        (Scope::Run, |b| &b.run_id),
        (Scope::Route, |b| &b.route_id),
    ];
    for (scope, id_of) in scopes {
        let mut order: Vec<&String> = vec![];
        let mut sums: BTreeMap<&String, (Sum, &String)> = BTreeMap::new();
        for (bore, sum) in &bores {
            let id = id_of(bore);
            if !sums.contains_key(id) {
                order.push(id);
            }
            let whole = sums.entry(id).or_insert((Sum::default(), &bore.route_id));
            whole.0.add(sum);
        }
        let row = |id: &String| {
            let (sum, route) = &sums[id];
            sum.row(job, scope, id, Some(route))
        };
        out.extend(order.into_iter().map(row));
    }
    let lots = ledger.taken_by_lot.keys().map(|lot| {
        let sum = ledger.lot(*lot);
        sum.row(job, Scope::Lot, &site.lots[*lot].lot_id, None)
    });
    out.extend(lots.filter(|row| row.compared.length_m > 1e-6 || row.compared.bore.yards > 0));
    out
}

/// What is added up for a row.
#[derive(Debug, Clone, Default)]
struct Sum {
    length_m: f64,
    fixed_cost: f64,
    bore: Way,
    trench: Way,
    spared: Spared,
    /// Lots with a pit, and lots that a trench would cross.
    lots: [BTreeSet<usize>; 2],
}

impl Sum {
    fn add(&mut self, other: &Sum) {
        self.length_m += other.length_m;
        self.fixed_cost += other.fixed_cost;
        for (way, more) in [
            (&mut self.bore, &other.bore),
            (&mut self.trench, &other.trench),
        ] {
            way.cost += more.cost;
            way.days += more.days;
            way.street_days += more.street_days;
            way.spoil_m3 += more.spoil_m3;
        }
        self.spared.add(&other.spared, 1.0);
        for (lots, more) in self.lots.iter_mut().zip(&other.lots) {
            lots.extend(more);
        }
    }

    fn row(&self, job: &Job, scope: Scope, id: &str, route: Option<&str>) -> Comparison {
        let yards = |i: usize| u32::try_from(self.lots[i].len()).unwrap_or(u32::MAX);
        let compared = Compared {
            length_m: self.length_m,
            fixed_cost: self.fixed_cost,
            bore_per_m: per_m(job),
            bore: Way {
                yards: yards(0),
                ..self.bore
            },
            trench: Way {
                yards: yards(1),
                ..self.trench
            },
        };
        Comparison {
            scope,
            item_id: id.to_string(),
            route_id: route.map(String::from),
            figures: compare_figures(job, &compared),
            compared,
            spared: self.spared,
        }
    }
}

impl Spared {
    fn add(&mut self, other: &Spared, times: f64) {
        self.driveway_m2 += times * other.driveway_m2;
        self.paving_m2 += times * other.paving_m2;
        self.garden_m2 += times * other.garden_m2;
        self.other_m2 += times * other.other_m2;
        self.street_m2 += times * other.street_m2;
        self.fences += times * other.fences;
        self.trees += times * other.trees;
    }

    /// One thing broken; lengths of line are none.
    fn of(t: &Taken) -> Spared {
        let mut one = Spared::default();
        let place = match (&t.what, t.lot) {
            (Broken::Line, _) => return one,
            (Broken::Fence(_), _) => &mut one.fences,
            (Broken::Tree, _) => &mut one.trees,
            (Broken::Surface(..), None) => &mut one.street_m2,
            (Broken::Surface(s, _), Some(_)) => match s {
                Surface::Asphalt | Surface::Concrete => &mut one.driveway_m2,
                Surface::Paving => &mut one.paving_m2,
                Surface::Lawn | Surface::Garden => &mut one.garden_m2,
                Surface::Gravel | Surface::Bare => &mut one.other_m2,
            },
        };
        *place = t.quantity;
        one
    }
}

/// Cost of a metre of bore with its crew.
fn per_m(job: &Job) -> f64 {
    job.costs.bore_per_m + job.costs.crew_day / job.rig.metres_per_day
}

/// The plan's rows by what they belong to.
struct Ledger<'a> {
    job: &'a Job,
    pits: BTreeMap<&'a str, PitShare<'a>>,
    bores: BTreeMap<&'a str, &'a Bore>,
    trench_m3: BTreeMap<&'a str, f64>,
    taken_by_bore: BTreeMap<&'a str, Vec<&'a Taken>>,
    taken_by_pit: BTreeMap<&'a str, Vec<&'a Taken>>,
    taken_by_lot: BTreeMap<usize, Vec<&'a Taken>>,
}

/// A pit, what it costs without a manhole, and how many drives use it.
struct PitShare<'a> {
    pit: &'a Pit,
    cost: f64,
    drives: f64,
    /// Of these, launched here.
    launched: f64,
}

impl<'a> Ledger<'a> {
    fn new(job: &'a Job, plan: &'a Plan, taken: &'a [Taken]) -> Ledger<'a> {
        let mut ledger = Ledger {
            job,
            pits: BTreeMap::new(),
            bores: plan.bores.iter().map(|b| (b.bore_id.as_str(), b)).collect(),
            trench_m3: BTreeMap::new(),
            taken_by_bore: BTreeMap::new(),
            taken_by_pit: BTreeMap::new(),
            taken_by_lot: BTreeMap::new(),
        };
        let (mut drives, mut launched) = (BTreeMap::new(), BTreeMap::new());
        for bore in &plan.bores {
            for pit in BTreeSet::from([&bore.us_pit, &bore.ds_pit]) {
                *drives.entry(pit).or_insert(0.0) += 1.0;
            }
            *launched.entry(&bore.launch_pit).or_insert(0.0) += 1.0;
        }
        for pit in &plan.pits {
            let share = PitShare {
                pit,
                cost: 0.0,
                drives: drives.get(&pit.pit_id).copied().unwrap_or(1.0),
                launched: launched.get(&pit.pit_id).copied().unwrap_or(0.0),
            };
            ledger.pits.insert(&pit.pit_id, share);
        }
        plan.costs.iter().for_each(|c| ledger.note(c));
        for t in taken {
            if let Some(lot) = t.lot {
                ledger.taken_by_lot.entry(lot).or_default().push(t);
            }
            let by = match (&t.bore_id, &t.pit_id) {
                (Some(id), _) => ledger.taken_by_bore.entry(id),
                (None, Some(id)) => ledger.taken_by_pit.entry(id),
                (None, None) => continue,
            };
            by.or_default().push(t);
        }
        ledger
    }

    fn note(&mut self, c: &'a CostItem) {
        let pit = c.pit_id.as_deref().and_then(|id| self.pits.get_mut(id));
        let of_manhole = c.item.starts_with("manhole_");
        if let Some(pit) = pit.filter(|_| c.method == Method::Bore && !of_manhole) {
            pit.cost += c.amount;
        }
        if let Some(id) = c.bore_id.as_deref().filter(|_| c.item == "trench_per_m3") {
            *self.trench_m3.entry(id).or_default() += c.quantity;
        }
    }

    fn of_bore(&self, id: &str) -> impl Iterator<Item = &'a Taken> + '_ {
        self.taken_by_bore.get(id).into_iter().flatten().copied()
    }

    /// Spoil of the trench beside a bore (m3).
    fn trench_m3(&self, bore_id: &str) -> f64 {
        self.trench_m3.get(bore_id).copied().unwrap_or(0.0)
    }

    /// A bore with an even share of its pits.
    fn bore(&self, bore: &Bore) -> Sum {
        let ends = [&bore.us_pit, &bore.ds_pit].map(|id| self.pits.get(id.as_str()));
        let ends: Vec<&PitShare> = ends.into_iter().flatten().collect();
        let shared = |of: &dyn Fn(&PitShare) -> f64| {
            let shares = ends.iter().map(|p| of(p) / p.drives);
            shares.sum::<f64>()
        };
        let cost = bore.cost + shared(&|p| p.cost);
        let in_street = ends.iter().any(|p| p.pit.lot_id.is_none());
        let mut sum = Sum {
            length_m: bore.length_m,
            fixed_cost: cost - per_m(self.job) * bore.length_m,
            bore: Way {
                cost,
                days: bore.days,
                street_days: if in_street { bore.days } else { 0.0 },
                spoil_m3: hole_m2(bore) * bore.length_m + shared(&|p| p.pit.volume_m3),
                yards: 0,
            },
            trench: Way {
                cost: bore.trench_cost,
                days: bore.length_m / self.job.costs.trench_metres_per_day,
                spoil_m3: self.trench_m3(&bore.bore_id),
                ..Way::default()
            },
            ..Sum::default()
        };
        self.break_along(bore, &mut sum);
        ends.iter().for_each(|p| self.break_at(p, &mut sum));
        sum
    }

    /// What the trench beside a bore breaks, and where it would lie.
    fn break_along(&self, bore: &Bore, sum: &mut Sum) {
        for t in self.of_bore(&bore.bore_id) {
            sum.spared.add(&Spared::of(t), 1.0);
            if t.what == Broken::Line {
                sum.lots[1].extend(t.lot);
                if t.lot.is_none() {
                    let a_day = self.job.costs.trench_metres_per_day;
                    sum.trench.street_days += t.quantity / a_day;
                }
            }
        }
    }

    /// A drive's share of what a pit breaks.
    fn break_at(&self, p: &PitShare, sum: &mut Sum) {
        let of_pit = self.taken_by_pit.get(p.pit.pit_id.as_str());
        for t in of_pit.into_iter().flatten() {
            sum.spared.add(&Spared::of(t), -1.0 / p.drives);
            sum.lots[0].extend(t.lot);
        }
    }

    /// What lies on one lot, by length; its pits whole, and the setting up of the drives launched from them.
    fn lot(&self, lot: usize) -> Sum {
        let mut sum = Sum::default();
        let mut pits: BTreeSet<&str> = BTreeSet::new();
        for t in self.taken_by_lot.get(&lot).into_iter().flatten() {
            let of_pit = t.pit_id.as_deref();
            pits.extend(of_pit);
            let times = if of_pit.is_some() { -1.0 } else { 1.0 };
            sum.spared.add(&Spared::of(t), times);
            let bore = t.bore_id.as_deref().and_then(|id| self.bores.get(id));
            if let Some(bore) = bore {
                sum.trench.cost += price(t);
                if t.what == Broken::Line {
                    self.line_on_lot(bore, t.quantity, &mut sum);
                    sum.lots[1].insert(lot);
                }
            }
        }
        for p in pits.iter().filter_map(|id| self.pits.get(id)) {
            self.pit_on_lot(p, &mut sum);
            sum.lots[0].insert(lot);
        }
        sum.bore.cost = sum.fixed_cost + per_m(self.job) * sum.length_m;
        sum
    }

    /// A bore's share by length, bored and in trench; what the trench puts back is priced where it lies.
    fn line_on_lot(&self, bore: &Bore, length_m: f64, sum: &mut Sum) {
        let (rig, costs) = (&self.job.rig, &self.job.costs);
        let share = length_m / bore.length_m;
        let put_back: f64 = self.of_bore(&bore.bore_id).map(price).sum();
        sum.length_m += length_m;
        sum.bore.days += length_m / rig.metres_per_day;
        sum.bore.spoil_m3 += hole_m2(bore) * length_m;
        sum.trench.cost += (bore.trench_cost - put_back) * share;
        sum.trench.days += length_m / costs.trench_metres_per_day;
        sum.trench.spoil_m3 += share * self.trench_m3(&bore.bore_id);
    }

    fn pit_on_lot(&self, p: &PitShare, sum: &mut Sum) {
        let (rig, costs) = (&self.job.rig, &self.job.costs);
        let setting_up = costs.bore_setup + rig.setup_days * costs.crew_day;
        sum.fixed_cost += p.cost + p.launched * setting_up;
        sum.bore.days += p.launched * rig.setup_days;
        sum.bore.spoil_m3 += p.pit.volume_m3;
    }
}

/// Area of the hole (m2).
fn hole_m2(bore: &Bore) -> f64 {
    PI * (bore.bore_mm / 1000.0).powi(2) / 4.0
}

/// What putting back a thing costs; lengths and trees have no price.
fn price(t: &Taken) -> f64 {
    match t.what {
        Broken::Surface(_, rate) | Broken::Fence(rate) => t.quantity * rate,
        Broken::Line | Broken::Tree => 0.0,
    }
}
