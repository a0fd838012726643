//! Bore beside open trench: break-even, days, delay, carbon of a drive, run, route or lot.

use super::reason::{Check, NotWorked};
use crate::{
    job::Job,
    mechanics::{
        Working,
        earthworks::{loose_volume, truck_loads},
        programme::{
            Against, DIESEL, Fuel, Vehicles, YARD_DAYS, break_even, diesel_carbon, fuel,
            traffic_delay, yard_days,
        },
    },
};

/// What one way of laying the pipe takes.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Way {
    /// Cost, manholes left out: they are the same either way.
    pub cost: f64,
    /// Crew days.
    pub days: f64,
    /// Of them in streets.
    pub street_days: f64,
    /// Lots that are dug on.
    pub yards: u32,
    /// Spoil (m3 in the ground).
    pub spoil_m3: f64,
}

/// What a comparison's row says.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Compared {
    /// Length of the line (m).
    pub length_m: f64,
    /// Cost of the bore whatever its length.
    pub fixed_cost: f64,
    /// Cost of a metre of bore.
    pub bore_per_m: f64,
    /// Bored.
    pub bore: Way,
    /// In open trench.
    pub trench: Way,
}

/// Figures of a comparison's row; none where they were not worked out.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct CompareFigures {
    /// Length from which the bore is cheaper (m); none where it never is.
    pub break_even_m: Option<f64>,
    /// Days of work in yards, and of putting them back: bored, in trench.
    pub yard_days: [Option<f64>; 2],
    /// Cost of delay likewise.
    pub traffic_cost: [Option<f64>; 2],
    /// Carbon likewise (kg CO2e).
    pub carbon_kg: [Option<f64>; 2],
}

/// The figures of a comparison.
pub fn compare_figures(job: &Job, c: &Compared) -> CompareFigures {
    fn value<E>(w: Result<Working, E>) -> Option<f64> {
        w.ok().map(|w| w.value())
    }
    CompareFigures {
        break_even_m: value(even(c)),
        yard_days: both(|trench| value(yards(job, c, trench))),
        traffic_cost: both(|trench| value(delay(job, c.way(trench)))),
        carbon_kg: both(|trench| {
            let litres = litres(job, c, trench).ok()?.value();
            value(diesel_carbon(litres, burnt(job)))
        }),
    }
}

fn both<T>(of: impl Fn(bool) -> T) -> [T; 2] {
    [false, true].map(of)
}

impl Compared {
    fn way(&self, trench: bool) -> &Way {
        if trench { &self.trench } else { &self.bore }
    }
}

/// Every check of a comparison.
pub fn compare_checks(job: &Job, c: &Compared) -> Vec<Check> {
    let beside = |w: &Working| {
        let words = if c.length_m >= w.value() {
            "is no shorter"
        } else {
            "is SHORTER"
        };
        format!(
            "this one, {:.1} m, {words}; manholes left out, the rates are the job's (placeholders unless the job states them)",
            c.length_m
        )
    };
    let range = |_: &Working| {
        format!(
            "common practice: {} to {} days in a yard either way, then about two weeks of putting back one that was dug",
            YARD_DAYS.low, YARD_DAYS.high
        )
    };
    let mut all = vec![Check::new("cost", even(c)).judged(beside)];
    for trench in [false, true] {
        let subject = if trench { "in open trench" } else { "bored" };
        all.push(Check::new(subject, yards(job, c, trench)).judged(range));
        all.push(Check::new(subject, delay(job, c.way(trench))));
        let litres = litres(job, c, trench);
        let carbon = litres
            .clone()
            .and_then(|l| Ok(diesel_carbon(l.value(), burnt(job))?));
        all.push(
            Check::new(subject, litres).judged(|_| match loads(job, c.way(trench)) {
                Ok(_) => "all spoil carted away; the rates are the job's".to_string(),
                Err(why) => format!("carting spoil left out ({why}); the rates are the job's"),
            }),
        );
        all.push(Check::new(subject, carbon));
    }
    all
}

fn even(c: &Compared) -> Result<Working, NotWorked> {
    let against = Against {
        fixed: c.fixed_cost.max(0.0),
        bore_per_m: c.bore_per_m,
        trench_per_m: c.trench.cost / c.length_m,
    };
    break_even(against)?.ok_or(NotWorked::Nothing(
        "a metre of bore costs no less than one of trench at these rates: never cheaper",
    ))
}

