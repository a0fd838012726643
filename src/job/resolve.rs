//! From values in force to the settings that the planner sees.

use super::{inforce::InForce, limits, settings::*, value::Value};
use crate::site::{Kind, Surface};
use std::{collections::BTreeMap, str::FromStr};

/// The job that values in force make.
pub fn job(v: &InForce) -> Job {
    Job {
        name: v.text("job.name"),
        crs: v.text("job.crs"),
        watch_distance_m: v.number("job.watch_distance_m"),
        pipe: pipe(v),
        rig: rig(v),
        setting_out: setting_out(v),
        soil: soil(v),
        rules: rules(v),
        pits: pits(v),
        search: search(v),
        costs: costs(v),
        flow: flow(v),
        programme: programme(v),
        traffic: traffic(v),
        carbon: carbon(v),
    }
}

fn pipe(v: &InForce) -> Pipe {
    let mut halves: BTreeMap<u32, (Option<f64>, Option<f64>)> = BTreeMap::new();
    for (path, mm) in v.table("pipe.sizes") {
        let Ok(dn) = path[0].parse() else { continue };
        let half = halves.entry(dn).or_default();
        *(if path[1] == "od_mm" {
            &mut half.0
        } else {
            &mut half.1
        }) = as_number(mm);
    }
    let whole = halves.into_iter().filter_map(|(dn, (od, id))| {
        Some((
            dn,
            PipeSize {
                od_mm: od?,
                id_mm: id?,
            },
        ))
    });
    Pipe {
        dn_mm: v.whole("pipe.dn_mm"),
        material: v.word("pipe.material"),
        sizes: whole.collect(),
        axial_limit_kn: v.maybe("pipe.axial_limit_kn"),
        manning_n: v.number("pipe.manning_n"),
        roughness_mm: v.number("pipe.roughness_mm"),
        viscosity_mm2_s: v.number("pipe.viscosity_mm2_s"),
        segment_m: v.number("pipe.segment_m"),
        strength_mpa: v.maybe("pipe.strength_mpa"),
        strength_safety: v.maybe("pipe.strength_safety"),
        joint: joint(v),
    }
}

fn joint(v: &InForce) -> Option<PipeSize> {
    Some(PipeSize {
        od_mm: v.maybe("pipe.joint_od_mm")?,
        id_mm: v.maybe("pipe.joint_id_mm")?,
    })
}

fn rig(v: &InForce) -> Rig {
    let class = v.text("soil.class");
    let by_class = class.and_then(|c| v.table("rig.reach_by_class").find(|(path, _)| path[0] == c));
    Rig {
        reach_m: by_class
            .and_then(|(_, m)| as_number(m))
            .unwrap_or_else(|| v.number("rig.reach_m")),
        thrust_kn: v.maybe("rig.thrust_kn"),
        line_accuracy_mm: v.number("rig.line_accuracy_mm"),
        accuracy_at_m: v.number("rig.accuracy_at_m"),
        setting_out_mm: v.number("rig.setting_out_mm"),
        dn_max_mm: v.whole("rig.dn_max_mm"),
        bore_mm: v.maybe("rig.bore_mm"),
        overcut_mm: v.number("rig.overcut_mm"),
        grade_min: v.number("rig.grade_min"),
        grade_max: v.number("rig.grade_max"),
        launch_length_m: v.number("rig.launch_length_m"),
        launch_width_m: v.number("rig.launch_width_m"),
        reception_length_m: v.number("rig.reception_length_m"),
        reception_width_m: v.number("rig.reception_width_m"),
        axis_height_m: v.number("rig.axis_height_m"),
        access_width_m: v.number("rig.access_width_m"),
        launch_from: match v.word("rig.launch_from").as_str() {
            "downstream" => LaunchFrom::Downstream,
            "upstream" => LaunchFrom::Upstream,
            _ => LaunchFrom::Either,
        },
        setup_days: v.number("rig.setup_days"),
        metres_per_day: v.number("rig.metres_per_day"),
        pilot_mm: v.number("rig.pilot_mm"),
        lubrication: v.word("rig.lubrication") == "yes",
        casing_segment_m: of_string(v, "rig.casing_segment_m"),
        pilot_segment_m: of_string(v, "rig.pilot_segment_m"),
    }
}

/// Length of a piece of a string, else that of a pipe.
fn of_string(v: &InForce, key: &str) -> f64 {
    v.maybe(key).unwrap_or_else(|| v.number("pipe.segment_m"))
}

fn setting_out(v: &InForce) -> SettingOut {
    SettingOut {
        centring_mm: v.maybe("setting_out.centring_mm"),
        pointing_s: v.maybe("setting_out.pointing_s"),
        base_m: v.maybe("setting_out.base_m"),
        marks_mm: v.maybe("setting_out.marks_mm"),
        gradient_c_m: v.maybe("setting_out.gradient_c_m"),
    }
}

