//! What the command says, refuses and returns: the binary run as people and programs run it.

mod alternatives;
mod init;
mod inspect;
mod job;
mod place;
mod plan;
mod rules;
mod usage;
mod what_if;
