//! Plants, drops what does not compile, and builds the tests.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use syn::visit_mut::VisitMut;

use crate::Result;
use crate::listed::{Genre, Mutant};
use crate::plant::Planter;

/// What is planted and compiles.
pub struct Viable {
    pub numbers: Vec<u32>,
    /// Of each of these, the first mutant at its site.
    pub sites: Vec<u32>,
}

/// What `cargo` is asked with: debug assertions and overflow are seen as in the tests, at a speed that lets
/// them run thousands of times.
const PROFILE: [&str; 6] = [
    "--config",
    "profile.dev.package.slotwise.opt-level=1",
    "--config",
    "profile.dev.debug=false",
    "--config",
    "profile.dev.incremental=false",
];

pub fn planted(project: &Path, copy: &Path, work: &Path, mutants: &[Mutant]) -> Result<Viable> {
    let kept = work.join("dropped.json");
    let mut dropped: BTreeMap<u32, String> = match std::fs::read(&kept) {
        Ok(bytes) => serde_json::from_slice(&bytes)?,
        Err(_) => BTreeMap::new(),
    };
    loop {
        let numbers = plant(project, copy, mutants, &dropped)?;
        let errors = errors(copy, work)?;
        if errors.is_empty() {
            let sites = sites(copy, mutants, &numbers)?;
            return Ok(Viable { numbers, sites });
        }
        let before = dropped.len();
        for error in &errors {
            for number in error.blamed(copy, mutants)? {
                dropped.entry(number).or_insert_with(|| error.message.clone());
            }
        }
        println!("{} errors, {} dropped", errors.len(), dropped.len() - before);
        std::fs::write(&kept, serde_json::to_vec_pretty(&dropped)?)?;
        if dropped.len() == before {
            return Err(format!("cannot tell what to drop: {:?}", errors[0]).into());
        }
    }
}

fn plant(
    project: &Path,
    copy: &Path,
    mutants: &[Mutant],
    dropped: &BTreeMap<u32, String>,
) -> Result<Vec<u32>> {
    let files: BTreeSet<&str> = mutants.iter().map(|mutant| mutant.file.as_str()).collect();
    let mut numbers = Vec::new();
    for file in files {
        let here = mutants
            .iter()
            .filter(|mutant| mutant.file == file && !dropped.contains_key(&mutant.number));
        let mut planter = Planter::new(here);
        let mut parsed = syn::parse_file(&std::fs::read_to_string(project.join(file))?)?;
        planter.visit_file_mut(&mut parsed);
        numbers.append(&mut planter.planted);
        write_changed(&copy.join(file), &prettyplease::unparse(&parsed))?;
    }
    let root = std::fs::read_to_string(project.join("src/lib.rs"))?;
    write_changed(&copy.join("src/lib.rs"), &format!("{root}\nmod mutant;\n"))?;
    let asked = include_str!("mutant.rs").replace("N_SITES", &(mutants.len() + 1).to_string());
    write_changed(&copy.join("src/mutant.rs"), &asked)?;
    numbers.sort_unstable();
    Ok(numbers)
}

fn write_changed(path: &Path, text: &str) -> Result<()> {
    if std::fs::read_to_string(path).ok().as_deref() != Some(text) {
        std::fs::write(path, text)?;
    }
    Ok(())
}

#[derive(Debug)]
struct CompileError {
    message: String,
    file: String,
    line: usize,
    line_end: usize,
}

impl CompileError {
    /// The mutant in the line, else all of the site whose line it is, else those of the site before; of
    /// a match that leaves something out without an arm, that arm.
    fn blamed(&self, copy: &Path, mutants: &[Mutant]) -> Result<Vec<u32>> {
        let text = std::fs::read_to_string(copy.join(&self.file))?;
        let lines: Vec<&str> = text.lines().collect();
        if self.message.starts_with("non-exhaustive") {
            let mut after = lines[self.line - 1..].iter().flat_map(|line| at(line));
            let arm = after.find(|&site| mutants[site as usize - 1].genre == Genre::MatchArm);
            return Ok(arm.into_iter().collect());
        }
        let here = &lines[self.line - 1..self.line_end.min(lines.len())];
        let asked = here.iter().any(|line| line.contains("crate::mutant::at("));
        let in_line: Vec<u32> = here.iter().filter_map(|line| numbered(line)).collect();
        if !in_line.is_empty() && !asked {
            return Ok(in_line);
        }
        let is_default = here[0].trim_start().starts_with("_ =>");
        let mut before = lines[..self.line].iter().rev();
        if let (false, Some(number)) =
            (here.len() > 1 || asked || is_default, before.find_map(|line| numbered(line)))
        {
            return Ok(vec![number]);
        }
        let Some(first) = lines[..self.line].iter().rposition(|line| line.contains("mutant::at("))
        else {
            return Ok(Vec::new());
        };
        let mut site: Vec<u32> = at(lines[first]).into_iter().collect();
        site.extend(lines[first..].iter().skip(1).map_while(|line| numbered(line)));
        Ok(site)
    }
}

