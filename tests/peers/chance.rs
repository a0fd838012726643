//! `p_contact` against a million samples a scene (`check_chance.py`), and how it stands to the bodies really touching.

use crate::checked::check;
use std::path::Path;

const HERE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers/chance");

struct Scene {
    bore_id: String,
    name: String,
    along: f64,
    along_se: f64,
    touch: f64,
    touch_se: f64,
    relation: String,
}

/// The table, whose second column may hold commas between quotes.
fn scenes() -> Vec<Scene> {
    let text = std::fs::read_to_string(format!("{HERE}/table.csv")).expect("the table is there");
    text.lines().skip(1).map(scene).collect()
}

fn scene(line: &str) -> Scene {
    let (bore_id, rest) = line.split_once(',').expect("a row has columns");
    let tail: Vec<&str> = rest.rsplitn(6, ',').collect();
    let number = |k: usize| tail[k].parse().expect("a number");
    Scene {
        bore_id: bore_id.to_string(),
        name: tail[5].trim_matches('"').to_string(),
        along: number(4),
        along_se: number(3),
        touch: number(2),
        touch_se: number(1),
        relation: tail[0].to_string(),
    }
}

fn stands(p: f64, s: &Scene) -> &'static str {
    match p - s.touch {
        d if d.abs() <= 4.0 * s.touch_se => "equal",
        d if d > 0.0 => "above",
        _ => "below",
    }
}

#[test]
fn the_chance_of_contact_is_that_of_a_million_samples() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let out = folder.path().join("scenes.gpkg");
    let found = check(Path::new(HERE), "scenes", "bores", &out);
    let scenes = scenes();
    for s in &scenes {
        // Straight scenes give one row; where a service bends away, its nearest part is the likeliest.
        let p = found
            .rows
            .iter()
            .filter(|r| r.bore_id.as_ref() == Some(&s.bore_id) && r.obstacle == "service")
            .filter_map(|r| r.p_contact)
            .fold(f64::NAN, f64::max);
        assert!(
            (p - s.along).abs() <= 4.0 * s.along_se,
            "{}: {p}, sampled {} ± {}",
            s.name,
            s.along,
            s.along_se
        );
        assert_eq!(
            stands(p, s),
            s.relation,
            "{}: {p}, touching {}",
            s.name,
            s.touch
        );
    }
    assert!(scenes.len() >= 26);
}
