//! Sheets as PDF: true size, never scaled by the viewer, one layer for each
//! kind of mark. The only file that knows PDF.
//!
//! The drawing is made with printpdf and put right with lopdf, because printpdf
//! has no viewer preferences, no fixed file identifier and counts lengths in a
//! rounded factor. Points appear only in this file.

mod objects;

use std::borrow::Borrow;
use std::collections::BTreeSet;
use std::io;

use kurbo::{Affine, BezPath, PathEl, Point as At};
use lopdf::{Dictionary, Object, dictionary};
use printpdf::{
    BuiltinFont, Color, Greyscale, Layer as PdfLayer, LayerIntent, LayerInternalId, LayerSubtype, Line, LineCapStyle,
    LineDashPattern, LineJoinStyle, LinePoint, Op, PaintMode, PdfDocument, PdfFontHandle, PdfPage, PdfSaveOptions,
    Point, Polygon, PolygonRing, Pt, Rgb, TextItem, TextMatrix, WindingOrder,
};

use crate::diag::Error;
use crate::font::{self, Weight};
use crate::sheet::{Cap, Ink, Layer, Mark, Path, Shape, Sheet, Stroke, Text};
use crate::units::Mm;
use objects::Objects;

/// What the file says about itself.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Meta {
    /// Title, shown in the viewer's window.
    pub title: String,
    /// One line on what it is.
    pub subject: String,
}

/// The sheets as one PDF file, one page each, in order. The same sheets give
/// the same bytes. Sheets that are made one by one need not all be kept.
///
/// # Errors
/// [`Error::Internal`] when the PDF library refuses its own output.
pub fn pdf<S: Borrow<Sheet>>(sheets: impl IntoIterator<Item = S>, meta: &Meta) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    write_pdf(sheets, meta, &mut bytes)
        .map_err(|error| Error::Internal { what: format!("the PDF could not be put together: {error}") })?;
    Ok(bytes)
}

/// Writes the sheets as one PDF file: each page's drawing as it comes, so that
/// only one is held; then a frame with the pages' sizes, fonts and layers that
/// names the drawings.
///
/// # Errors
/// What the writer says, and when the PDF library refuses its own output.
pub fn write_pdf<S: Borrow<Sheet>>(
    sheets: impl IntoIterator<Item = S>,
    meta: &Meta,
    out: &mut dyn io::Write,
) -> io::Result<()> {
    let mut frame = PdfDocument::new(&meta.title);
    describe(&mut frame, meta);
    let (mut file, mut used, mut sizes) = (Objects::begin(out)?, BTreeSet::new(), Vec::new());
    for sheet in sheets {
        let sheet = sheet.borrow();
        used.extend(sheet.layers());
        sizes.push((sheet.width, sheet.height));
        let (drawing, outline) = drawing(sheet).map_err(io::Error::other)?;
        file.drawing(drawing)?;
        frame.pages.push(outline);
    }
    for layer in used {
        frame.resources.layers.map.insert(layer_id(layer), pdf_layer(layer));
    }
    let mut raw = raw(&frame);
    raw.renumber_objects_with(file.next());
    finish(&mut raw, &sizes).map_err(io::Error::other)?;
    file.end(raw)
}

/// What printpdf makes of a document, without touching up.
fn raw(doc: &PdfDocument) -> lopdf::Document {
    let options = PdfSaveOptions { optimize: false, subset_fonts: false, secure: true, image_optimization: None };
    doc.to_lopdf_document(&options, &mut Vec::new())
}

