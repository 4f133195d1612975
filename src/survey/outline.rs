//! The cut-outs as a coarse outline, for thumbnails and for finding doubles.

use kurbo::{BezPath, Point};
use serde::{Deserialize, Serialize};

use crate::face::Face;
use crate::geom::Ring;
use crate::geom::flat::{distance, telling};

/// Steps in a millimetre.
const STEPS: f64 = 10.0;
/// Outlines are flattened to this, mm, and then thinned by [`THIN`].
const FLATTEN: f64 = 0.05;
/// No point left out lies farther from the outline than this, mm: with the
/// rounding to a tenth, a fifth of a millimetre in all, which on a thumbnail a
/// quarter of the true size is half the width of its line.
const THIN: f64 = 0.1;
/// Thinned more than this, mm, an outline is none.
const COARSEST: f64 = 4.0;
/// Most points of one outline; past it the outline is thinned more.
const MOST: usize = 3000;

/// A closed ring in tenths of a millimetre; its last point joins its first.
pub type Loop = Vec<(i32, i32)>;

/// Closed rings in tenths of a millimetre, panel space (y up).
///
/// A survey holds one for every face, so they are packed: what the rings are
/// asked for is a few times in a run, what they weigh counts all through it. The
/// usual step from point to point takes two bytes or three, not eight.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "Vec<Loop>", into = "Vec<Loop>")]
pub struct Outline {
    /// For each ring how many points, then the step to each in x and y.
    packed: Box<[u8]>,
}

impl From<Vec<Loop>> for Outline {
    fn from(rings: Vec<Loop>) -> Self {
        let mut packed = Vec::new();
        for ring in &rings {
            pack(&mut packed, ring.len() as u32);
            let mut last = (0, 0);
            for &(x, y) in ring {
                pack(&mut packed, folded(x.wrapping_sub(last.0)));
                pack(&mut packed, folded(y.wrapping_sub(last.1)));
                last = (x, y);
            }
        }
        Self { packed: packed.into_boxed_slice() }
    }
}

impl From<Outline> for Vec<Loop> {
    fn from(outline: Outline) -> Self {
        outline.rings().collect()
    }
}

/// A number in groups of seven bits, low ones first; the top bit says that more
/// follow.
fn pack(packed: &mut Vec<u8>, mut number: u32) {
    while number > 0x7f {
        packed.push(number as u8 | 0x80);
        number >>= 7;
    }
    packed.push(number as u8);
}

fn unpack(bytes: &mut std::slice::Iter<'_, u8>) -> Option<u32> {
    let mut number = 0;
    for shift in (0..u32::BITS).step_by(7) {
        let byte = *bytes.next()?;
        number |= u32::from(byte & 0x7f) << shift;
        if byte & 0x80 == 0 {
            break;
        }
    }
    Some(number)
}

/// Small numbers of either sign as small numbers: 0, -1, 1, -2 … become 0, 1, 2, 3 …
const fn folded(step: i32) -> u32 {
    ((step << 1) ^ (step >> 31)) as u32
}

const fn unfolded(number: u32) -> i32 {
    (number >> 1) as i32 ^ -((number & 1) as i32)
}

impl Outline {
    /// The outline of a face's cut-outs.
    #[must_use]
    pub fn of(face: &Face) -> Self {
        let rings: Vec<Vec<Point>> =
            face.cutouts.iter().flat_map(|c| c.piece.rings()).map(|ring: &Ring| ring.flatten(FLATTEN).points).collect();
        let mut thin = THIN;
        loop {
            let coarse: Vec<Loop> = rings.iter().filter_map(|ring| coarse(ring, thin)).collect();
            let points: usize = coarse.iter().map(Vec::len).sum();
            if points <= MOST {
                return coarse.into();
            }
            if thin > COARSEST {
                return every(&coarse, points.div_ceil(MOST)).into();
            }
            thin *= 2.0;
        }
    }

