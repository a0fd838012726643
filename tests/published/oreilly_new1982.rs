use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::settlement::{Ground, LinearFit, linear_width},
};

pub fn pages() -> Vec<Page> {
    vec![by_depth(), fits()]
}

fn by_depth() -> Page {
    let [stiff, soft, sand] =
        [Ground::StiffClay, Ground::SoftToFirmClay, Ground::Granular].map(Ground::k);
    Page::from_memory(Source::OReillyNew1982, "width of the trough by depth")
        .rule("stiff clay", "0.4", stiff.expected)
        .rule("soft to firm clay", "0.5", soft.expected)
        .rule("soft to firm clay, least", "0.4", soft.low)
        .rule("soft to firm clay, greatest", "0.7", soft.high)
        .rule("granular, least", "0.25", sand.low)
        .rule("granular, greatest", "0.35", sand.high)
}

/// The fits' slopes, what they give at the surface, and the depths beyond which they are refused.
fn fits() -> Page {
    let page = Page::from_memory(Source::OReillyNew1982, "linear fits");
    let rows: [(LinearFit, f64, [&'static str; 4]); 2] = [
        (LinearFit::Clay, 10.0, ["0.43", "1.1", "3", "34"]),
        (LinearFit::Sand, 8.0, ["0.28", "-0.1", "6", "10"]),
    ];
    rows.into_iter().fold(page, |page, (fit, inside, printed)| {
        let at = |z| linear_width(z, fit).expect("in range").value();
        let slope = at(inside + 1.0) - at(inside);
        let refused = linear_width(100.0, fit).expect_err("far too deep");
        page.rule(&format!("{fit:?}, slope"), printed[0], slope)
            .rule(
                &format!("{fit:?}, at no depth, m"),
                printed[1],
                at(inside) - slope * inside,
            )
            .rule(&format!("{fit:?}, from m"), printed[2], refused.low)
            .rule(&format!("{fit:?}, to m"), printed[3], refused.high)
    })
}
