//! What the page can ask for. Every question is a `POST` to `/api/…` with the
//! key; answers are JSON, or the bytes of a file.

use std::sync::Arc;
use std::time::Instant;

use kurbo::Affine;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::drawer::Drawer;
use super::http::{Reply, Request};
use super::jobs;
use super::store::{Art, Change, Refusal, Snapshot, State, Store};
use super::tables;
use crate::diag::Error;
use crate::project::Mends;
use crate::settings::{Settings, Shop};
use crate::units::Unit;

/// Largest drawing taken, bytes.
pub const LARGEST_ART: usize = 8 * 1024 * 1024;
/// Largest question of any other kind, bytes: settings, mends.
pub const LARGEST_QUESTION: usize = 512 * 1024;

const JSON: &str = "application/json";

/// What the page works on.
#[derive(Debug)]
pub struct Bench {
    /// The projects.
    pub store: Store,
    /// The shop's settings for new projects.
    pub shop: Shop,
    /// The project to show first.
    pub first: Option<String>,
    /// The faces to pick from.
    pub drawer: Drawer,
}

/// How many bytes a question may have, by its name; `None` for one there is not.
#[must_use]
pub fn room(action: &str) -> Option<usize> {
    match action {
        "new" | "replace" => Some(LARGEST_ART),
        "start" | "open" | "reload" | "revision" | "check" | "mend" | "change" | "undo" | "redo" | "pages" | "file"
        | "turn" | "drawer" | "thumb" | "take" => Some(LARGEST_QUESTION),
        _ => None,
    }
}

/// Answers a question.
#[must_use]
pub fn answer(bench: &Bench, action: &str, request: &Request) -> Reply {
    let began = Instant::now();
    let reply = act(bench, action, request).unwrap_or_else(|refused| refused);
    reply.with("Server-Timing", format!("work;dur={:.2}", began.elapsed().as_secs_f64() * 1000.0))
}

fn act(bench: &Bench, action: &str, request: &Request) -> Result<Reply, Reply> {
    match action {
        "start" => Ok(start(bench)),
        "new" => new(bench, request),
        "replace" => replace(bench, request),
        "open" => ask::<Named>(request).and_then(|q| told(bench.store.open(&q.project))),
        "reload" => ask::<Named>(request).and_then(|q| told(bench.store.reload(&q.project))),
        "revision" => {
            let found = bench.store.open(&ask::<Named>(request)?.project).map_err(|r| refusal(&r))?;
            Ok(json_reply(200, &json!({ "revision": found.revision })))
        }
        "check" => check(bench, request),
        "mend" => mend(bench, request),
        "change" => change(bench, request),
        "undo" => walk(bench, request, Change::Undo),
        "redo" => walk(bench, request, Change::Redo),
        "turn" => turn(request),
        "pages" => pages(bench, request),
        "file" => file(bench, request),
        "drawer" => Ok(drawer(bench)),
        "thumb" => thumb(bench, request),
        "take" => take(bench, request),
        _ => Err(Reply::text(404, "there is nothing here")),
    }
}

#[derive(Deserialize)]
struct Named {
    project: String,
}

#[derive(Deserialize)]
struct Step {
    project: String,
    revision: u64,
}

/// A project with the state the page holds, saved or not.
#[derive(Deserialize)]
struct Held {
    project: String,
    state: Wire,
    #[serde(default)]
    revision: u64,
    #[serde(default)]
    force: bool,
}

/// A state as it travels: all but the drawing.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Wire {
    shop: Shop,
    #[serde(default)]
    mend: Mends,
}

impl Wire {
    fn with(self, art: &Arc<Art>) -> State {
        State { art: Arc::clone(art), shop: self.shop, mend: self.mend }
    }
}

/// A shop to be turned to another unit.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Turned {
    shop: Shop,
    units: Unit,
}

#[derive(Deserialize)]
struct Wanted {
    project: String,
    kind: String,
}

fn ask<T: DeserializeOwned>(request: &Request) -> Result<T, Reply> {
    serde_json::from_slice(&request.body).map_err(|e| {
        let what = format!("this setting cannot be read: {e}");
        json_reply(422, &json!({ "error": { "what": what, "advice": "write a size like 5-1/4in or 133mm, another figure like 0.5; or undo and leave it as it was" } }))
    })
}

