//! Files of about a megabyte, each made to cost a reader more than it should.

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{DynamicImage, GrayImage, Luma, Rgba, RgbaImage};

/// What the files are held to.
pub(crate) const SIZE: usize = 1_000_000;

/// One file: what it tries, its name's ending and its bytes.
pub(crate) struct Hostile {
    pub(crate) tries: &'static str,
    pub(crate) ending: &'static str,
    pub(crate) bytes: Vec<u8>,
}

pub(crate) fn all() -> Vec<Hostile> {
    let mut all = Vec::new();
    let mut add = |ending, files: Vec<(&'static str, Vec<u8>)>| {
        all.extend(files.into_iter().map(|(tries, bytes)| Hostile { tries, ending, bytes }));
    };
    add("svg", svg_trees());
    add("svg", svg_outlines());
    add("svg", svg_paints());
    add("png", pngs());
    add("bmp", vec![("bmp of 40 million pixels, run-length coded", bmp_rle())]);
    add(
        "gif",
        vec![("gif of 65535 pixels squared", gif(65535, 65535)), ("gif of 6000 pixels squared", gif(6000, 6000))],
    );
    add("webp", vec![("webp of 16383 pixels squared", webp(16383)), ("webp cut short", webp(6000))]);
    add("dxf", dxfs());
    add("toml", tomls());
    add("fretgrin.toml", projects());
    all
}

/// `SplitMix64` (Steele, Lea, Flood 2014), a number from 0 to `below`.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn roll(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % below
    }
}

fn svg(body: &str) -> Vec<u8> {
    format!("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" height=\"200mm\" viewBox=\"0 0 1000 2000\">{body}</svg>")
        .into_bytes()
}

/// `part` written for 0, 1, 2 … until a megabyte is full.
fn filled(mut part: impl FnMut(u64) -> String) -> String {
    let mut text = String::new();
    for i in 0.. {
        let next = part(i);
        if text.len() + next.len() > SIZE - 500 {
            break;
        }
        text.push_str(&next);
    }
    text
}

fn path(data: &str) -> Vec<u8> {
    svg(&format!("<path d=\"{data}\"/>"))
}

fn stroked(data: &str, stroke: &str) -> Vec<u8> {
    svg(&format!("<path fill=\"none\" stroke=\"#000\" {stroke} d=\"{data}\"/>"))
}

/// Levels of ten references to the level below, `what` writing one.
fn levels(count: u32, what: impl Fn(u32, u32) -> String) -> String {
    (1..count).map(|i| format!("<g id=\"l{i}\">{}</g>", (0..10).map(|k| what(i - 1, k)).collect::<String>())).collect()
}

