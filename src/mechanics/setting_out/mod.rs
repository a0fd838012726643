//! Where the bore comes out: errors of instrument, base line, air and rig, beside what line and grade allow.

mod budget;
mod ellipsoid;
mod error;
mod rig;
mod terms;
mod tolerance;

pub use budget::{Ends, grade_needed, no_backfall};
pub use ellipsoid::ellipsoid_line;
pub use error::{Setup, predicted_error};
pub use rig::{RIG_SHARE, rig_error};
pub use terms::{
    LEVELLING_MM_SQRT_KM, base_line_error, levelling_misclosure, pointing_error, refraction_error,
};
pub use tolerance::{TOLERANCES, Tolerance, lesser_of_share_and_limit};
