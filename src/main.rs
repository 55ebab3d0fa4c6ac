//! The executable. Everything it does is in the library.

fn main() -> std::process::ExitCode {
    faultbay::cli::main()
}
