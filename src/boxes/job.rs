//! A whole plan from the shop's settings: one box, or a batch with its boards,
//! work and price.

mod cheapest;
mod pays;

use cheapest::Planned;
use pays::Asked;
use serde::Serialize;

use super::batch::{self, Counts, Stacking, Work};
use super::boards::{BoardPlan, Shop};
use super::design::{Design, setting};
use super::face::{FaceCutout, FaceFacts};
use super::hardware::{Hardware, Needs, Supply, glue_lines, supplies};
use super::nails::{self, NailPlan, NailWood};
use super::over::over_clearance;
use super::parts::{self, Parts};
use super::price::{CostLine, Costs, Group, Rates, for_minutes, sold_to_pay};
use super::window::{self, Window};
use crate::diag::{Error, Finding, FindingKind, Noted, Severity};
use crate::settings::Settings;
use crate::settings::boxes::{BoxSettings, LidKind};
use crate::trade::sawing::Pace;
use crate::trade::woods::WoodKind;
use crate::units::{Cents, Mm};

/// One box, planned.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lantern {
    /// The box as asked for.
    pub design: Design,
    /// Its parts.
    pub parts: Parts,
    /// The window for the face.
    pub window: Window,
    /// Its nails.
    pub nails: NailPlan,
    /// What is sawn out of its front, panel space; nothing without a face.
    #[serde(skip)]
    pub cutouts: Vec<FaceCutout>,
}

/// Plans one box; `face` is the face on its front, if one is chosen.
///
/// # Errors
/// Whatever makes the box impossible, or a wrong setting.
pub fn lantern(settings: &Settings, asked: &BoxSettings, face: Option<&FaceFacts>) -> Result<Noted<Lantern>, Error> {
    let unit = settings.unit;
    upright(settings)?;
    let design = Design::new(asked, &settings.stated.nails, settings.panel.thickness, unit)?;
    let Noted { value: parts, mut findings } = parts::derive(&design, unit)?;
    let window = window::derive(&design, settings.saw.blade.kerf, &settings.own_clear, unit)?;
    let nails = nails::plan(&design, &nail_wood(settings), face.map(|f| (f, settings.saw.blade.kerf)), unit);
    findings.extend(nails.findings);
    if let Some(face) = face {
        // Nails that moved out of the way are met where they would have been, and told so.
        let even = nails::plan(&design, &nail_wood(settings), None, unit).value;
        let stay = nails.value.on_panel();
        let mut met = even.on_panel();
        for nail in &mut met {
            nail.made_way = !stay.iter().any(|other| (other.from, other.to) == (nail.from, nail.to));
        }
        findings.extend(over_clearance(&window, &face.cutouts, &met, unit));
    }
    let cutouts = face.map(|face| face.cutouts.clone()).unwrap_or_default();
    Ok(Noted { value: Lantern { design, parts, window, nails: nails.value, cutouts }, findings })
}

/// The walls are cut with the grain upright: cut list, boards and base nails
/// count on it, so the bridges of the face must, too.
fn upright(settings: &Settings) -> Result<(), Error> {
    let grain = settings.panel.grain_deg;
    // Boards whose grain slants are upright still.
    if (grain - 90.0).abs() <= 45.0 {
        return Ok(());
    }
    let text = format!("the grain lies level ({grain:.0}°), but a box's walls are cut with the grain upright");
    let advice = "write grain = \"vertical\" under [panel]; a loose panel, of no box, may have it level";
    Err(setting("panel.grain", text, advice))
}

/// Solid wood counts as prone to splitting: Eurocode 5 8.3.1.2(7) names fir,
/// Douglas fir and spruce (from memory), and taking every fence wood so errs
/// on the careful side.
fn nail_wood(settings: &Settings) -> NailWood {
    let wood = &settings.wood;
    let plywood = wood.kind == WoodKind::Plywood;
    NailWood { specific_gravity: wood.specific_gravity, prone: !plywood, plywood }
}

