//! Ink drawn as an open line: its two ends and the path between them.

use kurbo::{BezPath, Line, ParamCurve as _, ParamCurveArclen as _, ParamCurveArea as _, PathSeg, Point};

use crate::art::Stroked;
use crate::geom::{Piece, Ring};

/// A drawn line is at least this many times as long as it is wide: a dot, a brow
/// or a short dash is an area. Ours.
const LONG: f64 = 8.0;
/// Steps along the outline for one width of the line.
const STEPS: usize = 8;
/// Whether a place on the outline is an end of the line is seen this many widths
/// to either side of it along the outline: there the two sides of the line face
/// each other …
const REACH: usize = 4;
/// … this many widths apart at most. Derived: on a straight run they are 8 apart,
/// at a corner of angle a 8·sin(a/2), at an end 1. Corners under 29° pass for ends.
const APART: f64 = 2.0;
/// A line whose ends are nearer than this part of its length was to close. Ours.
const NEARLY: f64 = 0.1;
/// To this part of the line's width lengths are measured.
const ACCURACY: f64 = 1e-2;

/// The open line that `piece` was drawn as, if it is one. Its path is the side
/// that encloses less when the ends are joined: the rim of the field it goes
/// round, as for a line that closes.
pub(super) fn open_line(piece: &Piece) -> Option<Stroked> {
    let length = piece.length(1e-2);
    // A line's area is its width times half its outline.
    let width = 2.0 * piece.area() / length;
    if !piece.holes.is_empty() || length / 2.0 < LONG * width {
        return None;
    }
    let outline = Outline::of(&piece.outer, width);
    let [one, other] = outline.ends()?;
    let sides = [outline.between(one, other), outline.between(other, one)];
    let centre = sides.into_iter().min_by(|a, b| enclosed(a).total_cmp(&enclosed(b)))?;
    Some(Stroked { centre: path(&centre)?, width, dashed: false, filled: false })
}

fn path(segs: &[PathSeg]) -> Option<BezPath> {
    let mut path = BezPath::new();
    path.move_to(segs.first()?.start());
    segs.iter().for_each(|seg| path.push(seg.as_path_el()));
    Some(path)
}

/// Whether the ends of `line` all but meet.
pub(super) fn nearly_closes(line: &Stroked) -> bool {
    let segs: Vec<PathSeg> = line.centre.segments().collect();
    let (Some(first), Some(last)) = (segs.first(), segs.last()) else { return false };
    let length: f64 = segs.iter().map(|seg| seg.arclen(ACCURACY * line.width)).sum();
    first.start().distance(last.end()) <= NEARLY * length
}

/// The area between a path and the straight line from its end to its start.
fn enclosed(path: &[PathSeg]) -> f64 {
    let (Some(first), Some(last)) = (path.first(), path.last()) else { return f64::INFINITY };
    let closing = Line::new(last.end(), first.start());
    (path.iter().map(|seg| seg.signed_area()).sum::<f64>() + closing.signed_area()).abs()
}

/// The outline of a line of ink, walked in even steps.
#[derive(Debug)]
struct Outline<'a> {
    ring: &'a Ring,
    width: f64,
    /// Length along the ring at the end of each of its segments.
    along: Vec<f64>,
    /// Points in even steps round the ring, and the length of a step.
    points: Vec<Point>,
    step: f64,
}

impl<'a> Outline<'a> {
    fn of(ring: &'a Ring, width: f64) -> Self {
        let mut along = Vec::with_capacity(ring.segs().len());
        let mut sum = 0.0;
        for seg in ring.segs() {
            sum += seg.arclen(ACCURACY * width);
            along.push(sum);
        }
        let count = (sum / width * STEPS as f64).ceil();
        let mut outline = Self { ring, width, along, points: Vec::new(), step: sum / count };
        outline.points = (0..count as usize).map(|i| outline.at(i as f64 * outline.step)).collect();
        outline
    }

    fn length(&self) -> f64 {
        self.along.last().copied().unwrap_or_default()
    }

    /// The segment at length `s`, and where on it.
    fn locate(&self, s: f64) -> (usize, f64) {
        let i = self.along.partition_point(|&end| end < s).min(self.along.len() - 1);
        let before = if i == 0 { 0.0 } else { self.along[i - 1] };
        let rest = (s - before).clamp(0.0, self.along[i] - before);
        (i, self.ring.segs()[i].inv_arclen(rest, ACCURACY * self.width))
    }

    fn at(&self, s: f64) -> Point {
        let (i, t) = self.locate(s);
        self.ring.eval(i, t)
    }

    /// How far apart the outline is a reach before and behind point `i`.
    fn apart(&self, i: usize) -> f64 {
        let (n, reach) = (self.points.len(), REACH * STEPS);
        self.points[(i + n - reach) % n].distance(self.points[(i + reach) % n])
    }

