//! The document of `check`, and what `pitwright_runs` keeps of it.

use super::VERSION;
use crate::{
    check::{Change, ChangeKind, Changes, Outcome, Report, Unknown},
    clearance::Verdict,
    cli::{register::Written, say},
    write::Word,
};
use serde_json::{Map, Value as Json, json};

/// Rows listed in the document at most: the layers hold them all.
pub const MOST_LISTED: usize = 1000;

/// What a check has to tell.
#[derive(Clone, Copy)]
pub struct Told<'a> {
    /// The check.
    pub report: Report<'a>,
    /// What has changed since an earlier one, where one was compared with.
    pub changes: Option<&'a Changes>,
    /// Everything that people must know besides.
    pub warnings: &'a [String],
}

/// What `check` prints, but for how long it took.
pub struct CheckDocument<'a> {
    /// What there is to tell.
    pub told: Told<'a>,
    /// Coordinate system of the result.
    pub crs: &'a str,
    /// Rows of each layer written.
    pub layers: &'a [(String, usize)],
    /// The file they were written to.
    pub file: &'a str,
    /// The register and letters written.
    pub register: &'a Written,
}

impl CheckDocument<'_> {
    /// The document with the time it took.
    pub fn json(&self, stages: &[(String, f64)], seconds: f64) -> Json {
        let mut document = json!({
            "command": "check",
            "version": VERSION,
            "crs": self.crs,
            "file": self.file,
        });
        let rest = json!({
            "layers": self.layers.iter().map(|(l, n)| (l.clone(), json!(n))).collect::<Map<_, _>>(),
            "register": super::register::register(self.register),
            "cautions": say::CAUTIONS,
            "stages": super::stages(stages),
            "seconds": seconds,
        });
        for part in [check_summary(&self.told), rest] {
            let Json::Object(part) = part else { continue };
            document
                .as_object_mut()
                .expect("it is an object")
                .extend(part);
        }
        document
    }
}

/// What `pitwright_runs` keeps of a check.
pub fn check_summary(told: &Told) -> Json {
    let checked = told.report.checked;
    json!({
        "bores": told.report.bores.features,
        "conflicts": {
            "clash": checked.count(Verdict::Clash),
            "prove": checked.count(Verdict::Prove),
            "watch": checked.count(Verdict::Watch),
            "clear": checked.count(Verdict::Clear),
        },
        "connections": checked.connections,
        "unknown": unknown(&checked.unknown),
        "inspections": inspections(&told.report),
        "changes": told.changes.map(changes),
        "warnings": told.warnings,
    })
}

fn unknown(u: &Unknown) -> Json {
    json!({
        "depth": u.depth,
        "diameter": u.diameter,
        "quality": u.quality,
        "ground": u.ground,
        "foundation": u.foundation,
        "bore_levels": u.bore_levels,
        "bore_size": u.bore_size,
        "bore_ground": u.bore_ground,
        "bore_length": u.bore_length,
    })
}

/// Those first in line; the layer holds all.
fn inspections(report: &Report) -> Json {
    let n = report.checked.inspections.len();
    let one = |i: usize| {
        let i = report.inspection(i, None);
        json!({
            "bore_id": i.bore_id,
            "source_layer": &*i.source.layer,
            "source_fid": i.source.fid,
            "kind": i.kind.word(),
            "owner": i.owner,
            "chainage_m": i.chainage_m,
            "clearance_m": i.clearance_m,
            "p_contact": i.p_contact,
            "verdict": i.verdict.word(),
        })
    };
    json!({"count": n, "first": (0..n.min(MOST_LISTED)).map(one).collect::<Vec<_>>()})
}

fn changes(c: &Changes) -> Json {
    json!({
        "new": c.count(ChangeKind::New),
        "gone": c.count(ChangeKind::Gone),
        "better": c.count(ChangeKind::Better),
        "worse": c.count(ChangeKind::Worse),
        "same": c.same,
        "first": c.rows.iter().take(MOST_LISTED).map(change).collect::<Vec<_>>(),
    })
}

fn change(c: &Change) -> Json {
    let outcome = |o: Option<Outcome>| {
        o.map(|o| json!({"verdict": o.verdict.word(), "clearance_m": o.clearance_m, "margin_m": o.margin_m, "p_contact": o.p_contact}))
    };
    json!({
        "change": c.change.word(),
        "bore_id": c.of.bore_id,
        "obstacle": c.of.obstacle.word(),
        "source_layer": c.of.source.as_ref().map(|s| &s.0),
        "source_fid": c.of.source.as_ref().map(|s| s.1),
        "encounter": c.of.encounter.map(Word::word),
        "chainage_m": c.of.chainage_m,
        "before": outcome(c.before),
        "now": outcome(c.now),
    })
}