/// A batch, planned.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Batch {
    /// The box.
    pub lantern: Lantern,
    /// Boxes in all.
    pub boxes: u32,
    /// Which face on how many boxes.
    pub faces: Vec<FaceShare>,
    /// Panels in a full stack.
    pub stack: u32,
    /// Templates to print.
    pub templates: u32,
    /// Boards and how they are cut.
    pub boards: BoardPlan,
    /// Everything else that is bought.
    pub supplies: Vec<Supply>,
    /// The work.
    pub work: Work,
    /// What it costs.
    pub costs: Costs,
    /// What it should bring.
    pub money: Takings,
}

/// A face in a batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaceShare {
    /// The face.
    pub face: FaceFacts,
    /// On how many boxes.
    pub boxes: u32,
}

/// Prices and what they leave.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Takings {
    /// Currency sign.
    pub currency: String,
    /// Cost of one box, rounded up.
    pub unit_cost: Cents,
    /// The price that leaves the wished margin.
    pub fair_price: Cents,
    /// The wished margin, share of the price.
    pub wished_margin: f64,
    /// The price used: the shop's own, or the fair one.
    pub price: Cents,
    /// Fees on one sale.
    pub fees: Cents,
    /// Profit on one box.
    pub profit: Cents,
    /// Margin at that price.
    pub margin: f64,
    /// Sales after which this batch is paid for, at that price; may be more
    /// than the batch has.
    pub sold_to_pay: Option<u32>,
    /// The smallest batch that pays for itself when all of it is sold at that
    /// price.
    pub break_even: Option<u32>,
    /// Unit cost and fair price by batch size.
    pub table: Vec<UnitCost>,
}

/// One line of the table of batch sizes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct UnitCost {
    /// Boxes in the batch.
    pub boxes: u32,
    /// Cost of one box.
    pub unit_cost: Cents,
    /// The price that leaves the wished margin.
    pub fair_price: Cents,
}

/// Most boxes in a batch.
const MOST_BOXES: u32 = 10_000;

/// Plans a batch.
///
/// # Errors
/// As [`lantern`]; also when the boards on offer do not do, when the counts of
/// boxes and faces disagree, or a setting is wrong.
pub fn batch(settings: &Settings, asked: &BoxSettings, faces: &[(FaceFacts, u32)]) -> Result<Noted<Batch>, Error> {
    let shop = BatchShop::new(settings)?;
    let boxes = count(settings, faces)?;
    let faces = &sawn(faces);
    let Noted { value: lantern, mut findings } = lantern(settings, asked, None)?;
    findings.extend(face_findings(settings, asked, faces)?);
    findings.extend(faceless(faces, boxes));
    let stock = Shop::new(&settings.stated.boards, lantern.design.thickness, settings.unit)?;
    // Plywood is sold in sheets.
    if settings.wood.kind != WoodKind::Plywood {
        findings.extend(stock.too_wide(settings.unit));
    }
    let job = Job { settings, shop: &shop, lantern: &lantern, faces, boxes, stock: &stock };
    let (planned, table) = job.sizes()?;
    let money = job.takings(&planned, table)?;
    let Planned { boards, noticed, counted, costs } = planned;
    findings.extend(noticed);
    findings.extend(boards.findings());
    findings.push(clearest_board());
    let Counted { work, supplies, templates } = counted;
    let faces = faces.iter().map(|(face, boxes)| FaceShare { face: face.clone(), boxes: *boxes }).collect();
    let stack = shop.stacking.panels(lantern.design.thickness);
    let value = Batch { lantern, boxes, faces, stack, templates, boards, supplies, work, costs, money };
    Ok(Noted { value, findings })
}

