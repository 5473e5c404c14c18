//! What an instrument shows, in words: a small closed wording.
//!
//! ```text
//! showing  = item { ("," | ";" | "and") item }
//! item     = pair state | pair volts | pair step | slot "alarm" | slot "no alarm" | "lost" volts
//! pair     = slot ("-" | "to") slot
//! slot     = hot | line | live | phase | hot2 | neutral | ground | earth | pe, or its letter
//! state    = dark | off | dim | lit | on
//! volts    = number ["to" number] "V" | ("under" | "over" | "about") number "V"
//! ```

use crate::instrument::Brightness;

use super::Shows;

/// Longest text that is read, bytes.
const TEXT_BYTES_MAX: usize = 4096;

/// A single figure stands for what a person reads off a meter: within this share of it ...
const READ_SHARE: f64 = 0.03;

/// ... and within this many volts.
const READ_VOLT: f64 = 1.0;

/// `about` is wider.
const ABOUT_SHARE: f64 = 0.1;

/// Why a wording was not understood.
///
/// ```
/// let problem = slotwise::lookalike::shows("hot-neutral gloomy").unwrap_err();
/// assert_eq!(problem.found, "gloomy");
/// assert!(problem.expected.iter().any(|word| word == "dark"));
/// ```
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{found}`: {message}{}", expected_list(expected))]
pub struct ShowsProblem {
    /// The words it is about.
    pub found: String,
    /// What is wrong with them.
    pub message: String,
    /// What could stand there.
    pub expected: Vec<String>,
}

fn expected_list(expected: &[String]) -> String {
    if expected.is_empty() { String::new() } else { format!("; expected {}", expected.join(", ")) }
}

/// What is said to be shown: `hot-neutral dark, hot-ground lit`, `hot-neutral 118 to 122 V`,
/// `neutral alarm`, `hot-neutral 120 V mark`, `lost 2 to 4 V`.
///
/// ```
/// use slotwise::lookalike::shows;
/// let said = shows("H-N dark; line to earth lit and N-PE lit").unwrap();
/// let said: Vec<String> = said.iter().map(ToString::to_string).collect();
/// assert_eq!(said, ["hot-neutral dark", "hot-ground lit", "neutral-ground lit"]);
/// ```
///
/// # Errors
///
/// The first item that means nothing here, with what could stand there.
pub fn shows(text: &str) -> Result<Vec<Shows>, ShowsProblem> {
    if text.len() > TEXT_BYTES_MAX {
        return Err(problem("...", "this is too long", &[]));
    }
    let lower = text.to_lowercase().replace(" and ", ",");
    let items: Vec<&str> =
        lower.split([',', ';']).map(str::trim).filter(|item| !item.is_empty()).collect();
    if items.is_empty() {
        return Err(problem(text, "nothing is said to be shown", &EXAMPLES));
    }
    items.into_iter().map(|said| item(said, text)).collect()
}

const EXAMPLES: [&str; 3] = ["hot-neutral dark", "hot-neutral 118 to 122 V", "neutral alarm"];

fn item(said: &str, whole: &str) -> Result<Shows, ShowsProblem> {
    if let Some(rest) = said.strip_prefix("lost ") {
        let (low, high) = volts(rest.trim())?;
        return Ok(Shows::LostVolt { low, high });
    }
    let (first, rest) = leading_slot(said)?;
    let after = rest.trim_start();
    let partner = after.strip_prefix(['-', '\u{2013}', '/']).or_else(|| after.strip_prefix("to "));
    let Some(partner) = partner else { return alarm(first, after) };
    let (second, rest) = leading_slot(partner.trim_start())?;
    if first == second {
        return Err(problem(said, "an indicator spans two different slots", &SLOTS));
    }
    let between = in_order(first, second);
    shown(between, rest.trim(), said, whole)
}