#[expect(clippy::too_many_lines, reason = "a list")]
fn svg_trees() -> Vec<(&'static str, Vec<u8>)> {
    let eye = "<circle id=\"l0\" cx=\"500\" cy=\"900\" r=\"300\"/>";
    let deep = SIZE / 8;
    let entities: String =
        (1..12).map(|i| format!("<!ENTITY e{i} \"{}\">", format!("&e{};", i - 1).repeat(10))).collect();
    let long = "a".repeat(SIZE / 2);
    let blow_up = format!("<!DOCTYPE svg [<!ENTITY a \"{long}\">]>");
    let quadratic = [blow_up.as_bytes(), &svg(&format!("<desc>{}</desc>", "&a;".repeat(SIZE / 8)))].concat();
    let laughs =
        [format!("<!DOCTYPE svg [<!ENTITY e0 \"ha\">{entities}]>").as_bytes(), &svg("<desc>&e11;</desc>")].concat();
    vec![
        ("nested groups", svg(&format!("{}{eye}{}", "<g>".repeat(deep), "</g>".repeat(deep)))),
        ("nested drawings", svg(&format!("{}{eye}{}", "<svg>".repeat(deep / 2), "</svg>".repeat(deep / 2)))),
        ("entities of entities", laughs),
        ("one long entity, often", quadratic),
        (
            "uses of uses",
            svg(&format!(
                "<defs>{eye}{}</defs><use href=\"#l11\"/>",
                levels(12, |i, _| format!("<use href=\"#l{i}\"/>"))
            )),
        ),
        ("uses", svg(&format!("<defs>{eye}</defs>{}", filled(|_| "<use href=\"#l0\"/>".to_owned())))),
        ("uses of a thousand uses", {
            let inner: String = (0..1000).map(|i| format!("<use href=\"#l0\" x=\"{i}\"/>")).collect();
            svg(&format!(
                "<defs>{eye}<g id=\"m\">{inner}</g></defs>{}",
                filled(|i| format!("<use href=\"#m\" y=\"{i}\"/>"))
            ))
        }),
        (
            "clips of clips",
            svg(&(filled(|i| {
                format!("<clipPath id=\"c{i}\" clip-path=\"url(#c{})\"><path d=\"M0 0h999v999z\"/></clipPath>", i + 1)
            }) + "<path clip-path=\"url(#c0)\" d=\"M0 0h99v99z\"/>")),
        ),
        (
            "masks of masks",
            svg(&(filled(|i| {
                format!("<mask id=\"c{i}\"><g mask=\"url(#c{})\"><path d=\"M0 0h999v999z\"/></g></mask>", i + 1)
            }) + "<path mask=\"url(#c0)\" d=\"M0 0h99v99z\"/>")),
        ),
        (
            "patterns of patterns",
            svg(&format!("<defs>{}</defs><path fill=\"url(#p0)\" d=\"M0 0h999v999z\"/>", (0..20).map(|i| {
            let cell = format!("<path fill=\"url(#p{})\" d=\"M0 0h9v9z\"/>", i + 1).repeat(10);
            format!("<pattern id=\"p{i}\" width=\"9\" height=\"9\" patternUnits=\"userSpaceOnUse\">{cell}</pattern>")
        }).collect::<String>())),
        ),
        ("one pattern, used often", {
            let cell = filled(|i| format!("<rect x=\"{i}\" width=\"1\" height=\"1\"/>"))[..SIZE / 2].to_owned();
            let cell = &cell[..cell.rfind('<').unwrap_or(0)];
            let shapes = "<path fill=\"url(#p)\" d=\"M0 0h9v9z\"/>".repeat(SIZE / 90);
            svg(&format!("<pattern id=\"p\" width=\"9\" height=\"9\">{cell}</pattern>{shapes}"))
        }),
        (
            "gradients of gradients",
            svg(&(filled(|i| format!("<linearGradient id=\"g{i}\" href=\"#g{}\"/>", i + 1))
                + "<path fill=\"url(#g0)\" d=\"M0 0h99v99z\"/>")),
        ),
        ("a gradient of ten thousand stops, often", {
            let stops: String = (0..9000)
                .map(|i| format!("<stop offset=\"{}\" stop-color=\"#012\"/>", f64::from(i) / 9000.0))
                .collect();
            let shapes = "<path fill=\"url(#g)\" d=\"M0 0h99v99z\"/>".repeat(9000);
            svg(&format!("<linearGradient id=\"g\">{stops}</linearGradient>{shapes}"))
        }),
        (
            "filters",
            svg(&format!(
                "<filter id=\"f\" x=\"-1000%\" width=\"100000%\" height=\"100000%\">{}</filter><circle filter=\"url(#f)\" r=\"99\"/>",
                filled(|_| "<feMorphology radius=\"999\"/><feTurbulence numOctaves=\"99999\"/>".to_owned())
            )),
        ),
        ("markers on every corner", {
            let marker = "<marker id=\"m\" markerWidth=\"9\" markerHeight=\"9\"><path d=\"M0 0h9v9z\"/></marker>";
            let data = filled(|i| format!("L{} {}", i * 7 % 1000, i * 13 % 2000));
            svg(&format!(
                "{marker}<path marker-mid=\"url(#m)\" d=\"M0 0{}\"/>",
                &data[..data.len() - 200].rsplit_once('L').unwrap_or_default().0
            ))
        }),
        ("style rules", {
            let rules: String = (0..20_000).map(|i| format!("g g .c{i}{{fill:#000}}")).collect();
            svg(&format!("<style>{rules}</style>{}", "<g><g><path class=\"c1\" d=\"M0 0h9v9z\"/></g></g>".repeat(9000)))
        }),
        ("one endless style", {
            let style = "transform:translate(1px,var(--v));".repeat(SIZE / 34);
            svg(&format!("<style>:root{{--v:2px}}</style><path style=\"{style}\" d=\"M0 0h9v9z\"/>"))
        }),
        ("text in a switch", {
            svg(&format!(
                "<switch>{}</switch><path d=\"M0 0h9v9z\"/>",
                "<text systemLanguage=\"x\"/>".repeat(SIZE / 26)
            ))
        }),
        ("colours not understood", {
            let rects = (0..SIZE / 22).map(|i| format!("<rect fill=\"lab({i})\"/>"));
            svg(&format!("{}<path d=\"M0 0h9v9z\"/>", rects.collect::<String>()))
        }),
        ("style rules that look back", {
            let rules = ".a ".repeat(40) + "{fill:#000}";
            svg(&format!(
                "<style>{rules}</style>{}<path d=\"M0 0h9v9z\"/>{}",
                "<g class=\"a\">".repeat(190),
                "</g>".repeat(190)
            ))
        }),
        ("attributes on one element", svg(&format!("<path d=\"M0 0h9v9z\" {}/>", filled(|i| format!("a{i}=\"\" "))))),
        ("name spaces", svg(&filled(|i| format!("<g xmlns:n{i}=\"u{i}\"/>")))),
        (
            "name spaces, nested",
            svg(&format!(
                "{}{}",
                (0..190).map(|i| format!("<g xmlns:n{i}=\"u{i}\">")).collect::<String>(),
                "</g>".repeat(190)
            )),
        ),
        ("comments", svg(&filled(|_| "<!---->".to_owned()))),
        ("a text", svg(&format!("<text>{}</text>", "owl ".repeat(SIZE / 5)))),
        ("switches", svg(&filled(|_| "<switch><g/><g/></switch>".to_owned()))),
    ]
}

