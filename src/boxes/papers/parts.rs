//! The parts drawing: the box from front and side, every part with its size,
//! and the sums that show they make up the box.

use kurbo::{Point, Rect};

use super::Request;
use super::draw::{View, across, cutouts, dashed, grain, label, long_dashed, part, upright};
use crate::boxes::design::Design;
use crate::boxes::job::Lantern;
use crate::boxes::parts::{Part, Parts};
use crate::settings::boxes::{Joint, LidKind};
use crate::sheet::flow::{Align, Flow, Table};
use crate::sheet::{Layer, Mark, Text, style};
use crate::units::{Mm, Unit};

pub(super) fn fill(flow: &mut Flow, lantern: &Lantern, request: &Request<'_>) {
    let (design, parts) = (&lantern.design, &lantern.parts);
    let caption = caption(design.joint);
    let highest = HIGHEST_VIEWS.min(flow.highest(caption));
    let height = views_scale(lantern, flow.rect().width(), highest) * parts.overall_height.get() + ROUND_VIEWS.1;
    flow.captioned(height, caption, |area| views(lantern, request.unit, area));
    flow.heading("Parts of one box");
    flow.table(&table(parts, request.unit));
    let height = drawn_height(parts, request.unit, flow.rect().width());
    let caption = "Arrows show the grain. All parts to one scale.";
    flow.captioned(height, caption, |area| drawn_parts(parts, request.unit, area));
    flow.heading("Check with a rule");
    for text in sums(parts, request.unit) {
        flow.paragraph(&text);
    }
    flow.heading("The window for the face");
    let [width, height] = window_sides(lantern, request.unit);
    flow.paragraph(&format!("It is {width} wide and {height} high."));
    flow.table(&window(lantern, request.unit));
    if design.lid.kind == LidKind::LiftOff {
        let play = design.lid.play.fine(request.unit);
        flow.remark(&format!("The lid is {play} longer and wider than the walls, so that its strips slide over them."));
    }
}

/// What the dashes mean: the window's are long, those of hidden boards short.
const fn caption(joint: Joint) -> &'static str {
    match joint {
        Joint::FrontLapsSides => {
            "Left: from the front; long dashes are the window for the face, short dashes the sides behind. Right: from \
             the side. Not to scale with the parts below."
        }
        Joint::SidesLapFront => {
            "Left: from the front; long dashes are the window for the face. Right: from the side; short dashes are front \
             and back behind it. Not to scale with the parts below."
        }
    }
}

/// Room across and upright for what stands round the views, mm: two dimension lines
/// at the left and one between, two below.
const ROUND_VIEWS: (f64, f64) = (62.0, 16.0);

/// Highest that the views get where the sheet has room, mm.
const HIGHEST_VIEWS: f64 = 104.0;

/// How far base or lid stand out beyond the walls, and how wide both views are.
fn spread(design: &Design) -> (f64, f64) {
    let strip = if design.lid.kind == LidKind::LiftOff { design.lid.strip_thickness.get() } else { 0.0 };
    let spread = design.base_overhang.get().max(strip);
    (spread, design.width.get() + design.depth.get() + 4.0 * spread)
}

/// The scale at which both views fit into such a room.
fn views_scale(lantern: &Lantern, width: f64, height: f64) -> f64 {
    let (across, upright) = (spread(&lantern.design).1, lantern.parts.overall_height.get());
    ((width - ROUND_VIEWS.0) / across).min((height - ROUND_VIEWS.1) / upright)
}