fn soil(v: &InForce) -> Soil {
    let class = v.text("soil.class");
    let friction_kpa = v.number("soil.friction_kpa");
    let range = class.as_ref().and_then(|c| v.rule_set.soils.get(c));
    Soil {
        friction_low_kpa: range.map_or(friction_kpa, |s| s.friction_low_kpa.min(friction_kpa)),
        friction_high_kpa: range.map_or(friction_kpa, |s| s.friction_high_kpa.max(friction_kpa)),
        class,
        water_level_m: v.maybe("soil.water_level_m"),
        friction_kpa,
        face_kpa: v.number("soil.face_kpa"),
        volume_loss: v.maybe("soil.volume_loss"),
        unit_weight_kn_m3: v.maybe("soil.unit_weight_kn_m3"),
        friction_deg: v.maybe("soil.friction_deg"),
        cohesion_kpa: v.maybe("soil.cohesion_kpa"),
        pipe_mu: v.maybe("soil.pipe_mu"),
        trough_k: v.maybe("soil.trough_k"),
        cone_mpa: v.maybe("soil.cone_mpa"),
        sticky_stop: v.word("soil.sticky_stop") == "yes",
        swell_percent: v.maybe("soil.swell_percent"),
    }
}

fn rules(v: &InForce) -> Rules {
    Rules {
        base: v.word("rules.base"),
        min_cover_m: v.number("rules.min_cover_m"),
        min_grade: min_grade(v),
        max_grade: v.number("rules.max_grade"),
        manhole_spacing_m: v.number("rules.manhole_spacing_m"),
        manhole_drop_m: v.number("rules.manhole_drop_m"),
        manhole_drop_max_m: v.maybe("rules.manhole_drop_max_m"),
        max_end_error_mm: v.maybe("rules.max_end_error_mm"),
        settlement_mm: v.number("rules.settlement_mm"),
        settlement_slope: v.number("rules.settlement_slope"),
        watch_margin_m: v.number("rules.watch_margin_m"),
        unknown_depth: match v.word("rules.unknown_depth").as_str() {
            "avoid" => UnknownDepth::Avoid,
            _ => UnknownDepth::Prove,
        },
        foundation_depth_m: v.number("rules.foundation_depth_m"),
        clearance: v.by_word(Kind::ALL, |kind| clearance(v, kind)),
        clearance_building_m: v.number("rules.clearance.building"),
        separation: separation(v),
        quality: limits::fixed(v),
        quality_share: limits::shares(v),
        depth_band: v.by_word(Kind::ALL, |kind| depth_band(v, kind)),
        default_diameter_mm: v.by_word(Kind::ALL, |kind| {
            v.number(&format!("rules.default_diameter_mm.{kind}"))
        }),
    }
}

/// Flattest grades by nominal diameter; one number counts for every diameter.
fn min_grade(v: &InForce) -> BTreeMap<u32, f64> {
    if let Some(one) = v.maybe("rules.min_grade") {
        return BTreeMap::from([(1, one)]);
    }
    let rows = v.table("rules.min_grade");
    rows.filter_map(|(path, grade)| Some((path[0].parse().ok()?, as_number(grade)?)))
        .collect()
}

fn clearance(v: &InForce, kind: Kind) -> Clearance {
    let of = |key: &str| v.number(&format!("rules.clearance.{kind}.{key}"));
    Clearance {
        crossing_m: of("crossing_m"),
        parallel_m: of("parallel_m"),
        pit_m: of("pit_m"),
    }
}

/// Kinds that have a conditional rule; each is whole, as `consistency` proves.
fn separation(v: &InForce) -> BTreeMap<Kind, Separation> {
    let of = |kind: Kind| {
        let key = |name: &str| format!("rules.separation.{kind}.{name}");
        let service = v.text(&key("service"));
        Some(Separation {
            horizontal_m: v.maybe(&key("horizontal_m"))?,
            vertical_m: v.maybe(&key("vertical_m"))?,
            service: match service.as_deref() {
                Some("either") => Side::Either,
                _ => Side::Above,
            },
        })
    };
    let all = Kind::ALL.iter();
    all.filter_map(|kind| Some((*kind, of(*kind)?))).collect()
}

fn depth_band(v: &InForce, kind: Kind) -> DepthBand {
    let of = |key: &str| v.number(&format!("rules.depth_band.{kind}.{key}"));
    DepthBand {
        min_m: of("min_m"),
        max_m: of("max_m"),
    }
}

fn pits(v: &InForce) -> Pits {
    Pits {
        on_lots: match v.word("pits.on_lots").as_str() {
            "never" => OnLots::Never,
            "always" => OnLots::Always,
            _ => OnLots::Entry,
        },
        max_depth_m: v.number("pits.max_depth_m"),
        hand_dig_max_depth_m: v.number("pits.hand_dig_max_depth_m"),
        machine_width_m: v.number("pits.machine_width_m"),
        support_from_depth_m: v.number("pits.support_from_depth_m"),
        building_setback_m: v.number("pits.building_setback_m"),
        building_spread_deg: v.number("pits.building_spread_deg"),
        truck_m3: v.maybe("pits.truck_m3"),
        power_pack_m2: v.number("pits.power_pack_m2"),
        heap_m: v.number("pits.heap_m"),
    }
}

