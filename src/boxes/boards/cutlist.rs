//! The cut list: every piece of a batch, sizes grouped.

use serde::Serialize;

use crate::boxes::parts::{Part, PartKind};
use crate::diag::{Error, Finding, FindingKind, Noted, Severity};
use crate::units::{Mm, Unit};

use super::{Shop, Stock};

/// One line of the cut list.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CutRow {
    /// Letter on the board drawings.
    pub mark: char,
    /// The part.
    pub part: PartKind,
    /// Number wanted for the batch.
    pub count: u32,
    /// Length along the grain.
    pub length: Mm,
    /// Width across the grain.
    pub width: Mm,
    /// Thickness.
    pub thickness: Mm,
    /// For a part glued up from strips: how many strips make one part. One
    /// otherwise; `width` is then the strip's.
    pub strips: u32,
}

impl CutRow {
    /// What one piece is called at the saw: the part, or a strip of it.
    #[must_use]
    pub fn piece(&self) -> String {
        let name = self.part.name();
        if self.strips > 1 { format!("{name} strip") } else { name.to_owned() }
    }
}

/// Wood planed off each strip of a glued-up part to true its edges, 1/16 in
/// (common practice, no source).
const JOINTING: Mm = Mm::from_inches(1.0 / 16.0);
/// Most strips one part is glued up from (common practice, no source: more
/// joints than anyone glues).
const MOST_STRIPS: u32 = 20;
/// Boards and parts within this of each other count as equally thick,
/// millimetres (common practice, no source).
const SAME_THICKNESS: Mm = Mm::new(0.5);

/// Whether a part can be cut from a board as far as thickness goes.
pub(crate) fn same_thickness(part: Mm, board: Mm) -> bool {
    (part - board).abs() <= SAME_THICKNESS
}

/// The cut list of a batch: longest pieces first within the box's order of
/// parts. The stem is cut from dowel and is not on it.
///
/// # Errors
/// [`Error::Sizes`] for a part longer than any board of its thickness, wider
/// when it may not be glued up, or of a thickness no board has.
pub fn cut_list(parts: &[Part], boxes: u32, shop: &Shop, unit: Unit) -> Result<Noted<Vec<CutRow>>, Error> {
    let mut rows: Vec<CutRow> = Vec::new();
    let mut findings = Vec::new();
    for part in parts.iter().filter(|p| p.kind != PartKind::Stem) {
        let (row, finding) = row(part, boxes, shop, unit)?;
        findings.extend(finding);
        rows.push(row);
    }
    Ok(Noted { value: rows, findings })
}

fn row(part: &Part, boxes: u32, shop: &Shop, unit: Unit) -> Result<(CutRow, Option<Finding>), Error> {
    let stock: Vec<&Stock> = shop.stock.iter().filter(|s| same_thickness(part.thickness, s.thickness)).collect();
    let name = part.kind.name();
    if stock.is_empty() {
        let text = format!("no board is {} thick, as the {name} has to be", part.thickness.both(unit));
        return Err(Error::sizes(text, "add a board of that thickness under boards.stock"));
    }
    let long: Vec<&Stock> = stock.into_iter().filter(|s| part.length <= s.usable()).collect();
    let mut row = CutRow {
        mark: part.kind.letter(),
        part: part.kind,
        count: part.count * boxes,
        length: part.length,
        width: part.width,
        thickness: part.thickness,
        strips: 1,
    };
    let Some(widest) = long.iter().map(|s| s.width).reduce(Mm::max) else {
        let text = format!("the {name} is {} long, longer than any board", part.length.both(unit));
        let advice = "add a longer board under boards.stock, or make the box smaller";
        return Err(Error::Sizes { what: text, advice: advice.into(), measured: Some(part.length) });
    };
    if part.width <= widest {
        return Ok((row, None));
    }
    if !shop.glue_up {
        let text = format!("the {name} is {} wide, wider than any board", part.width.both(unit));
        let advice = "add a wider board under boards.stock, or allow boards.glue_up";
        return Err(Error::Sizes { what: text, advice: advice.into(), measured: Some(part.width) });
    }
    let Some(strips) = (2..=MOST_STRIPS).find(|&n| part.width / f64::from(n) + JOINTING <= widest) else {
        let (wide, board) = (part.width.both(unit), widest.both(unit));
        let text = format!("the {name} is {wide} wide, too wide to glue up from boards {board} wide");
        let advice = "add a wider board under boards.stock, or make the box smaller";
        return Err(Error::Sizes { what: text, advice: advice.into(), measured: Some(part.width) });
    };
    row.strips = strips;
    row.width = part.width / f64::from(strips) + JOINTING;
    row.count *= strips;
    let text =
        format!("the {name} is {} wide, wider than any board: glued up from {strips} strips", part.width.both(unit));
    let finding = Finding::new(
        format!("glue-up-{}", name.replace(' ', "-")),
        FindingKind::Plan,
        Severity::Note,
        text,
        "true the edges, glue, then cut to width; a wider board saves the work",
    )
    .measured(part.width.get(), widest.get());
    Ok((row, Some(finding)))
}