/// Front and side view beside each other, to one scale.
fn views(lantern: &Lantern, unit: Unit, area: Rect) -> Vec<Mark> {
    let design = &lantern.design;
    let (spread, widths) = spread(design);
    let scale = views_scale(lantern, area.width(), area.height());
    let y = area.y0 + 12.0 + design.base_thickness.get() * scale;
    let drawn = widths * scale + 34.0;
    let left = area.x0 + (area.width() - drawn) / 2.0 + 16.0;
    let front = View { scale, origin: Point::new(left + spread * scale, y) };
    let side_x = left + (design.width.get() + 3.0 * spread) * scale + 24.0;
    let side = View { scale, origin: Point::new(side_x, y) };
    let mut marks = joint_lines(design, &front, &side);
    marks.extend(view(lantern, &front, design.width.get()));
    marks.extend(view(lantern, &side, design.depth.get()));
    marks.push(long_dashed(Layer::NailZones, front.rect(window_rect(lantern))));
    marks.extend(cutouts(&lantern.cutouts, &front, panel_shift(design)));
    marks.extend(dimensions(lantern, &front, unit));
    let base_y = front.y(-design.base_thickness.get());
    let depth = design.depth.text(unit);
    marks.extend(across(side.x(0.0), side.x(design.depth.get()), base_y - 4.0, &depth));
    marks
}

/// From the box's left side to the front panel's.
fn panel_shift(design: &Design) -> f64 {
    let (panel_width, _) = design.panel();
    (design.width - panel_width).get() / 2.0
}

fn window_rect(lantern: &Lantern) -> Rect {
    let shift = panel_shift(&lantern.design);
    let rect = lantern.window.rect();
    Rect::new(rect.x0 + shift, rect.y0, rect.x1 + shift, rect.y1)
}

/// Base, walls, lid, strips and stem seen from one side.
fn view(lantern: &Lantern, view: &View, across: f64) -> Vec<Mark> {
    let design = &lantern.design;
    let (h, out) = (design.height.get(), design.base_overhang.get());
    let mut rects =
        vec![Rect::new(-out, -design.base_thickness.get(), across + out, 0.0), Rect::new(0.0, 0.0, across, h)];
    let lid = &design.lid;
    let (play, top) = (lid.play.get() / 2.0, h + lid.thickness.get());
    match lid.kind {
        LidKind::None => {}
        LidKind::Plain => rects.push(Rect::new(-play, h, across + play, top)),
        LidKind::LiftOff => {
            let side = play + lid.strip_thickness.get();
            // The strips hang in front of the walls, which end unseen behind.
            rects[1].y1 = top - lid.strip_width.get();
            rects.push(Rect::new(-side, top - lid.strip_width.get(), across + side, top));
        }
    }
    if let (Some(stem), true) = (lid.stem_length, lid.kind != LidKind::None) {
        let half = lid.stem_diameter.get() / 2.0;
        rects.push(Rect::new(across / 2.0 - half, top, across / 2.0 + half, top + stem.get()));
    }
    rects.into_iter().map(|r| part(view.rect(r))).collect()
}

/// Where boards meet: seen on one view, hidden (dashed) on the other.
fn joint_lines(design: &Design, front: &View, side: &View) -> Vec<Mark> {
    let (t, h, w, d) = (design.thickness.get(), design.height.get(), design.width.get(), design.depth.get());
    let bottom = match design.lid.kind {
        LidKind::LiftOff => h + design.lid.thickness.get() - design.lid.strip_width.get(),
        LidKind::Plain | LidKind::None => h,
    };
    let inner = |across: f64| Rect::new(t, 0.0, across - t, bottom);
    match design.joint {
        Joint::FrontLapsSides => vec![dashed(Layer::Parts, front.rect(inner(w))), part(side.rect(inner(d)))],
        Joint::SidesLapFront => vec![part(front.rect(inner(w))), dashed(Layer::Parts, side.rect(inner(d)))],
    }
}

fn dimensions(lantern: &Lantern, view: &View, unit: Unit) -> Vec<Mark> {
    let design = &lantern.design;
    let (w, h, out) = (design.width.get(), design.height.get(), design.base_overhang.get());
    let left = view.x(-out.max(design.lid.strip_thickness.get()));
    let below = view.y(-design.base_thickness.get());
    let mut marks = across(view.x(0.0), view.x(w), below - 4.0, &design.width.text(unit));
    let base = (design.width + design.base_overhang * 2.0).text(unit);
    marks.extend(across(view.x(-out), view.x(w + out), below - 9.0, &base));
    marks.extend(upright(view.y(0.0), view.y(h), left - 3.5, &design.height.text(unit)));
    let top = lantern.parts.overall_height.get() - design.base_thickness.get();
    let whole = lantern.parts.overall_height.text(unit);
    marks.extend(upright(below, view.y(top), left - 9.5, &whole));
    marks
}

