//! Files, folders and disks that cannot be written.

use crate::dump::{integrity, whole};
use crate::site::{Site, crs, run};
use crate::synthetic;
use crate::victim::Orders;
use pitwright::write::{Target, layers, plan_tables};
use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::Path;
use std::process::Command;

/// Permissions do not bind the superuser, so the victim is run as somebody else where the tests are run by him.
const AS_NOBODY: [&str; 4] = [
    "setpriv",
    "--reuid=65534",
    "--regid=65534",
    "--clear-groups",
];

fn lead(site: &Site) -> &'static [&'static str] {
    match fs::metadata(site.folder.path()).unwrap().uid() {
        0 => &AS_NOBODY,
        _ => &[],
    }
}

fn allow(path: &Path, mode: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

fn orders(site: &Site, out: Option<&str>, bores: usize) -> Orders {
    Orders {
        site: site.file.clone(),
        out: out.map(|o| site.beside(o)),
        bores,
    }
}

#[test]
fn a_read_only_file_is_said_to_be_so_and_stays_as_it_was() {
    let site = Site::new();
    let before = fs::read(&site.file).unwrap();
    allow(site.folder.path(), 0o777);
    allow(&site.file, 0o444);
    let said = orders(&site, None, 3).run(lead(&site));
    assert!(
        said.starts_with("ReadOnly |") && said.contains("is read-only"),
        "{said}"
    );
    assert!(before == fs::read(&site.file).unwrap());
    assert_eq!(
        orders(&site, Some("out.gpkg"), 3).run(lead(&site)),
        "wrote 13 layers"
    );
}

#[test]
fn a_read_only_folder_is_said_to_be_so_and_the_file_stays_as_it_was() {
    let site = Site::new();
    let before = fs::read(&site.file).unwrap();
    allow(&site.file, 0o666);
    allow(site.folder.path(), 0o555);
    for out in [None, Some("out.gpkg")] {
        let said = orders(&site, out, 3).run(lead(&site));
        assert!(
            said.starts_with("ReadOnlyFolder |")
                && said.contains("no file can be made in its folder"),
            "{said}"
        );
    }
    assert!(before == fs::read(&site.file).unwrap());
    allow(site.folder.path(), 0o755);
}

/// About as many bores as make rows that are still inserted one by one into a file that is there.
const INSERTED: usize = 1200;

/// Runs the victim in a shell that sets a limit first: no file may grow beyond 1 MB.
const SMALL_FILES: [&str; 3] = [
    "sh",
    "-c",
    "trap '' XFSZ; ulimit -f 2048; exec \"$0\" \"$@\"",
];

#[test]
fn a_write_that_fails_half_way_changes_nothing() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(30, 4)), false)
        .unwrap();
    let before = whole(&site.file);
    // Rows that SQLite inserts, and more of them, that are laid down as pages.
    for (bores, why) in [(INSERTED, "Sqlite"), (2000, "Pages")] {
        let said = orders(&site, None, bores).run(&SMALL_FILES);
        assert!(
            said.starts_with(why) && said.contains("nothing was changed"),
            "{said}"
        );
        assert!(before == whole(&site.file));
        assert_eq!(integrity(&site.file), ["ok"]);
        let said = orders(&site, Some("out.gpkg"), bores).run(&SMALL_FILES);
        assert!(said.starts_with("Pages"), "{said}");
    }
    let left: Vec<_> = fs::read_dir(site.folder.path())
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    assert_eq!(left, ["site.gpkg"]);
}

/// A small disk in a name space of its own, which goes when the victim goes. Its file is copied back out.
const SMALL_DISK: &str = r#"set -e; mount -t tmpfs -o size=$SIZE none "$DISK"; cp "$FROM" "$DISK/site.gpkg"
"$@"; rm -rf "$BACK"; cp -r "$DISK" "$BACK""#;

/// Fills the disk of that size; what the victim said, and where the site and the list of files were copied to.
fn fill(site: &Site, size: &str, out: Option<&str>, bores: usize) -> String {
    let disk = site.beside("disk");
    fs::create_dir_all(&disk).unwrap();
    let orders = Orders {
        site: disk.join("site.gpkg"),
        out: out.map(|o| disk.join(o)),
        bores,
    };
    let mut command = orders.command(&["unshare", "-rm", "sh", "-c", SMALL_DISK, "sh"]);
    command
        .env("DISK", &disk)
        .env("FROM", &site.file)
        .env("BACK", site.beside("back"))
        .env("SIZE", size);
    let output = command.output().unwrap();
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn may_mount() -> bool {
    let may = Command::new("unshare")
        .args(["-rm", "true"])
        .status()
        .is_ok_and(|s| s.success());
    if !may {
        println!("SKIPPED: this system lets nobody mount a small disk");
    }
    may
}

#[test]
fn a_full_disk_is_said_to_be_so_and_changes_nothing() {
    if !may_mount() {
        return;
    }
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(30, 4)), false)
        .unwrap();
    let before = whole(&site.file);
    let ways = [(None, INSERTED), (None, 2000), (Some("out.gpkg"), 2000)];
    for (out, bores) in ways {
        let said = fill(&site, "2m", out, bores);
        assert!(
            said.contains("outcome: DiskFull |") && said.contains("the disk is full"),
            "{said}"
        );
        assert!(before == whole(&site.beside("back/site.gpkg")));
        assert_eq!(names(&site), ["site.gpkg"]);
    }
}

/// Room for the log, but not for the log and the file both. (Rows taken over from a draft need as much room before the commit.)
#[test]
fn a_disk_that_fills_up_after_the_commit_keeps_the_new_layers() {
    if !may_mount() {
        return;
    }
    let site = Site::new();
    let file = site.beside("copy.gpkg");
    fs::copy(&site.file, &file).unwrap();
    layers(
        &Target::site(&file),
        &crs(),
        &plan_tables(&synthetic::plan(INSERTED, 11)),
        &run(),
        false,
    )
    .unwrap();
    let size = fs::metadata(&file).unwrap().len();
    // The least disk with room for the log, by tenths of the file.
    let mut tried =
        (12..25).map(|tenths| fill(&site, &(size * tenths / 10).to_string(), None, INSERTED));
    let said = tried.find(|said| !said.contains("outcome: DiskFull |"));
    let said = said.expect("room for the log at some size");
    assert!(
        said.contains("outcome: LogLeft |") && said.contains("keep both files together"),
        "{said}"
    );
    assert_eq!(names(&site), ["site.gpkg", "site.gpkg-wal"]);
    let back = site.beside("back/site.gpkg");
    assert_eq!(integrity(&back), ["ok"]);
    assert_eq!(whole(&back)["proposed_bores"].len(), INSERTED);
}

fn names(site: &Site) -> Vec<String> {
    let files = fs::read_dir(site.beside("back")).unwrap();
    let mut names: Vec<_> = files
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}
