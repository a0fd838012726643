//! `route_blockers`.

use crate::plan::{BlockerRow, Remedy, RemedyValue};
use crate::write::layer::{int, real, text};
use crate::write::{Geometry, GeometryType, Layer, Shape, Value, Word};

/// Stretches of routes without a plan that no lawful set of pits bridges.
pub static ROUTE_BLOCKERS: Layer<BlockerRow> = Layer {
    name: "route_blockers",
    description: "Stretches of routes without a plan that no lawful set of pits bridges, by the records. Chainages in metres.",
    geometry: Some(Geometry {
        kind: GeometryType::LineString,
        shape: |b| Shape::Line(b.line.as_slice().into()),
    }),
    columns: &[
        text("route_id", |b| (&b.route_id).into()),
        real("from_chainage_m", |b| b.blocker.from_chainage_m.into()),
        real("to_chainage_m", |b| b.blocker.to_chainage_m.into()),
        text("why", |b| b.blocker.why.word().into()),
        text("source_layer", |b| {
            b.blocker.source.as_ref().map(|s| &*s.layer).into()
        }),
        int("source_fid", |b| {
            b.blocker.source.as_ref().map(|s| s.fid).into()
        }),
        text("remedies", |b| Value::Text(remedies(&b.remedies).into())),
    ],
};

/// `reach 62.1 m; entry N3`: each alone would give the route a plan, but rows of one kind only together.
fn remedies(all: &[Remedy]) -> String {
    let of_kind = |same: &[Remedy]| {
        let values = same.iter().map(|r| match &r.value {
            RemedyValue::Metres(m) => format!("{m} m"),
            RemedyValue::Name(name) => name.clone(),
        });
        let values: Vec<String> = values.collect();
        format!("{} {}", same[0].kind.word(), values.join(" and "))
    };
    let kinds = all.chunk_by(|a, b| a.kind == b.kind).map(of_kind);
    kinds.collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::RemedyKind;

    #[test]
    fn what_is_needed_together_stands_together() {
        let row = |kind, value| Remedy {
            kind,
            value,
            source: None,
        };
        let name = |n: &str| RemedyValue::Name(n.to_string());
        let all = [
            row(RemedyKind::Reach, RemedyValue::Metres(62.1)),
            row(RemedyKind::Entry, name("N3")),
            row(RemedyKind::Entry, name("N4")),
        ];
        assert_eq!(remedies(&all), "reach 62.1 m; entry N3 and N4");
        assert_eq!(remedies(&[]), "");
    }
}