fn table(parts: &Parts, unit: Unit) -> Table {
    let columns = [
        ("Part", Align::Left),
        ("Each box", Align::Right),
        ("Along the grain", Align::Right),
        ("Across", Align::Right),
        ("Thick", Align::Right),
    ];
    let mut table = Table::new(&columns).stretching(0);
    for p in &parts.list {
        let across = if p.kind == crate::boxes::PartKind::Stem { "dowel".to_owned() } else { p.thickness.fine(unit) };
        table.row([
            format!("{}  {}", p.kind.letter(), p.kind.name()),
            p.count.to_string(),
            p.length.fine(unit),
            p.width.fine(unit),
            across,
        ]);
    }
    table
}

/// A part's room on the drawing, from the middle of its rectangle.
struct Slot {
    left: f64,
    right: f64,
}

/// Between two parts on the drawing, mm.
const BETWEEN: f64 = 1.5;

impl Slot {
    /// Room for the part and its figures, those below and the one beside or over.
    fn of(part: &Part, unit: Unit, scale: f64) -> Self {
        /// For the height up the left side, mm.
        const BESIDE: f64 = 7.5;
        let wide = |text: String| Text::new(text, (0.0, 0.0), style::SMALL).width() / 2.0;
        let half = part.width.get() * scale / 2.0;
        let length = wide(part.length.text(unit));
        let over = is_over(2.0 * length, part.length.get() * scale);
        let below = wide(part.width.text(unit)).max(wide(format!("{} × {}", part.kind.letter(), part.count)));
        let right = half.max(below).max(if over { length } else { 0.0 });
        Self { left: if over { right } else { right.max(half + BESIDE) }, right }
    }
}

/// The largest scale up to `most` at which the parts stand side by side within
/// `width`, and their slots there.
fn slots(parts: &[Part], unit: Unit, most: f64, width: f64) -> (f64, Vec<Slot>, f64) {
    /// Steps the scale goes down by, and how often.
    const STEP: f64 = 0.95;
    const STEPS: usize = 60;
    let mut scale = most;
    for _ in 0..STEPS {
        let used = row(parts, unit, scale).1;
        if used <= width {
            break;
        }
        scale *= STEP;
    }
    let (slots, used) = row(parts, unit, scale);
    (scale, slots, used)
}

fn row(parts: &[Part], unit: Unit, scale: f64) -> (Vec<Slot>, f64) {
    let slots: Vec<Slot> = parts.iter().map(|part| Slot::of(part, unit, scale)).collect();
    let used = slots.iter().map(|slot| slot.left + slot.right + BETWEEN).sum();
    (slots, used)
}

/// Room under and over the drawn parts, mm: their widths and names, a height.
const ROUND_PARTS: f64 = 13.0;

/// How high the drawn parts stand in a frame of this width, with their figures.
fn drawn_height(parts: &Parts, unit: Unit, width: f64) -> f64 {
    const HIGHEST: f64 = 62.0;
    let tallest = tallest(parts);
    slots(&parts.list, unit, (HIGHEST - ROUND_PARTS) / tallest, width).0 * tallest + ROUND_PARTS
}

fn tallest(parts: &Parts) -> f64 {
    parts.list.iter().map(|p| p.length.get()).fold(1.0, f64::max)
}

/// Every part as a rectangle, side by side, grain upright, to one scale.
fn drawn_parts(parts: &Parts, unit: Unit, area: Rect) -> Vec<Mark> {
    let most = (area.height() - ROUND_PARTS) / tallest(parts);
    let (scale, slots, used) = slots(&parts.list, unit, most, area.width());
    let mut x = area.x0 + (area.width() - used) / 2.0;
    let mut marks = Vec::new();
    for (p, slot) in parts.list.iter().zip(slots) {
        let (middle, half) = (x + BETWEEN + slot.left, p.width.get() * scale / 2.0);
        let y = area.y0 + 10.0;
        marks.extend(drawn_part(p, unit, Rect::new(middle - half, y, middle + half, y + p.length.get() * scale)));
        x = middle + slot.right;
    }
    marks
}

