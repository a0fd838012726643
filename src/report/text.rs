//! Text and numbers as a page and a drawing take them. Whatever stood in a file is shown as text, never obeyed.

/// Longest label in a drawing and in a narrow column (letters).
const LABEL: usize = 48;

/// Writes into a `String`, which cannot fail.
macro_rules! put {
    ($out:expr, $($what:tt)*) => {{
        use std::fmt::Write as _;
        let _ = write!($out, $($what)*);
    }};
}
pub(crate) use put;

/// Words for a page: marks of the language escaped, control characters made visible, its direction of reading kept to itself.
pub fn words(text: &str) -> String {
    format!("<bdi>{}</bdi>", escaped(text))
}

/// The same where nothing was said.
pub fn said(text: Option<&str>) -> String {
    text.filter(|t| !t.trim().is_empty())
        .map_or("not stated".to_string(), words)
}

/// Words cut to the length of a label, for a column.
pub fn short(text: &str) -> String {
    words(&cut(text))
}

/// Words for an attribute, or for a drawing, where no `bdi` is: cut, escaped, without marks that turn the direction of reading.
pub fn label(text: &str) -> String {
    drawn(&cut(text))
}

/// The same, not cut.
pub fn drawn(text: &str) -> String {
    let turns = |c: char| matches!(c, '\u{200e}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{061c}');
    let plain: String = text
        .chars()
        .map(|c| if turns(c) { '\u{fffd}' } else { c })
        .collect();
    escaped(&plain)
}

fn cut(text: &str) -> String {
    if text.chars().count() <= LABEL {
        return text.to_string();
    }
    let begin: String = text.chars().take(LABEL - 1).collect();
    format!("{begin}…")
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(' '),
            // No XML may hold them, escaped or not.
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// A number with so many decimals, with a minus sign as printed; no minus before nothing.
pub fn number(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_string(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

/// A number and its unit, or that there is none.
pub fn measured(x: Option<f64>, decimals: usize, unit: &str) -> String {
    x.map_or("not worked out".to_string(), |x| {
        format!("{}\u{a0}{unit}", number(x, decimals))
    })
}

/// `1 bore`, `2 bores`.
pub fn several(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

/// A moment as people write it, to the minute; as it is where it is none. `2026-01-02T03:04:05.678Z` is `2026-01-02 03:04 UTC`.
pub fn moment(text: &str) -> String {
    let parts = text.split_once('T').zip(text.strip_suffix('Z'));
    match parts.and_then(|((day, time), _)| Some((day, time.get(..5)?))) {
        Some((day, time)) => format!("{day} {time} UTC"),
        None => text.to_string(),
    }
}

/// A coordinate of a drawing.
pub fn at(x: f64) -> String {
    let text = format!("{x:.1}");
    if text == "-0.0" {
        "0".to_string()
    } else {
        text.strip_suffix(".0").map(String::from).unwrap_or(text)
    }
}

/// `1.20 % (1 in 83.3)`; level where it is nothing.
pub fn grade(g: f64) -> String {
    if g == 0.0 {
        return "level".to_string();
    }
    format!("{} % (1 in {})", number(g * 100.0, 3), number(1.0 / g, 1))
}

/// Money, whole, in groups of three.
pub fn money(x: f64) -> String {
    let digits = number(x.round(), 0);
    let (sign, digits) = match digits.strip_prefix('\u{2212}') {
        Some(rest) => ("\u{2212}", rest.to_string()),
        None => ("", digits),
    };
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push('\u{202f}');
        }
        out.push(c);
    }
    format!("{sign}{out}")
}

/// The end of an id, where it begins with the route's.
pub fn tail<'a>(id: &'a str, route: &str) -> &'a str {
    id.strip_prefix(route)
        .and_then(|rest| rest.strip_prefix('-'))
        .unwrap_or(id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stood_in_a_file_is_text() {
        assert_eq!(
            words("<script>alert(\"1\")</script> & 'x'\u{1}"),
            "<bdi>&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; &#39;x&#39;\u{fffd}</bdi>"
        );
        assert_eq!(label("a\u{202e}b"), "a\u{fffd}b");
        assert_eq!(label(&"x".repeat(10_000)).chars().count(), LABEL);
        assert!(words(&"x".repeat(10_000)).len() > 10_000);
        assert_eq!(said(Some("  ")), "not stated");
    }

    #[test]
    fn numbers_read_as_printed() {
        assert_eq!(number(-0.001, 2), "0.00");
        assert_eq!(number(-1.5, 1), "\u{2212}1.5");
        assert_eq!((at(-0.01).as_str(), at(12.04).as_str()), ("0", "12"));
        assert_eq!(money(1_234_567.4), "1\u{202f}234\u{202f}567");
        assert_eq!(money(-999.6), "\u{2212}1\u{202f}000");
        assert_eq!(moment("2026-01-02T03:04:05.678Z"), "2026-01-02 03:04 UTC");
        assert_eq!((moment("T"), moment("é TZ")), ("T".into(), "é TZ".into()));
        assert_eq!(
            (several(1, "bore"), several(0, "bore")),
            ("1 bore".into(), "0 bores".into())
        );
        assert_eq!(grade(0.0), "level");
        assert_eq!(grade(0.0125), "1.250 % (1 in 80.0)");
        assert_eq!(tail("A-B-B01", "A-B"), "B01");
        assert_eq!(tail("AB-B01", "A"), "AB-B01");
    }
}
