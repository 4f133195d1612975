//! B-splines, rational or not, as Bézier curves.

use kurbo::{BezPath, CubicBez, ParamCurve, Point, Rect, Vec2};

use super::records::{Impossible, Record};

/// Highest degree taken. Drawing programs write 2 and 3, rarely 5.
const MOST_DEGREE: usize = 15;
/// A curve piece may leave the spline by this part of the spline's size:
/// 1e-4 mm on a face 100 mm large.
const TOLERANCE: f64 = 1e-6;
/// How often one span of knots is halved at most. A smooth span needs two or
/// three halvings; what needs more is not smooth.
const HALVINGS: u32 = 6;

/// A spline of degree `degree` over `knots`; its points are homogeneous.
struct Spline {
    degree: usize,
    knots: Vec<f64>,
    points: Vec<[f64; 3]>,
}

/// Where a spline is and how fast it goes there.
#[derive(Clone, Copy)]
struct Pose {
    at: Point,
    speed: Vec2,
}

/// The path of a SPLINE record; `None` when it is given by points it passes
/// through alone, without control points.
///
/// # Errors
/// For numbers that make no spline.
pub(super) fn path(record: &Record) -> Result<Option<BezPath>, Impossible> {
    let Some(spline) = Spline::read(record)? else { return Ok(None) };
    let boxed = spline.points.iter().map(|p| Point::new(p[0] / p[2], p[1] / p[2]));
    let bounds = boxed.map(|p| Rect::from_points(p, p)).reduce(|a, b| a.union(b)).unwrap_or_default();
    let tolerance = TOLERANCE * bounds.width().max(bounds.height());
    let mut path = BezPath::new();
    for span in spline.degree..spline.points.len() {
        let (from, to) = (spline.knots[span], spline.knots[span + 1]);
        if to <= from {
            continue;
        }
        let (start, end) = (spline.pose(span, from)?, spline.pose(span, to)?);
        if path.is_empty() {
            path.move_to(start.at);
        }
        spline.piece(span, [(from, start), (to, end)], tolerance, HALVINGS, &mut path)?;
    }
    let ends = path.segments().next().map(|s| s.start()).zip(path.segments().last().map(|s| s.end()));
    if ends.is_some_and(|(a, b)| a.distance(b) <= tolerance.max(1e-12)) {
        path.close_path();
    }
    Ok(Some(path).filter(|path| !path.is_empty()))
}

impl Spline {
    fn read(record: &Record) -> Result<Option<Self>, Impossible> {
        let degree = usize::try_from(record.flags(71)).map_err(|_| Impossible)?;
        let (xs, ys) = (record.numbers(10)?, record.numbers(20)?);
        let (knots, weights) = (record.numbers(40)?, record.numbers(41)?);
        if xs.is_empty() && !record.numbers(11)?.is_empty() {
            return Ok(None);
        }
        let fits = (1..=MOST_DEGREE).contains(&degree)
            && xs.len() == ys.len()
            && xs.len() > degree
            && knots.len() == xs.len() + degree + 1
            && (weights.is_empty() || weights.len() == xs.len())
            && knots.is_sorted()
            && weights.iter().all(|w| *w > 0.0);
        if !fits {
            return Err(Impossible);
        }
        let weight = |i: usize| weights.get(i).copied().unwrap_or(1.0);
        let points = (0..xs.len()).map(|i| [xs[i] * weight(i), ys[i] * weight(i), weight(i)]).collect();
        Ok(Some(Self { degree, knots, points }))
    }

    /// Where the spline is at `u`, as part of knot span `span`: de Boor's
    /// algorithm, whose last step but one gives the speed (de Boor 1972; Piegl
    /// and Tiller, The NURBS Book, A3.1 and A4.1).
    fn pose(&self, span: usize, u: f64) -> Result<Pose, Impossible> {
        let p = self.degree;
        let mut d: Vec<[f64; 3]> = self.points[span - p..=span].to_vec();
        for level in 1..p {
            self.blend(&mut d, span, level, u);
        }
        let width = self.knots[span + 1] - self.knots[span];
        let slope = p as f64 / width;
        let rate: [f64; 3] = std::array::from_fn(|i| slope * (d[p][i] - d[p - 1][i]));
        self.blend(&mut d, span, p, u);
        let [x, y, w] = d[p];
        let at = Point::new(x / w, y / w);
        let speed = (Vec2::new(rate[0], rate[1]) - rate[2] * at.to_vec2()) / w;
        if at.is_finite() && speed.is_finite() { Ok(Pose { at, speed }) } else { Err(Impossible) }
    }

    fn blend(&self, d: &mut [[f64; 3]], span: usize, level: usize, u: f64) {
        let p = self.degree;
        for j in (level..=p).rev() {
            let low = self.knots[span + j - p];
            let share = (u - low) / (self.knots[span + j + 1 - level] - low);
            d[j] = std::array::from_fn(|i| d[j - 1][i] * (1.0 - share) + d[j][i] * share);
        }
    }

    /// Appends the spline between two poses: the cubic that shares place and
    /// speed at both, which is the spline itself up to degree three without
    /// weights; halved where it is not.
    fn piece(
        &self,
        span: usize,
        [(from, start), (to, end)]: [(f64, Pose); 2],
        tolerance: f64,
        halvings: u32,
        path: &mut BezPath,
    ) -> Result<(), Impossible> {
        if self.degree == 1 {
            path.line_to(end.at);
            return Ok(());
        }
        let third = (to - from) / 3.0;
        let cubic = CubicBez::new(start.at, start.at + start.speed * third, end.at - end.speed * third, end.at);
        let middle = from.midpoint(to);
        let pose = self.pose(span, middle)?;
        let near = |t: f64, p: Point| cubic.eval(t).distance(p) <= tolerance;
        let quarters = [0.25, 0.75].map(|t| self.pose(span, from + t * (to - from)).map(|pose| near(t, pose.at)));
        if halvings == 0 || (near(0.5, pose.at) && quarters[0]? && quarters[1]?) {
            path.curve_to(cubic.p1, cubic.p2, cubic.p3);
            return Ok(());
        }
        self.piece(span, [(from, start), (middle, pose)], tolerance, halvings - 1, path)?;
        self.piece(span, [(middle, pose), (to, end)], tolerance, halvings - 1, path)
    }
}