fn drawn_part(p: &Part, unit: Unit, rect: Rect) -> Vec<Mark> {
    let h = rect.height();
    let mut marks = vec![part(rect), grain(Point::new(rect.center().x, rect.y0 + h * 0.3), (h * 0.3).min(12.0), true)];
    let name = Rect::new(rect.x0, rect.y0 + h * 0.55, rect.x1, rect.y1);
    let letter = format!("{}", p.kind.letter());
    marks.extend(label(name, Layer::Parts, &[p.kind.name().to_owned(), letter.clone()]));
    let count = Text::new(format!("{letter} × {}", p.count), (rect.center().x, rect.y0 - 9.0), style::SMALL);
    marks.push(Mark::new(Layer::Parts, count.ink(style::INK).centred()));
    marks.extend(across(rect.x0, rect.x1, rect.y0 - 5.0, "").into_iter().take(3));
    let figure = Text::new(p.width.text(unit), (rect.center().x, rect.y0 - 2.6), style::SMALL);
    marks.push(Mark::new(Layer::Dimensions, figure.ink(style::INK).centred()));
    marks.extend(height(rect, &p.length.text(unit)));
    marks
}

/// Whether the figure of a part's height stands over it, being longer than it.
fn is_over(figure: f64, height: f64) -> bool {
    figure + 1.0 > height
}

/// The height of a part: beside it, or over it where it is shorter than the
/// figure.
fn height(rect: Rect, text: &str) -> Vec<Mark> {
    let over = Text::new(text, (rect.center().x, rect.y1 + 2.2), style::SMALL).ink(style::INK).centred();
    if !is_over(over.width(), rect.height()) {
        return upright(rect.y0, rect.y1, rect.x0 - 2.2, text);
    }
    vec![Mark::new(Layer::Dimensions, over)]
}

fn sums(parts: &Parts, unit: Unit) -> Vec<String> {
    let text = |c: &crate::boxes::parts::Closure| {
        let terms: Vec<_> = c.terms.iter().map(|(what, mm)| format!("{what} {}", mm.text(unit))).collect();
        format!("{}: {} = {}", c.what, terms.join(" + "), c.whole.text(unit))
    };
    parts.sums.iter().filter(|c| c.terms.len() > 1).map(text).collect()
}

/// Width and height of the window, never told too wide; with inches the millimetres
/// beside are those of the window, not of inches already rounded.
fn window_sides(lantern: &Lantern, unit: Unit) -> [String; 2] {
    let (rect, (width, height)) = (lantern.window.rect(), lantern.window.told(unit));
    [(width, rect.width()), (height, rect.height())].map(|(told, true_mm)| match unit {
        Unit::Inch => format!("{} ({})", told.text(unit), Mm::new(true_mm).tenths_at_most()),
        Unit::Mm => told.text(unit),
    })
}

/// A clearance to keep, never told short; with inches the millimetres are its own.
fn clear_told(clear: Mm, unit: Unit) -> String {
    match unit {
        Unit::Inch => format!("{} ({})", clear.text_at_least(unit), clear.tenths_at_least()),
        Unit::Mm => clear.text_at_least(unit),
    }
}

fn window(lantern: &Lantern, unit: Unit) -> Table {
    let columns = [("Edge", Align::Left), ("Clear", Align::Right), ("Made by", Align::Left)];
    let mut table = Table::new(&columns).stretching(2);
    for edge in &lantern.window.edges {
        let made = edge.reasons.first().map_or(String::new(), |reason| {
            let terms = reason.terms.iter().filter(|(_, mm)| *mm > Mm::ZERO);
            let terms: Vec<_> = terms.map(|(what, mm)| format!("{what} {}", mm.fine(unit))).collect();
            format!("{}: {}", reason.cause.words(), terms.join(" + "))
        });
        table.row([edge.edge.word().to_owned(), clear_told(edge.clear, unit), made]);
    }
    table
}
