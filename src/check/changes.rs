//! What has changed since an earlier check: for when an owner sends new records, or a designer a new line.
//!
//! An encounter is the same as one before where bore, obstacle, layer, feature and class are the same; of several such the
//! ones nearest to each other along the bore belong together. An encounter whose class changes is gone and new.

use crate::{
    clearance::{Encounter, Verdict},
    plan::{Conflict, Obstacle, Point3},
    site::Kind,
};
use std::collections::BTreeMap;

/// A margin that moved by no more than this has not changed (m): records are not surveyed finer.
pub const CHANGED_FROM_M: f64 = 0.01;

/// What an encounter was known by in an earlier check.
#[derive(Debug, Clone, PartialEq)]
pub struct Earlier {
    /// Bore.
    pub bore_id: String,
    /// What it is about.
    pub obstacle: Obstacle,
    /// The obstacle's layer and feature; none for the ground.
    pub source: Option<(String, i64)>,
    /// Kind of service.
    pub kind: Option<Kind>,
    /// Owner.
    pub owner: Option<String>,
    /// How the bore meets a service.
    pub encounter: Option<Encounter>,
    /// Along the bore.
    pub chainage_m: f64,
    /// What it came to.
    pub outcome: Outcome,
    /// On the bore.
    pub point: Point3,
}

/// What an encounter comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Verdict.
    pub verdict: Verdict,
    /// Surface to surface.
    pub clearance_m: f64,
    /// Clearance - allowance - required.
    pub margin_m: f64,
    /// Probability of contact.
    pub p_contact: Option<f64>,
}

/// How an encounter changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ChangeKind {
    /// It was not there before.
    New,
    /// A worse verdict, or the same with less margin.
    Worse,
    /// A better verdict, or the same with more margin.
    Better,
    /// It is there no longer.
    Gone,
}

/// A row of `conflict_changes`.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// How.
    pub change: ChangeKind,
    /// The encounter as it is now, or was.
    pub of: Earlier,
    /// What it came to before; none where it is new.
    pub before: Option<Outcome>,
    /// What it comes to now; none where it is gone.
    pub now: Option<Outcome>,
}

/// All changes, and how many encounters stayed as they were.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Changes {
    /// By bore in the order of the newer check, those of bores that are there no longer last.
    pub rows: Vec<Change>,
    /// Encounters that are as they were.
    pub same: usize,
}

impl Changes {
    /// Changes of one kind.
    pub fn count(&self, kind: ChangeKind) -> usize {
        self.rows.iter().filter(|c| c.change == kind).count()
    }
}

impl Earlier {
    /// A row of this check, to be compared. None for a row of a pit.
    pub fn of(c: Conflict) -> Option<Earlier> {
        Some(Earlier {
            bore_id: c.bore_id?,
            obstacle: c.obstacle,
            source: c.source.map(|s| (s.layer.to_string(), s.fid)),
            kind: c.kind,
            owner: c.owner,
            encounter: c.encounter,
            chainage_m: c.chainage_m.unwrap_or(0.0),
            outcome: Outcome {
                verdict: c.verdict,
                clearance_m: c.clearance_m,
                margin_m: c.margin_m,
                p_contact: c.p_contact,
            },
            point: c.point,
        })
    }

    fn key(&self) -> Key<'_> {
        let source = self
            .source
            .as_ref()
            .map(|(layer, fid)| (layer.as_str(), *fid));
        (&self.bore_id, self.obstacle as u8, source, self.encounter)
    }
}

