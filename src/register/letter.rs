//! A letter to the owner of services that bores come near: what is near, what is asked, what to mind.

use super::{
    About,
    cell::{number, one_line},
    group::{Entry, Group},
};
use crate::plan::{Conflict, TestHole, Verdict, Word};
use std::fmt::Write;

/// The first line, by which a file is known to be such a letter.
pub const HEADING: &str = "PROPOSED BORES NEAR YOUR SERVICES";

const LINE: &str = "______________________________";

/// What is asked of an owner.
const ASKED: &str = "\
We ask you to
  1. send us what you have on record of these services: line, depth, size,
     material, joints, and whatever lies disused beside them;
  2. tell us which distances you require, and whether those below are enough;
  3. tell us whether somebody of yours must stand by while a service is exposed
     and while we bore past it, and how long before you want to be told;
  4. name somebody who answers at any hour while we bore.
";

/// What is to be done where nobody is known to ask.
const NOBODY: &str = "\
No record says whose these are. Before anybody bores, find out: ask those who
keep records of buried services here, the council, and whoever lives beside. A
service whose owner is not found is located and exposed like every other.
";

/// What everybody who reads it must mind.
const CAUTIONS: &str = "\
Please mind
  - Records are not proof. A service may lie elsewhere than recorded, or be on
    no record at all. What is far enough here is far enough by the records only.
  - Every service that a bore comes near is located, exposed and measured before
    the bore is launched, whatever the list says of it.
  - Where a service is found nearer than recorded, or not found, nobody bores
    until it is settled with its owner.
  - This is a proposal. It takes the place of no permit, of no locating on call,
    and of nothing that an owner asks.
";

/// The letter of one owner, or the list of what has no known owner. Lines end with a line feed.
pub fn letter(about: &About, group: &Group) -> String {
    let owner = one_line(group.name());
    let mut out = format!("{HEADING}\n\nTo:    {owner}\nFrom:  {LINE}\nDate:  {LINE}\n");
    let _ = writeln!(out, "Site:  {}\n", one_line(&about.site));
    out.push_str(
        "We propose small guided bores for gravity pipes. By the records that we hold\nthey come near these services",
    );
    out.push_str(if group.owner.is_some() {
        " of yours.\n\n"
    } else {
        ".\n\n"
    });
    out.push_str(if group.owner.is_some() { ASKED } else { NOBODY });
    let _ = writeln!(out, "\n{CAUTIONS}\n{}\n", summary(group));
    let _ = writeln!(
        out,
        "Lengths and levels in metres; E and N in {} ({}).",
        one_line(&about.crs),
        one_line(&about.unit_name)
    );
    for entry in &group.entries {
        out.push('\n');
        out.push_str(&item(about, entry));
    }
    out
}

/// `The list: 3 places; 1 to be exposed first because its depth is not recorded, 1 too near by the records.`
fn summary(group: &Group) -> String {
    let count = |v: Verdict| {
        let of = group.entries.iter().filter(|e| e.conflict.verdict == v);
        of.count()
    };
    let places = match group.entries.len() {
        1 => "1 place".to_string(),
        n => format!("{n} places"),
    };
    format!(
        "The list: {places}; too near by the records {}, depth not recorded {},\nlittle to spare {}, far enough by the records {}.",
        count(Verdict::Clash),
        count(Verdict::Prove),
        count(Verdict::Watch),
        count(Verdict::Clear)
    )
}

fn item(about: &About, entry: &Entry) -> String {
    let c = entry.conflict;
    let kind = c.kind.map_or("service", |k| k.word());
    let record = c.source.as_ref().map_or(String::new(), |s| {
        format!(", our record {} {}", one_line(&s.layer), s.fid)
    });
    let mut out = format!("{}  {kind}{record}\n", one_line(&c.conflict_id));
    let mut line = |head: &str, text: String| {
        let _ = writeln!(out, "    {head:<9}{text}");
    };
    line("Where", place(about, c));
    line("Distance", distance(c));
    line("Verdict", verdict(c.verdict).to_string());
    if let Some(h) = entry.hole {
        line("Expose", exposure(about, h));
    }
    line(
        "Found",
        "top at ________ m   size ________ mm   on ____________   by ____________".to_string(),
    );
    out
}

fn place(about: &About, c: &Conflict) -> String {
    let at = |m: f64| number(m / about.unit_m, 2);
    let of = match (&c.bore_id, &c.pit_id) {
        (Some(bore), _) => {
            let along = c.chainage_m.map_or(String::new(), |m| {
                format!(" at {} from its launch pit", number(m, 2))
            });
            let how = c
                .encounter
                .map_or(String::new(), |e| format!(", {}", e.word()));
            format!("bore {}{along}{how}", one_line(bore))
        }
        (None, pit) => format!("pit {}", one_line(pit.as_deref().unwrap_or_default())),
    };
    format!("{of}; E {}, N {}", at(c.point.at.x), at(c.point.at.y))
}

