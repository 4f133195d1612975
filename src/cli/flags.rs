//! Options shared by several commands, and how they override the shop file.
//!
//! An option overwrites a field of [`Shop`] and leaves its name in [`Origins`],
//! so that a value found wrong later is told by the option's name.

use std::path::PathBuf;

use clap::Args;
use clap::builder::{PossibleValuesParser, TypedValueParser as _};

use crate::diag::{Error, Place};
use crate::settings::sections::Angle;
use crate::settings::{Cut, Length, Origins, PANEL_SIDE, Shop};
use crate::units::{Mm, Unit, other_size, parse_size};

/// Where the shop's own settings are.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Shop")]
pub struct ShopFlags {
    /// Shop file [default: the nearest shop.toml in this folder or above]
    #[arg(long, value_name = "FILE")]
    pub shop: Option<PathBuf>,
    /// Unit of bare numbers, shown first
    #[arg(long, value_name = "UNIT", value_parser = units())]
    pub units: Option<Unit>,
}

fn units() -> impl clap::builder::TypedValueParser<Value = Unit> {
    PossibleValuesParser::new(["in", "mm"]).map(|text| if text == "mm" { Unit::Mm } else { Unit::Inch })
}

/// The board and what it is made of.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Panel")]
pub struct PanelFlags {
    /// Width and height of the panel: 133.35x254mm, 5-1/4x10in
    #[arg(long, value_name = "WxH", allow_hyphen_values = true)]
    pub panel: Option<String>,
    /// Measured thickness of the stock: 15.9mm, 5/8in
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub thickness: Option<String>,
    /// How far cut-outs keep from the edges: one length, or left,right,top,bottom
    #[arg(long, value_name = "LENGTHS", allow_hyphen_values = true)]
    pub clear: Option<String>,
    /// Direction of the grain: vertical, horizontal, or degrees from level
    #[arg(long, value_name = "DIRECTION", allow_hyphen_values = true)]
    pub grain: Option<String>,
    /// Wood of the panel (see `fretgrin woods`)
    #[arg(long, value_name = "WOOD")]
    pub wood: Option<String>,
}

/// The saw and what the wood must bear.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Sawing")]
pub struct SawFlags {
    /// Blade to use (see `fretgrin blades`)
    #[arg(long, value_name = "BLADE")]
    pub blade: Option<String>,
    /// One least width for every bridge, instead of the derived one
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub bridge: Option<String>,
    /// How far the sawn line may stray from the drawn one in a tight turn
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub tolerance: Option<String>,
}

/// How the drawing is read.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Reading the drawing")]
pub struct ArtFlags {
    /// What is sawn out
    #[arg(long, value_name = "WHAT", value_parser = cuts())]
    pub cut: Option<Cut>,
    /// Paint darker than this is dark, 0 black to 1 white
    #[arg(long, value_name = "LEVEL", allow_hyphen_values = true)]
    pub threshold: Option<f64>,
    /// Gaps in outlines up to this long on the panel are closed
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub gap: Option<String>,
    /// Leave out the element with this id; may be given several times
    #[arg(long, value_name = "ID")]
    pub drop: Vec<String>,
    /// Keep the stray piece with this id; may be given several times
    #[arg(long, value_name = "ID")]
    pub keep: Vec<String>,
    /// Keep shapes smaller than the saw's kerf
    #[arg(long)]
    pub keep_specks: bool,
}

fn cuts() -> impl clap::builder::TypedValueParser<Value = Cut> {
    PossibleValuesParser::new(["auto", "dark", "light", "lines", "features"]).map(|text| match text.as_str() {
        "dark" => Cut::Dark,
        "light" => Cut::Light,
        "lines" => Cut::Lines,
        "features" => Cut::Features,
        _ => Cut::Auto,
    })
}

/// How the face is laid on the panel.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Laying it on the panel")]
pub struct FitFlags {
    /// Width of the whole face, instead of filling the window; with --height it fits inside both
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub width: Option<String>,
    /// Height of the whole face, instead of filling the window; with --width it fits inside both
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub height: Option<String>,
    /// Keep the drawing's own size
    #[arg(long, conflicts_with_all = ["width", "height"])]
    pub true_size: bool,
    /// Turn the face, degrees anticlockwise
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true, value_parser = degrees)]
    pub turn: Option<f64>,
    /// Mirror the face left to right
    #[arg(long)]
    pub mirror: bool,
    /// Where in the window: center, top, bottom, left, right, or two like top-left
    #[arg(long, value_name = "PLACE")]
    pub align: Option<String>,
    /// Let the face be stretched one way by up to this many percent
    #[arg(long, value_name = "PERCENT", allow_hyphen_values = true, value_parser = percent)]
    pub stretch: Option<f64>,
}

fn degrees(text: &str) -> Result<f64, String> {
    let bare = text.trim().trim_end_matches("deg").trim_end_matches('°').trim_end();
    bare.parse().map_err(|_| format!("`{text}` is no angle; write degrees anticlockwise, like 90 or -7.5"))
}

