//! A complaint as data, back into words.

use crate::condition::words::known::Known;
use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;
use crate::diagnosis::{Complaint, WhenItTrips};

use super::super::seen::tell_protected;

/// A complaint in words that are heard as it.
pub(in super::super) fn tell(known: &Known<'_>, complaint: &Complaint) -> String {
    let place = |name: &String| speak::name(name);
    let load = |name: &String| match known.is(Class::Place, name) {
        true => format!("load {}", speak::name(name)),
        false => speak::name(name),
    };
    let all = |names: &[String], one: &dyn Fn(&String) -> String, none: &str| match names {
        [] => none.to_owned(),
        names => names.iter().map(one).collect::<Vec<_>>().join(" and "),
    };
    let when = |when: &Option<String>| {
        when.as_ref().map_or(String::new(), |when| format!(" when {} runs", load(when)))
    };
    // A device that is no branch circuit is said without the word.
    let breaker = |name: &String| match known.is(Class::Circuit, name) {
        true => tell_protected(known, "breaker ", name),
        false => tell_protected(known, "", name),
    };
    let verb = |loads: &[String], one: &'static str, several| {
        if loads.len() == 1 { one } else { several }
    };
    match complaint {
        Complaint::DeadFrom { place: first } => format!("dead from {} on", place(first)),
        Complaint::Dead { places } => format!("{} dead", all(places, &place, "")),
        Complaint::AllDead { circuit } => {
            format!("everything on {} dead", tell_protected(known, "", circuit))
        }
        Complaint::HalfTheHouse => "half the house dead".to_owned(),
        Complaint::HalfDead { place: half } if known.is_address(half) => {
            format!("{} dead", place(half))
        }
        Complaint::HalfDead { place: half } => format!("half of {} dead", place(half)),
        Complaint::Dim { places, when: by, .. } if !places.is_empty() => {
            format!("weak at {}{}", all(places, &place, ""), when(by))
        }
        Complaint::Bright { places, when: by, .. } if !places.is_empty() => {
            format!("too bright at {}{}", all(places, &place, ""), when(by))
        }
        Complaint::Dim { loads, when: by, .. } => {
            format!("{} {}{}", all(loads, &load, "lights"), verb(loads, "dims", "dim"), when(by))
        }
        Complaint::Bright { loads, when: by, .. } => {
            let does = verb(loads, "brightens", "brighten");
            format!("{} {does}{}", all(loads, &load, "lights"), when(by))
        }
        Complaint::Flickers { loads } => {
            format!("{} {}", all(loads, &load, "lights"), verb(loads, "flickers", "flicker"))
        }
        Complaint::LoadDead { load: dead } => format!("{} does not run", load(dead)),
        Complaint::StaysOn { load: on } => format!("{} stays on", load(on)),
        Complaint::Trips { breaker: name, when } => {
            let when = match when {
                WhenItTrips::AtOnce => "at once".to_owned(),
                WhenItTrips::WithLoad { load: with } => format!("when {} runs", load(with)),
                WhenItTrips::AfterAWhile => "after a while".to_owned(),
                WhenItTrips::NowAndThen => "now and then".to_owned(),
            };
            format!("{} trips {when}", breaker(name))
        }
        Complaint::WontReset { breaker: name } => format!("{} does not reset", breaker(name)),
        Complaint::Tingle { from } => format!("tingle from {}", speak::name(from)),
        Complaint::Warm { place: warm } => format!("{} warm", place(warm)),
        Complaint::Works { places } => match places.as_slice() {
            [] => "everything else works".to_owned(),
            [only] => format!("{} works", place(only)),
            several => format!("{} work", all(several, &place, "")),
        },
        Complaint::WorkedOn { place: at } => format!("{} was worked on", place(at)),
        Complaint::NothingSeen => "nothing noticed".to_owned(),
    }
}
