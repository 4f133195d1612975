//! A whole plan from the shop's settings: one box, or a batch with its boards,
//! work and price.

use serde::Serialize;

use super::batch::{self, Counts, Stacking, Work};
use super::boards::{self, BoardPlan, Shop, cut_list};
use super::design::{Design, setting};
use super::face::FaceFacts;
use super::hardware::{Hardware, Needs, Supply, supplies};
use super::nails::{self, NailPlan, NailWood};
use super::parts::{self, Parts};
use super::price::{CostLine, Costs, Group, Rates, break_even, for_minutes};
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
    let window = window::derive(&design, settings.saw.blade.kerf, unit)?;
    let nails = nails::plan(&design, &nail_wood(settings), face.map(|f| (f, settings.saw.blade.kerf)), unit);
    findings.extend(nails.findings);
    if let Some(face) = face {
        // Nails that moved out of the way are met where they would have been.
        let even = nails::plan(&design, &nail_wood(settings), None, unit).value;
        findings.extend(window::over_clearance(&window, &face.cutouts, &even.on_panel(), unit));
    }
    Ok(Noted { value: Lantern { design, parts, window, nails: nails.value }, findings })
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
    Err(setting("panel.grain", text, "write grain = \"vertical\" for a box, or leave [box] out for a loose panel"))
}

/// Solid wood counts as prone to splitting: Eurocode 5 8.3.1.2(7) names fir,
/// Douglas fir and spruce (from memory), and taking every fence wood so errs
/// on the careful side.
fn nail_wood(settings: &Settings) -> NailWood {
    let wood = &settings.wood;
    NailWood { specific_gravity: wood.specific_gravity, prone: wood.kind == WoodKind::Solid }
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
    /// Boxes from which the batch pays, at that price.
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
    let Noted { value: lantern, mut findings } = lantern(settings, asked, None)?;
    findings.extend(face_findings(settings, asked, faces)?);
    let stock = Shop::new(&settings.stated.boards, lantern.design.thickness, settings.unit)?;
    let rows = cut_list(&lantern.parts.list, boxes, &stock, settings.unit)?;
    findings.extend(rows.findings);
    let boards = boards::plan(rows.value, &stock, settings.unit)?;
    findings.push(clearest_board());
    let job = Job { settings, shop: &shop, lantern: &lantern, faces, boxes, boards: &boards };
    let (work, supplies, templates) = job.count();
    let costs = costs(boxes, &boards, &supplies, &work, &shop.rates);
    let money = job.takings(&costs, &work, &supplies, &stock)?;
    let faces = faces.iter().map(|(face, boxes)| FaceShare { face: face.clone(), boxes: *boxes }).collect();
    let stack = shop.stacking.panels(lantern.design.thickness);
    let value = Batch { lantern, boxes, faces, stack, templates, boards, supplies, work, costs, money };
    Ok(Noted { value, findings })
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
    boards: &'a BoardPlan,
}

impl Job<'_> {
    fn count(&self) -> (Work, Vec<Supply>, u32) {
        let stated = &self.settings.stated;
        let design = &self.lantern.design;
        let counts = Counts {
            boxes: self.boxes,
            faces: self.faces,
            boards: self.boards,
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
            faces: self.faces,
            boxes: self.boxes,
            templates: counts.templates(),
            sawing: work.sawing(),
        };
        let supplies = supplies(&self.shop.hardware, &needs);
        (work, supplies, counts.templates())
    }

    fn takings(&self, costs: &Costs, work: &Work, supplies: &[Supply], stock: &Shop) -> Result<Takings, Error> {
        let rates = &self.shop.rates;
        let unit_cost = costs.unit();
        let fair_price = rates.price_for_margin(unit_cost);
        let price = rates.price.unwrap_or(fair_price);
        let scaled = |n: u32, boards: Cents| self.scaled(n, boards, work, supplies).total();
        // Boards in proportion: whole boards would make the count jump.
        let whole = self.boards.cost + self.boards.spare_cost;
        let boards = |n: u32| Cents(((whole.0 * i64::from(n)) as f64 / f64::from(self.boxes)).ceil() as i64);
        let mut table = Vec::new();
        for &boxes in self.settings.stated.price.table.iter().filter(|n| (1..=MOST_BOXES).contains(*n)) {
            let unit_cost = if boxes == self.boxes { unit_cost } else { self.unit_at(boxes, work, supplies, stock)? };
            table.push(UnitCost { boxes, unit_cost, fair_price: rates.price_for_margin(unit_cost) });
        }
        Ok(Takings {
            currency: rates.currency.clone(),
            unit_cost,
            fair_price,
            wished_margin: rates.margin,
            price,
            fees: rates.fees(price),
            profit: rates.profit(price, unit_cost),
            margin: rates.margin_at(price, unit_cost),
            break_even: break_even(rates, price, &|n| scaled(n, boards(n))),
            table,
        })
    }

    /// Unit cost of a batch of another size: its boards by a quick plan, work
    /// and supplies in proportion to this batch.
    fn unit_at(&self, boxes: u32, work: &Work, supplies: &[Supply], stock: &Shop) -> Result<Cents, Error> {
        let rows = cut_list(&self.lantern.parts.list, boxes, stock, self.settings.unit)?.value;
        // Too few boards for a larger batch is no fault of this one.
        let boards = boards::plan_quickly(rows, stock, self.settings.unit);
        let boards = boards.map(|b| b.cost + b.spare_cost).unwrap_or_else(|_| {
            let whole = (self.boards.cost + self.boards.spare_cost) * i64::from(boxes);
            Cents(whole.0 / i64::from(self.boxes))
        });
        Ok(self.scaled(boxes, boards, work, supplies).unit())
    }

    fn scaled(&self, boxes: u32, boards: Cents, work: &Work, supplies: &[Supply]) -> Costs {
        let share = f64::from(boxes) / f64::from(self.boxes);
        let mut scaled = work.clone();
        scaled.learned = batch::wright(boxes, self.settings.stated.time.learning);
        for operation in scaled.operations.iter_mut().filter(|o| !o.name.starts_with("set up")) {
            operation.minutes *= share;
        }
        let supplies = supplies.iter().map(|s| s.cost.0 as f64 * share).sum::<f64>().round() as i64;
        let mut lines = vec![line(Group::Boards, "boards", boards), line(Group::Supplies, "supplies", Cents(supplies))];
        lines.extend(work_lines(&scaled, &self.shop.rates));
        Costs { boxes, lines }
    }
}

