//! Very many rows, laid down by two threads.

use crate::dump::{integrity, open, texts, whole};
use crate::site::{Site, crs, run};
use crate::synthetic;
use pitwright::plan::Plan;
use pitwright::write::{Target, layers, plan_tables};

/// Written by so many threads, into the site and into a file of its own.
fn written(plan: &Plan, threads: usize) -> Site {
    let site = Site::new();
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

#[test]
fn two_threads_write_what_one_writes() {
    let plan = synthetic::plan(4000, 5);
    let lesser = plan.bores.len() + plan.pits.len() + plan.sections.len() + plan.conflicts.len();
    assert!(lesser > 20_000, "too few to be built aside");
    let (one, two) = (written(&plan, 1), written(&plan, 2));
    let out = |s: &Site| s.beside("out.gpkg");
    assert!(whole(&one.file) == whole(&two.file) && whole(&out(&one)) == whole(&out(&two)));
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
