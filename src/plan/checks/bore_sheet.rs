//! The check sheet of one bore: every number, beside what is asked of it.

use super::{
    bore::{
        BoreFacts, error_mm, grade_left, ground_lost, heave, predicted, settlement, thrust,
        under_roots,
    },
    flow_sheet::flow_checks,
    reason::{Check, NotWorked},
    strings::{capacity, strings},
};
use crate::{
    job::{Job, Soil},
    mechanics::{
        Working,
        earthworks::bore_spoil,
        jacking::pilot_tip,
        programme::{Against, break_even, drive_days},
        setting_out::lesser_of_share_and_limit,
        settlement::{damage, least_cover},
        trees::ROOTS_WITHIN_M,
    },
};

/// Every check of a bore, in the order of the work.
pub fn bore_checks(job: &Job, bore: &BoreFacts) -> Vec<Check> {
    let mut all = thrust_checks(job, bore);
    all.push(Check::new("thrust", tip(job)));
    all.push(pipe_bears(job, bore));
    all.extend(line_and_level(job, bore));
    all.extend(ground_checks(job, bore));
    all.push(Check::new("trees", under_roots(bore)).judged(|w| {
        let words = if w.value() < 0.0 { "LESS deep than" } else { "no less deep than" };
        format!("{words} the rule asks (Arlington County, Virginia); most roots lie within {ROOTS_WITHIN_M} m (NJUG volume 4)")
    }));
    all.extend(flow_checks(job, bore));
    all.extend(money_checks(job, bore));
    all
}

fn thrust_checks(job: &Job, bore: &BoreFacts) -> Vec<Check> {
    match thrust(job, bore) {
        Err(why) => vec![Check::new("thrust", Err(why))],
        Ok(all) => {
            let worked = all.workings.into_iter().map(Ok);
            let out = all.left_out.into_iter().map(|e| Err(NotWorked::from(e)));
            let mut each: Vec<Check> = worked.chain(out).map(|w| Check::new("thrust", w)).collect();
            for (check, end) in each.iter_mut().zip(["least", "expected", "greatest"]) {
                check.verdict = Some(format!("{end} friction {}", of_what(&job.soil)));
            }
            let total: Result<Working, NotWorked> = Ok(all.total);
            let total = Check::new("thrust", total).judged(|w| beside_limits(job, w));
            each.push(total);
            each
        }
    }
}

/// Whose friction the first three workings take.
fn of_what(soil: &Soil) -> String {
    let by_class = soil.friction_low_kpa < soil.friction_high_kpa;
    match soil.class.as_ref().filter(|_| by_class) {
        Some(class) => format!(
            "of soil class {class}, or as the job states it; pitwright rules says which, and from where"
        ),
        None => "of any ground, or as the job states it".to_string(),
    }
}

fn beside_limits(job: &Job, w: &Working) -> String {
    let high = w.term("T_high").map_or(f64::NAN, |t| t.value);
    let limits = [
        (job.rig.thrust_kn, "the rig's thrust"),
        (job.pipe.axial_limit_kn, "the pipe's axial limit"),
    ];
    let beside = |(limit, whose): (Option<f64>, &str)| {
        let limit = limit?;
        let words = if high <= limit { "within" } else { "ABOVE" };
        Some(format!(
            "the greatest, {high:.0} kN, is {words} {whose}, {limit:.0} kN"
        ))
    };
    let said: Vec<String> = limits.into_iter().filter_map(beside).collect();
    if said.is_empty() {
        "no limit is set: rig.thrust_kn, pipe.axial_limit_kn".to_string()
    } else {
        said.join("; ")
    }
}

fn tip(job: &Job) -> Result<Working, NotWorked> {
    let cone = job.soil.cone_mpa;
    let cone = cone.ok_or(NotWorked::NotSet("the pilot's tip: set soil.cone_mpa"))?;
    Ok(pilot_tip(job.rig.pilot_mm, cone)?)
}

fn pipe_bears(job: &Job, bore: &BoreFacts) -> Check {
    let high = thrust(job, bore).map(|t| t.total_kn.high);
    Check::new("thrust", capacity(job, bore)).judged(|w| match &high {
        Err(_) => "the thrust is not worked out".to_string(),
        Ok(high) => {
            let words = if *high <= w.value() {
                "within"
            } else {
                "ABOVE"
            };
            format!("the greatest thrust of any model, {high:.0} kN, is {words} that")
        }
    })
}

