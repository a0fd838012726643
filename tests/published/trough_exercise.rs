use crate::page::Page;
use pitwright::{
    bibliography::Source,
    mechanics::settlement::{Trough, greatest_settlement, share_loss},
};

/// A tunnel of 8 m, 30 m down in soft silty clay, K 0.5, volume loss 0.4 %.
pub fn pages() -> Vec<Page> {
    let lost_m3_m = share_loss(8000.0, 0.004).expect("in range").value();
    let at = Trough {
        lost_m3_m,
        depth_m: 30.0,
        k: 0.5,
    };
    let w = greatest_settlement(at).expect("in range");
    let page = Page::secondary(Source::TroughExercise, "answer").worked(
        "greatest settlement, mm",
        "5.35",
        w.value(),
    );
    vec![page]
}
