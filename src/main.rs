//! The command `slotwise`: arguments and files in, text or JSON out.

mod command;

fn main() -> std::process::ExitCode {
    command::run()
}
