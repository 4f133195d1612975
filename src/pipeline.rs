//! The only place that calls the stages in order. Bytes in, bytes out: no
//! files, no clock, no environment.
//!
//! ```text
//! bytes → art → interpret → fit → check → entry → order → Outcome
//!                                    ↖ mend ↙                 ↘ sheets → PDF, SVG, PNG, JSON
//! ```

pub mod lantern;

use kurbo::Rect;

mod repair;
mod survey;

pub use repair::{Repaired, Wishes, mend_documents, mended, repair};
pub use survey::{SURVEY_FILES, Surveyed, survey_document, survey_face, survey_ground, survey_setup};

use crate::art::Art;
use crate::check::{self, Checks};
use crate::diag::{Error, Finding, Noted, Place};
use crate::drawing;
use crate::entry::{self, Entries};
use crate::face::{Face, Numbers};
use crate::fit;
use crate::geom::flat::chords;
use crate::geom::tolerance::{FLATTEN, REPORT};
use crate::interpret::{self, Cutting};
use crate::mend;
use crate::order;
use crate::outcome::{ArtFacts, Outcome, SetUp};
use crate::settings::sections::ArtSection;
use crate::settings::{Cut, FitRules, Settings};
use crate::sheet::layout::{Printer, Turn};
use crate::sheet::picture::picture;
use crate::sheet::{Sheet, template};
use crate::trade::cautions;
use crate::trade::sawing::Pace;
use crate::units::Mm;
use crate::write::dxf::dxf;
use crate::write::json;
use crate::write::pdf::{Meta, pdf};
use crate::write::png::png;
use crate::write::svg::svg;

/// A face laid on its panel and how it came there.
#[derive(Clone, Debug)]
pub struct Laid {
    /// The face.
    pub face: Face,
    /// How the art was read.
    pub art: ArtFacts,
    /// What was noticed on the way.
    pub findings: Vec<Finding>,
}

/// Reads a drawing and lays it on the shop's panel.
///
/// # Errors
/// Whatever keeps the art from being read, interpreted or fitted.
pub fn lay(bytes: &[u8], name: &str, settings: &Settings) -> Result<Laid, Error> {
    let Noted { value: art, mut findings } = drawing::read(bytes, name, &drawing_options(settings))?;
    let stands = stands(&art, settings);
    let mut reading = interpret_options(settings);
    // A face laid before has none, at whatever size it is laid anew.
    reading.keep_strays = art.placed;
    let mut placing = fit_options(settings);
    if stands {
        let of_lines = art.shapes.iter().all(|shape| shape.line.as_ref().is_some_and(|line| !line.filled));
        let drawn = if of_lines { interpret::Reading::Lines } else { interpret::Reading::Dark };
        reading.reading = reading.reading.or(Some(drawn));
        reading.keep_specks = true;
        // It is sawn where it stands, at the size it is drawn.
        reading.laying = None;
    }
    let Noted { value: mut cutting, findings: read } = interpret::interpret(&art, &reading)?;
    if stands {
        if settings.art.cut == Cut::Auto {
            "its outlines were laid on this panel before, by fretgrin".clone_into(&mut cutting.why);
        }
        let (middle, align) = (cutting.extent.center(), settings.fit.align);
        placing.true_size = true;
        // An edge of the window that is asked for is gone to; else it stays where it stands.
        placing.middle_x = (align.across == 0.0).then(|| Mm::new(middle.x * art.unit_mm));
        placing.middle_y = (align.up == 0.0).then(|| settings.panel.height - Mm::new(middle.y * art.unit_mm));
    }
    let laid = fit::fit(&cutting, &settings.panel, &settings.clear, &placing)?;
    bounded(&laid.value, name)?;
    findings.extend(read);
    findings.extend(laid.findings);
    Ok(Laid { face: laid.value, art: facts(name, &art, &cutting), findings })
}

/// Most corners and points along curves a face may have, as the checks see it.
/// Ours: the demo faces have 1,600 at most, and each hundred thousand takes the
/// checks about a second.
const MOST_VERTICES: u64 = 100_000;

