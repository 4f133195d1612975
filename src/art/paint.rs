//! How dark a paint looks.

use kurbo::{Affine, BezPath, Point, Rect, Shape};
use usvg::{Color, Paint, SpreadMethod, Stop};

/// How a paint looks on a shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tone {
    /// 0 white to 1 black.
    pub(super) darkness: f64,
    /// 0 clear to 1 opaque.
    pub(super) opacity: f64,
}

/// Points a side of the grid on which a gradient is averaged.
const GRID: u32 = 16;
/// Outlines with more segments than this average over their box instead.
const INSIDE_TEST: usize = 2000;

/// The tone of `paint` on `shape`, both in the shape's own coordinates, and
/// whether it is divided, so that one tone is not what it shows.
pub(super) fn tone(paint: &Paint, opacity: f64, shape: &BezPath) -> (Tone, bool) {
    let (plain, divided) = match paint {
        Paint::Color(color) => (Tone { darkness: darkness(*color), opacity: 1.0 }, false),
        Paint::LinearGradient(_) | Paint::RadialGradient(_) => {
            let tones = tones(paint, shape);
            (mean(&tones), is_divided(&tones))
        }
        Paint::Pattern(pattern) => (coverage(pattern), false),
    };
    (Tone { darkness: plain.darkness, opacity: plain.opacity * opacity }, divided)
}

/// A gradient is divided when at least this part of the shape is dark and at
/// least this part is light. Ours: less is a highlight or a soft edge.
const DIVIDED: f64 = 0.1;

fn is_divided(tones: &[Tone]) -> bool {
    let dark = tones.iter().filter(|t| t.darkness * t.opacity >= 0.5).count() as f64;
    let count = tones.len() as f64;
    dark > DIVIDED * count && count - dark > DIVIDED * count
}

/// The tones of a gradient over `shape`, none for other paints.
fn tones(paint: &Paint, shape: &BezPath) -> Vec<Tone> {
    match paint {
        Paint::LinearGradient(g) => {
            let (from, to) = (point(g.x1(), g.y1()), point(g.x2(), g.y2()));
            let along = to - from;
            let length = along.hypot2().max(f64::MIN_POSITIVE);
            sampled(shape, affine(g.transform()), g.stops(), g.spread_method(), |p| (p - from).dot(along) / length)
        }
        Paint::RadialGradient(g) => {
            // The focus moves the tones about but hardly their mean.
            let (centre, radius) = (point(g.cx(), g.cy()), f64::from(g.r().get()).max(f64::MIN_POSITIVE));
            sampled(shape, affine(g.transform()), g.stops(), g.spread_method(), |p| p.distance(centre) / radius)
        }
        Paint::Color(_) | Paint::Pattern(_) => Vec::new(),
    }
}

/// Darkness as the eye has it: one less the CIE 1976 lightness L*, which makes
/// middle grey middling (CIE 15:2004, 8.2.1; sRGB decoding per IEC 61966-2-1).
pub(super) fn darkness(color: Color) -> f64 {
    let linear = |channel: u8| {
        let c = f64::from(channel) / 255.0;
        if c <= 0.040_45 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
    };
    let luminance = 0.2126 * linear(color.red) + 0.7152 * linear(color.green) + 0.0722 * linear(color.blue);
    let lightness =
        if luminance <= 216.0 / 24389.0 { luminance * 24389.0 / 27.0 } else { 116.0 * libm::cbrt(luminance) - 16.0 };
    (1.0 - lightness / 100.0).clamp(0.0, 1.0)
}

pub(super) fn affine(t: usvg::Transform) -> Affine {
    Affine::new([t.sx, t.ky, t.kx, t.sy, t.tx, t.ty].map(f64::from))
}

fn point(x: f32, y: f32) -> Point {
    Point::new(x.into(), y.into())
}

/// The tones over `shape` of a gradient whose offset at a point of its own
/// space is `offset`; where no point is met, the one in the middle.
fn sampled(
    shape: &BezPath,
    own: Affine,
    stops: &[Stop],
    spread: SpreadMethod,
    offset: impl Fn(Point) -> f64,
) -> Vec<Tone> {
    let bounds = shape.bounding_box();
    let exact = shape.elements().len() <= INSIDE_TEST;
    let back = if own.determinant().abs() > 1e-30 { own.inverse() } else { Affine::IDENTITY };
    let met = grid(bounds).filter(|&p| !exact || shape.winding(p) != 0);
    let tones: Vec<Tone> = met.map(|p| at_offset(stops, spread_into(offset(back * p), spread))).collect();
    if tones.is_empty() { vec![at_offset(stops, 0.5)] } else { tones }
}

/// The mean of `tones`.
fn mean(tones: &[Tone]) -> Tone {
    let count = (tones.len() as f64).max(1.0);
    let opaque: f64 = tones.iter().map(|t| t.opacity).sum();
    let dark: f64 = tones.iter().map(|t| t.darkness * t.opacity).sum();
    Tone { darkness: if opaque > 0.0 { dark / opaque } else { 0.0 }, opacity: opaque / count }
}

