//! Hazards in words: what it is, what to do about it, and where the threshold comes from.

use crate::circuit::{Circuit, Vocabulary};
use crate::condition::Condition;
use crate::hazard::{
    Hazard, HazardKind, JointBand, LET_GO_AMPERE, Limits, Severity, Situation, gravest_first,
    hazards, person,
};
use crate::instrument::Effect;
use crate::netlist::{Netlist, wire};
use crate::protection::touch;
use crate::quantity::Address;
use crate::solution::{Solution, solve};

use super::figure::{amperes, milliamperes, ohms, volts, watts};
use super::protection::duration;
use super::vocabulary::{Term, term};

/// A hazard as people and programs receive it.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::hazard::{Hazard, HazardKind, Severity};
/// use slotwise::report::hazard_words::say;
/// let hazard = Hazard {
///     severity: Severity::Danger,
///     kind: HazardKind::AllContactsLive { volt: 120.0 },
///     addresses: vec!["desk".into()],
/// };
/// let report = say(&hazard, Vocabulary::NorthAmerican);
/// assert!(report.says.starts_with("Every contact of the receptacle desk is live"));
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct HazardReport {
    /// Its kind, stable: `energised_ground`, `heating_joint`, ...
    pub kind: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// Where it is, in walking order.
    pub addresses: Vec<String>,
    /// The figure that makes it a hazard, rms volts; for the kinds that have one.
    pub volt: Option<f64>,
    /// Amperes; for the kinds that have them (a person's, a joint's, a breaker's).
    pub ampere: Option<f64>,
    /// Heat in watts, for joints.
    pub heat_watt: Option<f64>,
    /// Resistance in ohms, for joints.
    pub resistance_ohm: Option<f64>,
    /// Whose current `ampere` is, where it is a person's: the path, the table with its edition and
    /// the percentile.
    pub person: Option<String>,
    /// It is so only with stated ranges at other points than their middle.
    pub may_be: bool,
    /// It ends with a trip, which may take so many seconds; the report is of what remains.
    pub until_s: Option<f64>,
    /// What is so, in one sentence.
    pub says: String,
    /// What to do, in plain words.
    pub advice: &'static str,
    /// The threshold, with its source.
    pub threshold: String,
}

/// Every hazard of a solved condition, and those of protection found before, the gravest first.
pub(super) fn all_in_words(
    (circuit, condition): (&Circuit, &Condition),
    (netlist, solution): (&Netlist, &Solution),
    not_cleared: Vec<Hazard>,
) -> Vec<HazardReport> {
    let sound = Condition { faults: Vec::new(), ..condition.clone() };
    let sound = wire(circuit, &sound).ok().and_then(|netlist| {
        let solution = solve(&netlist).ok()?;
        Some((netlist, solution))
    });
    let situation = Situation {
        circuit,
        condition,
        netlist,
        solution,
        sound: sound.as_ref().map(|(netlist, solution)| (netlist, solution)),
    };
    let mut found = hazards(&situation);
    found.extend(not_cleared);
    gravest_first(&mut found);
    let vocabulary = circuit.parts().vocabulary;
    let panel_live = found.iter().any(is_of_the_panel);
    let said = found.iter().map(|hazard| {
        let mut said = say(hazard, vocabulary);
        if panel_live && joined_to_a_live_panel(&hazard.kind) {
            said.advice = PANEL_LIVE;
        }
        said.says.push_str(&ended_by_touch(circuit, condition, hazard));
        said
    });
    said.collect()
}

/// What ends it when somebody touches, in a sentence; empty where nothing does.
fn ended_by_touch(circuit: &Circuit, condition: &Condition, hazard: &Hazard) -> String {
    let vocabulary = circuit.parts().vocabulary;
    let limit_volt = Limits::of(vocabulary).touch_wet_volt;
    let Some(metal) = hazard.addresses.first().filter(|_| is_persons(&hazard.kind)) else {
        return String::new();
    };
    let steps = touch(circuit, condition, metal, &person(), (limit_volt, TOUCHED_S));
    let steps = steps.unwrap_or_default();
    let slowest_s = steps.iter().filter_map(|step| step.after.latest_s).sum();
    steps.last().map_or_else(String::new, |step| {
        let breaker = if step.is_breaker { term(vocabulary, Term::Breaker) } else { "" };
        let device = [breaker, &step.device].join(" ");
        format!(" {} should trip within {} of that.", device.trim_start(), duration(slowest_s))
    })
}

