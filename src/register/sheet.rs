//! The register as a table: a line an encounter, with columns left empty for what is found.

use super::{
    About,
    cell::{number, probability, words},
    group::{Entry, Group},
};
use crate::plan::Word;

/// How the first line begins, by which a file is known to be a register.
pub const HEAD: &str = "owner_no,owner,kind,";

/// Columns of an encounter, of its test hole, and of what is found.
const COLUMNS: [&str; 36] = [
    "owner_no",
    "owner",
    "kind",
    "source_layer",
    "source_fid",
    "conflict_id",
    "bore_id",
    "pit_id",
    "chainage_m",
    "easting",
    "northing",
    "level_m",
    "encounter",
    "angle_deg",
    "clearance_m",
    "required_m",
    "allowance_m",
    "margin_m",
    "p_contact",
    "depth_known",
    "verdict",
    "rule",
    "hole_id",
    "hole_priority",
    "hole_easting",
    "hole_northing",
    "hole_ground_m",
    "expected_depth_m",
    "dig_to_m",
    "hole_reason",
    "top_found_at_m",
    "size_found_mm",
    "material_found",
    "exposed_on",
    "exposed_by",
    "remarks",
];

/// Columns at the end that are for people to fill in.
const TO_FILL_IN: usize = 6;

/// The first line.
pub fn head() -> String {
    format!("{}\r\n", COLUMNS.join(","))
}

/// The line of an encounter.
pub fn row(about: &About, group: &Group, entry: &Entry) -> String {
    let mut cells = encounter(about, group, entry);
    cells.extend(hole(about, entry));
    cells.extend(vec![String::new(); TO_FILL_IN]);
    format!("{}\r\n", cells.join(","))
}

fn encounter(about: &About, group: &Group, entry: &Entry) -> Vec<String> {
    let c = entry.conflict;
    let metres = |m: Option<f64>| m.map_or(String::new(), |m| number(m, 3));
    let text = |t: Option<&str>| t.map_or(String::new(), words);
    let source = c.source.as_ref();
    vec![
        group.number.to_string(),
        words(group.name()),
        text(c.kind.map(|k| k.word())),
        text(source.map(|s| &*s.layer)),
        source.map_or(String::new(), |s| s.fid.to_string()),
        words(&c.conflict_id),
        text(c.bore_id.as_deref()),
        text(c.pit_id.as_deref()),
        metres(c.chainage_m),
        number(c.point.at.x / about.unit_m, 3),
        number(c.point.at.y / about.unit_m, 3),
        number(c.point.level, 3),
        text(c.encounter.map(Word::word)),
        c.angle_deg.map_or(String::new(), |a| number(a, 1)),
        number(c.clearance_m, 3),
        number(c.required_m, 3),
        number(c.allowance_m, 3),
        number(c.margin_m, 3),
        c.p_contact.map_or(String::new(), probability),
        if c.depth_known { "yes" } else { "no" }.to_string(),
        c.verdict.word().to_string(),
        words(&c.rule),
    ]
}

fn hole(about: &About, entry: &Entry) -> Vec<String> {
    let Some(h) = entry.hole else {
        return vec![String::new(); 8];
    };
    vec![
        words(&h.hole_id),
        h.priority.to_string(),
        number(h.point.at.x / about.unit_m, 3),
        number(h.point.at.y / about.unit_m, 3),
        number(h.point.level, 3),
        h.expected_depth_m.map_or(String::new(), |d| number(d, 3)),
        number(h.dig_to_m, 3),
        words(&h.reason),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        plan::Verdict,
        register::{
            Register,
            group::tests::{conflict, hole},
        },
    };

    fn about() -> About {
        About {
            site: "Tarn Lane".to_string(),
            crs: "EPSG:2272".to_string(),
            unit_m: 0.3048,
            unit_name: "foot".to_string(),
        }
    }

    #[test]
    fn a_line_has_a_cell_a_column_and_empty_ones_to_fill_in() {
        let rows = [
            conflict("C1", Some("Tarn, Gas"), 1, Verdict::Prove),
            conflict("C2", Some("=1+1"), 2, Verdict::Clash),
        ];
        let holes = [hole("H1", 1)];
        let register = Register::new(&rows, &holes);
        assert!(head().starts_with(HEAD) && head().ends_with("exposed_by,remarks\r\n"));
        let lines: Vec<String> = register
            .groups
            .iter()
            .flat_map(|g| g.entries.iter().map(move |e| row(&about(), g, e)))
            .collect();
        assert_eq!(
            lines[0],
            "1,'=1+1,gas,gas_mains,2,C2,A-B01,,12.500,100.000,200.000,97.500,crossing,88.0,0.410,0.300,0.350,-0.240,0.0110,yes,clash,rules.clearance.gas.crossing_m,,,,,,,,,,,,,,\r\n"
        );
        assert_eq!(
            lines[1],
            "2,\"Tarn, Gas\",gas,gas_mains,1,C1,A-B01,,12.500,100.000,200.000,97.500,crossing,88.0,0.410,0.300,0.350,-0.240,0.2500,no,prove,rules.clearance.gas.crossing_m,H1,1,100.000,200.131,99.000,0.950,1.500,depth of this gas is not recorded: expose it before boring,,,,,,\r\n"
        );
        let cells = lines[0].trim_end().split(',').count();
        assert_eq!(cells, COLUMNS.len());
    }
}
