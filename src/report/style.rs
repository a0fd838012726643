//! The style of drawings for what stands on no page: viewers of drawings and PDFs know neither variables nor screens.

use std::collections::BTreeMap;

/// The style of `drawing.css` in daylight, every variable put in.
///
/// A drawing with the class of a colour code takes that code's values: its rules come twice, the second time for the class.
pub fn plain_style() -> String {
    let rules = rules(include_str!("drawing.css"));
    let values = |selector: &str| -> BTreeMap<&str, &str> {
        let of = rules.iter().filter(|r| r.0 == selector);
        of.flat_map(|r| declarations(r.1))
            .filter(|d| d.0.starts_with("--"))
            .collect()
    };
    let plain = values(".drawing");
    let mut coded = plain.clone();
    coded.extend(values(".drawing.apwa"));
    let mut out = String::new();
    for (selector, body) in rules.iter().filter(|r| r.0 != ".drawing.apwa") {
        let body: Vec<String> = declarations(body)
            .filter(|d| !d.0.starts_with("--"))
            .map(|(name, value)| format!("{name}:{value}"))
            .collect();
        let body = body.join(";");
        let (usual, other) = (put_in(&body, &plain), put_in(&body, &coded));
        out.push_str(&format!("{selector}{{{usual}}}\n"));
        if usual != other {
            let selector = selector.replace(".drawing ", ".drawing.apwa ");
            out.push_str(&format!("{selector}{{{other}}}\n"));
        }
    }
    out
}

/// Selector and body of each rule; those for a dark screen are left out.
fn rules(css: &str) -> Vec<(&str, &str)> {
    let mut all = vec![];
    let mut rest = css;
    while let Some(open) = rest.find('{') {
        let selector = rest[..open].trim();
        // A rule about screens holds rules.
        let nested = selector.starts_with('@');
        let close = match nested {
            true => rest.find("}}").map(|i| i + 1),
            false => rest.find('}'),
        };
        let Some(close) = close else { break };
        if !nested {
            all.push((selector, rest[open + 1..close].trim()));
        }
        rest = &rest[close + 1..];
    }
    all
}

fn declarations(body: &str) -> impl Iterator<Item = (&str, &str)> {
    body.split(';')
        .filter_map(|d| d.split_once(':'))
        .map(|(name, value)| (name.trim(), value.trim()))
}

fn put_in(body: &str, values: &BTreeMap<&str, &str>) -> String {
    let mut out = body.to_string();
    for (name, value) in values {
        out = out.replace(&format!("var({name})"), value);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_left_that_a_plain_viewer_does_not_know() {
        let style = plain_style();
        for unknown in ["var(", "--", "@", ":not(", ":has("] {
            assert!(!style.contains(unknown), "{unknown}");
        }
        assert_eq!(style.matches('{').count(), style.matches('}').count());
        assert!(style.contains(".drawing .bore{stroke:#0b3d6b;stroke-width:4}"));
        assert!(style.contains(".drawing.apwa .s.water{stroke:#1f5fa8;"));
        assert!(style.contains(".drawing .s.water{stroke:#4e5558;"));
    }
}