fn svg_outlines() -> Vec<(&'static str, Vec<u8>)> {
    let mut dice = Dice(1);
    let mut scribble = |form: &str| {
        let letter = form.to_owned();
        let pairs = if form == "C" { 3 } else { 1 };
        format!(
            "M0 0{}",
            filled(|_| {
                let points: Vec<String> =
                    (0..pairs).map(|_| format!("{} {}", dice.roll(1000), dice.roll(2000))).collect();
                letter.clone() + &points.join(" ")
            })
        )
    };
    let (lines, curves) = (scribble("L"), scribble("C"));
    let stairs = format!("M0 0{}V2000H0z", filled(|i| (if i % 2 == 0 { "h.002" } else { "v.004" }).to_owned()));
    let comb = format!("M0 0{}V2000H0z", filled(|i| format!("V{}h.01V9h.01", 1000 + i % 7)));
    let spiral = {
        let arm = filled(|i| {
            let r = 1.0 + i as f64 * 0.01;
            format!("A{r:.2} {r:.2} 0 0 1 {:.2} 900", if i % 2 == 0 { 500.0 + r } else { 500.0 - r })
        });
        format!("M500 900{arm}")
    };
    let rings = |step: f64| {
        filled(|i| {
            let r = 500.0 - i as f64 * step;
            format!("M{:.2} 900a{r:.2} {r:.2} 0 1 0 {:.2} 0a{r:.2} {r:.2} 0 1 0 {:.2} 0z", 500.0 - r, 2.0 * r, -2.0 * r)
        })
    };
    let grid = filled(|i| format!("M{} {}h4v4h-4z", i % 200 * 5, i / 200 * 5));
    let squares = filled(|i| {
        let inset = i as f64 * 0.012;
        format!("M{inset:.3} {inset:.3}H{:.3}V{:.3}H{inset:.3}z", 1000.0 - inset, 2000.0 - inset)
    });
    let star = filled(|i| {
        let angle = i as f64 * 2.399_963;
        format!("L{:.1} {:.1}", 500.0 + 499.0 * angle.cos(), 900.0 + 499.0 * angle.sin())
    });
    let copies = {
        let leaf = "M500 100C900 300 900 900 500 1800C100 900 100 300 500 100z";
        filled(|_| format!("<path d=\"{leaf}\"/>"))
    };
    let thin = "stroke-width=\"1\"";
    vec![
        ("a scribble of lines", path(&lines)),
        ("a scribble of curves", path(&curves)),
        ("a scribble, stroked", stroked(&lines, thin)),
        ("a scribble of curves, stroked wide", stroked(&curves, "stroke-width=\"300\"")),
        ("stairs", path(&stairs)),
        ("a comb", path(&comb)),
        ("a spiral, filled", path(&spiral)),
        ("a spiral, stroked", stroked(&spiral, "stroke-width=\".004\"")),
        ("rings within rings, even-odd", svg(&format!("<path fill-rule=\"evenodd\" d=\"{}\"/>", rings(0.05)))),
        ("rings within rings, stroked", stroked(&rings(0.05), "stroke-width=\".01\"")),
        ("squares within squares", svg(&format!("<path fill-rule=\"evenodd\" d=\"{squares}\"/>"))),
        ("squares within squares, stroked", stroked(&squares, "stroke-width=\".01\"")),
        ("a grid of squares", path(&grid)),
        ("a grid of squares, stroked", stroked(&grid, "stroke-width=\".1\"")),
        (
            "a grid of circles",
            svg(&filled(|i| format!("<circle cx=\"{}\" cy=\"{}\" r=\"2\"/>", i % 200 * 5, i / 200 * 5))),
        ),
        ("a star", path(&format!("M500 900{star}"))),
        ("one leaf many times", svg(&copies)),
        ("dashes", stroked("M0 0H1000V2000H0z", "stroke-dasharray=\"1e-6\"")),
        (
            "many dashes",
            stroked(&lines[..lines.len() / 2], &format!("stroke-dasharray=\"{}\"", ".1 ".repeat(SIZE / 8))),
        ),
        ("a stroke of a mile", stroked(&curves, "stroke-width=\"1e9\" stroke-linejoin=\"round\"")),
        ("arcs of no size", path(&format!("M0 0{}", filled(|i| format!("A1e-30 1e30 {i} 1 1 {} 9", i % 999))))),
        ("numbers at the edge", path(&format!("M0 0{}", filled(|i| format!("L1e{} -1e-{}", i % 39, i % 45))))),
    ]
}

