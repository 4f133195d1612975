use super::*;

fn inches(length: Mm) -> f64 {
    length.inches()
}

/// Band-saw tables of smallest radius: blade width in, published radii in, and
/// usual thickness and kerf. Radii from two tool guides and two machine
/// manuals; thickness and kerf from memory.
const BAND_SAW: [(f64, &[f64], f64, f64); 8] = [
    (0.125, &[0.1875], 0.025, 0.044),
    (0.1875, &[0.3125, 0.375], 0.025, 0.043),
    (0.25, &[0.625], 0.025, 0.043),
    (0.375, &[1.25, 1.375, 1.5], 0.025, 0.044),
    (0.5, &[2.5], 0.025, 0.045),
    (0.625, &[3.75, 4.0], 0.032, 0.053),
    (0.75, &[5.5], 0.032, 0.055),
    (1.0, &[7.0, 7.625], 0.035, 0.066),
];

#[test]
fn published_band_saw_radii_lie_between_the_slow_and_scraping_limits() {
    for (width, radii, thickness, kerf) in BAND_SAW {
        let blade = Blade {
            name: String::new(),
            kind: BladeKind::Flat,
            width: Mm::from_inches(width),
            thickness: Mm::from_inches(thickness),
            kerf: Mm::from_inches(kerf),
            teeth_per_inch: None,
            source: "",
        };
        let (slow, scraping) = (inches(blade.tightest(Pass::Slow)), inches(blade.tightest(Pass::Scraping)));
        for &radius in radii {
            // The published radii are rounded to sixteenths and the play is a
            // usual one, so the limits are met within 8 %.
            assert!(
                radius > scraping * 0.92 && radius < slow * 1.08,
                "{width} in blade: published {radius}, limits {scraping:.3} to {slow:.3}"
            );
        }
    }
}

/// Whether a bar of width `w` and thickness `t` fits a slot of width `k` and
/// centre radius `r`, its front middle on the centre line and its body turned
/// by `yaw` off the tangent towards the centre. Exact, no small angles.
fn fits(w: f64, t: f64, k: f64, r: f64, yaw: f64) -> bool {
    let at = |along: f64, aside: f64| {
        let (sin, cos) = (libm::sin(yaw), libm::cos(yaw));
        let (x, y) = (-along * cos - aside * sin, r - along * sin + aside * cos);
        libm::hypot(x, y)
    };
    (0..=200).all(|i| {
        let along = w * f64::from(i) / 200.0;
        at(along, t / 2.0) <= r + k / 2.0 + 1e-9 && at(along, -t / 2.0) >= r - k / 2.0 - 1e-9
    })
}

#[test]
fn limits_agree_with_a_bar_moved_in_a_slot() {
    for name in ["flat-2/0", "flat-5", "flat-9", "flat-12"] {
        let blade = find(name).unwrap();
        let (w, t, k) = (blade.width.get(), blade.thickness.get(), blade.kerf.get());
        let radius = |pass| blade.tightest(pass).get();
        assert!(fits(w, t, k, radius(Pass::Smooth), 0.0), "{name} fits on the tangent");
        assert!(!fits(w, t, k, radius(Pass::Smooth) * 0.99, 0.0), "{name} and not tighter");
        let on_chord = |r: f64| fits(w, t, k, r, libm::asin(w / (2.0 * r)));
        assert!(on_chord(radius(Pass::Slow)), "{name} fits on the chord");
        assert!(!on_chord(radius(Pass::Slow) * 0.99), "{name} and not tighter");
        let any = |r: f64| (0..=900).any(|i| fits(w, t, k, r, f64::from(i) * 0.001));
        // The scraping limit is a small-angle result and errs on the safe side:
        // by a tenth or less where the radius is larger than the blade is wide.
        assert!(any(radius(Pass::Scraping)), "{name} fits with some yaw");
        let exact_enough = radius(Pass::Scraping) > w;
        assert!(!exact_enough || !any(radius(Pass::Scraping) * 0.9), "{name} and not much tighter");
    }
}

