//! The round trip of tracing: a known vector face is drawn as pixels, traced
//! back and held against its own outline. Shared by the test and the benchmark.

use std::fs;
use std::io::Cursor;
use std::ops::Range;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use fretgrin::geom::{Region, Ring};
use fretgrin::{art, interpret, trace};
use image::codecs::jpeg::JpegEncoder;
use image::{GrayImage, ImageFormat, Luma};
use kurbo::{Affine, BezPath, ParamCurve as _, ParamCurveArclen as _, ParamCurveDeriv as _, PathSeg, Point, Vec2};
use resvg::{tiny_skia, usvg};

/// The demo faces and the vendored silhouettes: name and SVG.
pub(crate) fn faces() -> Vec<(String, String)> {
    let mut paths: Vec<PathBuf> = ["demo-faces", "tests/silhouettes"]
        .iter()
        .flat_map(|folder| fs::read_dir(format!("{}/{folder}", env!("CARGO_MANIFEST_DIR"))).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "svg"))
        .collect();
    paths.sort();
    let name = |p: &PathBuf| p.file_stem().unwrap().to_string_lossy().into_owned();
    paths.iter().map(|p| (name(p), fs::read_to_string(p).unwrap())).collect()
}

/// How the face gets into pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Way {
    /// Edges blended, black on white.
    Clean,
    /// Every pixel black or white.
    Hard,
    /// Noise of six grey levels, then JPEG of quality 60.
    Jpeg,
    /// Turned by 3.7°, edges blended.
    Turned,
    /// Dark grey on paper lit from one side, a little noise.
    Lit,
}

impl Way {
    /// Degrees the drawing is turned by.
    const fn turn(self) -> f64 {
        if matches!(self, Self::Turned) { 3.7 } else { 0.0 }
    }
}

/// A face in pixels and the outline it was drawn from.
pub(crate) struct Case {
    /// The encoded file.
    pub bytes: Vec<u8>,
    /// What was drawn, in pixels, y down.
    pub truth: Vec<Ring>,
}

/// Draws `svg` with its longer side `size` pixels.
pub(crate) fn draw(svg: &str, size: u32, way: Way) -> Case {
    let tree = usvg::Tree::from_str(svg, &usvg::Options::default()).unwrap();
    let (width, height) = (f64::from(tree.size().width()), f64::from(tree.size().height()));
    let scale = f64::from(size) / width.max(height);
    // Turned, its corners reach out of the page.
    let spare = if way == Way::Turned { 0.06 * f64::from(size) } else { 0.0 };
    let turn = Affine::rotate_about(way.turn().to_radians(), Point::new(width / 2.0, height / 2.0));
    let lay = Affine::translate((spare, spare)) * Affine::scale(scale) * turn;
    let [a, b, c, d, e, f] = lay.as_coeffs().map(|v| v as f32);
    let side = |length: f64| (length * scale + 2.0 * spare) as u32;
    let mut pixels = tiny_skia::Pixmap::new(side(width), side(height)).unwrap();
    pixels.fill(tiny_skia::Color::WHITE);
    resvg::render(&tree, tiny_skia::Transform::from_row(a, b, c, d, e, f), &mut pixels.as_mut());
    let clean = GrayImage::from_fn(pixels.width(), pixels.height(), |x, y| Luma([pixels.pixel(x, y).unwrap().red()]));
    let bytes = spoilt(clean, way);
    let region = region(svg);
    let to_pixels = lay * Affine::scale(width / region.1);
    let truth = region.0.pieces.iter().flat_map(|p| p.rings()).map(|r| r.transformed(to_pixels)).collect();
    Case { bytes, truth }
}

/// What is dark in the drawing, in art units, and the page's width in them.
fn region(svg: &str) -> (Region, f64) {
    let art = art::read(svg.as_bytes(), "face.svg", &art::Options::default()).unwrap().value;
    let reading = Some(interpret::Reading::Dark);
    let options = interpret::Options { reading, keep_specks: true, ..interpret::Options::default() };
    let cutting = interpret::interpret(&art, &options).unwrap().value;
    let pieces = cutting.openings.into_iter().map(|o| o.piece).collect();
    (Region { pieces }, art.page.unwrap().width())
}

