//! Encounters with services, by owner.

use crate::{
    plan::{Conflict, Obstacle, TestHole, Verdict},
    site::FeatureRef,
};
use std::collections::{BTreeMap, VecDeque};

/// What stands for an owner that no record names.
pub const OWNER_NOT_KNOWN: &str = "owner not known";

/// One encounter, with the hole that is to be dug for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry<'a> {
    /// The row.
    pub conflict: &'a Conflict,
    /// Its test hole, where it has one.
    pub hole: Option<&'a TestHole>,
}

/// The encounters with the services of one owner.
#[derive(Debug, Clone, PartialEq)]
pub struct Group<'a> {
    /// Counted from 1, in the order of the register.
    pub number: usize,
    /// The owner without the blanks around; none where no record names one.
    pub owner: Option<&'a str>,
    /// The encounters, in the order of the conflict rows.
    pub entries: Vec<Entry<'a>>,
}

/// The register: owners in alphabetical order, last of all the services whose owner is not known.
///
/// Only services are in it: buildings, trees, lots and keepouts have no owner here, and stay in `bore_conflicts`.
#[derive(Debug, Clone, PartialEq)]
pub struct Register<'a> {
    /// One group an owner; none is empty.
    pub groups: Vec<Group<'a>>,
}

impl<'a> Register<'a> {
    /// Of conflict rows and test holes, as a plan or a check gives them.
    ///
    /// # Shape
    /// Every hole belongs to one `prove` row of its bore and service, with the same probability of contact; holes that agree in
    /// all three stand in the order of their rows.
    pub fn new(conflicts: &'a [Conflict], holes: &'a [TestHole]) -> Register<'a> {
        let mut holes = Holes::new(holes);
        let mut by_owner: BTreeMap<(bool, &str), Vec<Entry>> = BTreeMap::new();
        let services = conflicts.iter().filter(|c| c.obstacle == Obstacle::Service);
        for conflict in services {
            let owner = conflict.owner.as_deref().map_or("", str::trim);
            let hole = holes.of(conflict);
            let entries = by_owner.entry((owner.is_empty(), owner)).or_default();
            entries.push(Entry { conflict, hole });
        }
        let groups = (1..).zip(by_owner);
        let group = |(number, ((unknown, owner), entries)): (usize, ((bool, &'a str), _))| Group {
            number,
            owner: (!unknown).then_some(owner),
            entries,
        };
        Register {
            groups: groups.map(group).collect(),
        }
    }

    /// Encounters of all owners.
    pub fn len(&self) -> usize {
        self.groups.iter().map(|g| g.entries.len()).sum()
    }

    /// There is no encounter.
    pub fn is_empty(&self) -> bool {
        self.groups.is_empty()
    }
}

impl Group<'_> {
    /// The owner, or that it is not known.
    pub fn name(&self) -> &str {
        self.owner.unwrap_or(OWNER_NOT_KNOWN)
    }
}

/// Bore, service, and the bits of the probability of contact.
type Key<'a> = (&'a str, &'a FeatureRef, u64);

/// Test holes that have not been given to a row yet.
struct Holes<'a>(BTreeMap<Key<'a>, VecDeque<&'a TestHole>>);

