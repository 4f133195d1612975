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
use super::load::Loaded;
use crate::diag::{Error, Place};
use crate::edge;
use crate::project;
use crate::settings::Shop;
use crate::web::Server;
use crate::web::api::Bench;
use crate::web::drawer::Drawer;
use crate::web::store::{Art, Refusal, Snapshot, Store};

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
    let loaded = args.face.shop.load(&[&args.face, &args.print])?;
    let shop = &loaded.settings.stated;
    let (folder, named) = places(args)?;
    let drawer = Drawer::new(&drawers(args))?;
    let store = Store::new(folder);
    let known = store.names();
    let first = match (named, &args.art) {
        (Some(project), art) => Some(store.open(&project).map_err(|refusal| told(refusal, art.as_deref()))?),
        (None, Some(art)) => Some(take(&store, art, shop.clone())?),
        (None, None) => None,
    };
    if let Some(found) = first.as_ref().filter(|found| known.contains(&found.name)) {
        console.remark(&unheard(args, &loaded, found)?);
    }
    let first = first.map(|found| found.name);
    let kept = store.folder().display().to_string();
    let server = Server::start(Bench { store, shop: shop.clone(), first, drawer }, args.port)?;
    console.print(&format!(
        "The bench is open at\n  {}\nProjects are kept in {kept}\nStop it with Ctrl-C; everything is saved.\n",
        server.url()
    ))?;
    if !args.no_browser && !browse(&server) {
        console.remark("No browser could be started: open the address yourself.\n");
    }
    server.wait();
    Ok(Exit::Clean)
}

/// What to say where options ask for other settings than a project has, which
/// was there before; nothing where they agree with it.
fn unheard(args: &Args, loaded: &Loaded, found: &Snapshot) -> Result<String, Error> {
    let (own, shop) = (&found.state.shop, &args.face.shop);
    let asked = match &shop.shop {
        Some(_) => loaded.settings.stated.clone(),
        None => shop.over(own, &[&args.face, &args.print])?,
    };
    if asked == *own {
        return Ok(String::new());
    }
    let file = shop.shop.as_ref().map(|_| "--shop");
    let art = [(&args.face.art.drop, "--drop"), (&args.face.art.keep, "--keep")];
    let listed = art.into_iter().filter(|(ids, _)| !ids.is_empty()).map(|(_, flag)| flag);
    let given: Vec<&str> = file.into_iter().chain(loaded.origins.flags()).chain(listed).collect();
    Ok(format!(
        "{}{} was there already and keeps its own settings; {} only for new projects of this run.\n\
         Change the project on the page, where it can be undone.\n",
        found.name,
        project::ENDING,
        if given.len() == 1 { format!("{} counts", given[0]) } else { format!("{} count", given.join(", ")) },
    ))
}

/// The folder of projects, and the project when one was named.
fn places(args: &Args) -> Result<(PathBuf, Option<String>), Error> {
    let path = args.art.as_deref().map(Path::new);
    let file = path.and_then(Path::file_name).and_then(|name| name.to_str()).filter(|name| project::is_project(name));
    let Some(named) = file.and_then(|name| name.strip_suffix(project::ENDING)) else {
        return Ok((args.projects.clone().unwrap_or_else(here), None));
    };
    let own = path.and_then(Path::parent).filter(|p| !p.as_os_str().is_empty()).map_or_else(here, Path::to_owned);
    let real = |folder: &Path| fs::canonicalize(folder).ok();
    if args.projects.as_deref().is_some_and(|asked| real(asked) != real(&own)) {
        let what = format!("--projects: a project is kept where it stands, in {}", edge::shown(&own));
        let advice = "leave --projects out, or move the project's file into that folder and open it there";
        return Err(Error::setting(Place::default(), what, advice));
    }
    Ok((own, Some(named.to_owned())))
}

fn here() -> PathBuf {
    PathBuf::from(".")
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
    Ok(store.adopt(art, shop, true).map_err(|refusal| told(refusal, None))?)
}

fn told(refusal: Refusal, path: Option<&str>) -> Error {
    let path = path.map_or_else(|| "project".to_owned(), |path| edge::shown(Path::new(path)));
    match refusal {
        Refusal::Failed(error) => error,
        Refusal::Unknown => Error::file(path, "there is no such project", "check the spelling of its name"),
        Refusal::Tab | Refusal::File => {
            Error::file(path, "another program changed it just now", "run the command again")
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
