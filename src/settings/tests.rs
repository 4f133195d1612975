use super::*;
use crate::diag::Error;
use crate::trade::strength::Limit;

fn settings(text: &str) -> Result<Settings, Error> {
    let (shop, origins) = read(text, "shop.toml")?;
    Settings::resolve(&shop).map_err(|e| origins.locate(e))
}

/// The message and the advice of a shop file that must be refused.
fn refused(text: &str) -> (String, String) {
    let error = settings(text).expect_err(text);
    (error.to_string(), error.advice().to_owned())
}

#[test]
fn defaults_resolve() {
    let settings = Settings::default();
    assert_eq!(settings.panel.width, Mm::new(133.35), "5-1/4 in");
    assert_eq!(settings.clear, Clearances::all(Mm::new(22.225)), "7/8 in");
    assert_eq!(settings.panel.grain_deg, 90.0, "upright");
    assert_eq!(settings.wood.slug, "western-redcedar", "wood");
    assert_eq!(settings.saw.blade.name, "flat-5", "blade");
    assert_eq!(settings.print.paper.slug, "letter", "paper");
}

#[test]
fn an_empty_file_is_the_default() {
    assert_eq!(settings("").unwrap(), Settings::default());
}

#[test]
fn a_new_shop_file_reads_back_to_the_defaults() {
    let text = new_text(&Shop::default());
    assert_eq!(settings(&text).unwrap(), Settings::default(), "{text}");
}

#[test]
fn every_commented_setting_of_a_new_shop_file_can_be_switched_on() {
    let live: String = new_text(&Shop::default())
        .lines()
        .map(|line| match line.strip_prefix('#') {
            Some(rest) if rest.starts_with('[') || rest.split_once(" = ").is_some_and(|(k, _)| is_key(k)) => {
                format!("{rest}\n")
            }
            _ => format!("{line}\n"),
        })
        .collect();
    let on = settings(&live).unwrap_or_else(|e| panic!("{e}: {}\n{live}", e.advice()));
    assert_eq!(on.bridge, Limit::Fixed(Mm::new(3.0)), "an optional setting took its example");
    assert!(on.lantern.is_some(), "the box came in");
    assert_eq!(on.stated.batch.faces.len(), 1, "so did a face");
}

fn is_key(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| c.is_ascii_lowercase() || c == '_')
}

#[test]
fn a_length_that_breaks_the_file_is_told_how_to_be_written() {
    for line in ["width = \"5 1/4\"\"", "width = \"10\"\" # high", "width = 5-1/4in", "width = 5 1/4\"", "width = 6ft"]
    {
        let (what, advice) = refused(&format!("[panel]\n{line}\n"));
        assert!(what.contains("line 2") && advice.ends_with("write \"5-1/4in\""), "{line}: {what}: {advice}");
    }
    for line in ["width = 5 5", "width = in", "width"] {
        let (_, advice) = refused(&format!("[panel]\n{line}\n"));
        assert!(!advice.contains("5-1/4in"), "{line}: {advice}");
    }
    let (what, advice) = refused("[panel]\nwidth = \"6''\"\n");
    assert!(
        what.ends_with("`6''` is not a length") && advice.starts_with("write it like 5-1/4in, 6ft"),
        "{what}: {advice}"
    );
}

/// What the head of a new file shows can be written in one.
#[test]
fn the_lengths_in_the_head_of_a_new_shop_file_can_be_read() {
    let text = new_text(&Shop::default());
    let shown: Vec<&str> =
        text.lines().take_while(|line| line.starts_with('#')).flat_map(|l| l.split('"').skip(1).step_by(2)).collect();
    assert_eq!(shown.len(), 4, "{shown:?}");
    for length in shown {
        let (shop, _) = read(&format!("[box]\nheight = \"{length}\"\n"), "shop.toml").unwrap();
        let height = shop.lantern.unwrap().height.unwrap();
        assert!(height.resolve(Unit::Inch).is_ok(), "{height}");
    }
}

