//! What a hazard is, in one sentence.

use crate::circuit::Vocabulary;
use crate::hazard::{Hazard, HazardKind, JointBand, Part, Severity, Trips, person};
use crate::instrument::Effect;
use crate::quantity::Address;
use crate::report::figure::{amperes, milliamperes, ohms, volts, watts};
use crate::report::protection::duration;
use crate::report::vocabulary::{Term, term};

/// What is so, in one sentence.
pub(super) fn sentence(hazard: &Hazard, vocabulary: Vocabulary) -> String {
    let place = listed(&hazard.kind, &hazard.addresses);
    let receptacle = term(vocabulary, Term::Receptacle);
    match hazard.kind {
        HazardKind::EnergisedGround { volt, through_person_ampere }
        | HazardKind::EnergisedCase { volt, through_person_ampere }
        | HazardKind::EnergisedNeutral { volt, through_person_ampere }
        | HazardKind::LiveWithBreakerOff { volt, through_person_ampere } => {
            let volt = volts(volt);
            let person = format!(
                "{} through a person touching it{}",
                milliamperes(through_person_ampere),
                effect(through_person_ampere)
            );
            live(&hazard.kind, vocabulary, &place, (&volt, &person))
        }
        HazardKind::WeaklyLive { .. } => weakly_live(hazard, vocabulary, &place),
        HazardKind::AllContactsLive { volt } => format!(
            "Every contact of the {receptacle}{} {place} is live at {} V to earth, with nothing \
             between them: held into it, an instrument shows it as dead.",
            if hazard.addresses.len() == 1 { "" } else { "s" },
            volts(volt)
        ),
        HazardKind::OverVoltage { volt, should_be_volt } => format!(
            "{place} gets {} V in place of {} V and {}.",
            volts(volt),
            volts(should_be_volt),
            too_much(hazard.severity)
        ),
        HazardKind::OutletOverVoltage { volt, should_be_volt } => format!(
            "What is plugged in at {place} gets {} V in place of {} V and {}.",
            volts(volt),
            volts(should_be_volt),
            too_much(hazard.severity)
        ),
        HazardKind::UnderVoltage { volt, should_be_volt } => format!(
            "{place} gets {} V in place of {} V, too little to work with.",
            volts(volt),
            volts(should_be_volt)
        ),
        HazardKind::HeatingJoint { resistance_ohm, ampere, watt, band } => format!(
            "The joint {place} has {} and makes {} W of heat at {} A: {}.",
            ohms(resistance_ohm),
            watts(watt),
            amperes(ampere),
            match (band, hazard.severity) {
                (JointBand::Warm, Severity::Danger) => "enough to start a fire",
                _ => band_words(band),
            }
        ),
        HazardKind::HeatingFault { ampere, watt } => format!(
            "A fault at {place} passes {} A and makes {} W of heat there: {}.",
            amperes(ampere),
            watts(watt),
            match hazard.severity {
                Severity::Danger => "enough to set fire to what is around it",
                _ => "it runs hot",
            }
        ),
        HazardKind::Overload { .. }
        | HazardKind::NeutralOverload { .. }
        | HazardKind::ConductorOverload { .. }
        | HazardKind::FaultNotCleared { .. }
        | HazardKind::NotBehindDevice { .. }
        | HazardKind::GroundOnNeutral
        | HazardKind::FirstEarthFault { .. }
        | HazardKind::OpenNeutral { .. }
        | HazardKind::HandlesNotTied { .. }
        | HazardKind::StrayCurrent { .. }
        | HazardKind::ProtectionDead { .. } => protection_sentence(hazard, &place, vocabulary),
    }
}

/// What comes of too much voltage.
fn too_much(severity: Severity) -> &'static str {
    match severity {
        Severity::Danger => "can burn out or catch fire",
        Severity::Warning | Severity::Notice => "wears out sooner",
    }
}

