//! The face at night: the panel from the front, a lamp behind it.
//!
//! A picture to show, not to measure: the light, the glow and the grain are
//! drawn to look right. What is true to size is the outline of the openings, and
//! how much of each the thickness of the board hides from a viewer who stands
//! a little to one side.

mod glow;
mod grain;

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder as _};
use kurbo::{Affine, BezPath, PathEl, Point};
use resvg::tiny_skia::{FillRule, Mask, Path, PathBuilder, Transform};

use crate::diag::Error;
use crate::face::Face;
use glow::{Light, Plane};
use grain::Grain;

/// How the picture is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Height of the picture, pixels.
    pub height_px: u32,
    /// Dark left round the panel, as a part of the panel's height.
    pub border: f64,
    /// Distance of the viewer's eye from the panel, mm.
    pub distance: f64,
    /// Where the eye is, from the panel's centre, mm right and up.
    pub eye: (f64, f64),
}

impl Default for View {
    /// As somebody sees a lantern they stand before: an arm's length or two
    /// away, a little to the left and above.
    fn default() -> Self {
        Self { height_px: 1200, border: 0.06, distance: 420.0, eye: (-45.0, 50.0) }
    }
}

/// The picture and what it shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Night {
    /// The picture, PNG.
    pub png: Vec<u8>,
    /// Part of the panel's front that is open, 0 to 1.
    pub open_share: f64,
    /// Part of the panel's front where light is seen straight through from
    /// where the viewer stands, 0 to 1; less than what is open, since the
    /// board's thickness hides some.
    pub lit_share: f64,
}

/// Planes through the board's thickness at which its inner walls are drawn.
const SLICES: u32 = 14;
/// Most pixels the picture may have.
const MOST_PIXELS: f64 = 4e7;

/// The picture of `face` at night.
///
/// # Errors
/// [`Error::Sizes`] when the picture would have no pixels or too many;
/// [`Error::Internal`] when it cannot be packed.
pub fn night(face: &Face, view: &View) -> Result<Night, Error> {
    let frame = Frame::of(face, view)?;
    let depth = Depth::of(face, view, &frame);
    let lamp = Lamp::of(face);
    let mut light = Light::new(frame.width, frame.height);
    for y in 0..frame.height {
        for x in 0..frame.width {
            let through = depth.through.data[y * frame.width + x];
            if through > 0.0 {
                light.set(x, y, lamp.at(frame.point(x, y)).map(|c| c * through));
            }
        }
    }
    let glow = light.glow(frame.scale);
    let grain = Grain::of(face);
    let row = |y: usize| {
        let pixel = |x: usize| {
            let p = frame.point(x, y);
            let index = y * frame.width + x;
            let front = if frame.on_panel(face, p) { wood(&grain, &frame, face, p) } else { NIGHT };
            let spot =
                Spot { open: depth.open.data[index], wall: depth.wall.data[index], through: depth.through.data[index] };
            let seen = spot.colour(front, lamp.at(p), glow.at(x, y), frame.on_panel(face, p));
            developed(seen, x, y)
        };
        (0..frame.width).flat_map(pixel).collect()
    };
    let rgb = rows(frame.height, &row);
    let panel = face.panel.rect().area();
    let open: f64 = face.cutouts.iter().map(|cutout| cutout.piece.area()).sum();
    let lit = depth.through.data.iter().map(|&t| f64::from(t)).sum::<f64>() / (frame.scale * frame.scale);
    Ok(Night { png: packed(&rgb, &frame)?, open_share: open / panel, lit_share: lit / panel })
}

/// Every row in order, reckoned side by side: a pixel knows nothing of the others.
fn rows(count: usize, row: &(dyn Fn(usize) -> Vec<u8> + Sync)) -> Vec<u8> {
    const BANDS: usize = 4;
    let bands = |band: usize| band * count / BANDS..(band + 1) * count / BANDS;
    std::thread::scope(|scope| {
        let all: Vec<_> = (0..BANDS).map(|band| scope.spawn(move || bands(band).flat_map(row).collect())).collect();
        let done = |band: std::thread::ScopedJoinHandle<'_, Vec<u8>>| {
            band.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        };
        all.into_iter().flat_map(done).collect()
    })
}

/// Linear light of the dark behind the panel.
const NIGHT: [f32; 3] = [0.0035, 0.0032, 0.0045];
/// The light of a clear night on the front, from above left: cool and weak.
const DUSK: [f32; 3] = [0.105, 0.115, 0.15];
/// Reflectance of the board's sawn inner walls, warm light on soft wood.
const WALL: [f32; 3] = [0.62, 0.36, 0.17];

