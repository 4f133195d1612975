//! Light hatching of areas.

use kurbo::{BezPath, PathEl, Point};
use lyon_algorithms::hatching::{HatchSegment, Hatcher, HatchingOptions, RegularHatchingPattern};
use lyon_path::math::{Angle, Point as LyonPoint, point};
use lyon_path::path::Builder;

/// Hatch ends may miss a curved outline by this much, mm; half the line's width
/// is enough.
const TOLERANCE: f32 = 0.05;

/// Parallel lines inside `area` (even-odd, closed curves), `spacing` mm apart,
/// running at `angle_deg` anticlockwise from the x axis. Empty when the area is.
#[must_use]
pub fn hatch(area: &BezPath, spacing: f64, angle_deg: f64) -> BezPath {
    let mut lines = BezPath::new();
    let outline = lyon(area);
    // The hatcher takes it for granted that there is an edge.
    if outline.iter().all(|event| !event.is_edge() || event.from() == event.to()) || spacing <= 0.0 {
        return lines;
    }
    let mut add = |segment: &HatchSegment| {
        let end = |p: LyonPoint| Point::new(f64::from(p.x), f64::from(p.y));
        lines.move_to(end(segment.a.position));
        lines.line_to(end(segment.b.position));
    };
    let options =
        HatchingOptions::tolerance(TOLERANCE).with_angle(Angle::degrees(-angle_deg as f32)).with_tangents(false);
    let mut pattern = RegularHatchingPattern { interval: spacing as f32, callback: &mut add };
    Hatcher::new().hatch_path(outline.iter(), &options, &mut pattern);
    lines
}

fn lyon(path: &BezPath) -> lyon_path::Path {
    let at = |p: Point| point(p.x as f32, p.y as f32);
    let mut builder: Builder = lyon_path::Path::builder();
    let mut open = false;
    for el in path.elements() {
        match *el {
            PathEl::MoveTo(p) => {
                if open {
                    builder.end(true);
                }
                builder.begin(at(p));
                open = true;
            }
            _ if !open => {}
            PathEl::LineTo(p) => drop(builder.line_to(at(p))),
            PathEl::QuadTo(a, p) => drop(builder.quadratic_bezier_to(at(a), at(p))),
            PathEl::CurveTo(a, b, p) => drop(builder.cubic_bezier_to(at(a), at(b), at(p))),
            PathEl::ClosePath => {
                builder.end(true);
                open = false;
            }
        }
    }
    if open {
        builder.end(true);
    }
    builder.build()
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{Circle, Rect, Shape};

    fn length(lines: &BezPath) -> f64 {
        lines.perimeter(1e-6)
    }

    #[test]
    fn lines_fill_the_area_and_keep_out_of_holes() {
        let square = Rect::new(10.0, 10.0, 50.0, 50.0).to_path(1e-3);
        for angle in [0.0, 45.0, 90.0] {
            let lines = hatch(&square, 1.0, angle);
            assert!((length(&lines) - 1600.0).abs() < 60.0, "{angle}: area over spacing, {}", length(&lines));
            assert!(
                lines.bounding_box().inflate(-0.01, -0.01).union(Rect::new(10.0, 10.0, 50.0, 50.0))
                    == Rect::new(10.0, 10.0, 50.0, 50.0),
                "inside"
            );
        }
        let ring: BezPath =
            square.into_iter().chain(Circle::new((30.0, 30.0), 10.0).to_path(1e-3).reverse_subpaths()).collect();
        let lines = hatch(&ring, 1.0, 45.0);
        assert!((length(&lines) - (1600.0 - std::f64::consts::PI * 100.0)).abs() < 60.0, "{}", length(&lines));
        let middle = lines.segments().filter(|s| s.bounding_box().center().distance((30.0, 30.0).into()) < 5.0).count();
        assert_eq!(middle, 0, "none across the hole");
    }

    #[test]
    fn nothing_to_hatch_is_no_panic() {
        assert!(hatch(&BezPath::new(), 1.0, 45.0).is_empty(), "empty");
        let dot = BezPath::from_svg("M5 5 L5 5 Z").unwrap();
        assert!(hatch(&dot, 1.0, 45.0).is_empty(), "a point");
        assert!(hatch(&Rect::new(0.0, 0.0, 5.0, 5.0).to_path(0.1), 0.0, 45.0).is_empty(), "no spacing");
    }
}