fn protection_sentence(hazard: &Hazard, place: &str, vocabulary: Vocabulary) -> String {
    let breaker = term(vocabulary, Term::Breaker);
    let its = if hazard.addresses.len() == 1 { "its" } else { "their" };
    match hazard.kind {
        HazardKind::StrayCurrent { .. } => stray(hazard, place, vocabulary),
        HazardKind::ProtectionDead { volt, now } => format!(
            "{place} {}: its electronics have {} V. It looks like protection and is none.",
            if now { "should trip and cannot" } else { "could not trip" },
            volts(volt)
        ),
        HazardKind::FaultNotCleared { .. } => not_cleared(hazard, place, vocabulary),
        HazardKind::NotBehindDevice { volt, tripped } => format!(
            "{} {its} {} {}, {} V to earth stay at {place}: {its} power comes past the device.",
            if tripped { "Although" } else { "Once" },
            term(vocabulary, Term::GroundFaultDevice),
            if tripped { "has tripped" } else { "trips" },
            volts(volt)
        ),
        HazardKind::FirstEarthFault { volt } => format!(
            "A conductor of this isolated supply has come to earth, or to {} metal. Nothing trips \
             on that; its other conductors are at {} V to it now, and a second fault, on one of \
             them, is a short circuit.",
            term(vocabulary, Term::Grounded),
            volts(volt)
        ),
        HazardKind::OpenNeutral { .. } => open_neutral(&hazard.kind, place, vocabulary),
        HazardKind::HandlesNotTied { neutral_ampere, one_off } => {
            not_tied(hazard, place, vocabulary, neutral_ampere, one_off)
        }
        HazardKind::GroundOnNeutral => format!(
            "The {ground} at {place} has its only way back by the neutral of its circuit. Every \
             tester shows it as good; the moment that neutral opens, all metal on it is live.",
            ground = term(vocabulary, Term::Ground)
        ),
        HazardKind::NeutralOverload { .. } | HazardKind::ConductorOverload { .. } => {
            overloaded(hazard, place, vocabulary)
        }
        HazardKind::Overload { ampere, rating_ampere } => format!(
            "The {breaker} of {place} carries {} A and is rated {rating_ampere} A.",
            amperes(ampere)
        ),
        _ => String::new(),
    }
}

/// Conductors that carry, or can come to carry, more than they are good for; of several the worst
/// figure.
fn overloaded(hazard: &Hazard, place: &str, vocabulary: Vocabulary) -> String {
    let breaker = term(vocabulary, Term::Breaker);
    let is_one = hazard.addresses.len() == 1;
    let (s, carries, is, it) =
        if is_one { ("", "carries", "is", "it") } else { ("s", "carry up to", "are", "them") };
    match hazard.kind {
        HazardKind::NeutralOverload { ampere, ampacity_ampere, now: true } => format!(
            "The neutral{s} {place} {carries} {} A and {is} good for {ampacity_ampere} A, and no \
             {breaker} sees it.",
            amperes(ampere)
        ),
        HazardKind::NeutralOverload { ampere, ampacity_ampere, now: false } => format!(
            "The neutral{s} {place} can come to {} A with every {breaker} within its rating, and {is} \
             good for {ampacity_ampere} A: the {}s on {it} are on one {}, or on such as do not \
             cancel, so that their currents add in {it}.",
            amperes(ampere),
            term(vocabulary, Term::Hot),
            term(vocabulary, Term::Leg),
        ),
        HazardKind::ConductorOverload { ampere, ampacity_ampere, now: false } => format!(
            "The ring is open, and what is left of it, {place}, can come to {} A with its {breaker} \
             within its rating, and is good for {ampacity_ampere} A.",
            amperes(ampere)
        ),
        HazardKind::ConductorOverload { ampere, ampacity_ampere, now: true } => format!(
            "The conductor{s} {place} {carries} {} A and {is} good for {ampacity_ampere} A, and {} \
             {breaker} is too large to see it.",
            amperes(ampere),
            if is_one { "its" } else { "the" },
        ),
        _ => String::new(),
    }
}

/// Live metal: volts to earth, and what a person gets.
fn live(
    kind: &HazardKind,
    vocabulary: Vocabulary,
    place: &str,
    (volt, person): (&str, &str),
) -> String {
    match kind {
        HazardKind::EnergisedGround { .. } => format!(
            "The {} at {place} is live: {volt} V to earth, {person}.",
            term(vocabulary, Term::Ground)
        ),
        HazardKind::EnergisedCase { .. } => {
            format!("Metal case live at {place}: {volt} V to earth, {person}.")
        }
        HazardKind::EnergisedNeutral { .. } => {
            format!("The neutral at {place} is live: {volt} V to earth, {person}.")
        }
        _ => format!(
            "With its {} off, the {} at {place} is still live: {volt} V to earth, {person}. \
             Something else feeds it.",
            term(vocabulary, Term::Breaker),
            term(vocabulary, Term::Hot)
        ),
    }
}

