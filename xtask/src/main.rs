//! The program behind `cargo xtask`.

fn main() -> std::process::ExitCode {
    xtask::cli::run()
}
