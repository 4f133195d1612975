//! The template: the panel at true size on as many sheets as it needs, then the
//! bench sheet.

use std::collections::BTreeSet;

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};

use super::cuts::Crossings;
use super::flow::shortened;
use super::layout::{Info, Layout, Printer, Tile};
use super::panel::{Drawing, Nail};
use super::{Anchor, Ink, Layer, Mark, Path, Shape, Sheet, Stroke, Text, bench, joins, panel, style, symbols, words};
use crate::diag::{Error, Severity};
use crate::font::{self, Weight};
use crate::outcome::Outcome;
use crate::units::{Mm, Unit, size_text};

/// What a template is made from.
#[derive(Clone, Debug)]
pub struct Request<'a> {
    /// The face and all that is known about it.
    pub outcome: &'a Outcome,
    /// Its name as shown: `owl`.
    pub name: &'a str,
    /// Paper and printer.
    pub printer: &'a Printer,
    /// The shop's unit, named first.
    pub unit: Unit,
    /// Nails to mark, when a box is planned.
    pub nails: &'a [Nail],
    /// Short cautions for the bench sheet.
    pub cautions: &'a [String],
    /// How many sets of template sheets; the bench sheet comes once, last.
    pub copies: u32,
}

/// Most copies in one file.
pub const MOST_COPIES: u32 = 200;

/// All sheets: template sheets, repeated for each copy, then the bench sheets.
///
/// # Errors
/// [`Error::Sizes`] when the panel cannot be laid on the paper, or for more
/// than [`MOST_COPIES`] copies.
pub fn pages(request: &Request<'_>) -> Result<Vec<Sheet>, Error> {
    let name = if font::has_letters(request.name) { request.name } else { "face (its name cannot be printed)" };
    let request = &Request { name, ..request.clone() };
    if request.copies > MOST_COPIES {
        let what = format!("{} copies in one file are too many", request.copies);
        return Err(Error::sizes(what, format!("print up to {MOST_COPIES} at a time")));
    }
    let layout = layout(request)?;
    // What is named depends on what is told; what is shown does not.
    let draw = |told: &BTreeSet<String>| panel::draw(request.outcome, &layout.flaps, request.nails, told);
    let (bench, told) = bench::sheets(request, &layout, &draw(&BTreeSet::new()));
    let drawing = draw(&told);
    let total = layout.tiles.len() + bench.len();
    let tiles = layout.tiles.iter().zip(1..).map(|(tile, number)| {
        let mut sheet = page(&layout, &drawing, tile);
        title(&mut sheet, request, &layout, tile, &drawing, number, total);
        sheet
    });
    let template: Vec<Sheet> = tiles.map(|sheet| corrected(&sheet, &layout)).collect();
    let copies = (0..request.copies.max(1)).flat_map(|_| template.iter().cloned());
    Ok(copies.chain(bench).collect())
}

/// How the panel is laid on the request's paper.
///
/// # Errors
/// [`Error::Sizes`] when it cannot be.
pub fn layout(request: &Request<'_>) -> Result<Layout, Error> {
    let panel = &request.outcome.face.panel;
    let crossings = Crossings::of(&request.outcome.face.cutouts, panel.width.get(), panel.height.get());
    Layout::joined(panel.width, panel.height, panel.thickness, request.printer, &crossings)
}

/// Stretches the finished drawing so that it comes out true on this printer.
fn corrected(sheet: &Sheet, layout: &Layout) -> Sheet {
    let (x, y) = layout.scale;
    let scale = Affine::scale_non_uniform(x, y);
    let marks = if (x, y) == (1.0, 1.0) {
        sheet.marks.clone()
    } else {
        sheet.marks.iter().map(|mark| mark.transformed(scale)).collect()
    };
    Sheet { name: sheet.name.clone(), width: layout.width, height: layout.height, marks }
}

/// The panel's part on this sheet, rulers and join marks.
fn page(layout: &Layout, drawing: &Drawing, tile: &Tile) -> Sheet {
    let mut sheet = Sheet::new(tile.name.clone(), layout.width, layout.height);
    let shift = Affine::translate(tile.shift);
    if layout.tiles.len() == 1 {
        sheet.marks.extend(drawing.marks.iter().map(|mark| mark.transformed(shift)));
    } else {
        let seen = drawing.marks.iter().filter(|mark| seen(mark, tile.window)).map(|mark| mark.transformed(shift));
        // Half a line's width more, so that the panel's edge is not halved.
        let outline = (tile.window + tile.shift).inflate(0.2, 0.2).to_path(1e-3);
        sheet.push(Layer::Panel, Shape::Clip { outline, marks: seen.collect() });
        sheet
            .marks
            .extend(joins::marks(layout, tile, &joins::Busy::of(drawing)).iter().map(|mark| mark.transformed(shift)));
    }
    sheet.marks.extend(layout.ruler.across(layout.across));
    sheet.marks.extend(layout.ruler.upright(layout.upright));
    sheet
}

