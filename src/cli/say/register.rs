//! What is said of the register and the letters.

use super::out::several;
use crate::cli::register::Written;

/// Which files were written beside the layers; nothing where none was asked for.
pub fn register(written: &Written) -> String {
    let table = written.register.as_ref().map(|(file, rows)| {
        let rows = several(*rows, "encounter");
        format!(
            "register written to {}: {rows} with services\n",
            file.display()
        )
    });
    let letters = written.letters.as_ref().map(|(folder, n)| {
        let letters = several(*n, "letter");
        format!(
            "{letters} written to {}: read them before they go out\n",
            folder.display()
        )
    });
    [table, letters].into_iter().flatten().collect()
}
