//! A small HTTP/1.1 server over plain threads, strict about what it reads.
//!
//! One thread reads one connection; the work itself is done elsewhere
//! ([`super::pool`]), so these threads are many, small and mostly asleep. A
//! request has a fixed time to arrive and a fixed size; whatever is not plain
//! HTTP/1.1 with a `Content-Length` is refused.

use std::borrow::Cow;
use std::io::{self, Read as _, Write as _};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

/// Caps on what a connection may ask for.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Connections served at once; one more is turned away.
    pub connections: usize,
    /// Bytes of request line and headers.
    pub head: usize,
    /// How long one request may take to arrive, head and body.
    pub arrival: Duration,
    /// How long a connection may lie idle between requests.
    pub idle: Duration,
    /// How long the other side may take to accept a block of the reply.
    pub accept: Duration,
}

impl Default for Limits {
    /// Room for a few dozen tabs (a browser opens up to six connections each).
    fn default() -> Self {
        Self {
            connections: 512,
            head: 16 * 1024,
            arrival: Duration::from_secs(10),
            idle: Duration::from_secs(60),
            accept: Duration::from_secs(10),
        }
    }
}

/// Stack of a connection's thread: reading and writing need little.
const STACK: usize = 256 * 1024;
/// Headers one request may carry; browsers send about 15.
const HEADERS: usize = 64;

/// What stands before a request's body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// `GET`, `POST` …
    pub method: String,
    /// The path as sent, without the query.
    pub path: String,
    /// What follows the `?`, as sent.
    pub query: String,
    /// Header names in lower case, with their values.
    pub headers: Vec<(String, String)>,
}

impl Head {
    /// The value of a header; `None` when it is missing or given twice.
    #[must_use]
    pub fn one(&self, name: &str) -> Option<&str> {
        let mut found = self.headers.iter().filter(|(n, _)| n == name);
        let first = found.next()?;
        found.next().is_none().then_some(first.1.as_str())
    }

    /// Whether a header was sent at all.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.headers.iter().any(|(n, _)| n == name)
    }
}

/// A request, read whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Request {
    /// Its head.
    pub head: Head,
    /// Its body.
    pub body: Vec<u8>,
}

/// What is sent back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reply {
    /// Status code.
    pub status: u16,
    /// Media type.
    pub kind: &'static str,
    /// Further headers.
    pub headers: Vec<(&'static str, String)>,
    /// The body.
    pub body: Cow<'static, [u8]>,
}

impl Reply {
    /// A reply with a body.
    #[must_use]
    pub fn new(status: u16, kind: &'static str, body: impl Into<Cow<'static, [u8]>>) -> Self {
        Self { status, kind, headers: Vec::new(), body: body.into() }
    }

    /// A short plain text.
    #[must_use]
    pub fn text(status: u16, text: &str) -> Self {
        Self::new(status, "text/plain; charset=utf-8", text.as_bytes().to_vec())
    }

    /// The same reply with one more header.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.headers.push((name, value.into()));
        self
    }
}

/// What the server asks about each request.
pub trait Service: Send + Sync + 'static {
    /// Judges a request by its head alone: how many bytes of body it may have,
    /// or the reply that turns it away before any body is read.
    ///
    /// # Errors
    /// The reply that turns it away.
    fn admit(&self, head: &Head) -> Result<usize, Reply>;

    /// Answers an admitted request.
    fn answer(&self, request: Request) -> Reply;

    /// Headers of every reply, refusals too.
    fn always(&self) -> &'static [(&'static str, &'static str)];
}

/// Serves connections until `stop` is set (and one more connection is made).
pub fn serve(listener: &TcpListener, service: &Arc<impl Service>, limits: Limits, stop: &AtomicBool) {
    let open = Arc::new(AtomicUsize::new(0));
    for stream in listener.incoming() {
        if stop.load(Ordering::Relaxed) {
            return;
        }
        let Ok(stream) = stream else {
            // Out of file handles or the like: give the system a moment.
            thread::sleep(Duration::from_millis(10));
            continue;
        };
        if !stream.peer_addr().is_ok_and(|peer: SocketAddr| peer.ip().is_loopback()) {
            continue;
        }
        accept(stream, service, limits, &open);
    }
}

