//! Who gets to a pit: a digging machine, people with the rig only, or nobody.
//!
//! Somebody who needs a width `w` walks on the **free ground**: everything but buildings, keepouts and retained trunks, each
//! grown by `w/2`. The pit must lie in a part of it that some street touches. Fences and lots stop nobody.
//!
//! Nothing is grown here and no polygons are joined. Instead:
//!
//! 1. `walls`: obstacles are taken apart into straight edges and trunks (`piece`, `pair`).
//! 2. `gaps`: wherever two of these are nearer than the width, a line is drawn across the gap, from nearest point to nearest
//!    point. Such lines and the edges together part exactly what the grown obstacles part (the reason is given there). So
//!    arcs need no approximation, and whether a gap is wide enough is decided by a distance.
//! 3. `fences` leaves out what cannot shut anything off; in `parts` the rest become fixed edges of a triangulation, and
//!    triangles joined over free edges are one part.
//! 4. `free`: a part is reached if a stretch of street that is itself free ground lies in it.

mod fences;
mod free;
mod gaps;
mod pair;
mod parts;
mod piece;
mod walls;
mod who;

pub use who::Access;
