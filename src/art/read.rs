//! The way through a file, from bytes to shapes.

use kurbo::Affine;
use usvg::roxmltree::Document;

use super::cost::{self, Fault};
use super::dropped::{self, Notes};
use super::lexical::{self, Lexed};
use super::places::Lines;
use super::walk::Walk;
use super::{Art, Options, crossings, size, source};
use crate::diag::{Error, FindingKind, Noted, Place};
use crate::geom::guard::guarded;

/// Stack of the reading thread. Deep enough in a debug build for the deepest
/// nesting and the longest chain of references the limits let through; only
/// what is used is ever touched.
const STACK_BYTES: usize = 256 << 20;

/// Reads a drawing. `name` is what the drawing is called in messages.
///
/// Opens no file and no connection, whatever the drawing asks for.
///
/// # Errors
/// [`Error::Art`] when `bytes` is not an SVG drawing, is broken, asks for
/// something outside itself, goes over a limit, or has nothing to saw;
/// [`Error::Internal`] when the SVG library itself failed.
pub fn read(bytes: &[u8], name: &str, options: &Options) -> Result<Noted<Art>, Error> {
    let internal = |what: &str| Error::Internal { what: format!("{what} while reading {name}") };
    let failed = |_| internal("the SVG library failed");
    let lexed = lexical::lex(bytes, name, &options.limits)?;
    if is_shallow(&lexed) {
        return guarded(|| read_here(lexed, name, options)).map_err(failed)?;
    }
    std::thread::scope(|scope| {
        std::thread::Builder::new()
            .name("reading art".to_owned())
            .stack_size(STACK_BYTES)
            .spawn_scoped(scope, || guarded(|| read_here(lexed, name, options)))
            .map_err(|error| internal(&format!("no thread could be started ({error})")))?
            .join()
            .map_err(failed)?
            .map_err(failed)?
    })
}

/// Elements nested no deeper than this need no more stack than any thread has.
/// Ours: a test reads one nested so on half the 2 MB a thread has.
const SHALLOW: u32 = 12;

/// Whether a drawing is nested little, also by way of references.
fn is_shallow(lexed: &Lexed) -> bool {
    lexed.depth <= SHALLOW && !["href", "url("].iter().any(|refers| lexed.text.contains(refers))
}

fn read_here(lexed: Lexed, name: &str, options: &Options) -> Result<Noted<Art>, Error> {
    let limits = &options.limits;
    let mut notes = Notes::default();
    let lent = {
        let doc = parsed(&lexed, name, limits.nodes)?;
        checked(&doc, &lexed, name, limits.expanded)?;
        dropped::survey(&doc, &lexed.text, name, &mut notes)?;
        source::lend_ids(&doc, &lexed, name)
    };
    let doc = parsed(&lent.lexed, name, limits.nodes)?;
    let tree = usvg::Tree::from_xmltree(&doc, &library_options()).map_err(|e| refused(&e, name))?;
    let size = size::of(doc.root_element(), tree.size());
    let unit_mm = size::unit_for(side(&tree, &size) * size.px_mm);
    let mut walk = Walk::new(&lent.places, &mut notes, limits);
    let file = Place { file: Some(name.to_owned()), ..Place::default() };
    walk.tree(tree.root(), Affine::scale(size.px_mm / unit_mm), file);
    let (shapes, seen, mut over) = (walk.shapes, walk.seen, walk.over);
    if over.is_none() && crossings::too_many(shapes.iter().map(|s| &s.path), limits.crossings) {
        over = Some((Place::default(), crossings::message(limits.crossings)));
    }
    if let Some((place, what)) = over {
        let place = if place.file.is_some() { place } else { lexical::whole(name) };
        return Err(Error::art(place, what, "simplify the drawing: join its shapes, smooth its lines"));
    }
    dropped::vanished(&doc, &lent.expected, &seen, &lent.places, &mut notes);
    let page = size.page.map(|p| p.scale_from_origin(1.0 / unit_mm));
    let placed = doc.root_element().has_attribute(PLACED);
    let art = Art { name: name.to_owned(), page, unit_mm, placed, shapes };
    let findings = notes.finish();
    if art.shapes.is_empty() {
        return Err(nothing_drawn(name, &findings));
    }
    Ok(Noted { value: art, findings })
}

/// The root's attribute that says the drawing stands on its panel already.
const PLACED: &str = "data-fretgrin-panel";

/// The drawing's larger side in pixels: the page's, unless the drawing has none
/// or is of another size altogether.
fn side(tree: &usvg::Tree, size: &size::Size) -> f64 {
    let bounds = tree.root().abs_stroke_bounding_box();
    let content = f64::from(bounds.width().max(bounds.height()));
    let page = f64::from(tree.size().width().max(tree.size().height()));
    let alike = (page / 20.0..=page * 20.0).contains(&content) || !(0.0..=LARGEST_PX).contains(&content);
    if size.page.is_some() && alike { page } else { content }
}

/// Nothing drawn on purpose is larger than this, pixels.
const LARGEST_PX: f64 = 1e9;

/// Nothing outside the drawing is ever opened: neither resolver resolves.
fn library_options() -> usvg::Options<'static> {
    usvg::Options {
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..usvg::Options::default()
    }
}

