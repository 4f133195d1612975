use super::*;
use crate::trade::papers;

fn printer(name: &str) -> Printer {
    Printer::true_to_size(papers::find(name, crate::units::Unit::Mm).unwrap())
}

fn laid(w: f64, h: f64, name: &str) -> Layout {
    Layout::of(Mm::new(w), Mm::new(h), Mm::new(15.9), &printer(name)).unwrap()
}

#[test]
fn the_usual_front_takes_one_sheet_with_words_and_flaps() {
    for name in ["a4", "letter", "legal", "a3", "tabloid"] {
        let layout = laid(133.35, 254.0, name);
        assert_eq!(layout.tiles.len(), 1, "{name}");
        assert!(!matches!(layout.info, Info::Strip(_)), "{name}: {:?}", layout.info);
        assert!(layout.flaps.left >= 5.0 && layout.flaps.bottom >= 5.0, "{name}: {:?}", layout.flaps);
    }
}

#[test]
fn the_way_with_fewest_sheets_is_taken() {
    assert!(laid(254.0, 133.35, "letter").turned, "a wide panel on turned paper");
    assert!(!laid(133.35, 254.0, "letter").turned, "a tall one upright");
    let layout = laid(300.0, 180.0, "a4");
    assert_eq!((layout.tiles.len(), layout.grid), (2, (2, 1)), "two sheets, not more");
}

#[test]
fn tiles_cover_the_panel_and_overlap_as_asked() {
    for (w, h) in [(300.0, 400.0), (600.0, 250.0), (1000.0, 700.0), (210.0, 297.0)] {
        let layout = laid(w, h, "a4");
        let whole = layout.tiles.iter().map(|tile| tile.window).reduce(|a, b| a.union(b)).unwrap();
        let panel = Rect::new(0.0, 0.0, w, h);
        assert_eq!(whole.union(panel), whole, "the whole panel is on paper");
        for tile in &layout.tiles {
            let on_paper = tile.window + tile.shift;
            assert_eq!(layout.printable.union(on_paper).width(), layout.printable.width(), "in the margins");
            assert!(on_paper.y0 >= layout.printable.y0 + STRIP, "above the strip");
        }
        let (a, b) = (&layout.tiles[0].window, &layout.tiles[1].window);
        let shared = if layout.grid.0 > 1 { a.x1 - b.x0 } else { b.y1 - a.y0 };
        assert!((shared - 12.0).abs() < 1e-9, "{shared}");
    }
}

#[test]
fn correction_turns_with_the_paper() {
    let mut printer = printer("letter");
    (printer.scale_x, printer.scale_y) = (1.002, 0.997);
    let tall = Layout::of(Mm::new(133.35), Mm::new(254.0), Mm::new(15.9), &printer).unwrap();
    let wide = Layout::of(Mm::new(254.0), Mm::new(133.35), Mm::new(15.9), &printer).unwrap();
    assert_eq!((tall.scale, wide.scale), ((1.002, 0.997), (0.997, 1.002)), "the feed keeps its factor");
}

#[test]
fn paper_without_room_is_an_error() {
    let mut tight = printer("a4");
    tight.paper.margin = Mm::new(110.0);
    let error = Layout::of(Mm::new(100.0), Mm::new(100.0), Mm::new(15.9), &tight).unwrap_err();
    assert!(matches!(error, Error::Sizes { .. }) && error.to_string().contains("smaller than its margins"), "{error}");
    let error = Layout::of(Mm::new(9000.0), Mm::new(9000.0), Mm::new(15.9), &printer("a4")).unwrap_err();
    assert!(error.to_string().contains("sheets"), "{error}");
}

#[test]
fn columns_are_lettered_and_rows_numbered() {
    assert_eq!([tile_name(0, 0), tile_name(1, 2), tile_name(26, 0)], ["A1", "B3", "AA1"], "names");
}
