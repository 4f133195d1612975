//! Whether the panel swings past the saw's arm.
//!
//! A flat blade saws one way, so the panel is turned about it, and every corner
//! of the panel may have to pass behind the blade: the farthest distance from a
//! cut to a corner must be within the throat. A spiral blade saws every way with
//! the panel held one way round; only the wood behind the cut counts, for the
//! best of the four ways.

use kurbo::Point;

use super::Throat;
use super::options::Options;
use super::site::{EDGE, Site};

/// The farthest reach of the face; `None` without cut-outs.
pub(crate) fn throat(site: &Site<'_>, options: &Options) -> Option<Throat> {
    let rotates = options.blade.needs_rotation();
    let cuts: Vec<Point> =
        (0..site.all.len()).filter(|&i| site.all.ring_of(i) != EDGE).map(|i| site.all.point(i)).collect();
    let (reach, from, corner) = if rotates { farthest(site, &cuts)? } else { one_way(site, &cuts)? };
    Some(Throat { reach, from, corner, depth: options.throat.get(), rotates })
}

fn corners(site: &Site<'_>) -> [Point; 4] {
    let panel = site.face.panel.rect();
    [(panel.x0, panel.y0), (panel.x1, panel.y0), (panel.x1, panel.y1), (panel.x0, panel.y1)].map(Point::from)
}

fn farthest(site: &Site<'_>, cuts: &[Point]) -> Option<(f64, Point, Point)> {
    let pairs = corners(site).into_iter().flat_map(|corner| cuts.iter().map(move |&p| (p.distance(corner), p, corner)));
    pairs.max_by(|a, b| a.0.total_cmp(&b.0))
}

/// The least, over the four ways to hold the panel, of the most wood behind a cut.
fn one_way(site: &Site<'_>, cuts: &[Point]) -> Option<(f64, Point, Point)> {
    let panel = site.face.panel.rect();
    let behind: [fn(Point, kurbo::Rect) -> f64; 4] =
        [|p, r| p.y - r.y0, |p, r| r.x1 - p.x, |p, r| r.y1 - p.y, |p, r| p.x - r.x0];
    let most = |(way, corner): (fn(Point, kurbo::Rect) -> f64, Point)| {
        let reaches = cuts.iter().map(move |&p| (way(p, panel), p, corner));
        reaches.max_by(|a, b| a.0.total_cmp(&b.0))
    };
    behind.into_iter().zip(corners(site)).filter_map(most).min_by(|a, b| a.0.total_cmp(&b.0))
}