fn percent(text: &str) -> Result<f64, String> {
    let bare = text.trim().trim_end_matches('%').trim_end();
    bare.parse().map_err(|_| format!("`{text}` is no share; write a number of percent, like 5"))
}

/// Everything that decides how a face comes out.
#[derive(Args, Clone, Debug, Default)]
pub struct FaceFlags {
    /// The board.
    #[command(flatten)]
    pub panel: PanelFlags,
    /// The saw.
    #[command(flatten)]
    pub saw: SawFlags,
    /// The reading.
    #[command(flatten)]
    pub art: ArtFlags,
    /// The fit.
    #[command(flatten)]
    pub fit: FitFlags,
    /// The shop.
    #[command(flatten)]
    pub shop: ShopFlags,
}

/// Paper for everything printed.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Printing")]
pub struct PaperFlags {
    /// Paper (see `fretgrin papers`) or its size, like 210x297mm
    #[arg(long, value_name = "PAPER", allow_hyphen_values = true)]
    pub paper: Option<String>,
}

/// Paper and number of templates.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Printing")]
pub struct PrintFlags {
    /// The paper.
    #[command(flatten)]
    pub paper: PaperFlags,
    /// Templates in the file, one for each panel
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub copies: Option<u32>,
}

/// Where files go.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Files")]
pub struct OutFlags {
    /// Folder for the files, made if needed [default: the current one]
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<String>,
    /// Replace files that fretgrin did not write
    #[arg(long)]
    pub force: bool,
}

/// Options that override settings.
pub trait Overrides {
    /// Writes the options given into the shop.
    ///
    /// # Errors
    /// [`Error::Setting`] naming the option, for one that cannot be read at all.
    fn apply(&self, given: &mut Given<'_>) -> Result<(), Error>;
}

/// A shop being overridden.
#[derive(Debug)]
pub struct Given<'s> {
    /// The shop as stated so far.
    pub shop: &'s mut Shop,
    /// Where its settings were given.
    pub origins: &'s mut Origins,
}

impl Given<'_> {
    fn set<T>(&mut self, key: &str, flag: &'static str, value: Option<T>, put: impl FnOnce(&mut Shop, T)) {
        if let Some(value) = value {
            put(self.shop, value);
            self.origins.flag(key, flag);
        }
    }

    fn length(&mut self, key: &str, flag: &'static str, value: Option<&String>, put: impl FnOnce(&mut Shop, Length)) {
        self.set(key, flag, value.map(|text| Length::text(text)), put);
    }
}

impl Overrides for FaceFlags {
    fn apply(&self, given: &mut Given<'_>) -> Result<(), Error> {
        self.panel.apply(given)?;
        self.saw.apply(given)?;
        self.art.apply(given)?;
        self.fit.apply(given)
    }
}

impl Overrides for PanelFlags {
    fn apply(&self, given: &mut Given<'_>) -> Result<(), Error> {
        if let Some(size) = &self.panel {
            let (width, height) = panel(size, given.shop.units)?;
            panel_size(given, width, height);
        }
        given.length("panel.thickness", "--thickness", self.thickness.as_ref(), |shop, thickness| {
            if let Some(lantern) = &mut shop.lantern {
                lantern.thickness = None;
            }
            shop.panel.thickness = thickness;
        });
        if let Some(clear) = &self.clear {
            clearances(given, clear)?;
        }
        given.set("panel.grain", "--grain", self.grain.clone(), |shop, grain| shop.panel.grain = Angle::Name(grain));
        given.set("wood.species", "--wood", self.wood.clone(), |shop, wood| shop.wood.species = wood);
        Ok(())
    }
}

/// The panel's size; one that no panel has is refused here, while it is known how it
/// was written.
fn panel(size: &str, unit: Unit) -> Result<(Mm, Mm), Error> {
    let (width, height) = parse_size(size, unit).map_err(|what| refused("--panel", what))?;
    let is_slip = |side: Mm| side > Mm::ZERO && !is_panel_side(side);
    if !is_slip(width) && !is_slip(height) {
        return Ok((width, height));
    }
    let what = format!("--panel: no panel is `{size}`, {} by {}", width.both(unit), height.both(unit));
    let meant = other_size(size, unit).filter(|((w, h), _)| is_panel_side(*w) && is_panel_side(*h));
    let [least, most] = PANEL_SIDE.map(|side| Mm::new(side).both(unit));
    let limits = || format!("each side must be from {least} to {most}; check the unit");
    let advice = meant.map_or_else(limits, |(_, written)| format!("did you mean `{written}`?"));
    Err(Error::setting(Place::default(), what, advice))
}

fn is_panel_side(side: Mm) -> bool {
    (PANEL_SIDE[0]..=PANEL_SIDE[1]).contains(&side.get())
}

