//! The words beside the panel or under it: name, sizes, how to print, legend. Where
//! there is little room less is said; how to print and what not to saw never goes.

use kurbo::Rect;

use super::flow::{line, titled, wrap, wrapped_to};
use super::layout::Layout;
use super::panel::Drawing;
use super::template::{PRINT_NOTE, Request, not_ready, plain, sizes_in};
use super::{Ink, Layer, Mark, Path, Text, legend, style};
use crate::font::Weight;

/// From one baseline to the next, as a part of the type size: closer than in running
/// text, as these are labels of a line or two.
const LEADING: f64 = 1.28;
/// Parts of a band's width that its words take; the legend has the rest.
const SHARES: [f64; 2] = [0.38, 0.46];
/// Space between a band's words and its legend, mm.
const GUTTER: f64 = 6.0;

/// How much is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    /// All of it, with room round it.
    Full,
    /// All of it, in small letters.
    Close,
    /// All but how many faults there are.
    Tight,
    /// What keeps a print true and a face from being sawn too early; the bench sheet
    /// has the rest.
    Least,
}

const WAYS: [Way; 4] = [Way::Full, Way::Close, Way::Tight, Way::Least];

/// A paragraph of the words, with the space above it, mm.
struct Say {
    text: String,
    size: f64,
    weight: Weight,
    ink: Ink,
    above: f64,
}

impl Say {
    fn new(text: impl Into<String>, size: f64, above: f64) -> Self {
        Self { text: text.into(), size, weight: Weight::Regular, ink: style::INK, above }
    }

    fn quiet(self) -> Self {
        Self { ink: style::QUIET, ..self }
    }

    fn bold(self) -> Self {
        Self { weight: Weight::Bold, ..self }
    }
}

/// Words and legend in a column right of the panel. `keep` is the height that the
/// upright ruler needs at the column's lower right.
pub(super) fn column(
    request: &Request<'_>,
    area: Rect,
    count: &str,
    drawing: &Drawing,
    layout: &Layout,
    keep: f64,
) -> Vec<Mark> {
    let laid = WAYS.map(|way| {
        let (mut marks, y) = set(&said(request, count, layout, way, area.width()), area);
        let rule = y - 2.0;
        marks.push(Mark::new(Layer::Title, Path::stroke(line((area.x0, rule), (area.x1, rule)), style::rule())));
        let (rows, low) = legend_beside(Rect { y1: rule - 1.5, ..area }, drawing, request, keep);
        marks.extend(rows);
        (marks, low)
    });
    let fits = laid.iter().position(|(_, low)| *low >= area.y0).unwrap_or(WAYS.len() - 1);
    laid.into_iter().nth(fits).map_or_else(Vec::new, |(marks, _)| marks)
}

/// The legend from the top of `area`, beside the upright ruler where it reaches down to
/// it, and how low it comes.
fn legend_beside(area: Rect, drawing: &Drawing, request: &Request<'_>, keep: f64) -> (Vec<Mark>, f64) {
    let grain = request.outcome.face.panel.grain_deg;
    let lay = |area: Rect| legend::with_note(area, drawing, 1, grain);
    let (rows, tall) = lay(area);
    if area.y1 - tall - 1.0 >= area.y0 + keep {
        return (rows, area.y1 - tall);
    }
    let (rows, tall) = lay(Rect { x1: area.x1 - super::ruler::HEIGHT - 2.0, ..area });
    (rows, area.y1 - tall)
}

/// Words at the left and the legend at the right of a band under the panel: as much of
/// the words as fits beside one of the ways to lay the legend.
pub(super) fn band(request: &Request<'_>, area: Rect, count: &str, drawing: &Drawing, layout: &Layout) -> Vec<Mark> {
    let legends: Vec<Legend> = SHARES.iter().flat_map(|share| legends(area, *share, drawing, request)).collect();
    let ways = WAYS.into_iter().flat_map(|way| legends.iter().map(move |legend| (way, legend)));
    let laid = ways.map(|(way, legend)| {
        let left = Rect { x1: area.x0 + area.width() * legend.share, ..area };
        let mut said = said(request, count, layout, way, left.width());
        if !legend.noted {
            said.push(Say::new(legend::WEIGHT_NOTE, style::SMALL, 1.0).quiet());
        }
        let (words, low) = set(&said, left);
        (low >= area.y0 && legend.tall <= area.height(), words, &legend.marks)
    });
    let mut last = Vec::new();
    for (fits, words, legend) in laid {
        last = words.into_iter().chain(legend.iter().cloned()).collect();
        if fits {
            break;
        }
    }
    last
}

