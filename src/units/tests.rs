//! Lengths, sizes, times and money.

use super::*;

fn mm(text: &str, bare: Unit) -> f64 {
    parse_length(text, bare).unwrap().get()
}

#[test]
fn lengths_read_as_the_shop_writes_them() {
    for text in ["5-1/4in", "5 1/4\"", "5.25 in", "133.35mm", "13.335cm", "5-1/4 inches", "5 1/4″", "5-\u{2060}1/4in"]
    {
        assert!((mm(text, Unit::Mm) - 133.35).abs() < 1e-9, "{text}");
    }
    assert!((mm("5-1/4", Unit::Inch) - 133.35).abs() < 1e-9, "bare numbers are in the shop's unit");
    assert!((mm("12.7", Unit::Mm) - 12.7).abs() < 1e-12, "bare numbers are in the shop's unit");
    assert!((mm("-1/2in", Unit::Mm) + 12.7).abs() < 1e-12, "a minus sign covers the whole");
}

#[test]
fn boards_are_long_in_feet() {
    for text in ["6ft", "6 ft", "6'", "6′", "6 feet", "72in", "5ft 12in", "5' 12\"", "5'-12\"", "6' 0\"", "6'0"] {
        assert!((mm(text, Unit::Mm) - 1828.8).abs() < 1e-9, "{text}");
    }
    for text in ["5' 6-1/2\"", "5’ 6 1/2”", "5ft 6.5in", "5 feet 6-1/2 inches", "5'6-1/2", "5-1/2ft 1/2in"] {
        assert!((mm(text, Unit::Mm) - 1689.1).abs() < 1e-9, "{text}");
    }
    assert!((mm("-1ft 6in", Unit::Mm) + 457.2).abs() < 1e-9, "a minus sign covers the whole");
    assert!((mm("1/2ft", Unit::Mm) - 152.4).abs() < 1e-9, "a fraction");
    let (w, h) = parse_size("1ft x 2ft", Unit::Mm).unwrap();
    assert!((w.get() - 304.8).abs() < 1e-9 && (h.get() - 609.6).abs() < 1e-9, "a size");
    for text in ["ft", "'", "5''", "6ft 20mm", "6' --2\"", "5' 6' 2\"", "5-ft 6in", "1e308ft"] {
        let message = parse_length(text, Unit::Mm).expect_err(text);
        assert!(message.contains("6ft"), "{message}");
    }
}

#[test]
fn nonsense_lengths_are_refused_with_an_example() {
    for text in ["", "in", "five", "1/0", "1e308mm", "nan", "inf", "5--1/4", "5x", "0x10"] {
        let message = parse_length(text, Unit::Mm).expect_err(text);
        assert!(message.contains("5-1/4in"), "{message}");
    }
}

#[test]
fn sizes_share_a_trailing_unit() {
    for text in ["133.35x254mm", "5-1/4x10in", "5-1/4in x 254mm", "5 1/4\" × 10\""] {
        let (w, h) = parse_size(text, Unit::Mm).unwrap();
        assert!((w.get() - 133.35).abs() < 1e-9 && (h.get() - 254.0).abs() < 1e-9, "{text}");
    }
    assert!(parse_size("133.35", Unit::Mm).is_err(), "one number is no size");
    for text in ["5-1/4x1ft", "5 x 1'", "5x1’", "5x1ft 6in"] {
        let message = parse_size(text, Unit::Inch).expect_err(text);
        assert!(message.contains("write units on both"), "feet are not shared: {message}");
    }
    let (w, h) = parse_size("6in x 1ft 6in", Unit::Mm).unwrap();
    assert_eq!([w, h].map(|length| length.fraction(16)), ["6 in", "18 in"], "feet of its own");
}

#[test]
fn fractions_are_written_in_lowest_terms() {
    let cases = [(133.35, "5-1/4 in"), (22.225, "7/8 in"), (254.0, "10 in"), (0.0, "0 in"), (-12.7, "-1/2 in")];
    for (value, text) in cases {
        assert_eq!(Mm::new(value).fraction(16), text, "{value}");
    }
    assert_eq!([0.1, 0.3, -0.38].map(|mm| Mm::new(mm).fraction(32)), ["0 in", "0.01 in", "-0.01 in"], "not nothing");
    assert_eq!(Mm::new(133.35).both(Unit::Inch), "5-1/4 in (133.4 mm)", "both languages");
    assert_eq!(Mm::new(-0.001).to_string(), "0.00 mm", "no minus zero");
}

#[test]
fn a_length_to_reach_is_never_told_short_nor_one_not_to_pass_long() {
    // 6.8 mm is more than 1/4 in (6.35 mm): that was once told as enough.
    assert_eq!(Mm::new(6.8).both_at_least(Unit::Inch), "5/16 in (6.8 mm)");
    assert_eq!(Mm::new(6.81).both_at_least(Unit::Mm), "6.9 mm (5/16 in)");
    assert_eq!(Mm::new(16.4).both_at_least(Unit::Inch), "11/16 in (16.4 mm)");
    assert_eq!(Mm::new(16.4).both_at_most(Unit::Inch), "5/8 in (16.4 mm)");
    assert_eq!(Mm::from_inches(0.25).both_at_least(Unit::Inch), "1/4 in (6.4 mm)", "a whole one stays");
    assert_eq!(Mm::new(6.4).text_at_least(Unit::Inch), "9/32 in");
    assert_eq!(Mm::new(6.8 + 1e-12).tenths_at_least(), "6.8 mm", "noise is no length");
    assert_eq!(Mm::new(90.96).tenths_at_most(), "90.9 mm");
}

#[test]
fn times_and_sizes_are_told_one_way() {
    assert_eq!([0.0, 0.2, 37.2, 42.04, 42.6].map(whole_minutes), [0, 1, 37, 42, 43], "to the nearest, never nothing");
    assert_eq!([minutes_text(99.4), minutes_text(125.0)], ["99 min", "2 h 05 min"], "hours from a hundred on");
    let panel = |unit| size_text(Mm::new(133.35), Mm::new(254.0), unit);
    assert_eq!([panel(Unit::Mm), panel(Unit::Inch)], ["133.35 x 254 mm", "5-1/4 x 10 in"], "as it is, no zeros");
    let to_a_32nd = size_text(Mm::from_inches(5.25), Mm::from_inches(319.0 / 32.0), Unit::Inch);
    assert_eq!(to_a_32nd, "5-1/4 x 9-31/32 in", "as the parts are sawn");
}

#[test]
fn money_is_exact() {
    assert_eq!(Cents(1205).with_sign("$"), "$12.05", "cents pad");
    assert_eq!(Cents(-300).with_sign("€"), "-€3.00", "minus leads");
}

#[test]
fn long_lengths_read_as_people_say_them() {
    let told = (long_text(2540.0, Unit::Mm), long_text(3048.0, Unit::Inch));
    assert_eq!(told, ("2.5 m".to_owned(), "10.0 ft".to_owned()), "long");
}
