//! What the command says, refuses and returns: the binary run as people and programs run it.

mod access;
mod alternatives;
mod check;
mod explain;
mod export;
#[allow(dead_code)]
#[path = "../read/fixture.rs"]
mod fixture;
mod guides;
mod init;
mod inspect;
mod job;
mod joins;
mod no_plan;
mod place;
mod plan;
mod register;
mod report;
mod rules;
mod usage;
mod what_if;
