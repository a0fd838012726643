//! Which layer plays which role, as the job names it.

use std::{collections::BTreeMap, path::PathBuf};

/// The parts that input layers play.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Role {
    Routes,
    Streets,
    Lots,
    Buildings,
    Surfaces,
    Fences,
    Trees,
    Services,
    Manholes,
    Keepouts,
    Ground,
    Bores,
}

/// One layer that fills a role: `[layers.ROLE]`, or one of `[[layers.services]]`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LayerSource {
    /// Table, where it is not named like the role.
    pub table: Option<String>,
    /// File, where it is not the site itself; relative to the job file.
    pub file: Option<PathBuf>,
    /// From a column of the interface to the layer's column.
    pub columns: BTreeMap<String, String>,
    /// What the Z of a service is the level of, as typed: `top`, `centre`, `invert`.
    pub z_means: Option<String>,
    /// Unit of Z and of level columns, as typed: `m`, `ft`, `us-ft`.
    pub z_unit: Option<String>,
}

/// All `[layers]` of a job. A role that is not named is filled by the layer of its own name.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Layers {
    /// Several layers may share `services`; every other role has one at most.
    pub by_role: BTreeMap<Role, Vec<LayerSource>>,
}

impl Role {
    /// Every role, in the order of the interface.
    pub const ALL: [Role; 12] = [
        Role::Routes,
        Role::Streets,
        Role::Lots,
        Role::Buildings,
        Role::Surfaces,
        Role::Fences,
        Role::Trees,
        Role::Services,
        Role::Manholes,
        Role::Keepouts,
        Role::Ground,
        Role::Bores,
    ];

    /// The role's name, which is also the layer that fills it by default.
    pub fn name(self) -> &'static str {
        match self {
            Role::Routes => "routes",
            Role::Streets => "streets",
            Role::Lots => "lots",
            Role::Buildings => "buildings",
            Role::Surfaces => "surfaces",
            Role::Fences => "fences",
            Role::Trees => "trees",
            Role::Services => "services",
            Role::Manholes => "manholes",
            Role::Keepouts => "keepouts",
            Role::Ground => "ground",
            Role::Bores => "bores",
        }
    }

    /// The role of that name.
    pub fn named(name: &str) -> Option<Role> {
        Role::ALL.into_iter().find(|r| r.name() == name)
    }

    /// The columns of the interface that a layer in this role may have.
    pub fn columns(self) -> &'static [&'static str] {
        match self {
            Role::Routes => &[
                "route_id",
                "dn_mm",
                "outfall_invert_m",
                "head_invert_max_m",
                "joins",
                "follows",
                "serves",
            ],
            Role::Streets => &["name", "class", "width_m", "lanes", "surface"],
            Role::Lots => &["lot_id", "serve", "entry", "low_level_m"],
            Role::Buildings => &["floor_m", "foundation_depth_m"],
            Role::Surfaces => &["surface"],
            Role::Fences => &["material"],
            Role::Trees => &["trunk_diameter_m", "retain"],
            Role::Services => &[
                "kind",
                "diameter_mm",
                "cover_m",
                "quality",
                "owner",
                "status",
                "material",
            ],
            Role::Manholes => &["manhole_id", "cover_level_m", "invert_m"],
            Role::Keepouts => &["reason"],
            Role::Ground => &["level_m"],
            Role::Bores => &[
                "bore_id",
                "dn_mm",
                "od_mm",
                "id_mm",
                "bore_mm",
                "us_invert_m",
                "ds_invert_m",
                "launch",
                "launch_pit",
                "us_pit",
            ],
        }
    }
}
