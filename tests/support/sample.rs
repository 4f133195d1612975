//! A cat's face built by hand, with every kind of finding at known places, so
//! that drawings can be tested without reading art.

use fretgrin::check::{Bank, BladeVerdict, Bridge, Checks, Island, Slot, Technique, Turn, TurnKind};
use fretgrin::diag::{Finding, FindingKind, Severity};
use fretgrin::entry::EntryHole;
use fretgrin::face::{Clearances, CutOut, Face, Fit, Panel, number_cutouts};
use fretgrin::geom::boolean::{Rule, resolve, subtract};
use fretgrin::geom::{Piece, Region};
use fretgrin::order::{Order, Step};
use fretgrin::outcome::{ArtFacts, Outcome, SetUp};
use fretgrin::units::Mm;
use kurbo::{Affine, BezPath, Circle, Point, Shape};

fn shape(d: &str) -> Region {
    resolve(&BezPath::from_svg(d).unwrap(), Rule::NonZero)
}

fn circle(x: f64, y: f64, r: f64) -> Region {
    resolve(&Circle::new((x, y), r).to_path(1e-3), Rule::NonZero)
}

fn mirrored(region: &Region, width: f64) -> Region {
    region.transformed(Affine::new([-1.0, 0.0, 0.0, 1.0, width, 0.0]))
}

/// The openings for a panel 133.35 mm wide and 254 mm high: ringed eyes with a
/// pupil that falls out, a nose, a mouth with teeth, whisker slots, a crescent
/// and stars.
fn openings() -> Vec<Piece> {
    let w = 133.35;
    let eye = subtract(&circle(40.0, 160.0, 15.0), &circle(42.0, 159.0, 5.5));
    let nose = shape("M58 128 C62 131 71.35 131 75.35 128 L66.675 117 Z");
    let mouth = shape(
        "M30 98 C45 72 88.35 72 103.35 98 L96 96 L92 88 L87 94 L80 86 L74 92 L66.675 84 L59 92 L53 86 L46 94 L41 88 L37 96 Z",
    );
    let whisker = |y: f64, tilt: f64| {
        shape(&format!(
            "M16 {y} C24 {} 36 {} 46 {} L46 {} C36 {} 24 {} 16 {y} Z",
            y + 1.0,
            y + 2.0 + tilt,
            y + tilt,
            y - 2.0 + tilt,
            y - 1.0 + tilt,
            y - 1.2
        ))
    };
    let crescent = subtract(&circle(66.675, 212.0, 17.0), &circle(66.675, 219.0, 15.0));
    let star = |x: f64, y: f64| {
        let tip = |i: u32| {
            let (r, a) = (
                if i.is_multiple_of(2) { 5.0 } else { 2.1 },
                f64::from(i) * std::f64::consts::PI / 5.0 + std::f64::consts::FRAC_PI_2,
            );
            format!("{} {}", x + r * a.cos(), y + r * a.sin())
        };
        shape(&format!("M{}Z", (0..10).map(tip).collect::<Vec<_>>().join(" L")))
    };
    let chin = shape("M50 40 C55 30 78.35 30 83.35 40 C78 52 55 52 50 40 Z");
    let mut all = vec![nose, mouth, crescent, chin];
    for side in [eye, whisker(112.0, -3.0), whisker(120.0, 2.0), star(28.0, 222.0), star(24.0, 60.0)] {
        all.push(mirrored(&side, w));
        all.push(side);
    }
    all.into_iter().flat_map(|region| region.pieces).collect()
}

/// A face of these openings on a panel.
#[must_use]
pub(crate) fn face(panel: Panel, clear: Clearances, pieces: Vec<Piece>) -> Face {
    let bounds = pieces.iter().map(Piece::bounds).reduce(|a, b| a.union(b)).unwrap_or_default();
    let cutouts = number_cutouts(pieces.into_iter().map(|piece| (piece, None)).collect());
    let fit = Fit {
        width_mm: bounds.width(),
        height_mm: bounds.height(),
        left_mm: bounds.x0,
        bottom_mm: bounds.y0,
        ..Fit::AS_DRAWN
    };
    Face { panel, clear, cutouts, fit }
}

