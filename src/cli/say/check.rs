//! What `check` says.

use super::out::several;
use crate::{
    check::{ChangeKind, Changes, Report, Unknown},
    clearance::Verdict,
    cli::{document::Told, register::Written},
};
use std::fmt::Write;

/// So many pipes to look into are named; the layer holds them all.
const NAMED: usize = 10;

/// What came of a check.
pub fn check(
    told: &Told,
    layers: &[(String, usize)],
    (file, register): (&str, &Written),
) -> String {
    let report = &told.report;
    let checked = report.checked;
    let mut out = format!(
        "{} checked against {}\n",
        several(report.bores.features, "bore"),
        several(report.records.all.len(), "service record")
    );
    let _ = writeln!(
        out,
        "conflicts: {} clash, {} prove, {} watch, {} clear by the records",
        checked.count(Verdict::Clash),
        checked.count(Verdict::Prove),
        checked.count(Verdict::Watch),
        checked.count(Verdict::Clear),
    );
    if checked.connections > 0 {
        let _ = writeln!(
            out,
            "  {} with a sewer at an end of a bore: perhaps what it is to connect to",
            several(checked.connections, "clash row")
        );
    }
    out.push_str(&holes(checked.holes.len()));
    let unknown = unknown(&checked.unknown);
    if !unknown.is_empty() {
        out.push_str("not known, and so not clear:\n");
        out.extend(unknown.iter().map(|line| format!("  {line}\n")));
    }
    out.push_str(&inspections(report));
    out.push_str(&told.changes.map(changes).unwrap_or_default());
    out.push_str(&super::out::warnings(told.warnings));
    out.push_str(&super::out::written(layers, file, register));
    out
}

fn holes(n: usize) -> String {
    match n {
        0 => "test holes: none by these records\n".to_string(),
        n => format!("test holes: {n}, to be dug and looked into before the bore is launched\n"),
    }
}

/// Every kind of not knowing that there is, a line each.
pub fn unknown(u: &Unknown) -> Vec<String> {
    let rows = |n: usize, what: &str| (n > 0).then(|| format!("{} {what}", several(n, "row")));
    let bores = |n: usize, what: &str| (n > 0).then(|| format!("{} {what}", several(n, "bore")));
    let all = [
        rows(u.depth, "of services whose depth is recorded nowhere"),
        rows(
            u.ground,
            "of services beyond the ground model, at any depth",
        ),
        rows(
            u.diameter,
            "of services without a diameter (that of their kind was taken)",
        ),
        rows(
            u.quality,
            "of services whose location quality is not stated (the limits for unknown were taken)",
        ),
        rows(
            u.foundation,
            "of buildings whose foundation level is not known",
        ),
        bores(
            u.bore_levels,
            "without levels: every service near them is to be proved",
        ),
        bores(u.bore_size, "without a diameter (the job's was taken)"),
        bores(
            u.bore_ground,
            "partly or wholly beyond the ground model: their cover there is not known",
        ),
        bores(u.bore_length, "without length, not checked"),
    ];
    all.into_iter().flatten().collect()
}

fn inspections(report: &Report) -> String {
    let n = report.checked.inspections.len();
    if n == 0 {
        return "to look into after boring: no gravity pipe on record is crossed without a test hole\n".to_string();
    }
    let mut out = format!(
        "to look into by camera after boring: {} crossed without a test hole\n",
        several(n, "gravity pipe")
    );
    for i in (0..n.min(NAMED)).map(|i| report.inspection(i, None)) {
        let _ = writeln!(
            out,
            "  {} at {:.2} m: {} {}, {:.2} m off by the records",
            i.bore_id, i.chainage_m, i.kind, i.source, i.clearance_m
        );
    }
    if n > NAMED {
        let _ = writeln!(out, "  and {} more in bore_inspections", n - NAMED);
    }
    out
}

fn changes(c: &Changes) -> String {
    format!(
        "since the earlier check: {} new, {} worse, {} better, {} gone, {} as before\n",
        c.count(ChangeKind::New),
        c.count(ChangeKind::Worse),
        c.count(ChangeKind::Better),
        c.count(ChangeKind::Gone),
        c.same,
    )
}
