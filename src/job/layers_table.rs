//! `[layers]` of a job file.

use super::{
    error::{JobError, JobFault},
    layers::{LayerSource, Layers, Role},
    nearest,
    text::Source,
    value::KeyPath,
};
use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

const Z_MEANS: [&str; 3] = ["top", "centre", "invert"];
const Z_UNIT: [&str; 3] = ["m", "ft", "us-ft"];

/// Reads `[layers]`.
///
/// # Errors
/// An unknown role, column or word, or a value that is no text.
pub fn read(source: &Source, value: &Spanned<DeValue>) -> Result<Layers, JobError> {
    let path = KeyPath::of("layers");
    let mut layers = Layers::default();
    for (name, value) in table(source, &path, value)? {
        let path = path.join(name.get_ref());
        let role = Role::named(name.get_ref())
            .ok_or_else(|| source.error(name.span().start, unknown_role(&path)))?;
        layers
            .by_role
            .insert(role, layer_sources(source, role, &path, value)?);
    }
    Ok(layers)
}

/// One layer, or for `services` one or several.
fn layer_sources(
    source: &Source,
    role: Role,
    path: &KeyPath,
    value: &Spanned<DeValue>,
) -> Result<Vec<LayerSource>, JobError> {
    let DeValue::Array(several) = value.get_ref() else {
        return Ok(vec![layer_source(source, role, path, value)?]);
    };
    if role != Role::Services {
        let expected = format!("one table, [{path}]: only services may be several layers");
        return Err(source.bad(path, value.get_ref(), value.span().start, expected));
    }
    several
        .iter()
        .map(|v| layer_source(source, role, path, v))
        .collect()
}

fn layer_source(
    source: &Source,
    role: Role,
    path: &KeyPath,
    value: &Spanned<DeValue>,
) -> Result<LayerSource, JobError> {
    let mut layer = LayerSource::default();
    for (key, value) in table(source, path, value)? {
        let path = path.join(key.get_ref());
        let text = || text(source, &path, value);
        match key.get_ref().as_ref() {
            "table" => layer.table = Some(text()?),
            "file" => layer.file = Some(text()?.into()),
            "z_means" if role == Role::Services => {
                layer.z_means = Some(word(source, &path, value, &Z_MEANS)?)
            }
            "z_unit" => layer.z_unit = Some(word(source, &path, value, &Z_UNIT)?),
            column if role.columns().contains(&column) => {
                layer.columns.insert(column.to_string(), text()?);
            }
            _ => return Err(source.error(key.span().start, unknown_column(role, &path))),
        }
    }
    Ok(layer)
}

fn table<'a, 'b>(
    source: &Source,
    path: &KeyPath,
    value: &'b Spanned<DeValue<'a>>,
) -> Result<&'b DeTable<'a>, JobError> {
    let at = value.span().start;
    value
        .get_ref()
        .as_table()
        .ok_or_else(|| source.bad(path, value.get_ref(), at, format!("a table, [{path}]")))
}

fn text(source: &Source, path: &KeyPath, value: &Spanned<DeValue>) -> Result<String, JobError> {
    let given = value.get_ref().as_str().filter(|s| !s.trim().is_empty());
    let bad = || {
        source.bad(
            path,
            value.get_ref(),
            value.span().start,
            "a text in quotes, not empty".to_string(),
        )
    };
    given.map(str::to_string).ok_or_else(bad)
}

fn word(
    source: &Source,
    path: &KeyPath,
    value: &Spanned<DeValue>,
    words: &[&str],
) -> Result<String, JobError> {
    let given = value.get_ref().as_str().filter(|s| words.contains(s));
    let bad = || {
        source.bad(
            path,
            value.get_ref(),
            value.span().start,
            format!("one of \"{}\"", words.join("\", \"")),
        )
    };
    given.map(str::to_string).ok_or_else(bad)
}

fn unknown_role(path: &KeyPath) -> JobFault {
    let known: Vec<&str> = Role::ALL.iter().map(|r| r.name()).collect();
    JobFault::UnknownWord {
        key: path.to_string(),
        word: path.name().to_string(),
        what: "role",
        nearest: nearest::word(path.name(), known.iter().copied())
            .unwrap_or_default()
            .to_string(),
        known: known.join(", "),
    }
}

fn unknown_column(role: Role, path: &KeyPath) -> JobFault {
    let fixed = ["table", "file", "z_unit"]
        .into_iter()
        .chain((role == Role::Services).then_some("z_means"));
    let nearest = nearest::word(path.name(), fixed.chain(role.columns().iter().copied()));
    JobFault::UnknownKey {
        key: path.to_string(),
        nearest: path.table().join(nearest.unwrap_or_default()).to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn layers(text: &str) -> Result<Layers, String> {
        let source = Source {
            name: "job.toml",
            text,
        };
        let given = super::super::given::read(&source);
        given.map(|g| g.layers).map_err(|e| e.to_string())
    }

    #[test]
    fn a_role_is_filled_by_a_named_table_with_renamed_columns() {
        let read = layers(
            "[layers.routes]\ntable = \"new sewers\"\nfile = \"design.gpkg\"\nroute_id = \"ref\"\n",
        );
        let read = read.expect("reads");
        let routes = &read.by_role[&Role::Routes][0];
        assert_eq!(routes.table.as_deref(), Some("new sewers"));
        assert_eq!(routes.columns["route_id"], "ref");
    }

    #[test]
    fn services_may_be_several_layers_and_others_not() {
        let read = layers(
            "[[layers.services]]\ntable = \"gas\"\n[[layers.services]]\ntable = \"water\"\nz_means = \"centre\"\n",
        );
        assert_eq!(read.expect("reads").by_role[&Role::Services].len(), 2);
        let refused = layers("[[layers.routes]]\ntable = \"a\"\n").expect_err("one only");
        assert!(
            refused.contains("only services may be several layers"),
            "{refused}"
        );
    }

    #[test]
    fn an_unknown_role_column_or_word_is_refused() {
        let cases = [
            (
                "[layers.route]\n",
                "'route' is no role; the nearest known one is routes",
            ),
            (
                "[layers.routes]\ndn = \"d\"\n",
                "the nearest known one is layers.routes.dn_mm",
            ),
            (
                "[layers.routes]\nz_means = \"top\"\n",
                "unknown key layers.routes.z_means",
            ),
            (
                "[layers.services]\nz_means = \"bottom\"\n",
                "expected one of \"top\", \"centre\", \"invert\"",
            ),
            (
                "[layers.lots]\ntable = 3\n",
                "layers.lots.table is 3, expected a text in quotes",
            ),
            (
                "[layers]\nlots = \"parcels\"\n",
                "layers.lots is \"parcels\", expected a table, [layers.lots]",
            ),
        ];
        for (text, expected) in cases {
            let refused = layers(text).expect_err("refused");
            assert!(refused.contains(expected), "{refused}");
        }
    }
}
