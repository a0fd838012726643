//! The map library lies here as it was published.

use sha2::{Digest, Sha256};

#[test]
fn leaflet_is_the_published_one_and_its_version_is_named() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/view/leaflet/");
    for (name, digest) in [
        (
            "leaflet.js",
            "db49d009c841f5ca34a888c96511ae936fd9f5533e90d8b2c4d57596f4e5641a",
        ),
        (
            "leaflet.css",
            "a7837102824184820dfa198d1ebcd109ff6d0ff9a2672a074b9a1b4d147d04c6",
        ),
        (
            "LICENSE",
            "53e8dc25862014e4324741ca18fbe3611e11d42ef69f59f86ea8c5389647d4cb",
        ),
    ] {
        let bytes = std::fs::read(format!("{folder}{name}")).expect("reads");
        let digested = Sha256::digest(&bytes);
        let hex = digested.iter().map(|b| format!("{b:02x}"));
        assert_eq!(hex.collect::<String>(), digest, "{name}");
    }
    let script = std::fs::read_to_string(format!("{folder}leaflet.js")).expect("reads");
    let page = include_str!("../../src/view/page.rs");
    assert!(
        script.starts_with("/* @preserve\n * Leaflet 1.9.4,") && page.contains("Leaflet 1.9.4")
    );
}