fn start(bench: &Bench) -> Reply {
    json_reply(
        200,
        &json!({
            "version": env!("CARGO_PKG_VERSION"),
            "projects": bench.store.names(),
            "first": bench.first,
            "tables": tables::tables(),
            "largest_art": LARGEST_ART,
        }),
    )
}

fn new(bench: &Bench, request: &Request) -> Result<Reply, Reply> {
    let art = Art { name: parameter(request, "name"), bytes: request.body.clone(), from: None };
    readable(&art, &bench.shop)?;
    told(bench.store.adopt(art, bench.shop.clone(), false))
}

fn replace(bench: &Bench, request: &Request) -> Result<Reply, Reply> {
    let art = Art { name: parameter(request, "name"), bytes: request.body.clone(), from: None };
    let project = parameter(request, "project");
    let current = bench.store.open(&project).map_err(|r| refusal(&r))?;
    readable(&art, &current.state.shop)?;
    let revision = parameter(request, "revision").parse().unwrap_or(0);
    let state = State { art: Arc::new(art), ..(*current.state).clone() };
    told(bench.store.change(&project, revision, Change::To(Box::new(state)), false))
}

/// A drawing that cannot be read is not taken in.
fn readable(art: &Art, shop: &Shop) -> Result<(), Reply> {
    let settings = Settings::resolve(shop).map_err(|e| error_reply(&e))?;
    jobs::check(art, &settings).map(|_| ()).map_err(|e| error_reply(&e))
}

fn check(bench: &Bench, request: &Request) -> Result<Reply, Reply> {
    let held: Held = ask(request)?;
    let current = bench.store.open(&held.project).map_err(|r| refusal(&r))?;
    let view = jobs::view(&current.state.art, &held.state.shop).map_err(|e| error_reply(&e))?;
    Ok(json_reply(200, &json!({ "view": view })))
}

/// The face mended as the state wishes, whether or not mending is on.
fn mend(bench: &Bench, request: &Request) -> Result<Reply, Reply> {
    let held: Held = ask(request)?;
    let current = bench.store.open(&held.project).map_err(|r| refusal(&r))?;
    let mended = jobs::mend(&held.state.with(&current.state.art)).map_err(|e| error_reply(&e))?;
    Ok(json_reply(200, &mended))
}

fn change(bench: &Bench, request: &Request) -> Result<Reply, Reply> {
    let Held { project, state, revision, force } = ask(request)?;
    let current = bench.store.open(&project).map_err(|r| refusal(&r))?;
    let state = state.with(&current.state.art);
    // Mends that make no sense would be saved, and no command would read them.
    state.mend.wishes(Affine::IDENTITY).map_err(|e| error_reply(&e))?;
    let view = jobs::view(&state.art, &state.shop).map_err(|e| error_reply(&e))?;
    let saved = bench.store.change(&project, revision, Change::To(Box::new(state)), force).map_err(|r| refusal(&r))?;
    Ok(json_reply(200, &snapshot(&saved, view)))
}

/// The shop in another unit, every length of its size.
fn turn(request: &Request) -> Result<Reply, Reply> {
    let Turned { mut shop, units } = ask(request)?;
    shop.turn_to(units);
    Ok(json_reply(200, &json!({ "shop": shop })))
}

fn walk(bench: &Bench, request: &Request, way: Change) -> Result<Reply, Reply> {
    let step: Step = ask(request)?;
    told(bench.store.change(&step.project, step.revision, way, false))
}

fn pages(bench: &Bench, request: &Request) -> Result<Reply, Reply> {
    let held: Held = ask(request)?;
    let current = bench.store.open(&held.project).map_err(|r| refusal(&r))?;
    let sheets = jobs::pages(&held.project, &held.state.with(&current.state.art)).map_err(|e| error_reply(&e))?;
    Ok(json_reply(200, &json!({ "sheets": sheets })))
}

fn file(bench: &Bench, request: &Request) -> Result<Reply, Reply> {
    let wanted: Wanted = ask(request)?;
    let current = bench.store.open(&wanted.project).map_err(|r| refusal(&r))?;
    let made = jobs::file(&wanted.kind, &current.name, &current.state).map_err(|e| error_reply(&e))?;
    let made = made.ok_or_else(|| Reply::text(404, "there is no such file"))?;
    Ok(Reply::new(200, made.kind, made.bytes).with("X-File-Name", encoded(&made.name)))
}

