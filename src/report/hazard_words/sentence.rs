//! What a hazard is, in one sentence.

use crate::circuit::Vocabulary;
use crate::hazard::{Hazard, HazardKind, JointBand, Severity, person};
use crate::instrument::Effect;
use crate::quantity::Address;
use crate::report::figure::{amperes, milliamperes, ohms, volts, watts};
use crate::report::protection::duration;
use crate::report::vocabulary::{Term, term};

/// What is so, in one sentence.
pub(super) fn sentence(hazard: &Hazard, vocabulary: Vocabulary) -> String {
    let place = addresses(hazard);
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
        HazardKind::AllContactsLive { volt } => format!(
            "Every contact of the {receptacle} {place} is live at {} V to earth, with nothing \
             between them: held into it, an instrument shows it as dead.",
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
    match hazard.kind {
        HazardKind::StrayCurrent { ampere, breaker_ampere, rating_ampere } => {
            let rating = rating_ampere.map_or_else(String::new, |rating| {
                format!(", which carries {} A and is rated {rating} A", amperes(breaker_ampere))
            });
            format!(
                "{} A leave circuit {place} and do not come back by its own neutral but by {}, the \
                 soil or another circuit, and nothing has to trip: not the {breaker}{rating}.",
                amperes(ampere),
                term(vocabulary, Term::Ground)
            )
        }
        HazardKind::ProtectionDead { volt, now } => format!(
            "{place} {}: its electronics have {} V. It looks like protection and is none.",
            if now { "should trip and cannot" } else { "could not trip" },
            volts(volt)
        ),
        HazardKind::FaultNotCleared { ampere, volt, slowest_s, by_touch } => {
            not_cleared(place, vocabulary, (ampere, volt), slowest_s, by_touch)
        }
        HazardKind::NotBehindDevice { volt, tripped } => format!(
            "{}, {place} {} live at {} V to earth: its power comes past the device.",
            if tripped {
                "Although its ground-fault device has tripped"
            } else {
                "Once its ground-fault device trips"
            },
            if tripped { "is still" } else { "stays" },
            volts(volt)
        ),
        HazardKind::GroundOnNeutral => format!(
            "The {ground} at {place} has its only way back by the neutral of its circuit. Every \
             tester shows it as good; the moment that neutral opens, all metal on it is live.",
            ground = term(vocabulary, Term::Ground)
        ),
        HazardKind::NeutralOverload { ampere, ampacity_ampere, now: true } => format!(
            "The neutral {place} carries {} A and is good for {ampacity_ampere} A, and no {breaker} \
             sees it.",
            amperes(ampere)
        ),
        HazardKind::NeutralOverload { ampere, ampacity_ampere, now: false } => format!(
            "The neutral {place} can come to {} A with every {breaker} within its rating, and is \
             good for {ampacity_ampere} A: its {}s are on one {}, or on such as do not cancel, \
             so that their currents add in it.",
            amperes(ampere),
            term(vocabulary, Term::Hot),
            term(vocabulary, Term::Leg),
        ),
        HazardKind::ConductorOverload { ampere, ampacity_ampere } => format!(
            "The conductor {place} carries {} A and is good for {ampacity_ampere} A, and its \
             {breaker} is too large to see it.",
            amperes(ampere)
        ),
        HazardKind::Overload { ampere, rating_ampere } => format!(
            "The {breaker} of {place} carries {} A and is rated {rating_ampere} A.",
            amperes(ampere)
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

fn not_cleared(
    place: &str,
    vocabulary: Vocabulary,
    (ampere, volt): (f64, f64),
    slowest_s: Option<f64>,
    by_touch: bool,
) -> String {
    let trips = match slowest_s {
        _ if by_touch => {
            "and only a person who touches it makes the ground-fault device trip".to_owned()
        }
        Some(slowest_s) => format!("for up to {}", duration(slowest_s)),
        None => "and nothing has to trip".to_owned(),
    };
    format!(
        "A {} that touched the grounded metal at {place} would pass {} A into it; it would stay at \
         {} V to earth, {trips}.",
        term(vocabulary, Term::Hot),
        amperes(ampere),
        volts(volt)
    )
}

/// The addresses as a person would list them, at most four by name.
fn addresses(hazard: &Hazard) -> String {
    const NAMED: usize = 4;
    let named = |address: &Address| name(&hazard.kind, address);
    let mut names: Vec<String> = Vec::new();
    for name in hazard.addresses.iter().map(named) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let more = names.len().saturating_sub(NAMED);
    names.truncate(NAMED);
    match (names.as_slice(), more) {
        ([], _) => String::new(),
        ([one], 0) => one.clone(),
        ([most @ .., last], 0) => format!("{} and {last}", most.join(", ")),
        (names, more) => format!("{} and {more} more", names.join(", ")),
    }
}

/// An address without the word that the sentence says already.
fn name(kind: &HazardKind, address: &Address) -> String {
    let text = address.as_str();
    let said = match kind {
        HazardKind::EnergisedGround { .. } | HazardKind::GroundOnNeutral => {
            [".ground", ".splice.ground"].as_slice()
        }
        HazardKind::EnergisedNeutral { .. } => &[".neutral", ".splice.neutral"],
        HazardKind::LiveWithBreakerOff { .. } | HazardKind::NotBehindDevice { .. } => {
            &[".hot", ".splice.hot"]
        }
        HazardKind::EnergisedCase { .. } => &[".frame"],
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
        assert_eq!(addresses(&hazard), "a, b, c, d and 2 more");
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
