//! Location quality levels that the rules in force do not know.

use crate::{
    job::JobFile,
    site::{Quality, Service},
};

/// A warning for each level that services state and no rule gives limits for.
pub fn warnings(file: &JobFile, services: &[Service]) -> Vec<String> {
    let unknown = Quality::ALL.iter();
    let unknown = unknown.filter(|level| !file.in_force.knows_level(**level));
    let warning = |level: &Quality| {
        let count = services.iter().filter(|s| s.quality == *level).count();
        (count > 0).then(|| {
            format!(
                "services of location quality {level}: {count}, and the rules in force give no limits for it, so they are taken as of unknown quality; name a scheme that has it in rules.quality_scheme, or state rules.quality.{level}"
            )
        })
    };
    unknown.filter_map(warning).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::{FeatureRef, Kind, ZMeans};

    fn service(quality: Quality) -> Service {
        Service {
            at: FeatureRef {
                layer: "mains".into(),
                fid: 1,
            },
            parts: vec![],
            kind: Kind::Water,
            diameter_mm: None,
            cover_m: None,
            quality,
            owner: None,
            material: None,
            abandoned: false,
            z_means: ZMeans::Top,
        }
    }

    #[test]
    fn a_level_without_limits_is_said_once_with_its_number() {
        let file = JobFile::default();
        let services = [Quality::B1, Quality::B, Quality::B1].map(service);
        let said = warnings(&file, &services);
        assert_eq!(said.len(), 1);
        assert!(
            said[0].starts_with("services of location quality B1: 2, "),
            "{said:?}"
        );
        let text = "[rules.quality.B1]\nhorizontal_m = 0.15\nvertical_m = 0.15\n";
        let own = JobFile::parse(text, "job.toml").expect("reads");
        assert!(warnings(&own, &services).is_empty());
    }
}
