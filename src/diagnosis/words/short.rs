//! What is said in short of what was told before: `it trips again`, `still dead`, `it works now`.

use crate::circuit::Circuit;
use crate::condition::words::known::Known;
use crate::condition::words::lexer::tokens;
use crate::condition::words::speak;
use crate::diagnosis::{Account, Complaint, Protected, Seen};

use super::everyday::plainly;
use super::moment::BEGINS;
use super::reader::Reader;
use super::seen::{tell_protected, tell_protection};
use super::{complaint, plain};

/// What points at what was told before.
const POINTED: [&str; 10] = [
    "turned it back on and it",
    "switched it back on and it",
    "closed it again and it",
    "reset it and it",
    "and it still",
    "it still",
    "it is still",
    "now it",
    "still",
    "it",
];

/// What was dead is dead now.
const STILL_DEAD: [&str; 10] = [
    "still dead",
    "it is still dead",
    "still no power",
    "still nothing",
    "still out",
    "dead as before",
    "dead again",
    "no change",
    "nothing changed",
    "same as before",
];

/// What was dead is not any more.
const WORKS: [&str; 16] = [
    "works",
    "it works",
    "works now",
    "it works now",
    "works again",
    "it works again",
    "working",
    "working now",
    "working again",
    "it is working again",
    "fine now",
    "it is fine now",
    "power is back",
    "power back",
    "back on",
    "it is back on",
];

/// That all is well, said of nothing by name.
pub(super) const WELL_NOW: [&str; 16] = [
    "it all works now",
    "it works again",
    "it works now",
    "it is fine now",
    "works again",
    "works now",
    "all good now",
    "it all works again",
    "all works now",
    "everything is good now",
    "working now",
    "all fixed",
    "it is fixed",
    "fixed",
    "problem solved",
    "all is well",
];

/// Behind what a breaker did.
const AT_ONCE: [&str; 4] = ["again", "straight away", "right away", "as before"];

/// A sentence in full for one that says in short what was told before: of the only breaker or
/// device that was said to trip, what it does; after something was put right, that what was said to
/// be dead still is or works. `None` if it is no such sentence, or several may be meant.
///
/// ```
/// use slotwise::diagnosis::{Account, Complaint, WhenItTrips, words};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let trips = Complaint::Trips { breaker: "c1".into(), when: WhenItTrips::AtOnce };
/// let account = Account { complaints: vec![trips], ..Account::default() };
/// let said = words::in_full(&studio, &account, "it trips again straight away");
/// assert_eq!(said.as_deref(), Some("breaker c1 trips at once"));
/// assert_eq!(words::in_full(&studio, &account, "door dead"), None);
/// ```
pub fn in_full(circuit: &Circuit, account: &Account, text: &str) -> Option<String> {
    let known = Known::of(circuit);
    let plain = plain(text);
    let tokens = plainly(&known, &tokens(&plain));
    let reader = Reader::new(&known, &plain, &tokens);
    let trips = reader.trips_in_short(account).or_else(|| reader.trips_without(account));
    trips.or_else(|| reader.dead_in_short(account)).or_else(|| reader.works_in_short(account))
}

/// Whether it says that all is well, and no more: nobody looks at joints to say so.
pub(super) fn is_all_well(circuit: &Circuit, text: &str) -> bool {
    let known = Known::of(circuit);
    let plain = plain(text);
    let tokens = plainly(&known, &tokens(&plain));
    let mut reader = Reader::new(&known, &plain, &tokens);
    reader.takes_any(&WELL_NOW) && reader.is_done()
}

