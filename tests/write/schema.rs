//! The layers have the columns that the interface names, in its order, and no others.

use crate::dump::{open, texts};
use crate::site::Site;
use crate::synthetic::{self, nothing_checked};
use pitwright::plan::Plan;
use pitwright::write::plan_tables;
use rusqlite::Connection;

/// Typed off the interface, section 3, and off README's tables, not off the code.
const INTERFACE: [(&str, &str, &str); 16] = [
    (
        "proposed_pits",
        "POLYGON 0",
        "pit_id route_id chainage_m offset_m role manhole easting northing ground_m invert_m floor_m depth_m \
         length_m width_m bearing_deg dig support surface street lot_id volume_m3 \
         spoil_loose_m3 truck_loads tree_zone_share tree_trunk_m tree_zone_m2 tree_girth_zone_m2 spoil_set_back_m ladders \
         batter_width_m batter_volume_m3 building_keep_m laydown_m2 thrust_wall_kn thrust_wall_ratio cost notes",
    ),
    (
        "proposed_bores",
        "LINESTRING 1",
        "bore_id route_id run_id us_pit ds_pit launch_pit reception_pit dn_mm od_mm id_mm bore_mm length_m \
         us_invert_m ds_invert_m grade grade_1_in bearing_deg reach_m reach_governed_by min_cover_m \
         min_clearance_m worst_margin_m thrust_low_kn thrust_kn thrust_high_kn thrust_limit_kn tolerance_mm \
         settlement_mm settlement_slope velocity_m_s capacity_l_s pilot_heave_mm \
         predicted_error_mm level_tolerance_mm grade_after_errors displacement_cover_m tree_trunk_m tree_distance_m \
         tree_cover_m depth_beyond_roots_m pipe_capacity_kn lots_served design_flow_l_s flow_share flow_depth_mm \
         flow_velocity_m_s flow_shear_pa pipes pipe_joints casings pilot_tubes days cost trench_cost notes",
    ),
    (
        "bore_conflicts",
        "POINT 1",
        "conflict_id bore_id pit_id obstacle source_layer source_fid kind owner chainage_m angle_deg encounter \
         clearance_m required_m allowance_m margin_m p_contact settlement_mm settlement_slope heave_mm above_axis_m \
         beside_axis_m depth_known verdict rule",
    ),
    (
        "test_holes",
        "POINT 1",
        "hole_id bore_id pit_id source_layer source_fid kind expected_depth_m dig_to_m priority reason",
    ),
    (
        "bore_inspections",
        "POINT 1",
        "priority bore_id source_layer source_fid kind owner chainage_m clearance_m p_contact quality verdict",
    ),
    (
        "conflict_changes",
        "POINT 1",
        "change bore_id obstacle source_layer source_fid kind owner encounter chainage_m verdict_before verdict \
         clearance_before_m clearance_m margin_before_m margin_m p_contact_before p_contact",
    ),
    (
        "long_sections",
        "",
        "route_id chainage_m ground_m invert_m crown_m cover_m bore_id pit_id feature",
    ),
    (
        "affected_lots",
        "MULTIPOLYGON 0",
        "lot_id effect bore_ids pit_ids bore_length_m shallowest_cover_m",
    ),
    (
        "cost_items",
        "",
        "route_id bore_id pit_id method item unit quantity rate amount",
    ),
    (
        "bore_or_trench",
        "",
        "scope item_id route_id length_m cost trench_cost fixed_cost cost_per_m break_even_m spared_driveway_m2 \
         spared_paving_m2 spared_garden_m2 spared_other_m2 spared_street_m2 spared_fences spared_trees days trench_days \
         street_days trench_street_days yards trench_yards yard_days trench_yard_days traffic_cost trench_traffic_cost \
         spoil_m3 trench_spoil_m3 carbon_kg trench_carbon_kg",
    ),
    (
        "bore_programme",
        "",
        "step task route_id pit_id bore_id from_day to_day",
    ),
    (
        "alternatives",
        "",
        "system alternative cost more_than_best pits manholes bores test_holes watch least_margin_m strike_cost \
         longest_bore_m deepest_pit_m differs",
    ),
    (
        "alternative_pits",
        "POLYGON 0",
        "alternative pit_id route_id chainage_m offset_m role manhole easting northing ground_m invert_m floor_m \
         depth_m length_m width_m bearing_deg dig support surface street lot_id volume_m3 \
         spoil_loose_m3 truck_loads tree_zone_share tree_trunk_m tree_zone_m2 tree_girth_zone_m2 spoil_set_back_m ladders \
         batter_width_m batter_volume_m3 building_keep_m laydown_m2 thrust_wall_kn thrust_wall_ratio cost notes",
    ),
    (
        "alternative_bores",
        "LINESTRING 1",
        "alternative bore_id route_id run_id us_pit ds_pit launch_pit reception_pit dn_mm od_mm id_mm bore_mm \
         length_m us_invert_m ds_invert_m grade grade_1_in bearing_deg reach_m reach_governed_by min_cover_m \
         min_clearance_m worst_margin_m thrust_low_kn thrust_kn thrust_high_kn thrust_limit_kn tolerance_mm \
         settlement_mm settlement_slope velocity_m_s capacity_l_s pilot_heave_mm \
         predicted_error_mm level_tolerance_mm grade_after_errors displacement_cover_m tree_trunk_m tree_distance_m \
         tree_cover_m depth_beyond_roots_m pipe_capacity_kn lots_served design_flow_l_s flow_share flow_depth_mm \
         flow_velocity_m_s flow_shear_pa pipes pipe_joints casings pilot_tubes days cost trench_cost notes",
    ),
    (
        "route_blockers",
        "LINESTRING 0",
        "route_id from_chainage_m to_chainage_m why source_layer source_fid remedies",
    ),
    (
        "pitwright_runs",
        "",
        "run_id command version finished_at layers job_json inputs_json summary_json",
    ),
];

