//! The house is kept: what each room may import, who may touch the outside world, and what must
//! not be left lying about.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use std::fs;
use std::path::{Path, PathBuf};

/// The rooms in the order of the flow: each imports only from those before it.
const ROOMS: [&str; 15] = [
    "quantity",
    "circuit",
    "condition",
    "netlist",
    "network",
    "solution",
    "instrument",
    "protection",
    "hazard",
    "lookalike",
    "diagnosis",
    "drill",
    "report",
    "draw",
    "command",
];

/// Rooms that know nothing of another although it comes before them: the numerics know no
/// wire, no receptacle and no fault.
const STRANGERS: [(&str, &[&str]); 2] =
    [("network", &["circuit", "condition"]), ("solution", &["circuit", "condition"])];

/// The one place of its room where circuit and condition are put together.
const WIRING: &str = "src/netlist/wire";

struct Source {
    /// Path from the root of the project, with `/`.
    path: String,
    text: String,
}

impl Source {
    /// The room of a file under `src`; none for `src/lib.rs`.
    fn room(&self) -> Option<&str> {
        let inside = self.path.strip_prefix("src/")?;
        let first = inside.split('/').next()?.trim_end_matches(".rs");
        match first {
            "lib" => None,
            "main" => Some("command"),
            room => Some(room),
        }
    }

    /// The code, line by line, without comments and without the unit tests at the end.
    fn code(&self) -> String {
        let lines = self
            .text
            .lines()
            .take_while(|line| !line.trim_start().starts_with("#[cfg(test)]"))
            .map(|line| if line.trim_start().starts_with("//") { "" } else { line });
        lines.collect::<Vec<_>>().join("\n")
    }

    /// Where a word stands in the code, as `path:line`.
    fn places_of(&self, word: &str) -> Vec<String> {
        let lines = self.code();
        let holding = lines.lines().enumerate().filter(|(_, line)| line.contains(word));
        holding.map(|(at, _)| format!("{}:{}", self.path, at + 1)).collect()
    }

    /// The rooms that the code names, each with its place.
    fn named_rooms(&self) -> Vec<(String, String)> {
        let code = self.code();
        let mut rooms = Vec::new();
        for (at, mark) in code.match_indices("crate::") {
            let line = code[..at].lines().count().max(1);
            for room in first_words(&code[at + mark.len()..]) {
                if ROOMS.contains(&room.as_str()) {
                    rooms.push((room, format!("{}:{line}", self.path)));
                }
            }
        }
        rooms
    }
}

/// The first word of a path, or of each path in `{...}`.
fn first_words(path: &str) -> Vec<String> {
    let word = |text: &str| -> String {
        text.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
    };
    let Some(list) = path.strip_prefix('{') else { return vec![word(path)] };
    let mut words = vec![word(list)];
    let mut depth = 0;
    for (at, mark) in list.char_indices() {
        match mark {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => words.push(word(&list[at + 1..])),
            _ => {}
        }
    }
    words
}

#[test]
fn a_list_of_imports_is_read_by_its_first_words() {
    let list = "{circuit::{Load, draw}, netlist,\n    quantity::Address};";
    assert_eq!(first_words(list), ["circuit", "netlist", "quantity"]);
    assert_eq!(first_words("condition::Fault;"), ["condition"]);
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Files under a folder whose names end in one of `endings`, in order of their paths.
fn files(folder: &str, endings: &[&str]) -> Vec<Source> {
    let mut found = Vec::new();
    gather(&root().join(folder), endings, &mut found);
    found.sort_by(|x, y| x.path.cmp(&y.path));
    found
}

fn gather(folder: &Path, endings: &[&str], found: &mut Vec<Source>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            gather(&path, endings, found);
        } else if endings.iter().any(|ending| path.to_string_lossy().ends_with(ending)) {
            let text = fs::read_to_string(&path).unwrap();
            let path = path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
            found.push(Source { path, text });
        }
    }
}

/// Everything people read: code, documents, circuits, settings.
fn everything_written() -> Vec<Source> {
    let mut all = Vec::new();
    for folder in ["src", "tests", "benches", "docs", "circuits", ".ci"] {
        all.extend(files(folder, &[".rs", ".md", ".ron", ".json", ".toml", ".snap", "run"]));
    }
    for entry in fs::read_dir(root()).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.extension().is_some_and(|ending| ending == "md" || ending == "toml") {
            let text = fs::read_to_string(&path).unwrap();
            let path = entry.file_name().to_string_lossy().into_owned();
            all.push(Source { path, text });
        }
    }
    all
}

fn report(breaches: &[String]) {
    assert!(breaches.is_empty(), "\n{}", breaches.join("\n"));
}

#[test]
fn rooms_import_only_from_rooms_before_them() {
    let mut breaches = Vec::new();
    for source in files("src", &[".rs"]) {
        let Some(room) = source.room() else { continue };
        let Some(here) = ROOMS.iter().position(|known| *known == room) else {
            breaches.push(format!("{}: room `{room}` has no place in the flow", source.path));
            continue;
        };
        for (named, place) in source.named_rooms() {
            let there = ROOMS.iter().position(|known| *known == named).unwrap();
            if there > here {
                breaches.push(format!("{place}: `{room}` imports `{named}`"));
            }
        }
    }
    report(&breaches);
}

