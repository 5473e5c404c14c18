//! Whole circuits whose answers were computed independently with 50 digits.
//!
//! Every `*.json` of the directory named by `SLOTWISE_CASES`, else of `../shared/cases` beside
//! the project, else of `tests/cases`, is built through the public API and compared with what it
//! expects. One line a case and part with its worst error; last `N passed, N failed, N skipped`.
//! It runs without the usual harness so that these lines are always seen; any failure fails it.

#![allow(unreachable_pub)] // The rooms of this test are shared by files of their own.

// Its lines are what it is for.
#![allow(clippy::print_stdout)]

use std::process::ExitCode;

use case::{Case, Outcome};

mod case;
mod describe;
mod elements;
mod measurements;
mod names;
mod physical;

/// One way to build a case and to compare it.
struct Part {
    name: &'static str,
    run: fn(&Case) -> Outcome,
}

const PARTS: &[Part] = &[
    Part { name: "elements", run: elements::run },
    Part { name: "physical", run: physical::run },
    Part { name: "measured", run: measurements::run_on_elements },
    Part { name: "read", run: measurements::run_on_physical },
];

fn main() -> ExitCode {
    let directory = case::directory();
    println!("reference cases of {}", directory.display());
    let (mut passed, mut failed, mut skipped) = (0, 0, 0);
    for path in case::files(&directory) {
        let name = path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
        for part in PARTS {
            let outcome = match Case::read(&path) {
                Ok(case) => (part.run)(&case),
                Err(why) => Outcome::Failed(why),
            };
            let count = match &outcome {
                Outcome::Passed(_) => &mut passed,
                Outcome::Failed(_) => &mut failed,
                Outcome::Skipped(_) => &mut skipped,
            };
            *count += 1;
            println!("{:<10} {name:<44} {outcome}", part.name);
        }
    }
    println!("{passed} passed, {failed} failed, {skipped} skipped");
    if failed == 0 && passed > 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
