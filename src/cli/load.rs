//! Loading the shop: its file, then the options over it.

use std::path::{Path, PathBuf};

use super::flags::{Given, Overrides, ShopFlags};
use crate::diag::Error;
use crate::edge;
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
}

impl ShopFlags {
    /// Reads the shop file and applies `overrides`.
    ///
    /// # Errors
    /// A shop file that cannot be read, and every setting or option that is
    /// wrong, with its place.
    pub fn load(&self, overrides: &[&dyn Overrides]) -> Result<Loaded, Error> {
        let (mut shop, mut origins) = self.stated()?;
        let mut given = Given { shop: &mut shop, origins: &mut origins };
        overrides.iter().try_for_each(|options| options.apply(&mut given))?;
        let settings = Settings::resolve(&shop).map_err(|error| origins.locate(error))?;
        Ok(Loaded { settings, origins })
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
        if let Some(units) = self.units {
            shop.units = units;
            origins.flag("units", "--units");
        }
        Ok((shop, origins))
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
