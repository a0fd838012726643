//! What reading makes of small sites, each built here for one fact.

mod corpus;
mod crs;
mod fixture;
mod geometry;
mod ground;
mod inspect;
mod intact;
mod records;
mod roles;
mod values;
