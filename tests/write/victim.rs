//! The program that tests kill or starve: this very test binary, run anew to write one plan and say what came of it.

use crate::site::{crs, run};
use crate::synthetic;
use pitwright::write::{Target, layers, plan_tables};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::Duration;

const SITE: &str = "PITWRIGHT_TEST_SITE";
const OUT: &str = "PITWRIGHT_TEST_OUT";
const BORES: &str = "PITWRIGHT_TEST_BORES";

/// What the victim is told to write, and where.
pub struct Orders {
    pub site: PathBuf,
    pub out: Option<PathBuf>,
    pub bores: usize,
}

impl Orders {
    /// The program with its arguments, to be put behind `lead` (`setpriv ... PROGRAM`), if any.
    pub fn command(&self, lead: &[&str]) -> Command {
        let me = std::env::current_exe().unwrap();
        let mut command = match lead {
            [] => Command::new(&me),
            [first, rest @ ..] => {
                let mut c = Command::new(first);
                c.args(rest).arg(&me);
                c
            }
        };
        command
            .args([
                "--exact",
                "victim::write_as_told",
                "--ignored",
                "--nocapture",
            ])
            .env(SITE, &self.site)
            .env(BORES, self.bores.to_string())
            .stdout(Stdio::piped())
            .stderr(Stdio::null());
        if let Some(out) = &self.out {
            command.env(OUT, out);
        }
        command
    }

    /// Runs to the end; the line that says what came of it.
    pub fn run(&self, lead: &[&str]) -> String {
        let output = self.command(lead).output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        let line = said.lines().find_map(|l| l.split_once("outcome: "));
        line.map(|(_, o)| o.to_string())
            .unwrap_or_else(|| panic!("the victim said: {said}"))
    }
}

#[test]
#[ignore = "run by other tests, which tell it what to write"]
fn write_as_told() {
    let told = |name| std::env::var_os(name).map(PathBuf::from);
    let Some(site) = told(SITE) else {
        return println!("outcome: told nothing");
    };
    let bores = std::env::var(BORES).unwrap().parse().unwrap();
    let target = Target {
        out: told(OUT),
        wait: Duration::from_millis(200),
        ..Target::site(site)
    };
    let plan = synthetic::plan(bores, 11);
    match layers(&target, &crs(), &plan_tables(&plan), &run(), true) {
        Ok(rows) => println!("outcome: wrote {} layers", rows.len()),
        Err(e) => println!(
            "outcome: {} | {e}",
            format!("{e:?}").split(' ').next().unwrap_or_default()
        ),
    }
}
