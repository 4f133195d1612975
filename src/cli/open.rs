//! `open`: the bench page in the browser.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

use super::Exit;
use super::console::{Console, Halt};
use super::flags::{FaceFlags, PrintFlags};
use crate::diag::Error;
use crate::edge;
use crate::project;
use crate::settings::Shop;
use crate::web::Server;
use crate::web::api::Bench;
use crate::web::drawer::Drawer;
use crate::web::store::{Art, Refusal, Store};

/// How long the browser may take to read the page that sends it on.
const HANDED_OVER: Duration = Duration::from_secs(30);

/// Options of `open`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct Args {
    /// Drawing to lay on the board, or a project (NAME.fretgrin.toml)
    #[arg(value_name = "ART")]
    art: Option<String>,
    /// Folder projects are kept in [default: the current one, or the project's]
    #[arg(long, value_name = "FOLDER")]
    projects: Option<PathBuf>,
    /// Folder of faces to show in the drawer; may be given several times
    /// [default: the folder ART lies in, or the current one]
    #[arg(long, value_name = "FOLDER")]
    drawer: Vec<PathBuf>,
    /// Port to listen on, on this machine only; 0 takes a free one
    #[arg(long, value_name = "PORT", default_value_t = 0)]
    port: u16,
    /// Print the address only; do not start a browser
    #[arg(long)]
    no_browser: bool,
    #[command(flatten)]
    face: FaceFlags,
    #[command(flatten)]
    print: PrintFlags,
}

/// Runs `open`; it ends when the program is stopped.
pub(super) fn run(args: &Args, console: &mut Console) -> Result<Exit, Halt> {
    let shop = args.face.shop.load(&[&args.face, &args.print])?.settings.stated;
    let (folder, named) = places(args);
    let drawer = Drawer::new(&drawers(args))?;
    let store = Store::new(folder);
    let first = match (named, &args.art) {
        (Some(project), _) => Some(store.open(&project).map_err(told)?.name),
        (None, Some(art)) => Some(take(&store, art, shop.clone())?),
        (None, None) => None,
    };
    let kept = store.folder().display().to_string();
    let server = Server::start(Bench { store, shop, first, drawer }, args.port)?;
    console.print(&format!(
        "The bench is open at\n  {}\nProjects are kept in {kept}. Stop it with Ctrl-C; everything is saved.\n",
        server.url()
    ))?;
    if !args.no_browser && !browse(&server) {
        console.remark("No browser could be started: open the address yourself.\n");
    }
    server.wait();
    Ok(Exit::Clean)
}

/// The folder of projects, and the project when one was named.
fn places(args: &Args) -> (PathBuf, Option<String>) {
    let path = args.art.as_deref().map(Path::new);
    let file = path.and_then(Path::file_name).and_then(|name| name.to_str()).filter(|name| project::is_project(name));
    let named = file.and_then(|name| name.strip_suffix(project::ENDING)).map(str::to_owned);
    let own = path.filter(|_| named.is_some()).and_then(Path::parent).filter(|p| !p.as_os_str().is_empty());
    let chosen = args.projects.as_deref().filter(|_| named.is_none()).or(own);
    (chosen.unwrap_or(Path::new(".")).to_owned(), named)
}

/// The folders of the drawer: those named, or the one the maker works in.
fn drawers(args: &Args) -> Vec<PathBuf> {
    if !args.drawer.is_empty() {
        return args.drawer.clone();
    }
    let beside = args.art.as_deref().map(Path::new).and_then(Path::parent).filter(|p| !p.as_os_str().is_empty());
    vec![beside.unwrap_or(Path::new(".")).to_owned()]
}

fn take(store: &Store, path: &str, shop: Shop) -> Result<Snapshot, Halt> {
    let edge::Art { name, bytes } = edge::read_art(path)?;
    project::takes(&name, bytes.len())?;
    let name = Path::new(&name).file_name().map_or_else(|| name.clone(), |file| file.to_string_lossy().into_owned());
    let art = Art { name, bytes, from: Some(path.to_owned()) };
    crate::web::jobs::view(&art, &shop)?;
    Ok(store.adopt(art, shop, true).map_err(told)?.name)
}

fn told(refusal: Refusal) -> Error {
    match refusal {
        Refusal::Failed(error) => error,
        Refusal::Unknown => Error::file("project", "there is no such project", "check the spelling of its name"),
        Refusal::Tab | Refusal::File => {
            Error::file("project", "another program changed it just now", "run the command again")
        }
    }
}

/// Starts the browser. The address holds the key, and other users of a machine
/// can read what programs are started with; so the browser is given a page of
/// our own that only this user can read and that sends it on.
fn browse(server: &Server) -> bool {
    let Some(page) = hand_over(server) else { return false };
    let path = page.as_os_str();
    let mut command = if cfg!(target_os = "macos") {
        Command::new("open")
    } else if cfg!(windows) {
        Command::new("explorer")
    } else {
        Command::new("xdg-open")
    };
    command.arg(path).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let started = command.spawn();
    let open = started.is_ok();
    thread::spawn(move || {
        if let Ok(mut child) = started {
            // Its answer says nothing about the browser; this only clears it away.
            drop(child.wait());
        }
        thread::sleep(HANDED_OVER);
        // Gone already or kept by the system: either way nothing is left to do.
        drop(fs::remove_file(page));
    });
    open
}

fn hand_over(server: &Server) -> Option<PathBuf> {
    let path = std::env::temp_dir().join(format!("fretgrin-{}-{}.html", std::process::id(), server.address().port()));
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&path).ok()?;
    let url = server.url();
    write!(file, "<!doctype html><title>fretgrin</title><meta http-equiv=\"refresh\" content=\"0; url={url}\">")
        .ok()?;
    Some(path)
}
