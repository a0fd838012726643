//! The spatial index: an R-tree beside the layer, and the triggers that keep it.
//!
//! Source: OGC 12-128r18, annex F.3 (triggers 1 to 4); 12-128r19, annex F.3 (2, 4, 5, 6 and 7: an update
//! of a row that is there no longer replaces it, so that "upsert" works). A file gets the set of its version.

use super::packed::{Entry, Tree};
use rusqlite::{Connection, Result, Statement};

/// `user_version` from which files have the newer triggers.
const NEWER_TRIGGERS: i64 = 10400;

/// Lays down the index of a layer's `geom`, row by row, from where its features lie: by rising fid.
pub(super) fn lay(c: &Connection, layer: &str, entries: &[Entry]) -> Result<()> {
    let name = create(c, layer)?;
    if entries.is_empty() {
        return Ok(());
    }
    let tree = Tree::new(entries, node_size(c, &name)?);
    let into = |table: &str| {
        c.prepare(&format!(
            "INSERT OR REPLACE INTO \"{name}_{table}\" VALUES (?1, ?2)"
        ))
    };
    let (mut nodes, mut parents, mut leaves) = (into("node")?, into("parent")?, into("rowid")?);
    let mut data = vec![];
    for number in 1..=tree.nodes() as i64 {
        tree.node(number, &mut data);
        nodes.execute((number, &data))?;
        if let Some(parent) = tree.parent(number) {
            put(&mut parents, number, parent)?;
        }
    }
    (entries.iter().enumerate()).try_for_each(|(i, e)| put(&mut leaves, e.fid, tree.leaf(i)))
}

fn put(insert: &mut Statement, key: i64, value: i64) -> Result<()> {
    insert.execute((key, value)).map(|_| ())
}

/// Takes over the index of a layer as it lies in the file attached as `side`.
pub(super) fn take(c: &Connection, layer: &str) -> Result<()> {
    let name = create(c, layer)?;
    for table in ["node", "rowid", "parent"] {
        c.execute_batch(&format!(
            "DELETE FROM main.\"{name}_{table}\"; INSERT INTO main.\"{name}_{table}\" SELECT * FROM side.\"{name}_{table}\";"
        ))?;
    }
    Ok(())
}

/// Makes an index with nothing in it; gives its name.
pub(super) fn create(c: &Connection, layer: &str) -> Result<String> {
    let name = format!("rtree_{layer}_geom");
    c.execute_batch(&format!(
        "CREATE VIRTUAL TABLE \"{name}\" USING rtree(id, minx, maxx, miny, maxy)"
    ))?;
    Ok(name)
}

/// Bytes of a node of an index that has nothing in it yet.
pub(super) fn node_size(c: &Connection, name: &str) -> Result<usize> {
    let root = format!("SELECT length(data) FROM \"{name}_node\" WHERE nodeno = 1");
    c.query_row(&root, [], |r| r.get::<_, u32>(0))
        .map(|size| size as usize)
}

/// Says that the layer has the index, and adds the triggers that keep it.
pub(super) fn register(c: &Connection, layer: &str) -> Result<()> {
    let name = format!("rtree_{layer}_geom");
    c.execute(
        "INSERT INTO gpkg_extensions (table_name, column_name, extension_name, definition, scope)
         VALUES (?1, 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec120/#extension_rtree', 'write-only')",
        [layer],
    )?;
    c.execute_batch(&triggers(layer, &name, version(c)?))
}

fn version(c: &Connection) -> Result<i64> {
    c.query_row("PRAGMA user_version", [], |r| r.get(0))
}

fn triggers(layer: &str, index: &str, version: i64) -> String {
    let updates = match version >= NEWER_TRIGGERS {
        true => NEWER_UPDATES,
        false => OLDER_UPDATES,
    };
    let fill_in = |sql: &str| sql.replace("<index>", index).replace("<layer>", layer);
    [ALWAYS, updates].map(fill_in).concat()
}

const ALWAYS: &str = r#"
CREATE TRIGGER "<index>_insert" AFTER INSERT ON "<layer>"
 WHEN (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom"))
 BEGIN INSERT OR REPLACE INTO "<index>" VALUES (NEW."fid", ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"), ST_MinY(NEW."geom"), ST_MaxY(NEW."geom")); END;
CREATE TRIGGER "<index>_update2" AFTER UPDATE OF "geom" ON "<layer>"
 WHEN OLD."fid" = NEW."fid" AND (NEW."geom" ISNULL OR ST_IsEmpty(NEW."geom"))
 BEGIN DELETE FROM "<index>" WHERE id = OLD."fid"; END;
CREATE TRIGGER "<index>_update4" AFTER UPDATE ON "<layer>"
 WHEN OLD."fid" != NEW."fid" AND (NEW."geom" ISNULL OR ST_IsEmpty(NEW."geom"))
 BEGIN DELETE FROM "<index>" WHERE id IN (OLD."fid", NEW."fid"); END;
CREATE TRIGGER "<index>_delete" AFTER DELETE ON "<layer>"
 WHEN OLD."geom" NOTNULL
 BEGIN DELETE FROM "<index>" WHERE id = OLD."fid"; END;
"#;

const OLDER_UPDATES: &str = r#"
CREATE TRIGGER "<index>_update1" AFTER UPDATE OF "geom" ON "<layer>"
 WHEN OLD."fid" = NEW."fid" AND (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom"))
 BEGIN INSERT OR REPLACE INTO "<index>" VALUES (NEW."fid", ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"), ST_MinY(NEW."geom"), ST_MaxY(NEW."geom")); END;
CREATE TRIGGER "<index>_update3" AFTER UPDATE ON "<layer>"
 WHEN OLD."fid" != NEW."fid" AND (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom"))
 BEGIN DELETE FROM "<index>" WHERE id = OLD."fid";
 INSERT OR REPLACE INTO "<index>" VALUES (NEW."fid", ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"), ST_MinY(NEW."geom"), ST_MaxY(NEW."geom")); END;
"#;

const NEWER_UPDATES: &str = r#"
CREATE TRIGGER "<index>_update5" AFTER UPDATE ON "<layer>"
 WHEN OLD."fid" != NEW."fid" AND (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom"))
 BEGIN DELETE FROM "<index>" WHERE id = OLD."fid";
 INSERT OR REPLACE INTO "<index>" VALUES (NEW."fid", ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"), ST_MinY(NEW."geom"), ST_MaxY(NEW."geom")); END;
CREATE TRIGGER "<index>_update6" AFTER UPDATE OF "geom" ON "<layer>"
 WHEN OLD."fid" = NEW."fid" AND (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom")) AND (OLD."geom" NOTNULL AND NOT ST_IsEmpty(OLD."geom"))
 BEGIN UPDATE "<index>" SET minx = ST_MinX(NEW."geom"), maxx = ST_MaxX(NEW."geom"), miny = ST_MinY(NEW."geom"), maxy = ST_MaxY(NEW."geom") WHERE id = NEW."fid"; END;
CREATE TRIGGER "<index>_update7" AFTER UPDATE OF "geom" ON "<layer>"
 WHEN OLD."fid" = NEW."fid" AND (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom")) AND (OLD."geom" ISNULL OR ST_IsEmpty(OLD."geom"))
 BEGIN INSERT INTO "<index>" VALUES (NEW."fid", ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"), ST_MinY(NEW."geom"), ST_MaxY(NEW."geom")); END;
"#;