/// Refuses a face too finely drawn to be worked on in reasonable time.
fn bounded(face: &Face, name: &str) -> Result<(), Error> {
    let segs = face.cutouts.iter().flat_map(|cutout| cutout.piece.rings()).flat_map(|ring| ring.segs());
    let vertices: u64 = segs.map(|seg| u64::from(chords(seg, FLATTEN))).sum();
    if vertices <= MOST_VERTICES {
        return Ok(());
    }
    let place = Place { file: Some(name.to_owned()), ..Place::default() };
    let what = format!(
        "laid on this panel the outlines have {vertices} corners and points along their curves, more than {MOST_VERTICES}"
    );
    Err(Error::art(place, what, "simplify the drawing: smooth its lines, leave off what is too fine to saw"))
}

/// Whether `art` was laid on a panel of this size before, and nothing asks for
/// another size or middle: then it is sawn as it stands.
fn stands(art: &Art, settings: &Settings) -> bool {
    // Named one by one, so that a new rule is thought of here. Its own size it keeps
    // as it stands, and to an edge of the window it is moved as it is.
    let FitRules { width, height, scale, middle_x, middle_y, turn_deg, mirror, stretch, align: _, true_size: _ } =
        settings.fit;
    let sized = width.is_some() || height.is_some() || scale.is_some() || stretch != 0.0;
    let left_alone = !sized && middle_x.or(middle_y).is_none() && turn_deg == 0.0 && !mirror;
    let panel = settings.panel.rect();
    let same = |page: Rect| {
        let page = page.scale_from_origin(art.unit_mm);
        (page.width() - panel.width()).abs() < REPORT && (page.height() - panel.height()).abs() < REPORT
    };
    art.placed && left_alone && art.page.is_some_and(same)
}

/// Reads, lays and checks a drawing.
///
/// # Errors
/// As [`lay`]; a faulty face is no error.
pub fn check(bytes: &[u8], name: &str, settings: &Settings) -> Result<Outcome, Error> {
    let (settings, reasons) = lantern::boxed(settings)?;
    let mut outcome = judge(lay(bytes, name, &settings)?, &settings);
    outcome.clearances = reasons;
    lantern::meet(&mut outcome, &settings)?;
    Ok(outcome)
}

/// Segments of outline from which on the entry holes are sought on a thread of
/// their own. Ours: about 400 samples.
const WORTH_A_THREAD: usize = 40;

/// Checks a laid face, finds its entry holes and its order.
#[must_use]
pub fn judge(laid: Laid, settings: &Settings) -> Outcome {
    let Laid { face, art, mut findings } = laid;
    let options = check_options(settings);
    let entry = entry_options(settings);
    let segments: usize = face.cutouts.iter().flat_map(|cutout| cutout.piece.rings()).map(|r| r.segs().len()).sum();
    let (checks, entries) =
        check::both(segments > WORTH_A_THREAD, || check::run(&face, &options), || entry::entries(&face, &entry));
    // One number for a cut-out wherever it is named: its place in the order of sawing.
    let numbers = Numbers::in_order(&order::sequence(&face, &checks));
    let (face, checks) = (face.renumbered(&numbers), checks.renumbered(&numbers));
    let Entries { holes, unreached } = entries.renumbered(&numbers);
    findings.extend(check::findings(&checks, &face, &options));
    findings.extend(entry::findings(&unreached, &entry));
    let feed = pace(settings).feed_in(&settings.wood, settings.panel.thickness, &settings.saw.blade);
    let order = order::order(&face, &checks, &holes, &pace(settings), feed);
    rank(&mut findings);
    let setup = set_up(settings, &checks);
    Outcome { art, setup, face, clearances: Vec::new(), checks, holes, order, mended: None, findings }
}

/// A file made, not yet written anywhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// Its name, without folder.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Resolution of the panel's picture, dots in an inch: a 10 in panel becomes
/// about 1,000 pixels high, a screen's height.
const PICTURE_DPI: f64 = 96.0;

