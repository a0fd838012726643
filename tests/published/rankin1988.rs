use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::settlement::{Damage, RANKIN, damage},
};

/// Each limit is the least at which damage leaves its class, the other being small.
pub fn pages() -> Vec<Page> {
    let page = Page::from_memory(Source::Rankin1988, "risk categories of damage");
    let rows: [(Damage, &'static str, &'static str); 2] = [
        (Damage::Negligible, "10", "500"),
        (Damage::Slight, "50", "200"),
    ];
    let page = rows
        .iter()
        .zip(RANKIN)
        .fold(page, |page, ((class, mm, one_in), row)| {
            assert_eq!(damage(row.1 - 1e-9, 0.0).max(*class), *class);
            assert!(damage(row.1, 0.0) > *class && damage(0.0, 1.0 / row.2) > *class);
            page.rule(&format!("{}, below mm", class.word()), mm, row.1)
                .rule(
                    &format!("{}, flatter than 1 in", class.word()),
                    one_in,
                    row.2,
                )
        });
    vec![page]
}
