//! Hazards in words: what it is, what to do about it, and where the threshold comes from.

use std::collections::BTreeSet;

use crate::circuit::{Circuit, Vocabulary};
use crate::condition::Condition;
use crate::diagnosis::PanelMetal;
use crate::hazard::{
    EndedByTouch, Hazard, HazardKind, LET_GO_AMPERE, Limits, PERCEPTION_AMPERE, Severity,
    Situation, ended_by_touch, gravest_first, hazards, latent, person,
};
use crate::netlist::{Netlist, wire};
use crate::solution::{Solution, solve};

use super::figure::milliamperes;
use super::protection::duration;
use super::vocabulary::{Term, prose, term};

mod sentence;

use sentence::{listed, sentence};

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
    pub advice: String,
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
    found.extend(latent(&situation));
    found.extend(not_cleared);
    gravest_first(&mut found);
    let mut said = said_together(&found, circuit.parts().vocabulary);
    for (said, hazard) in said.iter_mut().zip(&found) {
        let ended = ended_by_touch(&situation, hazard);
        said.says.push_str(&on_touches(&ended, hazard, circuit.parts().vocabulary));
    }
    said
}

/// Hazards of one moment in words: where the panel's own metal is live enough to kill, nobody is sent
/// to it for another of them.
pub(super) fn said_together(hazards: &[Hazard], vocabulary: Vocabulary) -> Vec<HazardReport> {
    let panel_live = hazards.iter().any(is_of_the_panel);
    let is_past_breakers = |hazard: &Hazard| {
        matches!(hazard.kind, HazardKind::FaultNotCleared { past_breakers: true, .. })
    };
    let past_breakers = hazards.iter().any(is_past_breakers);
    let said = hazards.iter().map(|hazard| {
        let mut said = say(hazard, vocabulary);
        // The breaker of its circuit does not make it dead.
        if past_breakers && matches!(hazard.kind, HazardKind::EnergisedNeutral { .. }) {
            said.advice = prose(vocabulary, PAST_BREAKERS);
        }
        if panel_live && hazard.severity != Severity::Notice {
            said.advice = prose(vocabulary, PANEL_LIVE);
        }
        said
    });
    said.collect()
}

/// A hazard of a list with what stands under it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Listed<'r> {
    /// The hazard.
    pub(crate) hazard: &'r HazardReport,
    /// What to do, where that is said here: once for neighbours, and once in a list.
    pub(crate) advice: Option<&'r str>,
    /// The threshold, where that is said here.
    pub(crate) threshold: Option<&'r str>,
}

/// What stands for advice that the list has higher up, under other hazards.
pub(super) const SAID_ABOVE: &str = "What to do about it is said above.";

/// A list of hazards in which advice and thresholds are said once, under the last of the neighbours
/// that they are for.
pub(crate) fn said_once(hazards: &[HazardReport]) -> Vec<Listed<'_>> {
    let mut said: BTreeSet<&str> = BTreeSet::new();
    let nexts = hazards.iter().skip(1).map(Some).chain([None]);
    let each = hazards.iter().zip(nexts).map(|(hazard, next)| {
        // What is grave does not wait for its advice until all that is less grave is told.
        let ends = next
            .is_none_or(|next| next.advice != hazard.advice || next.severity != hazard.severity);
        let advice = ends.then(|| match said.insert(&hazard.advice) {
            true => hazard.advice.as_str(),
            false => SAID_ABOVE,
        });
        let ends = ends || next.is_none_or(|next| next.threshold != hazard.threshold);
        let threshold = (ends && said.insert(&hazard.threshold)).then_some(&*hazard.threshold);
        Listed { hazard, advice, threshold }
    });
    each.collect()
}

/// So many devices are said one by one.
const FEW_DEVICES: usize = 4;

/// What ends it when somebody touches, device by device where they are few.
fn on_touches(ended: &[EndedByTouch], hazard: &Hazard, vocabulary: Vocabulary) -> String {
    if ended.len() <= FEW_DEVICES {
        return ended.iter().map(|one| on_touch(one, hazard, vocabulary)).collect();
    }
    let devices = match ended.iter().all(|one| one.is_breaker) {
        true => format!("{}s", term(vocabulary, Term::Breaker)),
        false => "protective devices".to_owned(),
    };
    let n_places: usize = ended.iter().map(|one| one.addresses.len()).sum();
    let places = match n_places == hazard.addresses.len() {
        true => String::new(),
        false => format!(", at {n_places} of these {} places only", hazard.addresses.len()),
    };
    let within = duration(ended.iter().map(|one| one.slowest_s).fold(0.0, f64::max));
    format!(
        " {} {devices}, each for its own, should trip within {within} of a touch{places}.",
        ended.len()
    )
}

