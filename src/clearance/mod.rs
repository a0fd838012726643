//! How near a drive passes to what is in the ground, and what is asked.

mod curtain;
mod encounter;
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
pub use encounter::{
    Accuracy, Clause, DriveLine, Judged, LENGTH_TOLERANCE_M, Row, Yardstick, normal_cdf,
    nothing_beyond,
};
pub use lines::{crossing, nearest_2d, polygon_edges};
pub use near::{
    FROM_DOWNSTREAM, FROM_UPSTREAM, NearPart, NearPiece, PlanNear, Services, drive_line,
    plan_segment,
};
pub use obstacles::{Areas, Boxes, Obstacles, Roots, root_zone_radius_m};
pub use pieces::{Depth, PIECE_M, Piece, ServicePart, cut, whole_pieces};
pub use segment::{
    EQUALLY_NEAR_M, Nearest, Point, Segment, along, dot, flat, last_within, nearest, sub,
};
pub use selection::Thing;
pub use solids::{
    Corners, Prism, contains, overlap_m2, overlap_with_circle_m2, polygon_distance,
    rectangle_line_distance, segment_polygon_distance,
};
pub use verdict::{Encounter, Verdict};
