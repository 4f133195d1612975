//! Paint that stands on the paper and is too pale to count as dark.

use kurbo::Rect;

use super::Options;
use super::gather::FAINT;
use crate::art::Inked;
use crate::diag::{Finding, FindingKind, Severity};
use crate::geom::{Region, boolean};

/// Most pale shapes looked at; who has more has a painting. Ours.
const LOOKED_AT: usize = 200;

/// A remark on what is painted beside the `dark` shapes, darker than paper and still too
/// pale to be cut. `mm` is panel millimetres of one art unit; `face` is the box
/// round what is dark. A shape all of the face stands on is its background.
pub(super) fn left(shapes: &[&Inked], dark: &[&Inked], face: Rect, threshold: f64, mm: f64) -> Option<Finding> {
    let tone = |s: &Inked| s.darkness * s.opacity;
    let is_pale = |s: &&&Inked| (FAINT..threshold).contains(&tone(s)) && s.bounds.union(face) != s.bounds;
    let pale: Vec<&Inked> = shapes.iter().filter(is_pale).take(LOOKED_AT).copied().collect();
    if pale.is_empty() {
        return None;
    }
    let areas = |of: &[&Inked]| of.iter().map(|s| boolean::resolve(&s.path, s.rule)).collect::<Vec<Region>>();
    let beside = boolean::subtract_all(&boolean::union_all(&areas(&pale)), &areas(dark));
    let sawable = |bounds: Rect| bounds.width().min(bounds.height()) * mm > 2.0 * Options::default().kerf;
    let places = beside.pieces.iter().filter(|piece| sawable(piece.bounds()));
    let largest = places.clone().max_by(|a, b| a.area().total_cmp(&b.area()))?.bounds();
    // The last painted there is the one seen.
    let shape = pale.iter().rfind(|s| s.bounds.contains(largest.center())).or(pale.first())?;
    // Rounded down, so that as a threshold it is reached.
    let shown = (tone(shape) * 100.0).floor() / 100.0;
    let message = format!(
        "{} painted too pale to be cut: {:.0} % dark, where {:.0} % counts as dark; the largest is {:.0} x {:.0} mm",
        match places.count() {
            1 => "a place is".to_owned(),
            n => format!("{n} places are"),
        },
        shown * 100.0,
        threshold * 100.0,
        largest.width() * mm,
        largest.height() * mm,
    );
    let advice = format!("if it is to be cut, paint it black or set the threshold to {shown:.2}");
    let finding = Finding::new("left-out-pale", FindingKind::LeftOut, Severity::Care, message, advice);
    Some(finding.at(largest.center()).place(shape.place.clone()).measured(tone(shape), threshold))
}
