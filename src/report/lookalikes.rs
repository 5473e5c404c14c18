//! The reports on what looks alike: the look-alikes of one reading, and the table of all
//! patterns at one place.

use crate::circuit::{Circuit, Vocabulary};
use crate::condition::Condition;
use crate::condition::catalogue::FaultKind;
use crate::condition::words::describe;
use crate::instrument::Instrument;
use crate::lookalike::{
    Bounds, Danger, Depth, LookAlikeProblem, LookAlikes, PatternTable, Question, Sharing,
    SilentDanger, Wrong, lookalikes_shared, pattern_table_shared, silent,
};

use super::vocabulary::{Term, conductor, term};

/// Everything that shows the same, and what the reading is silent about.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct LookAlikeReport {
    /// What the circuit is called.
    pub circuit: String,
    /// Which words the report speaks.
    pub vocabulary: Vocabulary,
    /// What differs from the circuit file to begin with, in words.
    pub condition: Vec<String>,
    /// Dangers that the reading does not rule out, the gravest first.
    pub silent_about: Vec<SilentDanger>,
    /// The look-alikes.
    #[serde(flatten)]
    pub alike: LookAlikes,
}

impl LookAlikeReport {
    /// Asks every fault of the circuit's catalogue.
    ///
    /// ```
    /// use slotwise::circuit::file;
    /// use slotwise::condition::Condition;
    /// use slotwise::instrument::presets;
    /// use slotwise::lookalike::{Depth, Question, shows};
    /// use slotwise::report::LookAlikeReport;
    /// let circuit = file::read(include_str!("../../circuits/boathouse.ron")).unwrap().circuit;
    /// let question = Question {
    ///     showing: shows("hot-neutral lit, hot-ground dim").unwrap(),
    ///     depth: Depth::Single,
    ///     ..Question::new(presets::plug_tester_resistive(), "slip")
    /// };
    /// let report = LookAlikeReport::new(&circuit, &Condition::default(), &question).unwrap();
    /// assert!(!report.alike.sound.is_empty(), "it has no ground to begin with");
    /// ```
    ///
    /// # Errors
    ///
    /// As [`lookalikes_shared`].
    pub fn new(
        circuit: &Circuit,
        condition: &Condition,
        question: &Question,
    ) -> Result<Self, LookAlikeProblem> {
        Self::shared(circuit, condition, question, &Sharing::alone())
    }

    /// The same in shares.
    ///
    /// # Errors
    ///
    /// As [`lookalikes_shared`].
    pub fn shared(
        circuit: &Circuit,
        condition: &Condition,
        question: &Question,
        sharing: &Sharing<'_>,
    ) -> Result<Self, LookAlikeProblem> {
        let alike = lookalikes_shared(circuit, condition, question, sharing)?;
        Ok(Self {
            circuit: circuit.parts().name.clone(),
            vocabulary: circuit.parts().vocabulary,
            condition: describe(circuit, condition),
            silent_about: silent(&alike),
            alike,
        })
    }
}

/// Every pattern of an instrument at one place, with what is behind each.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct PatternReport {
    /// What the circuit is called.
    pub circuit: String,
    /// Which words the report speaks.
    pub vocabulary: Vocabulary,
    /// What differs from the circuit file to begin with, in words.
    pub condition: Vec<String>,
    /// The patterns.
    #[serde(flatten)]
    pub table: PatternTable,
}

impl PatternReport {
    /// Asks every fault of the circuit's catalogue.
    ///
    /// # Errors
    ///
    /// As [`pattern_table_shared`].
    pub fn new(
        circuit: &Circuit,
        condition: &Condition,
        asked: (&Instrument, &str),
        depth: Depth,
        bounds: &Bounds,
    ) -> Result<Self, LookAlikeProblem> {
        Self::shared(circuit, condition, asked, (depth, bounds), &Sharing::alone())
    }

    /// The same in shares.
    ///
    /// # Errors
    ///
    /// As [`pattern_table_shared`].
    pub fn shared(
        circuit: &Circuit,
        condition: &Condition,
        asked: (&Instrument, &str),
        asking: (Depth, &Bounds),
        sharing: &Sharing<'_>,
    ) -> Result<Self, LookAlikeProblem> {
        Ok(Self {
            circuit: circuit.parts().name.clone(),
            vocabulary: circuit.parts().vocabulary,
            condition: describe(circuit, condition),
            table: pattern_table_shared(circuit, condition, asked, asking, sharing)?,
        })
    }
}

