//! Complaints as a customer would put them.

use crate::circuit::Vocabulary;
use crate::diagnosis::{Complaint, WhenItTrips};
use crate::report::vocabulary::{Term, term};

/// A complaint in the words of someone who called for help.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::diagnosis::Complaint;
/// use slotwise::report::complaint_in_words;
/// let dead = Complaint::LoadDead { load: "kettle".into() };
/// let said = complaint_in_words(&dead, Vocabulary::NorthAmerican);
/// assert_eq!(said, "The kettle does nothing. It works elsewhere, so it is not the kettle.");
/// ```
pub fn say(complaint: &Complaint, vocabulary: Vocabulary) -> String {
    let breaker = term(vocabulary, Term::Breaker);
    match complaint {
        Complaint::LoadDead { load } => {
            format!("The {load} does nothing. It works elsewhere, so it is not the {load}.")
        }
        Complaint::Dead { places } => {
            format!("Nothing works any more at {}.", listed(places))
        }
        Complaint::DeadFrom { place } => {
            format!("From {place} on everything is dead; before it all is well.")
        }
        Complaint::AllDead { circuit } => format!("Nothing on {circuit} works any more."),
        Complaint::HalfTheHouse => "Half of the house is dead.".to_owned(),
        Complaint::HalfDead { place } => format!("One half of the outlet at {place} is dead."),
        Complaint::Dim { loads, places, when } => format!(
            "{} poorly{}{}.",
            run(loads, "runs", "run"),
            there(places),
            only_when(when.as_deref())
        ),
        Complaint::Bright { loads, places, when } => format!(
            "{} too bright, or too fast and hot{}{}.",
            run(loads, "runs", "run"),
            there(places),
            only_when(when.as_deref())
        ),
        Complaint::Flickers { loads } => {
            format!("{} off and on by themselves.", run(loads, "goes", "go"))
        }
        Complaint::StaysOn { load } => format!("The {load} cannot be switched off."),
        Complaint::Trips { breaker: name, when } => {
            let when = match when {
                WhenItTrips::AtOnce => "as soon as I switch it on".to_owned(),
                WhenItTrips::WithLoad { load } => format!("whenever the {load} is on"),
                WhenItTrips::AfterAWhile => "after some minutes".to_owned(),
                WhenItTrips::NowAndThen => "now and then".to_owned(),
            };
            format!("{name} trips {when}.")
        }
        Complaint::WontReset { breaker: name } => {
            format!("The {breaker} {name} cannot be switched on again.")
        }
        Complaint::Tingle { from } => {
            format!("I felt a tingle when I touched the {from}. Nobody has touched it since.")
        }
        Complaint::Warm { place } => {
            format!("The plate at {place} gets warm, and there is a smell.")
        }
        Complaint::Works { places } => match places.as_slice() {
            [] => "Everything else works.".to_owned(),
            places => format!("What is at {} works.", listed(places)),
        },
        Complaint::WorkedOn { place } => format!("Somebody worked at {place} lately."),
        Complaint::NothingSeen => {
            "Everything works. The wiring is to be checked, and the tester says something is not \
             right."
                .to_owned()
        }
    }
}

fn listed(names: &[String]) -> String {
    match names {
        [] => "several places".to_owned(),
        [only] => only.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

fn run(loads: &[String], one: &str, several: &str) -> String {
    match loads {
        [] => format!("The lights {several}"),
        [only] => format!("The {only} {one}"),
        loads => {
            let named: Vec<String> = loads.iter().map(|load| format!("the {load}")).collect();
            let said = format!("{} {several}", listed(&named));
            said.replacen("the", "The", 1)
        }
    }
}

fn there(places: &[String]) -> String {
    if places.is_empty() { String::new() } else { format!(" at {}", listed(places)) }
}

fn only_when(load: Option<&str>) -> String {
    load.map_or_else(String::new, |load| format!(" when the {load} is on"))
}