/// A way to lay the legend of a band.
struct Legend {
    marks: Vec<Mark>,
    tall: f64,
    /// Whether it says what black and white signs mean; the words do where not.
    noted: bool,
    /// The part of the band's width that is the words'.
    share: f64,
}

/// The legend in few columns or many, with and without its note.
fn legends(area: Rect, share: f64, drawing: &Drawing, request: &Request<'_>) -> Vec<Legend> {
    let right = Rect { x0: area.x0 + area.width() * share + GUTTER, ..area };
    let grain = request.outcome.face.panel.grain_deg;
    let few = if right.width() > 110.0 { 3 } else { 2 };
    let ways = [(few, true), (few, false), (few + 1, true), (few + 1, false)];
    let laid = ways.map(|(columns, noted)| {
        let lay = if noted { legend::with_note } else { legend::lay };
        let (marks, tall) = lay(right, drawing, columns, grain);
        Legend { marks, tall, noted, share }
    });
    laid.into()
}

/// What is said, in order.
fn said(request: &Request<'_>, count: &str, layout: &Layout, way: Way, width: f64) -> Vec<Say> {
    let mut said = name(request, way, width);
    let warning = not_ready(request.outcome).map(|words| match way {
        Way::Full | Way::Close => format!("{words}, see the bench sheet"),
        Way::Tight | Way::Least => "NOT READY TO SAW, see the bench sheet".to_owned(),
    });
    let notes = [Some(PRINT_NOTE), layout.flaps.any().then_some(FLAPS_NOTE)].into_iter().flatten();
    let notes = notes.map(|note| Say::new(note, style::SMALL, 1.0).quiet());
    let body = if way == Way::Full { style::BODY } else { style::SMALL };
    let warning = warning.map(|words| Say { ink: Ink::BLACK, ..Say::new(words, body, 1.0).bold() });
    let number = Say::new(format!("template, {count}"), body, 1.0).quiet();
    match way {
        Way::Full => said.extend(std::iter::once(number).chain(warning).chain(sizes(request)).chain(notes)),
        Way::Close | Way::Tight => {
            said.extend(std::iter::once(number).chain(warning).chain(notes).chain([measures(request)]));
        }
        Way::Least => said.extend(warning.into_iter().chain(notes).chain([number])),
    }
    said
}

const FLAPS_NOTE: &str = "Cut round the flaps, fold them back over the board's edges, then stick down.";

/// The face's name, on fewer lines where less is said.
fn name(request: &Request<'_>, way: Way, width: f64) -> Vec<Say> {
    let (lines, size) = match way {
        Way::Full => titled(request.name, width, 3),
        Way::Close => (wrapped_to(request.name, style::HEADING, Weight::Bold, width, 2), style::HEADING),
        Way::Tight | Way::Least => (wrapped_to(request.name, style::HEADING, Weight::Bold, width, 1), style::HEADING),
    };
    lines.into_iter().map(|line| Say::new(line, size, 0.0).bold()).collect()
}

/// Sizes, thickness, wood and blade, each on its line.
fn sizes(request: &Request<'_>) -> Vec<Say> {
    let (panel, setup) = (&request.outcome.face.panel, &request.outcome.setup);
    let [first, second] = sizes_in(request.unit, panel.width, panel.height);
    let wood = format!("{}, blade {}", plain(&setup.wood), plain(&setup.blade));
    vec![
        Say::new(first, style::BODY, 1.6).bold(),
        Say::new(second, style::BODY, 0.0).bold(),
        Say::new(format!("{} thick", panel.thickness.fine(request.unit)), style::SMALL, 0.0),
        Say::new(wood, style::SMALL, 0.0),
    ]
}

/// [`sizes`] in one paragraph.
fn measures(request: &Request<'_>) -> Say {
    let (panel, setup) = (&request.outcome.face.panel, &request.outcome.setup);
    let [first, second] = sizes_in(request.unit, panel.width, panel.height);
    let thick = panel.thickness.fine(request.unit);
    let wood = format!("{}, blade {}", plain(&setup.wood), plain(&setup.blade));
    Say::new(format!("{first} ({second}), {thick} thick, {wood}"), style::SMALL, 1.0)
}

/// The paragraphs from the top of `area`, and how low they come.
fn set(said: &[Say], area: Rect) -> (Vec<Mark>, f64) {
    let (mut marks, mut y) = (Vec::new(), area.y1);
    for say in said {
        y -= say.above;
        for content in wrap(&say.text, say.size, say.weight, area.width()) {
            y -= say.size * LEADING;
            let at = (area.x0, y + say.size * 0.3);
            let text = Text { weight: say.weight, ..Text::new(content, at, say.size).ink(say.ink) };
            marks.push(Mark::new(Layer::Title, text));
        }
    }
    (marks, y)
}
