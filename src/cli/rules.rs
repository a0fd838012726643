//! `rules`: every rule value in force and where it comes from.

use super::{
    args::Rules,
    document,
    exit::{Exit, Failure},
    request::JobRequest,
    say,
};
use crate::job::{InForce, JobFault, JobFile};

/// Prints the rules.
pub fn rules(args: &Rules) -> Result<Exit, Failure> {
    let in_force = match (&args.rule_set, &args.job) {
        (Some(name), _) => InForce::of_rule_set(name).map_err(|fault| unknown(name, &fault))?,
        (None, Some(path)) => JobRequest::read(path)?.file.in_force,
        (None, None) => JobFile::default().in_force,
    };
    if args.json {
        say::document(&document::rules(&in_force));
    } else {
        say::text(&say::rules(&in_force));
    }
    Ok(Exit::Done)
}

fn unknown(name: &str, fault: &JobFault) -> Failure {
    let message = match fault {
        JobFault::UnknownRuleSet { known, .. } => {
            format!("--rule-set {name}: is no rule set; known are: {known}")
        }
        fault => format!("--rule-set {name}: {fault}"),
    };
    Failure {
        exit: Exit::Usage,
        message,
        file: None,
        layer: None,
        fid: None,
        column: None,
    }
}
