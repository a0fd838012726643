//! The styles that go with the layers: they fit them, and nobody else's is touched.

use crate::dump::{open, texts};
use crate::site::{Site, crs, run};
use crate::synthetic;
use pitwright::check::{Bores, Checked, Report};
use pitwright::plan::Plan;
use pitwright::site::{Records, Site as Around};
use pitwright::write::{STYLES, Style, Target, check_tables, layers, plan_tables};
use std::collections::{BTreeMap, BTreeSet};

/// What stands between two pieces of text, every time.
fn between<'a>(text: &'a str, from: &str, to: &str) -> Vec<&'a str> {
    let parts = text.split(from).skip(1);
    parts.map(|p| p.split(to).next().unwrap()).collect()
}

/// Columns that the two files of a style name.
fn columns_of(style: &Style) -> BTreeSet<String> {
    let mut columns: BTreeSet<String> = BTreeSet::new();
    let properties = between(style.sld, "<ogc:PropertyName>", "</ogc:PropertyName>");
    columns.extend(properties.into_iter().map(String::from));
    columns.extend(
        between(style.qml, " attr=\"", "\"")
            .into_iter()
            .map(String::from),
    );
    for expression in between(style.qml, "fieldName=\"", "\"") {
        let names = expression.split("&quot;").skip(1).step_by(2);
        columns.extend(names.map(String::from));
    }
    columns
}

/// Name and columns of every layer with a geometry that a command writes.
fn drawn() -> BTreeMap<&'static str, Vec<&'static str>> {
    let plan = Plan::default();
    let (checked, bores) = (Checked::default(), Bores::default());
    let (site, records) = (Around::default(), Records::default());
    let report = Report {
        checked: &checked,
        bores: &bores,
        site: &site,
        records: &records,
    };
    let mut tables = plan_tables(&plan);
    tables.extend(check_tables(&report, &[]));
    let drawn = tables.iter().filter(|t| t.geometry.is_some());
    let columns = drawn.map(|t| (t.name, t.columns.iter().map(|c| c.0).collect()));
    columns.collect()
}

#[test]
fn every_layer_that_can_be_drawn_has_a_style_and_no_other() {
    let drawn: BTreeSet<&str> = drawn().into_keys().collect();
    let styled: BTreeSet<&str> = STYLES.iter().map(|s| s.layer).collect();
    assert_eq!(drawn, styled);
}

#[test]
fn every_column_that_a_style_names_is_in_its_layer() {
    for (layer, columns) in drawn() {
        let style = STYLES.iter().find(|s| s.layer == layer).unwrap();
        let named = columns_of(style);
        assert!(!named.is_empty(), "{layer}");
        for column in named {
            assert!(
                columns.contains(&column.as_str()),
                "{layer}: no column '{column}'"
            );
        }
        assert_eq!(between(style.sld, "<Name>", "</Name>")[0], layer);
    }
}

/// Words of a column that a style tells apart.
fn told_apart(layer: &str) -> Vec<&'static str> {
    match layer {
        "proposed_pits" => vec!["launch", "reception", "both"],
        "bore_conflicts" => vec!["clash", "prove", "watch", "clear"],
        "affected_lots" => vec!["pit", "bore-under"],
        "route_blockers" => vec!["gap", "levels"],
        "conflict_changes" => vec!["new", "worse", "better", "gone"],
        _ => vec![],
    }
}

#[test]
fn every_word_has_its_own_drawing_and_no_rule_is_for_all_else() {
    for style in &STYLES {
        assert!(!style.sld.contains("ElseFilter"), "{}", style.layer);
        let words = told_apart(style.layer);
        let in_sld: BTreeSet<_> = between(
            style.sld,
            "<ogc:PropertyIsEqualTo>",
            "</ogc:PropertyIsEqualTo>",
        )
        .into_iter()
        .flat_map(|e| between(e, "<ogc:Literal>", "</ogc:Literal>"))
        .collect();
        assert_eq!(in_sld, words.iter().copied().collect(), "{}", style.layer);
        let categories = between(style.qml, "<category ", "/>").into_iter();
        let in_qml: BTreeSet<_> = categories
            .flat_map(|c| between(c, "value=\"", "\""))
            .collect();
        let mut with_all_else: BTreeSet<_> = words.iter().copied().collect();
        if !words.is_empty() {
            with_all_else.insert("");
        }
        assert_eq!(in_qml, with_all_else, "{}", style.layer);
    }
}

