//! The keys a job file may have, and what values they take.
//!
//! The table reads as the interface page does: a part in capitals stands for any word of its list.

use super::value::{KeyPath, Value};
use crate::site::{Kind, Quality, Surface};

/// What values a key takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Any text that is not empty.
    Text,
    /// One word of a list.
    Word(&'static [&'static str]),
    /// A whole number of at least 1.
    Whole,
    /// A number above 0.
    Positive,
    /// A number of at least 0.
    NotNegative,
    /// Any number.
    Number,
    /// 0 to 1.
    Share,
    /// Above 0 and below 90.
    Angle,
}

use Shape::*;

/// Every key, in the order of the interface page.
pub const KEYS: &[(&str, Shape)] = &[
    ("job.name", Text),
    ("job.crs", Text),
    ("job.watch_distance_m", NotNegative),
    ("pipe.dn_mm", Whole),
    ("pipe.material", Text),
    ("pipe.od_mm", Positive),
    ("pipe.id_mm", Positive),
    ("pipe.axial_limit_kn", Positive),
    ("pipe.manning_n", Positive),
    ("pipe.roughness_mm", NotNegative),
    ("pipe.viscosity_mm2_s", Positive),
    ("pipe.segment_m", Positive),
    ("pipe.strength_mpa", Positive),
    ("pipe.strength_safety", Positive),
    ("pipe.joint_od_mm", Positive),
    ("pipe.joint_id_mm", Positive),
    ("pipe.sizes.DN.od_mm", Positive),
    ("pipe.sizes.DN.id_mm", Positive),
    ("rig.reach_m", Positive),
    ("rig.thrust_kn", Positive),
    ("rig.line_accuracy_mm", NotNegative),
    ("rig.accuracy_at_m", Positive),
    ("rig.setting_out_mm", NotNegative),
    ("rig.dn_max_mm", Whole),
    ("rig.bore_mm", Positive),
    ("rig.overcut_mm", NotNegative),
    ("rig.grade_min", Share),
    ("rig.grade_max", Share),
    ("rig.launch_length_m", Positive),
    ("rig.launch_width_m", Positive),
    ("rig.reception_length_m", Positive),
    ("rig.reception_width_m", Positive),
    ("rig.axis_height_m", NotNegative),
    ("rig.access_width_m", NotNegative),
    (
        "rig.launch_from",
        Word(&["either", "downstream", "upstream"]),
    ),
    ("rig.setup_days", NotNegative),
    ("rig.metres_per_day", Positive),
    ("rig.pilot_mm", Positive),
    ("rig.lubrication", Word(&["no", "yes"])),
    ("rig.casing_segment_m", Positive),
    ("rig.pilot_segment_m", Positive),
    ("rig.reach_by_class.CLASS", Positive),
    ("setting_out.centring_mm", NotNegative),
    ("setting_out.pointing_s", NotNegative),
    ("setting_out.base_m", Positive),
    ("setting_out.marks_mm", NotNegative),
    ("setting_out.gradient_c_m", NotNegative),
    ("soil.class", Text),
    ("soil.water_level_m", Number),
    ("soil.friction_kpa", NotNegative),
    ("soil.face_kpa", NotNegative),
    ("soil.volume_loss", Share),
    ("soil.unit_weight_kn_m3", Positive),
    ("soil.friction_deg", Angle),
    ("soil.cohesion_kpa", NotNegative),
    ("soil.pipe_mu", Share),
    ("soil.trough_k", Positive),
    ("soil.cone_mpa", NotNegative),
    ("soil.sticky_stop", Word(&["no", "yes"])),
    ("soil.swell_percent", NotNegative),
    ("flow.rule", Word(&["greatest", "dwellings", "drains"])),
    ("flow.lot_within_m", NotNegative),
    ("flow.dwellings_per_lot", Positive),
    ("flow.dwelling_l_day", Positive),
    ("rules.base", Text),
    ("rules.min_cover_m", NotNegative),
    ("rules.min_grade", Share),
    ("rules.min_grade.DN", Share),
    ("rules.max_grade", Share),
    ("rules.manhole_spacing_m", Positive),
    ("rules.manhole_drop_m", NotNegative),
    ("rules.manhole_drop_max_m", NotNegative),
    ("rules.max_end_error_mm", Positive),
    ("rules.watch_margin_m", NotNegative),
    ("rules.settlement_mm", Positive),
    ("rules.settlement_slope", Positive),
    ("rules.unknown_depth", Word(&["prove", "avoid"])),
    ("rules.foundation_depth_m", NotNegative),
    ("rules.clearance.building", NotNegative),
    ("rules.clearance.KIND.crossing_m", NotNegative),
    ("rules.clearance.KIND.parallel_m", NotNegative),
    ("rules.clearance.KIND.pit_m", NotNegative),
    ("rules.separation.KIND.horizontal_m", NotNegative),
    ("rules.separation.KIND.vertical_m", NotNegative),
    ("rules.separation.KIND.service", Word(&["above", "either"])),
    ("rules.quality_scheme", Text),
    ("rules.quality.LEVEL.horizontal_m", NotNegative),
    ("rules.quality.LEVEL.vertical_m", NotNegative),
    ("rules.quality.LEVEL.horizontal_share", Share),
    ("rules.quality.LEVEL.vertical_share", Share),
    ("rules.depth_band.KIND.min_m", NotNegative),
    ("rules.depth_band.KIND.max_m", NotNegative),
    ("rules.default_diameter_mm.KIND", NotNegative),
    ("pits.on_lots", Word(&["entry", "never", "always"])),
    ("pits.max_depth_m", Positive),
    ("pits.hand_dig_max_depth_m", NotNegative),
    ("pits.machine_width_m", NotNegative),
    ("pits.support_from_depth_m", NotNegative),
    ("pits.building_setback_m", NotNegative),
    ("pits.building_spread_deg", Angle),
    ("pits.truck_m3", Positive),
    ("pits.power_pack_m2", NotNegative),
    ("pits.heap_m", Positive),
    ("search.station_step_m", Positive),
    ("search.level_step_m", Positive),
    ("search.corridor_m", NotNegative),
    ("search.corridor_step_m", Positive),
    ("search.snap_m", NotNegative),
    ("costs.currency", Text),
    ("costs.pit_base", NotNegative),
    ("costs.pit_per_m3", NotNegative),
    ("costs.pit_hand_per_m3", NotNegative),
    ("costs.pit_support_per_m2", NotNegative),
    ("costs.manhole_base", NotNegative),
    ("costs.manhole_per_m", NotNegative),
    ("costs.bore_setup", NotNegative),
    ("costs.bore_per_m", NotNegative),
    ("costs.crew_day", NotNegative),
    ("costs.test_hole", NotNegative),
    ("costs.trench_per_m3", NotNegative),
    ("costs.trench_support_per_m2", NotNegative),
    ("costs.trench_metres_per_day", Positive),
    ("costs.reinstate.SURFACE", NotNegative),
    ("costs.fence.MATERIAL", NotNegative),
    ("costs.strike.KIND", NotNegative),
    ("programme.pit_m3_per_day", Positive),
    ("programme.hand_m3_per_day", Positive),
    ("programme.manhole_days", NotNegative),
    ("programme.close_pit_days", NotNegative),
    ("programme.move_days", NotNegative),
    ("programme.yard_days", NotNegative),
    ("programme.restoring_days", NotNegative),
    ("traffic.vehicles_per_day", NotNegative),
    ("traffic.delay_h", NotNegative),
    ("traffic.cost_per_hour", NotNegative),
    ("carbon.fuel", Word(&["diesel", "mineral", "gas-oil"])),
    ("carbon.bore_l_per_day", NotNegative),
    ("carbon.trench_l_per_day", NotNegative),
    ("carbon.truck_l_per_load", NotNegative),
];

