//! Which tests reach a mutant, and whether one of them sees it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};

use crate::Result;
use crate::build::Viable;
use crate::listed::Mutant;

/// What of tests is run for a mutant that none has seen yet, by their time without it.
const ENOUGH: Duration = Duration::from_secs(20);
/// A test that takes so many times as long, and so long at least, hangs.
const HANGS_AT: u32 = 8;
const HANGS_AFTER: Duration = Duration::from_secs(4);
/// A test that takes longer is left out.
const LONGEST: Duration = Duration::from_secs(30);
/// Executables whose tests are of what is built upon what is mutated, and take too long to be run so often.
const BUILT_UPON: [&str; 10] = [
    "call_outs",
    "command",
    "draw",
    "drill",
    "generated_pages",
    "locate_command",
    "locate_text",
    "locating",
    "observation_words",
    "why",
];

#[derive(Clone, Debug, Deserialize, Serialize)]
struct Test {
    executable: PathBuf,
    of: String,
    name: String,
    time: Duration,
    sites: BTreeSet<u32>,
}

#[derive(Clone, Debug, Deserialize, Serialize)]
enum Outcome {
    /// By this test.
    Caught(String),
    /// By none of these many, in all of those that reach it or not.
    Missed {
        tried: usize,
        of: usize,
    },
    Unreached,
}

#[derive(Debug, PartialEq)]
enum Ran {
    Passed,
    Failed,
    Hung,
}

fn run(
    copy: &Path,
    executable: &Path,
    names: &[&str],
    environment: (&str, &str),
    limit: Duration,
) -> Result<Ran> {
    let mut child = Command::new(executable)
        .current_dir(copy)
        .args(names)
        .args(["--exact", "--test-threads=1", "-q"])
        .env(environment.0, environment.1)
        .env("CARGO_MANIFEST_DIR", copy)
        .env("INSTA_UPDATE", "no")
        .env("INSTA_WORKSPACE_ROOT", copy)
        .env("PROPTEST_DISABLE_FAILURE_PERSISTENCE", "true")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    let started = Instant::now();
    let mut pause = Duration::from_micros(500);
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(if status.success() { Ran::Passed } else { Ran::Failed });
        }
        if started.elapsed() > limit {
            child.kill()?;
            child.wait()?;
            return Ok(Ran::Hung);
        }
        std::thread::sleep(pause);
        pause = (pause * 2).min(Duration::from_millis(20));
    }
}

/// Every test by itself: how long it takes and what it reaches.
fn reach(copy: &Path, work: &Path, executables: &[(String, PathBuf)]) -> Result<Vec<Test>> {
    let kept = work.join("tests.json");
    if let Ok(bytes) = std::fs::read(&kept) {
        return Ok(serde_json::from_slice(&bytes)?);
    }
    let mut found = Vec::new();
    for (of, executable) in executables.iter().filter(|(of, _)| !BUILT_UPON.contains(&&**of)) {
        let list = Command::new(executable)
            .current_dir(copy)
            .args(["--list", "--format=terse"])
            .output()?;
        let list = String::from_utf8_lossy(&list.stdout).into_owned();
        let names: Vec<&str> =
            list.lines().filter_map(|line| line.strip_suffix(": test")).collect();
        // One without the usual harness is one test.
        let names = if list.contains(" passed, ") { vec![""] } else { names };
        found.extend(names.into_iter().map(|name| Test {
            executable: executable.clone(),
            of: of.clone(),
            name: name.to_owned(),
            time: Duration::ZERO,
            sites: BTreeSet::new(),
        }));
    }
    let tried = each(found.len(), |i| {
        let mut test = found[i].clone();
        let reached = work.join(format!("reached-{i}"));
        let _ = std::fs::remove_file(&reached);
        let place = ("MUTANT_REACH", reached.to_str().ok_or("a path that is no text")?);
        let started = Instant::now();
        let ran = run(copy, &test.executable, &[&test.name], place, LONGEST)?;
        test.time = started.elapsed();
        let sites = std::fs::read_to_string(&reached).unwrap_or_default();
        test.sites = sites.lines().filter_map(|line| line.parse().ok()).collect();
        let _ = std::fs::remove_file(&reached);
        Ok((ran, test))
    })?;
    let mut good = Vec::new();
    for (ran, test) in tried {
        match ran {
            Ran::Passed if test.sites.is_empty() => {}
            Ran::Passed => good.push(test),
            ran => println!("left out, {ran:?} without a mutant: {} {}", test.of, test.name),
        }
    }
    std::fs::write(&kept, serde_json::to_vec(&good)?)?;
    Ok(good)
}