fn svg_paints() -> Vec<(&'static str, Vec<u8>)> {
    let layers = filled(|i| {
        let shade = if i % 2 == 0 { "#000" } else { "#fff" };
        format!("<circle cx=\"500\" cy=\"900\" r=\"{:.2}\" fill=\"{shade}\"/>", 500.0 - i as f64 * 0.03)
    });
    let clip: String =
        (0..400).map(|i| format!("<rect x=\"{i}\" y=\"{}\" width=\"5\" height=\"900\"/>", i * 3)).collect();
    let clipped = filled(|_| "<path clip-path=\"url(#c)\" d=\"M0 0H999V1999z\"/>".to_owned());
    let clipped = &clipped[..clipped.len() - 30_000];
    let clipped = &clipped[..clipped.rfind('<').unwrap_or(0)];
    vec![
        ("dark and light in layers", svg(&layers)),
        ("one clip, used often", svg(&format!("<clipPath id=\"c\">{clip}</clipPath>{clipped}"))),
        (
            "groups of groups, half clear",
            svg(&filled(|_| "<g opacity=\".5\"><g opacity=\".5\"><path d=\"M0 0h9v9z\"/></g></g>".to_owned())),
        ),
        (
            "a picture inside",
            svg(&format!(
                "<image width=\"9\" height=\"9\" href=\"data:image/png;base64,{}\"/>",
                "A".repeat(SIZE - 500)
            )),
        ),
    ]
}