/// What stands at a path of the table of keys.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Found {
    /// A key: its row of `KEYS`.
    Key(&'static str, Shape),
    /// A table that holds keys.
    Table,
    /// Nothing.
    Nothing,
}

/// What stands at a path. `as_table` says which is meant where both a key and a table are known (`rules.min_grade`).
pub fn find(path: &KeyPath, as_table: bool) -> Found {
    let rows = || KEYS.iter().filter(|(pattern, _)| begins(pattern, &path.0));
    let depth = path.0.len();
    let key = rows()
        .find(|(p, _)| parts(p).count() == depth)
        .map(|(p, shape)| Found::Key(p, *shape));
    let table = rows()
        .find(|(p, _)| parts(p).count() > depth)
        .map(|_| Found::Table);
    if as_table {
        table.or(key)
    } else {
        key.or(table)
    }
    .unwrap_or(Found::Nothing)
}

/// The words that would do for the last part of a path, where a list of words stands there.
pub fn words_at(path: &KeyPath) -> Option<(&'static str, Vec<&'static str>)> {
    let (table, depth) = (path.table(), path.0.len());
    let rows = KEYS.iter().filter(|(pattern, _)| begins(pattern, &table.0));
    rows.filter_map(|(p, _)| parts(p).nth(depth - 1))
        .find_map(listed)
}