/// Of each, on two threads, in order.
fn each<T: Send>(n: usize, what: impl Fn(usize) -> Result<T> + Sync) -> Result<Vec<T>> {
    let (next, done) = (AtomicUsize::new(0), Mutex::new(BTreeMap::new()));
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= n {
                        return;
                    }
                    let got = what(i);
                    done.lock().unwrap_or_else(|poisoned| poisoned.into_inner()).insert(i, got);
                }
            });
        }
    });
    done.into_inner().unwrap_or_else(|poisoned| poisoned.into_inner()).into_values().collect()
}

/// How often each test caught a mutant of each file.
type Eager = Mutex<BTreeMap<(String, String), u32>>;

fn outcome(
    copy: &Path,
    mutant: &Mutant,
    site: u32,
    tests: &[Test],
    eager: &Eager,
) -> Result<Outcome> {
    let key = |test: &Test| (mutant.file.clone(), format!("{} {}", test.of, test.name));
    let known = || eager.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
    let mut reaching: Vec<&Test> = tests.iter().filter(|test| test.sites.contains(&site)).collect();
    // What is quick and has caught many of the file comes first.
    let caught = known().clone();
    reaching.sort_by_cached_key(|test| {
        test.time / (1 + 4 * caught.get(&key(test)).copied().unwrap_or_default())
    });
    if reaching.is_empty() {
        return Ok(Outcome::Unreached);
    }
    let number = mutant.number.to_string();
    let (mut tried, mut spent) = (0, Duration::ZERO);
    for test in &reaching {
        let limit = test.time * HANGS_AT + HANGS_AFTER;
        let ran = run(copy, &test.executable, &[&test.name], ("MUTANT", &number), limit)?;
        if ran != Ran::Passed {
            *known().entry(key(test)).or_default() += 1;
            return Ok(Outcome::Caught(format!("{ran:?}: {} {}", test.of, test.name)));
        }
        tried += 1;
        spent += test.time;
        if spent > ENOUGH {
            break;
        }
    }
    Ok(Outcome::Missed { tried, of: reaching.len() })
}

pub fn all(
    work: &Path,
    copy: &Path,
    mutants: &[Mutant],
    viable: &Viable,
    executables: &[(String, PathBuf)],
) -> Result<()> {
    let tests = reach(copy, work, executables)?;
    let eager = Mutex::new(BTreeMap::new());
    println!("{} tests reach some", tests.len());
    let progress = AtomicUsize::new(0);
    let outcomes = each(viable.numbers.len(), |i| {
        let mutant = &mutants[viable.numbers[i] as usize - 1];
        let kept = work.join("outcomes").join(mutant.number.to_string());
        if let Ok(bytes) = std::fs::read(&kept) {
            return Ok((mutant, serde_json::from_slice::<Outcome>(&bytes)?));
        }
        let outcome = outcome(copy, mutant, viable.sites[i], &tests, &eager)?;
        std::fs::create_dir_all(work.join("outcomes"))?;
        std::fs::write(&kept, serde_json::to_vec(&outcome)?)?;
        let done = progress.fetch_add(1, Ordering::Relaxed) + 1;
        if done.is_multiple_of(100) {
            println!("{done} tried");
        }
        Ok((mutant, outcome))
    })?;
    let caught = outcomes.iter().filter(|(_, it)| matches!(it, Outcome::Caught(_))).count();
    for (mutant, outcome) in &outcomes {
        if !matches!(outcome, Outcome::Caught(_)) {
            println!("{} {}: {outcome:?}", mutant.number, mutant.name);
        }
    }
    println!("{caught} of {} caught", outcomes.len());
    Ok(())
}