/// The longest that a touch is followed, seconds: past the 5.6 s that UL 943 leaves a class A
/// device at 6 mA.
const TOUCHED_S: f64 = 10.0;

/// Metal for which the advice is else to go to the panel.
fn joined_to_a_live_panel(kind: &HazardKind) -> bool {
    matches!(
        kind,
        HazardKind::EnergisedGround { .. }
            | HazardKind::EnergisedCase { .. }
            | HazardKind::EnergisedNeutral { .. }
            | HazardKind::AllContactsLive { .. }
    )
}

/// A hazard in the words of a report.
pub fn say(hazard: &Hazard, vocabulary: Vocabulary) -> HazardReport {
    let limits = Limits::of(vocabulary);
    let (volt, ampere, heat_watt, resistance_ohm) = figures(&hazard.kind);
    HazardReport {
        kind: hazard.kind.code(),
        severity: hazard.severity,
        addresses: hazard.addresses.iter().map(ToString::to_string).collect(),
        volt,
        ampere,
        heat_watt,
        resistance_ohm,
        person: is_persons(&hazard.kind).then(person_in_words),
        may_be: false,
        until_s: None,
        says: sentence(hazard, vocabulary),
        advice: match is_of_the_panel(hazard) {
            true => PANEL_LIVE,
            false => advice(hazard.kind.code()),
        },
        threshold: threshold(&hazard.kind, &limits),
    }
}

/// Whether the ground bar of the first panel is live, and so the panel's own metal.
fn is_of_the_panel(hazard: &Hazard) -> bool {
    matches!(hazard.kind, HazardKind::EnergisedGround { .. })
        && hazard.addresses.iter().any(|address| address.as_str() == "panel.ground")
}

/// What to do where the panel's own metal is live: its main may not end it, and stands in it.
const PANEL_LIVE: &str = "The panel's own metal is live, and its main may not make it dead: the \
                          neutral can bring it. Touch neither the panel nor any metal joined to \
                          it. Keep everybody away and have the utility cut the supply outside.";

fn is_persons(kind: &HazardKind) -> bool {
    matches!(
        kind,
        HazardKind::EnergisedGround { .. }
            | HazardKind::EnergisedCase { .. }
            | HazardKind::EnergisedNeutral { .. }
            | HazardKind::LiveWithBreakerOff { .. }
    )
}

/// The person of the warnings.
fn person_in_words() -> String {
    let body = person().body;
    format!("hand to feet, {}, {}th percentile, {}", body.source, body.percentile, body.skin)
}

/// What a current through a person does, by the thresholds of [`person`].
fn effect(ampere: f64) -> &'static str {
    match person().effect(ampere) {
        Effect::MayStopTheHeart => ", enough to stop the heart within seconds",
        Effect::MayNotLetGo => ", from which not everybody can let go",
        Effect::Felt | Effect::NotFelt => "",
    }
}

/// Volts, amperes, watts and ohms of a kind.
fn figures(kind: &HazardKind) -> (Option<f64>, Option<f64>, Option<f64>, Option<f64>) {
    match *kind {
        HazardKind::EnergisedGround { volt, through_person_ampere }
        | HazardKind::EnergisedCase { volt, through_person_ampere }
        | HazardKind::EnergisedNeutral { volt, through_person_ampere }
        | HazardKind::LiveWithBreakerOff { volt, through_person_ampere } => {
            (Some(volt), Some(through_person_ampere), None, None)
        }
        HazardKind::FaultNotCleared { ampere, volt, .. } => (Some(volt), Some(ampere), None, None),
        HazardKind::HeatingFault { ampere, watt } => (None, Some(ampere), Some(watt), None),
        HazardKind::GroundOnNeutral => (None, None, None, None),
        HazardKind::AllContactsLive { volt }
        | HazardKind::NotBehindDevice { volt, .. }
        | HazardKind::OutletOverVoltage { volt, .. }
        | HazardKind::OverVoltage { volt, .. }
        | HazardKind::UnderVoltage { volt, .. } => (Some(volt), None, None, None),
        HazardKind::HeatingJoint { resistance_ohm, ampere, watt, .. } => {
            (None, Some(ampere), Some(watt), Some(resistance_ohm))
        }
        HazardKind::ProtectionDead { volt, .. } => (Some(volt), None, None, None),
        HazardKind::Overload { ampere, .. }
        | HazardKind::NeutralOverload { ampere, .. }
        | HazardKind::ConductorOverload { ampere, .. }
        | HazardKind::StrayCurrent { ampere, .. } => (None, Some(ampere), None, None),
    }
}

