//! What a window shows, as the map asks for it.

use super::thing::{NotDrawn, Seen, Thing};
use geo::Coord;
use serde_json::{Map, Value as Json, json};

/// Longest value that a map shows (letters); the page of a bore shows it whole.
const LONGEST: usize = 80;

/// Layers as JSON. Places are metres from `origin`, to the centimetre, X and Y in turn; `not_drawn` says why a layer has none.
pub fn answer(seen: &[Seen], origin: Coord<f64>) -> Json {
    let layers: Vec<Json> = seen.iter().map(|s| layer(s, origin)).collect();
    json!({ "layers": layers })
}

fn layer(seen: &Seen, origin: Coord<f64>) -> Json {
    let (things, why) = match &seen.things {
        Ok(all) => (all.iter().map(|t| thing(t, origin)).collect(), Json::Null),
        Err(NotDrawn::TooMany) => (vec![], "too many".into()),
        Err(NotDrawn::Unreadable(why)) => (vec![], why.as_str().into()),
    };
    json!({
        "part": seen.part,
        "layer": cut(&seen.layer),
        "things": things,
        "not_drawn": why,
        "broken": seen.broken,
    })
}

fn thing(of: &Thing, origin: Coord<f64>) -> Json {
    let line = |points: &[Coord<f64>]| -> Json {
        let flat = points.iter().flat_map(|p| [p.x - origin.x, p.y - origin.y]);
        flat.map(|v| (v * 100.0).round() / 100.0).collect()
    };
    let mut out = Map::new();
    out.insert("fid".into(), of.fid.into());
    if !of.points.is_empty() {
        out.insert("points".into(), line(&of.points));
    }
    if !of.lines.is_empty() {
        out.insert("lines".into(), of.lines.iter().map(|l| line(l)).collect());
        out.insert("levels".into(), of.levels.into());
    }
    if !of.areas.is_empty() {
        let area = |rings: &Vec<Vec<_>>| rings.iter().map(|r| line(r)).collect::<Json>();
        out.insert("areas".into(), of.areas.iter().map(area).collect());
    }
    let cells = of.cells.iter().filter(|c| !c.1.is_null());
    let cells = cells.map(|(name, value)| {
        let value = value.as_str().map_or(value.clone(), |t| cut(t).into());
        (name.to_string(), value)
    });
    out.insert("cells".into(), Json::Object(cells.collect()));
    Json::Object(out)
}

fn cut(text: &str) -> String {
    match text.char_indices().nth(LONGEST) {
        None => text.to_string(),
        Some((at, _)) => format!("{}…", &text[..at]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(things: Result<Vec<Thing>, NotDrawn>) -> Seen {
        Seen {
            part: "services",
            layer: "water".into(),
            things,
            broken: 2,
        }
    }

    #[test]
    fn places_are_counted_from_the_origin_and_long_words_are_cut() {
        let at = |x, y| Coord { x, y };
        let pipe = Thing {
            fid: 7,
            lines: vec![vec![at(1000.004, 2000.0), at(1001.5, 1999.0)]],
            cells: vec![("owner", "ä".repeat(10_000).into()), ("kind", Json::Null)],
            ..Thing::default()
        };
        let said = answer(&[seen(Ok(vec![pipe]))], at(1000.0, 2000.0));
        let layer = &said["layers"][0];
        let thing = &layer["things"][0];
        assert_eq!(thing["lines"], json!([[0.0, 0.0, 1.5, -1.0]]));
        assert_eq!(
            (&thing["levels"], &layer["broken"]),
            (&json!(false), &json!(2))
        );
        let owner = thing["cells"]["owner"].as_str().unwrap();
        assert_eq!(owner.chars().count(), LONGEST + 1);
        assert!(thing["cells"].get("kind").is_none());
    }

    #[test]
    fn a_layer_that_is_not_drawn_says_why() {
        let at = Coord { x: 0.0, y: 0.0 };
        let said = answer(&[seen(Err(NotDrawn::TooMany))], at);
        assert_eq!(said["layers"][0]["not_drawn"], "too many");
        assert_eq!(said["layers"][0]["things"], json!([]));
    }
}
