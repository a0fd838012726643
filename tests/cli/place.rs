//! A folder of its own with the sample site in it, and the command run there.

use rusqlite::Connection;
use serde_json::Value;
use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};
use tempfile::TempDir;

/// Triggers of spatial indexes call functions that plain SQLite does not have.
pub fn without_triggers(db: &Connection) {
    let sql = "SELECT name FROM sqlite_master WHERE type = 'trigger'";
    let mut all = db.prepare(sql).expect("reads");
    let names = all.query_map([], |r| r.get::<_, String>(0)).expect("reads");
    for name in names.collect::<Result<Vec<_>, _>>().expect("reads") {
        db.execute(&format!("DROP TRIGGER \"{name}\""), [])
            .expect("drops");
    }
}

/// The folder, gone when dropped.
pub struct Place {
    folder: TempDir,
}

/// What came of a run.
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Place {
    /// A file of the folder opened with plain SQLite, without triggers.
    pub fn opened(&self, file: &str) -> Connection {
        let db = Connection::open(self.path(file)).expect("opens");
        without_triggers(&db);
        db
    }

    /// A folder with nothing in it.
    pub fn empty() -> Place {
        Place {
            folder: tempfile::tempdir().expect("a temporary folder"),
        }
    }

    /// A folder with a site of `sample-data` (or of a folder in it) and its job.
    pub fn sample(name: &str) -> Place {
        let place = Place::empty();
        let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data");
        for end in ["gpkg", "job.toml"] {
            let from = samples.join(format!("{name}.{end}"));
            let file = from.file_name().expect("a name").to_string_lossy();
            fs::copy(&from, place.path(&file)).expect("the sample is there");
        }
        place
    }

    /// The same with a coarse grid, so that a plan takes moments.
    pub fn coarse(name: &str) -> Place {
        let place = Place::sample(name);
        let file = format!("{name}.job.toml");
        let job = String::from_utf8(place.bytes(&file)).expect("UTF-8");
        let coarse = job
            .replace("station_step_m = 1.0", "station_step_m = 6.0")
            .replace("level_step_m = 0.02", "level_step_m = 0.1");
        assert_ne!(job, coarse);
        place.write(&file, &coarse);
        place
    }

    /// A file of the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file of the folder.
    pub fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).expect("writes");
    }

    /// The bytes of a file of the folder.
    pub fn bytes(&self, name: &str) -> Vec<u8> {
        fs::read(self.path(name)).expect("reads")
    }

    /// Names of the files in the folder, sorted.
    pub fn names(&self) -> Vec<String> {
        let files = fs::read_dir(self.folder.path()).expect("reads");
        let mut names: Vec<String> = files
            .map(|f| f.expect("reads").file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    /// Runs the command in the folder; arguments are split at blanks.
    pub fn run(&self, line: &str) -> Ran {
        let mut command = Command::new(env!("CARGO_BIN_EXE_pitwright"));
        let output = command
            .args(line.split_whitespace())
            .current_dir(self.folder.path())
            .output()
            .expect("runs");
        Ran::of(output)
    }
}

impl Ran {
    fn of(output: Output) -> Ran {
        let words = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
        Ran {
            code: output.status.code().expect("exited"),
            out: words(output.stdout),
            err: words(output.stderr),
        }
    }

    /// The one document on standard output.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {}", self.out))
    }

    /// Checks exit code and shape of an error document, and gives its `error`.
    pub fn error(&self, code: i32, command: Option<&str>) -> Value {
        assert_eq!(self.code, code, "{}", self.err);
        let document = self.json();
        let keys: Vec<&String> = document.as_object().expect("an object").keys().collect();
        assert_eq!(keys, ["command", "version", "error"]);
        assert_eq!(document["command"].as_str(), command);
        let error = document["error"].clone();
        let keys: Vec<&String> = error.as_object().expect("an object").keys().collect();
        assert_eq!(keys, ["code", "message", "file", "layer", "fid", "column"]);
        assert_eq!(error["code"], code);
        error
    }

    /// Checks the exit code and that every piece stands on standard error.
    pub fn refused(&self, code: i32, pieces: &[&str]) {
        assert_eq!(self.code, code, "{}{}", self.out, self.err);
        assert_eq!(self.out, "");
        for piece in pieces {
            assert!(self.err.contains(piece), "no '{piece}' in: {}", self.err);
        }
    }
}
