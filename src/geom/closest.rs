//! The narrowest line between two boundaries, on their true curves.

use kurbo::{ParamCurve, Point, Vec2};

use super::boundary::{Boundary, Spot, derivative, second_derivative};
use super::flat::Mark;
use super::ring::Ring;

/// Two spots and the distance between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Where it ends on the rings.
    pub spots: [Spot; 2],
    /// The end points.
    pub feet: [Point; 2],
    /// Length, mm.
    pub width: f64,
}

/// Steps of the search. It converges quadratically where the width has a clear
/// minimum; on parallel sides any place is as good as another.
const STEPS: u32 = 60;
/// Stops when no end would move by more than this, mm.
const STILL: f64 = 1e-9;

impl Boundary {
    /// The locally shortest line between the rings near `from` and `to`: where
    /// moving either end along its curve, past joints too, makes it longer.
    ///
    /// Newton's method on half the squared distance of two curve parameters,
    /// damped (Levenberg–Marquardt) so that it always descends; an end at a
    /// joint goes on to the next segment if that shortens the line, else it
    /// stays in the corner.
    #[must_use]
    pub fn shortest(&self, from: Spot, to: Spot) -> Span {
        let mut ends = [self.end(from), self.end(to)];
        let mut damping = 1e-3;
        for _ in 0..STEPS {
            let step = newton(&mut ends, damping);
            let moved = ends[0].speed * step[0].abs() + ends[1].speed * step[1].abs();
            if moved < STILL {
                break;
            }
            let next = [ends[0].moved(step[0]), ends[1].moved(step[1])];
            if squared(&next) <= squared(&ends) {
                ends = next;
                damping = (damping * 0.1).max(1e-12);
            } else {
                damping = (damping * 10.0).max(1e-6);
            }
        }
        let feet = [ends[0].point, ends[1].point];
        Span { spots: [ends[0].spot(), ends[1].spot()], feet, width: feet[0].distance(feet[1]) }
    }

    fn end(&self, spot: Spot) -> End<'_> {
        End::at(spot.ring, &self.rings()[spot.ring as usize], spot.mark)
    }
}

fn squared(ends: &[End<'_>; 2]) -> f64 {
    (ends[0].point - ends[1].point).hypot2()
}

/// One end of the line, with the curve's derivatives there.
#[derive(Clone, Copy)]
struct End<'a> {
    number: u32,
    ring: &'a Ring,
    mark: Mark,
    point: Point,
    first: Vec2,
    second: Vec2,
    /// Millimetres for one unit of the parameter.
    speed: f64,
}

impl<'a> End<'a> {
    fn at(number: u32, ring: &'a Ring, mark: Mark) -> Self {
        let seg = &ring.segs()[mark.seg as usize];
        let point = seg.eval(mark.t);
        // Where a control point stands on the end point the derivative
        // vanishes; a little way along it has the right direction.
        let size = seg.start().distance(seg.end()).max(1e-6);
        let mut first = derivative(seg, mark.t);
        if first.hypot() < 1e-6 * size {
            first = derivative(seg, mark.t.clamp(1e-3, 1.0 - 1e-3));
        }
        Self { number, ring, mark, point, first, second: second_derivative(seg, mark.t), speed: first.hypot() }
    }

    /// The end of a segment is named as the start of the next.
    fn spot(&self) -> Spot {
        let Mark { seg, t } = self.mark;
        let mark = match t >= 1.0 - 1e-12 {
            true => Mark { seg: (seg + 1) % self.ring.segs().len() as u32, t: 0.0 },
            false => self.mark,
        };
        Spot { ring: self.number, mark }
    }

    fn moved(&self, step: f64) -> Self {
        let t = (self.mark.t + step).clamp(0.0, 1.0);
        Self::at(self.number, self.ring, Mark { seg: self.mark.seg, t })
    }

    /// Rate at which half the squared length to `other` grows with the parameter.
    fn slope(&self, other: Point) -> f64 {
        (self.point - other).dot(self.first)
    }

    /// At a joint, goes on to the next segment when that is downhill; says
    /// whether the end is held in a corner.
    fn settle(&mut self, other: Point) -> bool {
        let slope = self.slope(other);
        let (onward, t) = match self.mark.t {
            t if t >= 1.0 && slope < 0.0 => (1, 0.0),
            t if t <= 0.0 && slope > 0.0 => (self.ring.segs().len() - 1, 1.0),
            _ => return false,
        };
        let seg = ((self.mark.seg as usize + onward) % self.ring.segs().len()) as u32;
        let across = Self::at(self.number, self.ring, Mark { seg, t });
        let slope_across = across.slope(other);
        let goes_on = if t == 0.0 { slope_across < 0.0 } else { slope_across > 0.0 };
        if goes_on {
            *self = across;
        }
        !goes_on
    }
}

/// The quadratic model of half the squared length round the present ends.
struct Model {
    slope: [f64; 2],
    bend: [f64; 2],
    cross: f64,
}

