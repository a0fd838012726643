//! Who is not answered, what is not there, and how it ends.

use crate::server::{Server, planned};
use std::{io::Read, net::TcpStream, process::Command, time::Duration};

#[test]
fn only_this_machine_by_its_address_with_get() {
    let place = planned();
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let port = server.port;
    let asked = |method: &str, path: &str, more: &str| {
        server.send(&format!("{method} {path} HTTP/1.1\r\n{more}\r\n"))
    };
    let own = format!("Host: localhost:{port}\r\n");
    assert_eq!(asked("GET", "/", &own).status, 200);
    for path in ["/", "/view.js", "/map/0,0,9,9", "/bore/1", "/nowhere"] {
        for host in [
            format!("Host: evil.example:{port}\r\n"),
            format!("Host: 127.0.0.1:{port}.evil.example\r\n"),
            "Host: 127.0.0.1\r\n".to_string(),
            format!("Host: 0.0.0.0:{port}\r\n"),
            String::new(),
        ] {
            let answer = asked("GET", path, &host);
            assert_eq!(answer.status, 403, "{path} {host}");
            assert!(!answer.body.contains("LANE"), "{}", answer.body);
        }
        for method in ["POST", "HEAD", "PUT", "DELETE", "OPTIONS", "PATCH"] {
            let answer = asked(method, path, &own);
            assert_eq!(answer.status, 405, "{method} {path}");
            assert!(answer.head.contains("Allow: GET"));
        }
    }
    let cross = format!("{own}Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\n");
    assert_eq!(asked("GET", "/bore/1", &cross).status, 403);
}

#[test]
fn no_path_leads_to_a_file() {
    let place = planned();
    let server = Server::start(&place, "view wattle-rise.gpkg");
    for path in [
        "/wattle-rise.gpkg",
        "/wattle-rise.job.toml",
        "/../wattle-rise.job.toml",
        "/./wattle-rise.gpkg",
        "/..%2f..%2f..%2fetc%2fpasswd",
        "/../../../../../../etc/passwd",
        "//etc/passwd",
        "/leaflet.js/../../wattle-rise.gpkg",
        "/map/../bore/1",
        "/map/0,0,9",
        "/map/9,9,0,0",
        "/map/nan,0,9,9",
        "/map/",
        "/bore/",
        "/bore/../1",
        "/bore/1/",
        "/bore/-1",
        "/bore/999999",
        "/bore/18446744073709551617",
        "/?",
        "/favicon.ico",
    ] {
        let answer = server.get(path);
        assert_eq!(answer.status, 404, "{path}: {}", answer.body);
        assert_eq!(answer.body, "nothing is here\n", "{path}");
    }
}

#[test]
fn every_answer_forbids_what_a_page_must_not_do() {
    let place = planned();
    let server = Server::start(&place, "view wattle-rise.gpkg");
    for path in [
        "/",
        "/view.css",
        "/leaflet.js",
        "/map/0,0,9,9",
        "/bore/1",
        "/nowhere",
    ] {
        let head = server.get(path).head;
        for piece in [
            "Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
            "X-Content-Type-Options: nosniff",
            "Cross-Origin-Resource-Policy: same-origin",
            "Cache-Control: no-store",
        ] {
            assert!(head.contains(piece), "{path}: no {piece} in {head}");
        }
        assert!(!head.contains("Access-Control"), "{head}");
    }
}

#[test]
#[cfg(target_os = "linux")]
fn it_listens_on_the_loopback_alone() {
    let place = planned();
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let port = format!(":{:04X}", server.port);
    let mut listening = vec![];
    for table in ["/proc/net/tcp", "/proc/net/tcp6"] {
        // A machine without IPv6 has no table of it.
        let rows = std::fs::read_to_string(table).unwrap_or_default();
        for row in rows.lines().skip(1) {
            let cells: Vec<&str> = row.split_whitespace().collect();
            // State 0A: listening.
            if cells[1].ends_with(&port) && cells[3] == "0A" {
                listening.push(cells[1].to_string());
            }
        }
    }
    assert_eq!(listening, [format!("0100007F{port}")]);
}

#[test]
fn who_says_nothing_keeps_nobody_waiting_and_is_hung_up_on() {
    let place = planned();
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let mut silent = TcpStream::connect(("127.0.0.1", server.port)).expect("connects");
    let patience = Some(Duration::from_secs(30));
    silent.set_read_timeout(patience).expect("a timeout");
    assert_eq!(server.get("/view.js").status, 200);
    let mut answer = String::new();
    silent.read_to_string(&mut answer).expect("hangs up");
    assert!(answer.starts_with("HTTP/1.1 408 "), "{answer}");
    let long = format!("GET /{} HTTP/1.1\r\n", "x".repeat(20_000));
    assert_eq!(server.send(&long).status, 431);
}

#[test]
#[cfg(unix)]
fn ctrl_c_ends_it() {
    let place = planned();
    let mut server = Server::start(&place, "view wattle-rise.gpkg");
    assert_eq!(server.get("/").status, 200);
    let pid = server.child.id().to_string();
    let sent = Command::new("kill").args(["-INT", &pid]).status();
    assert!(sent.expect("kill runs").success());
    let ended = server.child.wait().expect("ends");
    assert!(!ended.success());
    assert!(TcpStream::connect(("127.0.0.1", server.port)).is_err());
    assert_eq!(place.names(), ["wattle-rise.gpkg", "wattle-rise.job.toml"]);
}

#[test]
fn a_port_that_is_taken_is_said() {
    let place = planned();
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let line = format!("view wattle-rise.gpkg --port {}", server.port);
    place
        .run(&line)
        .refused(4, &["--port", &server.port.to_string()]);
}

#[test]
fn a_file_without_results_is_refused() {
    let place = crate::place::Place::sample("wattle-rise");
    place.run("view wattle-rise.gpkg").refused(
        3,
        &["wattle-rise.gpkg", "proposed_bores", "run pitwright plan"],
    );
    place.run("view nowhere.gpkg").refused(3, &["nowhere.gpkg"]);
    place.run("view nowhere.gpkg --json").error(3, Some("view"));
}
