//! The precision budget, in millimetres, in one place.

/// Largest distance between a curve and the polyline that stands for it in the
/// checks. Widths measured on polylines are then refined on the true curves.
/// Smaller costs time (vertices grow with its inverse square root); larger
/// makes facets that look like false bridges.
pub const FLATTEN: f64 = 0.01;

/// Accuracy asked of boolean operations on curves. Art arrives as `f32`, about
/// 1e-5 mm at A4, so finer buys nothing; coarser would move outlines visibly
/// against the 0.01 mm the reports promise.
pub const BOOLEAN: f64 = 1e-5;

/// Two points closer than this are the same point: ten times the `f32` noise
/// of the art, a hundredth of what a report shows.
pub const SAME_POINT: f64 = 1e-4;

/// The finest length a report states; tests hold widths to it.
pub const REPORT: f64 = 0.01;
