//! The `gridlift` command: a thin skin over the library.

fn main() -> std::process::ExitCode {
    gridlift::cli::run(std::env::args_os()).into()
}