fn distance(c: &Conflict) -> String {
    let what = if c.depth_known {
        "by the records"
    } else {
        "from where it may lie"
    };
    let spare = if c.margin_m < 0.0 {
        format!("{} short", number(-c.margin_m, 2))
    } else {
        format!("{} to spare", number(c.margin_m, 2))
    };
    let way = match c.rule.strip_prefix("rules.separation.") {
        Some(rule) if rule.ends_with("vertical_m") => " in level",
        Some(_) => " in plan",
        None => "",
    };
    format!(
        "{}{way} {what}; asked {}, allowed for error {}: {spare}",
        number(c.clearance_m, 2),
        number(c.required_m, 2),
        number(c.allowance_m, 2)
    )
}

fn verdict(v: Verdict) -> &'static str {
    match v {
        Verdict::Clash => "too near by the records: the bore must change, or you must agree",
        Verdict::Prove => "depth not recorded: to be exposed and measured before boring",
        Verdict::Watch => "little to spare by the records: to be exposed before boring",
        Verdict::Clear => {
            "far enough by the records, which are no proof: to be located and exposed"
        }
    }
}

fn exposure(about: &About, h: &TestHole) -> String {
    let at = |m: f64| number(m / about.unit_m, 2);
    let expected = h
        .expected_depth_m
        .map_or("depth not known".to_string(), |d| {
            format!("perhaps {} deep", number(d, 2))
        });
    format!(
        "test hole {} at E {}, N {}; {expected}; dig to {}",
        one_line(&h.hole_id),
        at(h.point.at.x),
        at(h.point.at.y),
        number(h.dig_to_m, 2)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::register::{
        Register,
        group::tests::{conflict, hole},
    };

    fn about() -> About {
        About {
            site: "Tarn Lane\nextension".to_string(),
            crs: "EPSG:25832".to_string(),
            unit_m: 1.0,
            unit_name: "metre".to_string(),
        }
    }

    #[test]
    fn a_letter_says_what_is_near_and_what_is_asked() {
        let rows = [
            conflict("C1", Some("Tarn Gas"), 1, Verdict::Prove),
            conflict("C2", Some("Tarn Gas"), 2, Verdict::Clash),
        ];
        let holes = [hole("H1", 1)];
        let text = letter(&about(), &Register::new(&rows, &holes).groups[0]);
        for piece in [
            "To:    Tarn Gas\n",
            "Site:  Tarn Lane extension\n",
            "services of yours.\n",
            "stand by while a service is exposed",
            "Records are not proof.",
            "exposed and measured before\n    the bore is launched",
            "2 places; too near by the records 1, depth not recorded 1,",
            "C1  gas, our record gas_mains 1\n    Where    bore A-B01 at 12.50 from its launch pit, crossing; E 30.48, N 60.96\n",
            "    Distance 0.41 from where it may lie; asked 0.30, allowed for error 0.35: 0.24 short\n",
            "    Expose   test hole H1 at E 30.48, N 61.00; perhaps 0.95 deep; dig to 1.50\n",
            "    Verdict  too near by the records",
            "    Found    top at ____",
        ] {
            assert!(text.contains(piece), "no {piece:?} in\n{text}");
        }
        assert!(text.starts_with(HEADING));
        assert!(!text.to_lowercase().contains("safe"));
    }

    #[test]
    fn a_separation_says_which_way_it_was_measured() {
        let mut row = conflict("C1", Some("Beck Water"), 1, Verdict::Watch);
        row.rule = "rules.separation.water.vertical_m".to_string();
        let text = letter(&about(), &Register::new(&[row], &[]).groups[0]);
        assert!(
            text.contains("Distance 0.41 in level by the records; asked 0.30"),
            "{text}"
        );
    }

    #[test]
    fn what_has_no_owner_is_no_letter_to_anybody() {
        let mut row = conflict("C1", None, 1, Verdict::Watch);
        (row.bore_id, row.pit_id, row.chainage_m) = (None, Some("A-P1".to_string()), None);
        let text = letter(&about(), &Register::new(&[row], &[]).groups[0]);
        assert!(text.contains("To:    owner not known\n"));
        assert!(text.contains("No record says whose these are."));
        assert!(!text.contains("of yours.\n\n") && !text.contains("We ask you"));
        assert!(text.contains("pit A-P1; E 30.48"), "{text}");
    }
}
