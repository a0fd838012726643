//! What was found, in the words of the result layers.

use super::{Bores, Checked, CheckedBore, Found, Hole, Inspection};
use crate::{
    clearance::{Clause, Encounter},
    plan::{Conflict, Obstacle, Point3, TestHole},
    site::{FeatureRef, Kind, Record, Records, Site},
};
use geo::Coord;

/// A check with all that its rows speak of.
#[derive(Clone, Copy)]
pub struct Report<'a> {
    /// What was found.
    pub checked: &'a Checked,
    /// The bores.
    pub bores: &'a Bores,
    /// Buildings, trees and keepouts.
    pub site: &'a Site,
    /// Services.
    pub records: &'a Records,
}

impl<'a> Report<'a> {
    /// The bore of a row.
    pub fn bore(&self, f: &Found) -> &'a CheckedBore {
        &self.bores.all[f.bore as usize]
    }

    /// The record of a row, where it is of a service.
    pub fn record(&self, f: &Found) -> Option<&'a Record> {
        (f.obstacle == Obstacle::Service).then(|| &self.records.all[f.thing as usize])
    }

    /// Where the obstacle came from; none for the ground.
    pub fn source(&self, f: &Found) -> Option<FeatureRef> {
        self.source_again(None, f)
    }

    /// The same. `spent` is used again where it is of the same layer: all threads count who holds the name of a layer in one place,
    /// and would wait for each other.
    fn source_again(&self, spent: Option<FeatureRef>, f: &Found) -> Option<FeatureRef> {
        let i = f.thing as usize;
        let at = match f.obstacle {
            Obstacle::Service => {
                return Some(self.records.at_again(spent, &self.records.all[i]));
            }
            Obstacle::Building => &self.site.buildings[i].at,
            Obstacle::Tree => &self.site.trees[i].at,
            Obstacle::Keepout => &self.site.keepouts[i].at,
            Obstacle::Lot | Obstacle::Ground => return None,
        };
        Some(at.clone())
    }

    /// Looks at all that these rows among [`Checked::found`] speak of, before they are put into words. It lies all over memory: looks
    /// that do not hang on each other come many at a time, while a row that is made waits for each of its own.
    pub fn fetch(&self, rows: impl Iterator<Item = usize> + Clone) {
        let found = || rows.clone().map(|i| &self.checked.found[i]);
        let seen = found().fold(0, |n, f| n ^ f.chainage_m.to_bits() ^ u64::from(f.bore));
        let seen = (found().filter_map(|f| self.record(f))).fold(seen, |n, r| n ^ r.fid as u64);
        let ids = || found().map(|f| self.bore(f).bore_id.as_bytes());
        let seen = ids().fold(seen, |n, id| n ^ id.len() as u64);
        let seen = ids().fold(seen, |n, id| n ^ u64::from(*id.first().unwrap_or(&0)));
        std::hint::black_box(seen);
    }

    /// Row `i` of `bore_conflicts`. `spent` is a row no longer needed, whose memory is used again.
    pub fn conflict(&self, i: usize, spent: Option<Conflict>) -> Conflict {
        let f = &self.checked.found[i];
        let record = self.record(f);
        let spent = spent.unwrap_or_else(|| blank(f));
        let service = |v: f64| record.map(|_| v);
        let owner = record.and_then(|r| self.records.owner(r));
        Conflict {
            conflict_id: numbered(spent.conflict_id, 'C', i + 1),
            bore_id: again(spent.bore_id, Some(&self.bore(f).bore_id)),
            pit_id: None,
            obstacle: f.obstacle,
            source: self.source_again(spent.source, f),
            kind: record.map(|r| r.kind),
            owner: again(spent.owner, owner),
            chainage_m: Some(f.chainage_m),
            angle_deg: service(f.angle_deg),
            encounter: f.encounter,
            clearance_m: f.clearance_m,
            required_m: f.required_m,
            allowance_m: f.allowance_m,
            margin_m: f.margin_m,
            p_contact: service(f.p_contact),
            over_bore: None,
            depth_known: f.depth_known,
            verdict: f.verdict,
            rule: rule(spent.rule, f, record.map(|r| r.kind)),
            point: point(f.point),
        }
    }

    /// Row `i` of `test_holes`, likewise.
    pub fn hole(&self, i: usize, spent: Option<TestHole>) -> TestHole {
        let h: &Hole = &self.checked.holes[i];
        let f = &self.checked.found[h.found as usize];
        let record = self.record(f).expect("test holes are dug for services");
        let spent = spent.map(|s| (s.hole_id, s.bore_id, Some(s.source), s.reason));
        let (hole_id, bore_id, source, reason) = spent.unwrap_or_default();
        TestHole {
            hole_id: numbered(hole_id, 'H', i + 1),
            bore_id: joined(bore_id, &[&self.bore(f).bore_id]),
            source: self.records.at_again(source, record),
            kind: record.kind,
            expected_depth_m: h.expected_depth_m,
            dig_to_m: h.dig_to_m,
            priority: i as u32 + 1,
            p_contact: f.p_contact,
            reason: h.words(reason, record.kind),
            point: point(h.point),
        }
    }

    /// Row `i` of `bore_inspections`, likewise.
    pub fn inspection(&self, i: usize, spent: Option<Inspection>) -> Inspection {
        Inspection::of(self, i, spent)
    }
}

