//! How well the place of a service is known: limits by quality level, and what they come to at a depth.

use super::{
    inforce::InForce,
    settings::{Limits, Rules, Shares},
    value::Value,
};
use crate::site::Quality;
use std::collections::BTreeMap;

/// Limits by level: the level's own, else those of a service that states no level.
pub(super) fn fixed(v: &InForce) -> BTreeMap<Quality, Limits> {
    let of = |level: Quality| {
        Some(Limits {
            horizontal_m: number(v, level, "horizontal_m")?,
            vertical_m: number(v, level, "vertical_m")?,
        })
    };
    let unknown = of(Quality::Unknown)
        .expect("the rule set gives limits where no level is stated, as its test proves");
    let all = Quality::ALL.iter();
    all.map(|level| (*level, of(*level).unwrap_or(unknown)))
        .collect()
}

/// Shares of depth by level; only levels that have one.
pub(super) fn shares(v: &InForce) -> BTreeMap<Quality, Shares> {
    let of = |level: Quality| Shares {
        horizontal: number(v, level, "horizontal_share").unwrap_or(0.0),
        vertical: number(v, level, "vertical_share").unwrap_or(0.0),
    };
    let all = Quality::ALL.iter().map(|level| (*level, of(*level)));
    all.filter(|(_, s)| s.horizontal > 0.0 || s.vertical > 0.0)
        .collect()
}

fn number(v: &InForce, level: Quality, key: &str) -> Option<f64> {
    match v.get(&format!("rules.quality.{level}.{key}"))? {
        Value::Number(n) => Some(*n),
        _ => None,
    }
}

impl InForce {
    /// Whether the rules know a quality level; a service of one that they do not know is taken as of unknown quality.
    pub fn knows_level(&self, level: Quality) -> bool {
        number(self, level, "horizontal_m").is_some()
    }
}

impl Rules {
    /// The 95 % limits of a service's centre line at a depth below ground (m): the greater of the level's fixed limit and its
    /// share of depth. A depth that is not known leaves the share unknown, so the limits of unknown quality count where
    /// they are wider.
    ///
    /// # Source
    /// [PAS 128](crate::bibliography::Source::Pas128): B1 ± 15 % and B2 ± 40 % of detected depth. Whether detected depth is to top or
    /// centre is not said; the centre lies deeper, so its limits are the wider.
    ///
    /// # Examples
    /// ```
    /// use pitwright::{job::JobFile, site::Quality};
    /// let stated = "[rules.quality.B3]\nvertical_m = 1\n[rules.quality.B4]\nhorizontal_m = 1\nvertical_m = 1\n\
    ///               [rules.quality.C]\nhorizontal_m = 1\nvertical_m = 1\n[rules.quality.D]\nhorizontal_m = 2\nvertical_m = 1\n";
    /// let text = format!("[rules]\nquality_scheme = \"pas128\"\n{stated}");
    /// let rules = JobFile::parse(&text, "job.toml")?.job.rules;
    /// assert!((rules.limits(Quality::B1, Some(1.2)).horizontal_m - 0.18).abs() < 1e-12);
    /// assert_eq!(rules.limits(Quality::B1, Some(0.8)).horizontal_m, 0.15);
    /// # Ok::<(), pitwright::job::JobError>(())
    /// ```
    pub fn limits(&self, level: Quality, depth_m: Option<f64>) -> Limits {
        let fixed = self.quality[&level];
        let Some(share) = self.quality_share.get(&level) else {
            return fixed;
        };
        let by_depth = match depth_m {
            Some(depth) => Limits {
                horizontal_m: share.horizontal * depth.max(0.0),
                vertical_m: share.vertical * depth.max(0.0),
            },
            None => self.quality[&Quality::Unknown],
        };
        fixed.widest(by_depth)
    }
}

impl Limits {
    /// The wider of both, either way.
    pub fn widest(self, other: Limits) -> Limits {
        Limits {
            horizontal_m: self.horizontal_m.max(other.horizontal_m),
            vertical_m: self.vertical_m.max(other.vertical_m),
        }
    }
}