/// What ends it when somebody touches, in a sentence.
fn on_touch(ended: &EndedByTouch, hazard: &Hazard, vocabulary: Vocabulary) -> String {
    let breaker = if ended.is_breaker { term(vocabulary, Term::Breaker) } else { "" };
    let device = [breaker, &ended.device].join(" ");
    let places = match ended.addresses.len() == hazard.addresses.len() {
        true => String::new(),
        false => format!(" at {} only", listed(&hazard.kind, &ended.addresses)),
    };
    let within = duration(ended.slowest_s);
    format!(" {} should trip within {within} of a touch{places}.", device.trim_start())
}

/// A hazard in the words of a report.
pub fn say(hazard: &Hazard, vocabulary: Vocabulary) -> HazardReport {
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
        advice: prose(
            vocabulary,
            match hazard.kind {
                _ if is_of_the_panel(hazard) => PANEL_LIVE,
                HazardKind::FaultNotCleared { past_breakers: true, .. } => PAST_BREAKERS,
                HazardKind::OpenNeutral { has_grounds: true, .. } => OPEN_WITH_GROUNDS,
                HazardKind::HeatingJoint { .. } if is_of_the_service(hazard) => SERVICE_HEATS,
                _ => advice(hazard.kind.code()),
            },
        ),
        threshold: threshold(&hazard.kind, vocabulary),
    }
}

/// What to do where grounds hang on an open neutral: no breaker makes it dead, and breakers stand in
/// metal that goes live with it.
const OPEN_WITH_GROUNDS: &str = "Whatever starts by itself makes the grounded metal live, the panel's too. \
                                 Touch neither the panel nor any metal joined to it and switch \
                                 nothing. Keep everybody away and have the utility cut the supply \
                                 outside.";

/// What to do where a joint heats that no breaker makes dead.
const SERVICE_HEATS: &str = "No breaker makes the service dead: this joint is for the utility. Switch \
                             off what draws much, each by its own switch, keep away from it, and \
                             have the utility cut the supply outside and make it anew.";

/// Whether it is in a conductor of the service.
fn is_of_the_service(hazard: &Hazard) -> bool {
    hazard.addresses.iter().any(|address| address.as_str().starts_with("service."))
}

/// What to do where no breaker is before a conductor.
const PAST_BREAKERS: &str = "Switch the main off, not this circuit alone: no breaker stands before \
                             this wire. Have it moved to where it belongs before the main is \
                             closed again.";

/// Whether the ground bar of the first panel is live enough to kill, and so the panel's own metal.
fn is_of_the_panel(hazard: &Hazard) -> bool {
    hazard.severity == Severity::Danger
        && matches!(hazard.kind, HazardKind::EnergisedGround { .. })
        && hazard.addresses.iter().any(|address| address.as_str() == PANEL_GROUND)
}

/// The ground bar of the first panel, which its own metal is joined to.
const PANEL_GROUND: &str = "panel.ground";

/// What to do where the panel's own metal is live: its main may not end it, and stands in it.
const PANEL_LIVE: &str = "The panel's own metal is live, and its main may not make it dead: the \
                          neutral can bring it. Touch neither the panel nor any metal joined to \
                          it. Keep everybody away and have the utility cut the supply outside.";

/// The same of a panel of which it is only likely.
pub(super) fn panel_live(metal: PanelMetal) -> String {
    match metal {
        PanelMetal::Live => PANEL_LIVE.to_owned(),
        _ => PANEL_LIVE.replacen("is live", "may be live", 1),
    }
}

/// Advice as it is known again, however sure it is.
pub(super) fn known_as(advice: &str) -> String {
    advice.replacen("may be live", "is live", 1)
}

fn is_persons(kind: &HazardKind) -> bool {
    matches!(
        kind,
        HazardKind::EnergisedGround { .. }
            | HazardKind::EnergisedCase { .. }
            | HazardKind::EnergisedNeutral { .. }
            | HazardKind::LiveWithBreakerOff { .. }
            | HazardKind::WeaklyLive { .. }
    )
}

/// The person of the warnings.
fn person_in_words() -> String {
    let body = person().body;
    format!("hand to feet, {}, {}th percentile, {}", body.source, body.percentile, body.skin)
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
        HazardKind::WeaklyLive { volt, through_person_ampere, .. } => {
            (Some(volt), Some(through_person_ampere), None, None)
        }
        HazardKind::FaultNotCleared { ampere, volt, .. } => (Some(volt), Some(ampere), None, None),
        HazardKind::HeatingFault { ampere, watt } => (None, Some(ampere), Some(watt), None),
        HazardKind::GroundOnNeutral => (None, None, None, None),
        HazardKind::FirstEarthFault { volt } => (Some(volt), None, None, None),
        HazardKind::OpenNeutral { volt, between_hots_volt, .. } => {
            (Some(between_hots_volt.unwrap_or(volt)), None, None, None)
        }
        HazardKind::HandlesNotTied { neutral_ampere, .. } => {
            (None, Some(neutral_ampere), None, None)
        }
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
        _ => advice_on_wiring(code),
    }
}