fn columns(c: &Connection, table: &str) -> Vec<String> {
    texts(c, &format!("SELECT name FROM pragma_table_info('{table}')"))
}

fn one(c: &Connection, sql: &str) -> String {
    texts(c, sql).join("; ")
}

#[test]
fn columns_are_those_of_the_interface_in_its_order_even_when_empty() {
    let site = Site::new();
    site.write(&plan_tables(&Plan::default()), false).unwrap();
    site.write(&nothing_checked(), true).unwrap();
    let c = open(&site.file);
    for (table, geometry, named) in INTERFACE {
        let lead = if geometry.is_empty() {
            "fid "
        } else {
            "fid geom "
        };
        assert_eq!(
            columns(&c, table).join(" "),
            format!("{lead}{named}"),
            "{table}"
        );
    }
}

#[test]
fn geometry_types_and_kinds_of_table_are_registered() {
    let site = Site::new();
    site.write(&plan_tables(&Plan::default()), false).unwrap();
    site.write(&nothing_checked(), true).unwrap();
    let c = open(&site.file);
    for (table, geometry, _) in INTERFACE {
        let of = |column, from| {
            one(
                &c,
                &format!("SELECT {column} FROM {from} WHERE table_name = '{table}'"),
            )
        };
        let kind = if geometry.is_empty() {
            "attributes"
        } else {
            "features"
        };
        assert_eq!(of("data_type", "gpkg_contents"), kind);
        assert!(of("description", "gpkg_contents").len() > 20);
        let registered = of("geometry_type_name || ' ' || z", "gpkg_geometry_columns");
        assert_eq!(registered, geometry, "{table}");
    }
}

#[test]
fn types_say_what_a_column_holds() {
    let site = Site::new();
    site.write(&plan_tables(&Plan::default()), false).unwrap();
    let c = open(&site.file);
    let kind = |table: &str, column: &str| {
        one(
            &c,
            &format!("SELECT type FROM pragma_table_info('{table}') WHERE name = '{column}'"),
        )
    };
    assert_eq!(kind("proposed_pits", "manhole"), "BOOLEAN");
    assert_eq!(kind("proposed_pits", "pit_id"), "TEXT");
    assert_eq!(kind("proposed_bores", "dn_mm"), "INTEGER");
    assert_eq!(kind("proposed_bores", "grade"), "DOUBLE");
    assert_eq!(kind("bore_conflicts", "source_fid"), "INTEGER");
    assert_eq!(kind("bore_conflicts", "depth_known"), "BOOLEAN");
    assert_eq!(kind("pitwright_runs", "finished_at"), "DATETIME");
    assert_eq!(kind("alternatives", "watch"), "INTEGER");
    assert_eq!(kind("alternative_pits", "alternative"), "INTEGER");
    assert_eq!(kind("alternative_bores", "grade"), "DOUBLE");
}

