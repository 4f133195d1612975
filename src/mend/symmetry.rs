//! Mirror symmetry about an upright axis: found within a tolerance, then kept.

use kurbo::{Affine, Point};

use super::wood::{Bound, Wood};

/// An upright mirror axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mirror {
    /// Its place from the panel's left edge, mm.
    pub axis: f64,
}

/// How far the mirrored outline may lie from the outline for the face to count
/// as symmetric, mm. About a blade's wander: less cannot be seen in the sawn
/// wood (common practice, no source).
const TOLERANCE: f64 = 0.4;

/// Spots along a ring, on its straights too: corners alone would mirror onto any straight
/// as high or low as they.
fn spots(ring: &Bound) -> impl Iterator<Item = Point> {
    /// Distance between them, mm. Ours.
    const APART: f64 = 1.0;
    (0..ring.points.len()).flat_map(move |i| {
        let (a, b) = ring.edge(i);
        let count = (a.distance(b) / APART).ceil().max(1.0);
        (0..count as u32).map(move |k| a.lerp(b, f64::from(k) / count))
    })
}

impl Mirror {
    /// The mirror image of a point.
    #[must_use]
    pub fn of(&self, p: Point) -> Point {
        Point::new(2.0 * self.axis - p.x, p.y)
    }

    /// The mirroring as an affine map.
    #[must_use]
    pub fn affine(&self) -> Affine {
        Affine::new([-1.0, 0.0, 0.0, 1.0, 2.0 * self.axis, 0.0])
    }

    /// The axis of `wood`'s openings, when they are mirror-symmetric within
    /// [`TOLERANCE`]. The panel's own edges do not count.
    #[must_use]
    pub fn find(wood: &Wood, width: f64, height: f64) -> Option<Self> {
        let on_edge = |p: &Point| p.x < 1e-3 || p.y < 1e-3 || p.x > width - 1e-3 || p.y > height - 1e-3;
        let points = || wood.rings.iter().flat_map(spots).filter(|p| !on_edge(p));
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for p in points() {
            low = low.min(p.x);
            high = high.max(p.x);
        }
        if low >= high {
            return None;
        }
        let mirror = Self { axis: f64::midpoint(low, high) };
        let matched = |p: Point| wood.grid.nearest(mirror.of(p), TOLERANCE, |_| true).is_some();
        points().all(matched).then_some(mirror)
    }

    /// For each node the node it mirrors to: the one of like area whose centre
    /// lies nearest the mirrored centre. `None` when a node has no partner.
    #[must_use]
    pub fn partners(&self, wood: &Wood) -> Option<Vec<usize>> {
        let partner = |node: usize| {
            let image = self.of(wood.nodes[node].center);
            let off = |other: usize| wood.nodes[other].center.distance(image);
            let area = |node: usize| wood.nodes[node].area;
            // Centres may coincide, as those of a pupil and the panel round it.
            let like = |&other: &usize| (area(node) - area(other)).abs() < 0.1 * area(node).max(area(other)) + 1.0;
            let other = (0..wood.nodes.len()).filter(like).min_by(|&a, &b| off(a).total_cmp(&off(b)))?;
            (off(other) < 2.0).then_some(other)
        };
        let partners: Option<Vec<usize>> = (0..wood.nodes.len()).map(partner).collect();
        partners.filter(|p| p.iter().enumerate().all(|(node, &other)| p[other] == node))
    }
}

#[cfg(test)]
mod tests {
    use kurbo::BezPath;

    use super::super::tests::of;
    use super::*;

    fn axis(svg: &str) -> Option<f64> {
        let face = of(&BezPath::from_svg(svg).unwrap());
        Mirror::find(&Wood::of(&face), face.panel.width.get(), face.panel.height.get()).map(|mirror| mirror.axis)
    }

    #[test]
    fn straight_edges_count_between_their_corners() {
        // The corners of a block E all mirror onto its straights.
        assert_eq!(axis("M20 60H80V80H40V90H80V110H40V120H80V140H20Z"), None, "a block E");
        assert_eq!(axis("M20 60H35V90H65V60H80V140H65V110H35V140H20Z"), Some(50.0), "a block H");
    }
}
