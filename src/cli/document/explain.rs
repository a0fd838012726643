//! The document of `explain`.

use super::VERSION;
use crate::{
    cli::{explain::Explanation, say},
    mechanics::{Step, Term, Working},
    plan::checks::Check,
    read::Cell,
};
use serde_json::{Map, Value as Json, json};

/// The item's row and its checks.
pub fn explanation(e: &Explanation) -> Json {
    let columns = e.item.row.0.iter();
    let row: Map<String, Json> = columns.map(|(name, c)| (name.clone(), cell(c))).collect();
    json!({
        "command": "explain",
        "version": VERSION,
        "item": e.id,
        "kind": e.item.kind.word(),
        "layer": e.item.kind.place().0,
        "file": e.file.display().to_string(),
        "job": e.job,
        "row": row,
        "checks": e.checks.iter().map(check).collect::<Vec<_>>(),
        "cautions": say::CAUTIONS,
    })
}

fn cell(cell: &Cell) -> Json {
    match cell {
        Cell::Null => Json::Null,
        Cell::Number(x) => json!(x),
        Cell::Text(t) => json!(t),
    }
}

fn check(check: &Check) -> Json {
    let mut out = Map::new();
    out.insert("subject".to_string(), json!(check.subject));
    match &check.worked {
        Ok(w) => out.extend(working(w)),
        Err(why) => {
            out.insert("not_worked_out".to_string(), json!(why.to_string()));
        }
    }
    out.insert("verdict".to_string(), json!(check.verdict));
    Json::Object(out)
}

fn working(w: &Working) -> Map<String, Json> {
    let steps: Vec<Json> = w.steps.iter().map(|s| step(w, s)).collect();
    let all = [
        ("title", json!(w.title)),
        (
            "inputs",
            json!(w.inputs.iter().map(term).collect::<Vec<_>>()),
        ),
        ("steps", json!(steps)),
        ("result", term(&w.result())),
        ("source", json!(w.cited.source.map(|s| s.to_string()))),
        ("source_name", json!(w.cited.source.map(|s| s.name()))),
        ("at", json!(w.cited.at)),
        ("tag", json!(w.cited.tag.word())),
    ];
    all.into_iter().map(|(k, v)| (k.to_string(), v)).collect()
}

fn term(t: &Term) -> Json {
    json!({"symbol": t.symbol, "what": t.what, "value": t.value, "unit": t.unit})
}

fn step(w: &Working, s: &Step) -> Json {
    json!({
        "symbol": s.term.symbol,
        "what": s.term.what,
        "formula": s.formula,
        "numbers": w.put_in(s),
        "value": s.term.value,
        "unit": s.term.unit,
    })
}
