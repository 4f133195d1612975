//! The only place that calls the stages in order. Bytes in, bytes out: no
//! files, no clock, no environment.
//!
//! ```text
//! bytes → art → interpret → fit → check → entry → order → Outcome
//!                                    ↖ mend ↙                 ↘ sheets → PDF, SVG, PNG, JSON
//! ```

use crate::art::{self, Art};
use crate::check::{self, Checks};
use crate::diag::{Error, Finding, Noted, Severity};
use crate::entry;
use crate::face::Face;
use crate::fit;
use crate::interpret::{self, Cutting};
use crate::order;
use crate::outcome::{ArtFacts, Outcome, SetUp};
use crate::settings::Settings;
use crate::trade::sawing::Pace;
use crate::units::Mm;

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
    let Noted { value: art, mut findings } = art::read(bytes, name, &art::Options::default())?;
    let Noted { value: cutting, findings: read } = interpret::interpret(&art, &interpret_options(settings))?;
    let laid = fit::fit(&cutting, &settings.panel, &settings.clear, &fit_options(settings))?;
    findings.extend(read);
    findings.extend(laid.findings);
    Ok(Laid { face: laid.value, art: facts(name, &art, &cutting), findings })
}

/// Reads, lays and checks a drawing.
///
/// # Errors
/// As [`lay`]; a faulty face is no error.
pub fn check(bytes: &[u8], name: &str, settings: &Settings) -> Result<Outcome, Error> {
    Ok(judge(lay(bytes, name, settings)?, settings))
}

/// Checks a laid face, finds its entry holes and its order.
#[must_use]
pub fn judge(laid: Laid, settings: &Settings) -> Outcome {
    let Laid { face, art, mut findings } = laid;
    let checks = check::run(&face, &check_options(settings));
    findings.extend(check::findings(&checks, settings.unit));
    let (holes, unreached) = entry::holes(&face, &entry_options(settings));
    findings.extend(unreached);
    let feed = pace(settings).feed_in(&settings.wood, settings.panel.thickness, &settings.saw.blade);
    let order = order::order(&face, &checks, &holes, &pace(settings), feed);
    rank(&mut findings);
    let setup = set_up(settings, &checks);
    Outcome { art, setup, face, clearances: Vec::new(), checks, holes, order, findings }
}

/// Worst first; within a severity by kind, then as the stages gave them.
fn rank(findings: &mut [Finding]) {
    findings.sort_by(|a, b| b.severity.cmp(&a.severity).then(a.kind.cmp(&b.kind)));
}

fn facts(name: &str, art: &Art, cutting: &Cutting) -> ArtFacts {
    let size = art.page.unwrap_or_else(|| art.bounds()).size() * art.unit_mm;
    ArtFacts {
        file: name.to_owned(),
        width: size.width,
        height: size.height,
        reading: cutting.reading.name().to_owned(),
        why: cutting.why.clone(),
        others: cutting.alternatives.iter().map(|a| (a.reading.name().to_owned(), a.why_not.clone())).collect(),
    }
}

fn interpret_options(settings: &Settings) -> interpret::Options {
    let window = settings.clear.window(&settings.panel);
    interpret::Options {
        reading: reading(settings),
        threshold: 1.0 - settings.art.threshold,
        gap: settings.art.gap.get(),
        kerf: settings.saw.blade.kerf.get(),
        window: Some((window.width(), window.height())),
        drop: settings.art.drop.clone(),
        keep: Vec::new(),
        keep_specks: settings.art.keep_specks,
    }
}

fn reading(settings: &Settings) -> Option<interpret::Reading> {
    use crate::settings::Cut;
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
        true_size: false,
        across: side(rules.align.across),
        up: side(rules.align.up),
        turn_deg: rules.turn_deg,
        mirror: rules.mirror,
        stretch: rules.stretch,
    }
}

fn check_options(settings: &Settings) -> check::Options {
    check::Options {
        wood: settings.wood.clone(),
        limit: settings.bridge,
        blade: settings.saw.blade.clone(),
        drawer: settings.saw.drawer.clone(),
        drills: settings.drills.iter().map(|drill| drill.diameter.get()).collect(),
        line_tolerance: settings.saw.line_tolerance.get(),
        throat: settings.saw.throat.get(),
    }
}

fn entry_options(settings: &Settings) -> entry::Options {
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