fn parsed<'a>(lexed: &'a Lexed, name: &str, nodes: u32) -> Result<Document<'a>, Error> {
    use usvg::roxmltree::Error as Xml;
    source::parse(lexed, nodes).map_err(|error| {
        let end = || Lines::of(&lexed.text).place(name, lexed.text.len());
        let place = match error {
            Xml::UnclosedRootNode | Xml::UnexpectedEndOfStream => end(),
            Xml::NoRootNode | Xml::NodesLimitReached | Xml::AttributesLimitReached => lexical::whole(name),
            _ => {
                let at = error.pos();
                Place { line: Some(at.row), column: Some(at.col), ..lexical::whole(name) }
            }
        };
        let what = match error {
            Xml::UnclosedRootNode | Xml::UnexpectedEndOfStream => {
                "the file ends in the middle of the drawing".to_owned()
            }
            Xml::NoRootNode => "there is no <svg> element in the file".to_owned(),
            Xml::NodesLimitReached => format!("the drawing has more than {nodes} parts"),
            Xml::AttributesLimitReached => "the drawing has too many attributes".to_owned(),
            error => format!("broken XML: {}", without_position(&error.to_string())),
        };
        Error::art(place, what, "export the drawing again as plain SVG")
    })
}

/// The XML parser's words without its ` at 3:5`, which the place says already.
fn without_position(text: &str) -> String {
    text.rsplit_once(" at ").map_or(text, |(what, _)| what).to_owned()
}

fn checked(doc: &Document, lexed: &Lexed, name: &str, limit: u64) -> Result<(), Error> {
    let root = doc.root_element();
    if root.tag_name().name() != "svg" {
        let what = format!("the file is XML but not a drawing: it starts with <{}>", root.tag_name().name());
        return Err(Error::art(lexical::whole(name), what, "save the face as plain SVG"));
    }
    let at = |node| source::place(node, &Lines::of(&lexed.text), name);
    cost::check(doc, limit).map_err(|fault| match fault {
        Fault::Cycle(node) => {
            let what = format!("<{}> refers to itself, directly or by way of others", node.tag_name().name());
            Error::art(at(node), what, "delete the reference")
        }
        Fault::Deep(node) => {
            let what = format!("<{}> stands at the end of a very long chain of references", node.tag_name().name());
            Error::art(at(node), what, "flatten clips, masks and symbols in the drawing program")
        }
        Fault::Wide(node) => Error::art(
            at(node),
            "a line is drawn wider than 100000 units",
            "check the stroke's width, or convert the line to an outline",
        ),
        Fault::Styles => Error::art(
            lexical::whole(name),
            "the drawing's style sheets are too long for its number of elements",
            "write the styles into the elements, or simplify the drawing",
        ),
        Fault::Large => Error::art(
            lexical::whole(name),
            format!("with every symbol, clip and pattern written out the drawing has more than {limit} elements"),
            "flatten or simplify the drawing",
        ),
    })
}

fn refused(error: &usvg::Error, name: &str) -> Error {
    let (what, advice) = match error {
        usvg::Error::InvalidSize => {
            ("the drawing's width, height or viewBox is zero or negative", "give the drawing a page size")
        }
        _ => ("the drawing is nested too deep or has too many elements", "flatten or simplify the drawing"),
    };
    Error::art(lexical::whole(name), what, advice)
}

/// Says why there is nothing to saw, by what was found instead.
fn nothing_drawn(name: &str, findings: &[crate::diag::Finding]) -> Error {
    let left_out = findings.iter().filter(|f| f.kind == FindingKind::LeftOut);
    let text = left_out.clone().find(|f| f.message.starts_with("the text"));
    let bitmap = left_out.clone().find(|f| f.message.contains("bitmap"));
    let first = text.or(bitmap).or_else(|| left_out.clone().next());
    let place = first.and_then(|f| f.place.clone()).unwrap_or_else(|| lexical::whole(name));
    let (what, advice) = match (text, bitmap) {
        (Some(_), None) => ("the drawing holds only text; no outline to saw", "convert the text to outlines"),
        (None, Some(_)) => {
            ("the drawing holds only a bitmap; no outline to saw", "trace the bitmap, or give the bitmap file itself")
        }
        (Some(_), Some(_)) => {
            ("the drawing holds only text and bitmaps; no outline to saw", "convert text to outlines, trace bitmaps")
        }
        (None, None) => ("nothing is drawn in the file; no outline to saw", "draw the face as filled shapes"),
    };
    let what = match first {
        Some(f) if text.is_none() && bitmap.is_none() => format!("{what} ({})", f.message),
        _ => what.to_owned(),
    };
    Error::art(place, what, advice)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_just_shallow_is_read_on_half_a_threads_stack() {
        let groups = SHALLOW as usize - 1;
        let (open, close) = ("<g transform='rotate(1)' opacity='.99'>".repeat(groups), "</g>".repeat(groups));
        let svg = format!("<svg xmlns='http://www.w3.org/2000/svg'>{open}<path d='M0 0h40v40h-40z'/>{close}</svg>");
        let options = Options::default();
        let lexed = lexical::lex(svg.as_bytes(), "deep.svg", &options.limits).unwrap();
        assert!(lexed.depth == SHALLOW && is_shallow(&lexed), "depth {}", lexed.depth);
        let reading = std::thread::Builder::new().stack_size(1 << 20);
        let read = reading.spawn(move || read(svg.as_bytes(), "deep.svg", &options)).unwrap().join().unwrap();
        assert_eq!(read.unwrap().value.shapes.len(), 1, "its one shape");
    }
}