#[test]
fn the_numerics_know_no_wire_and_no_fault() {
    let mut breaches = Vec::new();
    for source in files("src", &[".rs"]) {
        let Some(room) = source.room() else { continue };
        let strangers = STRANGERS.iter().find(|(known, _)| *known == room).map(|(_, rooms)| *rooms);
        let strangers = match strangers {
            Some(strangers) => strangers,
            None if room == "netlist" && !source.path.starts_with(WIRING) => {
                &["circuit", "condition"]
            }
            None => continue,
        };
        let known = source.named_rooms().into_iter();
        let known = known.filter(|(named, _)| strangers.contains(&named.as_str()));
        breaches.extend(known.map(|(named, place)| format!("{place}: it knows of `{named}`")));
    }
    report(&breaches);
}

#[test]
fn matrices_stay_in_the_numerics() {
    let mut breaches = Vec::new();
    for source in files("src", &[".rs"]) {
        if matches!(source.room(), Some("network" | "solution")) {
            continue;
        }
        breaches.extend(source.places_of("nalgebra"));
    }
    report(&breaches);
}

#[test]
fn only_the_command_touches_the_outside_world() {
    const OUTSIDE: [&str; 9] = [
        "std::fs",
        "std::io",
        "std::env",
        "std::net",
        "std::process",
        "std::thread",
        "std::time",
        "println!",
        "print!",
    ];
    let mut breaches = Vec::new();
    for source in files("src", &[".rs"]).iter().filter(|source| source.room() != Some("command")) {
        for word in OUTSIDE {
            let places = source.places_of(word).into_iter();
            breaches.extend(places.map(|place| format!("{place}: {word}")));
        }
    }
    report(&breaches);
}

/// Powers, logarithms and angles differ in the last bit from one machine's library to the next;
/// those of `libm` do not.
#[test]
fn what_is_computed_is_the_same_on_every_machine() {
    const OF_THE_MACHINE: [&str; 14] = [
        ".powf(",
        ".exp()",
        ".ln()",
        ".log10()",
        ".log2()",
        ".sin()",
        ".cos()",
        ".tan()",
        ".sin_cos()",
        ".asin()",
        ".acos()",
        ".atan()",
        ".atan2(",
        ".hypot(",
    ];
    let drill = ROOMS.iter().position(|room| *room == "drill").unwrap();
    let mut breaches = Vec::new();
    for source in files("src", &[".rs"]) {
        let room = source.room().and_then(|room| ROOMS.iter().position(|known| *known == room));
        // What the diagnosis concludes is rounded before a drill goes by it.
        let inferred = source.room() == Some("diagnosis");
        if room.is_some_and(|room| room <= drill) && !inferred {
            for word in OF_THE_MACHINE {
                breaches.extend(source.places_of(word));
            }
        }
    }
    report(&breaches);
}

#[test]
fn chance_comes_from_one_file_alone() {
    let mut breaches = Vec::new();
    for source in files("src", &[".rs"]) {
        if source.path != "src/drill/chance.rs" {
            breaches.extend(source.places_of("rand_chacha"));
        }
    }
    report(&breaches);
}

#[test]
fn every_file_says_first_what_it_is_about() {
    let breaches: Vec<String> = files("src", &[".rs"])
        .into_iter()
        .chain(files("tests", &[".rs"]))
        .chain(files("benches", &[".rs"]))
        .filter(|source| !source.text.starts_with("//! "))
        .map(|source| format!("{}: no module documentation", source.path))
        .collect();
    report(&breaches);
}

#[test]
fn nothing_unfinished_is_left_in_the_code() {
    let words = ["todo!", "unimplemented!", "dbg!", "TODO", "FIXME", "XXX"];
    let mut breaches = Vec::new();
    for source in everything_written().iter().filter(|source| source.path != "tests/tidy.rs") {
        for (at, line) in source.text.lines().enumerate() {
            for word in words.iter().filter(|word| line.contains(**word)) {
                let lint = source.path == "Cargo.toml";
                if !lint {
                    breaches.push(format!("{}:{}: {word}", source.path, at + 1));
                }
            }
        }
    }
    report(&breaches);
}

#[test]
fn no_path_of_any_machine_is_written_down() {
    // In two halves, or this file would breach itself.
    let starts = [("/wo", "rk/"), ("/ho", "me/"), ("/ro", "ot/"), ("/Us", "ers/"), ("C:", "\\")];
    let mut breaches = Vec::new();
    for source in everything_written() {
        for (at, line) in source.text.lines().enumerate() {
            for start in starts.iter().map(|(first, second)| format!("{first}{second}")) {
                if line.contains(&start) {
                    breaches.push(format!("{}:{}: {start}", source.path, at + 1));
                }
            }
        }
    }
    report(&breaches);
}

#[test]
fn links_between_documents_lead_somewhere() {
    let mut breaches = Vec::new();
    for source in everything_written().iter().filter(|source| source.path.ends_with(".md")) {
        let folder = root().join(&source.path).parent().unwrap().to_path_buf();
        for (at, line) in source.text.lines().enumerate() {
            for (start, _) in line.match_indices("](") {
                let target = line[start + 2..].split(')').next().unwrap_or_default();
                let target = target.split('#').next().unwrap_or_default();
                let outside = target.is_empty() || target.contains("://");
                if !outside && !folder.join(target).exists() {
                    breaches.push(format!("{}:{}: {target}", source.path, at + 1));
                }
            }
        }
    }
    report(&breaches);
}
