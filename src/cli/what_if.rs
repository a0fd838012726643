//! `plan --what-if`: the same site planned with each value of one setting; nothing is written.

use super::{
    document,
    exit::{Exit, Failure},
    joins, pipes, plan,
    progress::Progress,
    request::JobRequest,
    say,
    stages::Stages,
};
use crate::{
    cli::args::{Plan as Args, WhatIf},
    job::{Job, JobFault, JobFile, Varied},
    plan::{self as planner, Plan},
    read::Reading,
};

/// A plan with one value.
pub struct Tried {
    /// The value as typed.
    pub value: String,
    /// What came of it.
    pub plan: Plan,
}

impl Tried {
    /// Routes that have a plan.
    pub fn planned(&self) -> usize {
        self.plan.routes.iter().filter(|r| r.planned).count()
    }

    /// A cost over all routes that have a plan; none where no route has one.
    pub fn sum(&self, of: impl Fn(&planner::RouteResult) -> Option<f64>) -> Option<f64> {
        self.plan.routes.iter().filter_map(of).reduce(|a, b| a + b)
    }

    /// The longest bore; none where no route has a plan.
    pub fn longest_bore_m(&self) -> Option<f64> {
        let all = self.plan.routes.iter().filter_map(|r| r.longest_bore_m);
        all.reduce(f64::max)
    }
}

/// Plans a site with every value and says what comes of each. Exit 1 where some route has no plan with some value.
pub fn what_if(args: &Args, asked: &WhatIf) -> Result<Exit, Failure> {
    let talk = &args.site.talk;
    let request = JobRequest::of_site(&args.site)?;
    let jobs = jobs(&request, asked)?;
    let stages = Stages::new(Progress::new(talk));
    let settings: Vec<&Job> = jobs.iter().map(|j| &j.job).collect();
    let reading = plan::read(args, &request, &settings, &stages)?;
    for job in &jobs {
        pipes::check(&reading, job)?;
        joins::check(&reading, job)?;
    }
    let values = asked.values.iter().zip(&jobs);
    let tried: Vec<Tried> = values
        .map(|(value, file)| Tried {
            value: value.clone(),
            plan: planner::plan(&reading.site, &file.job, &stages),
        })
        .collect();
    stages.end();
    let warnings = warnings(&request, &reading, asked.what);
    if talk.json {
        let seconds = stages.seconds();
        say::document(&document::what_if(asked.what, &tried, &warnings, seconds));
    } else if !talk.quiet {
        let job = &request.file;
        say::text(&say::what_if(asked.what, &tried, job, &warnings));
    }
    let all = tried.iter().all(|t| t.planned() == t.plan.routes.len());
    Ok(if all { Exit::Done } else { Exit::Attention })
}

/// The job of every value: all are known to be possible before any is planned.
fn jobs(request: &JobRequest, asked: &WhatIf) -> Result<Vec<JobFile>, Failure> {
    let job = |value: &String| {
        let typed = format!("--what-if {}={value}", asked.what);
        let varied = request.file.varied(asked.what, value);
        let file = varied.map_err(|e| match *e.fault {
            JobFault::BadValue { .. } => failure(Exit::Usage, request, &typed, &e.fault),
            _ => failure(Exit::Input, request, &typed, &e.fault),
        })?;
        let unfit = (asked.what == Varied::Dn)
            .then(|| pipes::unfit(&file, file.job.pipe.dn_mm))
            .flatten();
        match unfit {
            Some(why) => Err(failure(Exit::Input, request, &typed, &why)),
            None => Ok(file),
        }
    };
    asked.values.iter().map(job).collect()
}

fn failure(exit: Exit, request: &JobRequest, typed: &str, why: &dyn std::fmt::Display) -> Failure {
    let file = request.path.clone().filter(|_| exit == Exit::Input);
    Failure {
        exit,
        message: format!("{typed}: {why}"),
        file,
        layer: None,
        fid: None,
        column: None,
    }
}

/// What concerns every value: the input, and what the value does not change.
fn warnings(request: &JobRequest, reading: &Reading, what: Varied) -> Vec<String> {
    let mut out = plan::warnings_of_input(&request.file, reading);
    out.extend(request.file.stays(what));
    let own = reading.site.routes.iter().filter(|r| r.dn_mm.is_some());
    let own: Vec<&str> = own.map(|r| r.route_id.as_str()).collect();
    if what == Varied::Dn && !own.is_empty() {
        out.push(format!(
            "these routes state their own dn_mm and keep it: {}",
            own.join(", ")
        ));
    }
    out
}
