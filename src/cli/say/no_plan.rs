//! What is said of a route without a plan.

use crate::plan::{Blocker, Remedy, RemedyKind, RemedyValue, RouteResult, Why};

/// What closes the way of a route, and what would help.
pub(super) fn no_plan(route: &RouteResult) -> String {
    let mut out = format!("route {}: no plan\n", route.route_id);
    out.extend(route.blockers.iter().map(blocker));
    let kinds = route.remedies.chunk_by(|a, b| a.kind == b.kind);
    out.extend(kinds.map(|same| format!("  it would have a plan {}\n", remedy(same))));
    if route.remedies.is_empty() {
        out.push_str("  no single change that gives it a plan was found\n");
    }
    out
}

fn blocker(blocker: &Blocker) -> String {
    let (from, to) = (blocker.from_chainage_m, blocker.to_chainage_m);
    let why = match blocker.why {
        Why::Gap => "no pits that may be dug here bridge it, whatever the levels",
        Why::Levels => "no levels keep all rules from end to end",
    };
    let closed_by = match (&blocker.source, blocker.why) {
        (Some(at), _) => format!("closed by {at}"),
        (None, Why::Gap) => {
            "no single feature closes it: the reach, ground that is not known, or nobody gets there"
                .to_string()
        }
        (None, Why::Levels) => {
            "no single feature is the cause: the levels fixed at its ends, the ground or the reach"
                .to_string()
        }
    };
    format!("  chainage {from:.1} to {to:.1} m: {why}; {closed_by}\n")
}

/// A remedy: all rows of one kind.
fn remedy(same: &[Remedy]) -> String {
    let values = same.iter().map(|r| match &r.value {
        RemedyValue::Metres(m) => format!("{m:.1} m"),
        RemedyValue::Name(name) => name.clone(),
    });
    let value = values.collect::<Vec<_>>().join(" and ");
    let at = same[0].source.as_ref();
    let of = at.map_or(String::new(), |at| format!(" ({at})"));
    match same[0].kind {
        RemedyKind::Reach => {
            format!("if drives could reach {value}, by rig, thrust, pipe and accuracy alike")
        }
        RemedyKind::Prove => format!(
            "if test holes may prove {value}: what they find must still leave room for the bore"
        ),
        RemedyKind::Outfall => format!("with the outfall invert at {value}{of}"),
        RemedyKind::Head => format!("with the head invert allowed up to {value}{of}"),
        RemedyKind::Entry if same.len() > 1 => format!("if pits may be dug on lots {value}"),
        RemedyKind::Entry => format!("if pits may be dug on lot {value}{of}"),
        RemedyKind::Corridor => {
            format!("with manholes up to {value} beside the route (search.corridor_m)")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::FeatureRef;

    fn at(layer: &str, fid: i64) -> Option<FeatureRef> {
        Some(FeatureRef {
            layer: layer.into(),
            fid,
        })
    }

    fn row(kind: RemedyKind, value: RemedyValue, source: Option<FeatureRef>) -> Remedy {
        Remedy {
            kind,
            value,
            source,
        }
    }

    #[test]
    fn rows_of_one_kind_are_one_sentence() {
        let name = |n: &str| RemedyValue::Name(n.to_string());
        let rows = [
            row(RemedyKind::Entry, name("N3"), at("lots", 3)),
            row(RemedyKind::Entry, name("N4"), at("lots", 4)),
        ];
        assert_eq!(remedy(&rows), "if pits may be dug on lots N3 and N4");
        assert_eq!(
            remedy(&rows[..1]),
            "if pits may be dug on lot N3 (lots fid 3)"
        );
    }

    #[test]
    fn a_test_hole_promises_nothing() {
        let gas = row(
            RemedyKind::Prove,
            RemedyValue::Name("services/7".to_string()),
            at("services", 7),
        );
        assert!(remedy(&[gas]).contains("must still leave room"));
    }
}