fn line_and_level(job: &Job, bore: &BoreFacts) -> Vec<Check> {
    let error = error_mm(job, bore);
    let beside = |w: &Working| {
        let allowed = w.value();
        if error <= allowed {
            return format!("the error at the reception pit, {error:.1} mm, is within that");
        }
        let rig = &job.rig;
        let cure = if rig.setting_out_mm > allowed {
            format!("setting out alone errs by {:.1} mm", rig.setting_out_mm)
        } else {
            let to_m = rig.accuracy_at_m * allowed / rig.line_accuracy_mm;
            format!("drives to {to_m:.1} m would keep within it")
        };
        format!("the error at the reception pit, {error:.1} mm, is MORE than that; {cure}")
    };
    let grade = |w: &Working| {
        let lost = w.term("e_S").map_or(0.0, |t| t.value);
        if bore.grade <= lost {
            let cure = bore.grade * bore.length_m / 2.0 * 1000.0;
            format!(
                "grade {:.5}: water may stand after the errors; a grade above {lost:.5} or an error below {cure:.1} mm would cure it",
                bore.grade
            )
        } else if bore.grade < w.value() {
            format!(
                "grade {:.5}: it falls after the errors, but may lie flatter than the least grade",
                bore.grade
            )
        } else {
            format!(
                "grade {:.5}: the least grade is kept after the errors",
                bore.grade
            )
        }
    };
    vec![
        Check::new("line and level", predicted(job, bore)),
        Check::new(
            "line and level",
            lesser_of_share_and_limit(f64::from(bore.dn_mm)),
        )
        .judged(beside),
        Check::new("line and level", grade_left(job, bore)).judged(grade),
    ]
}

fn ground_checks(job: &Job, bore: &BoreFacts) -> Vec<Check> {
    let fares = |w: &Working| {
        let s = w.term("s_max").map_or(f64::NAN, |t| t.value);
        let damage = damage(s, w.value()).word();
        format!(
            "damage to a building right above, by Rankin's limits of both: {damage} (from memory)"
        )
    };
    let covered = |w: &Working| {
        let least = bore.min_cover_m;
        let words = if least >= w.value() {
            "no less"
        } else {
            "LESS"
        };
        format!("least cover of the bore, {least:.2} m, is {words}")
    };
    vec![
        Check::new("ground", ground_lost(job, &bore.bored())),
        Check::new("ground", settlement(job, bore)).judged(fares),
        Check::new("ground", heave(job, bore)),
        Check::new("ground", least_cover(job.rig.pilot_mm)).judged(covered),
    ]
}

fn money_checks(job: &Job, bore: &BoreFacts) -> Vec<Check> {
    let (rig, costs) = (&job.rig, &job.costs);
    let days = drive_days(rig.setup_days, bore.length_m, rig.metres_per_day);
    let per_m = costs.bore_per_m + costs.crew_day / rig.metres_per_day;
    let against = Against {
        fixed: (bore.cost - per_m * bore.length_m).max(0.0),
        bore_per_m: per_m,
        trench_per_m: bore.trench_cost / bore.length_m,
    };
    let even = match break_even(against) {
        Ok(Some(w)) => Ok(w),
        Ok(None) => Err(NotWorked::Nothing(
            "a metre of bore costs no less than one of trench at these rates: never cheaper",
        )),
        Err(e) => Err(e.into()),
    };
    let spoil = bore_spoil(bore.bore_mm, bore.length_m);
    let made = strings(job, bore);
    vec![
        Check::new("materials and spoil", made.pipe),
        Check::new("materials and spoil", made.casing),
        Check::new("materials and spoil", made.pilot),
        Check::new("materials and spoil", spoil),
        Check::new("days and cost", days),
        Check::new("days and cost", even)
            .judged(|_| "pits and manholes left out; the rates are the job's".to_string()),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::checks::example::{BORE, job};

    #[test]
    fn with_every_key_set_every_check_is_worked_out() {
        let all = job(
            "[soil]\nclass = \"wet-sand\"\nunit_weight_kn_m3 = 19\nfriction_deg = 32\npipe_mu = 0.4\ncone_mpa = 5\n\
             [pipe]\nstrength_mpa = 60\nstrength_safety = 2.5\njoint_od_mm = 160\njoint_id_mm = 150\n\
             [setting_out]\ncentring_mm = 2\npointing_s = 5\nbase_m = 60\nmarks_mm = 1\ngradient_c_m = 1\n",
        );
        let checks = bore_checks(&all, &BORE);
        assert!(checks.iter().all(|c| c.worked.is_ok()), "{checks:?}");
        let worked = checks.iter().filter_map(|c| c.worked.as_ref().ok());
        worked.for_each(crate::mechanics::calculator::agrees);
    }

    #[test]
    fn a_bore_flatter_than_its_errors_is_found() {
        let flat = BoreFacts {
            grade: 0.0007,
            ..BORE
        };
        let said: Vec<String> = bore_checks(&job(""), &flat)
            .into_iter()
            .filter_map(|c| c.verdict)
            .collect();
        let cure = "an error below 10.5 mm would cure it";
        assert!(said.iter().any(|v| v.ends_with(cure)), "{said:?}");
    }
}
