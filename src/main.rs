//! The `pitwright` command.
fn main() -> std::process::ExitCode {
    pitwright::cli::run()
}
