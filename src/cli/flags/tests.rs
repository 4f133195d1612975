use super::*;
use crate::face::Clearances;
use crate::settings::{Settings, read};

fn settings(options: &dyn Overrides, shop: &str) -> Result<Settings, Error> {
    let (mut shop, mut origins) = read(shop, "shop.toml")?;
    options.apply(&mut Given { shop: &mut shop, origins: &mut origins })?;
    Settings::resolve(&shop).map_err(|e| origins.locate(e))
}

#[test]
fn options_override_the_shop_file() {
    let options = PanelFlags {
        panel: Some("133.35x254mm".into()),
        thickness: Some("15.9mm".into()),
        clear: Some("12.7mm".into()),
        grain: Some("horizontal".into()),
        wood: Some("ponderosa-pine".into()),
    };
    let settings = settings(&options, "[panel]\nwidth = 20\n[clear]\nleft = 3\n[wood]\nspecies = \"redwood\"").unwrap();
    assert_eq!((settings.panel.width, settings.panel.height), (Mm::new(133.35), Mm::new(254.0)), "panel");
    assert_eq!(settings.panel.thickness, Mm::new(15.9), "thickness");
    assert_eq!(settings.clear, Clearances::all(Mm::new(12.7)), "one clearance holds for every edge");
    assert_eq!((settings.panel.grain_deg, settings.wood.slug.as_ref()), (0.0, "ponderosa-pine"), "grain and wood");
}

#[test]
fn four_clearances_are_left_right_top_bottom() {
    let options =
        PanelFlags { clear: Some("1in, 2in,30mm,4".into()), panel: Some("10x10in".into()), ..PanelFlags::default() };
    let clear = settings(&options, "units = \"mm\"").unwrap().clear;
    let expected = [25.4, 50.8, 30.0, 4.0].map(Mm::new);
    assert_eq!([clear.left, clear.right, clear.top, clear.bottom], expected, "order");
}

#[test]
fn a_panel_given_by_option_is_the_boxs_too() {
    let options = PanelFlags { panel: Some("6x9in".into()), ..PanelFlags::default() };
    let lantern = settings(&options, "[box]\nwidth = 20\nheight = 30\n").unwrap().lantern.unwrap();
    assert_eq!((lantern.width, lantern.height), (None, None), "the box's own size gives way");
    let width = lantern.panel_width.unwrap();
    assert_eq!(width.resolve(Unit::Inch).unwrap(), Mm::new(152.4), "width");
    assert_eq!(width, Length::text("152.4mm"), "no noise of reckoning where it is told");
}

#[test]
fn numbers_may_carry_their_sign() {
    assert_eq!((degrees("90°"), degrees("-7.5deg"), percent("10%")), (Ok(90.0), Ok(-7.5), Ok(10.0)), "with signs");
    assert!(degrees("abc").is_err_and(|said| said.contains("like 90")), "no angle");
}

#[test]
fn what_is_asked_for_now_comes_before_what_was_settled() {
    let options = FitFlags { align: Some("top".into()), stretch: Some(5.0), ..FitFlags::default() };
    let fit = settings(&options, "[fit]\nmiddle_x = 2\nmiddle_y = 3\nscale = 0.5\n").unwrap().fit;
    assert_eq!((fit.middle_x, fit.middle_y, fit.scale), (None, None, None), "laid anew");
}

#[test]
fn a_wrong_option_is_named() {
    let panel = |panel: &str| PanelFlags { panel: Some(panel.into()), ..PanelFlags::default() };
    let clear = |clear: &str| PanelFlags { clear: Some(clear.into()), ..PanelFlags::default() };
    let cases: [(PanelFlags, &str); 6] = [
        (panel("5"), "--panel: `5` is not a size"),
        (panel("-5x10in"), "--panel: -127mm is less than nothing"),
        (panel("0x10in"), "--panel: 0mm is no length"),
        (clear("1,2"), "--clear: `1,2` has 2 lengths"),
        (clear("-1mm"), "--clear: -1mm is less than nothing"),
        (PanelFlags { grain: Some("up".into()), ..PanelFlags::default() }, "--grain: `up` is not a direction"),
    ];
    for (options, message) in cases {
        let error = settings(&options, "").expect_err(message);
        assert!(error.to_string().starts_with(message), "{error}");
    }
}
