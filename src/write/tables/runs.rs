//! `pitwright_runs`.

use crate::write::layer::{column, int, text};
use crate::write::{ColumnType, Layer, RunRecord, Value};

/// A run and its number in the file.
#[derive(Debug)]
pub struct NumberedRun {
    /// 1 for the first run that wrote into the file.
    pub run_id: i64,
    /// The layers it wrote, sorted, between commas.
    pub layers: String,
    /// What it was.
    pub run: RunRecord,
}

/// Every run that wrote into the file; it also says which layers are pitwright's own.
pub static RUNS: Layer<NumberedRun> = Layer {
    name: "pitwright_runs",
    description: "Runs of pitwright that wrote layers into this file.",
    geometry: None,
    columns: &[
        int("run_id", |r| r.run_id.into()),
        text("command", |r| (&r.run.command).into()),
        text("version", |r| (&r.run.version).into()),
        column("finished_at", ColumnType::DateTime, |r| {
            Value::Text(r.run.finished_at_utc().into())
        }),
        text("layers", |r| (&r.layers).into()),
        text("job_json", |r| (&r.run.job_json).into()),
        text("inputs_json", |r| (&r.run.inputs_json).into()),
        text("summary_json", |r| (&r.run.summary_json).into()),
    ],
};
