//! As much of HTTP/1.1 as a page on this machine needs: GET, one answer a connection.
//!
//! # Source
//! RFC 9110 (semantics), RFC 9112 (messages); Fetch Metadata Request Headers (W3C) for `Sec-Fetch-Site`.

use std::{
    io::{self, Read, Write},
    time::{Duration, Instant},
};

/// Longest request that is read (bytes).
const LONGEST: usize = 8 * 1024;
/// A browser sends a request at once; who takes longer is hung up on.
pub const PATIENCE: Duration = Duration::from_secs(5);
/// Most headers of a request.
const HEADERS: usize = 64;

/// Headers of every answer. Whatever a value in the file says, the page may fetch from here alone and nobody may frame it.
const HEAD: &str = "Connection: close\r\nCache-Control: no-store\r\nX-Content-Type-Options: nosniff\r\nX-Frame-Options: DENY\r\nReferrer-Policy: no-referrer\r\nCross-Origin-Resource-Policy: same-origin\r\nCross-Origin-Opener-Policy: same-origin\r\nContent-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'\r\n";

/// An answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// Status code.
    pub status: u16,
    /// Media type.
    pub kind: &'static str,
    /// What is sent.
    pub body: Vec<u8>,
}

impl Answer {
    /// Something that was asked for.
    pub fn of(kind: &'static str, body: impl Into<Vec<u8>>) -> Answer {
        Answer {
            status: 200,
            kind,
            body: body.into(),
        }
    }

    /// A refusal and its reason in words.
    pub fn refused(status: u16, why: &str) -> Answer {
        Answer {
            status,
            kind: "text/plain; charset=utf-8",
            body: format!("{why}\n").into_bytes(),
        }
    }

    /// Sends it.
    pub fn send(&self, to: &mut impl Write) -> io::Result<()> {
        let reason = match self.status {
            200 => "OK",
            400 => "Bad Request",
            403 => "Forbidden",
            404 => "Not Found",
            405 => "Method Not Allowed",
            408 => "Request Timeout",
            431 => "Request Header Fields Too Large",
            503 => "Service Unavailable",
            _ => "Internal Server Error",
        };
        let allow = if self.status == 405 {
            "Allow: GET\r\n"
        } else {
            ""
        };
        write!(
            to,
            "HTTP/1.1 {} {reason}\r\nContent-Type: {}\r\nContent-Length: {}\r\n{allow}{HEAD}\r\n",
            self.status,
            self.kind,
            self.body.len()
        )?;
        to.write_all(&self.body)?;
        to.flush()
    }
}

/// Reads a request and gives its target, such as `/bore/3`; or what is to be answered instead.
pub fn target(from: &mut impl Read, port: u16) -> Result<String, Answer> {
    let began = Instant::now();
    let mut bytes = vec![];
    let mut more = [0; 2048];
    loop {
        if let Some(target) = parsed(&bytes, port)? {
            return Ok(target);
        }
        if bytes.len() > LONGEST {
            return Err(Answer::refused(431, "the request is too long"));
        }
        let read = from.read(&mut more);
        match read {
            Ok(0) => return Err(Answer::refused(400, "the request ends too early")),
            Ok(n) if began.elapsed() < PATIENCE => bytes.extend(&more[..n]),
            _ => return Err(Answer::refused(408, "the request took too long")),
        }
    }
}

/// None where the request is not yet whole.
fn parsed(bytes: &[u8], port: u16) -> Result<Option<String>, Answer> {
    let mut headers = [httparse::EMPTY_HEADER; HEADERS];
    let mut request = httparse::Request::new(&mut headers);
    match request.parse(bytes) {
        Ok(httparse::Status::Complete(_)) => {}
        Ok(httparse::Status::Partial) => return Ok(None),
        Err(e) => return Err(Answer::refused(400, &format!("no request is this: {e}"))),
    }
    let method = request.method.unwrap_or_default();
    let target = request.path.unwrap_or_default();
    let all = |name: &str| {
        let named = request.headers.iter();
        let named = named.filter(|h| h.name.eq_ignore_ascii_case(name));
        named.map(|h| h.value).collect::<Vec<_>>()
    };
    ours(&all("host"), port)?;
    local(
        &all("origin"),
        &all("sec-fetch-site"),
        &all("sec-fetch-mode"),
        port,
    )?;
    if method != "GET" {
        return Err(Answer::refused(405, "only GET is answered here"));
    }
    if !target.starts_with('/') {
        return Err(Answer::refused(400, "the target is no path"));
    }
    Ok(Some(target.to_string()))
}