impl Model {
    fn new([p, q]: &[End<'_>; 2], damping: f64) -> Self {
        let between = p.point - q.point;
        let squares = [p.first.hypot2(), q.first.hypot2()];
        let bent = [between.dot(p.second), -between.dot(q.second)];
        let cross = -p.first.dot(q.first);
        let damped = |i: usize, bend: f64| squares[i] + bend + damping * squares[i];
        let bend = [damped(0, bent[0]), damped(1, bent[1])];
        let slope = [between.dot(p.first), -between.dot(q.first)];
        if bend[0] > 0.0 && bend[1] > 0.0 && bend[0] * bend[1] - cross * cross > 1e-12 * bend[0] * bend[1] {
            return Self { slope, bend, cross };
        }
        // Where the surface is not a bowl: short steps straight down.
        Self { slope, bend: squares.map(|s| 2.0 * (1.0 + damping) * s.max(1e-300)), cross: 0.0 }
    }

    fn both(&self) -> [f64; 2] {
        let ([f, g], [a, b], c) = (self.slope, self.bend, self.cross);
        let determinant = a * b - c * c;
        [(c * g - b * f) / determinant, (c * f - a * g) / determinant]
    }

    /// The best step of one end when the other moves by `fixed`.
    fn one(&self, end: usize, fixed: f64) -> f64 {
        -(self.slope[end] + self.cross * fixed) / self.bend[end]
    }
}

/// The damped Newton step of both parameters. An end held in a corner stays; one
/// that would run past its segment goes to the joint, and the other end makes
/// the best of that.
fn newton(ends: &mut [End<'_>; 2], damping: f64) -> [f64; 2] {
    let points = [ends[0].point, ends[1].point];
    let held = [ends[0].settle(points[1]), ends[1].settle(points[0])];
    let model = Model::new(ends, damping);
    let step = match held {
        [true, true] => return [0.0, 0.0],
        [true, false] => return [0.0, model.one(1, 0.0)],
        [false, true] => return [model.one(0, 0.0), 0.0],
        [false, false] => model.both(),
    };
    let kept = [0, 1].map(|i| (ends[i].mark.t + step[i]).clamp(0.0, 1.0) - ends[i].mark.t);
    match [kept[0] == step[0], kept[1] == step[1]] {
        [false, true] => [kept[0], model.one(1, kept[0])],
        [true, false] => [model.one(0, kept[1]), kept[1]],
        _ => kept,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::boundary::Sampling;
    use kurbo::{BezPath, Circle, Shape};

    fn boundary(paths: &[BezPath]) -> Boundary {
        let sampling = Sampling { tolerance: 0.01, spacing: 1.5 };
        Boundary::new(paths.iter().map(|path| (Ring::all_of(path).remove(0), sampling)).collect())
    }

    fn spot(ring: u32, seg: u32, t: f64) -> Spot {
        Spot { ring, mark: Mark { seg, t } }
    }

    #[test]
    fn two_circles_meet_on_the_line_of_their_centres() {
        let all =
            boundary(&[Circle::new((0.0, 0.0), 10.0).to_path(1e-9), Circle::new((18.0, 13.0), 10.0).to_path(1e-9)]);
        let exact = 18f64.hypot(13.0) - 20.0;
        let mut starts = 0;
        for i in all.samples(0) {
            let p = all.spot(i);
            for j in all.samples(1) {
                // Only starts that see each other; from behind there is none.
                if all.point(i).distance(all.point(j)) < 8.0 {
                    let span = all.shortest(p, all.spot(j));
                    assert!((span.width - exact).abs() < 1e-6, "{} against {exact} from {i}, {j}", span.width);
                    starts += 1;
                }
            }
        }
        assert!(starts > 20, "tried {starts}");
    }

    #[test]
    fn a_corner_holds_its_end() {
        let all = boundary(&[
            BezPath::from_svg("M0 0 L10 5 L0 10 Z").unwrap(),
            BezPath::from_svg("M12 -20 L30 -20 L30 30 L12 30 Z").unwrap(),
        ]);
        let span = all.shortest(spot(0, 0, 0.3), spot(1, 3, 0.9));
        assert!((span.width - 2.0).abs() < 1e-9, "corner to side: {}", span.width);
        assert!(span.feet[0].distance(Point::new(10.0, 5.0)) < 1e-9, "in the corner: {:?}", span.feet);
    }

    #[test]
    fn parallel_sides_stay_where_they_are() {
        let all = boundary(&[
            BezPath::from_svg("M0 0 L10 0 L10 10 L0 10 Z").unwrap(),
            BezPath::from_svg("M13 0 L20 0 L20 10 L13 10 Z").unwrap(),
        ]);
        let span = all.shortest(spot(0, 1, 0.5), spot(1, 3, 0.5));
        assert!((span.width - 3.0).abs() < 1e-9, "width {}", span.width);
    }
}