/// `12u32 => …`.
fn numbered(line: &str) -> Option<u32> {
    let (number, _) = line.trim_start().split_once("u32 =>")?;
    number.parse().ok()
}

/// `mutant::at(12u32)`, all there are in a line.
fn at(line: &str) -> Vec<u32> {
    line.split("mutant::at(")
        .skip(1)
        .filter_map(|rest| rest.split_once("u32").and_then(|(number, _)| number.parse().ok()))
        .collect()
}

/// Where it is wrong in the library itself: what a macro wrote is where it was asked to.
fn ours(span: &Value) -> Option<&Value> {
    let file = span["file_name"].as_str()?;
    if file.starts_with("src/") { Some(span) } else { ours(&span["expansion"]["span"]) }
}

fn errors(copy: &Path, work: &Path) -> Result<Vec<CompileError>> {
    let out = Command::new("cargo")
        .current_dir(copy)
        .env("CARGO_TARGET_DIR", work.join("target"))
        .args(["check", "--locked", "--lib", "--message-format", "json"])
        .args(PROFILE)
        .output()?;
    let mut found = Vec::new();
    for line in String::from_utf8_lossy(&out.stdout).lines() {
        let value: Value = serde_json::from_str(line)?;
        let message = &value["message"];
        if message["level"] != "error" {
            continue;
        }
        let spans = message["spans"].as_array().cloned().unwrap_or_default();
        if let Some(span) = spans.iter().filter(|span| span["is_primary"] == true).find_map(ours) {
            found.push(CompileError {
                message: message["message"].as_str().unwrap_or_default().to_owned(),
                file: span["file_name"].as_str().unwrap_or_default().to_owned(),
                line: usize::try_from(span["line_start"].as_u64().unwrap_or(1))?,
                line_end: usize::try_from(span["line_end"].as_u64().unwrap_or(1))?,
            });
        }
    }
    if found.is_empty() && !out.status.success() {
        return Err(String::from_utf8_lossy(&out.stderr).into_owned().into());
    }
    Ok(found)
}

/// The first mutant at the site of each.
fn sites(copy: &Path, mutants: &[Mutant], numbers: &[u32]) -> Result<Vec<u32>> {
    let mut all = BTreeSet::new();
    for file in mutants.iter().map(|mutant| &mutant.file).collect::<BTreeSet<_>>() {
        all.extend(at(&std::fs::read_to_string(copy.join(file))?));
    }
    let mut sites = Vec::new();
    for &number in numbers {
        let place = &mutants[number as usize - 1];
        let site = all.range(..=number).rev().find(|&&site| {
            let first = &mutants[site as usize - 1];
            first.file == place.file
                && first.genre == place.genre
                && first.span.start.line == place.span.start.line
                && first.span.start.column == place.span.start.column
        });
        sites.push(*site.ok_or_else(|| format!("{} has no site", place.name))?);
    }
    Ok(sites)
}

/// The executables of the tests, by name.
pub fn tests(copy: &Path, work: &Path) -> Result<Vec<(String, PathBuf)>> {
    let out = Command::new("cargo")
        .current_dir(copy)
        .env("CARGO_TARGET_DIR", work.join("target"))
        .args(["test", "--locked", "--no-run", "--lib", "--tests", "--message-format", "json"])
        .args(PROFILE)
        .stderr(std::process::Stdio::inherit())
        .output()?;
    if !out.status.success() {
        return Err("the tests do not build".into());
    }
    let mut found = Vec::new();
    for line in String::from_utf8_lossy(&out.stdout).lines() {
        let value: Value = serde_json::from_str(line)?;
        let (name, path) = (value["target"]["name"].as_str(), value["executable"].as_str());
        if let (Some(name), Some(path), true) = (name, path, value["profile"]["test"] == true) {
            found.push((name.to_owned(), PathBuf::from(path)));
        }
    }
    Ok(found)
}