/// A PNG as small as can be made of it.
fn encoded(picture: DynamicImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut bytes, CompressionType::Best, FilterType::Adaptive);
    picture.write_with_encoder(encoder).expect("a picture can be written");
    bytes
}

fn grey(width: u32, height: u32, level: impl Fn(u32, u32) -> u8) -> Vec<u8> {
    encoded(DynamicImage::from(GrayImage::from_fn(width, height, |x, y| Luma([level(x, y)]))))
}

/// The check sum of a PNG chunk (PNG specification, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    let step = |c: u32, _| if c & 1 == 1 { 0xEDB8_8320 ^ (c >> 1) } else { c >> 1 };
    !bytes.iter().fold(!0, |crc, byte| (0..8).fold(crc ^ u32::from(*byte), step))
}

fn pngs() -> Vec<(&'static str, Vec<u8>)> {
    let mut dice = Dice(2);
    let noise: Vec<u8> = (0..1000 * 950).map(|_| dice.roll(256) as u8).collect();
    let noise = GrayImage::from_raw(1000, 950, noise).map(|image| encoded(DynamicImage::from(image)));
    let mut giant = grey(8, 8, |_, _| 0);
    giant[16..24].copy_from_slice(&[0, 1, 0, 0, 0, 1, 0, 0]);
    // The check sum of a header of 65536 by 65536 grey pixels.
    let sum = crc32(&giant[12..29]).to_be_bytes();
    giant[29..33].copy_from_slice(&sum);
    let clear = encoded(DynamicImage::from(RgbaImage::from_pixel(6300, 6300, Rgba([0, 0, 0, 255]))));
    vec![
        ("png of a giant's size", giant),
        ("png of 40 million pixels", grey(6300, 6300, |x, _| if x < 3000 { 0 } else { 255 })),
        ("png of 40 million coloured pixels", clear),
        ("png of one row", grey(6_000_000, 1, |x, _| if x % 2 == 0 { 0 } else { 255 })),
        ("png of a chequerboard", grey(6000, 6000, |x, y| if (x + y) % 2 == 0 { 0 } else { 255 })),
        ("png of coarse squares", grey(6000, 6000, |x, y| if (x / 16 + y / 16) % 2 == 0 { 0 } else { 255 })),
        ("png of stripes", grey(6000, 6000, |x, _| if x / 8 % 2 == 0 { 0 } else { 255 })),
        ("png of noise", noise.unwrap_or_default()),
        (
            "png of waves",
            grey(1000, 1000, |x, y| {
                let (dx, dy) = (f64::from(x) - 500.0, f64::from(y) - 500.0);
                (127.0 + 127.0 * (dx.hypot(dy) * 0.7).sin()) as u8
            }),
        ),
    ]
}

/// A bitmap of 6300 by 6300 pixels in runs of 255 (BMP, `BI_RLE8`).
fn bmp_rle() -> Vec<u8> {
    let mut data = Vec::new();
    for row in 0..6300 {
        data.extend([255, u8::from(row % 2 == 0), 255, 0].repeat(12));
        data.extend([0, 0]);
    }
    data.extend([0, 1]);
    let mut bytes = b"BM".to_vec();
    let offset = 14 + 40 + 1024_u32;
    let side = 6300_u32;
    for number in [offset + data.len() as u32, 0, offset, 40, side, side] {
        bytes.extend(number.to_le_bytes());
    }
    bytes.extend([1, 0, 8, 0, 1, 0, 0, 0]);
    bytes.extend((data.len() as u32).to_le_bytes());
    bytes.extend([0; 16]);
    bytes.extend((0..=255_u8).flat_map(|i| [255 - i, 255 - i, 255 - i, 0]));
    bytes.extend(data);
    bytes
}