fn spoilt(mut picture: GrayImage, way: Way) -> Vec<u8> {
    let mut noise = Noise(1);
    let (width, height) = (f64::from(picture.width()), f64::from(picture.height()));
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let level = f64::from(pixel.0[0]);
        let spoilt = match way {
            Way::Clean | Way::Turned => level,
            Way::Hard => 255.0 * (level / 255.0).round(),
            Way::Jpeg => level + noise.next(6.0),
            Way::Lit => {
                let light = 1.0 - 0.55 * (0.6 * f64::from(x) / width + 0.4 * f64::from(y) / height);
                light * (30.0 + level * 225.0 / 255.0) + noise.next(1.5)
            }
        };
        pixel.0[0] = spoilt.round().clamp(0.0, 255.0) as u8;
    }
    let mut bytes = Cursor::new(Vec::new());
    if way == Way::Jpeg {
        picture.write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 60)).unwrap();
    } else {
        picture.write_to(&mut bytes, ImageFormat::Png).unwrap();
    }
    bytes.into_inner()
}

/// Noise of a bell shape, the same every time (sum of twelve uniform draws of a
/// linear congruential generator; Knuth's MMIX constants).
struct Noise(u64);

impl Noise {
    fn next(&mut self, deviation: f64) -> f64 {
        let mut uniform = || {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 11) as f64 / (1u64 << 53) as f64
        };
        deviation * ((0..12).map(|_| uniform()).sum::<f64>() - 6.0)
    }
}

/// Traces with the program's own tracer.
pub(crate) fn ours(case: &Case) -> (BezPath, Duration) {
    let start = Instant::now();
    let traced = trace::trace(&case.bytes, "face.png", &trace::Options::default()).unwrap();
    (traced.value.path, start.elapsed())
}

/// Traces with a general-purpose tracing library: thresholded pixels, its spline
/// mode with the settings its authors' own program uses by default.
pub(crate) fn theirs(case: &Case) -> (BezPath, Duration) {
    use visioncortex::{BinaryImage, CompoundPathElement, PathSimplifyMode};
    let start = Instant::now();
    let picture = image::load_from_memory(&case.bytes).unwrap().to_luma8();
    let mut image = BinaryImage::new_w_h(picture.width() as usize, picture.height() as usize);
    for (x, y, pixel) in picture.enumerate_pixels() {
        image.set_pixel(x as usize, y as usize, pixel.0[0] < 128);
    }
    let mut path = BezPath::new();
    let at = |p: &visioncortex::PointF64| Point::new(p.x, p.y);
    for cluster in image.to_clusters(false).iter().filter(|c| c.size() >= 16) {
        let compound =
            cluster.to_compound_path(PathSimplifyMode::Spline, 60f64.to_radians(), 4.0, 10, 45f64.to_radians());
        for element in compound.iter() {
            let CompoundPathElement::Spline(spline) = element else { continue };
            path.move_to(at(&spline.points[0]));
            for c in spline.points[1..].chunks_exact(3) {
                path.curve_to(at(&c[0]), at(&c[1]), at(&c[2]));
            }
            path.close_path();
        }
    }
    (path, start.elapsed())
}

/// How a traced outline compares with the drawn one; lengths in pixels.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Score {
    /// Half of the outline is nearer than this.
    pub median: f64,
    /// Nineteen twentieths are.
    pub most: f64,
    /// The farthest spot of either outline from the other, where what is drawn
    /// (or left) is at least a pixel thick: less than that no pixel need show.
    pub worst: f64,
    /// Where that is.
    pub worst_at: Point,
    /// Corners drawn, those found within a pixel, and corners where none is drawn.
    pub corners: (usize, usize, usize),
    /// Segments drawn and traced.
    pub segments: (usize, usize),
}