/// A sheet's drawing, and its page with only what decides the page's resources:
/// which layers and fonts the drawing names.
fn drawing(sheet: &Sheet) -> Result<(Vec<u8>, PdfPage), lopdf::Error> {
    let page = page(sheet);
    let resource = |op: &&Op| matches!(op, Op::BeginLayer { .. } | Op::SetFont { .. });
    let mut named: Vec<Op> = Vec::new();
    for op in page.ops.iter().filter(resource) {
        if !named.contains(op) {
            named.push(op.clone());
        }
    }
    let outline = paper(sheet, named);
    let mut doc = PdfDocument::new("");
    doc.resources.layers.map.extend(sheet.layers().into_iter().map(|layer| (layer_id(layer), pdf_layer(layer))));
    doc.pages.push(page);
    let mut raw = raw(&doc);
    let page = raw.get_pages().into_values().next().ok_or(lopdf::Error::PageNumberNotFound(1))?;
    let content = raw.get_dictionary(page)?.get(b"Contents")?.as_reference()?;
    let content = std::mem::take(&mut raw.get_object_mut(content)?.as_stream_mut()?.content);
    Ok((content, outline))
}

fn describe(doc: &mut PdfDocument, meta: &Meta) {
    let info = &mut doc.metadata.info;
    info.document_title.clone_from(&meta.title);
    info.subject.clone_from(&meta.subject);
    info.creator = "fretgrin".to_owned();
    info.producer = format!("fretgrin {}", env!("CARGO_PKG_VERSION"));
}

/// Resource name of a layer. Viewers list layers in the order of these names,
/// so the number is the layer's place in [`Layer::ALL`].
fn layer_id(layer: Layer) -> LayerInternalId {
    let place = Layer::ALL.iter().position(|l| *l == layer).unwrap_or(0);
    LayerInternalId(format!("L{place:02}"))
}

fn pdf_layer(layer: Layer) -> PdfLayer {
    PdfLayer {
        name: layer.name().to_owned(),
        creator: "fretgrin".to_owned(),
        intent: LayerIntent::View,
        usage: LayerSubtype::Artwork,
    }
}

fn page(sheet: &Sheet) -> PdfPage {
    let mut pen = Pen::default();
    pen.marks(&sheet.marks);
    pen.layer(None);
    paper(sheet, pen.ops)
}

/// A page of the sheet's size; the boxes are set exactly in `finish`.
fn paper(sheet: &Sheet, ops: Vec<Op>) -> PdfPage {
    PdfPage::new(printpdf::Mm(sheet.width.get() as f32), printpdf::Mm(sheet.height.get() as f32), ops)
}

/// Points, rounded to a ten-thousandth (35 nm): keeps files small and `f32`
/// noise out of them.
fn pt(mm: f64) -> Pt {
    Pt(((Mm::new(mm).pt() * 1e4).round() / 1e4) as f32)
}

fn point(p: At) -> Point {
    Point { x: pt(p.x), y: pt(p.y) }
}

/// What the page's graphics state holds now, so that it is set only when it changes.
#[derive(Clone, Debug, Default, PartialEq)]
struct State {
    fill: Option<Ink>,
    line: Option<Ink>,
    width: Option<f64>,
    dash: Option<Vec<f64>>,
    cap: Option<Cap>,
    font: Option<(Weight, f64)>,
}

/// Collects a page's operations.
#[derive(Default)]
struct Pen {
    ops: Vec<Op>,
    open: Option<Layer>,
    state: State,
}

impl Pen {
    fn marks(&mut self, marks: &[Mark]) {
        for mark in marks {
            match &mark.shape {
                Shape::Path(path) => {
                    self.layer(Some(mark.layer));
                    self.path(path);
                }
                Shape::Text(text) => {
                    self.layer(Some(mark.layer));
                    self.text(text);
                }
                Shape::Clip { outline, marks } => self.clip(outline, marks),
            }
        }
    }

    /// Closes the open layer and opens `layer`, unless it is open already.
    fn layer(&mut self, layer: Option<Layer>) {
        if self.open == layer {
            return;
        }
        if self.open.is_some() {
            self.ops.push(Op::EndLayer);
        }
        if let Some(layer) = layer {
            self.ops.push(Op::BeginLayer { layer_id: layer_id(layer) });
        }
        self.open = layer;
    }

