//! The `brakecorner` program: parse, call, exit code.

fn main() -> std::process::ExitCode {
    brakecorner::cli::main()
}
