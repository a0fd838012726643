//! Answers requests, on this machine alone, until the process ends.

use super::http::{Answer, PATIENCE, target};
use std::{
    io::Read,
    net::{Ipv4Addr, Shutdown, TcpListener, TcpStream},
    sync::atomic::{AtomicUsize, Ordering},
    thread,
};

/// Most requests at a time: a browser sends six, and somebody may have a few windows open.
const MOST: usize = 32;

/// Listens on a port of this machine, any free one for 0.
pub fn listen(port: u16) -> std::io::Result<TcpListener> {
    TcpListener::bind((Ipv4Addr::LOCALHOST, port))
}

/// Gives every request to `answer`; never returns.
pub fn serve(listener: &TcpListener, port: u16, answer: &(impl Fn(&str) -> Answer + Sync)) {
    let busy = AtomicUsize::new(0);
    thread::scope(|scope| {
        // A connection that is gone before it is taken is nobody's loss.
        for stream in listener.incoming().flatten() {
            if busy.fetch_add(1, Ordering::AcqRel) >= MOST {
                busy.fetch_sub(1, Ordering::AcqRel);
                let mut stream = stream;
                let _ = Answer::refused(503, "too many requests at a time").send(&mut stream);
                continue;
            }
            let busy = &busy;
            scope.spawn(move || {
                let _free = Free(busy);
                one(stream, port, answer);
            });
        }
    });
}

/// Counts down however a request ends.
struct Free<'a>(&'a AtomicUsize);

impl Drop for Free<'_> {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::AcqRel);
    }
}

/// Whoever hangs up in between needs no answer, so errors of the connection go nowhere.
fn one(mut stream: TcpStream, port: u16, answer: &impl Fn(&str) -> Answer) {
    let timed = stream.set_read_timeout(Some(PATIENCE));
    if timed.and(stream.set_write_timeout(Some(PATIENCE))).is_err() {
        return;
    }
    let said = match target(&mut stream, port) {
        Ok(target) => answer(&target),
        Err(refusal) => refusal,
    };
    let _ = said.send(&mut stream);
    // What was sent and not read would otherwise break the connection before the answer is through.
    let _ = stream.shutdown(Shutdown::Write);
    let mut rest = [0; 4096];
    let _ = (0..16).try_for_each(|_| match stream.read(&mut rest) {
        Ok(0) | Err(_) => Err(()),
        Ok(_) => Ok(()),
    });
}