fn search(v: &InForce) -> Search {
    Search {
        station_step_m: v.number("search.station_step_m"),
        level_step_m: v.number("search.level_step_m"),
        corridor_m: v.number("search.corridor_m"),
        corridor_step_m: v.number("search.corridor_step_m"),
        snap_m: v.number("search.snap_m"),
    }
}

fn costs(v: &InForce) -> Costs {
    Costs {
        currency: v.word("costs.currency"),
        pit_base: v.number("costs.pit_base"),
        pit_per_m3: v.number("costs.pit_per_m3"),
        pit_hand_per_m3: v.number("costs.pit_hand_per_m3"),
        pit_support_per_m2: v.number("costs.pit_support_per_m2"),
        manhole_base: v.number("costs.manhole_base"),
        manhole_per_m: v.number("costs.manhole_per_m"),
        bore_setup: v.number("costs.bore_setup"),
        bore_per_m: v.number("costs.bore_per_m"),
        crew_day: v.number("costs.crew_day"),
        test_hole: v.number("costs.test_hole"),
        trench_per_m3: v.number("costs.trench_per_m3"),
        trench_support_per_m2: v.number("costs.trench_support_per_m2"),
        trench_metres_per_day: v.number("costs.trench_metres_per_day"),
        reinstate: v.by_word(Surface::ALL, |s| v.number(&format!("costs.reinstate.{s}"))),
        fence: v
            .table("costs.fence")
            .filter_map(|(path, price)| Some((path[0].clone(), as_number(price)?)))
            .collect(),
        strike: v.by_word(Kind::ALL, |kind| v.number(&format!("costs.strike.{kind}"))),
    }
}

fn flow(v: &InForce) -> Flow {
    Flow {
        rule: match v.word("flow.rule").as_str() {
            "dwellings" => FlowRule::Dwellings,
            "drains" => FlowRule::Drains,
            _ => FlowRule::Greatest,
        },
        lot_within_m: v.number("flow.lot_within_m"),
        dwellings_per_lot: v.number("flow.dwellings_per_lot"),
        dwelling_l_day: v.number("flow.dwelling_l_day"),
    }
}

fn programme(v: &InForce) -> Programme {
    let of = |key: &str| v.number(&format!("programme.{key}"));
    Programme {
        pit_m3_per_day: of("pit_m3_per_day"),
        hand_m3_per_day: of("hand_m3_per_day"),
        manhole_days: of("manhole_days"),
        close_pit_days: of("close_pit_days"),
        move_days: of("move_days"),
        yard_days: of("yard_days"),
        restoring_days: of("restoring_days"),
    }
}

fn traffic(v: &InForce) -> Option<Traffic> {
    Some(Traffic {
        vehicles_per_day: v.maybe("traffic.vehicles_per_day")?,
        delay_h: v.maybe("traffic.delay_h")?,
        cost_per_hour: v.maybe("traffic.cost_per_hour")?,
    })
}

fn carbon(v: &InForce) -> Carbon {
    Carbon {
        fuel: v.word("carbon.fuel"),
        bore_l_per_day: v.number("carbon.bore_l_per_day"),
        trench_l_per_day: v.number("carbon.trench_l_per_day"),
        truck_l_per_load: v.number("carbon.truck_l_per_load"),
    }
}

fn as_number(value: &Value) -> Option<f64> {
    match value {
        Value::Number(n) => Some(*n),
        Value::Whole(n) => Some(f64::from(*n)),
        Value::Text(_) => None,
    }
}

impl InForce {
    fn maybe(&self, key: &str) -> Option<f64> {
        self.get(key).and_then(as_number)
    }

    fn number(&self, key: &str) -> f64 {
        self.maybe(key)
            .unwrap_or_else(|| panic!("the rule set gives {key} a number, as its test proves"))
    }

    fn whole(&self, key: &str) -> u32 {
        match self.get(key) {
            Some(Value::Whole(n)) => *n,
            _ => panic!("the rule set gives {key} a whole number, as its test proves"),
        }
    }

    fn text(&self, key: &str) -> Option<String> {
        self.get(key).map(Value::to_string)
    }

    fn word(&self, key: &str) -> String {
        self.text(key)
            .unwrap_or_else(|| panic!("the rule set gives {key} a word, as its test proves"))
    }

    fn by_word<W: Copy + Ord + FromStr, T>(
        &self,
        words: &[W],
        of: impl Fn(W) -> T,
    ) -> BTreeMap<W, T> {
        words.iter().map(|w| (*w, of(*w))).collect()
    }
}