/// The faces that are sawn: one on no box is neither sawn nor set up, one listed
/// twice is set up once.
fn sawn(faces: &[(FaceFacts, u32)]) -> Vec<(FaceFacts, u32)> {
    let mut sawn: Vec<(FaceFacts, u32)> = Vec::new();
    for (face, boxes) in faces.iter().filter(|(_, n)| *n > 0) {
        match sawn.iter_mut().find(|(known, _)| known == face) {
            Some((_, more)) => *more += boxes,
            None => sawn.push((face.clone(), *boxes)),
        }
    }
    sawn
}

/// The shop's settings for a batch, checked.
struct BatchShop {
    hardware: Hardware,
    rates: Rates,
    stacking: Stacking,
}

impl BatchShop {
    fn new(settings: &Settings) -> Result<Self, Error> {
        let stated = &settings.stated;
        batch::check_times(&stated.time)?;
        Ok(Self {
            hardware: Hardware::new(&stated.hardware, settings.unit)?,
            rates: Rates::new(&stated.price)?,
            stacking: Stacking::new(&stated.batch, settings.unit)?,
        })
    }
}

fn count(settings: &Settings, faces: &[(FaceFacts, u32)]) -> Result<u32, Error> {
    let with_faces: u32 = faces.iter().map(|(_, n)| n).fold(0, |sum, n| sum.saturating_add(*n));
    let boxes = settings.stated.batch.boxes.unwrap_or(with_faces);
    if boxes == 0 {
        let advice = "give batch.boxes, or list faces with their numbers under [[batch.faces]]";
        return Err(setting("batch.boxes", "the batch has no boxes", advice));
    }
    if boxes > MOST_BOXES {
        let text = format!("{boxes} boxes are more than one batch plans ({MOST_BOXES})");
        return Err(setting("batch.boxes", text, "plan the boxes in several batches"));
    }
    if with_faces > boxes {
        let text = format!("the faces ask for {with_faces} boxes, the batch has {boxes}");
        return Err(setting("batch.boxes", text, "raise batch.boxes or lower the faces' numbers"));
    }
    Ok(boxes)
}

/// What each face does to the nails of its boxes.
fn face_findings(settings: &Settings, asked: &BoxSettings, faces: &[(FaceFacts, u32)]) -> Result<Vec<Finding>, Error> {
    let bare: Vec<String> = lantern(settings, asked, None)?.findings.into_iter().map(|f| f.id).collect();
    let mut findings = Vec::new();
    for (face, _) in faces {
        let with = lantern(settings, asked, Some(face))?.findings;
        for mut finding in with.into_iter().filter(|f| !bare.contains(&f.id)) {
            finding.id = format!("{}-{}", face.name, finding.id);
            finding.message = format!("{}: {}", face.name, finding.message);
            findings.push(finding);
        }
    }
    Ok(findings)
}

/// A remark when fewer panels are sawn than boxes are made.
fn faceless(faces: &[(FaceFacts, u32)], boxes: u32) -> Option<Finding> {
    let sawn: u32 = faces.iter().map(|(_, n)| n).sum();
    (sawn < boxes).then(|| {
        let text = format!("{} of {boxes} boxes have no face: nothing is sawn or priced on their fronts", boxes - sawn);
        let advice = "list their faces under [[batch.faces]], or lower batch.boxes";
        Finding::new("boxes-without-face", FindingKind::Plan, Severity::Care, text, advice)
            .measured(f64::from(sawn), f64::from(boxes))
    })
}

fn clearest_board() -> Finding {
    Finding::new(
        "clearest-board",
        FindingKind::Plan,
        Severity::Note,
        "fronts need the clearest wood",
        "lay boards out before cutting: knots and sapwood go into backs, sides and bases",
    )
}

/// What one batch is counted from.
struct Job<'a> {
    settings: &'a Settings,
    shop: &'a BatchShop,
    lantern: &'a Lantern,
    faces: &'a [(FaceFacts, u32)],
    boxes: u32,
    stock: &'a Shop,
}

/// What a number of boxes takes.
struct Counted {
    work: Work,
    supplies: Vec<Supply>,
    templates: u32,
}

