//! Outlines made short where nothing looks at them.

use kurbo::{BezPath, ParamCurve, PathSeg, Point, Rect};

use super::ring::{Piece, Ring};

/// Room left round the frame, mm, so that what touches it is kept.
const ROOM: f64 = 0.01;

/// The outlines of `pieces`, true within `frame`; outside it they only go round
/// the frame the way the true ones do.
///
/// Segments that follow each other on one side of the frame (above it, say) are
/// replaced by one line. Their ends and the line lie on that side, a half plane
/// the frame has no part in, so nothing within the frame is wound round
/// otherwise than before.
#[must_use]
pub(super) fn trimmed(pieces: &[&Piece], frame: Rect) -> BezPath {
    let frame = frame.inflate(ROOM, ROOM);
    let mut path = BezPath::new();
    for ring in pieces.iter().flat_map(|piece| piece.rings()) {
        ring_within(ring, frame, &mut path);
    }
    path
}

fn ring_within(ring: &Ring, frame: Rect, path: &mut BezPath) {
    let sides: Vec<u8> = ring.segs().iter().map(|seg| beyond(seg, frame)).collect();
    if sides.iter().fold(u8::MAX, |all, side| all & side) != 0 {
        return;
    }
    let count = sides.len();
    // From a segment in sight on, so that no run goes past the start.
    let start = sides.iter().position(|&side| side == 0).unwrap_or(0);
    path.move_to(ring.segs()[start].start());
    let mut run: Option<(u8, Point)> = None;
    for i in (0..count).map(|i| (start + i) % count) {
        let (seg, side) = (&ring.segs()[i], sides[i]);
        run = match run {
            Some((on, _)) if on & side != 0 => Some((on & side, seg.end())),
            _ => {
                if let Some((_, end)) = run {
                    path.line_to(end);
                }
                if side == 0 {
                    path.push(seg.as_path_el());
                }
                (side != 0).then(|| (side, seg.end()))
            }
        };
    }
    path.close_path();
}

/// The sides of `frame` beyond which all of `seg` lies, one bit each.
fn beyond(seg: &PathSeg, frame: Rect) -> u8 {
    let side = |p: Point| {
        u8::from(p.x < frame.x0)
            | u8::from(p.x > frame.x1) << 1
            | u8::from(p.y < frame.y0) << 2
            | u8::from(p.y > frame.y1) << 3
    };
    let curve = seg.to_cubic();
    [curve.p0, curve.p1, curve.p2, curve.p3].into_iter().fold(u8::MAX, |all, p| all & side(p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::boolean::{Rule, resolve};
    use kurbo::{Circle, Shape};

    #[test]
    fn within_the_frame_a_point_is_inside_as_before() {
        let comb: String = (0..40).map(|i| format!("L{} {} ", 2 * i + 1, if i % 2 == 0 { 30 } else { 5 })).collect();
        let comb = BezPath::from_svg(&format!("M0 0 {comb} L80 0Z")).unwrap();
        let round = Circle::new((40.0, 20.0), 18.0).to_path(1e-6);
        let frame = Rect::new(30.0, 8.0, 44.0, 17.0);
        for shape in [comb, round] {
            let region = resolve(&shape, Rule::NonZero);
            let pieces: Vec<&Piece> = region.pieces.iter().collect();
            let short = trimmed(&pieces, frame);
            assert!(short.elements().len() < region.to_path().elements().len(), "fewer: {}", short.elements().len());
            for i in 0..400 {
                let p = Point::new(30.0 + f64::from(i % 20) * 0.7, 8.0 + f64::from(i / 20) * 0.45);
                assert_eq!(short.winding(p), region.to_path().winding(p), "{p:?}");
            }
        }
    }

    #[test]
    fn a_ring_round_the_frame_stays_round_it_and_one_beside_it_goes() {
        let ring = |x: f64, r: f64| resolve(&Circle::new((x, 0.0), r).to_path(1e-6), Rule::NonZero);
        let (round, beside) = (ring(0.0, 50.0), ring(100.0, 20.0));
        let frame = Rect::new(-5.0, -5.0, 5.0, 5.0);
        let pieces: Vec<&Piece> = round.pieces.iter().chain(&beside.pieces).collect();
        let short = trimmed(&pieces, frame);
        assert_eq!(short.winding(Point::ORIGIN), 1, "inside still");
        assert_eq!(short.elements().iter().filter(|el| matches!(el, kurbo::PathEl::MoveTo(_))).count(), 1, "one ring");
    }
}