    /// The rings.
    pub fn rings(&self) -> impl Iterator<Item = Loop> + '_ {
        let mut bytes = self.packed.iter();
        std::iter::from_fn(move || {
            let count = unpack(&mut bytes)?;
            let mut at = (0i32, 0i32);
            let point = |_| {
                let (dx, dy) = (unfolded(unpack(&mut bytes)?), unfolded(unpack(&mut bytes)?));
                at = (at.0.wrapping_add(dx), at.1.wrapping_add(dy));
                Some(at)
            };
            Some((0..count).map_while(point).collect())
        })
    }

    /// Points of all rings.
    #[must_use]
    pub fn points(&self) -> usize {
        self.rings().map(|ring| ring.len()).sum()
    }

    /// The rings in millimetres.
    pub fn loops(&self) -> impl Iterator<Item = Vec<Point>> + '_ {
        let at = |(x, y): (i32, i32)| Point::new(f64::from(x) / STEPS, f64::from(y) / STEPS);
        self.rings().map(move |ring| ring.into_iter().map(at).collect())
    }

    /// The rings as a path in panel millimetres; either fill rule does.
    #[must_use]
    pub fn path(&self) -> BezPath {
        let mut path = BezPath::new();
        for ring in self.loops() {
            for (i, point) in ring.into_iter().enumerate() {
                if i == 0 { path.move_to(point) } else { path.line_to(point) }
            }
            path.close_path();
        }
        path
    }

    /// Path data for a picture whose unit is a tenth of a millimetre, y down
    /// from `height_mm`.
    #[must_use]
    pub fn data(&self, height_mm: f64) -> String {
        let top = (height_mm * STEPS).round() as i64;
        let mut text = String::new();
        for ring in self.rings() {
            let mut last = (0, 0);
            for (i, (x, y)) in ring.into_iter().enumerate() {
                let at = (i64::from(x), top - i64::from(y));
                let (letter, dx, dy) = match i {
                    0 => ("M", at.0, at.1),
                    1 => ("l", at.0 - last.0, at.1 - last.1),
                    _ => (" ", at.0 - last.0, at.1 - last.1),
                };
                // A minus sign parts numbers as well as a space does.
                let letter = if letter == " " && dx < 0 { "" } else { letter };
                text.push_str(&format!("{letter}{dx}{}{dy}", if dy < 0 { "" } else { " " }));
                last = at;
            }
            text.push('z');
        }
        text
    }
}

/// Every `n`th point only: for outlines that are all spikes.
fn every(rings: &[Loop], n: usize) -> Vec<Loop> {
    let rings = rings.iter().map(|ring| ring.iter().step_by(n).copied().collect::<Loop>());
    rings.filter(|ring| ring.len() > 2).collect()
}

/// A ring thinned and rounded; `None` when nothing that can be seen is left.
fn coarse(ring: &[Point], thin: f64) -> Option<Loop> {
    let round = |p: &Point| ((p.x * STEPS).round() as i32, (p.y * STEPS).round() as i32);
    let mut points: Loop = thinned(ring, thin).iter().map(round).collect();
    points.dedup();
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    (points.len() > 2).then_some(points)
}

/// The closed ring with points left out that stay within `thin` of the rest, on
/// the two halves between the first point and the one farthest from it.
fn thinned(ring: &[Point], thin: f64) -> Vec<Point> {
    let Some(&start) = ring.first() else { return Vec::new() };
    let away = |i: &usize| ring[*i].distance_squared(start);
    let far = (0..ring.len()).max_by(|a, b| away(a).total_cmp(&away(b))).unwrap_or(0);
    let at = |i: usize| ring[i % ring.len()];
    let half = |places| telling(places, thin, |a, b, i| distance(at(a), at(b), at(i)));
    let mut told = [half(0..=far), half(far..=ring.len())].concat();
    told.dedup();
    told.into_iter().filter(|&i| i < ring.len()).map(at).collect()
}