    /// Where the line ends, by length along the outline: of more than two ends
    /// (a stroke with a spur) the two nearest each other.
    fn ends(&self) -> Option<[f64; 2]> {
        let n = self.points.len();
        let mut places: Vec<(f64, usize)> = (0..n).map(|i| (self.apart(i), i)).collect();
        places.retain(|&(apart, _)| apart <= APART * self.width);
        places.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut ends: Vec<usize> = Vec::new();
        for (_, i) in places {
            let clear = |&j: &usize| i.abs_diff(j).min(n - i.abs_diff(j)) > REACH * STEPS;
            if ends.iter().all(clear) {
                ends.push(i);
            }
        }
        let pairs = ends.iter().enumerate().flat_map(|(k, &i)| ends[k + 1..].iter().map(move |&j| [i, j]));
        let gap = |&[i, j]: &[usize; 2]| self.points[i].distance(self.points[j]);
        let nearest = pairs.min_by(|a, b| gap(a).total_cmp(&gap(b)))?;
        Some(nearest.map(|i| i as f64 * self.step))
    }

    /// The side of the line from one end to the other, the outline of the ends
    /// themselves, half a width each, left off.
    fn between(&self, from: f64, to: f64) -> Vec<PathSeg> {
        let whole = self.length();
        let (start, mut stop) = (from + self.width / 2.0, to - self.width / 2.0);
        if to < from {
            stop += whole;
        }
        match (start < whole, stop <= whole) {
            _ if stop <= start => Vec::new(),
            (true, true) => self.run(start, stop),
            (true, false) => [self.run(start, whole), self.run(0.0, stop - whole)].concat(),
            (false, _) => self.run(start - whole, stop - whole),
        }
    }

    /// The outline from length `start` to `stop`, without going over its seam.
    fn run(&self, start: f64, stop: f64) -> Vec<PathSeg> {
        let ((first, from), (last, to)) = (self.locate(start), self.locate(stop));
        let part = |i: usize| {
            let range = (if i == first { from } else { 0.0 })..(if i == last { to } else { 1.0 });
            self.ring.segs()[i].subsegment(range)
        };
        (first..=last).map(part).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::boolean::{self, Rule};
    use kurbo::{Cap, Join, Shape as _, Stroke};

    fn ink(drawn: &str, width: f64, cap: Cap) -> Piece {
        let stroke = Stroke::new(width).with_caps(cap).with_join(Join::Round);
        let path = kurbo::stroke(BezPath::from_svg(drawn).unwrap(), &stroke, &kurbo::StrokeOpts::default(), 1e-3);
        boolean::resolve(&path, Rule::NonZero).pieces.remove(0)
    }

    #[test]
    fn a_line_with_a_gap_gives_the_rim_of_its_field() {
        for cap in [Cap::Butt, Cap::Round] {
            // A box of 60 by 40 with a gap of 5 in its upper side.
            let line = open_line(&ink("M33 0H60V40H0V0H28", 2.0, cap)).unwrap();
            assert!((line.width - 2.0).abs() < 0.05, "{cap:?}: {}", line.width);
            let bounds = line.centre.bounding_box();
            assert!((bounds.width() - 58.0).abs() < 0.01, "{cap:?}: the inner side: {bounds:?}");
            let area = line.centre.area().abs();
            assert!((area - 58.0 * 38.0).abs() < 5.0, "{cap:?}: {area}");
            let segs: Vec<PathSeg> = line.centre.segments().collect();
            let gap = segs[0].start().distance(segs[segs.len() - 1].end());
            // Round ends reach half a width farther; all but a quarter width of each is left off.
            let drawn = if cap == Cap::Butt { 5.0 } else { 3.0 };
            assert!((drawn - 0.05..drawn + 1.2).contains(&gap), "{cap:?}: {gap}");
            assert!(nearly_closes(&line), "{cap:?}");
        }
    }

    #[test]
    fn a_stroke_is_open_from_end_to_end() {
        let line = open_line(&ink("M0 0Q30 20 60 0", 2.0, Cap::Round)).unwrap();
        assert!(!nearly_closes(&line));
        assert!(line.centre.bounding_box().width() > 58.0, "{:?}", line.centre.bounding_box());
    }

    #[test]
    fn what_is_filled_is_no_line() {
        let filled = |d: &str| boolean::resolve(&BezPath::from_svg(d).unwrap(), Rule::NonZero).pieces.remove(0);
        assert_eq!(open_line(&filled("M0 0H10V10H0z")), None, "a square");
        assert_eq!(open_line(&filled("M0 0Q20 -12 40 0Q20 12 0 0z")), None, "a leaf");
        assert_eq!(open_line(&filled("M0 0L40 12L0 24L10 12z")), None, "a barb");
    }
}