/// A picture whose data say the same code again and again.
fn gif(width: u16, height: u16) -> Vec<u8> {
    let mut bytes = b"GIF89a".to_vec();
    bytes.extend(width.to_le_bytes());
    bytes.extend(height.to_le_bytes());
    bytes.extend([0x80, 0, 0, 0, 0, 0, 255, 255, 255, 0x2c, 0, 0, 0, 0]);
    bytes.extend(width.to_le_bytes());
    bytes.extend(height.to_le_bytes());
    bytes.extend([0, 2]);
    for _ in 0..SIZE / 256 {
        bytes.push(255);
        bytes.extend([0x84_u8; 255]);
    }
    bytes.extend([0, 0x3b]);
    bytes
}

/// A lossless WebP that says it is `side` pixels square (RFC 9649, 3.4).
fn webp(side: u32) -> Vec<u8> {
    let size = (side - 1) | (side - 1) << 14;
    let mut data = vec![0x2f];
    data.extend(size.to_le_bytes());
    data.resize(SIZE / 2, 0x88);
    let mut bytes = b"RIFF".to_vec();
    bytes.extend((data.len() as u32 + 12).to_le_bytes());
    bytes.extend(b"WEBPVP8L");
    bytes.extend((data.len() as u32).to_le_bytes());
    bytes.extend(data);
    bytes
}

fn dxf(blocks: &str, entities: &str) -> Vec<u8> {
    format!("0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n")
        .into_bytes()
}

fn dxfs() -> Vec<(&'static str, Vec<u8>)> {
    let mut dice = Dice(3);
    let block = |name: u32, body: &str| format!("0\nBLOCK\n2\nB{name}\n{body}0\nENDBLK\n");
    let bomb: String = (0..12).map(|i| block(i, &format!("0\nINSERT\n2\nB{}\n", i + 1).repeat(10))).collect();
    let chain: String = filled(|i| block(i as u32, &format!("0\nINSERT\n2\nB{}\n", i + 1)));
    let circle = block(0, "0\nCIRCLE\n10\n0\n20\n0\n40\n9\n");
    let scribble = filled(|_| {
        let mut n = || dice.roll(1000);
        format!("0\nLINE\n10\n{}\n20\n{}\n11\n{}\n21\n{}\n", n(), n(), n(), n())
    });
    let rings = filled(|i| format!("0\nCIRCLE\n10\n0\n20\n0\n40\n{:.2}\n", 500.0 - i as f64 * 0.01));
    let short = filled(|i| format!("0\nLINE\n10\n{i}\n20\n0\n11\n{}\n21\n0\n", i + 1));
    let heap = filled(|i| format!("0\nLINE\n10\n{}\n20\n0\n11\n0\n21\n.0{i}\n", i % 3));
    let stairs = filled(|i| format!("10\n{}\n20\n{}\n", i.div_ceil(2), i / 2));
    let bulges = filled(|i| format!("10\n{}\n20\n0\n42\n1e9\n", i % 7));
    let points = filled(|i| format!("10\n{}\n20\n{}\n41\n{}\n", i % 13, i % 17, if i % 2 == 0 { 1e-6 } else { 1e6 }));
    let count = points.matches("41\n").count() / 2;
    let half: String = points.split_inclusive('\n').take(count * 6).collect();
    let knots: String = (0..count + 4).map(|k| format!("40\n{k}\n")).collect();
    vec![
        ("dxf of blocks in blocks", dxf(&bomb, "0\nINSERT\n2\nB0\n")),
        ("dxf of a chain of blocks", dxf(&chain, "0\nINSERT\n2\nB0\n")),
        ("dxf of a block a billion times", dxf(&circle, "0\nINSERT\n2\nB0\n70\n99999\n71\n99999\n44\n1\n45\n1\n")),
        ("dxf of a block on one spot", dxf(&circle, &filled(|_| "0\nINSERT\n2\nB0\n".to_owned()))),
        ("dxf of a block in rows", dxf(&circle, "0\nINSERT\n2\nB0\n70\n200\n71\n200\n44\n20\n45\n20\n")),
        ("dxf of a scribble", dxf("", &scribble)),
        ("dxf of circles in circles", dxf("", &rings)),
        ("dxf of short lines", dxf("", &short)),
        ("dxf of lines on one spot", dxf("", &heap)),
        ("dxf of stairs", dxf("", &format!("0\nLWPOLYLINE\n70\n1\n{stairs}"))),
        ("dxf of bulges", dxf("", &format!("0\nLWPOLYLINE\n70\n1\n{bulges}"))),
        ("dxf of a wild spline", dxf("", &format!("0\nSPLINE\n71\n3\n{knots}{half}"))),
        ("dxf of one line of text", [b"0\nSECTION\n2\n".as_slice(), &[b'A'; SIZE - 100]].concat()),
        ("dxf of nothing but codes", dxf("", &filled(|_| "0\nX\n".to_owned()))),
        ("dxf of layers", dxf("", &filled(|i| format!("0\nTEXT{i}\n8\nL{i}\n")))),
    ]
}