/// Whether a mark belongs on a tile: words only when whole, the rest when any
/// of it is inside.
fn seen(mark: &Mark, window: Rect) -> bool {
    let bounds = match &mark.shape {
        Shape::Text(text) => return window.union(text.bounds()) == window,
        Shape::Path(path) => path.path.control_box(),
        Shape::Clip { outline, .. } => outline.control_box(),
    };
    bounds.x1 >= window.x0 && bounds.x0 <= window.x1 && bounds.y1 >= window.y0 && bounds.y0 <= window.y1
}

/// Title, sizes, legend and notes where the layout has put them.
fn title(
    sheet: &mut Sheet,
    request: &Request<'_>,
    layout: &Layout,
    tile: &Tile,
    drawing: &Drawing,
    number: usize,
    total: usize,
) {
    let count = format!("sheet {number} of {total}");
    match layout.info {
        Info::Column(area) => {
            let keep = layout.ruler.length() + 3.0;
            sheet.marks.extend(words::column(request, area, &count, drawing, layout, keep));
        }
        Info::Band(area) => sheet.marks.extend(words::band(request, area, &count, drawing, layout)),
        Info::Strip(area) => sheet.marks.extend(strip(request, area, &count, layout, tile)),
    }
}

/// Sizes in both languages, the shop's first: `5-1/4 × 10 in`, `133.35 × 254 mm`.
pub(super) fn sizes_in(unit: Unit, width: Mm, height: Mm) -> [String; 2] {
    let [inch, mm] = [Unit::Inch, Unit::Mm].map(|unit| size_text(width, height, unit).replace('x', "×"));
    if unit == Unit::Inch { [inch, mm] } else { [mm, inch] }
}

/// Said on every sheet of a face that is not to be sawn yet.
pub(super) fn not_ready(outcome: &Outcome) -> Option<String> {
    match outcome.count(Severity::Stop) {
        0 => None,
        1 => Some("NOT READY TO SAW: 1 fault stops the work".to_owned()),
        n => Some(format!("NOT READY TO SAW: {n} faults stop the work")),
    }
}

/// How a template is printed; on every sheet.
pub(super) const PRINT_NOTE: &str = "Print at 100 %, never “fit to page”. Check both rulers before sawing.";

/// A slug as words: `western-redcedar` as `western redcedar`.
pub(super) fn plain(slug: &str) -> String {
    slug.replace('-', " ")
}

/// A line or two: name, tile, sizes; a small plan of the sheets when tiled.
fn strip(request: &Request<'_>, area: Rect, count: &str, layout: &Layout, tile: &Tile) -> Vec<Mark> {
    let mut marks = Vec::new();
    let tiled = layout.tiles.len() > 1;
    let mut x = area.x0;
    if tiled {
        let plan = Rect::new(x, area.y0, x + (area.height() * 1.4).min(area.width() * 0.3), area.y1);
        let (drawn, width) = plan_of_sheets(request, layout, plan, Some(tile));
        marks.extend(drawn);
        x += width + 3.0;
    }
    let room = area.x1 - x;
    let mut y = area.y1 - 0.4;
    for (text, size, weight, ink) in strip_lines(request, count, layout, tile, area.height()) {
        y -= size;
        let content = shortened(&text, size, weight, room);
        marks.push(Mark::new(Layer::Title, Text { weight, ..Text::new(content, (x, y), size).ink(ink) }));
        y -= size * 0.32;
    }
    marks
}

/// A line of words: text, size, weight and ink.
type Words = (String, f64, Weight, Ink);

