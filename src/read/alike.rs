//! Lines that say the same of many features, put together for people to read.

use std::collections::HashMap;

/// So many of a kind are read one by one.
const ONE_BY_ONE: usize = 3;
/// So many more are named by their fid.
const NAMED: usize = 5;

/// Lines that speak each of a feature (`LAYER fid N: …`) and differ in numbers and quoted words only are put together from the
/// fourth on, behind the first three; the others stay as they are.
pub fn alike(lines: &[String]) -> Vec<String> {
    let mut groups: Vec<Vec<usize>> = vec![];
    let mut of_kind: HashMap<String, usize> = HashMap::new();
    for (i, line) in lines.iter().enumerate() {
        let known = fid(line).map(|_| *of_kind.entry(kind(line)).or_insert(groups.len()));
        match known.and_then(|k| groups.get_mut(k)) {
            Some(group) => group.push(i),
            None => groups.push(vec![i]),
        }
    }
    let mut out = vec![];
    for group in groups {
        let (shown, more) = group.split_at(ONE_BY_ONE.min(group.len()));
        out.extend(shown.iter().map(|i| lines[*i].clone()));
        match more {
            [] => {}
            [one] => out.push(lines[*one].clone()),
            [first, ..] => out.push(together(lines, *first, more)),
        }
    }
    out
}

/// One line for several of a kind.
fn together(lines: &[String], first: usize, more: &[usize]) -> String {
    let fids: Vec<&str> = more.iter().filter_map(|i| fid(&lines[*i])).collect();
    let named = fids[..NAMED.min(fids.len())].join(", ");
    let others = match fids.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!(" and {n} others"),
    };
    let place = lines[first].split(FID).next().unwrap_or_default();
    format!(
        "{place}: {} more like these: fid {named}{others}",
        more.len()
    )
}

const FID: &str = " fid ";

/// The fid of the feature that a line speaks of.
fn fid(line: &str) -> Option<&str> {
    let (_, rest) = line.split_once(FID)?;
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    let is_place = digits > 0 && rest[digits..].starts_with(':');
    is_place.then(|| &rest[..digits])
}

/// A line without its numbers and quoted words.
fn kind(line: &str) -> String {
    let mut out = String::new();
    let (mut quoted, mut number) = (false, false);
    let mut before = ' ';
    for c in line.chars() {
        // An apostrophe within a word quotes nothing.
        if c == '\'' && (quoted || !before.is_alphanumeric()) {
            quoted = !quoted;
        }
        let in_number = c.is_ascii_digit() || number && c == '.';
        let goes_on = in_number && number;
        if !quoted && !goes_on {
            out.push(if in_number { '0' } else { c });
        }
        (number, before) = (in_number, c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(of: &[&str]) -> Vec<String> {
        of.iter().map(|s| s.to_string()).collect()
    }

    #[test]
    fn the_fourth_and_more_of_a_kind_are_one_line() {
        let kind = |fid: usize| format!("a.gpkg: mains fid {fid}: diameter_mm: '-{fid}' is not it");
        let mut said: Vec<String> = (1..=4).map(kind).collect();
        assert_eq!(
            alike(&said),
            said,
            "nothing is gained by putting one together"
        );
        said.insert(2, "a.gpkg: mains: 3 of 9 have no depth".to_string());
        said.extend((5..=12).map(kind));
        let told = alike(&said);
        assert_eq!(told[..3], [kind(1), kind(2), kind(3)]);
        assert_eq!(
            told[3..],
            lines(&[
                "a.gpkg: mains: 9 more like these: fid 4, 5, 6, 7, 8 and 4 others",
                "a.gpkg: mains: 3 of 9 have no depth",
            ])
        );
    }

    #[test]
    fn other_layers_columns_and_problems_are_other_kinds() {
        let said = lines(&[
            "a.gpkg: mains fid 1: kind: 'gaz' is none of gas, water",
            "a.gpkg: mains fid 2: kind: 'gaz' is none of gas, water",
            "a.gpkg: mains fid 3: kind: 'wat' is none of gas, water",
            "a.gpkg: ducts fid 4: kind: 'gaz' is none of gas, water",
            "a.gpkg: mains fid 5: owner: 'gaz' is none of gas, water",
            "a.gpkg: mains fid 6: has no geometry",
            "route R1 has no plan",
            "route R2 has no plan",
            "route R3 has no plan",
            "route R4 has no plan",
            "route R5 has no plan",
        ]);
        assert_eq!(alike(&said), said);
    }

    #[test]
    fn heights_that_differ_are_of_one_kind_and_another_id_is_no_place() {
        let rise = |i: usize| format!("routes fid {i}: the ground rises by {i}.25 m");
        let said: Vec<String> = (1..=6).map(rise).collect();
        assert_eq!(alike(&said)[3], "routes: 3 more like these: fid 4, 5, 6");
        let none = lines(&["x.gpkg: a fid without a number"; 6]);
        assert_eq!(alike(&none), none);
    }
}
