//! How thick the area beside a boundary is: the largest empty disc that touches
//! the boundary at a sample.
//!
//! At a sample `p` with unit normal `n` into the area, a disc of radius `r`
//! tangent at `p` has its centre at `p + r n`. A point `x` lies inside it when
//! `|x − p|² < 2 r n·(x − p)`, so the largest empty disc has the least
//! `|x − p|² / (2 n·(x − p))` over all of the boundary in front of `p`
//! (derived; it is inversion in `p`). For a whole chord the least is found in
//! closed form: see [`reach_of_edge`]. The centres of these discs are the
//! medial axis of the area, and twice the radius is its thickness.

use kurbo::{Point, Vec2};

use super::boundary::Boundary;
use super::grid::Disc;

/// Which side of the rings, walking along them, the area lies on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// On the left.
    Left,
    /// On the right.
    Right,
}

impl Side {
    /// The normal into this side of a ring that runs along `tangent`.
    #[must_use]
    pub fn normal(self, tangent: Vec2) -> Vec2 {
        match self {
            Self::Left => Vec2::new(-tangent.y, tangent.x),
            Self::Right => Vec2::new(tangent.y, -tangent.x),
        }
    }

    /// Positive where a ring that bends by `bend` (positive to the left) turns
    /// away from this side, so that the area has more than a half turn there.
    #[must_use]
    pub const fn opening(self, bend: f64) -> f64 {
        match self {
            Self::Left => -bend,
            Self::Right => bend,
        }
    }
}

/// Where a disc touches the boundary across from its sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Foot {
    /// Number of the chord.
    pub edge: u32,
    /// How far along the chord.
    pub fraction: f64,
}

/// The largest empty disc at one sample, in one direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// The sample it touches.
    pub sample: u32,
    /// Unit normal from the sample to the disc's centre.
    pub normal: Vec2,
    /// Its radius, mm, at most the cap asked for.
    pub radius: f64,
    /// What stops it on the other side; `None` when it reached the cap.
    pub foot: Option<Foot>,
    /// Cosine of the angle at the disc's centre between its sample and its
    /// foot: −1 when they face each other, towards 1 in a corner. 1 for no foot.
    pub facing: f64,
}

/// Corners are looked at in directions at most this far apart, radians (15°).
const FAN_STEP: f64 = std::f64::consts::PI / 12.0;

/// A direction half a [`FAN_STEP`] off sees a point 1/cos 7.5° = 1.0086 times
/// too far; only corners that much off being the least around need a closer look.
const FAN_SLACK: f64 = 1.01;

/// [`Station::facing`] above which a disc is stopped from the side (120°).
pub(super) const ASIDE: f64 = -0.5;

/// Chords this near to a sample are taken by their ends. At four chords the
/// error left in the radius of curvature is about 1 % (derived: a chord of
/// length `l` sinks `l²/8R` under the curve, which at `k` chords rises
/// `(kl)²/2R`, so the error is `1/4k²`).
const BESIDE: u32 = 4;

impl Boundary {
    /// The discs along ring `ring` on `side`, in order along it, each of radius
    /// `cap` mm at most. A corner that opens to the side has several; one that
    /// closes has none, since no disc reaches into it.
    #[must_use]
    pub fn stations(&self, ring: u32, side: Side, cap: f64) -> Vec<Station> {
        let samples = self.samples(ring);
        let mut stations: Vec<Station> = Vec::with_capacity(samples.len() + samples.len() / 4);
        for sample in samples {
            let [arrive, leave] = self.tangents(sample).map(|tangent| side.normal(tangent));
            let bend = self.bend(sample);
            if side.opening(bend) < 0.0 {
                continue;
            }
            if bend == 0.0 {
                let hint = stations.last().and_then(|before| before.foot);
                stations.push(self.station(sample, leave, cap, hint));
            } else {
                self.fan(sample, arrive, bend, cap, &mut stations);
            }
        }
        stations
    }