/// Metal that is live, and not so that anybody feels it.
fn weakly_live(hazard: &Hazard, vocabulary: Vocabulary, place: &str) -> String {
    let HazardKind::WeaklyLive { parts, volt, through_person_ampere, by_leak } = &hazard.kind
    else {
        return String::new();
    };
    let ends =
        |word: &str| hazard.addresses.iter().filter(|at| at.as_str().ends_with(word)).count();
    let one_case = ends(".frame") == 1;
    let part = |part: &Part| match part {
        Part::Ground => format!("the {}", term(vocabulary, Term::Ground)),
        Part::Case => format!("the metal case{}", if one_case { "" } else { "s" }),
        Part::Neutral => "the neutral".to_owned(),
        Part::SwitchedOff => format!(
            "the {} with its {} off",
            term(vocabulary, Term::Hot),
            term(vocabulary, Term::Breaker)
        ),
    };
    let is_one = parts.len() == 1 && (parts[..] != [Part::Case] || one_case);
    let (comes, them) = if is_one { ("comes", "it") } else { ("come", "them") };
    let parts: Vec<String> = parts.iter().map(part).collect();
    let why = match by_leak {
        true => format!("a leak brings {them} there, and need not stay so small"),
        false => format!(
            "ghost voltage of wires beside {them} and of filters, as nothing joins {them} to earth"
        ),
    };
    format!(
        "At {place} {} {comes} to {} V to earth, with {} through a person touching {them}, too \
         little to feel: {why}.",
        in_a_row(&parts),
        volts(*volt),
        milliamperes(*through_person_ampere)
    )
}

/// Current that does not come back the way it went.
fn stray(hazard: &Hazard, place: &str, vocabulary: Vocabulary) -> String {
    let HazardKind::StrayCurrent { ampere, breaker_ampere, rating_ampere } = hazard.kind else {
        return String::new();
    };
    let (ampere, ground) = (amperes(ampere), term(vocabulary, Term::Ground));
    if hazard.addresses.len() > 1 {
        return format!(
            "{ampere} A stray from each of the circuits {place}: they come back not by its own \
             neutral but by {ground}, the soil or another circuit, and nothing has to trip."
        );
    }
    let rating = rating_ampere.map_or_else(String::new, |rating| {
        format!(", which carries {} A and is rated {rating} A", amperes(breaker_ampere))
    });
    format!(
        "{ampere} A leave circuit {place} and do not come back by its own neutral but by {ground}, \
         the soil or another circuit, and nothing has to trip: not the {}{rating}.",
        term(vocabulary, Term::Breaker)
    )
}

/// A neutral that waits for the first load.
fn open_neutral(kind: &HazardKind, place: &str, vocabulary: Vocabulary) -> String {
    let HazardKind::OpenNeutral { volt, between_hots_volt, has_grounds } = kind else {
        return String::new();
    };
    let grounds = match has_grounds {
        true => format!(", and with it the {} metal on it", term(vocabulary, Term::Grounded)),
        false => String::new(),
    };
    let shared = between_hots_volt.map_or_else(String::new, |between| {
        format!(
            ". Between loads on different {}s it is the middle of {} V, most of which the smaller \
             one gets",
            term(vocabulary, Term::Leg),
            volts(between)
        )
    });
    format!(
        "The neutral at {place} is open: what needs it does not work, and the first load switched \
         on makes it live at up to {} V{grounds}{shared}.",
        volts(*volt)
    )
}

/// Hots that share a neutral and no handle.
fn not_tied(
    hazard: &Hazard,
    place: &str,
    vocabulary: Vocabulary,
    neutral_ampere: f64,
    one_off: bool,
) -> String {
    let hot = term(vocabulary, Term::Hot);
    let them = if hazard.addresses.len() == 2 { "both" } else { "all" };
    match one_off {
        true => format!(
            "Of {place}, which share a neutral, not {them} are off: in the boxes on them a {hot} is \
             live yet, and the neutral carries {} A.",
            amperes(neutral_ampere)
        ),
        false => format!(
            "{place} share a neutral, and their handles are not tied: with one of them off, a {hot} \
             is live yet in the boxes on them, and the neutral with it carries current.",
        ),
    }
}

