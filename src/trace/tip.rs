//! Where a thin tip ends. A wedge narrower than a pixel no longer reaches the
//! threshold, so its contour stops short; but its ink is still there, spread
//! over pale pixels. How much there is says how far the tip goes on.

use kurbo::{Point, Vec2};

use super::arm::Arm;
use super::decode::Picture;
use super::smooth::Edges;

/// A picture, smoothed as its edges ask, with the levels of its ink and paper.
#[derive(Clone, Copy, Debug)]
pub struct Scene<'a> {
    /// The picture the contours were drawn on.
    pub picture: &'a Picture,
    /// Level of ink.
    pub ink: f64,
    /// Level of paper.
    pub paper: f64,
    /// How its edges looked before.
    pub edges: Edges,
}

impl Scene<'_> {
    /// How much of a pixel is ink, `0.0..=1.0`.
    fn cover(&self, x: i64, y: i64) -> f64 {
        ((self.paper - f64::from(self.picture.at(x, y))) / (self.paper - self.ink)).clamp(0.0, 1.0)
    }
}

/// Ink of a tip against that of a triangle: less is a round end, more has
/// something else beside it. From experiment on the demo faces.
const ROUND: f64 = 0.45;
const CROWDED: f64 = 1.9;
/// How far beside its sides a tip's ink is gathered, pixels: the grid spreads
/// it over half a pixel's diagonal.
const BESIDE: f64 = 0.9;

/// What the ink says of a tip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tip {
    /// It ends here.
    At(Point),
    /// There is too little: the end is round.
    Round,
    /// Something else lies ahead, or the ink makes no sense.
    Unclear,
}

/// The tip between the sides `back` and `ahead`, which are trusted from `start`
/// pixels on and meet at about `guess`.
pub(super) fn tip(scene: &Scene, back: &Arm, ahead: &Arm, start: f64, guess: Point) -> Tip {
    let (a, b) = (back.at(start), ahead.at(start));
    let foot = a.midpoint(b);
    let (Some(across), Some(along)) = (unit(b - a), unit(guess - foot)) else { return Tip::Unclear };
    // Both sides seen from the foot: width there, and how fast it shrinks.
    let (width, reach) = ((b - a).hypot(), guess.distance(foot));
    let narrowing = |arm: &Arm, out: Vec2| {
        let slope = -arm.slope(start);
        slope.dot(out) / slope.dot(along).abs().max(1e-6)
    };
    let slope = narrowing(back, -across) + narrowing(ahead, across);
    let ink = [3.0, 5.0].into_iter().find_map(|spare| mass(scene, foot, along, reach, width, spare));
    let Some(ink) = ink else { return Tip::Unclear };
    match ink / (0.5 * width * reach) {
        filled if filled < ROUND => Tip::Round,
        filled if filled > CROWDED => Tip::Unclear,
        _ => match length(width, slope, ink) {
            Some(length) if (length - reach).abs() < 0.4 * reach + 1.5 => Tip::At(foot + along * length),
            _ => Tip::Unclear,
        },
    }
}

fn unit(v: Vec2) -> Option<Vec2> {
    (v.hypot() > 1e-6).then(|| v.normalize())
}

/// Square pixels of the tip's own tone beyond the foot, gathered up to `spare`
/// pixels farther than it should reach; `None` when something lies there.
fn mass(scene: &Scene, foot: Point, along: Vec2, reach: f64, width: f64, spare: f64) -> Option<f64> {
    let far = reach + spare + scene.edges.blur();
    let side = Vec2::new(-along.y, along.x);
    let span = far + width;
    let own = |c: f64| if tone(scene, foot) { c } else { 1.0 - c };
    let (x0, x1) = ((foot.x - span).floor() as i64, (foot.x + span).ceil() as i64);
    let (y0, y1) = ((foot.y - span).floor() as i64, (foot.y + span).ceil() as i64);
    let (mut sum, mut beyond) = (0.0, 0.0);
    for y in y0..=y1 {
        for x in x0..=x1 {
            let d = Point::new(x as f64 + 0.5, y as f64 + 0.5) - foot;
            let (ahead, aside) = (d.dot(along), d.dot(side).abs());
            let half = (width / 2.0 * (1.0 - ahead / reach.max(0.1))).max(0.0) + BESIDE + 1.5 * scene.edges.blur();
            if ahead < far && aside < half {
                let own = own(scene.cover(x, y)) * (ahead + 0.5).clamp(0.0, 1.0);
                sum += own;
                if ahead > far - 1.5 {
                    beyond += own;
                }
            }
        }
    }
    (beyond < 0.15).then_some(sum)
}

/// Whether the tip is ink (or a slit of paper in ink).
fn tone(scene: &Scene, foot: Point) -> bool {
    scene.cover(foot.x.floor() as i64, foot.y.floor() as i64) >= 0.5
}

/// Length of a tip `width` wide at its foot, widening by `slope` (negative)
/// along it, that holds `area`: with sides as parabolas that end at no width,
/// area = ⅔ width·length + ⅙ slope·length² (derived).
fn length(width: f64, slope: f64, area: f64) -> Option<f64> {
    let (a, b) = (slope / 6.0, 2.0 / 3.0 * width);
    let root = b * b + 4.0 * a * area;
    if root < 0.0 {
        // More ink than straight sides allow: the tip bulges.
        return (slope < -1e-3).then(|| 2.0 * area / width);
    }
    (b + root.sqrt() > 1e-9).then(|| 2.0 * area / (b + root.sqrt()))
}