fn yards(job: &Job, c: &Compared, trench: bool) -> Result<Working, NotWorked> {
    let p = &job.programme;
    // A yard with a pit is filled by the pit crew; only a trench through it takes weeks to put back.
    let back = if trench {
        p.restoring_days
    } else {
        p.close_pit_days
    };
    Ok(yard_days(c.way(trench).yards, p.yard_days, back)?)
}

fn delay(job: &Job, way: &Way) -> Result<Working, NotWorked> {
    let t = job.traffic.ok_or(NotWorked::NotSet(
        "traffic delay: set traffic.vehicles_per_day, traffic.delay_h and traffic.cost_per_hour",
    ))?;
    let all = Vehicles {
        a_day: t.vehicles_per_day,
        delay_h: t.delay_h,
        rate: t.cost_per_hour,
    };
    Ok(traffic_delay(way.street_days, &[all])?)
}

fn loads(job: &Job, way: &Way) -> Result<f64, NotWorked> {
    let stated = job.soil.swell_percent.zip(job.pits.truck_m3);
    let (swell, truck) = stated.ok_or(NotWorked::NotSet(
        "set soil.swell_percent and pits.truck_m3",
    ))?;
    let loose = loose_volume(way.spoil_m3, swell)?.value();
    Ok(truck_loads(loose, truck)?.value())
}

fn litres(job: &Job, c: &Compared, trench: bool) -> Result<Working, NotWorked> {
    let (carbon, way) = (&job.carbon, c.way(trench));
    let a_day = if trench {
        carbon.trench_l_per_day
    } else {
        carbon.bore_l_per_day
    };
    let loads = loads(job, way).unwrap_or(0.0);
    Ok(fuel(way.days, a_day, loads, carbon.truck_l_per_load)?)
}

fn burnt(job: &Job) -> &'static Fuel {
    match job.carbon.fuel.as_str() {
        "mineral" => &DIESEL[1],
        "gas-oil" => &DIESEL[2],
        _ => &DIESEL[0],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::checks::example::job;

    const ROW: Compared = Compared {
        length_m: 40.0,
        fixed_cost: 14_000.0,
        bore_per_m: 260.0,
        bore: Way {
            cost: 24_400.0,
            days: 3.0,
            street_days: 3.0,
            yards: 1,
            spoil_m3: 12.0,
        },
        trench: Way {
            cost: 24_800.0,
            days: 4.0,
            street_days: 1.0,
            yards: 2,
            spoil_m3: 80.0,
        },
    };

    #[test]
    fn every_figure_follows_from_the_row_and_the_job() {
        let all = job(
            "[traffic]\nvehicles_per_day = 200\ndelay_h = 0.05\ncost_per_hour = 25\n[soil]\nswell_percent = 25\n[pits]\ntruck_m3 = 6\n",
        );
        let f = compare_figures(&all, &ROW);
        assert!((f.break_even_m.expect("worked") - 38.89).abs() < 5e-3);
        assert_eq!(f.traffic_cost, [Some(750.0), Some(250.0)]);
        assert_eq!(f.yard_days, [Some(4.0), Some(27.0)]);
        // 3 · 40 + 3 loads · 8, and 4 · 80 + 17 loads · 8 litres at 3.19747 kg.
        let kg = f.carbon_kg.map(|kg| kg.expect("worked") / 3.19747);
        assert!(
            (kg[0] - 144.0).abs() < 1e-9 && (kg[1] - 456.0).abs() < 1e-9,
            "{kg:?}"
        );
        let checks = compare_checks(&all, &ROW);
        assert!(checks.iter().all(|c| c.worked.is_ok()), "{checks:?}");
        let worked = checks.iter().filter_map(|c| c.worked.as_ref().ok());
        worked.for_each(crate::mechanics::calculator::agrees);
    }

    #[test]
    fn what_is_not_set_is_left_out_and_said() {
        let f = compare_figures(&job(""), &ROW);
        assert_eq!(f.traffic_cost, [None, None]);
        let said = compare_checks(&job(""), &ROW)
            .into_iter()
            .filter_map(|c| c.verdict);
        assert_eq!(
            said.filter(|v| v.starts_with("carting spoil left out"))
                .count(),
            2
        );
        let dear = Compared {
            bore_per_m: 700.0,
            ..ROW
        };
        assert_eq!(compare_figures(&job(""), &dear).break_even_m, None);
    }
}
