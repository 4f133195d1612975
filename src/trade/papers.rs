//! Paper sizes and the edge a printer leaves white.

use std::borrow::Cow;

use serde::Serialize;

use super::{Table, unknown};
use crate::diag::{Error, Place};
use crate::units::{Mm, Unit, other_size, parse_size};

const ISO: &str = "ISO 216; from memory";
const ANSI: &str = "ANSI/ASME Y14.1; from memory";
const LEGAL: &str = "North American legal size; from memory";
const CUSTOM: &str = "size given by the shop";

/// White edge assumed on every side: 1/4 in, common practice, no source. Laser
/// printers leave about 1/6 in, ink-jet printers 1/8 in and up to 1/2 in at the
/// bottom.
pub const DEFAULT_MARGIN: Mm = Mm::from_inches(0.25);

/// Smallest sheet taken for a paper, mm: anything less is a typing slip.
const SMALLEST_MM: f64 = 50.0;
/// Largest page a PDF can have: 14 400 points (ISO 32000-1, Annex C; from memory).
const LARGEST: Mm = Mm::from_pt(14_400.0);

/// The paper a shop has when it says nothing.
pub const DEFAULT: &str = "letter";

/// One sheet size, upright: `width ≤ height` for the named sizes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Paper {
    /// The name to write in options: `a4`, `letter`, or `WxHmm` for a size of its own.
    pub slug: Cow<'static, str>,
    /// The name to show: `A4`, `Letter`.
    pub name: Cow<'static, str>,
    /// Width, upright.
    pub width: Mm,
    /// Height, upright.
    pub height: Mm,
    /// White edge the printer leaves on every side.
    pub margin: Mm,
    /// Where the size comes from.
    pub source: &'static str,
}

impl Paper {
    const fn named(slug: &'static str, name: &'static str, width: Mm, height: Mm, source: &'static str) -> Self {
        Self { slug: Cow::Borrowed(slug), name: Cow::Borrowed(name), width, height, margin: DEFAULT_MARGIN, source }
    }

    /// A sheet of the shop's own size, as it lies.
    ///
    /// # Errors
    /// [`Error::Setting`] when no printer or PDF takes such a sheet.
    pub fn custom(width: Mm, height: Mm) -> Result<Self, Error> {
        let takes = |length: Mm| length >= Mm::new(SMALLEST_MM) && length <= LARGEST;
        if !(takes(width) && takes(height)) {
            let [width, height, least, most] =
                [width, height, Mm::new(SMALLEST_MM), LARGEST].map(|side| side.both(Unit::Mm));
            let what = format!("a sheet of {width} by {height} cannot be printed");
            let advice = format!("both sides must be between {least} and {most}");
            return Err(Error::setting(Place::default(), what, advice));
        }
        let name = format!("{width:.1} × {height:.1}");
        // To a thousandth, less than any sheet is cut to.
        let [w, h] = [width, height].map(|side| (side.get() * 1e3).round() / 1e3);
        let slug = format!("{w}x{h}mm");
        Ok(Self { slug: slug.into(), name: name.into(), width, height, margin: DEFAULT_MARGIN, source: CUSTOM })
    }

    /// The same sheet with the white edge of the shop's printer.
    ///
    /// # Errors
    /// [`Error::Setting`] when the margin is negative or leaves nothing to print on.
    pub fn with_margin(mut self, margin: Mm) -> Result<Self, Error> {
        let room = self.width.min(self.height) - margin * 2.0;
        if !(margin.get() >= 0.0 && room.get() > 0.0) {
            let what = format!("a margin of {margin:.1} on every side leaves nothing of {} paper", self.name);
            return Err(Error::setting(Place::default(), what, "1/4in (6.4mm) suits most printers"));
        }
        self.margin = margin;
        Ok(self)
    }

    /// Width and height inside the margins.
    #[must_use]
    pub fn printable(&self) -> (Mm, Mm) {
        (self.width - self.margin * 2.0, self.height - self.margin * 2.0)
    }

    /// The sheet turned a quarter: width and height change places.
    #[must_use]
    pub fn turned(&self) -> Self {
        Self { width: self.height, height: self.width, ..self.clone() }
    }
}

static ALL: [Paper; 6] = [
    Paper::named("a5", "A5", Mm::new(148.0), Mm::new(210.0), ISO),
    Paper::named("a4", "A4", Mm::new(210.0), Mm::new(297.0), ISO),
    Paper::named("a3", "A3", Mm::new(297.0), Mm::new(420.0), ISO),
    Paper::named("letter", "Letter", Mm::from_inches(8.5), Mm::from_inches(11.0), ANSI),
    Paper::named("legal", "Legal", Mm::from_inches(8.5), Mm::from_inches(14.0), LEGAL),
    Paper::named("tabloid", "Tabloid", Mm::from_inches(11.0), Mm::from_inches(17.0), ANSI),
];

/// Every named paper, upright, with the default margin.
#[must_use]
pub fn all() -> &'static [Paper] {
    &ALL
}