    fn clip(&mut self, outline: &BezPath, marks: &[Mark]) {
        self.layer(None);
        let outside = self.state.clone();
        self.ops.push(Op::SaveGraphicsState);
        self.ops.push(Op::DrawPolygon { polygon: polygon(outline, PaintMode::Clip) });
        self.marks(marks);
        self.layer(None);
        self.ops.push(Op::RestoreGraphicsState);
        self.state = outside;
    }

    fn path(&mut self, path: &Path) {
        if let Some(ink) = path.fill {
            self.fill_ink(ink);
            self.ops.push(Op::DrawPolygon { polygon: polygon(&path.path, PaintMode::Fill) });
        }
        if let Some(stroke) = &path.stroke {
            self.stroke_style(stroke);
            // One operation for each ring: printpdf closes only the last ring
            // of a stroked polygon.
            for (points, is_closed) in rings(&path.path) {
                self.ops.push(Op::DrawLine { line: Line { points, is_closed } });
            }
        }
    }

    fn fill_ink(&mut self, ink: Ink) {
        if self.state.fill.replace(ink) != Some(ink) {
            self.ops.push(Op::SetFillColor { col: color(ink) });
        }
    }

    fn stroke_style(&mut self, stroke: &Stroke) {
        if self.state.line.replace(stroke.ink) != Some(stroke.ink) {
            self.ops.push(Op::SetOutlineColor { col: color(stroke.ink) });
        }
        if self.state.width.replace(stroke.width) != Some(stroke.width) {
            self.ops.push(Op::SetOutlineThickness { pt: pt(stroke.width) });
        }
        if self.state.dash.as_ref() != Some(&stroke.dash) {
            self.state.dash = Some(stroke.dash.clone());
            let lengths: Vec<f32> = stroke.dash.iter().map(|&mm| pt(mm).0).collect();
            self.ops.push(Op::SetLineDashPattern { dash: LineDashPattern::new(0.0, &lengths) });
        }
        if self.state.cap.replace(stroke.cap) != Some(stroke.cap) {
            let (cap, join) = match stroke.cap {
                Cap::Butt => (LineCapStyle::Butt, LineJoinStyle::Miter),
                Cap::Round => (LineCapStyle::Round, LineJoinStyle::Round),
            };
            self.ops.extend([Op::SetLineCapStyle { cap }, Op::SetLineJoinStyle { join }]);
        }
    }

    fn text(&mut self, text: &Text) {
        if text.content.is_empty() {
            return;
        }
        if !font::is_standard(&text.content) {
            // The file carries no typeface; letters beyond the standard ones are drawn.
            let turn = Affine::translate(text.start().to_vec2()) * Affine::rotate(text.angle_deg.to_radians());
            let letters = turn * font::outline(&text.content, At::ORIGIN, text.size, text.weight);
            self.path(&Path::fill(letters, text.ink));
            return;
        }
        self.fill_ink(text.ink);
        self.ops.push(Op::StartTextSection);
        if self.state.font.replace((text.weight, text.size)) != Some((text.weight, text.size)) {
            let font = match text.weight {
                Weight::Regular => BuiltinFont::Helvetica,
                Weight::Bold => BuiltinFont::HelveticaBold,
            };
            self.ops.push(Op::SetFont { font: PdfFontHandle::Builtin(font), size: pt(text.size) });
        }
        let (at, angle) = (point(text.start()), text.angle_deg.to_radians());
        let (sin, cos) = (angle.sin() as f32, angle.cos() as f32);
        self.ops.push(Op::SetTextMatrix { matrix: TextMatrix::Raw([cos, sin, -sin, cos, at.x.0, at.y.0]) });
        self.ops.push(Op::ShowText { items: vec![TextItem::Text(text.content.clone())] });
        self.ops.push(Op::EndTextSection);
    }
}

fn color(ink: Ink) -> Color {
    let part = |level: u8| (f32::from(level) / 255.0 * 1000.0).round() / 1000.0;
    if ink.red == ink.green && ink.green == ink.blue {
        Color::Greyscale(Greyscale::new(part(ink.red), None))
    } else {
        Color::Rgb(Rgb::new(part(ink.red), part(ink.green), part(ink.blue), None))
    }
}

