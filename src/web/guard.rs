//! Who may ask: only the page this program served, on this machine.
//!
//! Any page in the browser can send requests to a port of this machine, and any
//! name can be made to point at it. So a request must name our own address as
//! its host (which a page under a foreign name cannot), come from our own
//! origin, and carry the key that only the address printed at the start holds.
//! The key travels in a header of its own, which a foreign page cannot set
//! without asking first, and is never a cookie, which every port would share.

use super::http::{Head, Reply};

/// Name of the header that carries the key.
pub const KEY_HEADER: &str = "x-bench-key";

/// Headers of every reply. The policy lets the page load its own files, show
/// pictures it made itself and talk to its own server, and nothing else; no
/// text can become markup or script.
pub const ALWAYS: &[(&str, &str)] = &[
    (
        "Content-Security-Policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; \
         base-uri 'none'; form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; \
         trusted-types 'none'",
    ),
    ("X-Content-Type-Options", "nosniff"),
    ("X-Frame-Options", "DENY"),
    ("Referrer-Policy", "no-referrer"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Permissions-Policy", "camera=(), microphone=(), geolocation=(), usb=()"),
    ("Cache-Control", "no-store"),
];

/// The rules of one run of the server.
#[derive(Clone, PartialEq, Eq)]
pub struct Guard {
    port: u16,
    key: String,
}

impl std::fmt::Debug for Guard {
    /// Without the key.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Guard").field("port", &self.port).finish_non_exhaustive()
    }
}

impl Guard {
    /// Rules for a server on `port` whose page holds `key`.
    #[must_use]
    pub const fn new(port: u16, key: String) -> Self {
        Self { port, key }
    }

    /// Judges where a request comes from.
    ///
    /// # Errors
    /// The reply that turns it away.
    pub fn address(&self, head: &Head) -> Result<(), Reply> {
        let ours = |host: &str| self.is_ours(host);
        if !head.one("host").is_some_and(ours) {
            return Err(Reply::text(403, "this bench answers at its own address only"));
        }
        let reads = matches!(head.method.as_str(), "GET" | "HEAD");
        let origin = match head.one("origin") {
            Some(origin) => origin.strip_prefix("http://").is_some_and(ours),
            None => reads && !head.has("origin"),
        };
        // A link elsewhere may lead here: the page that opens holds no key of its own.
        let followed = reads && head.one("sec-fetch-mode") == Some("navigate") && head.path == "/";
        let site = match head.one("sec-fetch-site") {
            Some(site) => followed || matches!(site, "same-origin" | "none"),
            None => !head.has("sec-fetch-site"),
        };
        if origin && site { Ok(()) } else { Err(Reply::text(403, "this bench answers its own page only")) }
    }

    /// Whether `host` is this server's name and port. Browsers leave out the port of
    /// plain http, 80 (RFC 9110, 4.2.1).
    fn is_ours(&self, host: &str) -> bool {
        let rest = ["127.0.0.1", "localhost"].iter().find_map(|name| host.strip_prefix(name));
        rest.is_some_and(|port| port == format!(":{}", self.port) || (port.is_empty() && self.port == 80))
    }

    /// Judges whether a request holds the key.
    ///
    /// # Errors
    /// The reply that turns it away.
    pub fn key(&self, head: &Head) -> Result<(), Reply> {
        match head.one(KEY_HEADER) {
            Some(key) if same(key.as_bytes(), self.key.as_bytes()) => Ok(()),
            _ => Err(Reply::text(401, "open the address that fretgrin printed when it started")),
        }
    }
}

/// Compares without stopping at the first difference.
fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0, |all, (a, b)| all | (a ^ b)) == 0
}