type Key<'a> = (&'a str, u8, Option<(&'a str, i64)>, Option<Encounter>);

/// Compares two checks.
pub fn changes(before: &[Earlier], now: &[Earlier]) -> Changes {
    let mut earlier: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
    for (i, e) in before.iter().enumerate() {
        earlier.entry(e.key()).or_default().push(i);
    }
    let mut later: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
    for (i, e) in now.iter().enumerate() {
        later.entry(e.key()).or_default().push(i);
    }
    let mut was: Vec<Option<usize>> = vec![None; now.len()];
    let mut is: Vec<Option<usize>> = vec![None; before.len()];
    for (key, there) in &later {
        for (i, k) in pairs(
            earlier.get(key).map_or(&[], Vec::as_slice),
            there,
            before,
            now,
        ) {
            (was[k], is[i]) = (Some(i), Some(k));
        }
    }
    let mut out = Changes::default();
    let mut gone: BTreeMap<&str, Vec<Change>> = BTreeMap::new();
    for e in before
        .iter()
        .zip(&is)
        .filter(|(_, is)| is.is_none())
        .map(|(e, _)| e)
    {
        gone.entry(&e.bore_id).or_default().push(Change {
            change: ChangeKind::Gone,
            of: e.clone(),
            before: Some(e.outcome),
            now: None,
        });
    }
    for (k, e) in now.iter().enumerate() {
        match compared(e, was[k].map(|i| before[i].outcome)) {
            Some(change) => out.rows.push(change),
            None => out.same += 1,
        }
        let last_of_bore = now.get(k + 1).is_none_or(|next| next.bore_id != e.bore_id);
        if last_of_bore {
            out.rows
                .extend(gone.remove(e.bore_id.as_str()).unwrap_or_default());
        }
    }
    out.rows.extend(gone.into_values().flatten());
    out
}

fn compared(e: &Earlier, before: Option<Outcome>) -> Option<Change> {
    let change = match before {
        None => ChangeKind::New,
        Some(b) if e.outcome.verdict < b.verdict => ChangeKind::Worse,
        Some(b) if e.outcome.verdict > b.verdict => ChangeKind::Better,
        Some(b) if e.outcome.margin_m < b.margin_m - CHANGED_FROM_M => ChangeKind::Worse,
        Some(b) if e.outcome.margin_m > b.margin_m + CHANGED_FROM_M => ChangeKind::Better,
        Some(_) => return None,
    };
    Some(Change {
        change,
        of: e.clone(),
        before,
        now: Some(e.outcome),
    })
}

/// Which of the encounters of one key belong together: the nearest along the bore first.
fn pairs(
    earlier: &[usize],
    later: &[usize],
    before: &[Earlier],
    now: &[Earlier],
) -> Vec<(usize, usize)> {
    if let ([i], [k]) = (earlier, later) {
        return vec![(*i, *k)];
    }
    let apart = |i: usize, k: usize| (before[i].chainage_m - now[k].chainage_m).abs();
    let mut all: Vec<(f64, usize, usize)> = (earlier.iter())
        .flat_map(|&i| later.iter().map(move |&k| (apart(i, k), i, k)))
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let (mut taken, mut given) = (vec![], vec![]);
    let mut out = vec![];
    for (_, i, k) in all {
        if !taken.contains(&i) && !given.contains(&k) {
            taken.push(i);
            given.push(k);
            out.push((i, k));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(bore: &str, fid: i64, chainage_m: f64, verdict: Verdict, margin_m: f64) -> Earlier {
        Earlier {
            bore_id: bore.into(),
            obstacle: Obstacle::Service,
            source: Some(("mains".into(), fid)),
            kind: Some(Kind::Gas),
            owner: None,
            encounter: Some(Encounter::Crossing),
            chainage_m,
            outcome: Outcome {
                verdict,
                clearance_m: margin_m + 0.5,
                margin_m,
                p_contact: None,
            },
            point: Point3 {
                at: geo::Coord { x: 0.0, y: 0.0 },
                level: 0.0,
            },
        }
    }

    fn said(changes: &Changes) -> Vec<(ChangeKind, String, f64)> {
        let one = |c: &Change| (c.change, c.of.bore_id.clone(), c.of.chainage_m);
        changes.rows.iter().map(one).collect()
    }

    #[test]
    fn what_came_went_and_moved_is_told_apart() {
        let before = [
            row("A", 1, 3.0, Verdict::Clear, 0.9),
            row("A", 2, 5.0, Verdict::Watch, 0.1),
            row("B", 1, 4.0, Verdict::Clear, 0.8),
            row("C", 1, 4.0, Verdict::Watch, 0.2),
        ];
        let now = [
            row("A", 1, 3.0, Verdict::Watch, 0.2),
            row("A", 3, 6.0, Verdict::Clear, 0.9),
            row("B", 1, 4.0, Verdict::Clear, 0.805),
        ];
        let c = changes(&before, &now);
        use ChangeKind::*;
        let expected = [
            (Worse, "A", 3.0),
            (New, "A", 6.0),
            (Gone, "A", 5.0),
            (Gone, "C", 4.0),
        ];
        assert_eq!(said(&c), expected.map(|(k, b, x)| (k, b.to_string(), x)));
        assert_eq!(c.same, 1);
    }

    #[test]
    fn a_new_crossing_before_an_old_one_does_not_take_its_place() {
        let before = [
            row("A", 1, 10.0, Verdict::Clear, 0.9),
            row("A", 1, 20.0, Verdict::Clear, 0.9),
        ];
        let now = [
            row("A", 1, 2.0, Verdict::Clear, 0.9),
            row("A", 1, 10.1, Verdict::Clear, 0.9),
            row("A", 1, 20.0, Verdict::Clash, -0.1),
        ];
        let c = changes(&before, &now);
        let expected = [(ChangeKind::New, 2.0), (ChangeKind::Worse, 20.0)];
        assert_eq!(said(&c), expected.map(|(k, x)| (k, "A".to_string(), x)));
        assert_eq!(c.same, 1);
    }

    #[test]
    fn a_check_compared_with_itself_has_not_changed() {
        let rows = [
            row("A", 1, 3.0, Verdict::Clear, 0.9),
            row("A", 1, 7.0, Verdict::Clash, -1.0),
        ];
        assert_eq!(
            changes(&rows, &rows),
            Changes {
                rows: vec![],
                same: 2
            }
        );
    }
}