/// Where the panel lies in the picture.
struct Frame {
    width: usize,
    height: usize,
    /// Pixels a millimetre.
    scale: f64,
    /// The picture's upper-left corner, panel millimetres.
    corner: Point,
}

impl Frame {
    fn of(face: &Face, view: &View) -> Result<Self, Error> {
        let (w, h) = (face.panel.width.get(), face.panel.height.get());
        let border = view.border.clamp(0.0, 1.0) * h;
        let scale = f64::from(view.height_px) / (h + 2.0 * border);
        let width = ((w + 2.0 * border) * scale).round();
        if !(width >= 1.0 && view.height_px >= 1 && width * f64::from(view.height_px) <= MOST_PIXELS) {
            let what = format!("a night picture {width} by {} pixels cannot be drawn", view.height_px);
            return Err(Error::sizes(what, "choose a height between 200 and 4000 pixels"));
        }
        let corner = Point::new(-border, h + border);
        Ok(Self { width: width as usize, height: view.height_px as usize, scale, corner })
    }

    /// The middle of a pixel on the panel, mm.
    fn point(&self, x: usize, y: usize) -> Point {
        let mm = |px: usize| (px as f64 + 0.5) / self.scale;
        Point::new(self.corner.x + mm(x), self.corner.y - mm(y))
    }

    fn on_panel(&self, face: &Face, p: Point) -> bool {
        p.x >= 0.0 && p.y >= 0.0 && p.x <= face.panel.width.get() && p.y <= face.panel.height.get()
    }

    /// From panel millimetres to pixels.
    fn affine(&self) -> Affine {
        Affine::scale_non_uniform(self.scale, -self.scale) * Affine::translate(-self.corner.to_vec2())
    }

    fn mask(&self, path: &BezPath) -> Plane {
        let mask = Mask::new(self.width as u32, self.height as u32).and_then(|mut mask| {
            mask.fill_path(&skia(path)?, FillRule::EvenOdd, true, Transform::identity());
            Some(mask)
        });
        let data = match mask {
            Some(mask) => mask.data().iter().map(|&c| f32::from(c) / 255.0).collect(),
            None => vec![0.0; self.width * self.height],
        };
        Plane { width: self.width, height: self.height, data }
    }
}

fn skia(path: &BezPath) -> Option<Path> {
    let mut to = PathBuilder::new();
    for el in path.elements() {
        let f = |p: &Point| (p.x as f32, p.y as f32);
        match el {
            PathEl::MoveTo(p) => to.move_to(f(p).0, f(p).1),
            PathEl::LineTo(p) => to.line_to(f(p).0, f(p).1),
            PathEl::QuadTo(a, p) => to.quad_to(f(a).0, f(a).1, f(p).0, f(p).1),
            PathEl::CurveTo(a, b, p) => to.cubic_to(f(a).0, f(a).1, f(b).0, f(b).1, f(p).0, f(p).1),
            PathEl::ClosePath => to.close(),
        }
    }
    to.finish()
}

/// What is seen through the openings: how much is open, how deep the inner wall
/// seen there lies, and how much is seen straight through.
struct Depth {
    open: Plane,
    /// 0 at the front, 1 at the back.
    wall: Plane,
    through: Plane,
}

impl Depth {
    /// Fills the openings at planes ever deeper in the board, each drawn
    /// smaller about the viewer's eye; what every plane leaves open is seen
    /// through.
    fn of(face: &Face, view: &View, frame: &Frame) -> Self {
        let openings: BezPath = face.cutouts.iter().flat_map(|cutout| cutout.piece.to_path()).collect();
        let eye = face.panel.center() + kurbo::Vec2::new(view.eye.0, view.eye.1);
        let open = frame.mask(&(frame.affine() * &openings));
        let mut through = open.clone();
        let mut wall = Plane { data: vec![0.0; open.data.len()], ..open };
        for slice in 1..=SLICES {
            let deep = face.panel.thickness.get() * f64::from(slice) / f64::from(SLICES);
            let smaller = view.distance / (view.distance + deep);
            let about = Affine::translate(eye.to_vec2()) * Affine::scale(smaller) * Affine::translate(-eye.to_vec2());
            let here = frame.mask(&(frame.affine() * about * &openings));
            for ((t, w), h) in through.data.iter_mut().zip(&mut wall.data).zip(&here.data) {
                *t = t.min(*h);
                *w += *t / SLICES as f32;
            }
        }
        Self { open, wall, through }
    }
}

