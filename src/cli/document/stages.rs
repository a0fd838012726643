//! What each stage of a command took.

use serde_json::{Map, Value as Json, json};

/// Seconds by stage, in the order in which they came.
pub fn stages(spent: &[(String, f64)]) -> Json {
    let each = spent.iter().map(|(stage, s)| (stage.clone(), json!(s)));
    Json::Object(each.collect::<Map<_, _>>())
}