#[derive(Deserialize)]
struct Numbered {
    face: usize,
}

fn drawer(bench: &Bench) -> Reply {
    let faces = bench.drawer.entries().iter().map(|e| json!({ "name": e.name, "folder": e.folder }));
    json_reply(200, &json!({ "faces": faces.collect::<Vec<_>>() }))
}

/// A face of the drawer, judged in this shop: its outlines and the verdict, or
/// why it cannot be read.
fn thumb(bench: &Bench, request: &Request) -> Result<Reply, Reply> {
    let Numbered { face } = ask(request)?;
    let judged = bench.drawer.read(face).and_then(|art| jobs::thumb(&art, &bench.shop));
    Ok(json_reply(200, &judged.unwrap_or_else(|e| json!({ "error": error_value(&e) }))))
}

fn take(bench: &Bench, request: &Request) -> Result<Reply, Reply> {
    let Numbered { face } = ask(request)?;
    let art = bench.drawer.read(face).map_err(|e| error_reply(&e))?;
    readable(&art, &bench.shop)?;
    told(bench.store.adopt(art, bench.shop.clone(), false))
}

/// A snapshot with its view; a state that cannot be checked still opens, with
/// the reason in place of the view.
fn told(result: Result<Snapshot, Refusal>) -> Result<Reply, Reply> {
    let found = result.map_err(|r| refusal(&r))?;
    let view = jobs::view(&found.state.art, &found.state.shop).unwrap_or_else(|e| json!({ "error": error_value(&e) }));
    Ok(json_reply(200, &snapshot(&found, view)))
}

fn snapshot(found: &Snapshot, view: Value) -> Value {
    json!({
        "project": found.name,
        "revision": found.revision,
        "art": { "name": found.state.art.name },
        "state": { "shop": found.state.shop, "mend": found.state.mend },
        "undo": found.undo,
        "redo": found.redo,
        "view": view,
    })
}

fn refusal(refusal: &Refusal) -> Reply {
    match refusal {
        Refusal::Unknown => Reply::text(404, "there is no project of that name here"),
        Refusal::Tab => json_reply(409, &json!({ "conflict": "tab" })),
        Refusal::File => json_reply(409, &json!({ "conflict": "file" })),
        Refusal::Failed(error) => error_reply(error),
    }
}

fn error_reply(error: &Error) -> Reply {
    let status = if matches!(error, Error::Internal { .. }) { 500 } else { 422 };
    json_reply(status, &json!({ "error": error_value(error) }))
}

/// What is wrong, what to do, and the setting's key when one is at fault.
fn error_value(error: &Error) -> Value {
    let key = match error {
        Error::Setting { place, .. } => place.element.clone(),
        _ => None,
    };
    let what = match (error, &key) {
        (Error::Setting { what, .. }, Some(_)) => what.clone(),
        _ => error.to_string(),
    };
    json!({ "what": what, "advice": error.advice(), "key": key })
}

/// A JSON answer.
#[must_use]
pub fn json_reply(status: u16, value: &Value) -> Reply {
    Reply::new(status, JSON, value.to_string().into_bytes())
}

/// A parameter of the query, percent-decoded; empty when missing or not UTF-8.
fn parameter(request: &Request, name: &str) -> String {
    let mut pairs = request.head.query.split('&').filter_map(|pair| pair.split_once('='));
    let value = pairs.find(|(key, _)| *key == name).map_or("", |(_, value)| value);
    decoded(value).unwrap_or_default()
}

fn decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((&first, after)) = rest.split_first() {
        if first == b'%' {
            let digit = |at: usize| after.get(at).and_then(|&b| char::from(b).to_digit(16));
            bytes.push((digit(0)? * 16 + digit(1)?) as u8);
            rest = &after[2..];
        } else {
            bytes.push(first);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}

/// A file name as a header can carry it.
fn encoded(name: &str) -> String {
    let plain = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_' | b'.');
    name.bytes().map(|b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_travel_in_queries_and_headers() {
        for name in ["owl.svg", "Grüner Fuchs (2).svg", "a%b&c=d.svg"] {
            assert_eq!(decoded(&encoded(name)).as_deref(), Some(name), "there and back");
        }
        for bad in ["%", "%4", "%zz", "%ff", "%+1"] {
            assert_eq!(decoded(bad), None, "{bad}");
        }
    }
}