#[test]
fn values_land_in_their_columns() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(8, 1)), false)
        .unwrap();
    let c = open(&site.file);
    let got = |sql: &str| one(&c, sql);
    assert_eq!(
        got("SELECT group_concat(grade_1_in IS NULL, '') FROM proposed_bores"),
        "10000000"
    );
    assert_eq!(
        got("SELECT '' || grade_1_in FROM proposed_bores WHERE fid = 2"),
        "200.0"
    );
    assert_eq!(
        got(
            "SELECT thrust_low_kn || ' ' || thrust_high_kn || ' ' || (settlement_mm IS NULL) FROM proposed_bores WHERE fid = 1"
        ),
        "60.0 120.0 1"
    );
    assert_eq!(
        got("SELECT role || ' ' || dig || ' ' || manhole FROM proposed_pits WHERE fid = 2"),
        "reception hand 0"
    );
    assert_eq!(
        got("SELECT notes FROM proposed_pits WHERE fid = 1"),
        "narrow access, 'by the wall'"
    );
    assert_eq!(
        got("SELECT effect || ' ' || bore_ids || ' [' || pit_ids || ']' FROM affected_lots"),
        "pit B0,B1 []; bore-under B1,B2 []"
    );
    assert_eq!(
        got(
            "SELECT why || ' ' || ifnull(source_layer, '-') || ' ' || remedies FROM route_blockers"
        ),
        "gap lots reach 61.5 m; entry L1 and L2; levels - reach 61.5 m; entry L1 and L2"
    );
    assert_eq!(
        got("SELECT verdict FROM bore_conflicts WHERE fid <= 4"),
        "clash; prove; watch; clear"
    );
    assert_eq!(
        got("SELECT '' || count(*) FROM bore_conflicts WHERE (bore_id IS NULL) = (pit_id IS NULL)"),
        "0"
    );
    assert_eq!(
        got("SELECT reach_governed_by FROM proposed_bores WHERE fid <= 4"),
        "rig; thrust; pipe; accuracy"
    );
    assert_eq!(
        got("SELECT method || ' ' || unit FROM cost_items WHERE fid <= 2"),
        "bore m; trench m"
    );
    assert_eq!(
        got(
            "SELECT system || ' ' || alternative || ' ' || (least_margin_m IS NULL) || ' ' || differs FROM alternatives"
        ),
        "R1,R2 1 0 the best plan; R1,R2 2 1 elsewhere"
    );
    assert_eq!(
        got("SELECT alternative || ' ' || pit_id FROM alternative_pits"),
        "1 P0; 1 P1; 2 P0; 2 P1"
    );
    assert_eq!(
        got("SELECT alternative || ' ' || bore_id FROM alternative_bores"),
        "1 B0; 2 B0"
    );
    assert_eq!(
        got(
            "SELECT scope || ' ' || item_id || ' ' || yard_days || ' ' || trench_yard_days FROM bore_or_trench WHERE fid = 2"
        ),
        "bore B1 4.0 13.5"
    );
    assert_eq!(
        got("SELECT task || ' ' || bore_id || ' ' || from_day FROM bore_programme WHERE fid = 1"),
        "bore B0 0.5"
    );
    assert_eq!(
        got("SELECT feature FROM long_sections WHERE fid <= 4"),
        "manhole; pit; crossing; ground"
    );
    assert_eq!(
        got("SELECT run_id || ' ' || finished_at || ' ' || layers FROM pitwright_runs"),
        "1 2026-03-01T10:20:30.500Z affected_lots,alternative_bores,alternative_pits,alternatives,bore_conflicts,bore_or_trench,bore_programme,cost_items,long_sections,proposed_bores,proposed_pits,route_blockers,test_holes"
    );
}

#[test]
fn the_same_plan_gives_the_same_rows_in_the_same_order() {
    let (a, b) = (Site::new(), Site::new());
    for site in [&a, &b] {
        site.write(&plan_tables(&synthetic::plan(20, 3)), false)
            .unwrap();
    }
    let owned = |s: &Site| {
        let mut all = crate::dump::whole(&s.file);
        all.retain(|t, _| crate::dump::OWNED.contains(&t.as_str()));
        all
    };
    assert_eq!(owned(&a).len(), 14);
    assert_eq!(owned(&a), owned(&b));
}
