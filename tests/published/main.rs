//! What the sources print is what the rule sets hold. One file of `data/` a source; its head says which and how near.

mod limits;
mod separation;
mod table;
mod values;
