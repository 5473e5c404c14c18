//! `slotwise sample` and `slotwise completions`

use clap::CommandFactory;

use super::Outcome;
use super::arguments::{Arguments, Sample};
use super::output::{Failure, print};

/// Name and text of a circuit of `circuits/`.
macro_rules! sample {
    ($name:literal) => {
        ($name, include_str!(concat!("../../circuits/", $name, ".ron")))
    };
}

/// The circuits that come with the program, by name; the first is the one to start from.
const CIRCUITS: &[(&str, &str)] = &[
    sample!("pottery-studio"),
    sample!("apiary"),
    sample!("bakery"),
    sample!("boathouse"),
    sample!("chandlery"),
    sample!("cider-press"),
    sample!("dairy"),
    sample!("ferry-landing"),
    sample!("ice-house"),
    sample!("lighthouse"),
    sample!("mountain-inn"),
    sample!("night-market"),
    sample!("observatory"),
    sample!("orangery"),
    sample!("print-shop"),
    sample!("rope-walk"),
    sample!("signal-box"),
    sample!("tannery"),
    sample!("toll-house"),
    sample!("tool-library"),
    sample!("village-hall"),
    sample!("weaving-shed"),
];

pub(super) fn run(arguments: &Sample) -> Result<Outcome, Failure> {
    if arguments.list {
        let lines = CIRCUITS.iter().map(|(name, text)| format!("{name:<16}{}\n", teaches(text)));
        print(&lines.collect::<String>())?;
        return Ok(Outcome::Done);
    }
    let found = match &arguments.name {
        None => CIRCUITS.first(),
        Some(asked) => CIRCUITS.iter().find(|(name, _)| name == asked),
    };
    let Some((_, text)) = found else {
        let names: Vec<&str> = CIRCUITS.iter().map(|&(name, _)| name).collect();
        return Err(Failure::unusable(format!(
            "there is no sample of that name; there are {}",
            names.join(", ")
        )));
    };
    print(text)?;
    Ok(Outcome::Done)
}

/// The first line of a circuit's comment says what it teaches.
fn teaches(text: &str) -> &str {
    let first = text.lines().next().unwrap_or_default();
    first.split_once(": ").map_or(first, |(_title, what)| what)
}

/// Prints completions for a shell.
pub(super) fn completions(shell: clap_complete::Shell) -> Result<Outcome, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "slotwise", &mut script);
    print(&String::from_utf8_lossy(&script))?;
    Ok(Outcome::Done)
}
