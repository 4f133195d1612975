//! Arcs, finer than the SVG library draws them.
//!
//! The library turns arcs into cubics to within a tenth of a user unit, and at
//! best into quarters. A circle of one unit drawn as two arcs would come out
//! nearly 2 % off, a round eye of 50 mm radius 0.014 mm: more than a report is
//! allowed to be wrong. Here arcs become eighths, right to 5e-6 of the radius.

use kurbo::{Arc, BezPath, PathEl, Point, SvgArc, Vec2};

use super::pathdata;

/// Largest distance from a true arc, as a part of its radius.
const ACCURACY: f64 = 1e-5;

/// Outline data with every arc written as cubics; `None` when there is none, or
/// when the data are broken (and are the library's to make sense of).
pub(super) fn without_arcs(data: &str) -> Option<String> {
    if !data.contains(['a', 'A']) {
        return None;
    }
    let mut pen = Pen::default();
    pathdata::each_command(data, |command, values| pen.draw(command, values)).ok()?;
    Some(pen.path.to_svg())
}

/// Follows path commands (SVG 1.1, 8.3).
#[derive(Default)]
struct Pen {
    path: BezPath,
    at: Point,
    start: Point,
    /// The last control point, for smooth cubics and smooth quadratics.
    cubic: Option<Point>,
    quad: Option<Point>,
    closed: bool,
}

impl Pen {
    fn draw(&mut self, command: u8, values: &[f64]) {
        let base = if command.is_ascii_lowercase() { self.at.to_vec2() } else { Vec2::ZERO };
        let p = |i: usize| Point::new(values[i], values[i + 1]) + base;
        let (cubic, quad) = (self.cubic.take(), self.quad.take());
        let mirrored = |control: Option<Point>, at: Point| control.map_or(at, |c| at + (at - c));
        if self.closed && !matches!(command, b'M' | b'm' | b'Z' | b'z') {
            // After a close the next subpath starts where the last one did.
            self.path.move_to(self.at);
            self.closed = false;
        }
        match command.to_ascii_uppercase() {
            b'M' => {
                self.start = p(0);
                self.at = self.start;
                self.closed = false;
                self.path.move_to(self.at);
            }
            b'L' => self.line(p(0)),
            b'H' => self.line(Point::new(values[0] + base.x, self.at.y)),
            b'V' => self.line(Point::new(self.at.x, values[0] + base.y)),
            b'C' => self.curve(p(0), p(2), p(4)),
            b'S' => self.curve(mirrored(cubic, self.at), p(0), p(2)),
            b'Q' => self.quad(p(0), p(2)),
            b'T' => self.quad(mirrored(quad, self.at), p(0)),
            b'A' => self.arc(values, p(5)),
            _ => {
                self.path.close_path();
                self.at = self.start;
                self.closed = true;
            }
        }
    }

    fn line(&mut self, to: Point) {
        self.path.line_to(to);
        self.at = to;
    }

    fn curve(&mut self, a: Point, b: Point, to: Point) {
        self.path.curve_to(a, b, to);
        (self.cubic, self.at) = (Some(b), to);
    }

    fn quad(&mut self, control: Point, to: Point) {
        self.path.quad_to(control, to);
        (self.quad, self.at) = (Some(control), to);
    }

    fn arc(&mut self, values: &[f64], to: Point) {
        let arc = SvgArc {
            from: self.at,
            to,
            radii: Vec2::new(values[0].abs(), values[1].abs()),
            x_rotation: values[2].to_radians(),
            large_arc: values[3] != 0.0,
            sweep: values[4] != 0.0,
        };
        match Arc::from_svg_arc(&arc) {
            Some(arc) => {
                let from = self.path.elements().len();
                self.path.extend(arc.append_iter(ACCURACY * arc.radii.x.max(arc.radii.y)));
                // End exactly where the data say.
                if let Some(PathEl::CurveTo(.., end)) = self.path.elements_mut()[from..].last_mut() {
                    *end = to;
                }
                self.at = to;
            }
            None => self.line(to),
        }
    }
}

/// Handle length of the cubic the library draws for a quarter of a unit circle:
/// 4/3 tan(π/8).
const QUARTER: f64 = 0.552_284_749_830_793_4;
/// How far a handle may be off, as a part of the coordinates: `f32` noise.
const NOISE: f64 = 1e-6;

/// The path with every upright quarter of an ellipse drawn as two eighths:
/// circles, ellipses and round corners as the library makes them.
pub(super) fn finer_quarters(path: &BezPath) -> BezPath {
    let mut at = Point::ORIGIN;
    let mut finer = BezPath::new();
    for &el in path.elements() {
        match el {
            PathEl::CurveTo(a, b, to) => match quarter(at, a, b, to) {
                Some(arc) => {
                    let from = finer.elements().len();
                    finer.extend(arc.append_iter(ACCURACY * arc.radii.x.max(arc.radii.y)));
                    if let Some(PathEl::CurveTo(.., end)) = finer.elements_mut()[from..].last_mut() {
                        *end = to;
                    }
                }
                None => finer.push(el),
            },
            _ => finer.push(el),
        }
        at = el.end_point().unwrap_or(at);
    }
    finer
}