    /// The discs at a corner, from direction `from` on over `bend`; and one
    /// exactly towards the nearest thing in front of the corner, when that falls
    /// between two directions.
    fn fan(&self, sample: u32, from: Vec2, bend: f64, cap: f64, stations: &mut Vec<Station>) {
        let start = stations.len();
        let steps = (bend.abs() / FAN_STEP).ceil();
        for step in 0..=steps as u32 {
            let hint = stations.last().and_then(|before| before.foot);
            stations.push(self.station(sample, turned(from, bend * f64::from(step) / steps), cap, hint));
        }
        let least = stations[start..].iter().map(|s| s.radius).fold(cap, f64::min);
        // One that looks into a notch is no measure of what the corner faces.
        let across = start.checked_sub(1).map(|i| &stations[i]).filter(|station| station.facing < ASIDE);
        let before = across.map_or(cap, |station| station.radius);
        if least >= cap || least > before * FAN_SLACK {
            return;
        }
        let Some(direction) = self.nearest_within(sample, turned(from, bend / 2.0), bend.abs() / 2.0, 2.0 * least)
        else {
            return;
        };
        let exact = self.station(sample, direction, cap, None);
        let ahead = |v: Vec2| bend.signum() * direction.cross(v) > 0.0;
        let at = (start..stations.len()).find(|&i| ahead(stations[i].normal)).unwrap_or(stations.len());
        stations.insert(at, exact);
    }

    /// Direction from the corner `sample` to the nearest point of the boundary,
    /// nearer than `reach`, at most `half` an angle off direction `middle`.
    fn nearest_within(&self, sample: u32, middle: Vec2, half: f64, reach: f64) -> Option<Vec2> {
        let p = self.point(sample);
        let least = libm::cos(half);
        let within = |v: Vec2| v.dot(middle) >= least * v.hypot();
        let mut best = None;
        let mut disc = Disc { center: p, radius: reach };
        self.grid().shrink(p, &mut disc, |edge, disc| {
            let (a, b) = self.edge(edge);
            let across = a.lerp(b, super::flat::nearest_fraction(a, b, p)) - p;
            let distance = across.hypot();
            if distance > 0.0 && distance < disc.radius && within(across) {
                disc.radius = distance;
                best = Some(across / distance);
            }
        });
        best
    }

    /// The largest empty disc at `sample` towards `normal`, of radius `cap` at
    /// most. `hint`, a foot found nearby, saves time.
    #[must_use]
    pub fn station(&self, sample: u32, normal: Vec2, cap: f64, hint: Option<Foot>) -> Station {
        let p = self.point(sample);
        let mut found = Station { sample, normal, radius: cap, foot: None, facing: 1.0 };
        let mut test = |edge: u32, disc: &mut Disc| {
            if disc.is_met_by(self.edge(edge)) {
                let (reach, fraction) = self.reach(edge, sample, p, normal);
                found.shrink_to(reach, edge, fraction);
                *disc = Disc { center: p + normal * found.radius, radius: found.radius };
            }
        };
        let mut disc = Disc { center: p + normal * cap, radius: cap };
        if let Some(foot) = hint {
            [self.previous(foot.edge), foot.edge, self.next(foot.edge)].iter().for_each(|&e| test(e, &mut disc));
        }
        self.grid().sweep(p, &mut disc, test);
        if let Some(foot) = found.foot {
            let across = self.foot_point(foot) - disc.center;
            // The sample lies at −normal × radius from the centre.
            found.facing = -across.dot(normal) / across.hypot().max(1e-12);
        }
        found
    }

