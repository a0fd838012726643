//! Numbers that a rule set asks for, because its sources give none.

use super::{error::JobFault, inforce::InForce};

/// Every number that the rule set asks for is stated.
///
/// # Errors
/// All that are missing, with why.
pub(super) fn check(v: &InForce) -> Result<(), JobFault> {
    let asked = v.rule_set.entries.iter();
    let mut missing: Vec<_> = asked
        .filter_map(|(path, entry)| Some((path, entry.asked.as_ref()?)))
        .filter(|(path, _)| !v.settings.contains_key(*path))
        .collect();
    missing.sort_by_cached_key(|(path, _)| super::keys::order(path));
    if missing.is_empty() {
        return Ok(());
    }
    let mut why: Vec<String> = missing.iter().map(|(_, why)| (*why).clone()).collect();
    why.dedup();
    let keys = missing.iter().map(|(path, _)| path.to_string()).collect();
    Err(JobFault::Asked { keys, why })
}
