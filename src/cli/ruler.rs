//! `ruler`: the sheet that finds the printer's correction.

use super::console::{Console, Halt};
use super::flags::{OutFlags, PaperFlags, ShopFlags};
use super::{Exit, put};
use crate::diag::{Error, Place};
use crate::pipeline::Made;
use crate::settings::Settings;
use crate::sheet::ruler::{bars, command, page};
use crate::trade::papers::{self, Paper};
use crate::units::{Mm, Unit, parse_length};
use crate::write::{Meta, pdf};

/// A printer off by more than this, as a part of the length, was not measured:
/// rollers and heat put home printers out by half a part in a hundred at most
/// (common experience, no source), and the smallest mistake there is, a Letter
/// page fitted to A4, is 2.7 parts in a hundred.
const MOST_OFF: f64 = 0.02;
/// Name of the file written.
const FILE: &str = "fretgrin-ruler.pdf";

/// Options of `ruler`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct Args {
    /// Paper (see `fretgrin papers`) or its size, like 210x297mm
    #[arg(long, value_name = "PAPER", allow_hyphen_values = true)]
    paper: Option<String>,
    /// What bars X and Y measured on the printed sheet, in mm: prints the
    /// correction instead
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true)]
    measured: Option<String>,
    #[command(flatten)]
    out: OutFlags,
    #[command(flatten)]
    shop: ShopFlags,
}

/// Writes the sheet, or works out the correction from what was measured on it.
pub(super) fn run(args: &Args, console: &mut Console) -> Result<Exit, Halt> {
    let print = PaperFlags { paper: args.paper.clone() };
    let settings = args.shop.load(&[&print, &args.out])?.settings;
    let text = match &args.measured {
        Some(measured) => correction(measured, &settings)?,
        None => write(&settings, args.out.force)?,
    };
    console.print(&text)?;
    Ok(Exit::Clean)
}

fn write(settings: &Settings, force: bool) -> Result<String, Error> {
    let sheet = page(&settings.print.paper)?;
    let meta = Meta { title: "Printer check".into(), subject: "Measure both bars after printing at 100 %".into() };
    let written = put(vec![Made { name: FILE.to_owned(), bytes: pdf(&[sheet], &meta)? }], settings, force)?;
    let (x, y) = bars(&settings.print.paper);
    Ok(format!(
        "{} {}, for {} paper.\n\
         Print it at 100 %, measure bar X ({x:.0}) and bar Y ({y:.0}), then run\n\
         {}\n",
        written.names.join(", "),
        written.word.to_lowercase(),
        settings.print.paper.name,
        command(&settings.print.paper),
    ))
}

/// The lines for the shop file.
fn correction(measured: &str, settings: &Settings) -> Result<String, Error> {
    let paper = &settings.print.paper;
    let (x, y) = bars(paper);
    let found = lengths(measured)?;
    let (x, y) = (factor(x, found[0], "X", paper, found)?, factor(y, found[1], "Y", paper, found)?);
    Ok(format!(
        "For the bars of {} paper, X {} and Y {} long.\n\
         In shop.toml, set these two lines under [printer]; where they stand already, change them there:\n\n\
         [printer]\nscale_x = {x:.4}\nscale_y = {y:.4}\n",
        paper.name,
        whole(bars(paper).0),
        whole(bars(paper).1),
    ))
}

fn whole(length: Mm) -> String {
    format!("{length:.0}")
}

/// True length by printed length of one bar.
fn factor(bar: Mm, length: Mm, name: &str, paper: &Paper, found: [Mm; 2]) -> Result<f64, Error> {
    let factor = bar / length;
    if (factor - 1.0).abs() <= MOST_OFF {
        return Ok(factor);
    }
    let what = format!(
        "--measured: bar {name} of the {} sheet is {bar:.0} long, {length:.1} is {:.1} % off, more than a printer strays",
        paper.name,
        ((length / bar) - 1.0).abs() * 100.0
    );
    let advice = match sheet_of(found) {
        Some(other) => format!("that is the {} sheet: add --paper {}", other.name, other.slug),
        None => "print at 100 %, without fitting to the page, measure in millimetres, and name the paper with --paper"
            .to_owned(),
    };
    Err(Error::setting(Place::default(), what, advice))
}

/// The named paper whose bars measure like this.
fn sheet_of(found: [Mm; 2]) -> Option<&'static Paper> {
    papers::all().iter().find(|paper| {
        let (x, y) = bars(paper);
        [(x, found[0]), (y, found[1])].iter().all(|(bar, length)| (*bar / *length - 1.0).abs() <= MOST_OFF)
    })
}

fn lengths(text: &str) -> Result<[Mm; 2], Error> {
    let refuse = || {
        let what = format!("--measured: `{text}` is not two lengths");
        Err(Error::setting(Place::default(), what, "write what X and Y measured, like 190.6,254.3"))
    };
    let Some((x, y)) = text.split_once(',') else { return refuse() };
    match (parse_length(x, Unit::Mm), parse_length(y, Unit::Mm)) {
        (Ok(x), Ok(y)) if x > Mm::ZERO && y > Mm::ZERO => Ok([x, y]),
        _ => refuse(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_correction_is_true_length_over_printed() {
        let settings = Settings::default();
        let (x, y) = bars(&settings.print.paper);
        let text = correction(&format!("{},{}", x.get() / 1.004, y.get() / 0.997), &settings).unwrap();
        assert!(text.contains("scale_x = 1.0040") && text.contains("scale_y = 0.9970"), "{text}");
    }

    #[test]
    fn nonsense_measures_are_refused() {
        let settings = Settings::default();
        for bad in ["", "190", "190,0", "-1,2", "a,b", "10,20", "170,250"] {
            let error = correction(bad, &settings).expect_err(bad);
            assert!(error.to_string().starts_with("--measured"), "{error}");
        }
    }

    #[test]
    fn the_bars_of_another_sheet_are_told_by_its_name() {
        let error = correction("170,260", &Settings::default()).expect_err("bars of A4 against those of Letter");
        assert!(error.to_string().contains("Letter"), "{error}");
        assert_eq!(error.advice(), "that is the A4 sheet: add --paper a4");
    }

    #[test]
    fn the_correction_tells_both_a_new_file_and_one_that_has_the_lines() {
        let text = correction("170,240", &Settings::default()).unwrap();
        assert!(text.contains("where they stand already, change them there"), "{text}");
    }
}