/// Holds `path` against `truth`.
pub(crate) fn score(truth: &[Ring], path: &BezPath) -> Score {
    let traced = Ring::all_of(path);
    let (drawn_line, traced_line) = (Line::of(truth), Line::of(&traced));
    let mut off = traced_line.distances_to(&drawn_line);
    off.extend(drawn_line.distances_to(&traced_line));
    off.sort_by(|a, b| a.0.total_cmp(&b.0));
    let share = |part: f64| off[((off.len() - 1) as f64 * part) as usize].0;
    let seen = |p: Point| drawn_line.thickness(p) >= 1.0;
    let (worst, worst_at) = off.iter().rev().copied().find(|o| seen(o.1)).unwrap_or_default();
    let count = |rings: &[Ring]| rings.iter().map(|r| r.segs().len()).sum();
    Score {
        median: share(0.5),
        most: share(0.95),
        worst,
        worst_at,
        corners: corners_kept(truth, &traced),
        segments: (count(truth), count(&traced)),
    }
}

/// Drawn corners, found ones, and false ones.
fn corners_kept(truth: &[Ring], traced: &[Ring]) -> (usize, usize, usize) {
    // A corner worth keeping: bent by 40° or more, its sides at least 6 px long,
    // and 15° wide or more: a thinner one is under a pixel for four pixels.
    let drawn = bends(truth, 40.0..165.0, 6.0);
    let (found, any) = (bends(traced, 20.0..181.0, 0.0), bends(truth, 10.0..181.0, 0.0));
    let near = |list: &[Point], p: &Point, reach: f64| list.iter().any(|q| q.distance(*p) <= reach);
    let kept = drawn.iter().filter(|p| near(&found, p, 1.0)).count();
    let sharp = bends(traced, 40.0..165.0, 6.0);
    (drawn.len(), kept, sharp.iter().filter(|p| !near(&any, p, 2.0)).count())
}

/// Joints of the rings bent by so many degrees between sides at least `side`
/// long.
fn bends(rings: &[Ring], degrees: Range<f64>, side: f64) -> Vec<Point> {
    let mut found = Vec::new();
    for ring in rings {
        let segs = ring.segs();
        for (i, seg) in segs.iter().enumerate() {
            let before = &segs[(i + segs.len() - 1) % segs.len()];
            let length = |s: &PathSeg| s.arclen(0.1);
            let (inward, outward) = (tangent(before, 1.0), tangent(seg, 0.0));
            let bend = inward.cross(outward).atan2(inward.dot(outward)).abs().to_degrees();
            if degrees.contains(&bend) && length(before) >= side && length(seg) >= side {
                found.push(seg.start());
            }
        }
    }
    found
}

fn tangent(seg: &PathSeg, t: f64) -> Vec2 {
    let at = |t: f64| seg.to_cubic().deriv().eval(t).to_vec2();
    let exact = at(t);
    if exact.hypot() > 1e-6 { exact } else { at(if t < 0.5 { 0.01 } else { 0.99 }) }
}

/// Side of the squares edges are sorted into, px.
const CELL: f64 = 8.0;

/// Outlines as edges, sorted into squares.
struct Line {
    edges: Vec<(Point, Point)>,
    cells: Vec<Vec<u32>>,
    across: i64,
    down: i64,
}

impl Line {
    fn of(rings: &[Ring]) -> Self {
        let edges: Vec<(Point, Point)> =
            rings.iter().flat_map(|r| r.flatten(0.01).edges().collect::<Vec<_>>()).collect();
        let far = edges.iter().fold((0.0, 0.0), |(x, y): (f64, f64), e| (x.max(e.0.x), y.max(e.0.y)));
        let (across, down) = ((far.0 / CELL) as i64 + 2, (far.1 / CELL) as i64 + 2);
        let mut line = Self { edges, cells: vec![Vec::new(); (across * down) as usize], across, down };
        for i in 0..line.edges.len() {
            let (a, b) = line.edges[i];
            let steps = (a.distance(b) / (CELL / 2.0)).ceil().max(1.0) as usize;
            for s in 0..=steps {
                let cell = line.cell(a.lerp(b, s as f64 / steps as f64));
                let list = &mut line.cells[cell];
                if list.last() != Some(&(i as u32)) {
                    list.push(i as u32);
                }
            }
        }
        line
    }