/// Everything the maker needs at the saw, from a checked face: the template,
/// the picture (SVG and PNG) and the report, named after the art or its project.
///
/// # Errors
/// When the panel cannot be laid on the paper.
pub fn documents(outcome: &Outcome, settings: &Settings) -> Result<Vec<Made>, Error> {
    let name = &outcome.art.name;
    let made = |suffix: &str, bytes: Vec<u8>| Made { name: format!("{name}-{suffix}"), bytes };
    let panel = picture(outcome, name);
    Ok(vec![
        made("template.pdf", template_pdf(outcome, settings)?),
        made("picture.svg", svg(&panel).into_bytes()),
        made("picture.png", png(&panel, PICTURE_DPI)?),
        made("report.json", json::text(&json::report(outcome)).into_bytes()),
    ])
}

/// The outlines at true size for other machines, from a checked face: SVG with
/// its curves as they are, DXF with arcs; named after the art or its project.
#[must_use]
pub fn outlines(outcome: &Outcome) -> Vec<Made> {
    let (face, holes) = (&outcome.face, &outcome.holes);
    let name = &outcome.art.name;
    let made = |kind: &str, text: String| Made { name: format!("{name}-outlines.{kind}"), bytes: text.into_bytes() };
    vec![made("svg", mend::layered_svg(face, holes)), made("dxf", dxf(face, holes))]
}

/// The sheets of the template and the bench sheet.
///
/// # Errors
/// When the panel cannot be laid on the paper.
pub fn template_sheets(outcome: &Outcome, settings: &Settings) -> Result<Vec<Sheet>, Error> {
    let cautions: Vec<String> =
        cautions::at_the_saw(&settings.wood).iter().map(|caution| caution.text.to_owned()).collect();
    template::pages(&template::Request {
        outcome,
        name: &outcome.art.name,
        printer: &printer(settings),
        unit: settings.unit,
        nails: &lantern::nails(outcome, settings)?,
        cautions: &cautions,
        copies: settings.copies,
    })
}

/// How many sheets of paper the template takes; several are to be joined. None
/// when the panel cannot be laid on the paper.
#[must_use]
pub fn sheets_to_join(outcome: &Outcome, settings: &Settings) -> usize {
    let request = template::Request {
        outcome,
        name: "",
        printer: &printer(settings),
        unit: settings.unit,
        nails: &[],
        cautions: &[],
        copies: 1,
    };
    template::layout(&request).map_or(0, |layout| layout.tiles.len())
}

/// The template and the bench sheet as PDF.
///
/// # Errors
/// When the panel cannot be laid on the paper.
pub fn template_pdf(outcome: &Outcome, settings: &Settings) -> Result<Vec<u8>, Error> {
    let name = &outcome.art.name;
    let meta = Meta {
        title: format!("{name}: template at true size"),
        subject: "Print at 100 %, then check the rulers on every sheet".to_owned(),
    };
    pdf(&template_sheets(outcome, settings)?, &meta)
}

/// The paper and printer, from the shop's settings.
#[must_use]
pub fn printer(settings: &Settings) -> Printer {
    use crate::settings::PaperTurn;
    let print = &settings.print;
    let turn = match print.turn {
        PaperTurn::Auto => Turn::Auto,
        PaperTurn::Portrait => Turn::Upright,
        PaperTurn::Landscape => Turn::Turned,
    };
    Printer { paper: print.paper.clone(), turn, overlap: print.overlap, scale_x: print.scale_x, scale_y: print.scale_y }
}

/// A file's own name, without its folder, as either kind of system writes it.
#[must_use]
pub fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// The name outputs are called after: the file's own, without folder and
/// ending; `face` for standard input.
#[must_use]
pub fn stem(file: &str) -> String {
    let base = file_name(file);
    let stem = base.rsplit_once('.').map_or(base, |(stem, _)| stem);
    if stem.is_empty() || stem == "-" { "face".to_owned() } else { stem.to_owned() }
}

/// Worst first; within a severity by kind, then as the stages gave them.
fn rank(findings: &mut [Finding]) {
    findings.sort_by(|a, b| b.severity.cmp(&a.severity).then(a.kind.cmp(&b.kind)));
}

