//! What `view` says.

use super::CAUTIONS;

/// Where the map is.
pub fn view(address: &str, warnings: &[String]) -> String {
    let warnings = super::out::warnings(warnings);
    format!(
        "map at {address}\nopen it in a browser on this machine; Ctrl-C ends\n{warnings}\n{}\n{}\n",
        CAUTIONS[0], CAUTIONS[1]
    )
}