/// The words of a strip of this height: all that is worth saying, or less where it is
/// low. How to print is never left out.
fn strip_lines(request: &Request<'_>, count: &str, layout: &Layout, tile: &Tile, height: f64) -> Vec<Words> {
    let tiled = layout.tiles.len() > 1;
    let panel = &request.outcome.face.panel;
    let [first, second] = sizes_in(request.unit, panel.width, panel.height);
    let sizes = format!("{count}; {first} ({second})");
    let name = if tiled { format!("{}  {}", tile.name, request.name) } else { request.name.to_owned() };
    let note = if tiled { "Print at 100 %. Trim on dash-dot, match crosses." } else { PRINT_NOTE };
    let stop = not_ready(request.outcome);
    let warned = if stop.is_some() { format!("NOT READY TO SAW  {name}") } else { name.clone() };
    let title = |text: String, size: f64| (text, size, Weight::Bold, style::INK);
    let small = |text: String| (text, style::SMALL, Weight::Regular, style::INK);
    let quiet = |text: &str| (text.to_owned(), style::SMALL, Weight::Regular, style::QUIET);
    let warning = stop.map(|words| (words, style::SMALL, Weight::Bold, Ink::BLACK));
    let flaps = (layout.flaps.any() && !tiled).then(|| quiet("Cut round the flaps and fold them back over the edges."));
    let size = if warning.is_some() { 3.2 } else { style::HEADING };
    let most = std::iter::once(title(name.clone(), size)).chain(warning).chain([small(sizes.clone()), quiet(note)]);
    let most: Vec<Words> = most.collect();
    let ways = [
        most.iter().cloned().chain(flaps).collect(),
        most,
        vec![title(warned.clone(), 3.2), quiet(note), small(sizes.clone())],
        vec![title(warned.clone(), 3.2), quiet(&format!("{note} {sizes}"))],
    ];
    let fits = |lines: &Vec<Words>| lines.iter().map(|line| line.1 * 1.32).sum::<f64>() <= height;
    let way = ways.into_iter().find(fits);
    way.unwrap_or_else(|| {
        // A long name is cut off at its end: how to print comes before it.
        let stop = if request.outcome.count(Severity::Stop) > 0 { "NOT READY TO SAW.  " } else { "" };
        let note = note.trim_end_matches(" Check both rulers before sawing.");
        vec![title(format!("{stop}{note}  {name}  {sizes}"), 2.6)]
    })
}

/// The sheets as a small plan inside `area`, `here` filled; returns its width.
pub(super) fn plan_of_sheets(
    request: &Request<'_>,
    layout: &Layout,
    area: Rect,
    here: Option<&Tile>,
) -> (Vec<Mark>, f64) {
    let whole = layout.tiles.iter().map(|tile| tile.window).reduce(|a, b| a.union(b)).unwrap_or_default();
    let scale = (area.width() / whole.width()).min(area.height() / whole.height());
    let place =
        Affine::translate((area.x0, area.y1)) * Affine::scale(scale) * Affine::translate((-whole.x0, -whole.y1));
    let mut marks = Vec::new();
    let frame = |rect: Rect| place.transform_rect_bbox(rect);
    if let Some(here) = here {
        marks.push(Mark::new(Layer::Title, Path::fill(frame(here.window).to_path(1e-3), Ink::grey(205))));
    }
    let board = frame(request.outcome.face.panel.rect());
    let panel = board.to_path(1e-3);
    let cuts: BezPath = request.outcome.face.cutouts.iter().flat_map(|cutout| cutout.piece.to_path()).collect();
    marks.push(super::picture::within(board, Mark::new(Layer::Title, Path::fill(place * &cuts, Ink::grey(120)))));
    marks.push(Mark::new(Layer::Title, Path::stroke(panel, Stroke::new(0.25, style::INK))));
    let half = layout.overlap / 2.0;
    for tile in &layout.tiles {
        let w = tile.window;
        let inner = Rect::new(
            if tile.column > 0 { w.x0 + half } else { w.x0 },
            if tile.row + 1 < layout.grid.1 { w.y0 + half } else { w.y0 },
            if tile.column + 1 < layout.grid.0 { w.x1 - half } else { w.x1 },
            if tile.row > 0 { w.y1 - half } else { w.y1 },
        );
        let cell = frame(inner);
        marks.push(Mark::new(Layer::Title, Path::stroke(cell.to_path(1e-3), Stroke::new(style::FINE, style::INK))));
        let size = (cell.height() * 0.4).min(cell.width() * 0.5).min(style::HEADING);
        if size >= style::SMALL {
            let text = Text::new(&tile.name, cell.center(), size).bold().ink(style::INK).centred();
            marks.push(symbols::plate(text.bounds().inflate(0.5, 0.3)));
            marks.push(Mark::new(Layer::Title, text));
        }
    }
    (marks, whole.width() * scale)
}

/// What the legend shows, for sheets that carry it elsewhere.
pub(super) fn legend_elsewhere(layout: &Layout) -> bool {
    matches!(layout.info, Info::Strip(_))
}

/// A right-aligned line of the second voice.
pub(super) fn quiet_right(text: &str, at: Point) -> Mark {
    let text = font::printable(text);
    Mark::new(Layer::Title, Text::new(text, at, style::BODY).anchor(Anchor::End).ink(style::QUIET))
}
