//! What a caller wants read.

use crate::job::{LayerSource, Layers};
use std::path::Path;

/// What the reading is for.
#[derive(Debug, Clone, PartialEq)]
pub enum Need {
    /// A plan: `routes` and a source of ground levels must be there.
    Plan,
    /// A check: these bores must be there; routes may be missing.
    Check(LayerSource),
    /// Proposing routes: the whole site is read, and routes may be missing.
    Routing,
}

/// How far reading has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Progress {
    /// What is being read: a layer's name.
    pub stage: String,
    /// Layers read.
    pub done: u64,
    /// Layers to read.
    pub total: u64,
}

/// What a caller wants read.
#[derive(Debug, Clone)]
pub struct Request<'a> {
    /// Which layer plays which role.
    pub layers: &'a Layers,
    /// Folder that a `file` in `layers` is relative to: the job file's. The site's folder where there is no job file.
    pub base: Option<&'a Path>,
    /// `[job] crs`.
    pub crs: Option<&'a str>,
    /// How far around the routes (or bores) things are read (m). Ground points are always read whole.
    pub around_m: f64,
    /// Buildings, keepouts and trees are read whole, however far away.
    pub all_obstacles: bool,
    /// What for.
    pub need: Need,
}