fn tomls() -> Vec<(&'static str, Vec<u8>)> {
    let text = |text: String| text.into_bytes();
    vec![
        ("toml of nested lists", text(format!("a = {}{}", "[".repeat(SIZE / 2), "]".repeat(SIZE / 2)))),
        ("toml of nested tables", text(format!("a = {}1{}", "{a=".repeat(SIZE / 4), "}".repeat(SIZE / 4)))),
        ("toml of a long key", text(format!("{}a = 1", "a.".repeat(SIZE / 2 - 9)))),
        ("toml of a long header", text(format!("[{}a]", "a.".repeat(SIZE / 2 - 9)))),
        ("toml of many headers", text(filled(|i| format!("[t{i}]\n")))),
        ("toml of many lists of tables", text(filled(|_| "[[saw]]\n".to_owned()))),
        ("toml of many keys", text(filled(|i| format!("k{i} = 1\n")))),
        ("toml of one long number", text(format!("[panel]\nwidth = {}", "9".repeat(SIZE - 40)))),
        ("toml of one long text", text(format!("units = \"{}\"", "in".repeat(SIZE / 2 - 40)))),
    ]
}

fn projects() -> Vec<(&'static str, Vec<u8>)> {
    let head = "format = \"fretgrin-project-1\"\nrevision = 1\n";
    let art = "[art]\nname = \"a.svg\"\ntext = \"<svg xmlns='http://www.w3.org/2000/svg'><circle r='9'/></svg>\"\n";
    let bridges = filled(|i| format!("[[mend.bridges]]\nx = {i}\ny = 1e308\n"));
    let few: String = (0..2000).map(|i| format!("[[mend.bridges]]\nx = 0.{i}\ny = 0.0\nwidth_mm = 500.0\n")).collect();
    let mended = |mends: &str| format!("{head}{art}[mend]\non = true\n{mends}").into_bytes();
    vec![
        ("project of nested lists", format!("{head}a = {}", "[".repeat(SIZE - 99)).into_bytes()),
        ("project of many bridges", mended(&bridges)),
        ("project of wide bridges", mended(&few)),
        (
            "project with a broken picture",
            format!("{head}[art]\nname = \"a.png\"\nbase64 = \"{}\"\n", "A".repeat(SIZE - 99)).into_bytes(),
        ),
        (
            "project of one long text",
            format!("{head}[art]\nname = \"a.svg\"\ntext = \"{}\"\n", "<g>".repeat(SIZE / 3 - 99)).into_bytes(),
        ),
    ]
}
