//! How near a drive passes to what is in the ground, and what is asked.

mod curtain;
mod curve;
mod encounter;
mod estimate;
mod lines;
mod located;
mod near;
mod obstacles;
mod pieces;
mod segment;
mod selection;
mod separation;
mod solids;
mod verdict;

pub use curtain::{Curtain, nearest_curtain};
pub use curve::{by_key, hilbert};
pub use encounter::{
    Accuracy, Clause, DriveLine, Encounters, Judged, LENGTH_TOLERANCE_M, Row, Yardstick,
    normal_cdf, nothing_beyond,
};
pub use estimate::{Estimate, Foot, Gauge, Measured, PIECES_TOGETHER, Places, Ruler};
pub use lines::{crossing, nearest_2d, polygon_edges};
pub use located::{Located, limits_there};
pub use near::{
    FROM_DOWNSTREAM, FROM_UPSTREAM, NearPart, NearPiece, PlanNear, Services, class_of, drive_line,
    is_steep, plan_angle_deg, plan_segment, touches,
};
pub use obstacles::{Areas, Boxes, Lines, Obstacles, Roots, root_zone_radius_m};
pub use pieces::{
    Cutting, Depth, DepthSource, PIECE_M, Piece, ServicePart, cut, goes_straight_on, whole_pieces,
};
pub use segment::{EQUALLY_NEAR_M, Nearest, Point, Segment, along, dot, flat, nearest, sub};
pub use selection::Thing;
pub use solids::{
    Corners, Prism, contains, overlap_m2, overlap_with_circle_m2, polygon_distance,
    rectangle_line_distance, segment_polygon_distance,
};
pub use verdict::{Encounter, Verdict};
