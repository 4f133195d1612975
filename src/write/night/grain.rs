//! The figure of a flat-sawn softwood board, drawn from the tree: growth rings
//! as cones about a wandering pith, cut by the board's face.

use kurbo::{Point, Vec2};

use crate::face::Face;

/// Spacing of the growth rings, mm, and how it varies.
const RING: f32 = 2.9;
/// Depth of the pith behind the board's face, mm.
const PITH: f32 = 34.0;
/// How much the tree thins with height, mm a mm: makes the arches.
const TAPER: f32 = 0.055;

/// The figure of one board.
pub(super) struct Grain {
    along: Vec2,
    center: Point,
}

impl Grain {
    pub(super) fn of(face: &Face) -> Self {
        let along = Vec2::from_angle(face.panel.grain_deg.to_radians());
        Self { along, center: face.panel.center() }
    }

    /// Reflectance of the front at `p`, linear.
    pub(super) fn at(&self, p: Point) -> [f32; 3] {
        let from = p - self.center;
        let u = from.dot(self.along) as f32;
        let v = from.cross(self.along) as f32;
        let wander = 9.0 * noise(u / 95.0, 3.0, 1) + 2.2 * noise(u / 31.0, v / 17.0, 2);
        let off = v + 11.0 + wander;
        let radius = (off * off + PITH * PITH).sqrt() - TAPER * u + 40.0;
        let ring = radius / RING + 2.1 * noise(radius / 13.0, 7.0, 3);
        // Early wood is pale; late wood darkens slowly and ends in a sharp line.
        let part = ring - ring.floor();
        let late = part * part * part * (1.0 - smooth(((part - 0.93) / 0.07).clamp(0.0, 1.0)));
        let fibre = noise(u / 19.0, v / 0.42, 4) * 0.6 + noise(u / 7.0, v / 0.9, 5) * 0.4;
        let strength = 0.16 + 0.22 * noise(u / 140.0, ring.floor() * 0.73, 8);
        let tone = 0.80 - strength * late + 0.11 * (fibre - 0.5) + 0.12 * (noise(u / 70.0, v / 24.0, 6) - 0.5);
        [0.46 * tone, 0.255 * tone * tone.sqrt(), 0.135 * tone * tone]
    }
}

/// Smooth noise, 0 to 1, one bump a unit.
fn noise(x: f32, y: f32, seed: u32) -> f32 {
    let (i, j) = (whole(x), whole(y));
    let (fx, fy) = (smooth(x - i as f32), smooth(y - j as f32));
    let at = |dx: i32, dy: i32| hash(i + dx, j + dy, seed);
    let top = at(0, 0) + (at(1, 0) - at(0, 0)) * fx;
    let low = at(0, 1) + (at(1, 1) - at(0, 1)) * fx;
    top + (low - top) * fy
}

/// The whole number at or below `x`. On processors without an instruction for
/// it `floor` is a call, and took a fifth of the whole picture's time.
fn whole(x: f32) -> i32 {
    let toward_zero = x as i32;
    toward_zero - i32::from(x < toward_zero as f32)
}

fn smooth(t: f32) -> f32 {
    t * t * (3.0 - 2.0 * t)
}

/// A fixed number, 0 to 1, for each corner of the noise's grid.
fn hash(x: i32, y: i32, seed: u32) -> f32 {
    let mut h =
        (x as u32).wrapping_mul(0x8da6_b343) ^ (y as u32).wrapping_mul(0xd816_3841) ^ seed.wrapping_mul(0xcb1a_b31f);
    h = (h ^ (h >> 15)).wrapping_mul(0x2c1b_3c6d);
    h = (h ^ (h >> 12)).wrapping_mul(0x297a_2d39);
    (h >> 8) as f32 / 16_777_216.0
}
