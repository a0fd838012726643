//! The search for the plan of least cost on the grid of stations, sideways positions and levels.
//!
//! The method, each step in a file of its own:
//! 1. `grid`: where manholes and through pits may stand, and at which levels; `strip`: what lies beside the route there.
//! 2. `pricing`: what a pit or a drive costs, and where no rule allows it.
//! 3. `runs`: every straight run between two manhole positions that may be part of a plan no dearer than the bound, with
//!    what is certain of every pair of stations (`sketch`), what its line is certain to pass (`course`), and pits that no real
//!    one undercuts (`least_pit`, `meeting` for manholes, `least_through` for through pits by level), added up by `levels_free`. `highest`: how high a pipe
//!    can come in anywhere. `strikes`: what the services that a line passes cost at least by level. `middle`: what every pit at a place
//!    has in common; `fan`: how much room launching in directions asks for of which only the range is known.
//!    With a corridor most of the lines between positions are left out before runs are made of them: `bundle`, all lines of two stations
//!    together, with what `every_line` of them is certain to pass; `thin_out`, the bounds of steps 4 and 5 by bundles.
//! 4. `relax`: a lower bound of the cost still to come from every (position, level), by leaving out rules; `sweep`: all levels of a run's
//!    end together, but for what is `closed` by clashes; `look`: one level by itself; `pit_levels`: a position's pit and manhole by all its levels.
//! 5. `squeeze`: the same from upstream, and the ways to drive runs left out that no plan within the bound has; `arrive`: from
//!    upstream for all runs, where none is to be left out yet.
//! 6. `exact`: the exact least cost of every (position, level), from upstream down, looking only at what the
//!    lower bound cannot rule out, in the order of the least it can cost (`ways`); through pits in `inner`,
//!    branches that come in at a junction in `joining`.
//! 7. `tree`: what the routes of a tree may cost beside each other; `learn`: steps 4 to 6 for one route after the other, within
//!    bounds that grow until a plan is found, and what is found of a branch by its level at the junction (`table`).
//! 8. `solve`: all that on coarser grids first, where they are much coarser. Their points are points of the fine grid too, so
//!    their best plan is a plan of the fine grid, and its cost a bound. `solution` reads the plan off the steps.

mod arrive;
mod bands;
mod bundle;
mod closed;
mod course;
mod every_line;
mod exact;
mod fan;
mod grid;
mod highest;
mod inner;
mod joining;
mod label;
mod learn;
mod least_pit;
mod least_through;
mod levels_free;
mod look;
mod meeting;
mod middle;
mod pit_levels;
mod pricing;
mod ranges;
mod relax;
mod runs;
mod sketch;
mod solution;
mod solve;
mod squeeze;
mod strikes;
mod strip;
mod sweep;
mod table;
mod thin_out;
mod tree;
mod ways;

pub use grid::{Coarse, Grid, LevelGrid, NodeId, Position};
pub use pricing::{DirectionId, Drive, PitPrice, Prices, clears_buildings, may_launch};
pub use runs::{ON_CHORD_M, manhole_price};
pub use solution::{Solution, Solved, SolvedDrive, SolvedPit};
pub use solve::{has_plan, solve};
