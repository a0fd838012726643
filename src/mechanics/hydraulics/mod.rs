//! Flow in the pipe: what it carries full and part-full, whether it keeps itself clean, how flat it may lie, and what
//! comes to it.

mod design_flow;
mod full;
mod min_grade;
mod part_full;
mod self_cleansing;

pub use design_flow::{
    DWELLING_L_DAY, HOUSE_FLOWS, US_LATERAL_GAL_DAY, US_MAIN_GAL_DAY, WISCONSIN_GAL_DAY,
    flow_by_head, flow_by_table, flow_of_dwellings, smallest_dn_mm,
};
pub use full::{Full, colebrook_white, manning};
pub use min_grade::{MIN_GRADES, MinGrades, min_grade};
pub use part_full::{FULLEST, at_flow, depth_for, proportions};
pub use self_cleansing::{
    CLEANSING, Cleansing, SHEAR_PA, VIRGINIA_SETTLED_FT_S, grade_for_velocity, one_in_dn, shear,
};