impl Reader<'_> {
    fn trips_in_short(&self, account: &Account) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes_any(&POINTED);
        let is_said_to_hold = ahead.clone().takes_any(&["holds", "held", "stays on"]);
        let did = ahead.protection_did().ok()?;
        // `fine` may be of anything.
        if did == Protected::Holds && !is_said_to_hold || did == Protected::FoundOff {
            return None;
        }
        ahead.takes_any(&AT_ONCE);
        ahead.pass_marks();
        let begins = ahead
            .token(0)
            .is_none_or(|token| BEGINS.iter().any(|word| token.text.eq_ignore_ascii_case(word)));
        let (rest, _) = ahead.rest_of_text();
        let name = only(told_to_trip(account)).filter(|_| begins)?;
        let is_breaker = self.known.circuit.branch_circuit(name).is_some();
        let class = if is_breaker { "breaker " } else { "" };
        let said = tell_protected(self.known, class, name);
        Some(format!("{said} {} {rest}", tell_protection(did)).trim_end().to_owned())
    }

    /// `unplugged the fridge, still trips`: with what was done first, of what was said to trip.
    fn trips_without(&self, account: &Account) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes_any(&["i have", "i", "we have", "we"]);
        if !ahead.clone().takes_any(&["unplugged", "disconnected", "with"]) {
            return None;
        }
        let tokens = self.rest();
        let parts =
            |text: &str| [",", "and", "but"].iter().any(|one| text.eq_ignore_ascii_case(one));
        let (at, parting) = tokens.iter().enumerate().rfind(|(_, token)| parts(token.text))?;
        let rest = tokens.get(at + 1..)?;
        let said = Self::new(self.known, self.text, rest).trips_in_short(account)?;
        let begins = tokens.first()?.span.start;
        Some(format!("{}, {said}", self.text.get(begins..parting.span.start)?.trim_end()))
    }

    fn dead_in_short(&self, account: &Account) -> Option<String> {
        let complaint = self.said_since_a_repair(account, &STILL_DEAD)?;
        Some(format!("since then {}", complaint::tell(self.known, complaint)))
    }

    fn works_in_short(&self, account: &Account) -> Option<String> {
        if !account.is_anything_mended() {
            return None;
        }
        let mut ahead = self.clone();
        let is_all_well = ahead.takes_any(&WELL_NOW) && ahead.is_done();
        let said = self.said_since_a_repair(account, &WORKS);
        let said = said.or_else(|| self.said_since_a_repair(account, &WELL_NOW));
        let Some(said) = said else {
            return is_all_well.then(|| "since then everything works".to_owned());
        };
        let places = match said {
            Complaint::LoadDead { load } => return Some(format!("{} runs", speak::name(load))),
            Complaint::Dead { places } => places.clone(),
            Complaint::DeadFrom { place } => vec![place.clone()],
            // The other half, or what else is on the circuit, may be on nobody's mind.
            _ => return None,
        };
        let works = Complaint::Works { places };
        Some(format!("since then {}", complaint::tell(self.known, &works)))
    }

    /// The only thing that was said to be dead, where something was put right since and one of
    /// these words is all there is.
    fn said_since_a_repair<'a>(
        &self,
        account: &'a Account,
        words: &[&str],
    ) -> Option<&'a Complaint> {
        let mut ahead = self.clone();
        let is_said = ahead.takes_any(words) && ahead.end().is_ok();
        let dead = account.complaints.iter().filter(|complaint| {
            use Complaint::{AllDead, Dead, DeadFrom, HalfDead, LoadDead};
            matches!(
                complaint,
                AllDead { .. } | Dead { .. } | DeadFrom { .. } | HalfDead { .. } | LoadDead { .. }
            )
        });
        only(dead).filter(|_| is_said && account.is_anything_mended())
    }
}

/// What was said to trip, or not to reset.
fn told_to_trip(account: &Account) -> impl Iterator<Item = &str> {
    let called = account.complaints.iter().filter_map(|complaint| match complaint {
        Complaint::Trips { breaker, .. } | Complaint::WontReset { breaker } => {
            Some(breaker.as_str())
        }
        _ => None,
    });
    let seen = account.observations.iter().filter_map(|one| match &one.seen {
        Seen::Protection { name, did } => {
            (!matches!(did, Protected::Holds)).then_some(name.as_str())
        }
        _ => None,
    });
    called.chain(seen)
}

/// The only one there is, said once or several times.
fn only<T: PartialEq>(mut all: impl Iterator<Item = T>) -> Option<T> {
    let first = all.next()?;
    all.all(|other| other == first).then_some(first)
}
