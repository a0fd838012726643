//! The `pitwright` command.

/// A city's check makes and drops millions of small things on every thread.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    pitwright::cli::run()
}