fn shown(
    between: (String, String),
    what: &str,
    said: &str,
    whole: &str,
) -> Result<Shows, ShowsProblem> {
    let brightness = match what {
        "dark" | "off" | "out" | "unlit" => Some(Brightness::Dark),
        "dim" | "faint" => Some(Brightness::Dim),
        "lit" | "on" | "bright" => Some(Brightness::Lit),
        _ => None,
    };
    if let Some(brightness) = brightness {
        return Ok(Shows::Indicator { between, brightness });
    }
    if what.is_empty() {
        return Err(problem(said, "what does it show there?", &STATES));
    }
    if what == "nothing" {
        return Ok(Shows::Step { between, label: None });
    }
    // A step is called as on the tester: its own spelling, as the person typed it.
    if ["mark", "lamp", "vibrates"].iter().any(|word| what.ends_with(word)) {
        return Ok(Shows::Step { between, label: Some(as_typed(whole, what)) });
    }
    if what.starts_with(|c: char| c.is_ascii_digit())
        || ["under ", "below ", "over ", "above ", "about "].iter().any(|w| what.starts_with(w))
    {
        let (low, high) = volts(what)?;
        return Ok(Shows::Volt { between, low, high });
    }
    Err(problem(what, "this is nothing an instrument shows between two slots", &STATES))
}

/// A label in the spelling in which it was typed.
fn as_typed(whole: &str, lower: &str) -> String {
    let at = whole.to_lowercase().find(lower);
    at.and_then(|at| whole.get(at..at + lower.len())).unwrap_or(lower).to_owned()
}

const STATES: [&str; 6] = ["dark", "dim", "lit", "118 to 122 V", "under 5 V", "nothing"];

const SLOTS: [&str; 4] = ["hot", "neutral", "ground", "hot2"];

fn alarm(slot: String, what: &str) -> Result<Shows, ShowsProblem> {
    match what.trim() {
        "alarm" | "alarms" | "sounds" => Ok(Shows::Alarm { at: slot, alarm: true }),
        "no alarm" | "silent" | "quiet" => Ok(Shows::Alarm { at: slot, alarm: false }),
        other => Err(problem(
            other,
            "one slot alone shows only to a non-contact detector; an indicator or a meter is \
             between two, as `hot-neutral`",
            &["alarm", "no alarm", "-neutral", "-ground"],
        )),
    }
}

/// The slot that a text begins with, and what is left.
fn leading_slot(text: &str) -> Result<(String, &str), ShowsProblem> {
    let end = text.find(|c: char| !c.is_ascii_alphanumeric()).unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    let slot = match word {
        "hot" | "line" | "live" | "phase" | "h" | "l" | "hot1" | "l1" => "hot",
        "hot2" | "h2" | "l2" => "hot2",
        "hot3" | "h3" | "l3" => "hot3",
        "neutral" | "n" => "neutral",
        "ground" | "earth" | "pe" | "g" | "e" | "cpc" | "protective" => "ground",
        _ => return Err(unknown_slot(word, text)),
    };
    Ok((slot.to_owned(), rest))
}

fn unknown_slot(word: &str, text: &str) -> ShowsProblem {
    let near = SLOTS
        .iter()
        .max_by(|a, b| strsim::jaro_winkler(word, a).total_cmp(&strsim::jaro_winkler(word, b)));
    let found = if word.is_empty() { text } else { word };
    match near.filter(|near| strsim::jaro_winkler(word, near) > 0.8) {
        Some(near) => problem(found, "no slot is called so", &[*near]),
        None => problem(
            found,
            "say between which slots it is shown: indicators are named by the slots they span",
            &SLOTS,
        ),
    }
}

/// Slots in the order in which indicators are named.
fn in_order(first: String, second: String) -> (String, String) {
    let rank = |slot: &str| match slot {
        "hot" => 0,
        "hot2" => 1,
        "hot3" => 2,
        "neutral" => 3,
        _ => 4,
    };
    if rank(&first) <= rank(&second) { (first, second) } else { (second, first) }
}

