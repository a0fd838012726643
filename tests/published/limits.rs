//! Location limits that grow with depth.

use crate::table::rows;
use pitwright::job::JobFile;

/// What PAS 128 leaves open, in any numbers.
const STATED: &str = "[rules]\nquality_scheme = \"pas128\"\n[rules.quality]\nB3 = { vertical_m = 1 }\n\
    B4 = { horizontal_m = 1, vertical_m = 1 }\nC = { horizontal_m = 1, vertical_m = 1 }\nD = { horizontal_m = 2, vertical_m = 1 }\n";

#[test]
fn pas128() {
    let rules = JobFile::parse(STATED, "job.toml").expect("reads").job.rules;
    for row in rows("pas128.csv") {
        let level = row.text("level").parse().expect("a level");
        let limits = rules.limits(level, Some(row.number("depth_m")));
        for (head, held) in [
            ("horizontal_m", limits.horizontal_m),
            ("vertical_m", limits.vertical_m),
        ] {
            let off = (held - row.number(head)).abs();
            assert!(off <= row.number("tolerance"), "{level} {head}: {held}");
        }
    }
}
