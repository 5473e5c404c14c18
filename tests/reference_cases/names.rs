//! The cases' letters in our words, by one rule for every name.

use std::collections::BTreeMap;

/// A name of a case in our words. Words are parted by `. : - ~`; `H`, `N` and `G` are hot,
/// neutral and ground, `bot` is bottom, and the half of a duplex comes before its slot.
pub fn ours(name: &str) -> String {
    const MARKS: [char; 4] = ['.', ':', '-', '~'];
    let mut words: Vec<&str> = Vec::new();
    for word in name.split_inclusive(MARKS) {
        let bare = word.trim_end_matches(MARKS);
        words.push(match bare {
            "H" => "hot",
            "N" => "neutral",
            "G" => "ground",
            "bot" => "bottom",
            other => other,
        });
        words.push(&word[bare.len()..]);
    }
    for at in 0..words.len().saturating_sub(2) {
        let is_slot = matches!(words[at], "hot" | "neutral");
        if is_slot && words[at + 1] == "." && matches!(words[at + 2], "top" | "bottom") {
            words.swap(at, at + 2);
        }
    }
    words.concat()
}

/// Refuses a case in which two names would become one.
pub fn are_kept_apart<'n>(names: impl Iterator<Item = &'n str>) -> Result<(), String> {
    let mut known: BTreeMap<String, &str> = BTreeMap::new();
    for name in names {
        let first = *known.entry(ours(name)).or_insert(name);
        if first != name {
            return Err(format!("`{first}` and `{name}` would be one name"));
        }
    }
    Ok(())
}
