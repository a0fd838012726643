//! What `plan --alternatives` says: a short table of each system's cheapest plans.

use crate::plan::Alternative;
use std::fmt::Write;

/// The table; nothing where no alternatives were asked for.
pub fn alternatives(all: &[Alternative], currency: &str) -> String {
    let mut out = String::new();
    for system in all.chunk_by(|a, b| a.system == b.system) {
        let _ = writeln!(
            out,
            "cheapest plans of {} ({currency}):",
            system[0].system.join(", ")
        );
        out.push_str("      cost      more  pits  bores  test holes  watch  least margin  longest bore  differs\n");
        out.extend(system.iter().map(line));
        if let [_] = system {
            out.push_str("   no other plan has its pits elsewhere\n");
        }
    }
    out
}

fn line(a: &Alternative) -> String {
    let margin = a
        .least_margin_m
        .map_or("-".to_string(), |m| format!("{m:.2} m"));
    format!(
        "{} {:>8.0}  {:>8.0}  {:>4}  {:>5}  {:>10}  {:>5}  {margin:>12}  {:>10.1} m  {}\n",
        a.alternative,
        a.cost,
        a.more_than_best,
        a.pits,
        a.bores,
        a.test_holes,
        a.watch,
        a.longest_bore_m,
        a.differs,
    )
}
