//! What `plan --what-if` says.

use super::{CAUTIONS, out};
use crate::{
    cli::what_if::Tried,
    job::{JobFile, Varied},
};
use std::fmt::Write;

/// One line a value.
pub fn what_if(what: Varied, tried: &[Tried], job: &JobFile, warnings: &[String]) -> String {
    let now = job.in_force.get(what.key());
    let now = now.map_or("not set".to_string(), |v| v.to_string());
    let mut out = format!("what if {} were another ({now} in the job)\n", what.key());
    let width = tried
        .iter()
        .map(|t| t.value.chars().count())
        .fold(what.word().len(), usize::max);
    let _ = writeln!(
        out,
        "{:>width$}  routes planned  pits  manholes  bores        cost    in trench  test holes  longest bore",
        what.word()
    );
    for t in tried {
        out.push_str(&line(t, width));
    }
    let _ = writeln!(
        out,
        "costs in {}, of the routes planned",
        job.job.costs.currency
    );
    for t in tried {
        let without = t.plan.routes.iter().filter(|r| !r.planned);
        let without: Vec<&str> = without.map(|r| r.route_id.as_str()).collect();
        if !without.is_empty() {
            let _ = writeln!(
                out,
                "with {what} = {}: no plan for {}",
                t.value,
                without.join(", ")
            );
        }
    }
    out.push_str(&out::warnings(warnings));
    out.push_str("no layers were written: a what-if only compares\n\n");
    out.extend(CAUTIONS.iter().map(|c| format!("{c}\n")));
    out
}

fn line(t: &Tried, width: usize) -> String {
    let plan = &t.plan;
    let money = |amount: Option<f64>| amount.map_or("-".to_string(), |a| format!("{a:.0}"));
    let planned = format!("{} of {}", t.planned(), plan.routes.len());
    let longest = t
        .longest_bore_m()
        .map_or("-".to_string(), |m| format!("{m:.1} m"));
    format!(
        "{:>width$}  {planned:>14}  {:>4}  {:>8}  {:>5}  {:>10}  {:>11}  {:>10}  {longest:>12}\n",
        t.value,
        plan.pits.len(),
        plan.pits.iter().filter(|p| p.manhole).count(),
        plan.bores.len(),
        money(t.sum(|r| r.cost)),
        money(t.sum(|r| r.trench_cost)),
        plan.test_holes.len(),
    )
}
