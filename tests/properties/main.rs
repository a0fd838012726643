//! What must hold for any input.

mod access;
mod alternatives;
mod chance;
mod changes;
mod check;
mod compare;
mod exhaustive;
mod follows;
mod long_route;
mod no_plan;
mod numbers;
mod plain_levels;
mod plain_search;
mod plain_tree;
mod settings;
mod small_site;
mod threads;