/// What is physically wrong, in the words of a report.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::condition::catalogue::FaultKind;
/// use slotwise::lookalike::Wrong;
/// use slotwise::report::wrong_in_words;
/// let wrong = Wrong { kind: FaultKind::OpenJoint, conductors: vec!["ground".into()] };
/// assert_eq!(wrong_in_words(&wrong, Vocabulary::Iec), "earth open at a joint");
/// ```
pub fn wrong_in_words(wrong: &Wrong, vocabulary: Vocabulary) -> String {
    let names: Vec<String> =
        wrong.conductors.iter().map(|name| conductor(vocabulary, name)).collect();
    let one = names.first().map_or("a conductor", String::as_str);
    let both = names.join(" and ");
    let breaker = term(vocabulary, Term::Breaker);
    match wrong.kind {
        FaultKind::OpenJoint => format!("{one} open at a joint"),
        FaultKind::LeakyOpen => format!("{one} open at a joint, leaking across the gap"),
        FaultKind::BadJoint => format!("bad joint in the {one}"),
        FaultKind::BrokenConductor => format!("{one} broken in a cable"),
        FaultKind::ServiceLost => format!("service {one} lost"),
        FaultKind::ServiceBad => format!("bad joint in the service {one}"),
        FaultKind::ExchangedAtDevice => format!("{both} exchanged at a device"),
        FaultKind::ExchangedAtCableEnd => format!("{both} exchanged at a cable end"),
        FaultKind::Bridged if both == "neutral and ground" => {
            format!("{both} bridged (bootleg ground)")
        }
        FaultKind::Bridged => format!("{both} bridged"),
        FaultKind::TouchingInCable => format!("{both} touching in a cable"),
        FaultKind::LeaksOnceOn => {
            format!("insulation of an appliance down once it is on, {one} to its case")
        }
        FaultKind::ShortInside => "an appliance shorted inside, or in its cord".to_owned(),
        FaultKind::DeviceWornOut => "a protective device worn out".to_owned(),
        FaultKind::SwitchStuck => "a switch worn out: it does not switch off".to_owned(),
        FaultKind::InsulationDown => format!("insulation of an appliance down, {one} to its case"),
        FaultKind::TabBroken => format!("{one} tab broken out"),
        FaultKind::TabLeftIn => format!("{one} tab left in"),
        FaultKind::BreakerOff => format!("a {breaker} off or tripped"),
        FaultKind::NeutralOnBus => format!("{one} landed on a bus that is live"),
        FaultKind::WrongBus => format!("a {breaker} on the wrong bus"),
        FaultKind::WrongBreaker => format!("{one} on the {breaker} of another circuit"),
        FaultKind::HotsExchanged => format!("{one}s of two circuits exchanged"),
        FaultKind::HotsTied => format!("{one}s of two circuits tied"),
        kind => kind.meaning().to_owned(),
    }
}

/// A danger in a few words.
pub(super) fn danger_in_words(danger: &Danger, vocabulary: Vocabulary) -> String {
    let ground = term(vocabulary, Term::Ground);
    match danger.code {
        "energised_ground" => format!("live {ground} contact"),
        "energised_case" => "live metal case".to_owned(),
        "energised_neutral" => "live neutral contact".to_owned(),
        "live_with_breaker_off" => {
            format!("a {} that stays live with its breaker off", term(vocabulary, Term::Hot))
        }
        "all_contacts_live" => "all contacts live at one potential".to_owned(),
        "over_voltage" => "too much voltage at a load".to_owned(),
        "outlet_over_voltage" => "too much voltage for what is plugged in".to_owned(),
        "heating_fault" => "a fault that heats".to_owned(),
        "not_behind_device" => "what a ground-fault device does not protect".to_owned(),
        "fault_not_cleared" => "metal on which a fault would stay".to_owned(),
        "ground_on_neutral" => format!("{ground} that hangs on a neutral"),
        "under_voltage" => "too little voltage at a load".to_owned(),
        "heating_joint" => "a joint that heats".to_owned(),
        other => other.replace('_', " "),
    }
}