/// A fresh key: 32 bytes of the system's randomness, in hexadecimal. `None`
/// when the system has none to give.
#[must_use]
pub fn fresh_key() -> Option<String> {
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes).ok()?;
    Some(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn head(method: &str, headers: &[(&str, &str)]) -> Head {
        Head {
            method: method.to_owned(),
            path: "/".to_owned(),
            query: String::new(),
            headers: headers.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect(),
        }
    }

    fn guard() -> Guard {
        Guard::new(4000, "secret".to_owned())
    }

    #[test]
    fn our_own_page_may_ask() {
        for headers in [
            &[("host", "127.0.0.1:4000"), ("sec-fetch-site", "cross-site"), ("sec-fetch-mode", "navigate")][..],
            &[("host", "127.0.0.1:4000")],
            &[("host", "localhost:4000"), ("origin", "http://localhost:4000"), ("sec-fetch-site", "same-origin")],
            &[("host", "127.0.0.1:4000"), ("sec-fetch-site", "none")],
        ] {
            assert_eq!(guard().address(&head("GET", headers)), Ok(()), "{headers:?}");
        }
        let posting = [("host", "127.0.0.1:4000"), ("origin", "http://127.0.0.1:4000")];
        assert_eq!(guard().address(&head("POST", &posting)), Ok(()), "posting");
    }

    #[test]
    fn foreign_names_pages_and_ports_may_not() {
        for headers in [
            &[][..],
            &[("host", "rebound.example:4000")],
            &[("host", "127.0.0.1:4001")],
            &[("host", "127.0.0.1")],
            &[("host", "127.0.0.1:4000"), ("host", "127.0.0.1:4000")],
            &[("host", "127.0.0.1:4000"), ("origin", "http://elsewhere.example")],
            &[("host", "127.0.0.1:4000"), ("origin", "null")],
            &[("host", "127.0.0.1:4000"), ("origin", "https://127.0.0.1:4000")],
            &[("host", "127.0.0.1:4000"), ("origin", "http://127.0.0.1:4001")],
            &[("host", "127.0.0.1:4000"), ("sec-fetch-site", "cross-site")],
            &[("host", "127.0.0.1:4000"), ("sec-fetch-site", "same-site")],
        ] {
            let got = guard().address(&head("GET", headers)).map_err(|reply| reply.status);
            assert_eq!(got, Err(403), "{headers:?}");
        }
        let without = head("POST", &[("host", "127.0.0.1:4000")]);
        assert_eq!(guard().address(&without).map_err(|reply| reply.status), Err(403), "a change must name its origin");
    }

    #[test]
    fn the_port_of_plain_http_may_be_left_out() {
        let plain = Guard::new(80, "secret".to_owned());
        for (host, origin) in [("127.0.0.1", "http://127.0.0.1"), ("localhost:80", "http://localhost")] {
            let head = head("POST", &[("host", host), ("origin", origin)]);
            assert_eq!(plain.address(&head), Ok(()), "{host}");
        }
        for host in ["127.0.0.1:", "127.0.0.1:8080", "127.0.0.1.example", "rebound.example", ""] {
            assert!(plain.address(&head("GET", &[("host", host)])).is_err(), "{host}");
        }
    }

    #[test]
    fn the_key_must_match_whole() {
        assert_eq!(guard().key(&head("GET", &[(KEY_HEADER, "secret")])), Ok(()), "the key");
        for key in ["", "secre", "secrets", "Secret"] {
            assert!(guard().key(&head("GET", &[(KEY_HEADER, key)])).is_err(), "{key}");
        }
        assert!(guard().key(&head("GET", &[])).is_err(), "none");
        let twice = [(KEY_HEADER, "secret"), (KEY_HEADER, "secret")];
        assert!(guard().key(&head("GET", &twice)).is_err(), "twice");
    }

    #[test]
    fn keys_are_long_and_differ() {
        let (a, b) = (fresh_key().unwrap(), fresh_key().unwrap());
        assert!(a.len() == 64 && a != b, "{a} {b}");
    }

    #[test]
    fn a_guard_does_not_show_its_key() {
        assert!(!format!("{:?}", guard()).contains("secret"), "shown");
    }
}
