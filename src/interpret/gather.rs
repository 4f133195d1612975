//! From shapes to the material the readings are made of.

use kurbo::{PathEl, Rect, Shape};

use super::choose::Material;
use super::layers::{self, Effect, TooManyLayers};
use super::lines::{self, Closing};
use super::nest::{Nest, filled_area};
use super::{Options, Reading, doubles, pale, scale, tidy, visible};
use crate::art::{Art, Inked, Stroked};
use crate::diag::{Finding, FindingKind, Severity};
use crate::geom::boolean::{self, Rule};
use crate::geom::tolerance::SAME_POINT;
use crate::geom::{Region, Ring};

/// What was gathered, with remarks.
#[derive(Debug)]
pub(super) struct Gathered {
    pub(super) material: Material,
    pub(super) findings: Vec<Finding>,
    /// Remarks that matter only if lines are the saw's path.
    pub(super) line_findings: Vec<Finding>,
    /// Remarks that matter only if areas are.
    pub(super) area_findings: Vec<Finding>,
    /// What matters only if what is dark is cut.
    pub(super) pale: Option<Finding>,
    /// Strays found so far.
    pub(super) strays: usize,
}

/// Lines up to this many kerfs wide are lines, wider ones are areas. Derived:
/// the blade makes a slot one kerf wide in one pass and two in two; what is
/// drawn wider was meant as an opening.
const THIN: f64 = 2.0;
/// The same where nothing is drawn but outlines, one round each feature, as with a
/// felt pen: sawn as drawn, every feature would fall out of its own ring. Ours: at
/// the usual blade 2 mm, a felt pen's line, and hardly room for the entry hole.
const FELT: f64 = 4.0;
/// A drawing is line art when its dark areas are less than this part of what
/// its outlines enclose: pupils and nostrils may be filled. Ours.
const FILLED: f64 = 0.1;
/// With no paint at the threshold, the darkest paint is taken for dark from here.
pub(super) const FAINT: f64 = 0.2;

/// Gathers the material of `shapes`.
///
/// # Errors
/// [`TooManyLayers`].
pub(super) fn gather(art: &Art, shapes: &[&Inked], options: &Options) -> Result<Gathered, TooManyLayers> {
    let mut findings = Vec::new();
    let threshold = threshold(shapes, options, &mut findings);
    let inked: Vec<&Inked> =
        shapes.iter().copied().filter(|s| layers::effect(s, threshold) == Some(Effect::Adds)).collect();
    // The face is what is dark; a white sheet under it is paper.
    let face = if inked.is_empty() { shapes } else { &inked };
    let bounds = around(face);
    let page = art.page.unwrap_or_else(|| around(shapes));
    let mm = scale::of_shapes(face, options, art.unit_mm);
    let mut area_findings = Vec::new();
    let dark = within_page(layers::dark_region(shapes, threshold)?, art, &mut area_findings);
    let pale = pale::left(shapes, &inked, bounds, threshold, mm);
    let light = if dark.is_empty() { all_light(shapes, page) } else { Region::default() };
    let mut gathered = Gathered {
        material: Material {
            dark: Nest::of(dark),
            light,
            lines: Nest::default(),
            too_broad: None,
            is_line_art: false,
            page,
        },
        findings,
        line_findings: Vec::new(),
        area_findings,
        pale,
        strays: 0,
    };
    gathered.add_lines(&inked, Lines { shapes, threshold, page: art.page, mm }, options);
    gathered.drop_frame(options, bounds);
    Ok(gathered)
}

fn around(shapes: &[&Inked]) -> Rect {
    shapes.iter().map(|s| s.bounds).reduce(|a, b| a.union(b)).unwrap_or_default()
}

/// The threshold to use: the one asked for, or a lower one for a drawing whose
/// darkest paint does not reach it.
fn threshold(shapes: &[&Inked], options: &Options, findings: &mut Vec<Finding>) -> f64 {
    let darkest = shapes.iter().map(|s| s.darkness * s.opacity).fold(0.0, f64::max);
    if darkest >= options.threshold || darkest < FAINT {
        return options.threshold;
    }
    let (shown, wanted) = (darkest * 100.0, options.threshold * 100.0);
    let message = format!(
        "the darkest paint is only {shown:.0} % dark, below the {wanted:.0} % that counts as dark; it was taken as dark"
    );
    let advice = "set the threshold, or paint what is to be cut black";
    findings.push(
        Finding::new("reading-2", FindingKind::Reading, Severity::Note, message, advice)
            .measured(darkest, options.threshold),
    );
    // Halfway between the darkest paint and paper.
    darkest / 2.0
}

/// Cuts off what sticks out of the page, as every viewer does.
fn within_page(dark: Region, art: &Art, findings: &mut Vec<Finding>) -> Region {
    let Some(page) = art.page else { return dark };
    let slack = 1e-3 * page.width().max(page.height());
    let bounds = dark.bounds();
    if dark.is_empty() || page.inflate(slack, slack).union(bounds) == page.inflate(slack, slack) {
        return dark;
    }
    let frame = boolean::resolve(&page.to_path(0.1), Rule::NonZero);
    let kept = boolean::intersect(&dark, &frame);
    let message = if kept.is_empty() {
        "everything dark lies outside the drawing's page; the page was ignored"
    } else {
        "the drawing reaches past its page; what lies outside was cut off, as a viewer shows it"
    };
    let advice = "make the page as large as the drawing if all of it is to be sawn";
    findings.push(Finding::new("left-out-page", FindingKind::LeftOut, Severity::Care, message, advice));
    if kept.is_empty() { dark } else { kept }
}