/// A range of volts.
fn volts(text: &str) -> Result<(f64, f64), ShowsProblem> {
    let bare = text.trim().trim_end_matches("volts").trim_end_matches("volt");
    let bare = bare.trim_end().trim_end_matches('v').trim_end();
    let number = |word: &str| -> Result<f64, ShowsProblem> {
        let word = word.trim().trim_end_matches('v').trim();
        match word.parse::<f64>() {
            Ok(volt) if volt.is_finite() && volt >= 0.0 => Ok(volt),
            _ => Err(problem(word, "this is no number of volts", &["120 V", "118 to 122 V"])),
        }
    };
    for below in ["under ", "below "] {
        if let Some(rest) = bare.strip_prefix(below) {
            return Ok((0.0, number(rest)?));
        }
    }
    for above in ["over ", "above "] {
        if let Some(rest) = bare.strip_prefix(above) {
            return Ok((number(rest)?, f64::INFINITY));
        }
    }
    if let Some(rest) = bare.strip_prefix("about ") {
        let volt = number(rest)?;
        let off = (volt * ABOUT_SHARE).max(READ_VOLT);
        return Ok(((volt - off).max(0.0), volt + off));
    }
    if let Some((low, high)) = bare.split_once(" to ").or_else(|| bare.split_once("..")) {
        let (low, high) = (number(low)?, number(high)?);
        if low > high {
            return Err(problem(text, "the lower figure comes first", &["118 to 122 V"]));
        }
        return Ok((low, high));
    }
    let volt = number(bare)?;
    let off = (volt * READ_SHARE).max(READ_VOLT);
    Ok(((volt - off).max(0.0), volt + off))
}

fn problem(found: &str, message: &str, expected: &[&str]) -> ShowsProblem {
    ShowsProblem {
        found: found.trim().to_owned(),
        message: message.to_owned(),
        expected: expected.iter().map(|&word| word.to_owned()).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> Vec<String> {
        shows(text).unwrap().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_pattern_is_said_by_the_slots_its_indicators_span() {
        let pattern = ["hot-neutral dark", "hot-ground lit", "neutral-ground lit"];
        assert_eq!(said("hot-neutral dark, hot-ground lit, neutral-ground lit"), pattern);
        assert_eq!(said("N-H off; line to PE on and neutral/earth lit"), pattern);
    }

    #[test]
    fn a_figure_is_what_a_person_reads_off_a_meter() {
        assert_eq!(said("hot-neutral 120 V"), ["hot-neutral 116.4 to 123.6 V"]);
        assert_eq!(said("hot-neutral 0 V"), ["hot-neutral 0 to 1 V"]);
        assert_eq!(said("hot to ground 40 to 80 volts"), ["hot-ground 40 to 80 V"]);
        assert_eq!(said("hot-ground under 5V"), ["hot-ground 0 to 5 V"]);
        assert_eq!(said("neutral-ground over 30 v"), ["neutral-ground over 30 V"]);
    }

    #[test]
    fn detectors_step_testers_and_loaded_tests_have_their_words() {
        assert_eq!(said("neutral alarm, hot no alarm"), ["neutral alarm", "hot no alarm"]);
        assert_eq!(said("hot-neutral 120 V mark"), ["hot-neutral 120 V mark"]);
        assert_eq!(said("hot-neutral nothing"), ["hot-neutral nothing"]);
        assert_eq!(said("lost 2 to 4 V"), ["lost 2 to 4 V"]);
    }

    #[test]
    fn what_is_outside_is_answered_with_what_could_stand_there() {
        for (text, found) in [
            ("", ""),
            ("hot-neutral", "hot-neutral"),
            ("hot-neutrel dark", "neutrel"),
            ("left lamp lit", "left"),
            ("hot-hot lit", "hot-hot lit"),
            ("hot-neutral gloomy", "gloomy"),
            ("hot lit", "lit"),
            ("hot-neutral 122 to 118 V", "122 to 118 v"),
            ("hot-neutral 12o V", "12o"),
        ] {
            let problem = shows(text).unwrap_err();
            assert_eq!(problem.found, found, "{text}");
            assert!(!problem.expected.is_empty(), "{text}");
        }
        assert_eq!(shows("hot-neutrel dark").unwrap_err().expected, ["neutral"]);
    }
}
