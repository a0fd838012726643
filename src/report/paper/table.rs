//! Columns of a table on paper: how wide, and where words go to the next line.

use super::{
    blocks::{Cell, Table},
    fonts::Fonts,
};

/// Room beside the words of a cell (units, left and right together).
pub const PAD: f64 = 8.0;
/// A word that is wider is broken (units).
const WIDEST_WORD: f64 = 110.0;

/// Widths of the columns, which together are `width`: as the words ask, the longest word whole where there is room.
pub fn columns(fonts: &Fonts, table: &Table, size: f64, width: f64) -> Vec<f64> {
    let n = (table.rows.iter().map(Vec::len).max())
        .unwrap_or(0)
        .max(table.head.len());
    let cells = |i: usize| {
        let rows = [&table.head].into_iter().chain(&table.rows);
        rows.filter_map(move |r| r.get(i))
    };
    let greatest = |of: &dyn Fn(&Cell) -> f64, i: usize| cells(i).map(of).fold(12.0, f64::max);
    let word = |c: &Cell| {
        let words = c.words.split(' ');
        let widest = words
            .map(|w| fonts.width(w, size, c.bold))
            .fold(0.0, f64::max);
        widest.min(WIDEST_WORD) + PAD
    };
    let whole = |c: &Cell| fonts.width(&c.words, size, c.bold) + PAD;
    let least: Vec<f64> = (0..n).map(|i| greatest(&word, i)).collect();
    let most: Vec<f64> = (0..n).map(|i| greatest(&whole, i)).collect();
    shared_out(&least, &most, width)
}

/// At least `least` and at most `most` where that is possible; all together `width`.
fn shared_out(least: &[f64], most: &[f64], width: f64) -> Vec<f64> {
    let (low, high) = (least.iter().sum::<f64>(), most.iter().sum::<f64>());
    if high <= width {
        return most.iter().map(|w| w * width / high).collect();
    }
    if low >= width {
        return least.iter().map(|w| w * width / low).collect();
    }
    let share = (width - low) / (high - low);
    let one = |(l, m): (&f64, &f64)| l + (m - l) * share;
    least.iter().zip(most).map(one).collect()
}

/// A table whose columns stand too close is cut into several of fewer columns, the first column before each.
pub fn cut(fonts: &Fonts, table: Table, size: f64, width: f64) -> Vec<Table> {
    let n = table.rows.iter().map(Vec::len).max().unwrap_or(0);
    let widest = |i: usize| {
        let cells = table.rows.iter().filter_map(|r| r.get(i));
        cells
            .map(|c| fonts.width(&c.words, size, c.bold) + PAD)
            .fold(0.0, f64::max)
    };
    let widths: Vec<f64> = (0..n).map(widest).collect();
    // Only where there are no names of columns: those wrap.
    if !table.head.is_empty() || widths.iter().sum::<f64>() <= width {
        return vec![table];
    }
    let mut groups: Vec<Vec<usize>> = vec![vec![]];
    let mut used = widths[0];
    for (i, w) in widths.iter().enumerate().skip(1) {
        let begun = groups.last().is_some_and(|g| !g.is_empty());
        if used + w > width && begun {
            groups.push(vec![]);
            used = widths[0];
        }
        used += w;
        groups.last_mut().expect("one was begun").push(i);
    }
    let part = |(k, group): (usize, &Vec<usize>)| Table {
        caption: if k == 0 {
            table.caption.clone()
        } else {
            String::new()
        },
        head: vec![],
        rows: (table.rows.iter())
            .map(|r| {
                [&0].into_iter()
                    .chain(group)
                    .filter_map(|i| r.get(*i).cloned())
                    .collect()
            })
            .collect(),
    };
    groups.iter().enumerate().map(part).collect()
}

/// Text in lines no wider than `width`; a word that is wider is broken.
pub fn lines(fonts: &Fonts, text: &str, size: f64, bold: bool, width: f64) -> Vec<String> {
    let fits = |line: &str| fonts.width(line, size, bold) <= width;
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let line = lines.last_mut().expect("there is one");
        let longer = if line.is_empty() {
            word.to_string()
        } else {
            format!("{line} {word}")
        };
        if fits(&longer) {
            *line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(String::new());
        }
        for c in word.chars() {
            let line = lines.last_mut().expect("there is one");
            let longer = format!("{line}{c}");
            if fits(&longer) || line.is_empty() {
                *line = longer;
            } else {
                lines.push(c.to_string());
            }
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(words: &str) -> Cell {
        Cell {
            words: words.to_string(),
            bold: false,
        }
    }

    #[test]
    fn columns_fill_the_width_and_lines_keep_to_it() {
        let fonts = Fonts::new(&[] as &[&str]).expect("the typeface");
        let table = Table {
            head: vec![cell("At m"), cell("Service")],
            rows: vec![vec![
                cell("12.50"),
                cell("gas crossing, depth unknown, gas_mains fid 12"),
            ]],
            ..Table::default()
        };
        for width in [60.0, 200.0, 900.0] {
            let columns = columns(&fonts, &table, 10.0, width);
            assert!((columns.iter().sum::<f64>() - width).abs() < 1e-6);
        }
        let all = lines(
            &fonts,
            &format!("one two {}", "x".repeat(100)),
            10.0,
            false,
            80.0,
        );
        assert!(all.iter().all(|l| fonts.width(l, 10.0, false) <= 80.0));
        assert_eq!(
            all.concat().replace(' ', ""),
            format!("onetwo{}", "x".repeat(100))
        );
    }

    #[test]
    fn many_columns_are_cut_and_none_is_lost() {
        let fonts = Fonts::new(&[] as &[&str]).expect("the typeface");
        let row = [cell("Invert")]
            .into_iter()
            .chain((0..40).map(|i| cell(&format!("{i}.125"))));
        let table = Table {
            rows: vec![row.collect()],
            ..Table::default()
        };
        let parts = cut(&fonts, table, 10.0, 300.0);
        assert!(parts.len() > 2 && parts.iter().all(|t| t.rows[0][0].words == "Invert"));
        let cells: usize = parts.iter().map(|t| t.rows[0].len() - 1).sum();
        assert_eq!(cells, 40);
    }
}