/// Known names that may stand at the last part of a path.
pub fn names_at(path: &KeyPath) -> Vec<&'static str> {
    let (table, depth) = (path.table(), path.0.len());
    let rows = KEYS.iter().filter(|(pattern, _)| begins(pattern, &table.0));
    let mut names: Vec<&str> = rows.filter_map(|(p, _)| parts(p).nth(depth - 1)).collect();
    names.dedup();
    names
}

/// Place of a key in listings: the order of `KEYS`, and of the lists of words within it.
pub fn order(path: &KeyPath) -> Vec<(usize, String)> {
    (1..=path.0.len())
        .map(|depth| order_of_part(path, depth))
        .collect()
}

fn order_of_part(path: &KeyPath, depth: usize) -> (usize, String) {
    let (head, part) = (&path.0[..depth], &path.0[depth - 1]);
    let row = KEYS
        .iter()
        .position(|(p, _)| begins(p, head))
        .unwrap_or(KEYS.len());
    let pattern = KEYS
        .get(row)
        .and_then(|(p, _)| parts(p).nth(depth - 1))
        .unwrap_or("");
    let within = match listed(pattern) {
        Some((_, words)) => format!(
            "{:04}",
            words.iter().position(|w| w == part).unwrap_or(words.len())
        ),
        None if pattern == "DN" => format!("{part:0>9}"),
        None => part.clone(),
    };
    (row, within)
}

