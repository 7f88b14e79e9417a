//! The program `coilwright`.

fn main() -> std::process::ExitCode {
    coilwright::main()
}
