//! `completions` and `manual`.

use crate::place::Place;

const COMMANDS: [&str; 11] = [
    "inspect",
    "init",
    "plan",
    "check",
    "explain",
    "export",
    "report",
    "view",
    "rules",
    "completions",
    "manual",
];

fn said(place: &Place, line: &str) -> String {
    let ran = place.run(line);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{line}");
    ran.out
}

#[test]
fn every_shell_learns_every_command() {
    let place = Place::empty();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let said = said(&place, &format!("completions {shell}"));
        for command in COMMANDS {
            assert!(said.contains(command), "{shell}: {command}");
        }
        assert!(said.contains("what-if"), "{shell}: a flag of plan");
    }
    place.run("completions abacus").refused(2, &["abacus"]);
}

#[test]
fn the_manual_has_a_page_for_every_command() {
    let said = said(&Place::empty(), "manual");
    let pages = said.lines().filter(|l| l.starts_with(".TH")).count();
    assert_eq!(pages, COMMANDS.len() + 1);
    for command in COMMANDS {
        assert!(
            said.contains(&format!(".TH pitwright-{command} ")),
            "{command}"
        );
    }
}