fn point(p: [f64; 3]) -> Point3 {
    Point3 {
        at: Coord { x: p[0], y: p[1] },
        level: p[2],
    }
}

/// A letter and a number of four digits or more.
fn numbered(mut spent: String, letter: char, n: usize) -> String {
    spent.clear();
    spent.push(letter);
    let mut digits = [b'0'; 20];
    let (mut rest, mut from) = (n, digits.len());
    while rest > 0 || from > digits.len() - 4 {
        from -= 1;
        digits[from] = b'0' + (rest % 10) as u8;
        rest /= 10;
    }
    spent.push_str(std::str::from_utf8(&digits[from..]).expect("digits are words"));
    spent
}

fn joined(mut spent: String, pieces: &[&str]) -> String {
    spent.clear();
    pieces.iter().for_each(|p| spent.push_str(p));
    spent
}

fn again(spent: Option<String>, text: Option<&str>) -> Option<String> {
    text.map(|t| {
        let mut s = spent.unwrap_or_default();
        s.clear();
        s.push_str(t);
        s
    })
}

fn rule(spent: String, f: &Found, kind: Option<Kind>) -> String {
    match (f.obstacle, kind) {
        (_, Some(kind)) => {
            let (table, of) = match (f.clause, f.encounter) {
                (Clause::Plan, _) => ("rules.separation.", ".horizontal_m"),
                (Clause::Level, _) => ("rules.separation.", ".vertical_m"),
                (Clause::Distance, Some(Encounter::Parallel)) => {
                    ("rules.clearance.", ".parallel_m")
                }
                (Clause::Distance, _) => ("rules.clearance.", ".crossing_m"),
            };
            joined(spent, &[table, kind.word(), of])
        }
        (Obstacle::Building, _) => joined(spent, &["rules.clearance.building"]),
        (Obstacle::Tree, _) => joined(
            spent,
            &["structural root zone (AS 4970-2009); no rule sets a bore's distance"],
        ),
        (Obstacle::Ground, _) => joined(spent, &["rules.min_cover_m"]),
        _ => joined(spent, &["keepouts"]),
    }
}

fn blank(f: &Found) -> Conflict {
    Conflict {
        conflict_id: String::new(),
        bore_id: None,
        pit_id: None,
        obstacle: f.obstacle,
        source: None,
        kind: None,
        owner: None,
        chainage_m: None,
        angle_deg: None,
        encounter: None,
        clearance_m: 0.0,
        required_m: 0.0,
        allowance_m: 0.0,
        margin_m: 0.0,
        p_contact: None,
        over_bore: None,
        depth_known: false,
        verdict: f.verdict,
        rule: String::new(),
        point: point(f.point),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_four_digits_or_more() {
        let said = |n: usize| numbered("x".into(), 'C', n);
        for n in [1, 37, 9999, 10_000, 774_906] {
            assert_eq!(said(n), format!("C{n:04}"));
        }
    }
}
