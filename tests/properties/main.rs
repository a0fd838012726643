//! What must hold for any input.

mod access;
mod alternatives;
mod chance;
mod changes;
mod check;
mod compare;
mod exhaustive;
mod follows;
mod no_plan;
mod numbers;
mod plain_search;
mod plain_tree;
mod small_site;
