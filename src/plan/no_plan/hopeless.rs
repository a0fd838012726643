//! Systems that need no search.

use super::{budget::Budget, islands::Islands};
use crate::plan::system::System;

/// Whether some route of a system has a gap that is there whatever the levels, so that the system has no plan.
///
/// Looking costs next to nothing beside a search that finds nothing. Where it would cost more (a wide corridor), it is left
/// to the search: the answer is no then, as it is where there is no gap.
pub fn is_hopeless(system: &mut System) -> bool {
    let mut budget = Budget::small();
    system.members.iter_mut().any(|m| {
        // With a low head no position beside the route might be left at the upstream end: that is a matter of levels.
        let head_m = m.cx.upstream.invert_m.take();
        let leads = Islands::new(&m.cx).and_then(|mut i| i.lead_through(&mut budget));
        m.cx.upstream.invert_m = head_m;
        leads == Ok(false)
    })
}