fn accept(stream: TcpStream, service: &Arc<impl Service>, limits: Limits, open: &Arc<AtomicUsize>) {
    if open.fetch_add(1, Ordering::Relaxed) >= limits.connections {
        open.fetch_sub(1, Ordering::Relaxed);
        return;
    }
    let (service, counted) = (Arc::clone(service), Arc::clone(open));
    let run = move || {
        let mut connection = Connection { stream, limits, kept: Vec::new() };
        // An Err is the other side gone or too slow: nobody is left to tell.
        drop(connection.run(&*service));
        counted.fetch_sub(1, Ordering::Relaxed);
    };
    if thread::Builder::new().name("connection".into()).stack_size(STACK).spawn(run).is_err() {
        open.fetch_sub(1, Ordering::Relaxed);
    }
}

struct Connection {
    stream: TcpStream,
    limits: Limits,
    /// Bytes read but not yet used.
    kept: Vec<u8>,
}

impl Connection {
    fn run(&mut self, service: &impl Service) -> io::Result<()> {
        self.stream.set_nodelay(true)?;
        self.stream.set_write_timeout(Some(self.limits.accept))?;
        loop {
            let (head, deadline) = match self.head()? {
                Ok(read) => read,
                Err(refusal) => return self.refuse(&refusal, service),
            };
            let length = match length(&head).and_then(|length| Ok((length, service.admit(&head)?))) {
                Ok((length, most)) if length <= most => length,
                Ok(_) => return self.refuse(&Reply::text(413, "this is larger than allowed here"), service),
                Err(refusal) => return self.refuse(&refusal, service),
            };
            if head.one("expect").is_some_and(|e| e.eq_ignore_ascii_case("100-continue")) {
                self.stream.write_all(b"HTTP/1.1 100 Continue\r\n\r\n")?;
            }
            let body = self.body(length, deadline)?;
            let last = head.one("connection").is_some_and(|c| c.eq_ignore_ascii_case("close"));
            let bare = head.method == "HEAD";
            let reply = service.answer(Request { head, body });
            self.send(&reply, service, !last, bare)?;
            if last {
                return Ok(());
            }
        }
    }

    /// Reads until the blank line; also says when the whole request must be in.
    fn head(&mut self) -> io::Result<Result<(Head, Instant), Reply>> {
        let mut deadline = Instant::now() + self.limits.idle;
        let mut started = false;
        loop {
            let end = self.kept.windows(4).position(|w| w == b"\r\n\r\n").map(|at| at + 4);
            if let Some(end) = end.filter(|&end| end <= self.limits.head) {
                let head: Vec<u8> = self.kept.drain(..end).collect();
                return Ok(parse(&head).map(|head| (head, deadline)));
            }
            if end.is_some() || self.kept.len() > self.limits.head {
                return Ok(Err(Reply::text(431, "the request's headers are too long")));
            }
            if !started && !self.kept.is_empty() {
                started = true;
                deadline = Instant::now() + self.limits.arrival;
            }
            self.more(deadline)?;
        }
    }

    fn body(&mut self, length: usize, deadline: Instant) -> io::Result<Vec<u8>> {
        while self.kept.len() < length {
            self.more(deadline)?;
        }
        Ok(self.kept.drain(..length).collect())
    }

    /// Reads some more bytes, up to `deadline`.
    fn more(&mut self, deadline: Instant) -> io::Result<()> {
        let left = deadline.saturating_duration_since(Instant::now());
        if left.is_zero() {
            return Err(io::ErrorKind::TimedOut.into());
        }
        self.stream.set_read_timeout(Some(left))?;
        let mut block = [0; 16 * 1024];
        match self.stream.read(&mut block)? {
            0 => Err(io::ErrorKind::UnexpectedEof.into()),
            n => {
                self.kept.extend_from_slice(&block[..n]);
                Ok(())
            }
        }
    }

    fn refuse(&mut self, reply: &Reply, service: &impl Service) -> io::Result<()> {
        self.send(reply, service, false, false)
    }

    fn send(&mut self, reply: &Reply, service: &impl Service, keep: bool, bare: bool) -> io::Result<()> {
        use std::fmt::Write as _;
        let mut head = format!("HTTP/1.1 {} {}\r\n", reply.status, reason(reply.status));
        let further = reply.headers.iter().map(|(name, value)| (*name, value.as_str()));
        for (name, value) in service.always().iter().copied().chain(further) {
            // Writing to a String cannot fail.
            _ = write!(head, "{name}: {value}\r\n");
        }
        let keep = if keep { "keep-alive" } else { "close" };
        _ = write!(head, "Content-Type: {}\r\nContent-Length: {}\r\n", reply.kind, reply.body.len());
        _ = write!(head, "Connection: {keep}\r\n\r\n");
        let mut bytes = head.into_bytes();
        if !bare {
            bytes.extend_from_slice(&reply.body);
        }
        self.stream.write_all(&bytes)
    }
}

