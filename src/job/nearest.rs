//! The known word that a mistyped one most likely means.

use super::{
    keys::{self, KEYS},
    value::KeyPath,
};

/// The word most like this one; the first of equally like ones.
pub fn word<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let typed = typed.to_lowercase();
    known.into_iter().min_by_key(|k| unlikeness(&typed, k))
}

/// The known key most like this one: of its name in another table, else of a like name in the same table.
pub fn key(path: &KeyPath) -> String {
    let elsewhere = KEYS
        .iter()
        .find(|(p, _)| p.contains('.') && p.rsplit('.').next() == Some(path.name()));
    if let Some((pattern, _)) = elsewhere {
        return pattern.to_string();
    }
    let beside = keys::names_at(path);
    let named: Vec<&str> = beside
        .iter()
        .copied()
        .filter(|n| !keys::is_placeholder(n))
        .collect();
    match word(path.name(), if named.is_empty() { beside } else { named }) {
        Some(name) => path.table().join(name).to_string(),
        None => word(&path.to_string(), KEYS.iter().map(|(p, _)| *p))
            .unwrap_or_default()
            .to_string(),
    }
}

/// Edits between two words; half counts where one begins with the other.
fn unlikeness(a: &str, b: &str) -> usize {
    let edits = 2 * strsim::damerau_levenshtein(a, b);
    if !a.is_empty() && b.starts_with(a) {
        edits / 2
    } else {
        edits
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mistyped_key_means_its_neighbour() {
        assert_eq!(key(&KeyPath::of("rig.reach")), "rig.reach_m");
        assert_eq!(key(&KeyPath::of("rig.reech_m")), "rig.reach_m");
        assert_eq!(key(&KeyPath::of("rigg")), "rig");
        assert_eq!(
            key(&KeyPath::of("rules.clearance.buildings")),
            "rules.clearance.building"
        );
    }

    #[test]
    fn a_key_in_the_wrong_table_means_the_right_table() {
        assert_eq!(key(&KeyPath::of("pipe.reach_m")), "rig.reach_m");
        assert_eq!(key(&KeyPath::of("dn_mm")), "pipe.dn_mm");
    }

    #[test]
    fn a_mistyped_word_means_the_likest() {
        assert_eq!(word("Watre", ["water", "gas"]), Some("water"));
    }
}