fn parts(pattern: &'static str) -> impl Iterator<Item = &'static str> {
    pattern.split('.')
}

/// Whether a pattern begins with these parts.
fn begins(pattern: &'static str, path: &[String]) -> bool {
    parts(pattern).count() >= path.len()
        && parts(pattern)
            .zip(path)
            .all(|(p, part)| p == part || stands_for(p, part))
}

fn stands_for(pattern: &str, part: &str) -> bool {
    match pattern {
        "DN" => part
            .parse::<u32>()
            .is_ok_and(|dn| dn > 0 && dn.to_string() == part),
        "CLASS" | "MATERIAL" => !part.is_empty(),
        _ => listed(pattern).is_some_and(|(_, words)| words.contains(&part)),
    }
}

/// Whether a part is one in capitals itself, as rule sets (and never jobs) write it.
pub fn is_placeholder(part: &str) -> bool {
    ["DN", "CLASS", "KIND", "LEVEL", "SURFACE", "MATERIAL"].contains(&part)
}

/// The list that a part in capitals stands for.
fn listed(pattern: &str) -> Option<(&'static str, Vec<&'static str>)> {
    Some(match pattern {
        "KIND" => (
            "kind of service",
            Kind::ALL.iter().map(|k| k.word()).collect(),
        ),
        "LEVEL" => (
            "quality level",
            Quality::ALL.iter().map(|q| q.word()).collect(),
        ),
        "SURFACE" => ("surface", Surface::ALL.iter().map(|s| s.word()).collect()),
        _ => return None,
    })
}

impl Shape {
    /// The number as a value of this shape, or none where it does not fit.
    pub fn number(self, n: f64) -> Option<Value> {
        let fits = match self {
            Text | Word(_) => false,
            Whole => n.fract() == 0.0 && (1.0..=10_000.0).contains(&n),
            Positive => n > 0.0,
            NotNegative => n >= 0.0,
            Number => true,
            Share => (0.0..=1.0).contains(&n),
            Angle => n > 0.0 && n < 90.0,
        };
        let value = if self == Whole {
            Value::Whole(n as u32)
        } else {
            Value::Number(n)
        };
        (fits && n.is_finite()).then_some(value)
    }

    /// The text as a value of this shape, or none where it does not fit.
    pub fn text(self, s: &str) -> Option<Value> {
        let fits = match self {
            Text => !s.trim().is_empty(),
            Word(words) => words.contains(&s),
            _ => false,
        };
        fits.then(|| Value::Text(s.to_string()))
    }

    /// What would do, for people.
    pub fn expected(self) -> String {
        match self {
            Text => "a text in quotes, not empty".to_string(),
            Word(words) => format!("one of \"{}\"", words.join("\", \"")),
            Whole => "a whole number from 1 to 10000".to_string(),
            Positive => "a number above 0".to_string(),
            NotNegative => "a number of at least 0".to_string(),
            Number => "a number".to_string(),
            Share => "a number from 0 to 1".to_string(),
            Angle => "an angle above 0 and below 90 degrees".to_string(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_in_capitals_stands_for_its_words_only() {
        let gas = KeyPath::of("rules.clearance.gas.pit_m");
        assert_eq!(
            find(&gas, false),
            Found::Key("rules.clearance.KIND.pit_m", NotNegative)
        );
        assert_eq!(
            find(&KeyPath::of("rules.clearance.gass.pit_m"), false),
            Found::Nothing
        );
        assert_eq!(
            find(&KeyPath::of("rules.clearance.gas"), false),
            Found::Table
        );
    }

    #[test]
    fn minimum_grade_is_a_key_and_a_table() {
        let path = KeyPath::of("rules.min_grade");
        assert_eq!(find(&path, false), Found::Key("rules.min_grade", Share));
        assert_eq!(find(&path, true), Found::Table);
    }

    #[test]
    fn a_nominal_diameter_is_written_one_way() {
        assert_eq!(find(&KeyPath::of("pipe.sizes.225"), false), Found::Table);
        assert_eq!(find(&KeyPath::of("pipe.sizes.0225"), false), Found::Nothing);
        assert_eq!(find(&KeyPath::of("pipe.sizes.DN"), false), Found::Table);
    }

    #[test]
    fn a_number_that_is_not_finite_never_fits() {
        assert_eq!(Number.number(f64::NAN), None);
        assert_eq!(Positive.number(f64::INFINITY), None);
        assert_eq!(Positive.number(0.0), None);
        assert_eq!(NotNegative.number(0.0), Some(Value::Number(0.0)));
        assert_eq!(Whole.number(150.5), None);
    }

    #[test]
    fn diameters_are_ordered_by_size_and_kinds_as_listed() {
        let of = |s| order(&KeyPath::of(s));
        assert!(of("rules.min_grade.90") < of("rules.min_grade.100"));
        assert!(of("rules.clearance.gas.pit_m") < of("rules.clearance.electricity.crossing_m"));
        assert!(of("job.name") < of("rig.reach_m"));
    }
}
