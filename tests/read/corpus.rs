//! Files that other programs wrote, of every geometry type and with many odd habits.
//!
//! They are not part of the project: `PITWRIGHT_CORPUS` names the folder they lie in.

use crate::fixture::{naming, plan, table};
use pitwright::job::{Layers, Role};
use pitwright::read::{Fault, LayerSeen, Problem};
use std::path::{Path, PathBuf};

/// A layer taken for points, for lines and for polygons: one of them must find something in it, if it holds anything.
fn in_every_part(file: &Path, layer: &LayerSeen) {
    let mut used = 0;
    for role in [Role::Trees, Role::Fences, Role::Keepouts] {
        let job = naming(role, table(&layer.name));
        let i = pitwright::read::inspect(file, &plan(&job)).unwrap();
        let mine = |f: &&Fault| f.place.layer.as_deref() == Some(layer.name.as_str());
        let no_use = i.faults.iter().filter(mine).filter(|f| {
            use Problem::*;
            matches!(
                f.problem,
                NoGeometry
                    | EmptyGeometry
                    | WrongGeometry { .. }
                    | NothingLeft
                    | BadGeometry { .. }
                    | OwnLayer { .. }
            )
        });
        used += layer.features as usize - no_use.count().min(layer.features as usize);
        println!(
            "  {} as {}: {:?}",
            layer.name,
            role.name(),
            i.faults
                .iter()
                .map(|f| f.problem.to_string())
                .take(2)
                .collect::<Vec<_>>()
        );
    }
    println!("  {} {} features, {used} used", layer.name, layer.features);
}

#[test]
fn every_file_of_the_corpus_is_looked_at_and_left_as_it_is() {
    let Some(folder) = std::env::var_os("PITWRIGHT_CORPUS") else {
        return println!("skipped: PITWRIGHT_CORPUS names no folder");
    };
    let files = std::fs::read_dir(folder)
        .unwrap()
        .flatten()
        .map(|f| f.path());
    let mut files: Vec<PathBuf> = files
        .filter(|p| p.extension().is_some_and(|e| e == "gpkg"))
        .collect();
    files.sort();
    assert!(!files.is_empty(), "the folder holds no GeoPackage");
    let none = Layers::default();
    for file in &files {
        let before = std::fs::read(file).unwrap();
        match pitwright::read::inspect(file, &plan(&none)) {
            Ok(i) => {
                println!("{}: {} layers", file.display(), i.layers.len());
                i.layers
                    .iter()
                    .filter(|l| l.geometry.is_some())
                    .for_each(|l| in_every_part(file, l));
            }
            Err(e) => println!("{e}"),
        }
        assert!(
            before == std::fs::read(file).unwrap(),
            "{} was changed",
            file.display()
        );
    }
    println!("{} files", files.len());
}