/// All shapes together, for a drawing of nothing but light paint: a sheet the
/// size of the page is paper and is left off.
fn all_light(shapes: &[&Inked], page: Rect) -> Region {
    let is_sheet = |s: &Inked| s.bounds.intersect(page).area() >= 0.95 * page.area() && shapes.len() > 1;
    let areas: Vec<Region> =
        shapes.iter().filter(|s| s.line.is_none() && !is_sheet(s)).map(|s| boolean::resolve(&s.path, s.rule)).collect();
    boolean::union_all(&areas)
}

/// What lines are looked for in.
#[derive(Clone, Copy, Debug)]
struct Lines<'a> {
    /// All shapes, in paint order.
    shapes: &'a [&'a Inked],
    threshold: f64,
    page: Option<Rect>,
    /// Panel millimetres of one art unit.
    mm: f64,
}

impl Gathered {
    fn add_lines(&mut self, dark: &[&Inked], lines: Lines, options: &Options) {
        let Lines { shapes, threshold, page, mm } = lines;
        let forced = options.reading == Some(Reading::Lines);
        let limit = if self.material.dark.all_fall_out() { FELT } else { THIN } * options.kerf;
        let is_thin = |s: &Inked| s.line.as_ref().is_some_and(|l| forced || l.width * mm <= limit);
        if !forced && !dark.iter().any(|s| is_thin(s)) {
            let closed = |line: &&Stroked| matches!(line.centre.elements().last(), Some(PathEl::ClosePath));
            let widths = dark.iter().filter_map(|s| s.line.as_ref()).filter(closed).map(|line| line.width * mm);
            self.material.too_broad = widths.reduce(f64::min);
            return;
        }
        let adds = |s: &Inked| layers::effect(s, threshold) == Some(Effect::Adds);
        let (thin, mut findings) = visible::seen(shapes, threshold, |s| adds(s) && is_thin(s));
        let filled: Vec<&Inked> = dark.iter().copied().filter(|s| !is_thin(s)).collect();
        let closing = Closing { meet: SAME_POINT.max(0.02 / mm), gap: options.gap / mm, mm };
        // A filled shape that is also stroked brings its outline with the stroke.
        let of_same = |t: &Inked, f: &Inked| t.place == f.place && t.line.as_ref().is_some_and(|l| l.filled);
        let alone = filled.iter().copied().filter(|f| !thin.iter().any(|t| of_same(t, f)));
        let all: Vec<&Inked> = thin.iter().copied().chain(alone).collect();
        let outlines = lines::outlines(&all, closing);
        self.line_findings = outlines.findings;
        let (rings, beyond) = visible::on_page(outlines.rings, page);
        let (rings, twice) = doubles::without(rings, mm);
        findings.extend(beyond.into_iter().chain(twice));
        self.line_findings.splice(0..0, findings);
        let rings = self.without_frame_ring(rings, options);
        let enclosed = Nest::of(lines::alternating(rings));
        let whole: f64 = enclosed.outermost().map(|i| filled_area(&enclosed.pieces[i])).sum();
        let dark_area: f64 = filled.iter().map(|s| boolean::resolve(&s.path, s.rule).area()).sum();
        self.material.is_line_art = !enclosed.pieces.is_empty() && (forced || dark_area < FILLED * whole);
        self.material.lines = enclosed;
    }

    /// Leaves off a ring that is a frame: a rectangle as large as the page with
    /// all others inside.
    fn without_frame_ring(&mut self, mut rings: Vec<Ring>, options: &Options) -> Vec<Ring> {
        let page = self.material.page;
        let frame = rings.iter().position(|ring| {
            let bounds = ring.bounds();
            tidy::is_page_rectangle(ring, page) && rings.iter().all(|r| bounds.union(r.bounds()) == bounds)
        });
        if let Some(frame) = frame.filter(|_| rings.len() > 1) {
            self.strays += 1;
            if !options.keep.contains(&"stray-1".to_owned()) {
                let bounds = rings.remove(frame).bounds();
                self.line_findings.push(tidy::frame_finding(self.strays, bounds));
            }
        }
        rings
    }

    /// Leaves off a dark frame.
    fn drop_frame(&mut self, options: &Options, bounds: Rect) {
        if self.material.is_line_art {
            return;
        }
        self.strays = 0;
        let around = self.material.page.intersect(bounds);
        let Some(frame) = tidy::frame(&self.material.dark, around) else { return };
        self.strays += 1;
        if !options.keep.contains(&"stray-1".to_owned()) {
            let nest = std::mem::take(&mut self.material.dark);
            self.findings.push(tidy::frame_finding(self.strays, nest.pieces[frame].bounds()));
            self.material.dark = nest.without(frame);
        }
    }
}