fn facts(name: &str, art: &Art, cutting: &Cutting) -> ArtFacts {
    let size = art.page.unwrap_or_else(|| art.bounds()).size() * art.unit_mm;
    ArtFacts {
        file: name.to_owned(),
        name: stem(name),
        width: size.width,
        height: size.height,
        reading: cutting.reading.name().to_owned(),
        why: cutting.why.clone(),
        others: cutting.alternatives.iter().map(|a| (a.reading.name().to_owned(), a.why_not.clone())).collect(),
    }
}

/// How a drawing is read: the shop's tone, where it is not the usual one, parts
/// ink from paper in a bitmap, too.
fn drawing_options(settings: &Settings) -> drawing::Options {
    let mut options = drawing::Options::default();
    let tone = settings.art.threshold;
    options.trace.threshold = (tone != ArtSection::default().threshold).then_some(tone);
    options
}

fn interpret_options(settings: &Settings) -> interpret::Options {
    interpret::Options {
        reading: reading(settings),
        threshold: 1.0 - settings.art.threshold,
        gap: settings.art.gap.get(),
        kerf: settings.saw.blade.kerf.get(),
        laying: Some(fit_options(settings).laying(settings.clear.window(&settings.panel))),
        drop: settings.art.drop.clone(),
        keep: settings.art.keep.clone(),
        keep_specks: settings.art.keep_specks,
        keep_strays: false,
    }
}

fn reading(settings: &Settings) -> Option<interpret::Reading> {
    match settings.art.cut {
        Cut::Auto => None,
        Cut::Dark => Some(interpret::Reading::Dark),
        Cut::Light => Some(interpret::Reading::Light),
        Cut::Lines => Some(interpret::Reading::Lines),
        Cut::Features => Some(interpret::Reading::Features),
    }
}

fn fit_options(settings: &Settings) -> fit::Options {
    let side = |share: f64| match share {
        s if s < 0.0 => fit::Align::Start,
        s if s > 0.0 => fit::Align::End,
        _ => fit::Align::Center,
    };
    let rules = &settings.fit;
    fit::Options {
        width: rules.width,
        height: rules.height,
        scale: rules.scale,
        middle_x: rules.middle_x,
        middle_y: rules.middle_y,
        true_size: rules.true_size,
        across: side(rules.align.across),
        up: side(rules.align.up),
        turn_deg: rules.turn_deg,
        mirror: rules.mirror,
        stretch: rules.stretch,
    }
}

/// What the checks are told, from the shop's settings.
#[must_use]
pub fn check_options(settings: &Settings) -> check::Options {
    let smallest = settings.drills.iter().map(|drill| drill.diameter).reduce(Mm::min);
    check::Options {
        wood: settings.wood.clone(),
        bridge: settings.bridge,
        blade: settings.saw.blade.clone(),
        drawer: settings.saw.drawer.clone(),
        smallest_drill: smallest,
        line_tolerance: settings.saw.line_tolerance,
        throat: settings.saw.throat,
        unit: settings.unit,
    }
}

/// What the entry holes must suit, from the shop's settings.
#[must_use]
pub fn entry_options(settings: &Settings) -> entry::Options {
    entry::Options {
        needed: settings.saw.blade.hole_needed(settings.saw.end).get(),
        kerf: settings.saw.blade.kerf.get(),
        drills: settings.drills.iter().map(|drill| (drill.diameter.get(), drill.name.clone())).collect(),
        unit: settings.unit,
    }
}

fn pace(settings: &Settings) -> Pace {
    let times = &settings.times;
    Pace { feed: times.feed, drill: times.drill, thread: times.thread, corner: times.corner }
}

fn set_up(settings: &Settings, checks: &Checks) -> SetUp {
    SetUp {
        wood: settings.wood.slug.to_string(),
        blade: settings.saw.blade.name.clone(),
        kerf: settings.saw.blade.kerf.get(),
        tolerance: settings.saw.line_tolerance.get(),
        recommended: checks.blades.iter().find(|verdict| verdict.does_it).map(|verdict| verdict.blade.clone()),
    }
}
