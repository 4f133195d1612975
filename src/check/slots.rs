//! Places where a cut-out is narrower than the kerf.

use kurbo::Point;

use super::Slot;
use super::options::Options;
use super::site::{EDGE, Owner, Site};
use crate::diag::Severity;
use crate::geom::ball::Side;
use crate::geom::medial::Medial;

/// A narrow place of an opening, for any blade.
#[derive(Clone, Debug)]
pub(crate) struct Narrow {
    pub(crate) cutout: u32,
    pub(crate) at: Point,
    pub(crate) width: f64,
}

/// Narrow places of the openings up to the widest kerf of the drawer. An
/// opening that is nowhere as wide as that is one, by its widest place.
///
/// Pointed ends grow narrower without end and are no slots; the turns judge
/// them.
pub(crate) fn narrow(site: &Site<'_>, options: &Options) -> Vec<Narrow> {
    let kerfs = options.drawer.iter().chain([&options.blade]).map(|blade| blade.kerf.get());
    let widest = kerfs.fold(0.0, f64::max);
    // Room above the kerf shows where a narrow place ends.
    let cap = 0.75 * widest;
    let waste = Medial::new(&site.all, Side::Left, cap, |ring| ring != EDGE);
    let mut found = Vec::new();
    let mut small = vec![false; site.face.cutouts.len()];
    for (index, narrow) in too_small(site, &waste) {
        small[index] = true;
        found.push(narrow);
    }
    let minima = waste.minima(&site.all);
    for group in waste.group(&minima) {
        let widths = group.iter().map(|&i| &minima[i as usize].span);
        let Some(span) = widths.min_by(|a, b| a.width.total_cmp(&b.width)) else { continue };
        let ring = span.spots[0].ring;
        let (Owner::CutOut(index) | Owner::Hole(index)) = site.owners[ring as usize] else { continue };
        if !small[index] && span.width < widest {
            let at = span.feet[0].midpoint(span.feet[1]);
            found.push(Narrow { cutout: site.face.cutouts[index].id, at, width: span.width });
        }
    }
    found.sort_by(|a, b| a.width.total_cmp(&b.width).then(b.at.y.total_cmp(&a.at.y)).then(a.at.x.total_cmp(&b.at.x)));
    found
}

/// Openings whose largest disc is under the cap.
fn too_small(site: &Site<'_>, waste: &Medial) -> Vec<(usize, Narrow)> {
    let mut largest: Vec<Option<(f64, Point)>> = vec![None; site.face.cutouts.len()];
    for ring in 0..site.all.rings().len() as u32 {
        let (Owner::CutOut(index) | Owner::Hole(index)) = site.owners[ring as usize] else { continue };
        for i in waste.of_ring(ring) {
            let station = waste.station(i);
            if largest[index].is_none_or(|(radius, _)| station.radius > radius) {
                largest[index] = Some((station.radius, site.all.center(station)));
            }
        }
    }
    let small = |(index, found): (usize, Option<(f64, Point)>)| {
        let (radius, at) = found?;
        let cutout = site.face.cutouts[index].id;
        (radius < waste.cap).then_some((index, Narrow { cutout, at, width: 2.0 * radius }))
    };
    largest.into_iter().enumerate().filter_map(small).collect()
}

/// The slots narrower than the chosen blade's kerf, narrowest first. Sawn down
/// the middle such a slot comes out as wide as the kerf: `care` while that
/// leaves the lines by less than the line tolerance, else `stop`.
pub(crate) fn slots(narrow: &[Narrow], options: &Options) -> Vec<Slot> {
    let needed = options.blade.kerf.get();
    let tolerance = options.line_tolerance.get();
    let slot = |(id, n): (u32, &Narrow)| {
        let over = (needed - n.width) / 2.0;
        let severity = if over <= tolerance { Severity::Care } else { Severity::Stop };
        Slot { id, cutout: n.cutout, at: n.at, width: n.width, needed, severity }
    };
    (1..).zip(narrow.iter().filter(|n| n.width < needed)).map(slot).collect()
}
