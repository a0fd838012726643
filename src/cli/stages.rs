//! How long each stage of a command took, and how far it has come.
//!
//! The core knows no clock: it says which stage it is at, and here the time is taken.

use super::{memory::Memory, progress::Progress};
use std::{sync::Mutex, time::Instant};

/// A stopwatch over the stages of a command.
pub struct Stages {
    progress: Progress,
    started: Instant,
    laps: Mutex<Laps>,
    memory: Memory,
}

struct Laps {
    /// Seconds by stage, in the order in which they first came.
    done: Vec<(String, f64)>,
    open: Option<(String, Instant)>,
}

impl Laps {
    fn close(&mut self) {
        if let Some((stage, since)) = self.open.take() {
            let spent = since.elapsed().as_secs_f64();
            match self.done.iter_mut().find(|d| d.0 == stage) {
                Some(lap) => lap.1 += spent,
                None => self.done.push((stage, spent)),
            }
        }
    }
}

impl Stages {
    /// Starts the watch.
    pub fn new(progress: Progress) -> Stages {
        let laps = Laps {
            done: vec![],
            open: None,
        };
        Stages {
            progress,
            started: Instant::now(),
            laps: Mutex::new(laps),
            memory: Memory::default(),
        }
    }

    /// From here on it is this stage.
    pub fn begin(&self, stage: &str) {
        let mut laps = self.laps.lock().expect("no holder of the watch panics");
        if laps.open.as_ref().is_some_and(|o| o.0 == stage) {
            return;
        }
        laps.close();
        laps.open = Some((stage.to_string(), Instant::now()));
    }

    /// Reading has come this far; all of it is one stage.
    pub fn read(&self, p: &crate::read::Progress) {
        self.progress.show(&p.stage, p.done, p.total);
    }

    /// The last stage is over; takes the line of progress away.
    pub fn end(&self) {
        let mut laps = self.laps.lock().expect("no holder of the watch panics");
        laps.close();
        self.progress.end();
    }

    /// Seconds since the start.
    pub fn seconds(&self) -> f64 {
        self.started.elapsed().as_secs_f64()
    }

    /// Seconds by stage.
    pub fn spent(&self) -> Vec<(String, f64)> {
        let laps = self.laps.lock().expect("no holder of the watch panics");
        laps.done.clone()
    }
}

impl crate::plan::Progress for Stages {
    fn at(&self, stage: &'static str, done: usize, total: usize) {
        if done < total || total == 0 {
            self.begin(stage);
        }
        self.progress.show(stage, done as u64, total as u64);
        if stage == "routes" {
            self.memory.tidy();
        }
    }
}