    /// Radius at which the disc at `sample` reaches `edge`. Of a curve's chords
    /// beside the sample only the ends count, for they lie on the curve, and how
    /// it bends away from the sample is less than a chord's own sagitta. On a small
    /// ring the far bank is but a few chords off, too: it runs the other way, and a
    /// disc smaller than its chord would bulge through between the ends.
    fn reach(&self, edge: u32, sample: u32, p: Point, normal: Vec2) -> (f64, f64) {
        let (a, b) = self.edge(edge);
        let touching = a == p || b == p;
        if touching || (self.is_beside(edge, sample, BESIDE) && self.is_curved(edge)) {
            let (near, far) = (reach_of_point(a - p, normal), reach_of_point(b - p, normal));
            let bulges = near.min(far) < a.distance(b);
            let [arrive, leave] = self.tangents(sample);
            let way = if self.is_ahead(edge, sample) { leave } else { arrive };
            if touching || !bulges || way.dot(b - a) > 0.0 {
                return if near < far { (near, 0.0) } else { (far, 1.0) };
            }
        }
        reach_of_edge((a, b), p, normal)
    }

    /// The centre of the disc of `station`.
    #[must_use]
    pub fn center(&self, station: &Station) -> Point {
        self.point(station.sample) + station.normal * station.radius
    }

    /// The point of the foot.
    #[must_use]
    pub fn foot_point(&self, foot: Foot) -> Point {
        let (a, b) = self.edge(foot.edge);
        a.lerp(b, foot.fraction)
    }
}

impl Station {
    fn shrink_to(&mut self, radius: f64, edge: u32, fraction: f64) {
        if radius < self.radius {
            self.radius = radius;
            self.foot = Some(Foot { edge, fraction });
        }
    }

    /// Thickness of the area there, mm.
    #[must_use]
    pub const fn thickness(&self) -> f64 {
        2.0 * self.radius
    }
}

/// `v` turned by `angle` to the left.
#[must_use]
pub fn turned(v: Vec2, angle: f64) -> Vec2 {
    let (sin, cos) = libm::sincos(angle);
    Vec2::new(v.x * cos - v.y * sin, v.x * sin + v.y * cos)
}

/// Radius at which a disc tangent at the origin towards `normal` reaches the
/// point at `offset`; infinite for points behind.
#[must_use]
pub fn reach_of_point(offset: Vec2, normal: Vec2) -> f64 {
    let ahead = offset.dot(normal);
    if ahead > 0.0 { offset.hypot2() / (2.0 * ahead) } else { f64::INFINITY }
}

