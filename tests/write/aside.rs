//! Very many rows, laid down by two threads.

use crate::dump::{Dump, integrity, open, texts, whole};
use crate::site::{Site, crs, run};
use crate::synthetic;
use pitwright::plan::Plan;
use pitwright::write::{Target, layers, plan_tables};

/// Written by so many threads, into the site and into a file of its own.
fn written(plan: &Plan, threads: usize) -> Site {
    let site = Site::new();
    // GDAL notes when it made the other layers.
    site.sql("UPDATE gpkg_contents SET last_change = '2026-01-01T00:00:00.000Z'");
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .unwrap();
    pool.install(|| {
        let tables = plan_tables(plan);
        layers(&Target::site(&site.file), &crs(), &tables, &run(), false).unwrap();
        layers(&Target::site(&site.file), &crs(), &tables, &run(), true).unwrap();
        let out = site.beside("out.gpkg");
        layers(
            &Target::out(&site.file, out),
            &crs(),
            &tables,
            &run(),
            false,
        )
        .unwrap();
    });
    site
}

/// Table by table and row by row.
fn alike(a: &Dump, b: &Dump) {
    assert!(a.keys().eq(b.keys()));
    for (table, rows) in a {
        assert_eq!(rows.len(), b[table].len(), "{table}");
        for (x, y) in rows.iter().zip(&b[table]) {
            assert_eq!(x, y, "{table}");
        }
    }
}

#[test]
fn two_threads_write_what_one_writes() {
    let plan = synthetic::plan(4000, 5);
    let lesser = plan.bores.len() + plan.pits.len() + plan.sections.len() + plan.conflicts.len();
    assert!(lesser > 20_000, "too few to be built aside");
    let (one, two) = (written(&plan, 1), written(&plan, 2));
    let out = |s: &Site| s.beside("out.gpkg");
    alike(&whole(&one.file), &whole(&two.file));
    alike(&whole(&out(&one)), &whole(&out(&two)));
    for file in [&two.file, &out(&two)] {
        assert_eq!(integrity(file), ["ok"]);
        let c = open(file);
        let indexes = texts(
            &c,
            "SELECT name FROM sqlite_master WHERE sql LIKE 'CREATE VIRTUAL TABLE%rtree%' ORDER BY 1",
        );
        assert!(indexes.len() > 5);
        for index in indexes {
            assert_eq!(
                texts(&c, &format!("SELECT rtreecheck('{index}')")),
                ["ok"],
                "{index}"
            );
        }
    }
    let order = "SELECT table_name FROM gpkg_contents ORDER BY rowid";
    assert_eq!(
        texts(&open(&one.file), order),
        texts(&open(&two.file), order)
    );
    let left: Vec<_> = std::fs::read_dir(two.folder.path())
        .unwrap()
        .map(|f| f.unwrap().file_name())
        .collect();
    assert_eq!(left.len(), 2, "{left:?}");
}
