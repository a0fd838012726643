//! The columns that each role may have.

use crate::job::Role;

/// One column of a role.
#[derive(Debug, Clone, Copy)]
pub(super) struct Column {
    /// Its name in the interface.
    pub name: &'static str,
    /// The layer must have it.
    pub required: bool,
}

const fn c(name: &'static str) -> Column {
    Column {
        name,
        required: false,
    }
}

const fn must(name: &'static str) -> Column {
    Column {
        name,
        required: true,
    }
}

/// Columns of a role, in the order of the interface.
pub(super) fn of(role: Role) -> &'static [Column] {
    match role {
        Role::Routes => &ROUTES,
        Role::Streets => &STREETS,
        Role::Lots => &LOTS,
        Role::Buildings => &BUILDINGS,
        Role::Surfaces => &SURFACES,
        Role::Fences => &FENCES,
        Role::Trees => &TREES,
        Role::Services => &SERVICES,
        Role::Manholes => &MANHOLES,
        Role::Keepouts => &KEEPOUTS,
        Role::Ground => &GROUND,
        Role::Bores => &BORES,
    }
}

const ROUTES: [Column; 7] = [
    c("route_id"),
    c("dn_mm"),
    c("outfall_invert_m"),
    c("head_invert_max_m"),
    c("joins"),
    c("follows"),
    c("serves"),
];

const STREETS: [Column; 5] = [
    c("name"),
    c("class"),
    c("width_m"),
    c("lanes"),
    c("surface"),
];

const LOTS: [Column; 4] = [c("lot_id"), c("serve"), c("entry"), c("low_level_m")];

const BUILDINGS: [Column; 2] = [c("floor_m"), c("foundation_depth_m")];

const SURFACES: [Column; 1] = [must("surface")];

const FENCES: [Column; 1] = [c("material")];

const TREES: [Column; 2] = [c("trunk_diameter_m"), c("retain")];

const SERVICES: [Column; 7] = [
    must("kind"),
    c("diameter_mm"),
    c("cover_m"),
    c("quality"),
    c("owner"),
    c("status"),
    c("material"),
];

const MANHOLES: [Column; 3] = [c("manhole_id"), c("cover_level_m"), c("invert_m")];

const KEEPOUTS: [Column; 1] = [c("reason")];

const GROUND: [Column; 1] = [c("level_m")];

const BORES: [Column; 10] = [
    c("bore_id"),
    c("dn_mm"),
    c("od_mm"),
    c("id_mm"),
    c("bore_mm"),
    c("us_invert_m"),
    c("ds_invert_m"),
    c("launch"),
    c("launch_pit"),
    c("us_pit"),
];

/// What a role's features are drawn as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Drawn {
    Points,
    Lines,
    Areas,
}

/// What a role's features are drawn as; `ground` where it is a layer of points.
pub(super) fn drawn(role: Role) -> Drawn {
    match role {
        Role::Routes | Role::Streets | Role::Fences | Role::Services | Role::Bores => Drawn::Lines,
        Role::Lots | Role::Buildings | Role::Surfaces | Role::Keepouts => Drawn::Areas,
        Role::Trees | Role::Manholes | Role::Ground => Drawn::Points,
    }
}

impl Drawn {
    pub fn word(self) -> &'static str {
        match self {
            Drawn::Points => "points",
            Drawn::Lines => "lines",
            Drawn::Areas => "polygons",
        }
    }
}