#[test]
fn a_metric_shop_file_says_the_same_in_millimetres() {
    let text = new_text(&Shop { units: Unit::Mm, ..Shop::default() });
    assert!(text.contains("width = \"133.35mm\"") && text.contains("[\"3/64"), "{text}");
    assert!(text.contains("\"1.5875mm\"") && !text.contains("1.588"), "1/16 in to its last decimal: {text}");
    let (metric, inch) = (settings(&text).unwrap(), Settings::default());
    let close = |a: Mm, b: Mm| (a - b).abs() < Mm::new(0.001);
    assert!(
        close(metric.panel.width, inch.panel.width) && close(metric.panel.thickness, inch.panel.thickness),
        "panel"
    );
    assert!(close(metric.saw.throat, inch.saw.throat) && metric.unit == Unit::Mm, "saw");
}

#[test]
fn a_box_stands_on_the_shops_panel() {
    let lantern = settings("[panel]\nwidth = 6\n[box]\nheight = 12\n").unwrap().lantern.unwrap();
    assert_eq!(lantern.panel_width, Some(Length::Number(6.0)), "from the panel");
    assert_eq!((lantern.height, lantern.panel_height), (Some(Length::Number(12.0)), None), "its own");
}

#[test]
fn bare_numbers_count_in_the_files_unit() {
    let text = "units = \"mm\"\n[panel]\nwidth = 140\nheight = \"10in\"\nthickness = 16.5\n";
    let settings = settings(text).unwrap();
    assert_eq!(settings.panel.width, Mm::new(140.0), "bare");
    assert_eq!(settings.panel.height, Mm::new(254.0), "with a unit");
    assert_eq!(settings.panel.thickness, Mm::new(16.5), "decimals");
}

#[test]
fn unknown_keys_are_refused_with_line_and_suggestion() {
    let cases = [
        ("[panel]\nwidht = 5\n", "line 2", "did you mean `width`?"),
        ("\n[pannel]\nwidth = 5\n", "line 2", "did you mean `panel`?"),
        ("unit = \"mm\"\n", "line 1", "did you mean `units`?"),
        ("[panel]\nblade = \"flat-5\"\n", "line 2", "[saw] has a key of that name"),
        ("[panel]\nunits = \"mm\"\n", "line 2", "units stands at the top"),
        ("[saw]\nblades = [\"flat-5\", { name = \"flat-3\", kref = 1 }]\n", "line 2", "did you mean `kerf`?"),
    ];
    for (text, line, suggestion) in cases {
        let (message, advice) = refused(text);
        assert!(message.starts_with("shop.toml") && message.contains(line), "{text}: {message}");
        assert!(advice.contains(suggestion), "{text}: {advice}");
    }
}