impl<'a> Holes<'a> {
    fn new(holes: &'a [TestHole]) -> Holes<'a> {
        let mut all: BTreeMap<Key, VecDeque<&TestHole>> = BTreeMap::new();
        for h in holes {
            let key = (h.bore_id.as_str(), &h.source, h.p_contact.to_bits());
            all.entry(key).or_default().push_back(h);
        }
        Holes(all)
    }

    fn of(&mut self, c: &'a Conflict) -> Option<&'a TestHole> {
        if c.verdict != Verdict::Prove {
            return None;
        }
        let key = (
            c.bore_id.as_deref()?,
            c.source.as_ref()?,
            c.p_contact?.to_bits(),
        );
        self.0.get_mut(&key)?.pop_front()
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::{
        plan::{Encounter, Point3},
        site::Kind,
    };

    pub fn conflict(id: &str, owner: Option<&str>, fid: i64, verdict: Verdict) -> Conflict {
        let prove = verdict == Verdict::Prove;
        Conflict {
            conflict_id: id.to_string(),
            bore_id: Some("A-B01".to_string()),
            pit_id: None,
            obstacle: Obstacle::Service,
            source: Some(source(fid)),
            kind: Some(Kind::Gas),
            owner: owner.map(str::to_string),
            chainage_m: Some(12.5),
            angle_deg: Some(88.0),
            encounter: Some(Encounter::Crossing),
            clearance_m: 0.41,
            required_m: 0.3,
            allowance_m: 0.35,
            margin_m: -0.24,
            p_contact: Some(if prove { 0.25 } else { 0.011 }),
            depth_known: !prove,
            verdict,
            rule: "rules.clearance.gas.crossing_m".to_string(),
            point: Point3 {
                at: geo::Coord { x: 30.48, y: 60.96 },
                level: 97.5,
            },
            over_bore: None,
        }
    }

    pub fn hole(id: &str, fid: i64) -> TestHole {
        TestHole {
            hole_id: id.to_string(),
            bore_id: "A-B01".to_string(),
            source: source(fid),
            kind: Kind::Gas,
            expected_depth_m: Some(0.95),
            dig_to_m: Some(1.5),
            priority: 1,
            p_contact: 0.25,
            reason: "depth of this gas is not recorded: expose it before boring".to_string(),
            point: Point3 {
                at: geo::Coord { x: 30.48, y: 61.0 },
                level: 99.0,
            },
        }
    }

    fn source(fid: i64) -> FeatureRef {
        FeatureRef {
            layer: "gas_mains".into(),
            fid,
        }
    }

    #[test]
    fn owners_stand_in_order_and_the_unknown_one_last() {
        let rows = [
            conflict("C1", None, 1, Verdict::Watch),
            conflict("C2", Some("Tarn Gas"), 2, Verdict::Watch),
            conflict("C3", Some(" "), 3, Verdict::Clear),
            conflict("C4", Some("Beck Water "), 4, Verdict::Clash),
            conflict("C5", Some("Beck Water"), 5, Verdict::Watch),
        ];
        let register = Register::new(&rows, &[]);
        let ids = |g: &Group| -> Vec<String> {
            let of = |e: &Entry| e.conflict.conflict_id.clone();
            g.entries.iter().map(of).collect()
        };
        let seen: Vec<_> = register
            .groups
            .iter()
            .map(|g| (g.number, g.name().to_string(), ids(g)))
            .collect();
        let expected = [
            (1, "Beck Water", vec!["C4", "C5"]),
            (2, "Tarn Gas", vec!["C2"]),
            (3, OWNER_NOT_KNOWN, vec!["C1", "C3"]),
        ];
        let expected = expected.map(|(n, o, ids)| {
            let ids = ids.into_iter().map(str::to_string).collect::<Vec<_>>();
            (n, o.to_string(), ids)
        });
        assert_eq!(seen, expected);
        assert_eq!(register.len(), 5);
    }

    #[test]
    fn each_row_to_prove_has_its_own_hole() {
        let rows = [
            conflict("C1", None, 1, Verdict::Prove),
            conflict("C2", None, 2, Verdict::Prove),
            conflict("C3", None, 1, Verdict::Prove),
            conflict("C4", None, 1, Verdict::Watch),
        ];
        let holes = [hole("H1", 1), hole("H2", 1), hole("H3", 2)];
        let register = Register::new(&rows, &holes);
        let of = |e: &Entry| e.hole.map(|h| h.hole_id.clone());
        let dug: Vec<_> = register.groups[0].entries.iter().map(of).collect();
        let named = |id: &str| Some(id.to_string());
        assert_eq!(dug, [named("H1"), named("H3"), named("H2"), None]);
    }

    #[test]
    fn what_is_no_service_has_no_owner_to_write_to() {
        let mut tree = conflict("C1", None, 1, Verdict::Watch);
        tree.obstacle = Obstacle::Tree;
        assert!(Register::new(&[tree], &[]).is_empty());
    }
}
