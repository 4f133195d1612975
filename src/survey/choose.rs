//! Which faces are shown, and in what order.

use super::{Row, Survey, Verdict};

/// What faces are sorted by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Sort {
    /// As they lie in the drawer.
    #[default]
    Drawer,
    /// By name, whatever the folder.
    Name,
    /// Best verdict first.
    Verdict,
    /// Easiest first.
    Difficulty,
    /// Quickest first.
    Minutes,
    /// Shortest line first.
    Length,
    /// Fewest entry holes first.
    Holes,
    /// Fewest faults first: those that stop, then those that ask for care.
    Faults,
}

impl Sort {
    /// Every order, with its name.
    pub const ALL: [(&'static str, Self); 8] = [
        ("drawer", Self::Drawer),
        ("name", Self::Name),
        ("verdict", Self::Verdict),
        ("difficulty", Self::Difficulty),
        ("minutes", Self::Minutes),
        ("length", Self::Length),
        ("holes", Self::Holes),
        ("faults", Self::Faults),
    ];

    /// The order called `name`.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|(known, _)| *known == name).map(|(_, sort)| sort)
    }

    /// The figure sorted by; files that are no face come last.
    fn figure(self, row: &Row) -> f64 {
        if matches!(self, Self::Drawer | Self::Name) {
            return 0.0;
        }
        let Some(face) = row.judged() else { return f64::INFINITY };
        match self {
            Self::Drawer | Self::Name => 0.0,
            Self::Verdict => f64::from(row.verdict() as u8),
            Self::Difficulty => face.difficulty.total(),
            Self::Minutes => face.minutes,
            Self::Length => face.length_mm,
            Self::Holes => f64::from(face.holes),
            Self::Faults => f64::from(face.stop) * 1e6 + f64::from(face.care),
        }
    }
}

/// Sorts `rows`; equal ones stay as they lie in the drawer.
pub fn sort(rows: &mut [Row], by: Sort, reverse: bool) {
    rows.sort_by(|a, b| {
        let name = |row: &Row| if by == Sort::Name { row.name.to_lowercase() } else { String::new() };
        let order = by.figure(a).total_cmp(&by.figure(b)).then_with(|| name(a).cmp(&name(b)));
        (if reverse { order.reverse() } else { order }).then(a.number.cmp(&b.number))
    });
    if reverse && by == Sort::Drawer {
        rows.reverse();
    }
}

/// One condition on faces.
#[derive(Clone, Debug, PartialEq)]
pub enum Only {
    /// Of any of these verdicts.
    Verdicts(Vec<Verdict>),
    /// A figure against a number.
    Figure(Figure, Against, f64),
    /// Repeats another face, or not.
    Double(bool),
}

/// A figure conditions are about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    /// [`super::Difficulty::total`].
    Difficulty,
    /// Minutes at the saw and drill.
    Minutes,
    /// Line, metres.
    Metres,
    /// Entry holes.
    Holes,
    /// Openings.
    Cutouts,
    /// Findings that stop.
    Stop,
    /// Findings that ask for care.
    Care,
}

/// The figures by name.
const FIGURES: [(&str, Figure); 7] = [
    ("difficulty", Figure::Difficulty),
    ("minutes", Figure::Minutes),
    ("metres", Figure::Metres),
    ("holes", Figure::Holes),
    ("cutouts", Figure::Cutouts),
    ("stop", Figure::Stop),
    ("care", Figure::Care),
];

/// How a figure is compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// Below, or as much.
    AtMost,
    /// Above, or as much.
    AtLeast,
    /// Below.
    Under,
    /// Above.
    Over,
    /// As much.
    Equal,
}

/// The comparisons; longer ones first, so that `<=` is not read as `<`.
const AGAINST: [(&str, Against); 5] = [
    ("<=", Against::AtMost),
    (">=", Against::AtLeast),
    ("<", Against::Under),
    (">", Against::Over),
    ("=", Against::Equal),
];

/// What a condition may be, for messages.
pub const HELP: &str = "write a verdict (saw-as-is, sound-after-mending, needs-mending, not-for-this-panel, not-read; \
several with commas), double, single, or a figure like difficulty<6 (difficulty, minutes, metres, holes, cutouts, stop, care)";

impl std::str::FromStr for Only {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || format!("`{text}` is no condition; {HELP}");
        match text.trim() {
            "double" => return Ok(Self::Double(true)),
            "single" => return Ok(Self::Double(false)),
            _ => {}
        }
        if let Some((sign, against)) = AGAINST.into_iter().find(|(sign, _)| text.contains(sign)) {
            let (name, number) = text.split_once(sign).ok_or_else(wrong)?;
            let figure = FIGURES.into_iter().find(|(known, _)| *known == name.trim()).ok_or_else(wrong)?.1;
            let number: f64 = number.trim().parse().ok().filter(|n: &f64| n.is_finite()).ok_or_else(wrong)?;
            return Ok(Self::Figure(figure, against, number));
        }
        let named = |name: &str| Verdict::ALL.into_iter().find(|verdict| verdict.name() == name.trim());
        text.split(',').map(|name| named(name).ok_or_else(wrong)).collect::<Result<Vec<_>, _>>().map(Self::Verdicts)
    }
}

impl Only {
    /// Whether `row` meets the condition. A file that is no face has no figures.
    #[must_use]
    pub fn holds(&self, row: &Row) -> bool {
        match self {
            Self::Verdicts(verdicts) => verdicts.contains(&row.verdict()),
            Self::Double(double) => row.double.is_some() == *double,
            Self::Figure(figure, against, number) => row.judged().is_some_and(|face| {
                let value = match figure {
                    Figure::Difficulty => face.difficulty.total(),
                    Figure::Minutes => face.minutes,
                    Figure::Metres => face.length_mm / 1000.0,
                    Figure::Holes => f64::from(face.holes),
                    Figure::Cutouts => f64::from(face.cutouts),
                    Figure::Stop => f64::from(face.stop),
                    Figure::Care => f64::from(face.care),
                };
                match against {
                    Against::AtMost => value <= *number,
                    Against::AtLeast => value >= *number,
                    Against::Under => value < *number,
                    Against::Over => value > *number,
                    Against::Equal => (value - number).abs() < 1e-9,
                }
            }),
        }
    }
}

/// The survey with the rows that meet every condition, sorted. `words` are the
/// conditions as written.
#[must_use]
pub fn chosen(mut survey: Survey, only: &[Only], words: &[String], by: Sort, reverse: bool) -> Survey {
    survey.rows.retain(|row| only.iter().all(|condition| condition.holds(row)));
    sort(&mut survey.rows, by, reverse);
    survey.chosen = words.join(", ");
    survey
}