#[test]
fn bad_values_are_refused_with_line_and_reason() {
    let cases = [
        ("[panel]\nwidth = \"five\"\n", "panel.width: `five` is not a length", ""),
        ("[panel]\nwidth = -5\n", "panel.width: -5 is less than nothing", "from"),
        ("[panel]\nwidth = 0\n", "panel.width: 0 is no length", "from"),
        ("[panel]\nwidth = 1e300\n", "panel.width", "from"),
        ("[panel]\nwidth = nan\n", "panel.width", ""),
        ("[panel]\nwidth = true\n", "panel.width", ""),
        ("[panel]\n\ngrain = \"verticle\"\n", "line 3", "did you mean `vertical`?"),
        ("[wood]\nspecies = \"western red ceder\"\n", "wood.species", "did you mean `western-redcedar`?"),
        ("[saw]\nblade = \"flat-55\"\n", "saw.blade", "did you mean `flat-5`?"),
        ("[saw]\nblades = [\n\"flat-5\",\n\"flat-x\"]\n", "line 4", ""),
        ("[saw]\nend = \"pinn\"\n", "line 2", "did you mean `pin`?"),
        ("[drills]\nowned = [\"1/16in\", \"2\"]\n", "drills.owned[1]", "#2"),
        ("[drills]\nowned = []\n", "no drill bit", "at least one"),
        ("[paper]\nsize = \"lettre\"\n", "paper.size", "did you mean `letter`?"),
        ("[paper]\nsize = \"60x60mm\"\n[printer]\nmargin = \"40mm\"\n", "printer.margin", "1/4in"),
        ("[printer]\nscale_x = 0\n", "printer.scale_x: 0 is out of range", "0.9 to 1.1"),
        ("[printer]\nscale_x = \"1\"\n", "printer.scale_x: wanted a number", ""),
        ("[art]\ncut = \"drak\"\n", "art.cut", "did you mean `dark`?"),
        ("[art]\nkeep_specks = 1\n", "wanted true or false", ""),
        ("[fit]\nalign = \"left-right\"\n", "pulls both ways", "left or right"),
        ("[out]\ncopies = 0\n", "0 copies", "1 to 200"),
        ("[out]\ncopies = -3\n", "out.copies", ""),
        ("panel = 3\n", "`panel` is a section", "[panel]"),
        ("[panel\nwidth = 5\n", "not a shop file", "key = value"),
    ];
    for (text, reason, hint) in cases {
        let (message, advice) = refused(text);
        assert!(message.starts_with("shop.toml, line"), "{text}: {message}");
        assert!(message.contains(reason), "{text}: {message}");
        assert!(advice.contains(hint), "{text}: {message}: {advice}");
    }
}

#[test]
fn limits_are_told_so_that_they_can_be_kept() {
    for (text, limits) in [("[bridge]\nlimit = 0\n", "from 0.0004 in to"), ("[clear]\nleft = -1\n", "from 0 in to")] {
        let (_, advice) = refused(text);
        assert!(advice.contains(limits), "{text}: {advice}");
    }
}

#[test]
fn clearances_larger_than_the_panel_are_refused() {
    let error = settings("[clear]\nleft = \"3in\"\nright = \"3in\"\n").unwrap_err();
    assert!(matches!(error, Error::Sizes { .. }), "{error}");
    assert!(error.to_string().contains("no window is left"), "{error}");
}

#[test]
fn a_measured_blade_replaces_the_built_in_one() {
    let text = "[saw]\nblade = \"#5\"\nblades = [\"flat-3\", { name = \"flat-5\", kerf = \"0.6mm\" }]\n";
    let settings = settings(text).unwrap();
    assert_eq!(settings.saw.blade.kerf, Mm::new(0.6), "the drawer's own measure");
    assert_eq!(settings.saw.drawer.len(), 2, "no second one was added");
    let own = "[saw]\nblade = \"old blue\"\nblades = [{ name = \"old blue\", width = \"1mm\", thickness = \"0.4mm\", kerf = \"0.55mm\" }]\n";
    assert_eq!(self::settings(own).unwrap().saw.blade.width, Mm::new(1.0), "a blade of the shop's own");
}

#[test]
fn a_blade_that_is_not_in_the_drawer_joins_it() {
    let settings = settings("[saw]\nblade = \"spiral-4\"\nblades = [\"flat-5\"]\n").unwrap();
    let names: Vec<&str> = settings.saw.drawer.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(names, ["flat-5", "spiral-4"], "drawer");
}

#[test]
fn grain_is_folded_into_half_a_turn() {
    for (grain, degrees) in
        [("\"vertical\"", 90.0), ("\"horizontal\"", 0.0), ("-45", 135.0), ("\"200\"", 20.0), ("180", 0.0)]
    {
        let settings = settings(&format!("[panel]\ngrain = {grain}\n")).unwrap();
        assert_eq!(settings.panel.grain_deg, degrees, "{grain}");
    }
}

#[test]
fn every_example_is_of_a_setting_without_a_value() {
    let text = new_text(&Shop::default());
    for key in new::examples() {
        let name = key.rsplit('.').next().unwrap();
        assert!(text.contains(&format!("\n#{name} = ")), "{key} is not shown as an example");
    }
    assert!(!text.lines().any(|line| line.ends_with(" = ")), "a setting lacks its example");
}
