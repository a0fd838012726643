//! Tables of which half says nothing.

use super::{error::JobFault, inforce::InForce};
use crate::site::{Kind, Quality};

/// A quality level has both limits or neither; a separation is in plan and in level.
///
/// # Errors
/// The table of which half is there.
pub(super) fn check(v: &InForce) -> Result<(), JobFault> {
    for level in Quality::ALL {
        let table = format!("rules.quality.{level}");
        let any = [
            "horizontal_m",
            "vertical_m",
            "horizontal_share",
            "vertical_share",
        ];
        let why = "a quality level needs both horizontal_m and vertical_m (0 where a share of depth alone counts)";
        whole(v, &table, &any, why)?;
    }
    for kind in Kind::ALL {
        let table = format!("rules.separation.{kind}");
        let any = ["horizontal_m", "vertical_m", "service"];
        let why = "a separation needs both horizontal_m and vertical_m";
        whole(v, &table, &any, why)?;
    }
    Ok(())
}

/// Where any of these keys is set, the first two are.
fn whole(v: &InForce, table: &str, keys: &[&str], why: &str) -> Result<(), JobFault> {
    let has = |key: &&str| -> bool { v.get(&format!("{table}.{key}")).is_some() };
    if keys.iter().any(has) && !keys[..2].iter().all(has) {
        return Err(JobFault::Inconsistent {
            key: table.to_string(),
            why: why.to_string(),
        });
    }
    Ok(())
}
