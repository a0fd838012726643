//! A running `pitwright view`, and requests as they go over the wire.

use crate::place::Place;
use serde_json::Value;
use std::{
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    process::{Child, Command, Stdio},
    time::Duration,
};

/// A server that is ended when dropped.
pub struct Server {
    pub child: Child,
    pub port: u16,
    /// What it said before it served.
    pub said: String,
}

/// An answer, taken apart.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Server {
    /// Starts it in the folder and waits for its address.
    pub fn start(place: &Place, line: &str) -> Server {
        let mut child = Command::new(env!("CARGO_BIN_EXE_pitwright"))
            .args(line.split_whitespace())
            .current_dir(place.path(""))
            .stdout(Stdio::piped())
            .spawn()
            .expect("starts");
        let mut said = String::new();
        let mut lines = BufReader::new(child.stdout.take().expect("a pipe"));
        // The last of what it says is the second caution.
        while !said.contains("Locate and expose") {
            assert!(lines.read_line(&mut said).expect("reads") > 0, "{said}");
        }
        let port = said.split("127.0.0.1:").nth(1).expect("an address");
        let port = port.split('/').next().and_then(|p| p.parse().ok());
        Server {
            child,
            port: port.expect("a port"),
            said,
        }
    }

    /// Sends bytes as they are and takes the answer.
    pub fn send(&self, request: &str) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).expect("connects");
        let patience = Some(Duration::from_secs(30));
        stream.set_read_timeout(patience).expect("a timeout");
        stream.write_all(request.as_bytes()).expect("sends");
        let mut bytes = vec![];
        stream.read_to_end(&mut bytes).expect("an answer");
        let text = String::from_utf8(bytes).expect("UTF-8");
        let (head, body) = text.split_once("\r\n\r\n").expect("a head");
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok());
        Answer {
            status: status.expect("a status"),
            head: head.to_string(),
            body: body.to_string(),
        }
    }

    /// Asks as a browser on this machine does.
    pub fn get(&self, path: &str) -> Answer {
        self.send(&format!(
            "GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n",
            self.port
        ))
    }

    /// What is asked for and there.
    pub fn body(&self, path: &str) -> String {
        let answer = self.get(path);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        answer.body
    }

    /// Layers of a window, metres from the origin of the page.
    pub fn layers(&self, window: &str) -> Vec<Value> {
        let body = self.body(&format!("/map/{window}"));
        let said: Value = serde_json::from_str(&body).expect("JSON");
        said["layers"].as_array().expect("layers").clone()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // Gone already where a test has ended it.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A planned sample, coarse, in the file itself.
pub fn planned() -> Place {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --quiet");
    assert!(ran.code <= 1, "{}", ran.err);
    place
}
