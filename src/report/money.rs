//! Quantities and costs of a route, bored beside open trench, and the length from which boring is cheaper.

use super::{
    model::{Cost, Report, RouteSheet},
    text::{label, money, number, put, words},
};
use crate::mechanics::programme::{Against, break_even};

/// Rows of one item and rate, added up.
#[derive(Debug, Clone, PartialEq)]
struct Line<'a> {
    item: &'a str,
    unit: &'a str,
    rate: f64,
    bore: (f64, f64),
    trench: (f64, f64),
}

/// Quantity and amount of each item by either method, in the order of the rows.
fn lines(costs: &[Cost]) -> Vec<Line<'_>> {
    let mut all: Vec<Line> = vec![];
    for c in costs {
        let same = |l: &&mut Line| l.item == c.item && l.unit == c.unit && l.rate == c.rate;
        let at = match all.iter_mut().find(same) {
            Some(line) => line,
            None => {
                all.push(Line {
                    item: &c.item,
                    unit: &c.unit,
                    rate: c.rate,
                    bore: (0.0, 0.0),
                    trench: (0.0, 0.0),
                });
                let last = all.len() - 1;
                &mut all[last]
            }
        };
        let sum = if c.method == "trench" {
            &mut at.trench
        } else {
            &mut at.bore
        };
        *sum = (sum.0 + c.quantity, sum.1 + c.amount);
    }
    all
}

/// The table of a route.
pub fn table(out: &mut String, report: &Report, route: &RouteSheet) {
    let lines = lines(&route.costs);
    let currency = words(&report.head.job.costs.currency);
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Quantities and costs of {}\"><table><caption>Quantities and costs in {currency}; the rates are the job's</caption><thead><tr><th scope=\"col\">Item</th><th scope=\"col\">Unit</th><th scope=\"col\">Rate</th><th scope=\"col\">Quantity, bored</th><th scope=\"col\">Amount, bored</th><th scope=\"col\">Quantity, trench</th><th scope=\"col\">Amount, trench</th></tr></thead><tbody>",
        label(&route.route_id)
    );
    for l in &lines {
        let sum = |(q, a): (f64, f64)| {
            if q == 0.0 && a == 0.0 {
                ("–".to_string(), "–".to_string())
            } else {
                (quantity(q), money(a))
            }
        };
        let (bore, trench) = (sum(l.bore), sum(l.trench));
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            words(l.item),
            words(l.unit),
            number(l.rate, 2),
            bore.0,
            bore.1,
            trench.0,
            trench.1
        );
    }
    let total = |of: fn(&Line) -> f64| lines.iter().map(of).sum::<f64>();
    let (bored, trenched) = (total(|l| l.bore.1), total(|l| l.trench.1));
    put!(
        out,
        "</tbody><tfoot><tr><th scope=\"row\">Whole route</th><td></td><td></td><td></td><td><strong>{}</strong></td><td></td><td><strong>{}</strong></td></tr></tfoot></table></div>",
        money(bored),
        money(trenched)
    );
    put!(out, "<p>{}</p>", even(report, route, bored, trenched));
}

/// What is next to nothing is said to be so, not to be nothing.
fn quantity(q: f64) -> String {
    if q > 0.0 && q < 0.005 {
        "&lt; 0.01".to_string()
    } else {
        number(q, 2)
    }
}

fn even(report: &Report, route: &RouteSheet, bored: f64, trenched: f64) -> String {
    let length: f64 = route.bores.iter().map(|b| b.length_m).sum();
    let (rig, costs) = (&report.head.job.rig, &report.head.job.costs);
    let per_m = costs.bore_per_m + costs.crew_day / rig.metres_per_day;
    let against = Against {
        fixed: (bored - per_m * length).max(0.0),
        bore_per_m: per_m,
        trench_per_m: trenched / length,
    };
    let what = "pits, manholes and setting up taken as fixed, the rest by the metre";
    match break_even(against) {
        Ok(Some(w)) => format!(
            "Break-even length {} m ({what}): a line like this one and longer would be cheaper bored; this one is {} m.",
            number(w.value(), 1),
            number(length, 1)
        ),
        Ok(None) => format!(
            "Break-even length: none ({what}); a metre of bore costs no less than a metre of trench here."
        ),
        Err(e) => format!(
            "Break-even length: not worked out ({}).",
            words(&e.to_string())
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn items_of_one_rate_are_added_up_by_method() {
        let cost = |method: &str, item: &str, quantity: f64| Cost {
            method: method.to_string(),
            item: item.to_string(),
            unit: "m".to_string(),
            quantity,
            rate: 10.0,
            amount: quantity * 10.0,
        };
        let rows = [
            cost("bore", "a", 1.0),
            cost("trench", "a", 2.0),
            cost("bore", "b", 3.0),
            cost("bore", "a", 4.0),
        ];
        let lines = lines(&rows);
        assert_eq!(lines.len(), 2);
        assert_eq!((lines[0].bore, lines[0].trench), ((5.0, 50.0), (2.0, 20.0)));
        assert_eq!(quantity(1e-9), "&lt; 0.01");
    }
}
