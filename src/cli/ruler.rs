//! `ruler`: the sheet that finds the printer's correction.

use super::console::{Console, Halt};
use super::flags::{OutFlags, PaperFlags, ShopFlags};
use super::{Exit, folder};
use crate::diag::{Error, Place};
use crate::edge::{NewFile, write_all};
use crate::settings::Settings;
use crate::sheet::ruler::{bars, page};
use crate::units::{Mm, Unit, parse_length};
use crate::write::{Meta, pdf};

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
    let file = NewFile::new(FILE, pdf(&[sheet], &meta)?);
    let written = write_all(folder(settings), &[file], force)?;
    let path = written.first().map(|path| path.display().to_string()).unwrap_or_default();
    let (x, y) = bars(&settings.print.paper);
    Ok(format!(
        "{path} written for {} paper.\n\
         Print it at 100 %, measure bar X ({x:.0}) and bar Y ({y:.0}), then run\n\
         fretgrin ruler --measured X,Y\n",
        settings.print.paper.name
    ))
}

/// The lines to put in the shop file.
fn correction(measured: &str, settings: &Settings) -> Result<String, Error> {
    let (x, y) = bars(&settings.print.paper);
    let [across, along] = lengths(measured)?;
    let factor = |bar: Mm, length: Mm, name: &str| {
        let factor = bar / length;
        if (0.9..=1.1).contains(&factor) {
            return Ok(factor);
        }
        let what = format!("--measured: bar {name} is {bar:.0} long, {length:.1} is more than a tenth off");
        let advice = "print at 100 %, without fitting to the page, and measure in millimetres";
        Err(Error::setting(Place::default(), what, advice))
    };
    let (x, y) = (factor(x, across, "X")?, factor(y, along, "Y")?);
    Ok(format!("Put this in shop.toml:\n\n[printer]\nscale_x = {x:.4}\nscale_y = {y:.4}\n"))
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
        for bad in ["", "190", "190,0", "-1,2", "a,b", "10,20"] {
            let error = correction(bad, &settings).expect_err(bad);
            assert!(error.to_string().starts_with("--measured"), "{error}");
        }
    }
}
