//! Cells of a table that spreadsheets open (RFC 4180), and numbers as people read them.

/// Words as a cell. What a spreadsheet would take for a formula gets an apostrophe before it, which makes it words again;
/// control characters become blanks.
pub fn words(text: &str) -> String {
    let plain = one_line(text);
    let formula = plain.trim_start().starts_with(['=', '+', '-', '@']);
    quoted(if formula { format!("'{plain}") } else { plain })
}

/// Text without control characters and without blanks around.
pub fn one_line(text: &str) -> String {
    let plain = |c: char| if c.is_control() { ' ' } else { c };
    text.chars()
        .map(plain)
        .collect::<String>()
        .trim()
        .to_string()
}

/// In quotes where it must be: a comma, a quote or an end of line in it (RFC 4180, 2.6 and 2.7).
fn quoted(text: String) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

/// A number with so many decimals; zero has no sign.
pub fn number(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    let zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if zero { text.replace('-', "") } else { text }
}

/// A probability to three figures, so that a small one does not read as none.
pub fn probability(p: f64) -> String {
    if p == 0.0 || p >= 0.001 {
        number(p, 4)
    } else {
        format!("{p:.2e}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_spreadsheet_would_work_out_is_made_words() {
        for formula in ["=1+1", "+44 20", "-2", "@SUM(A1)", " =1", "\t=1", "\r=1"] {
            let cell = words(formula);
            assert!(cell.starts_with('\''), "{formula:?} {cell:?}");
        }
        assert_eq!(
            words("=HYPERLINK(\"x\",\"y\")"),
            "\"'=HYPERLINK(\"\"x\"\",\"\"y\"\")\""
        );
        assert_eq!(words("Gas-works"), "Gas-works");
    }

    #[test]
    fn commas_and_quotes_are_quoted_and_lines_joined() {
        assert_eq!(words("Beck, Tarn"), "\"Beck, Tarn\"");
        assert_eq!(words("the \"old\" main"), "\"the \"\"old\"\" main\"");
        assert_eq!(words("two\r\nlines"), "two  lines");
        assert_eq!(words("Società Łódź"), "Società Łódź");
    }

    #[test]
    fn numbers_keep_their_decimals_and_small_chances_show() {
        assert_eq!(number(-0.0001, 3), "0.000");
        assert_eq!(number(-0.24, 3), "-0.240");
        assert_eq!(probability(0.25), "0.2500");
        assert_eq!(probability(0.0), "0.0000");
        assert_eq!(probability(1.23e-7), "1.23e-7");
    }
}
