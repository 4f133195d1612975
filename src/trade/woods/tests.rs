use super::*;

fn close(value: f64, truth: f64, rounding: f64, what: &str) {
    assert!((value - truth).abs() <= rounding, "{what}: {value} is not {truth}");
}

#[test]
fn woods_agree_with_the_metric_table() {
    // Table 5-3a, the metric twin of 5-3b, rounded there: MOR kPa, MOE MPa,
    // shear kPa, tension perpendicular kPa, side hardness N. Cedars from
    // FPL-GTR-282, pines from FPL-GTR-190 (2010), both second-hand copies.
    let cases = [
        ("ponderosa-pine", [65_000.0, 8_900.0, 7_800.0, 2_900.0, 2_000.0]),
        ("red-pine", [76_000.0, 11_200.0, 8_400.0, 3_200.0, 2_500.0]),
        ("sugar-pine", [57_000.0, 8_200.0, 7_800.0, 2_400.0, 1_700.0]),
        ("western-redcedar", [51_700.0, 7_700.0, 6_800.0, 1_500.0, 1_600.0]),
        ("northern-white-cedar", [45_000.0, 5_500.0, 5_900.0, 1_700.0, 1_400.0]),
    ];
    for (slug, [mor, moe, shear, across, hardness]) in cases {
        let wood = find(slug).unwrap();
        // Each table is rounded by itself: half of its last digit, and half
        // of the last digit of the psi (lbf) table.
        close(wood.mor_mpa() * 1000.0, mor, 500.0 + 345.0, slug);
        close(wood.moe_mpa(), moe, 50.0 + 35.0, slug);
        close(wood.shear_mpa() * 1000.0, shear, 50.0 + 35.0, slug);
        close(wood.across_mpa() * 1000.0, across, 50.0 + 35.0, slug);
        close(wood.hardness_n().unwrap(), hardness, 50.0 + 22.0, slug);
    }
}

#[test]
fn the_five_percent_value_is_the_mean_less_1_645_deviations() {
    // Factors worked by hand from Table 5-6: 1 - 1.645 x .16, .14, .25.
    close(five_percent(1.0, cov::MOR), 0.7368, 1e-9, "MOR");
    close(five_percent(1.0, cov::SHEAR), 0.7697, 1e-9, "shear");
    close(five_percent(1.0, cov::TENSION_PERPENDICULAR), 0.588_75, 1e-9, "across");
    close(five_percent(1.0, 0.9), 0.0, 0.0, "never negative");
}

#[test]
fn names_are_found_however_they_are_written() {
    for name in ["western-redcedar", "Western Redcedar", " western_redcedar "] {
        assert_eq!(find(name).unwrap().slug, DEFAULT, "{name}");
    }
    let error = find("westren-red-cedar").expect_err("a misspelling");
    assert!(error.advice().contains("`western-redcedar`"), "{}", error.advice());
}

#[test]
fn every_wood_is_plausible_and_named_once() {
    for (i, wood) in all().iter().enumerate() {
        assert!(all()[i + 1..].iter().all(|other| other.slug != wood.slug), "{} twice", wood.slug);
        // Wood Handbook ch. 5 "Slope of grain": across/along .04 to .10 for
        // tension; green values of gap rows lie lower, plywood higher.
        let ratio = wood.across_psi / wood.mor_psi;
        let range = if wood.kind == WoodKind::Solid { 0.009..0.06 } else { 0.59..0.61 };
        assert!(range.contains(&ratio), "{}: across/along {ratio}", wood.slug);
        assert!((0.3..0.7).contains(&wood.specific_gravity), "{}", wood.slug);
        assert!((4.0..15.0).contains(&(wood.moe_mpa() / 1000.0)), "{}", wood.slug);
        assert!(!wood.source.is_empty(), "{}", wood.slug);
    }
    assert_eq!(all().len(), SOLID.len() + OTHER.len() + PLYWOOD.len(), "all listed");
}

#[test]
fn the_table_is_square_and_cites_every_row() {
    for unit in [Unit::Inch, Unit::Mm] {
        let table = rows(unit);
        assert_eq!(table.rows.len(), all().len(), "one row a wood");
        assert!(table.rows.iter().all(|row| row.len() == table.headers.len()), "square");
        assert!(table.rows.iter().all(|row| row.last().is_some_and(|c| c.starts_with('['))), "cited");
    }
    assert!(rows(Unit::Mm).to_string().contains("51.7"), "MPa for a metric shop");
}
