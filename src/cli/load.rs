//! Loading the shop: its file, then the options over it.

use std::path::{Path, PathBuf};

use super::flags::{Given, Overrides, ShopFlags};
use crate::diag::{Error, Place};
use crate::drawing;
use crate::edge;
use crate::outcome::Outcome;
use crate::pipeline;
use crate::project::{self, Mends, Project};
use crate::settings::{FILE_NAME, Origins, Settings, Shop, read};

/// Largest shop file read.
const LARGEST_SHOP_FILE: u64 = 1024 * 1024;

/// The shop file's settings with the options over them, and where each came
/// from.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The settings, checked.
    pub settings: Settings,
    /// Where each was given.
    pub origins: Origins,
    /// What a project settled about mending.
    pub mends: Mends,
    /// What a project's files are called after: its own name, so that those of two
    /// projects of one drawing stand side by side. `None` for a drawing.
    pub name: Option<String>,
}

impl Loaded {
    fn over((mut shop, mut origins): (Shop, Origins), overrides: &[&dyn Overrides]) -> Result<Self, Error> {
        let mut given = Given { shop: &mut shop, origins: &mut origins };
        overrides.iter().try_for_each(|options| options.apply(&mut given))?;
        let settings = Settings::resolve(&shop).map_err(|error| origins.locate(error))?;
        Ok(Self { settings, origins, mends: Mends::default(), name: None })
    }

    /// The same shop, with the box it plans or the built-in one: faces are to fit
    /// that box's window.
    #[must_use]
    pub fn for_box(&self) -> Self {
        Self { settings: pipeline::lantern::for_box(&self.settings), ..self.clone() }
    }

    /// Reads, lays and checks a drawing; one of a project that is mended, as
    /// mended there.
    ///
    /// # Errors
    /// Whatever keeps the drawing from being read or laid.
    pub fn check(&self, art: &edge::Art) -> Result<Outcome, Error> {
        let checked = if self.mends.on {
            let wishes = |frame| self.mends.wishes(frame);
            pipeline::mended(&art.bytes, &art.name, &self.settings, wishes).map(|repaired| repaired.after)
        } else {
            pipeline::check(&art.bytes, &art.name, &self.settings)
        };
        checked.map(|outcome| outcome.named(self.name.as_deref())).map_err(|error| self.origins.locate(error))
    }
}

impl ShopFlags {
    /// Reads the shop file and applies `overrides`.
    ///
    /// # Errors
    /// A shop file that cannot be read, and every setting or option that is
    /// wrong, with its place.
    pub fn load(&self, overrides: &[&dyn Overrides]) -> Result<Loaded, Error> {
        Loaded::over(self.stated()?, overrides)
    }

    /// Reads a drawing and the shop's settings; a project file brings both.
    ///
    /// # Errors
    /// As [`ShopFlags::load`], and a drawing or project that cannot be read; a
    /// project together with a shop file.
    pub fn load_face(&self, art: &str, overrides: &[&dyn Overrides]) -> Result<(Loaded, edge::Art), Error> {
        // What comes by standard input has no name to tell a project by.
        let piped = (art == edge::STANDARD_INPUT).then(|| edge::read_art(art)).transpose()?;
        if !piped.as_ref().map_or_else(|| project::is_project(art), |piped| drawing::is_project(&piped.bytes)) {
            return Ok((self.load(overrides)?, piped.map_or_else(|| edge::read_art(art), Ok)?));
        }
        if let Some(file) = &self.shop {
            let what = format!("{} is a project and has its own shop settings", edge::shown(Path::new(art)));
            let advice = format!(
                "leave out --shop {}; other options change single settings, and `fretgrin open` changes the project's own",
                edge::shown(file)
            );
            return Err(Error::setting(Place::default(), what, advice));
        }
        let text = match piped {
            Some(piped) => String::from_utf8_lossy(&piped.bytes).into_owned(),
            None => edge::read_text(Path::new(art), project::LARGEST)?,
        };
        let Project { art_name: name, art: bytes, mut shop, mend, .. } = Project::read(&text, art)?;
        let mut origins = Origins::default();
        self.turn(&mut shop, &mut origins);
        let loaded = Loaded { mends: mend, name: project::name(art), ..Loaded::over((shop, origins), overrides)? };
        Ok((loaded, edge::Art { name, bytes }))
    }

    /// Makes the unit asked for that of the shop, whose lengths keep their size:
    /// only what the options say counts in the new unit.
    fn turn(&self, shop: &mut Shop, origins: &mut Origins) {
        if let Some(units) = self.units {
            shop.turn_to(units);
            origins.flag("units", "--units");
        }
    }

    /// What a project's own shop would be with the options over it.
    ///
    /// # Errors
    /// An option that cannot be read at all.
    pub fn over(&self, shop: &Shop, overrides: &[&dyn Overrides]) -> Result<Shop, Error> {
        let (mut shop, mut origins) = (shop.clone(), Origins::default());
        self.turn(&mut shop, &mut origins);
        let mut given = Given { shop: &mut shop, origins: &mut origins };
        overrides.iter().try_for_each(|options| options.apply(&mut given))?;
        Ok(shop)
    }

    /// The shop file as stated, with `--units` over it.
    ///
    /// # Errors
    /// A shop file that cannot be read.
    pub fn stated(&self) -> Result<(Shop, Origins), Error> {
        let (mut shop, mut origins) = match self.file() {
            Some(path) => read(&edge::read_text(&path, LARGEST_SHOP_FILE)?, &path.display().to_string())?,
            None => (Shop::default(), Origins::default()),
        };
        self.turn(&mut shop, &mut origins);
        Ok((shop, origins))
    }

    /// The folder the shop file stands in, to which its paths are relative; the
    /// current one without a shop file.
    #[must_use]
    pub fn folder(&self) -> PathBuf {
        self.file().and_then(|file| file.parent().map(Path::to_owned)).unwrap_or_default()
    }

    fn file(&self) -> Option<PathBuf> {
        if self.shop.is_some() {
            return self.shop.clone();
        }
        let here = std::env::current_dir().ok()?;
        let found = edge::find_upward(&here, FILE_NAME)?;
        // In this folder its bare name is clearer than the whole path.
        Some(if found.parent() == Some(&here) { Path::new(FILE_NAME).to_owned() } else { found })
    }
}