/// Radius at which a disc tangent at `p` towards `normal` reaches `edge`, and
/// where on the edge it does.
///
/// Derived: with `m` the unit normal of the edge's line on `p`'s side of it and
/// `h` the distance of `p`, the disc of radius `r` touches the line when
/// `h + r n·m = r`. The radius grows either way from there along the line, so
/// beyond the edge's ends the nearer end is the first to be reached.
#[must_use]
pub fn reach_of_edge((a, b): (Point, Point), p: Point, normal: Vec2) -> (f64, f64) {
    let along = b - a;
    let length = along.hypot();
    if length == 0.0 {
        return (reach_of_point(a - p, normal), 0.0);
    }
    let across = Vec2::new(-along.y, along.x) / length;
    let height = (p - a).dot(across);
    let (m, height) = if height < 0.0 { (-across, -height) } else { (across, height) };
    let leaning = 1.0 - normal.dot(m);
    if leaning <= 1e-12 {
        return (f64::INFINITY, 0.0);
    }
    let radius = height / leaning;
    let fraction = (p + normal * radius - a).dot(along) / (length * length);
    if fraction <= 0.0 {
        (reach_of_point(a - p, normal), 0.0)
    } else if fraction >= 1.0 {
        (reach_of_point(b - p, normal), 1.0)
    } else {
        (radius, fraction)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Ring;
    use crate::geom::boundary::Sampling;
    use kurbo::{Circle, Rect, Shape};
    use proptest::prelude::*;

    const FINE: Sampling = Sampling { tolerance: 0.01, spacing: 1.5 };

    fn boundary(paths: &[kurbo::BezPath]) -> Boundary {
        Boundary::new(paths.iter().map(|path| (Ring::all_of(path).remove(0), FINE)).collect())
    }

    proptest! {
        #[test]
        fn an_edge_is_reached_where_its_first_point_is(
            ax in -5.0..5.0f64, ay in -5.0..5.0f64, bx in -5.0..5.0f64, by in -5.0..5.0f64, turn in 0.0..6.3f64,
        ) {
            let (a, b, n) = (Point::new(ax, ay), Point::new(bx, by), Vec2::from_angle(turn));
            let (reach, _) = reach_of_edge((a, b), Point::ORIGIN, n);
            let sampled = (0..=2000)
                .map(|i| reach_of_point(a.lerp(b, f64::from(i) / 2000.0).to_vec2(), n))
                .fold(f64::INFINITY, f64::min);
            // A finite sample of the edge can only reach later.
            prop_assert!(reach <= sampled * (1.0 + 1e-9), "{reach} over {sampled}");
            if sampled < 1e3 {
                prop_assert!(reach > sampled * 0.99 - 0.01, "{reach} under {sampled}");
            }
        }
    }

    #[test]
    fn a_strip_is_as_thick_as_it_is_wide() {
        // Two squares 3 mm apart, seen from outside: the gap on facing sides.
        let all =
            boundary(&[Rect::new(0.0, 0.0, 10.0, 10.0).to_path(1e-6), Rect::new(13.0, 0.0, 23.0, 10.0).to_path(1e-6)]);
        let facing = all.stations(0, Side::Right, 20.0);
        let least = facing.iter().map(Station::thickness).fold(f64::INFINITY, f64::min);
        assert!((least - 3.0).abs() < 1e-9, "gap {least}");
        assert!(facing.iter().filter(|s| s.facing < -0.999).count() > 5, "all along the side");
    }

    #[test]
    fn inside_a_circle_the_disc_is_the_circle() {
        let all = boundary(&[Circle::new((0.0, 0.0), 10.0).to_path(1e-6)]);
        for station in all.stations(0, Side::Left, 20.0) {
            assert!((station.radius - 10.0).abs() < 0.15, "radius {}", station.radius);
        }
    }

    #[test]
    fn in_a_speck_of_few_chords_the_far_bank_stops_the_disc() {
        // A sliver left of a fox's eyelid: its largest disc had its centre outside.
        let sliver = "M33.7424 105.6149L33.7608 105.6487C33.7969 105.6034 33.8316 105.559 33.8646 105.5158\
            C33.9338 105.4251 34.0011 105.333 34.0675 105.2401C34.0465 104.9125 33.9378 104.5977 33.7574 104.3244\
            C33.5092 104.0423 33.261 103.7467 33.0127 103.4364C33.1986 104.1798 33.4409 104.9078 33.7356 105.6176Z";
        let ring = Ring::all_of(&kurbo::BezPath::from_svg(sliver).unwrap()).remove(0).wound(true);
        let flat = ring.flatten(1e-3);
        let all = Boundary::new(vec![(ring, FINE)]);
        let stations = all.stations(0, Side::Left, 0.7);
        let largest = stations.iter().max_by(|a, b| a.radius.total_cmp(&b.radius)).unwrap();
        let (center, radius) = (all.center(largest), largest.radius);
        let edge = flat.edges().map(|(a, b)| crate::geom::flat::distance(a, b, center)).fold(f64::INFINITY, f64::min);
        assert!(flat.contains(center) && edge > radius - 0.02, "{radius} at {center:?}, {edge} from the edge");
    }

    #[test]
    fn a_cap_is_kept_and_hints_change_nothing() {
        let all = boundary(&[Circle::new((0.0, 0.0), 5.0).to_path(1e-6), Circle::new((12.0, 0.0), 5.0).to_path(1e-6)]);
        for station in all.stations(1, Side::Right, 4.0) {
            let alone = all.station(station.sample, station.normal, 4.0, None);
            assert_eq!(alone.radius, station.radius, "hint changes nothing at {}", station.sample);
            assert!(station.radius <= 4.0 && (station.foot.is_some() || station.radius == 4.0), "cap");
        }
    }
}