/// The lamp in the box: bright in the lower middle, falling off and reddening.
struct Lamp {
    at: Point,
    reach: f64,
}

impl Lamp {
    fn of(face: &Face) -> Self {
        let (w, h) = (face.panel.width.get(), face.panel.height.get());
        Self { at: Point::new(w / 2.0, h * 0.42), reach: 0.5 * w.max(h * 0.6) }
    }

    /// Linear light seen through the panel at `p`.
    fn at(&self, p: Point) -> [f32; 3] {
        let far = ((p - self.at).hypot2() / (self.reach * self.reach)) as f32;
        let near = 1.0 / (1.0 + 0.9 * far + 0.45 * far * far);
        [0.62 + 2.4 * near, 0.17 + 1.32 * near, 0.012 + 0.55 * near * near]
    }
}

/// The front of the board in the dark.
fn wood(grain: &Grain, frame: &Frame, face: &Face, p: Point) -> [f32; 3] {
    let (w, h) = (face.panel.width.get(), face.panel.height.get());
    // Light from above left fades across the board.
    let fade = 0.62 + 0.38 * ((1.0 - p.x / w) * 0.4 + p.y / h * 0.6);
    // A narrow arris along the edges, lit above and left, dark below and right.
    let edge = 0.8 + 0.4 / frame.scale;
    let arris = if p.x < edge || p.y > h - edge {
        1.7
    } else if p.x > w - edge || p.y < edge {
        0.5
    } else {
        1.0
    };
    let albedo = grain.at(p);
    [0, 1, 2].map(|i| albedo[i] * DUSK[i] * (fade * arris) as f32)
}

/// One pixel's share of wood, wall and light.
struct Spot {
    open: f32,
    wall: f32,
    through: f32,
}

impl Spot {
    fn colour(&self, front: [f32; 3], lamp: [f32; 3], glow: [[f32; 3]; 2], on_panel: bool) -> [f32; 3] {
        // Walls catch more light the nearer they lie to the back.
        let deep = if self.open > 0.0 { (self.wall / self.open).min(1.0) } else { 0.0 };
        let caught = 0.10 + 0.55 * deep * deep;
        let mut seen = [0.0; 3];
        for i in 0..3 {
            let [near, far] = glow.map(|g| g[i]);
            // Light that spills over the edges brightens the wood; the rest of
            // the glow is in the eye, over everything.
            let spill = if on_panel { front[i] * (6.5 * near + 9.0 * far) } else { 0.0 };
            let wood = (front[i] + spill) * (1.0 - self.open);
            let wall = WALL[i] * lamp[i] * caught * (self.open - self.through).max(0.0);
            seen[i] = wood + wall + lamp[i] * self.through + 0.045 * near + 0.05 * far;
        }
        seen
    }
}

/// Linear light to the picture's numbers: highlights roll off, then the sRGB
/// curve, with half a step of fixed noise so that dark gradients do not band.
fn developed(seen: [f32; 3], x: usize, y: usize) -> [u8; 3] {
    // Interleaved gradient noise: even, fixed, without clumps.
    let noise = (52.982_918 * (0.067_110_56 * x as f32 + 0.005_837_15 * y as f32).fract()).fract() - 0.5;
    seen.map(|c| {
        let rolled = c / (1.0 + 0.42 * c) * 1.12;
        let curve = if rolled <= 0.003_130_8 { 12.92 * rolled } else { 1.055 * root(rolled) - 0.055 };
        (curve * 255.0 + noise + 0.5).clamp(0.0, 255.0) as u8
    })
}

/// `c` to the power 1/2.4, the sRGB exponent, by square roots alone so that it is the same
/// everywhere: 5/12 = 1/4 + 1/8 + 1/32 + 1/128 + … (to within 0.2 %).
fn root(c: f32) -> f32 {
    let half = c.max(0.0).sqrt();
    let fourth = half.sqrt();
    let eighth = fourth.sqrt();
    let thirty_second = eighth.sqrt().sqrt();
    fourth * eighth * thirty_second * thirty_second.sqrt().sqrt()
}

fn packed(rgb: &[u8], frame: &Frame) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    PngEncoder::new_with_quality(&mut bytes, CompressionType::Fast, FilterType::Sub)
        .write_image(rgb, frame.width as u32, frame.height as u32, ExtendedColorType::Rgb8)
        .map_err(|error| Error::Internal { what: format!("the night picture could not be packed: {error}") })?;
    Ok(bytes)
}

#[cfg(test)]
mod tests;