fn line(group: Group, name: impl Into<String>, amount: Cents) -> CostLine {
    CostLine { group, name: name.into(), amount }
}

fn costs(boxes: u32, boards: &BoardPlan, supplies: &[Supply], work: &Work, rates: &Rates) -> Costs {
    let mut lines = Vec::new();
    for bought in &boards.buy {
        let name = format!("{} × {}", bought.cut, bought.name);
        lines.push(line(Group::Boards, name, bought.price * i64::from(bought.cut)));
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
mod tests {
    use super::*;
    use crate::settings::boxes::StockBoard;
    use crate::settings::sections;
    use crate::settings::{Length, Money};

    pub(crate) fn demo() -> (Settings, Vec<(FaceFacts, u32)>) {
        let mut shop = sections::Shop { lantern: Some(BoxSettings::default()), ..sections::Shop::default() };
        shop.boards.stock.push(StockBoard {
            name: "wide board".into(),
            length: Length::text("96in"),
            width: Length::text("7-1/4in"),
            thickness: None,
            price: Money::cents(799),
            available: None,
            end_loss: None,
        });
        let settings = Settings::resolve(&shop).unwrap();
        let names = ["owl", "fox", "moon", "gourd", "cat", "moth"];
        let face = |(i, name): (usize, &&str)| {
            let i = i as f64;
            let facts = FaceFacts {
                name: (*name).to_owned(),
                cut_length_mm: 700.0 + 60.0 * i,
                corners: 20,
                holes: 6,
                open_area_mm2: 3500.0,
                ..FaceFacts::default()
            };
            (facts, 4)
        };
        (settings, names.iter().enumerate().map(face).collect())
    }

    #[test]
    fn a_batch_is_planned_to_the_cent() {
        let (settings, faces) = demo();
        let asked = settings.lantern.clone().unwrap();
        let Noted { value: plan, findings } = batch(&settings, &asked, &faces).unwrap();
        assert_eq!(plan.boxes, 24, "six faces, four boxes each");
        let sum: i64 = plan.costs.lines.iter().map(|l| l.amount.0).sum();
        assert_eq!(plan.costs.total().0, sum, "lines add up");
        let groups = [Group::Boards, Group::Supplies, Group::Work, Group::Overhead];
        assert_eq!(groups.map(|g| plan.costs.group(g)).into_iter().sum::<Cents>(), plan.costs.total(), "groups too");
        let boards: Cents = plan.boards.buy.iter().map(|b| b.price * i64::from(b.cut + b.spare)).sum();
        assert_eq!(plan.costs.group(Group::Boards), boards, "boards as bought");
        let money = &plan.money;
        assert_eq!(money.profit + money.fees + money.unit_cost, money.price, "the price is shared out to the cent");
        assert!(money.margin >= 0.3 - 1e-9, "{money:?}");
        assert!(money.break_even.is_some_and(|n| n <= 24), "{:?}", money.break_even);
        let units: Vec<_> = money.table.iter().map(|r| r.unit_cost).collect();
        assert!(units.windows(2).all(|w| w[1] <= w[0]), "larger batches cost less a box: {units:?}");
        assert!(findings.iter().any(|f| f.id == "clearest-board"), "{findings:?}");
        let brads = plan.supplies.iter().find(|s| s.name == "brads").unwrap();
        assert_eq!(brads.used, (plan.lantern.nails.count() as f64 * 24.0 * 1.05).ceil(), "every nail and 5 %");
    }

    #[test]
    fn impossible_counts_are_refused() {
        let (mut settings, faces) = demo();
        let asked = settings.lantern.clone().unwrap();
        settings.stated.batch.boxes = Some(10);
        let error = batch(&settings, &asked, &faces).expect_err("24 faces on 10 boxes");
        assert!(error.to_string().contains("the faces ask for 24 boxes"), "{error}");
        settings.stated.batch.boxes = None;
        assert!(batch(&settings, &asked, &[]).unwrap_err().to_string().contains("no boxes"), "nothing to make");
    }

    #[test]
    fn a_forced_face_is_reported_by_name() {
        let (settings, mut faces) = demo();
        let asked = settings.lantern.clone().unwrap();
        let outline = kurbo::Shape::to_path(&kurbo::Rect::new(3.0, 30.0, 130.0, 200.0), 0.1);
        faces[0].0.cutouts.push(crate::boxes::face::FaceCutout { id: "cut-out 1".into(), outline });
        let findings = batch(&settings, &asked, &faces).unwrap().findings;
        let over = findings.iter().find(|f| f.kind == FindingKind::OverClearance).unwrap();
        assert!(over.message.starts_with("owl: cut-out 1 comes to"), "{}", over.message);
        assert!(over.message.contains("it meets front left corner, nail"), "{}", over.message);
    }
}