#[test]
fn styles_are_stored_as_viewers_look_for_them_and_once() {
    let site = Site::new();
    for replace in [false, true] {
        site.write(&plan_tables(&synthetic::plan(3, 1)), replace)
            .unwrap();
        let c = open(&site.file);
        let sql = "SELECT f_table_name || f_table_catalog || f_table_schema || f_geometry_column || useAsDefault
                   FROM layer_styles ORDER BY id";
        let expected: Vec<String> = plan_tables(&Plan::default())
            .iter()
            .filter(|t| t.geometry.is_some())
            .map(|t| format!("{}geom1", t.name))
            .collect();
        assert_eq!(texts(&c, sql), expected);
        for style in STYLES
            .iter()
            .filter(|s| expected.contains(&format!("{}geom1", s.layer)))
        {
            let column = |name: &str| {
                texts(
                    &c,
                    &format!(
                        "SELECT {name} FROM layer_styles WHERE f_table_name = '{}'",
                        style.layer
                    ),
                )
            };
            assert_eq!(column("styleQML"), [style.qml]);
            assert_eq!(column("styleSLD"), [style.sld]);
        }
        let entry =
            "SELECT data_type || srs_id FROM gpkg_contents WHERE table_name = 'layer_styles'";
        assert_eq!(texts(&c, entry), ["attributes0"]);
    }
}

#[test]
fn styles_can_be_left_out() {
    let site = Site::new();
    let target = Target {
        styles: false,
        ..Target::site(&site.file)
    };
    let plan = synthetic::plan(3, 1);
    layers(&target, &crs(), &plan_tables(&plan), &run(), false).unwrap();
    let c = open(&site.file);
    assert!(
        texts(
            &c,
            "SELECT name FROM sqlite_master WHERE name = 'layer_styles'"
        )
        .is_empty()
    );
}

#[test]
fn styles_of_others_stay_and_the_default_that_somebody_chose_stays_the_default() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(3, 1)), false)
        .unwrap();
    site.sql(
        "UPDATE layer_styles SET useAsDefault = 0 WHERE f_table_name = 'proposed_bores';
         INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName, styleQML, useAsDefault, owner)
         VALUES ('', '', 'proposed_bores', 'geom', 'mine', 'q', 1, ''), ('', '', 'services', 'geom', 'mine', 'q', 1, NULL);",
    );
    site.write(&plan_tables(&synthetic::plan(3, 1)), true)
        .unwrap();
    let c = open(&site.file);
    let mine = "SELECT f_table_name || styleQML || useAsDefault FROM layer_styles WHERE styleName = 'mine' ORDER BY id";
    assert_eq!(texts(&c, mine), ["proposed_boresq1", "servicesq1"]);
    let ours = "SELECT '' || useAsDefault FROM layer_styles WHERE owner = 'pitwright' AND f_table_name IN ('proposed_bores', 'proposed_pits') ORDER BY f_table_name";
    assert_eq!(texts(&c, ours), ["0", "1"]);
}

#[test]
fn a_table_of_styles_that_is_not_like_ours_stays_as_it_is() {
    let site = Site::new();
    site.sql(
        "CREATE TABLE layer_styles (id INTEGER PRIMARY KEY, f_table_name TEXT, styleQML TEXT);
         INSERT INTO layer_styles (f_table_name, styleQML) VALUES ('proposed_bores', 'a'), ('services', 'b');",
    );
    for replace in [false, true] {
        site.write(&plan_tables(&synthetic::plan(3, 1)), replace)
            .unwrap();
        let c = open(&site.file);
        assert_eq!(
            texts(&c, "SELECT f_table_name || styleQML FROM layer_styles"),
            ["proposed_boresa", "servicesb"]
        );
    }
}