    fn cell(&self, p: Point) -> usize {
        let clamp = |v: f64, most: i64| ((v / CELL) as i64).clamp(0, most - 1);
        (clamp(p.y, self.down) * self.across + clamp(p.x, self.across)) as usize
    }

    /// Distance from spots a quarter pixel apart to `other`, with the spots.
    fn distances_to(&self, other: &Self) -> Vec<(f64, Point)> {
        let mut found = Vec::new();
        for &(a, b) in &self.edges {
            let steps = (a.distance(b) / 0.25).ceil().max(1.0) as usize;
            found.extend((0..steps).map(|s| a.lerp(b, s as f64 / steps as f64)).map(|p| (other.distance(p), p)));
        }
        found
    }

    /// How thick what is drawn is at the edges beside `p`, or the gap there: the
    /// way straight across to the next edge, 1.5 px at most.
    fn thickness(&self, p: Point) -> f64 {
        let near = self.near(p);
        let mut least = 1.5;
        for &(a, b) in near.iter().filter(|e| to_edge(**e, p) < 0.6) {
            let length = a.distance(b).max(1e-9);
            let across = Vec2::new(a.y - b.y, b.x - a.x) / length;
            // Half a pixel either way, too: at a tip itself there is no across.
            for shift in [-0.5, 0.0, 0.5] {
                let part = (fretgrin::geom::flat::nearest_fraction(a, b, p) + shift / length).clamp(0.0, 1.0);
                let foot = a.lerp(b, part);
                let hit = |way: Vec2| near.iter().filter_map(|e| along(foot, way, *e)).fold(1.5, f64::min);
                least = hit(across).min(hit(-across)).min(least);
            }
        }
        least
    }

    /// Edges within about a square of `p`.
    fn near(&self, p: Point) -> Vec<(Point, Point)> {
        let (x, y) = ((p.x / CELL) as i64, (p.y / CELL) as i64);
        let cells = (y - 1..=y + 1).flat_map(|cy| (x - 1..=x + 1).map(move |cx| (cx, cy)));
        let inside = cells.filter(|&(cx, cy)| (0..self.across).contains(&cx) && (0..self.down).contains(&cy));
        inside
            .flat_map(|(cx, cy)| &self.cells[(cy * self.across + cx) as usize])
            .map(|&i| self.edges[i as usize])
            .collect()
    }

    fn distance(&self, p: Point) -> f64 {
        let (x, y) = ((p.x / CELL) as i64, (p.y / CELL) as i64);
        let mut best = f64::MAX;
        for reach in 1..6 {
            for cy in (y - reach).max(0)..=(y + reach).min(self.down - 1) {
                for cx in (x - reach).max(0)..=(x + reach).min(self.across - 1) {
                    for &i in &self.cells[(cy * self.across + cx) as usize] {
                        best = best.min(to_edge(self.edges[i as usize], p));
                    }
                }
            }
            // Edges are sorted by spots half a square apart.
            if best < (reach as f64 - 0.5) * CELL {
                break;
            }
        }
        best.min(6.0 * CELL)
    }
}

fn to_edge((a, b): (Point, Point), p: Point) -> f64 {
    a.lerp(b, fretgrin::geom::flat::nearest_fraction(a, b, p)).distance(p)
}

/// How far from `from` along `way` the edge is met; `None` when it is not, or
/// right at the start.
fn along(from: Point, way: Vec2, (a, b): (Point, Point)) -> Option<f64> {
    let edge = b - a;
    let cross = way.cross(edge);
    if cross.abs() < 1e-12 {
        return None;
    }
    let (t, u) = ((a - from).cross(edge) / cross, (a - from).cross(way) / cross);
    (t > 1e-3 && (-1e-9..=1.0 + 1e-9).contains(&u)).then_some(t)
}