#[test]
fn radii_agree_with_hand_worked_figures() {
    // #5: w .038, t .016, k .022, c .006 in; w^2/c = .2407, less (k + t)/4 = .0095;
    // (w^2 + c^2)/4c = .0617; .17157 w^2/c = .0413.
    let five = find("flat-5").unwrap();
    let cases = [(Pass::Smooth, 0.2312), (Pass::Slow, 0.0617), (Pass::Scraping, 0.0413)];
    for (pass, truth) in cases {
        assert!((inches(five.tightest(pass)) - truth).abs() < 1e-4, "{pass:?}");
    }
    assert_eq!(find("spiral-2").unwrap().tightest(Pass::Smooth), Mm::ZERO, "a spiral blade turns on the spot");
}

#[test]
fn limits_are_in_order_and_grow_with_the_number() {
    let flats: Vec<Blade> = all().into_iter().filter(|b| b.kind == BladeKind::Flat).collect();
    for pair in flats.windows(2) {
        for pass in [Pass::Smooth, Pass::Slow, Pass::Scraping] {
            assert!(pair[0].tightest(pass) < pair[1].tightest(pass), "{} {pass:?}", pair[1].name);
        }
    }
    for blade in all() {
        assert!(blade.tightest(Pass::Smooth) >= blade.tightest(Pass::Slow), "{}", blade.name);
        assert!(blade.tightest(Pass::Slow) >= blade.tightest(Pass::Scraping), "{}", blade.name);
    }
}

#[test]
fn holes_agree_with_the_practice_of_numbered_drills() {
    // Common practice: #69 for 2/0, #56 for #5, #52 for #9, #49 for #12.
    let drills = [("flat-2/0", 0.0292), ("flat-5", 0.0465), ("flat-9", 0.0635), ("flat-12", 0.0730)];
    for (name, drill) in drills {
        let hole = inches(find(name).unwrap().hole_needed(BladeEnd::Plain));
        assert!(hole <= drill + 5e-5 && hole > drill * 0.93, "{name}: needs {hole}, drill {drill}");
    }
    assert_eq!(find("5").unwrap().hole_needed(BladeEnd::Pin), Mm::from_inches(0.1875), "the pin decides");
}

#[test]
fn names_are_found_however_they_are_written() {
    for name in ["flat-5", "#5", "5", "Flat 5", "flat #5", "FLAT-5"] {
        assert_eq!(find(name).unwrap().name, "flat-5", "{name}");
    }
    for (name, full) in [("2/0", "flat-2/0"), ("#2/0", "flat-2/0"), ("00", "flat-2/0"), ("spiral #2", "spiral-2")] {
        assert_eq!(find(name).unwrap().name, full, "{name}");
    }
    let error = find("spriral-2").expect_err("a misspelling");
    assert!(error.advice().contains("`spiral-2`"), "{}", error.advice());
}

#[test]
fn a_measured_blade_replaces_the_tables() {
    let five = find("flat-5").unwrap();
    let own = Measured { kerf: Some(Mm::new(0.62)), ..Measured::default() };
    let measured = five.measured(own).unwrap();
    assert_eq!((measured.kerf, measured.width, measured.source), (Mm::new(0.62), five.width, MEASURED), "kerf");
    assert!(measured.tightest(Pass::Slow) < five.tightest(Pass::Slow), "more play turns tighter");
    let thicker = Measured { thickness: Some(Mm::new(0.5)), ..Measured::default() };
    let play = five.measured(thicker).unwrap();
    assert!((play.kerf.get() - 0.5 - SET_IN * 25.4).abs() < 1e-12, "the play is kept");
    assert_eq!(five.measured(Measured::default()).unwrap(), five, "nothing measured, nothing changed");
}

#[test]
fn impossible_blades_are_refused() {
    let five = find("flat-5").unwrap();
    for kerf in [f64::NAN, -1.0, 0.0, 0.3, 40.0] {
        let own = Measured { kerf: Some(Mm::new(kerf)), ..Measured::default() };
        let error = five.measured(own).expect_err("not a kerf");
        assert!(!error.advice().is_empty(), "{kerf}");
    }
}
