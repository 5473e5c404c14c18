//! Tries all mutants of some files with one build: each is planted behind a question which one is on, and the
//! tests that reach it are run with it on.
//!
//! `slotwise-mutants PROJECT WORK_DIR FILE_PATTERN…`. WORK_DIR is made, and holds the changed copy, its
//! build, and `outcome.json`; what is there already is gone on with.

mod build;
mod listed;
mod plant;
mod tried;

use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::Command;

use listed::Mutant;

type Result<T> = std::result::Result<T, Box<dyn Error + Send + Sync>>;

fn main() -> Result<()> {
    let mut words = std::env::args().skip(1);
    let (Some(project), Some(work)) = (words.next(), words.next()) else {
        return Err("which project, and where to work?".into());
    };
    let (project, work) = (PathBuf::from(project).canonicalize()?, PathBuf::from(work));
    let patterns: Vec<String> = words.collect();
    std::fs::create_dir_all(&work)?;
    let work = work.canonicalize()?;
    let mutants = listed(&project, &work, &patterns)?;
    println!("{} mutants", mutants.len());
    let copy = work.join("copy");
    if !copy.exists() {
        copied(&project, &copy)?;
    }
    let viable = build::planted(&project, &copy, &work, &mutants)?;
    let sites = viable.sites.iter().collect::<std::collections::BTreeSet<_>>().len();
    println!(
        "{} planted at {sites} sites, {} not",
        viable.numbers.len(),
        mutants.len() - viable.numbers.len()
    );
    let tests = build::tests(&copy, &work)?;
    println!("{} executables of tests", tests.len());
    tried::all(&work, &copy, &mutants, &viable, &tests)
}

fn listed(project: &Path, work: &Path, patterns: &[String]) -> Result<Vec<Mutant>> {
    let kept = work.join("mutants.json");
    if !kept.exists() {
        let mut list = Command::new("cargo");
        list.current_dir(project).args(["mutants", "--list", "--json"]);
        for pattern in patterns {
            list.args(["-f", pattern]);
        }
        let out = list.output()?;
        if !out.status.success() {
            return Err(String::from_utf8_lossy(&out.stderr).into_owned().into());
        }
        let mut mutants: Vec<Mutant> = serde_json::from_slice(&out.stdout)?;
        for (i, mutant) in mutants.iter_mut().enumerate() {
            mutant.number = u32::try_from(i + 1)?;
        }
        std::fs::write(&kept, serde_json::to_vec_pretty(&mutants)?)?;
    }
    Ok(serde_json::from_slice(&std::fs::read(kept)?)?)
}

/// What git has of the project, as it stands.
fn copied(project: &Path, copy: &Path) -> Result<()> {
    let files = Command::new("git").current_dir(project).args(["ls-files", "-z"]).output()?;
    for name in String::from_utf8(files.stdout)?.split('\0').filter(|name| !name.is_empty()) {
        let (from, to) = (project.join(name), copy.join(name));
        std::fs::create_dir_all(to.parent().unwrap_or(copy))?;
        std::fs::copy(from, to)?;
    }
    // The kept warnings of our own code say nothing of a planted copy.
    let manifest = copy.join("Cargo.toml");
    let text = std::fs::read_to_string(&manifest)?;
    let lints = text.find("[lints.rust]").unwrap_or(text.len());
    std::fs::write(&manifest, &text[..lints])?;
    Ok(())
}