/// What a hot that touched metal would do.
fn not_cleared(hazard: &Hazard, place: &str, vocabulary: Vocabulary) -> String {
    let HazardKind::FaultNotCleared { ampere, volt, trips, by_neutral, past_breakers, .. } =
        &hazard.kind
    else {
        return String::new();
    };
    let n_places = hazard.addresses.len();
    let breakers = |devices: &[String]| in_a_row(devices);
    let trip = |devices: &[String]| if devices.len() == 1 { "trips" } else { "trip" };
    let trips = match trips {
        Trips::Nothing => "and nothing has to trip".to_owned(),
        Trips::InVain { devices } => {
            format!("although {} {}", breakers(devices), trip(devices))
        }
        Trips::After { devices, after_s } => {
            let until = format!("until {} {}", breakers(devices), trip(devices));
            format!("for up to {}, {until}", duration(*after_s))
        }
        Trips::ByTouch => format!(
            "and only a person who touches it makes the {} trip",
            term(vocabulary, Term::GroundFaultDevice)
        ),
        Trips::Unknown => "and what trips was not worked out: there are too many".to_owned(),
    };
    let touching = match by_neutral {
        true => "neutral",
        false => term(vocabulary, Term::Hot),
    };
    let (ampere, volt) = (amperes(*ampere), volts(*volt));
    let metal = format!("the {} metal", term(vocabulary, Term::Grounded));
    if *past_breakers {
        let breaker = term(vocabulary, Term::Breaker);
        let on_bus = match n_places {
            1 => "its wire is on a live bus",
            _ => "the wire there is on a live bus",
        };
        return format!(
            "No {breaker} is before the {touching} at {place}: {on_bus}. If it \
             touched {metal}, {ampere} A would flow; it would stay at {volt} V to earth, {trips}."
        );
    }
    format!(
        "A {touching} that touched {metal} at {place} would pass {ampere} A into it; it would stay \
         at {volt} V to earth, {trips}."
    )
}

/// Addresses as a person would list them, at most four by name.
pub(super) fn listed(kind: &HazardKind, addresses: &[Address]) -> String {
    const NAMED: usize = 4;
    let named = |address: &Address| name(kind, address);
    let mut names: Vec<String> = Vec::new();
    for name in addresses.iter().map(named) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let more = names.len().saturating_sub(NAMED);
    names.truncate(NAMED);
    if more > 0 {
        return format!("{} and {more} more", names.join(", "));
    }
    in_a_row(&names)
}

/// Names as a person says them one after the other.
fn in_a_row(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// An address without the word that the sentence says already.
fn name(kind: &HazardKind, address: &Address) -> String {
    let text = address.as_str();
    let said = match kind {
        HazardKind::EnergisedGround { .. } | HazardKind::GroundOnNeutral => {
            [".ground", ".splice.ground"].as_slice()
        }
        HazardKind::EnergisedNeutral { .. } | HazardKind::OpenNeutral { .. } => {
            &[".neutral", ".splice.neutral"]
        }
        HazardKind::LiveWithBreakerOff { .. } | HazardKind::NotBehindDevice { .. } => {
            &[".hot", ".splice.hot"]
        }
        HazardKind::EnergisedCase { .. } => &[".frame"],
        HazardKind::WeaklyLive { .. } => {
            &[".ground", ".splice.ground", ".frame", ".neutral", ".splice.neutral"]
        }
        HazardKind::FaultNotCleared { .. } => &[".ground", ".splice.ground", ".frame"],
        HazardKind::Overload { .. } | HazardKind::StrayCurrent { .. } => &[".breaker"],
        _ => &[],
    };
    said.iter().rev().find_map(|word| text.strip_suffix(word)).unwrap_or(text).to_owned()
}

fn band_words(band: JointBand) -> &'static str {
    match band {
        JointBand::Good => "as a good joint has",
        JointBand::Watch => "worth watching",
        JointBand::Warm => "it runs warm under load",
        JointBand::FireHazard => "a fire hazard under load",
        JointBand::Dimming => "bad enough to dim lamps, and a fire hazard",
        JointBand::NearlyOpen => "nearly open",
    }
}

/// What a current through a person does, by the thresholds of [`person`].
fn effect(ampere: f64) -> &'static str {
    match person().effect(ampere) {
        Effect::MayStopTheHeart => ", enough to stop the heart within seconds",
        Effect::MayNotLetGo => ", from which not everybody can let go",
        Effect::Felt | Effect::NotFelt => "",
    }
}

#[cfg(test)]
mod tests {
    use super::super::say;
    use super::*;

    #[test]
    fn many_places_are_counted_rather_than_listed() {
        let hazard = Hazard {
            severity: Severity::Danger,
            kind: HazardKind::AllContactsLive { volt: 120.0 },
            addresses: ["a", "b", "c", "d", "e", "f"].map(Into::into).to_vec(),
        };
        assert_eq!(listed(&hazard.kind, &hazard.addresses), "a, b, c, d and 2 more");
    }

    #[test]
    fn the_iec_vocabulary_speaks_of_earth_and_socket_outlets() {
        let mut hazard = Hazard {
            severity: Severity::Danger,
            kind: HazardKind::AllContactsLive { volt: 230.0 },
            addresses: vec!["kiln".into()],
        };
        assert!(say(&hazard, Vocabulary::Iec).says.contains("socket-outlet kiln"));
        hazard.kind = HazardKind::EnergisedGround { volt: 230.0, through_person_ampere: 0.2 };
        assert!(say(&hazard, Vocabulary::Iec).says.starts_with("The earth at kiln is live"));
    }
}