fn sentence(hazard: &Hazard, vocabulary: Vocabulary) -> String {
    let place = addresses(hazard);
    let receptacle = term(vocabulary, Term::Receptacle);
    match hazard.kind {
        HazardKind::EnergisedGround { volt, through_person_ampere } => format!(
            "The {} at {place} is live: {} V to earth, {} through a person touching it{}.",
            term(vocabulary, Term::Ground),
            volts(volt),
            milliamperes(through_person_ampere),
            effect(through_person_ampere)
        ),
        HazardKind::EnergisedCase { volt, through_person_ampere } => format!(
            "Metal case live at {place}: {} V to earth, {} through a person touching it{}.",
            volts(volt),
            milliamperes(through_person_ampere),
            effect(through_person_ampere)
        ),
        HazardKind::EnergisedNeutral { volt, through_person_ampere } => format!(
            "The neutral at {place} is live: {} V to earth, {} through a person touching it{}.",
            volts(volt),
            milliamperes(through_person_ampere),
            effect(through_person_ampere)
        ),
        HazardKind::LiveWithBreakerOff { volt, through_person_ampere } => format!(
            "With its {} off, the {} at {place} is still live: {} V to earth, {} through a person \
             touching it{}. Something else feeds it.",
            term(vocabulary, Term::Breaker),
            term(vocabulary, Term::Hot),
            volts(volt),
            milliamperes(through_person_ampere),
            effect(through_person_ampere)
        ),
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
                 soil or another circuit, and nothing trips: not the {breaker}{rating}.",
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
            let trips = match slowest_s {
                _ if by_touch => "and only a person who touches it makes the ground-fault device \
                                  trip"
                    .to_owned(),
                Some(slowest_s) => format!("for up to {}", duration(slowest_s)),
                None => "and nothing has to trip".to_owned(),
            };
            format!(
                "A {} that touched the {} at {place} would pass {} A into \
                 it; it would stay at {} V to earth, {trips}.",
                term(vocabulary, Term::Hot),
                term(vocabulary, Term::Ground),
                amperes(ampere),
                volts(volt)
            )
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
             good for {ampacity_ampere} A: its {}s are on one {}, so their currents add in it.",
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
        HazardKind::EnergisedGround { .. }
        | HazardKind::FaultNotCleared { .. }
        | HazardKind::GroundOnNeutral => [".ground", ".splice.ground"].as_slice(),
        HazardKind::EnergisedNeutral { .. } => &[".neutral", ".splice.neutral"],
        HazardKind::LiveWithBreakerOff { .. } | HazardKind::NotBehindDevice { .. } => {
            &[".hot", ".splice.hot"]
        }
        HazardKind::EnergisedCase { .. } => &[".frame"],
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

/// What to do about a hazard of this code.
pub(super) fn advice(code: &str) -> &'static str {
    match code {
        "energised_ground" | "energised_case" => {
            "Touch nothing metal that is joined to it, not even to unplug it. Switch the main off \
             first, and lock it off: one circuit's breaker may not make it dead."
        }
        "energised_neutral" => {
            "Treat the neutral as live. Switch the circuit off at the panel before you open a \
             box or touch a wire, and prove the neutral dead too: it may be fed from elsewhere."
        }
        "live_with_breaker_off" => {
            "Open no box and touch no wire on it: its own breaker makes nothing dead there. Have \
             what feeds it found, switched off and locked off."
        }
        "all_contacts_live" => {
            "Do not trust any reading taken between its contacts. Switch the circuit off at the \
             panel; prove it dead to a separate earth reference."
        }
        "over_voltage" | "outlet_over_voltage" => {
            "Switch off at once, then unplug what is connected; leave it off until the neutral is \
             proven whole and the supply measured."
        }
        "under_voltage" => {
            "Switch motors and compressors off until the cause is found: on too little they stall \
             and overheat."
        }
        "heating_joint" => {
            "Take the load off the circuit and have the joint made anew; no breaker or \
             ground-fault device sees it."
        }
        "neutral_overload" => {
            "Switch off every circuit that shares this neutral; it can burn with every breaker in. \
             Have the hots put on different legs, or given a neutral each."
        }
        "conductor_overload" => {
            "Switch the circuit off and take load from it; have the breaker matched to the \
             thinnest wire behind it."
        }
        "overload" => "Switch the circuit off and take load from it.",
        "stray_current" => {
            "Metal that should carry nothing may carry this current, or a neutral that stays live \
             with this circuit off. Switch the circuit off at the panel and have the way it takes \
             found before it is used again."
        }
        "not_behind_device" => {
            "Take nothing there for dead and nothing for protected. Switch the circuit off at the \
             panel and have line and load at the device put right."
        }
        "ground_on_neutral" => {
            "Use nothing with a metal case there. Have the ground wire found whole, or the bridge \
             to the neutral taken out and the circuit put behind a ground-fault device."
        }
        "heating_fault" => {
            "Switch off what feeds it now and leave it off: heat like this starts fires inside \
             walls and appliances, and nothing trips in time."
        }
        "fault_not_cleared" => {
            "Use nothing with a metal case there until the way back to the source is found and \
             made whole: the ground wire, the main bond, and where it is the soil, the electrode \
             and its ground-fault device."
        }
        "protection_dead" => {
            "Leave alone what is plugged into it; switch the circuit off at the panel and have \
             its line-side neutral found whole."
        }
        _ => "Switch the circuit off at the panel until it is understood.",
    }
}

fn threshold(kind: &HazardKind, limits: &Limits) -> String {
    match kind {
        HazardKind::EnergisedGround { .. }
        | HazardKind::EnergisedCase { .. }
        | HazardKind::EnergisedNeutral { .. }
        | HazardKind::LiveWithBreakerOff { .. } => format!(
            "{}; person {}, let-go {}: a warning, others draw more",
            limits.touch_source,
            person_in_words(),
            milliamperes(LET_GO_AMPERE)
        ),
        HazardKind::AllContactsLive { .. } => limits.touch_source.to_owned(),
        HazardKind::NeutralOverload { .. } | HazardKind::ConductorOverload { .. } => format!(
            "{}; above 1.45 times that a danger, IEC 60364-4-43, 433.1",
            limits.ampacity_source
        ),
        HazardKind::OverVoltage { .. }
        | HazardKind::OutletOverVoltage { .. }
        | HazardKind::UnderVoltage { .. } => limits.supply_source.to_owned(),
        HazardKind::HeatingJoint { .. } => {
            "from 10 milliohm warm, from 50 a fire hazard (judgement); glowing joints make 5 to \
             35 W (NBSIR 76-1011)"
                .to_owned()
        }
        HazardKind::Overload { .. } => "the rating of the breaker".to_owned(),
        HazardKind::StrayCurrent { .. } => {
            "30 mA, the rating of additional protection (IEC 60364-4-41, 415.1)".to_owned()
        }
        HazardKind::NotBehindDevice { .. } => limits.touch_source.to_owned(),
        HazardKind::GroundOnNeutral => {
            "NEC 250.142(B) and IEC 60364-5-54, 543.4: no neutral of a branch circuit as ground"
                .to_owned()
        }
        HazardKind::HeatingFault { .. } => {
            "from 5 W (NBSIR 76-1011), a danger from 69 W: 300 mA at 230 V, IEC 60364-4-42, 422.3.9"
                .to_owned()
        }
        HazardKind::FaultNotCleared { .. } => {
            format!("cleared within {}; {}", limits.cleared_source, limits.touch_source)
        }
        HazardKind::ProtectionDead { .. } => {
            "under half its voltage (judgement; UL 943 tests from 85 %)".to_owned()
        }
    }
}

#[cfg(test)]
mod tests {
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