fn cutout_at(face: &Face, p: Point) -> u32 {
    let inside = |cutout: &&CutOut| cutout.piece.to_path().winding(p) != 0;
    face.cutouts.iter().find(inside).map_or(1, |cutout| cutout.id)
}

fn holes(face: &Face) -> Vec<EntryHole> {
    let spots = [
        (66.675, 120.0),
        (66.675, 79.0),
        (66.675, 199.0),
        (66.675, 40.0),
        (29.5, 165.0),
        (103.85, 165.0),
        (43.5, 108.0),
        (89.85, 108.0),
        (43.5, 121.0),
        (89.85, 121.0),
        (28.0, 222.0),
        (105.35, 222.0),
        (24.0, 60.0),
        (109.35, 60.0),
    ];
    let hole = |((x, y), id): ((f64, f64), u32)| {
        let at = Point::new(x, y);
        let (diameter, drill) = if id > 6 { (1.5875, "1/16 in") } else { (2.38125, "3/32 in") };
        EntryHole { id, cutout: cutout_at(face, at), at, diameter, drill: drill.to_owned() }
    };
    spots.into_iter().zip(1..).map(hole).collect()
}

fn bridge(id: u32, feet: [(f64, f64); 2], needed: f64, severity: Severity) -> Bridge {
    let feet = feet.map(Point::from);
    Bridge {
        id,
        width: feet[0].distance(feet[1]),
        feet,
        between: [Bank::CutOut(1), Bank::CutOut(2)],
        grain_deg: 12.0,
        stretch: 6.0,
        free_length: 9.0,
        needed,
        stop_width: 0.6 * needed,
        derivation: vec!["bending: 3.1 mm".to_owned()],
        loose_area: 0.0,
        tip: None,
        severity,
    }
}

fn checks() -> Checks {
    let island = |id, x: f64| Island { id, within: vec![1], area: 95.0, at: Point::new(x, 159.0), inside_island: None };
    let turn = |id, x: f64, y: f64, severity| Turn {
        id,
        cutout: 1,
        at: Point::new(x, y),
        kind: TurnKind::InsideCorner,
        radius: 0.0,
        limit: 1.4,
        angle_deg: 96.0,
        technique: Technique::ComeInTwice,
        severity,
    };
    let teeth = [
        (96.0, 96.0),
        (92.0, 88.0),
        (87.0, 94.0),
        (80.0, 86.0),
        (74.0, 92.0),
        (66.675, 84.0),
        (59.0, 92.0),
        (53.0, 86.0),
        (46.0, 94.0),
        (41.0, 88.0),
        (37.0, 96.0),
        (30.0, 98.0),
        (103.35, 98.0),
    ];
    let mut turns: Vec<Turn> = teeth.into_iter().zip(1..).map(|((x, y), id)| turn(id, x, y, Severity::Care)).collect();
    turns.extend([
        turn(14, 58.0, 128.0, Severity::Note),
        turn(15, 75.35, 128.0, Severity::Note),
        turn(16, 66.675, 117.0, Severity::Stop),
    ]);
    Checks {
        islands: vec![island(1, 42.0), island(2, 91.35)],
        bridges: vec![
            bridge(1, [(46.0, 110.8), (46.0, 118.2)], 8.0, Severity::Stop),
            bridge(2, [(66.675, 92.2), (66.675, 117.0)], 25.0, Severity::Care),
            Bridge {
                between: [Bank::Edge, Bank::CutOut(7)],
                ..bridge(3, [(0.0, 112.0), (16.0, 112.0)], 17.0, Severity::Care)
            },
        ],
        turns,
        slots: vec![Slot {
            id: 1,
            cutout: 1,
            at: Point::new(18.5, 112.2),
            width: 0.7,
            needed: 0.96,
            severity: Severity::Stop,
        }],
        throat: None,
        blades: vec![BladeVerdict { blade: "flat-3".into(), tight_turns: 1, narrow_slots: 1, does_it: false }],
    }
}