/// The same where nothing that is made to be touched is live.
fn advice_on_wiring(code: &str) -> &'static str {
    match code {
        "neutral_overload" => {
            "Switch off every circuit that shares this neutral; it can burn with every breaker in. \
             Have the hots put on different legs, or given a neutral each."
        }
        "conductor_overload" => {
            "Switch the circuit off and take load from it; have the breaker matched to the \
             thinnest wire behind it, and a ring made whole."
        }
        "first_earth_fault" => {
            "Have the fault found and mended soon: unplug and switch off what is on it, one thing \
             after the other, until the voltages to earth are alike again."
        }
        "open_neutral" => {
            "Switch nothing on there, and do not take it for dead. Switch the circuit off at the \
             panel and have its neutral made whole."
        }
        "weakly_live" => {
            "Take it for live all the same: damp, a load switched on or one more fault can put the \
             full voltage behind it. Have the open wire or the leak found; until then touch no wire \
             of it, and nothing metal that is joined to it."
        }
        "handles_not_tied" => {
            "Switch off every breaker of this cable before a box on it is opened, and lock them \
             off. Have their handles tied, or one breaker for all put in."
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
             walls and appliances, and a breaker may be too slow or never trip."
        }
        "fault_not_cleared" => {
            "Use nothing with a metal case there until the way back to the source is made good \
             enough for what protects it: the ground wire, the main bond, a breaker that suits so \
             long a run, and where it is the soil, the electrode and its ground-fault device."
        }
        "protection_dead" => {
            "Leave alone what is plugged into it; switch the circuit off at the panel and have \
             its line-side neutral found whole."
        }
        _ => "Switch the circuit off at the panel until it is understood.",
    }
}

fn threshold(kind: &HazardKind, vocabulary: Vocabulary) -> String {
    let limits = Limits::of(vocabulary);
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
        HazardKind::WeaklyLive { .. } => format!(
            "{}; felt from {}, IEC 60479-1",
            limits.touch_source,
            milliamperes(PERCEPTION_AMPERE)
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
        HazardKind::GroundOnNeutral
        | HazardKind::FirstEarthFault { .. }
        | HazardKind::HandlesNotTied { .. } => rule(kind, vocabulary).to_owned(),
        HazardKind::HeatingFault { .. } => {
            "from 5 W (NBSIR 76-1011), a danger from 69 W: 300 mA at 230 V, IEC 60364-4-42, 422.3.9"
                .to_owned()
        }
        HazardKind::FaultNotCleared { within_s, .. } => format!(
            "cleared within {} ({}); {}",
            duration(*within_s),
            limits.cleared_source,
            limits.touch_source
        ),
        HazardKind::OpenNeutral { .. } => {
            "no way to the source under 10 ohm (judgement)".to_owned()
        }
        HazardKind::ProtectionDead { .. } => {
            "under half its voltage (judgement; UL 943 tests from 85 %)".to_owned()
        }
    }
}

/// The rule of a practice that a kind without figures goes by.
fn rule(kind: &HazardKind, vocabulary: Vocabulary) -> &'static str {
    let (north_american, iec) = match kind {
        HazardKind::GroundOnNeutral => (
            "NEC 250.142(B): no neutral of a branch circuit as ground",
            "IEC 60364-5-54, 543.4: no neutral of a final circuit as protective conductor",
        ),
        HazardKind::FirstEarthFault { .. } => (
            "NEC 250.21(B): a first fault of an ungrounded system is to be detected",
            "IEC 60364-4-41, 411.6: a first fault need not trip, and is to be found",
        ),
        _ => (
            "NEC 210.4(B): one movement switches off all hots that share a neutral",
            "IEC 60364-4-46 and 60364-5-53: one device isolates all live conductors of a circuit \
             whose lines share a neutral",
        ),
    };
    match vocabulary {
        Vocabulary::NorthAmerican => north_american,
        Vocabulary::Iec => iec,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_to_do_is_said_once_in_a_list_and_pointed_to_from_further_down() {
        let live = |severity| Hazard {
            severity,
            kind: HazardKind::EnergisedGround { volt: 40.0, through_person_ampere: 0.002 },
            addresses: vec!["kiln.ground".into()],
        };
        let overload = HazardKind::Overload { ampere: 30.0, rating_ampere: 20.0 };
        let between =
            Hazard { severity: Severity::Danger, kind: overload, addresses: vec!["c1".into()] };
        let all =
            [live(Severity::Danger), live(Severity::Danger), between, live(Severity::Warning)];
        let reports = said_together(&all, Vocabulary::NorthAmerican);
        let listed = said_once(&reports);
        let said: Vec<Option<&str>> = listed.iter().map(|one| one.advice).collect();
        let (live, overload) = (advice("energised_ground"), advice("overload"));
        assert_eq!(said, [None, Some(live), Some(overload), Some(SAID_ABOVE)]);
        let thresholds = listed.iter().filter(|one| one.threshold.is_some()).count();
        assert_eq!(thresholds, 2, "{listed:#?}");
    }
}