/// The paper called `name`, in any case, or a size: `210x297mm`, `8.5x11in`; a
/// size without a unit is in the shop's.
///
/// # Errors
/// [`Error::Setting`] with the nearest name, or why the size cannot be printed.
pub fn find(name: &str, bare: Unit) -> Result<Paper, Error> {
    let slug = name.trim().to_lowercase();
    if let Some(paper) = all().iter().find(|paper| paper.slug == slug) {
        return Ok(paper.clone());
    }
    match parse_size(&slug, bare) {
        Ok((width, height)) => Paper::custom(width, height).map_err(|error| meant(&slug, bare).unwrap_or(error)),
        // No name begins with a figure.
        Err(refused) if slug.starts_with(|c: char| c.is_ascii_digit()) => {
            let (what, advice) = refused.rsplit_once("; ").unwrap_or((&refused, ""));
            Err(Error::setting(Place::default(), what, advice))
        }
        Err(_) => Err(unknown("paper", name, all().iter().map(|p| p.slug.as_ref()), "fretgrin papers")),
    }
}

/// What is said of a size without a unit that is a sheet in the other one only.
fn meant(size: &str, bare: Unit) -> Option<Error> {
    let ((width, height), written) = other_size(size, bare)?;
    Paper::custom(width, height).is_ok().then(|| {
        let unit = match bare {
            Unit::Inch => "inches",
            Unit::Mm => "millimetres",
        };
        let what = format!("a sheet of {size} {unit} cannot be printed");
        Error::setting(Place::default(), what, format!("did you mean `{written}`?"))
    })
}

/// The papers as a table, in the shop's unit.
#[must_use]
pub fn rows(unit: Unit) -> Table {
    let heads = match unit {
        Unit::Inch => ["paper", "name", "width in", "height in", "source"],
        Unit::Mm => ["paper", "name", "width mm", "height mm", "source"],
    };
    let mut table = Table::new("Papers", &heads);
    for paper in all() {
        let show = |length: Mm| match unit {
            Unit::Inch => format!("{:.2}", length.inches()),
            Unit::Mm => format!("{:.1}", length.get()),
        };
        let mark = table.cite(paper.source);
        let (slug, name) = (paper.slug.to_string(), paper.name.to_string());
        table.rows.push(vec![slug, name, show(paper.width), show(paper.height), mark]);
    }
    table.notes.push("any other size: 210x297mm, 8.5x11in".to_owned());
    table.notes.push(format!(
        "a white edge of {} is assumed on every side (common practice); set your printer's own",
        DEFAULT_MARGIN.both(unit)
    ));
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_agree_with_their_standards_in_points() {
        // ISO 216 A4 210 x 297 mm; Letter 612 x 792, Legal 612 x 1008, Tabloid 792 x 1224 pt by definition.
        let cases = [
            ("a4", 595.276, 841.890),
            ("letter", 612.0, 792.0),
            ("legal", 612.0, 1008.0),
            ("tabloid", 792.0, 1224.0),
            ("A3", 841.890, 1190.551),
        ];
        for (slug, width, height) in cases {
            let paper = find(slug, Unit::Mm).unwrap();
            assert!((paper.width.pt() - width).abs() < 5e-4, "{slug} width");
            assert!((paper.height.pt() - height).abs() < 5e-4, "{slug} height");
        }
    }

    #[test]
    fn iso_sheets_halve_into_each_other() {
        // ISO 216: each size is the one above cut across, to the millimetre below.
        let of = |slug| find(slug, Unit::Mm).unwrap();
        for (large, small) in [("a3", "a4"), ("a4", "a5")] {
            assert_eq!(of(large).width, of(small).height, "{large} to {small}");
            assert!((of(large).height.get() / 2.0).floor() == of(small).width.get(), "{large} to {small}");
        }
    }

    #[test]
    fn sizes_of_its_own_are_read_and_bad_ones_refused() {
        let paper = find("210x330mm", Unit::Inch).unwrap();
        assert_eq!((paper.width, paper.height), (Mm::new(210.0), Mm::new(330.0)), "as it lies");
        assert_eq!(find(&paper.slug, Unit::Inch).unwrap(), paper, "its slug reads back");
        for (size, unit, said) in [("210x297", Unit::Inch, "`210x297mm`"), ("8.5x11", Unit::Mm, "`8.5x11in`")] {
            let error = find(size, unit).unwrap_err();
            assert!(error.advice().contains(said), "{error}; {}", error.advice());
        }
        for bad in ["1x1mm", "10000x200mm", "0x0", "ledgar", "a", "-210x297mm", ""] {
            assert!(!find(bad, Unit::Mm).expect_err(bad).advice().is_empty(), "{bad}");
        }
        assert!(find("leter", Unit::Mm).expect_err("misspelt").advice().contains("`letter`"), "suggested");
    }

    #[test]
    fn margins_larger_than_the_paper_are_refused() {
        let a5 = find("a5", Unit::Mm).unwrap();
        for margin in [74.0, 200.0, -1.0, f64::NAN] {
            assert!(a5.clone().with_margin(Mm::new(margin)).is_err(), "{margin}");
        }
        let (width, height) = a5.with_margin(Mm::new(5.0)).unwrap().printable();
        assert_eq!((width, height), (Mm::new(138.0), Mm::new(200.0)), "inside the margins");
    }
}
