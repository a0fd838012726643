//! The conditional rule of separation on cases that its source speaks of, for a bore and a main whose places are exact.

use crate::table::{Row, rows};
use geo::Coord;
use pitwright::{
    clearance::{
        Accuracy, Clause, FROM_UPSTREAM, ServicePart, Services, Verdict, Yardstick, cut, drive_line,
    },
    ground::Ground,
    job::{Job, JobFile, RuleSet},
    site::{FeatureRef, Kind, Polyline, Quality, Service, ZMeans},
};

const FOOT_M: f64 = 0.3048;
const BORE_M: f64 = 0.2;
const MAIN_M: f64 = 0.3;

/// The rule set with every number that it asks for, and no error of location.
fn job() -> Job {
    let us = RuleSet::named("us-states").expect("built in");
    let scheme = RuleSet::scheme("asce38-22").expect("built in");
    let asked = [us, scheme].into_iter().flat_map(|set| set.entries);
    let asked = asked.filter(|(_, e)| e.asked.is_some());
    let stated: String = asked.map(|(path, _)| format!("{path} = 0.0\n")).collect();
    let text = format!("rules.base = \"us-states\"\n{stated}");
    JobFile::parse(&text, "job.toml").expect("states all").job
}

fn main_at(row: &Row, job: &Job) -> ServicePart {
    let level = 10.0 + row.number("above_in") * FOOT_M / 12.0 + (BORE_M + MAIN_M) / 2.0;
    let points = if row.text("plan_ft") == "crossing" {
        vec![Coord { x: 10.0, y: -1.0 }, Coord { x: 10.0, y: 1.0 }]
    } else {
        let y = row.number("plan_ft") * FOOT_M + (BORE_M + MAIN_M) / 2.0;
        vec![Coord { x: 9.0, y }, Coord { x: 11.0, y }]
    };
    let service = Service {
        at: FeatureRef {
            layer: "mains".into(),
            fid: 1,
        },
        parts: vec![Polyline {
            levels: Some(vec![level; points.len()]),
            points,
        }],
        kind: Kind::Water,
        diameter_mm: Some(MAIN_M * 1000.0),
        cover_m: None,
        quality: Quality::A,
        owner: None,
        material: None,
        abandoned: false,
        z_means: ZMeans::Centre,
    };
    cut(0, &service, job, &Ground::Lines(vec![])).remove(0)
}

#[test]
fn tolono_il() {
    let job = job();
    let y = Yardstick {
        bore_radius_m: BORE_M / 2.0,
        accuracy: Accuracy {
            setting_out_m: 0.0,
            per_m: 0.0,
        },
        watch_distance_m: 30.0,
        watch_margin_m: 0.0,
        separations: true,
        nothing_beyond: [(Kind::Water, 6.0)].into(),
    };
    let (us, ds) = (Coord { x: 0.0, y: 0.0 }, Coord { x: 20.0, y: 0.0 });
    let drive = drive_line(us, ds, [10.0, 10.0], FROM_UPSTREAM);
    for row in rows("tolono_il_cases.csv") {
        let part = main_at(&row, &job);
        let services = Services::new(vec![part.clone()]);
        let near = y.near(&services, us, ds, 30.0, |_| false);
        let judged = y.rows(&drive, &part, &near[0], FROM_UPSTREAM)[0].judged;
        let allowed = judged.verdict != Verdict::Clash;
        assert_eq!(
            allowed,
            row.text("allowed") == "yes",
            "{}: {judged:?}",
            row.text("place")
        );
        // Where they cross, the distance asked of a crossing is the same and is named first.
        let crossing = row.text("plan_ft") == "crossing";
        let separation = judged.clause != Clause::Distance;
        assert!(allowed || crossing || separation, "{judged:?}");
    }
}

#[test]
fn the_rule_set_asks_for_numbers_and_for_nothing_else() {
    let us = RuleSet::named("us-states").expect("built in");
    let asked = us.entries.values().filter(|e| e.asked.is_some());
    assert!(asked.clone().count() >= 5);
    assert!(asked.clone().all(|e| e.value.is_none() && e.unit == "m"));
}