impl Job<'_> {
    /// Work and supplies of `boxes` boxes with these faces, by a share of the
    /// cuts of a board plan.
    fn count(
        &self,
        faces: &[(FaceFacts, u32)],
        boxes: u32,
        boards: &BoardPlan,
        board_share: f64,
    ) -> Result<Counted, Error> {
        let stated = &self.settings.stated;
        let design = &self.lantern.design;
        let counts = Counts {
            boxes,
            faces,
            boards,
            board_share,
            parts: self.lantern.parts.list.iter().map(|p| p.count).sum(),
            brads: self.lantern.nails.count() as u32,
            lid: design.lid.kind != LidKind::None,
            coats: stated.hardware.coats,
            thickness: design.thickness,
            stacking: self.shop.stacking,
        };
        let times = &self.settings.times;
        let pace = Pace { feed: times.feed, drill: times.drill, thread: times.thread, corner: times.corner };
        let feed = |thickness: Mm| pace.feed_in(&self.settings.wood, thickness, &self.settings.saw.blade);
        let work = batch::work(&counts, &stated.time, &feed);
        let needs = Needs {
            design,
            parts: &self.lantern.parts,
            brads: self.lantern.nails.count(),
            faces,
            boxes,
            templates: counts.templates(),
            sawing: work.sawing(),
            glue_lines: board_share * glue_lines(&boards.cut_list),
            crosscut: self.stock.crosscut,
        };
        let supplies = supplies(&self.shop.hardware, &needs, self.settings.unit)?;
        Ok(Counted { work, supplies, templates: counts.templates() })
    }

    fn takings(&self, own: &Planned, table: Vec<UnitCost>) -> Result<Takings, Error> {
        let rates = &self.shop.rates;
        let unit_cost = own.costs.unit();
        let fair_price = rates.price_for_margin(unit_cost);
        let price = rates.price.unwrap_or(fair_price);
        let left = price - rates.fees(price);
        Ok(Takings {
            currency: rates.currency.clone(),
            unit_cost,
            fair_price,
            wished_margin: rates.margin,
            price,
            fees: rates.fees(price),
            profit: rates.profit(price, unit_cost),
            margin: rates.margin_at(price, unit_cost),
            sold_to_pay: sold_to_pay(rates, price, own.costs.total()),
            break_even: self.pays_from(&Asked { left, price, own, table: &table })?,
            table,
        })
    }
}

fn line(group: Group, name: impl Into<String>, amount: Cents) -> CostLine {
    CostLine { group, name: name.into(), amount }
}

fn costs(boxes: u32, boards: &BoardPlan, supplies: &[Supply], work: &Work, rates: &Rates) -> Costs {
    let mut lines = Vec::new();
    for bought in &boards.buy {
        if bought.cut > 0 {
            let name = format!("{} × {}", bought.cut, bought.name);
            lines.push(line(Group::Boards, name, bought.price * i64::from(bought.cut)));
        }
        if bought.spare > 0 {
            let name = format!("{} × {} to spare", bought.spare, bought.name);
            lines.push(line(Group::Boards, name, bought.price * i64::from(bought.spare)));
        }
    }
    lines.extend(supplies.iter().map(|s| line(Group::Supplies, s.name, s.cost)));
    lines.extend(work_lines(work, rates));
    Costs { boxes, lines }
}

fn work_lines(work: &Work, rates: &Rates) -> Vec<CostLine> {
    let minutes = work.total();
    vec![
        line(Group::Work, format!("{:.1} hours of work", minutes / 60.0), for_minutes(minutes, rates.hourly)),
        line(Group::Overhead, "overhead by the hour", for_minutes(minutes, rates.overhead_hourly)),
        line(Group::Overhead, "overhead for the batch", rates.overhead_batch),
        line(Group::Overhead, "stall", rates.stall),
    ]
}

#[cfg(test)]
mod tests;
