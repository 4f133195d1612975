//! Reads a PDF back: each page's paths and words, by layer, in millimetres.

use kurbo::{BezPath, Point};
use lopdf::content::Content;
use lopdf::{Document, Object, ObjectId};

const MM_PER_POINT: f64 = 25.4 / 72.0;

/// A path as drawn, with the name of its layer.
#[derive(Clone, Debug)]
pub(crate) struct Drawn {
    /// The layer's name.
    pub(crate) layer: String,
    /// The path, page millimetres, origin lower left.
    pub(crate) path: BezPath,
}

/// What one page shows.
#[derive(Clone, Debug, Default)]
pub(crate) struct Page {
    /// Every painted path.
    pub(crate) paths: Vec<Drawn>,
    /// Every line of text with its layer.
    pub(crate) words: Vec<(String, String)>,
}

impl Page {
    /// The paths of one layer.
    pub(crate) fn on<'a>(&'a self, layer: &'a str) -> impl Iterator<Item = &'a BezPath> {
        self.paths.iter().filter(move |drawn| drawn.layer == layer).map(|drawn| &drawn.path)
    }
}

/// Every page of the file.
#[must_use]
pub(crate) fn read(bytes: &[u8]) -> Vec<Page> {
    let doc = Document::load_mem(bytes).unwrap();
    doc.get_pages().into_values().map(|id| page(&doc, id)).collect()
}

fn page(doc: &Document, id: ObjectId) -> Page {
    let content = Content::decode(&doc.get_page_content(id)).unwrap();
    let mut out = Page::default();
    let (mut layer, mut path) = (String::new(), BezPath::new());
    for operation in &content.operations {
        let n: Vec<f64> = operation.operands.iter().filter_map(|o| o.as_float().ok()).map(f64::from).collect();
        let p = |i: usize| Point::new(n[i] * MM_PER_POINT, n[i + 1] * MM_PER_POINT);
        match operation.operator.as_str() {
            "BDC" => layer = layer_name(doc, id, operation.operands[1].as_name().unwrap()),
            "EMC" => layer.clear(),
            "m" => path.move_to(p(0)),
            "l" => path.line_to(p(0)),
            "c" => path.curve_to(p(0), p(2), p(4)),
            "h" => path.close_path(),
            "S" | "s" | "f" | "B" | "b" => {
                out.paths.push(Drawn { layer: layer.clone(), path: std::mem::take(&mut path) });
            }
            "n" => path = BezPath::new(),
            "Tj" => out.words.push((layer.clone(), text(&operation.operands[0]))),
            _ => {}
        }
    }
    out
}

fn layer_name(doc: &Document, page: ObjectId, name: &[u8]) -> String {
    let resources = doc.get_dictionary(page).unwrap().get(b"Resources").unwrap();
    let resources = doc.get_dictionary(resources.as_reference().unwrap()).unwrap();
    let group = resources.get(b"Properties").unwrap().as_dict().unwrap().get(name).unwrap();
    let group = doc.get_dictionary(group.as_reference().unwrap()).unwrap();
    text(group.get(b"Name").unwrap())
}

/// Windows-1252 read as Latin-1, which holds for all but a few signs.
fn text(object: &Object) -> String {
    object.as_str().unwrap().iter().map(|byte| char::from(*byte)).collect()
}
