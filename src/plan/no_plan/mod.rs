//! Why a route has no plan, and what would give it one.
//!
//! 1. `reach`: pits and drives that are lawful at some level.
//! 2. `islands`: how far they lead along the route; what lies between is a gap. `closed`: where no pit can stand.
//!    `hopeless`: so a system with a gap need not be searched.
//! 3. `closers`: the obstacle that closes a gap, or leaves no levels.
//! 4. `case`: the route with one thing changed, solved again.
//! 5. `remedies`: the least change of each kind; `groups`: the fewest of many things.
//! 6. `budget`: how much all that may cost. `explain`: all of it for a whole site.

mod budget;
mod case;
mod closed;
mod closers;
mod explain;
mod groups;
mod hopeless;
mod islands;
mod reach;
mod remedies;

pub use explain::explain;
pub use hopeless::is_hopeless;