fn findings(checks: &Checks) -> Vec<Finding> {
    let mut all = Vec::new();
    for island in &checks.islands {
        all.push(
            Finding::new(
                format!("island-{}", island.id),
                FindingKind::Island,
                Severity::Stop,
                format!("wood of {:.0} mm² falls out inside cut-out {}", island.area, island.within[0]),
                "join it to the panel with a bridge",
            )
            .at(island.at)
            .measured(island.area, 0.0),
        );
    }
    for b in &checks.bridges {
        all.push(
            Finding::new(
                format!("bridge-{}", b.id),
                FindingKind::WeakBridge,
                b.severity,
                format!("the wood is {:.2} mm wide, {:.2} mm are needed, between cut-outs 4 and 5", b.width, b.needed),
                "widen it, or saw it last",
            )
            .at(b.feet[0].midpoint(b.feet[1]))
            .measured(b.width, b.needed),
        );
    }
    for t in &checks.turns {
        all.push(
            Finding::new(
                format!("turn-{}", t.id),
                FindingKind::TightTurn,
                t.severity,
                format!("an inside corner of {:.0}° in cut-out {}", t.angle_deg, t.cutout),
                "back out and come in from the other side",
            )
            .at(t.at)
            .measured(t.radius, t.limit),
        );
    }
    for s in &checks.slots {
        all.push(
            Finding::new(
                format!("slot-{}", s.id),
                FindingKind::NarrowSlot,
                s.severity,
                format!("the opening is {:.2} mm wide, the blade needs {:.2} mm", s.width, s.needed),
                "open it to the kerf, or take a thinner blade",
            )
            .at(s.at)
            .measured(s.width, s.needed),
        );
    }
    all.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    all
}

fn order(face: &Face) -> Order {
    let step = |cutout: &CutOut| {
        let length = cutout.piece.length(1e-3);
        Step { cutout: cutout.id, length, minutes: 1.2 + length / 60.0, why: "small and central".to_owned() }
    };
    let steps: Vec<Step> = face.cutouts.iter().map(step).collect();
    Order { length: steps.iter().map(|s| s.length).sum(), minutes: steps.iter().map(|s| s.minutes).sum(), steps }
}

/// The usual front: 5-1/4 × 10 in of 5/8 in stock, upright grain.
#[must_use]
pub(crate) fn panel() -> Panel {
    Panel { width: Mm::new(133.35), height: Mm::new(254.0), thickness: Mm::new(15.9), grain_deg: 90.0 }
}

/// The cat on a panel of any size, at its own size.
#[must_use]
pub(crate) fn cat_on(panel: Panel) -> Outcome {
    let face = face(panel, Clearances::all(Mm::new(12.7)), openings());
    let checks = checks();
    Outcome {
        art: ArtFacts {
            file: "cat.svg".into(),
            name: "cat".into(),
            width: 100.0,
            height: 200.0,
            reading: "dark".into(),
            why: "dark shapes".into(),
            others: Vec::new(),
        },
        setup: SetUp {
            wood: "western-redcedar".into(),
            blade: "flat-5".into(),
            kerf: 0.96,
            tolerance: 0.25,
            recommended: Some("flat-3".into()),
        },
        clearances: Vec::new(),
        holes: holes(&face),
        order: order(&face),
        mended: None,
        findings: findings(&checks),
        checks,
        face,
    }
}

/// The cat on the usual front.
#[must_use]
pub(crate) fn cat() -> Outcome {
    cat_on(panel())
}