/// The quarter of an upright ellipse a cubic was made from, if it was.
fn quarter(from: Point, a: Point, b: Point, to: Point) -> Option<Arc> {
    let (out, back) = (a - from, b - to);
    let (center, handles) = if out.x.abs() < out.y.abs() {
        (Point::new(to.x, from.y), Vec2::new(back.x, out.y))
    } else {
        (Point::new(from.x, to.y), Vec2::new(out.x, back.y))
    };
    let radii = Vec2::new((to.x - from.x).abs(), (to.y - from.y).abs());
    let off = if out.x.abs() < out.y.abs() { (out.x, back.y) } else { (out.y, back.x) };
    let slack = NOISE * [from.x, from.y, to.x, to.y, radii.x, radii.y].iter().fold(0.0, |m: f64, v| m.max(v.abs()));
    let fits = |handle: f64, radius: f64| (handle.abs() - QUARTER * radius).abs() < slack;
    let is_quarter = radii.x > 0.0
        && radii.y > 0.0
        && off.0.abs() < slack
        && off.1.abs() < slack
        && fits(handles.x, radii.x)
        && fits(handles.y, radii.y);
    if !is_quarter {
        return None;
    }
    let angle = |p: Point| libm::atan2((p.y - center.y) / radii.y, (p.x - center.x) / radii.x);
    let start = angle(from);
    let turn = (out / 1.0).cross(to - from).signum();
    Some(Arc::new(center, radii, start, turn * std::f64::consts::FRAC_PI_2, 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{ParamCurve, Shape};
    use std::f64::consts::PI;

    /// Greatest distance of `path` from the circle round `center`.
    fn off_circle(path: &BezPath, center: Point, radius: f64) -> f64 {
        let points = path.segments().flat_map(|seg| (0..=20).map(move |i| seg.eval(f64::from(i) / 20.0)));
        points.map(|p| (p.distance(center) - radius).abs()).fold(0.0, f64::max)
    }

    #[test]
    fn half_circles_are_round() {
        let data = without_arcs("M0 0a.5.5 0 0 1 1 0a.5.5 0 0 1-1 0z").unwrap();
        let path = BezPath::from_svg(&data).unwrap();
        assert!(off_circle(&path, Point::new(0.5, 0.0), 0.5) < 1e-5, "{data}");
        assert!((path.area().abs() - PI / 4.0).abs() < 1e-5, "area {}", path.area());
    }

    #[test]
    fn everything_but_arcs_stays() {
        let data = "m1 2 3 4l5 6H7h8V9v1C1 2 3 4 5 6s1 2 3 4S5 6 7 8q1 2 3 4t5 6T7 8Q1 2 3 4zl1 1m2 2l3 3z";
        let with_arc = format!("{data}M0 0A1 1 0 0 1 2 0S3 3 4 4");
        let (want, got) = (BezPath::from_svg(data).unwrap(), without_arcs(&with_arc).unwrap());
        let got = BezPath::from_svg(&got).unwrap();
        let n = want.segments().count();
        for (a, b) in want.segments().zip(got.segments()) {
            assert!(
                (0..=4).all(|i| a.eval(f64::from(i) / 4.0).distance(b.eval(f64::from(i) / 4.0)) < 1e-9),
                "{a:?} {b:?}"
            );
        }
        // A smooth curve after an arc starts straight from where the arc ends.
        let Some(kurbo::PathSeg::Cubic(last)) = got.segments().last() else { panic!("ends in a curve") };
        assert!(got.segments().count() > n + 2 && last.p1.distance(Point::new(2.0, 0.0)) < 1e-9, "{last:?}");
    }

    #[test]
    fn broken_data_are_left_alone() {
        assert_eq!(without_arcs("M0 0A1 1 0 2 1 5 5"), None);
        assert_eq!(without_arcs("M0 0L5 5"), None);
    }

    #[test]
    fn quarters_become_finer_and_other_curves_stay() {
        let circle = Arc::new((3.0, 4.0), (50.0, 50.0), 0.0, 2.0 * PI, 0.0).to_path(0.1);
        assert!(off_circle(&circle, Point::new(3.0, 4.0), 50.0) > 0.005, "a circle of quarters is not round");
        let finer = finer_quarters(&circle);
        let off = off_circle(&finer, Point::new(3.0, 4.0), 50.0);
        assert!(off < 5e-4, "eighths are: {off}");
        let other = BezPath::from_svg("M0 0C1 2 3 4 5 0C5 3 4 5 0 5").unwrap();
        assert_eq!(finer_quarters(&other), other);
    }
}