/// A panel asked for on the command line is the box's front panel too.
fn panel_size(given: &mut Given<'_>, width: Mm, height: Mm) {
    // To a millionth: what is told of it is not to show how inches are reckoned.
    let text = |length: Mm| Length::text(&format!("{}mm", (length.get() * 1e6).round() / 1e6));
    given.set("panel.width", "--panel", Some(text(width)), |shop, width| shop.panel.width = width);
    given.set("panel.height", "--panel", Some(text(height)), |shop, height| shop.panel.height = height);
    if let Some(lantern) = &mut given.shop.lantern {
        (lantern.width, lantern.height) = (None, None);
        (lantern.panel_width, lantern.panel_height) = (None, None);
        given.origins.flag("box.panel_width", "--panel");
        given.origins.flag("box.panel_height", "--panel");
    }
}

fn clearances(given: &mut Given<'_>, text: &str) -> Result<(), Error> {
    let lengths: Vec<Length> = text.split(',').map(|part| Length::text(part.trim())).collect();
    let clear = &mut given.shop.clear;
    match lengths.as_slice() {
        [all] => {
            clear.all = Some(all.clone());
            (clear.left, clear.right, clear.top, clear.bottom) = (None, None, None, None);
        }
        [left, right, top, bottom] => {
            let edge = |length: &Length| Some(length.clone());
            (clear.left, clear.right, clear.top, clear.bottom) = (edge(left), edge(right), edge(top), edge(bottom));
        }
        other => {
            let what = format!("`{text}` has {} lengths", other.len());
            return Err(refused("--clear", format!("{what}; give one, or left,right,top,bottom")));
        }
    }
    for edge in ["all", "left", "right", "top", "bottom"] {
        given.origins.flag(&format!("clear.{edge}"), "--clear");
    }
    Ok(())
}

impl Overrides for SawFlags {
    fn apply(&self, given: &mut Given<'_>) -> Result<(), Error> {
        given.set("saw.blade", "--blade", self.blade.clone(), |shop, blade| shop.saw.blade = blade);
        given.length("bridge.limit", "--bridge", self.bridge.as_ref(), |shop, limit| shop.bridge.limit = Some(limit));
        given.length("saw.line_tolerance", "--tolerance", self.tolerance.as_ref(), |shop, tolerance| {
            shop.saw.line_tolerance = tolerance;
        });
        Ok(())
    }
}

impl Overrides for ArtFlags {
    fn apply(&self, given: &mut Given<'_>) -> Result<(), Error> {
        given.set("art.cut", "--cut", self.cut, |shop, cut| shop.art.cut = cut);
        given.set("art.threshold", "--threshold", self.threshold, |shop, level| shop.art.threshold = level);
        given.length("art.gap", "--gap", self.gap.as_ref(), |shop, gap| shop.art.gap = gap);
        given.shop.art.drop.extend(self.drop.iter().cloned());
        given.shop.art.keep.extend(self.keep.iter().cloned());
        given.set("art.keep_specks", "--keep-specks", self.keep_specks.then_some(true), |shop, keep| {
            shop.art.keep_specks = keep;
        });
        Ok(())
    }
}

impl Overrides for FitFlags {
    fn apply(&self, given: &mut Given<'_>) -> Result<(), Error> {
        given.length("fit.width", "--width", self.width.as_ref(), |shop, width| shop.fit.width = Some(width));
        given.length("fit.height", "--height", self.height.as_ref(), |shop, height| shop.fit.height = Some(height));
        given.set("fit.true_size", "--true-size", self.true_size.then_some(true), |shop, on| shop.fit.true_size = on);
        given.set("fit.turn", "--turn", self.turn, |shop, turn| shop.fit.turn = turn);
        given.set("fit.mirror", "--mirror", self.mirror.then_some(true), |shop, on| shop.fit.mirror = on);
        // A place or scale that was settled on the page gives way to what is asked for now.
        given.set("fit.align", "--align", self.align.clone(), |shop, align| {
            (shop.fit.align, shop.fit.middle_x, shop.fit.middle_y) = (align, None, None);
        });
        given.set("fit.stretch", "--stretch", self.stretch, |shop, stretch| {
            (shop.fit.stretch, shop.fit.scale) = (stretch, None);
        });
        if self.width.is_some() || self.height.is_some() {
            given.shop.fit.true_size = false;
        }
        Ok(())
    }
}

impl Overrides for PaperFlags {
    fn apply(&self, given: &mut Given<'_>) -> Result<(), Error> {
        given.set("paper.size", "--paper", self.paper.clone(), |shop, paper| shop.paper.size = paper);
        Ok(())
    }
}

impl Overrides for PrintFlags {
    fn apply(&self, given: &mut Given<'_>) -> Result<(), Error> {
        self.paper.apply(given)?;
        given.set("out.copies", "--copies", self.copies, |shop, copies| shop.out.copies = copies);
        Ok(())
    }
}

impl Overrides for OutFlags {
    fn apply(&self, given: &mut Given<'_>) -> Result<(), Error> {
        given.set("out.folder", "--out", self.out.clone(), |shop, folder| shop.out.folder = folder);
        Ok(())
    }
}

fn refused(flag: &str, what: impl std::fmt::Display) -> Error {
    Error::setting(
        Place::default(),
        format!("{flag}: {what}"),
        "--help after the command shows how every option is written",
    )
}

#[cfg(test)]
mod tests;