/// Reads a request's head.
fn parse(bytes: &[u8]) -> Result<Head, Reply> {
    let bad = || Reply::text(400, "this is not a request the bench understands");
    let mut headers = [httparse::EMPTY_HEADER; HEADERS];
    let mut request = httparse::Request::new(&mut headers);
    if !request.parse(bytes).is_ok_and(|parsed| parsed.is_complete()) || request.version != Some(1) {
        return Err(bad());
    }
    let target = request.path.ok_or_else(bad)?;
    let (path, query) = target.split_once('?').unwrap_or((target, ""));
    if !path.starts_with('/') {
        return Err(bad());
    }
    let text = |value: &[u8]| String::from_utf8(value.to_vec()).map_err(|_| bad());
    let headers = request.headers.iter().map(|h| Ok((h.name.to_ascii_lowercase(), text(h.value)?)));
    Ok(Head {
        method: request.method.ok_or_else(bad)?.to_owned(),
        path: path.to_owned(),
        query: query.to_owned(),
        headers: headers.collect::<Result<_, Reply>>()?,
    })
}

/// The length of the body a head announces.
fn length(head: &Head) -> Result<usize, Reply> {
    if head.has("transfer-encoding") {
        return Err(Reply::text(411, "send the length of the body"));
    }
    if !head.has("content-length") {
        return Ok(0);
    }
    let digits = head.one("content-length").filter(|text| text.bytes().all(|b| b.is_ascii_digit()));
    digits.and_then(|text| text.parse().ok()).ok_or_else(|| Reply::text(400, "the length of the body is no number"))
}

const fn reason(status: u16) -> &'static str {
    match status {
        200 => "OK",
        204 => "No Content",
        400 => "Bad Request",
        401 => "Unauthorized",
        403 => "Forbidden",
        404 => "Not Found",
        405 => "Method Not Allowed",
        409 => "Conflict",
        411 => "Length Required",
        413 => "Content Too Large",
        422 => "Unprocessable Content",
        431 => "Request Header Fields Too Large",
        500 => "Internal Server Error",
        503 => "Service Unavailable",
        _ => "Status",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn status(text: &str) -> Result<Head, u16> {
        parse(text.as_bytes()).map_err(|reply| reply.status)
    }

    #[test]
    fn a_head_is_taken_apart() {
        let head = status("GET /api/start?a=b&c HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Two: 1\r\nx-two: 2\r\n\r\n").unwrap();
        assert_eq!((head.path.as_str(), head.query.as_str()), ("/api/start", "a=b&c"), "target");
        assert_eq!(head.one("host"), Some("127.0.0.1"), "header");
        assert_eq!(head.one("x-two"), None, "a header given twice has no one value");
    }

    #[test]
    fn what_is_no_plain_request_is_refused() {
        for text in [
            "GET / HTTP/1.0\r\nHost: a\r\n\r\n",
            "GET http://elsewhere/ HTTP/1.1\r\nHost: a\r\n\r\n",
            "GET  HTTP/1.1\r\n\r\n",
            "\0\0\0\0\r\n\r\n",
            "GET / HTTP/1.1\r\nBad Header\r\n\r\n",
        ] {
            assert_eq!(status(text), Err(400), "{text:?}");
        }
    }

    #[test]
    fn the_length_must_be_one_plain_number() {
        let head = |extra: &str| status(&format!("POST / HTTP/1.1\r\n{extra}\r\n\r\n")).unwrap();
        assert_eq!(length(&head("Content-Length: 12")), Ok(12), "plain");
        assert_eq!(length(&head("Host: a")), Ok(0), "none");
        for bad in ["Content-Length: -1", "Content-Length: 1\r\nContent-Length: 2", "Content-Length: 1e9"] {
            assert_eq!(length(&head(bad)).unwrap_err().status, 400, "{bad}");
        }
        assert_eq!(length(&head("Transfer-Encoding: chunked")).unwrap_err().status, 411, "no chunks");
    }
}