fn grid(bounds: Rect) -> impl Iterator<Item = Point> {
    let step = move |i: u32| (f64::from(i) + 0.5) / f64::from(GRID);
    (0..GRID * GRID).map(move |i| {
        Point::new(bounds.x0 + bounds.width() * step(i % GRID), bounds.y0 + bounds.height() * step(i / GRID))
    })
}

fn spread_into(offset: f64, spread: SpreadMethod) -> f64 {
    match spread {
        SpreadMethod::Pad => offset.clamp(0.0, 1.0),
        SpreadMethod::Repeat => offset.rem_euclid(1.0),
        SpreadMethod::Reflect => 1.0 - (offset.rem_euclid(2.0) - 1.0).abs(),
    }
}

fn at_offset(stops: &[Stop], offset: f64) -> Tone {
    let tone = |s: &Stop| Tone { darkness: darkness(s.color()), opacity: s.opacity().get().into() };
    let place = |s: &Stop| f64::from(s.offset().get());
    let next = stops.partition_point(|s| place(s) <= offset);
    match (next.checked_sub(1).and_then(|i| stops.get(i)), stops.get(next)) {
        (Some(a), Some(b)) => {
            let part = (offset - place(a)) / (place(b) - place(a)).max(1e-9);
            let (a, b) = (tone(a), tone(b));
            let mix = |x: f64, y: f64| x + (y - x) * part;
            Tone { darkness: mix(a.darkness, b.darkness), opacity: mix(a.opacity, b.opacity) }
        }
        (Some(only), None) | (None, Some(only)) => tone(only),
        (None, None) => Tone { darkness: 0.0, opacity: 0.0 },
    }
}

/// A pattern as one flat tone: its shapes' darkness over its tile. Overlaps
/// count twice; the finding that goes with it says the tone is a guess.
fn coverage(pattern: &usvg::Pattern) -> Tone {
    let tile = f64::from(pattern.rect().width()) * f64::from(pattern.rect().height());
    let (mut dark, mut opaque) = (0.0, 0.0);
    let mut left = vec![pattern.root()];
    while let Some(group) = left.pop() {
        for node in group.children() {
            match node {
                usvg::Node::Group(g) => left.push(g),
                usvg::Node::Path(path) => {
                    let fill = path.fill().map(|f| (f.paint(), f64::from(f.opacity().get())));
                    if let Some((Paint::Color(color), opacity)) = fill {
                        let part = path_of(path.data()).area().abs() * affine(path.abs_transform()).determinant().abs();
                        dark += darkness(*color) * opacity * part;
                        opaque += opacity * part;
                    }
                }
                _ => {}
            }
        }
    }
    let darkness = if opaque > 0.0 { dark / opaque } else { 0.0 };
    Tone { darkness, opacity: (opaque / tile.max(f64::MIN_POSITIVE)).min(1.0) }
}

/// The library's path as one of ours.
pub(super) fn path_of(data: &usvg::tiny_skia_path::Path) -> BezPath {
    use usvg::tiny_skia_path::PathSegment;
    let at = |p: usvg::tiny_skia_path::Point| point(p.x, p.y);
    let mut path = BezPath::new();
    for segment in data.segments() {
        match segment {
            PathSegment::MoveTo(p) => path.move_to(at(p)),
            PathSegment::LineTo(p) => path.line_to(at(p)),
            PathSegment::QuadTo(a, p) => path.quad_to(at(a), at(p)),
            PathSegment::CubicTo(a, b, p) => path.curve_to(at(a), at(b), at(p)),
            PathSegment::Close => path.close_path(),
        }
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn darkness_follows_the_eye() {
        let dark = |r, g, b| darkness(Color::new_rgb(r, g, b));
        assert!((dark(0, 0, 0) - 1.0).abs() < 1e-9 && dark(255, 255, 255).abs() < 1e-6, "black and white");
        // L* of sRGB middle grey is 53.59, of pure red 53.24, of pure blue 32.30.
        for (rgb, lightness) in [((128, 128, 128), 53.59), ((255, 0, 0), 53.24), ((0, 0, 255), 32.30)] {
            assert!((dark(rgb.0, rgb.1, rgb.2) - (1.0 - lightness / 100.0)).abs() < 1e-4, "{rgb:?}");
        }
    }

    #[test]
    fn a_gradient_is_divided_when_both_its_parts_count() {
        let tones = |dark: usize| {
            let tone = |i| Tone { darkness: if i < dark { 1.0 } else { 0.0 }, opacity: 1.0 };
            (0..20).map(tone).collect::<Vec<_>>()
        };
        let divided: Vec<usize> = (0..=20).filter(|&dark| is_divided(&tones(dark))).collect();
        assert_eq!(divided, (3..=17).collect::<Vec<_>>());
    }

    #[test]
    fn offsets_beyond_the_ends() {
        let cases =
            [(SpreadMethod::Pad, 1.25, 1.0), (SpreadMethod::Repeat, 1.25, 0.25), (SpreadMethod::Reflect, 1.25, 0.75)];
        for (spread, offset, want) in cases {
            assert!((spread_into(offset, spread) - want).abs() < 1e-12, "{spread:?}");
        }
        assert!((spread_into(-0.25, SpreadMethod::Reflect) - 0.25).abs() < 1e-12, "reflected below");
    }
}