fn polygon(path: &BezPath, mode: PaintMode) -> Polygon {
    let rings = rings(path).into_iter().map(|(points, _)| PolygonRing { points }).collect();
    Polygon { rings, mode, winding_order: WindingOrder::NonZero }
}

/// The subpaths as printpdf takes them, each with whether it closes. A curve is
/// two handles and an end point; quadratics are raised to cubics.
fn rings(path: &BezPath) -> Vec<(Vec<LinePoint>, bool)> {
    let on = |p: At| LinePoint { p: point(p), bezier: false };
    let handle = |p: At| LinePoint { p: point(p), bezier: true };
    let mut rings: Vec<(Vec<LinePoint>, bool)> = Vec::new();
    let mut pen = At::ORIGIN;
    for &el in path.elements() {
        match (el, rings.last_mut()) {
            (PathEl::MoveTo(p), _) => rings.push((vec![on(p)], false)),
            (PathEl::LineTo(p), Some((points, _))) => points.push(on(p)),
            (PathEl::QuadTo(c, p), Some((points, _))) => {
                let raised = kurbo::QuadBez::new(pen, c, p).raise();
                points.extend([handle(raised.p1), handle(raised.p2), on(p)]);
            }
            (PathEl::CurveTo(a, b, p), Some((points, _))) => points.extend([handle(a), handle(b), on(p)]),
            (PathEl::ClosePath, Some((_, closed))) => *closed = true,
            (_, None) => {}
        }
        pen = el.end_point().unwrap_or(pen);
    }
    rings.retain(|(points, _)| points.len() > 1);
    rings
}

/// Sets what printpdf cannot: exact page boxes, no scaling when printed; and puts
/// each page's drawing, written before as object 1, 2 …, in place of the frame's
/// empty one.
fn finish(raw: &mut lopdf::Document, sizes: &[(Mm, Mm)]) -> Result<(), lopdf::Error> {
    let mut drawing = 0;
    for (id, size) in raw.get_pages().into_values().zip(sizes).collect::<Vec<_>>() {
        let page = raw.get_object_mut(id)?.as_dict_mut()?;
        set_boxes(page, *size);
        let empty = page.get(b"Contents")?.as_reference()?;
        drawing += 1;
        page.set("Contents", Object::Reference((drawing, 0)));
        raw.objects.remove(&empty);
    }
    // ISO 32000-1, 12.2, Table 150: `None` keeps the print dialogue from
    // scaling to the page; the tray follows the page's size.
    let preferences = dictionary! { "PrintScaling" => "None", "PickTrayByPDFSize" => true, "DisplayDocTitle" => true };
    let catalog = raw.catalog_mut()?;
    catalog.set("ViewerPreferences", preferences);
    catalog.set("PageLayout", "SinglePage");
    let info = raw.trailer.get(b"Info")?.as_reference()?;
    tidy_info(raw.get_object_mut(info)?.as_dict_mut()?);
    Ok(())
}

fn set_boxes(page: &mut Dictionary, (width, height): (Mm, Mm)) {
    let corner = |length: Mm| Object::Real(((length.pt() * 1e4).round() / 1e4) as f32);
    let sheet_box = vec![0.into(), 0.into(), corner(width), corner(height)];
    for name in ["MediaBox", "CropBox", "TrimBox"] {
        page.set(name, sheet_box.clone());
    }
    page.remove(b"Annots");
}

/// Takes out what printpdf adds unasked: a print-exchange standard this file
/// does not follow, and dates, which would differ from run to run if true.
fn tidy_info(info: &mut Dictionary) {
    for key in ["GTS_PDFXVersion", "CreationDate", "ModDate", "Identifier", "Author", "Keywords", "Trapped"] {
        info.remove(key.as_bytes());
    }
}

#[cfg(test)]
mod tests;
