//! The `brakecorner` program: parse, call, exit code.

/// Judging and reading make very many small texts; the system's allocator took a fifth of an audit.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    brakecorner::cli::main()
}
