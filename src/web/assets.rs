//! The page's own files, carried in the program.

use super::http::Reply;

const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const JS: &str = "text/javascript; charset=utf-8";
const SVG: &str = "image/svg+xml";

/// Path, media type and content of every file.
const FILES: &[(&str, &str, &[u8])] = &[
    ("/", HTML, include_bytes!("assets/index.html")),
    ("/style.css", CSS, include_bytes!("assets/style.css")),
    ("/icon.svg", SVG, include_bytes!("assets/icon.svg")),
    ("/app.js", JS, include_bytes!("assets/app.js")),
    ("/dom.js", JS, include_bytes!("assets/dom.js")),
    ("/lengths.js", JS, include_bytes!("assets/lengths.js")),
    ("/server.js", JS, include_bytes!("assets/server.js")),
    ("/model.js", JS, include_bytes!("assets/model.js")),
    ("/board.js", JS, include_bytes!("assets/board.js")),
    ("/place.js", JS, include_bytes!("assets/place.js")),
    ("/hands.js", JS, include_bytes!("assets/hands.js")),
    ("/tray.js", JS, include_bytes!("assets/tray.js")),
    ("/fields.js", JS, include_bytes!("assets/fields.js")),
    ("/faults.js", JS, include_bytes!("assets/faults.js")),
    ("/mend.js", JS, include_bytes!("assets/mend.js")),
    ("/mendboard.js", JS, include_bytes!("assets/mendboard.js")),
    ("/edits.js", JS, include_bytes!("assets/edits.js")),
    ("/night.js", JS, include_bytes!("assets/night.js")),
    ("/paper.js", JS, include_bytes!("assets/paper.js")),
    ("/drawer.js", JS, include_bytes!("assets/drawer.js")),
    ("/taking.js", JS, include_bytes!("assets/taking.js")),
];

/// The file at `path`.
#[must_use]
pub fn file(path: &str) -> Reply {
    match FILES.iter().find(|(at, ..)| *at == path) {
        Some((_, kind, bytes)) => Reply::new(200, kind, *bytes),
        None => Reply::text(404, "there is nothing here"),
    }
}
