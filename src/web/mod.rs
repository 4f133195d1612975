//! The bench page: a face on its panel, to look at, change and print, in the
//! browser of this machine.
//!
//! ```text
//! connection (http) → guard → worker (pool) → question (api) → store, jobs
//!                      └ the page's own files (assets)            └ pipeline
//! ```
//!
//! The server listens on the loopback address only and answers its own page
//! only ([`guard`]). No path from the page reaches the file system: projects
//! have names, drawers have numbers.

pub mod api;
pub mod assets;
pub mod drawer;
pub mod guard;
pub mod http;
pub mod jobs;
pub mod mends;
pub mod pool;
pub mod store;
pub mod tables;
pub mod view;

use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, JoinHandle};

use crate::diag::Error;
use api::Bench;
use guard::Guard;
use http::{Head, Limits, Reply, Request, Service};
use pool::{Pool, Refused};

/// A running server. It stops when told to, or with the program.
#[derive(Debug)]
pub struct Server {
    address: SocketAddr,
    key: String,
    stop: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

impl Server {
    /// Starts serving `bench` on the loopback address; port 0 takes a free one.
    ///
    /// # Errors
    /// [`Error::File`] when the port is taken or the system refuses.
    pub fn start(bench: Bench, port: u16) -> Result<Self, Error> {
        Self::start_with(bench, port, Limits::default())
    }

    /// The same with other caps on connections.
    ///
    /// # Errors
    /// As [`Server::start`].
    pub fn start_with(bench: Bench, port: u16, limits: Limits) -> Result<Self, Error> {
        let refused = |e: io::Error| Error::file(format!("port {port}"), e.to_string(), "choose another port");
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(refused)?;
        let address = listener.local_addr().map_err(refused)?;
        let no_random = || Error::Internal { what: "the system gave no random numbers".to_owned() };
        let key = guard::fresh_key().ok_or_else(no_random)?;
        let workers = thread::available_parallelism().map_or(2, usize::from);
        let desk = Desk {
            guard: Guard::new(address.port(), key.clone()),
            pool: Pool::new(workers).map_err(refused)?,
            bench: Arc::new(bench),
        };
        let (stop, told) = (Arc::new(AtomicBool::new(false)), Arc::new(desk));
        let flag = Arc::clone(&stop);
        let run = move || http::serve(&listener, &told, limits, &flag);
        let thread = thread::Builder::new().name("bench server".into()).spawn(run).map_err(refused)?;
        Ok(Self { address, key, stop, thread })
    }

    /// The address to open in the browser, the key in its fragment: a browser
    /// sends that to nobody.
    #[must_use]
    pub fn url(&self) -> String {
        format!("http://{}/#key={}", self.address, self.key)
    }

    /// Where it listens.
    #[must_use]
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// The key of this run.
    #[must_use]
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Serves until the program ends.
    pub fn wait(self) {
        // A server thread that panicked has said so itself.
        drop(self.thread.join());
    }

    /// Stops serving.
    pub fn stop(self) {
        self.stop.store(true, Ordering::Relaxed);
        // One more connection wakes the server to see the flag.
        drop(TcpStream::connect(self.address));
        drop(self.thread.join());
    }
}

/// The service behind the connections.
struct Desk {
    guard: Guard,
    pool: Pool,
    bench: Arc<Bench>,
}

/// The question a path asks, when it asks one.
fn question(path: &str) -> Option<&str> {
    path.strip_prefix("/api/")
}

impl Service for Desk {
    fn admit(&self, head: &Head) -> Result<usize, Reply> {
        self.guard.address(head)?;
        let Some(action) = question(&head.path) else {
            return if matches!(head.method.as_str(), "GET" | "HEAD") {
                Ok(0)
            } else {
                Err(Reply::text(405, "this can only be read"))
            };
        };
        self.guard.key(head)?;
        if head.method != "POST" {
            return Err(Reply::text(405, "questions are posted"));
        }
        api::room(action).ok_or_else(|| Reply::text(404, "there is nothing here"))
    }

    fn answer(&self, request: Request) -> Reply {
        let Some(action) = question(&request.head.path).map(str::to_owned) else {
            return assets::file(&request.head.path);
        };
        let bench = Arc::clone(&self.bench);
        match self.pool.run(move || api::answer(&bench, &action, &request)) {
            Ok(reply) => reply,
            Err(Refused::Busy) => {
                Reply::text(503, "the bench is busy; it will be asked again").with("Retry-After", "1")
            }
            Err(Refused::Failed) => {
                let what = "fretgrin broke on this; nothing was changed";
                let advice = "undo the last step, and keep the drawing: it shows a fault in fretgrin";
                api::json_reply(500, &serde_json::json!({ "error": { "what": what, "advice": advice } }))
            }
        }
    }

    fn always(&self) -> &'static [(&'static str, &'static str)] {
        guard::ALWAYS
    }
}
