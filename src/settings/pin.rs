//! Bare lengths pinned to the unit they were written in, so that they keep their
//! size when the shop's unit changes.

use super::boxes::{Joint, LidKind};
use super::drawer::DrawerBlade;
use super::sections::Angle;
use super::{Cut, Length, Money, PaperTurn, Shop};
use crate::trade::blades::{BladeEnd, BladeKind};
use crate::units::{Unit, parse_length, parse_size};

/// A setting that may hold bare lengths.
pub trait Pin {
    /// Writes `unit` behind every bare length.
    fn pin(&mut self, unit: Unit);
}

impl Pin for Length {
    fn pin(&mut self, unit: Unit) {
        let word = word(unit);
        match self {
            Self::Number(number) if number.is_finite() => *self = Self::Text(format!("{number}{word}")),
            Self::Text(text) if is_bare(text) => text.push_str(word),
            _ => {}
        }
    }
}

fn word(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "in",
        Unit::Mm => "mm",
    }
}

/// Whether a length is another one in another unit.
fn is_bare(text: &str) -> bool {
    parse_length(text, Unit::Inch).is_ok() && parse_length(text, Unit::Inch) != parse_length(text, Unit::Mm)
}

impl<T: Pin> Pin for Option<T> {
    fn pin(&mut self, unit: Unit) {
        self.iter_mut().for_each(|value| value.pin(unit));
    }
}

impl<T: Pin> Pin for Vec<T> {
    fn pin(&mut self, unit: Unit) {
        self.iter_mut().for_each(|value| value.pin(unit));
    }
}

/// Settings that hold no length.
macro_rules! no_length {
    ($($type:ty),*) => {
        $(impl Pin for $type {
            fn pin(&mut self, _unit: Unit) {}
        })*
    };
}
no_length!(bool, u8, u32, f64, String, Angle, BladeEnd, BladeKind, Cut, Joint, LidKind, Money, PaperTurn);

impl Pin for DrawerBlade {
    fn pin(&mut self, unit: Unit) {
        let Self { name: _, kind: _, width, thickness, kerf } = self;
        [width, thickness, kerf].into_iter().for_each(|measure| measure.pin(unit));
    }
}

impl Shop {
    /// Makes `unit` the shop's unit; every length keeps its size.
    pub fn turn_to(&mut self, unit: Unit) {
        let old = std::mem::replace(&mut self.units, unit);
        if old == unit {
            return;
        }
        let Self { units: _, panel, clear, wood, saw, drills, paper, printer, art, fit, bridge, out, .. } = self;
        let of_the_face: [&mut dyn Pin; 11] = [panel, clear, wood, saw, drills, paper, printer, art, fit, bridge, out];
        of_the_face.into_iter().for_each(|section| section.pin(old));
        let Self { lantern, nails, boards, batch, hardware, time, price, .. } = self;
        let of_the_box: [&mut dyn Pin; 7] = [lantern, nails, boards, batch, hardware, time, price];
        of_the_box.into_iter().for_each(|section| section.pin(old));
        // A paper is called by its name or by its size, which may be bare, too; a
        // unit behind the second length covers both.
        let size = &mut self.paper.size;
        if let (Ok(kept), Ok(other)) = (parse_size(size, old), parse_size(size, unit))
            && kept != other
        {
            size.push_str(word(old));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::boxes::{BoxSettings, LightSettings};
    use crate::settings::{Settings, read};

    #[test]
    fn lengths_keep_their_size_when_the_unit_changes() {
        let bare = "units = \"mm\"\npanel = { width = 140, height = \"250\", thickness = 15.5 }\nclear.left = 20\n\
            saw.blades = [\"flat-5\", { name = \"mine\", width = 1, thickness = 0.4, kerf = \"0.5\" }]\n\
            saw.throat = 400\npaper.size = \"200x280\"\nfit.middle_x = 70\nbridge.limit = 3\ntime.feed = 100\n\
            [box]\ndepth = 120\nlid.play = 2\nlight = { width = 30, height = 40 }\n\
            [nails]\nlength = 25\n[boards]\nend_loss = 10\n\
            stock = [{ name = \"a\", length = 1800, width = 140, price = 3.5 }]\n";
        let (shop, _) = read(bare, "shop.toml").unwrap();
        let mut turned = shop.clone();
        turned.turn_to(Unit::Inch);
        let (was, is) = (Settings::resolve(&shop).unwrap(), Settings::resolve(&turned).unwrap());
        assert_eq!((is.unit, was.panel, was.clear, was.fit), (Unit::Inch, is.panel, is.clear, is.fit), "the face");
        assert_eq!((&was.saw, &was.bridge, &was.times), (&is.saw, &is.bridge, &is.times), "the saw");
        let sheet = |of: &Settings| (of.print.paper.width, of.print.paper.height);
        assert_eq!(sheet(&was), sheet(&is), "the paper");
        let text = |of: &Shop| toml::to_string(of).unwrap();
        for pinned in ["120mm", "2mm", "30mm", "40mm", "25mm", "10mm", "1800mm"] {
            assert!(text(&turned).contains(&format!("\"{pinned}\"")), "{pinned}: {}", text(&turned));
        }
        assert!(text(&turned).contains("price = 3.5"), "money is none: {}", text(&turned));
    }

    #[test]
    fn a_bare_size_of_paper_keeps_its_figures() {
        for (written, turned) in [("8.5x11", "8.5x11in"), ("8.5in x 11", "8.5in x 11in"), ("8.5 x 11in", "8.5 x 11in")]
        {
            let mut shop = Shop::default();
            shop.paper.size = written.to_owned();
            shop.turn_to(Unit::Mm);
            assert_eq!(shop.paper.size, turned);
            assert_eq!(parse_size(turned, Unit::Mm), parse_size(written, Unit::Inch), "of its size");
        }
    }

    #[test]
    fn lengths_with_their_unit_and_nonsense_stay_as_they_are() {
        let mut shop = Shop { lantern: Some(BoxSettings::default()), ..Shop::default() };
        shop.panel.width = Length::text("five");
        shop.panel.height = Length::Number(f64::NAN);
        let mut turned = shop.clone();
        turned.turn_to(Unit::Mm);
        let text = |shop: &Shop| format!("{shop:?}").replace("Mm", "Inch");
        assert_eq!(text(&turned), text(&shop), "as they are");
        let mut light = LightSettings { width: Length::text("1-1/2"), height: Length::Number(0.0) };
        light.pin(Unit::Inch);
        assert_eq!(light, LightSettings { width: Length::text("1-1/2in"), height: Length::text("0in") }, "bare");
    }
}
