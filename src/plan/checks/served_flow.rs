//! What flows to a bore from the lots it serves, and how it runs then.

use super::{
    bore::{BoreFacts, full},
    reason::NotWorked,
};
use crate::{
    job::{FlowRule, Job},
    mechanics::{
        Working,
        hydraulics::{at_flow, flow_by_table, flow_of_dwellings},
    },
};

/// Design flow by one rule, or why it gives none.
pub type ByRule = Result<Working, NotWorked>;

/// Design flow by every rule, in the order of `flow.rule`'s words: of dwellings, of drains.
///
/// # Errors
/// No lot is to be served, or none drains to the bore. Of each rule: it does not hold for so many.
pub fn flows(job: &Job, bore: &BoreFacts) -> Result<[ByRule; 2], NotWorked> {
    let lots = bore.lots_served.ok_or(NotWorked::NotSet(
        "design flow: mark lots to be served (lots.serve), or list them (routes.serves)",
    ))?;
    if lots == 0 {
        return Err(NotWorked::Nothing("no lot drains to it"));
    }
    let dwellings = f64::from(lots) * job.flow.dwellings_per_lot;
    Ok([
        flow_of_dwellings(dwellings, job.flow.dwelling_l_day).map_err(NotWorked::from),
        flow_by_table(dwellings).map_err(NotWorked::from),
    ])
}

/// Design flow (l/s) by the rule that the job names.
///
/// # Errors
/// As [`flows`]; the rule named does not hold.
pub fn design_flow(job: &Job, bore: &BoreFacts) -> Result<Working, NotWorked> {
    let [dwellings, drains] = flows(job, bore)?;
    match job.flow.rule {
        FlowRule::Dwellings => dwellings,
        FlowRule::Drains => drains,
        FlowRule::Greatest => match (dwellings, drains) {
            (Ok(a), Ok(b)) => Ok(if a.value() > b.value() { a } else { b }),
            (a, b) => a.or(b),
        },
    }
}

/// The bore at its design flow: depth, velocity, shear, share of the capacity.
///
/// # Errors
/// As [`design_flow`]; the pipe does not fall, or does not carry that much.
pub fn at_design_flow(job: &Job, bore: &BoreFacts) -> Result<Working, NotWorked> {
    let flow = design_flow(job, bore)?.value();
    Ok(at_flow(full(bore), job.pipe.manning_n, flow)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::checks::example::{BORE, job};

    fn of(text: &str, lots: Option<u32>) -> Result<f64, NotWorked> {
        let bore = BoreFacts {
            lots_served: lots,
            ..BORE
        };
        design_flow(&job(text), &bore).map(|w| w.value())
    }

    #[test]
    fn the_rule_named_counts_and_the_greatest_where_none_is() {
        assert_eq!(of("", Some(1)), Ok(2.5));
        let many = of("", Some(200)).expect("by dwellings");
        assert!((many - 200.0 * 4000.0 / 86_400.0).abs() < 1e-9);
        let one = of("[flow]\nrule = \"dwellings\"\n", Some(1)).expect("by dwellings");
        assert!((one - 4000.0 / 86_400.0).abs() < 1e-12);
        let beyond = of("[flow]\nrule = \"drains\"\n", Some(31));
        assert!(matches!(beyond, Err(NotWorked::OutOfRange(_))));
        assert_eq!(of("[flow]\ndwellings_per_lot = 5\n", Some(1)), Ok(3.5));
    }

    #[test]
    fn without_lots_there_is_no_flow_and_no_number() {
        assert!(matches!(of("", None), Err(NotWorked::NotSet(_))));
        assert!(matches!(of("", Some(0)), Err(NotWorked::Nothing(_))));
        let bore = BoreFacts {
            lots_served: Some(400),
            ..BORE
        };
        let over = at_design_flow(&job(""), &bore);
        assert!(matches!(over, Err(NotWorked::OutOfRange(_))), "{over:?}");
    }
}