/// A name of another host that leads here is another page's trick to read this one (DNS rebinding).
fn ours(host: &[&[u8]], port: u16) -> Result<(), Answer> {
    let named = |name: &str| format!("{name}:{port}").into_bytes();
    // A browser leaves the port out where it is that of the scheme.
    let bare = |name: &str| (port == 80).then(|| name.as_bytes().to_vec());
    let names = ["127.0.0.1", "localhost"];
    let known = names.map(named).into_iter();
    let mut known = known.chain(names.iter().filter_map(|n| bare(n)));
    match host {
        [one] if known.any(|k| k.eq_ignore_ascii_case(one)) => Ok(()),
        _ => Err(Answer::refused(
            403,
            "this is served to this machine alone, by its address",
        )),
    }
}

/// Another site's page may lead here by a link, and do nothing else.
fn local(origin: &[&[u8]], site: &[&[u8]], mode: &[&[u8]], port: u16) -> Result<(), Answer> {
    let own = |o: &[u8]| {
        let name = o.strip_prefix(b"http://").unwrap_or_default();
        ours(&[name], port).is_ok()
    };
    let elsewhere =
        matches!(site, [b"cross-site" | b"same-site"]) && !matches!(mode, [b"navigate"]);
    if elsewhere || !origin.iter().all(|o| own(o)) {
        return Err(Answer::refused(403, "another site's page asks for this"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(request: &str) -> Result<String, u16> {
        target(&mut request.as_bytes(), 8080).map_err(|a| a.status)
    }

    #[test]
    fn a_request_of_a_browser_on_this_machine_is_answered() {
        for host in ["127.0.0.1:8080", "localhost:8080", "LOCALHOST:8080"] {
            let request = format!("GET /bore/3 HTTP/1.1\r\nHost: {host}\r\n\r\n");
            assert_eq!(asked(&request), Ok("/bore/3".to_string()));
        }
    }

    #[test]
    fn a_foreign_host_is_refused_whatever_it_asks() {
        for hosts in [
            "Host: evil.example:8080\r\n",
            "Host: 127.0.0.1.evil.example:8080\r\n",
            "Host: 127.0.0.1:8081\r\n",
            "Host: 127.0.0.1\r\n",
            "Host: user@127.0.0.1:8080\r\n",
            "Host: 127.0.0.1:8080\r\nHost: evil.example\r\n",
            "",
        ] {
            assert_eq!(
                asked(&format!("GET / HTTP/1.1\r\n{hosts}\r\n")),
                Err(403),
                "{hosts}"
            );
        }
    }

    #[test]
    fn other_sites_pages_may_only_link_here() {
        let with = |more: &str| {
            asked(&format!(
                "GET / HTTP/1.1\r\nHost: localhost:8080\r\n{more}\r\n"
            ))
        };
        assert_eq!(
            with("Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\n"),
            Err(403)
        );
        assert_eq!(with("Sec-Fetch-Site: same-site\r\n"), Err(403));
        assert_eq!(with("Origin: http://evil.example\r\n"), Err(403));
        assert_eq!(with("Origin: null\r\n"), Err(403));
        assert!(with("Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: navigate\r\n").is_ok());
        assert!(with("Origin: http://localhost:8080\r\nSec-Fetch-Site: same-origin\r\n").is_ok());
    }

    #[test]
    fn only_get_of_a_path() {
        let host = "Host: localhost:8080\r\n\r\n";
        for method in [
            "POST", "HEAD", "PUT", "DELETE", "OPTIONS", "CONNECT", "TRACE",
        ] {
            assert_eq!(asked(&format!("{method} / HTTP/1.1\r\n{host}")), Err(405));
        }
        assert_eq!(
            asked(&format!("GET http://evil.example/ HTTP/1.1\r\n{host}")),
            Err(400)
        );
        assert_eq!(asked("\u{1}\u{2}\r\n\r\n"), Err(400));
        assert_eq!(asked("GET / HTTP/1.1\r\nHost: local"), Err(400));
        let long = format!("GET / HTTP/1.1\r\nX: {}", "x".repeat(3 * LONGEST));
        assert_eq!(asked(&long), Err(431));
    }
}
