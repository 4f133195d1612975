//! Growing and shrinking areas, on polylines. For analysis and display; printed
//! outlines never come from here. The only other file that knows `i_overlay`.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::simplify::SimplifyShape;
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use i_overlay::mesh::float::style::{LineJoin, OutlineStyle};
use kurbo::{Point, Rect};

use super::flat::bounds;
use super::ring::{Piece, Region};

/// Angle of one facet of a round join, radians. The facet lies inside the true
/// arc by `radius × angle² / 8`: 0.003 mm at a radius of 2 mm.
const JOIN_FACET: f64 = 0.11;

/// A connected area as polylines: the outer ring anticlockwise, then the holes
/// clockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// Rings, the outer one first; none empty.
    pub rings: Vec<Vec<Point>>,
}

impl Patch {
    /// `piece` within `tolerance` mm.
    #[must_use]
    pub fn of(piece: &Piece, tolerance: f64) -> Self {
        Self { rings: piece.rings().map(|ring| ring.flatten(tolerance).points).collect() }
    }

    /// The outer ring.
    #[must_use]
    pub fn outer(&self) -> &[Point] {
        &self.rings[0]
    }

    /// Area in mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        self.rings.iter().map(|ring| shoelace(ring)).sum()
    }

    /// Bounding box.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        bounds(self.outer())
    }

    /// Every edge of every ring.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.rings.iter().flat_map(|ring| (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()])))
    }

    /// Whether `p` lies inside; undefined on the boundary itself.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        let right = |&(a, b): &(Point, Point)| {
            (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x
        };
        self.edges().filter(right).count() % 2 == 1
    }
}

fn shoelace(ring: &[Point]) -> f64 {
    let origin = ring[0];
    (0..ring.len()).map(|i| (ring[i] - origin).cross(ring[(i + 1) % ring.len()] - origin)).sum::<f64>() / 2.0
}

/// `region` as patches within `tolerance` mm.
#[must_use]
pub fn patches(region: &Region, tolerance: f64) -> Vec<Patch> {
    region.pieces.iter().map(|piece| Patch::of(piece, tolerance)).collect()
}

/// The area within `distance` of `patches` (positive), or farther than
/// `-distance` from their outside (negative). Corners become arcs. Splits and
/// joins pieces as needed; empty where nothing is left.
#[must_use]
pub fn offset(patches: &[Patch], distance: f64) -> Vec<Patch> {
    let shapes: Vec<Vec<Vec<[f64; 2]>>> = patches.iter().map(to_shape).collect();
    let style = OutlineStyle::new(distance).line_join(LineJoin::Round(JOIN_FACET));
    from_shapes(shapes.outline(&style))
}

/// The union of `patches`, each point that is in an odd or even number of them.
#[must_use]
pub fn merge(patches: &[Patch]) -> Vec<Patch> {
    let shapes: Vec<Vec<Vec<[f64; 2]>>> = patches.iter().map(to_shape).collect();
    from_shapes(shapes.simplify_shape(FillRule::NonZero))
}

fn to_shape(patch: &Patch) -> Vec<Vec<[f64; 2]>> {
    patch.rings.iter().map(|ring| ring.iter().map(|p| [p.x, p.y]).collect()).collect()
}

fn from_shapes(shapes: Vec<Vec<Vec<[f64; 2]>>>) -> Vec<Patch> {
    let ring = |contour: Vec<[f64; 2]>| -> Vec<Point> { contour.iter().map(|p| Point::new(p[0], p[1])).collect() };
    shapes
        .into_iter()
        .map(|shape| Patch { rings: shape.into_iter().map(ring).filter(|r| r.len() > 2).collect() })
        .filter(|patch| !patch.rings.is_empty())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::boolean::{Rule, resolve};
    use kurbo::{BezPath, Circle, Shape};
    use std::f64::consts::PI;

    fn patch(svg: &str) -> Patch {
        Patch::of(&resolve(&BezPath::from_svg(svg).unwrap(), Rule::EvenOdd).pieces[0], 0.01)
    }

    #[test]
    fn a_circle_shrinks_and_grows_by_the_distance() {
        let circle = resolve(&Circle::new((50.0, 50.0), 20.0).to_path(1e-6), Rule::NonZero);
        for d in [-3.0, 3.0_f64] {
            let area: f64 = offset(&patches(&circle, 0.001), d).iter().map(Patch::area).sum();
            let want = PI * (20.0 + d).powi(2);
            assert!((area - want).abs() < want * 1e-3, "{area} against {want}");
        }
    }

    #[test]
    fn a_dumbbell_parts_when_its_bar_is_gone() {
        let dumbbell = patch("M0 0h10v4h10v-4h10v10h-10v-4h-10v4h-10z");
        assert_eq!(offset(std::slice::from_ref(&dumbbell), -0.9).len(), 1, "the bar is 2 wide");
        assert_eq!(offset(&[dumbbell], -1.1).len(), 2, "two lobes");
    }

    #[test]
    fn holes_grow_when_the_piece_shrinks() {
        let frame = patch("M0 0h40v40h-40z M10 10h20v20h-20z");
        assert!(!frame.contains(Point::new(20.0, 20.0)) && frame.contains(Point::new(5.0, 20.0)), "hole is outside");
        let less: f64 = offset(&[frame], -1.0).iter().map(Patch::area).sum();
        let want = 38.0 * 38.0 - (20.0 * 20.0 + 4.0 * 20.0 + PI);
        assert!((less - want).abs() < 0.02, "{less} against {want}");
    }
}
