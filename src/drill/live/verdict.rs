//! Whether what a student names is what is wrong.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::{Circuit, JointKind, PlaceKind};
use crate::condition::catalogue::{PossibleFault, catalogue};
use crate::condition::{Condition, Fault};
use crate::diagnosis::{Complaint, Costs, GLANCE_S, SUPPLY_S, UNPLUG_S};
use crate::drill::complaint::complaints;
use crate::drill::reading::{DrillReading, alike};
use crate::drill::scene::{LoadsStand, Scene};
use crate::drill::trial::TESTER;
use crate::drill::{Drill, DrillProblem, faults};
use crate::instrument::MeasureProblem;

/// What a name is worth.
///
/// ```
/// use slotwise::drill::live::Verdict;
/// assert_ne!(Verdict::OtherKind, Verdict::Wrong);
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It is, or is among, what is wrong.
    Right {
        /// The faults named, by their places in the drill.
        faults: Vec<usize>,
        /// Faults still to be named.
        left: usize,
    },
    /// Something else, which no instrument at any receptacle can tell from some of what is wrong, and
    /// with which the same trips and the same is complained of.
    Alike {
        /// The faults that it cannot be told from, by their places in the drill.
        faults: Vec<usize>,
        /// Faults still to be named.
        left: usize,
    },
    /// What is mended already, and nothing else.
    Mended {
        /// Faults still to be named.
        left: usize,
    },
    /// The very joint, cable or pair of conductors, and something else is wrong with it: open is
    /// not bad.
    OtherKind,
    /// Something else in the same box and conductor.
    RightPlace,
    /// Something else in the same conductor.
    RightConductor,
    /// Something else.
    Wrong,
}

/// What was looked at for a name that is wrong.
///
/// ```
/// use slotwise::drill::live::Looked;
/// assert_ne!(Looked::Box, Looked::Supply);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Looked {
    /// A box was opened.
    Box,
    /// What the service brings was measured, nothing opened.
    Supply,
    /// An appliance was unplugged and tested, nothing opened.
    Appliance,
    /// A handle or a switch was looked at.
    Handle,
}

impl Looked {
    pub(super) fn of(circuit: &Circuit, named: &Condition) -> Self {
        let is_of_the_service = |element: &String| {
            let joint = circuit.joint_of_element(element);
            joint.is_some_and(|joint| joint.kind == JointKind::Service)
        };
        let is_supply = |fault: &Fault| {
            matches!(fault, Fault::SupplyVoltage { .. })
                || fault.joint().is_some_and(is_of_the_service)
        };
        let is_of_an_appliance = |fault: &Fault| match fault {
            Fault::Bridge { between, .. } => circuit.parts().loads.iter().any(|load| {
                let case = load.frame.as_ref();
                !load.plug_links.is_empty() && [&between.0, &between.1].map(Some).contains(&case)
            }),
            _ => false,
        };
        match named.faults.as_slice() {
            [] => Self::Handle,
            all if all.iter().all(is_supply) => Self::Supply,
            all if all.iter().all(is_of_an_appliance) => Self::Appliance,
            _ => Self::Box,
        }
    }

    /// What is gone to for a fault that is wrong. A panel stays closed: who may work there is called,
    /// which takes as long as measuring what arrives.
    pub(super) fn for_fault(circuit: &Circuit, fault: &PossibleFault) -> Self {
        let is_box =
            |place: &String| circuit.place(place).is_some_and(|p| p.kind == PlaceKind::Box);
        match Self::of(circuit, &fault.change) {
            Self::Box if fault.appliance(circuit).is_some() => Self::Appliance,
            Self::Box if !fault.places.iter().any(is_box) => Self::Supply,
            looked => looked,
        }
    }

    pub(super) const fn cost_s(self, costs: &Costs) -> f64 {
        match self {
            Self::Box => costs.open_box_s,
            Self::Supply => SUPPLY_S,
            Self::Appliance => UNPLUG_S,
            Self::Handle => GLANCE_S,
        }
    }
}

pub(super) fn judge(
    drill: &Drill,
    (already, opened): (&[bool], &BTreeSet<String>),
    named: &Condition,
) -> Result<Verdict, DrillProblem> {
    let said = subjects(named);
    let truths: Vec<Vec<Subject>> =
        drill.faults.iter().map(|fault| subjects(&fault.change)).collect();
    let is_said = |truth: &Subject| said.iter().any(|said| said.is(truth));
    let places = 0..drill.faults.len();
    let is_mended = |place: &usize| already.get(*place) == Some(&true);
    let said_of = places
        .clone()
        .zip(&truths)
        .filter(|(_, truth)| !truth.is_empty() && truth.iter().all(is_said))
        .map(|(place, _)| place);
    // What is mended is named once.
    let (mended, faults): (Vec<usize>, Vec<usize>) = said_of.partition(is_mended);
    let left: Vec<usize> = places.filter(|place| !is_mended(place)).collect();
    let all_but = |faults: &[usize]| left.iter().filter(|one| !faults.contains(one)).count();
    // What is named on top and is not so makes it a guess.
    let is_true = |said: &Subject| truths.iter().flatten().any(|truth| said.is(truth));
    if !faults.is_empty() && said.iter().all(is_true) {
        return Ok(Verdict::Right { left: all_but(&faults), faults });
    }
    if !mended.is_empty() && said.iter().all(is_true) {
        return Ok(Verdict::Mended { left: left.len() });
    }
    // What was looked for in an open box and is not there reads alike and is not so.
    let is_seen = |one: &PossibleFault| match one.places.as_slice() {
        [only] => opened.contains(only),
        _ => false,
    };
    let mut each = said.iter().filter(|one| !is_true(one));
    let is_seen_not_so =
        each.any(|one| meant(drill, std::slice::from_ref(one)).iter().any(is_seen));
    if !is_seen_not_so && let Some(faults) = Alikes::new(drill)?.alike_to(&left, named)? {
        return Ok(Verdict::Alike { left: all_but(&faults), faults });
    }
    let unfound: Vec<&PossibleFault> =
        left.iter().filter_map(|&place| drill.faults.get(place)).collect();
    let left_truths: Vec<&Subject> =
        left.iter().filter_map(|&place| truths.get(place)).flatten().collect();
    let is_at_one = |said: &Subject| left_truths.iter().any(|truth| truth.at == said.at);
    if !said.is_empty() && said.iter().all(is_at_one) {
        return Ok(Verdict::OtherKind);
    }
    Ok(nearness(drill, &unfound, &said))
}

/// The faults of the catalogue that are named.
fn meant(drill: &Drill, said: &[Subject]) -> Vec<PossibleFault> {
    let is_meant = |entry: &&PossibleFault| {
        let meant = subjects(&entry.change);
        meant.len() == said.len() && meant.iter().zip(said).all(|(meant, said)| meant.is(said))
    };
    catalogue(&drill.circuit).faults().iter().filter(is_meant).cloned().collect()
}

/// Whether a wrong name is near what is wrong.
fn nearness(drill: &Drill, unfound: &[&PossibleFault], said: &[Subject]) -> Verdict {
    let meant = meant(drill, said);
    let shares = |of: fn(&PossibleFault) -> &Vec<String>| {
        meant.iter().any(|meant| {
            unfound.iter().any(|fault| of(fault).iter().any(|one| of(meant).contains(one)))
        })
    };
    match (shares(|fault| &fault.places), shares(|fault| &fault.conductors)) {
        (true, true) => Verdict::RightPlace,
        (false, true) => Verdict::RightConductor,
        _ => Verdict::Wrong,
    }
}

/// What is read of the faults of a drill, each choice of them once.
struct Alikes<'d> {
    drill: &'d Drill,
    scene: Scene<'d>,
    /// By the tester alone.
    tested: BTreeMap<Vec<usize>, Reads>,
    known: BTreeMap<Vec<usize>, Reads>,
}

/// What trips and what is read, in every load state, and what is complained of.
#[derive(Clone)]
struct Reads {
    tripped: Vec<BTreeSet<String>>,
    readings: Vec<DrillReading>,
    complaints: Vec<Complaint>,
}

impl Reads {
    fn is_like(&self, other: &Self) -> bool {
        self.tripped == other.tripped
            && self.complaints == other.complaints
            && alike(&self.readings, &other.readings)
    }
}

impl<'d> Alikes<'d> {
    fn new(drill: &'d Drill) -> Result<Self, MeasureProblem> {
        let scene = Scene::new(&drill.circuit)?;
        Ok(Self { drill, scene, tested: BTreeMap::new(), known: BTreeMap::new() })
    }

    fn reads(&self, condition: &Condition) -> Result<Reads, MeasureProblem> {
        let as_found = self.scene.standing(condition, &LoadsStand::as_found())?;
        let complaints = complaints(&self.scene, condition, &as_found)?;
        let mut reads = Reads { tripped: Vec::new(), readings: Vec::new(), complaints };
        for state in self.scene.states() {
            let standing = self.scene.standing(condition, state)?;
            reads.readings.extend(self.scene.readings(&standing, state)?);
            reads.tripped.push(standing.tripped.into_iter().collect());
        }
        Ok(reads)
    }

    /// By the tester alone and the loads as found, which is quickly asked and tells most; nothing
    /// where the handles that tripped tell already.
    fn test(
        &self,
        condition: &Condition,
        may_be: impl Fn(&[BTreeSet<String>]) -> bool,
    ) -> Result<Option<Reads>, MeasureProblem> {
        let as_found = LoadsStand::as_found();
        let standing = self.scene.standing(condition, &as_found)?;
        let tripped = vec![standing.tripped.iter().cloned().collect()];
        if !may_be(&tripped) {
            return Ok(None);
        }
        let readings = self.scene.readings_of(TESTER, &standing, &as_found)?;
        Ok(Some(Reads { tripped, readings, complaints: Vec::new() }))
    }

    /// The choices among these faults that the tester alone does not tell from what is named.
    fn not_told(
        &mut self,
        left: &[usize],
        named: &Condition,
    ) -> Result<Vec<Vec<usize>>, MeasureProblem> {
        let mut sets = sets_of(left);
        for set in &sets {
            if !self.tested.contains_key(set)
                && let Some(tested) = self.test(&self.faults(set), |_| true)?
            {
                self.tested.insert(set.clone(), tested);
            }
        }
        let known = |set: &Vec<usize>| self.tested.get(set);
        let may_be = |tripped: &[BTreeSet<String>]| {
            sets.iter().filter_map(known).any(|reads| reads.tripped == tripped)
        };
        // What cannot be so reads like nothing.
        let Ok(Some(tested)) = self.test(named, may_be) else { return Ok(Vec::new()) };
        sets.retain(|set| known(set).is_some_and(|reads| tested.is_like(reads)));
        Ok(sets)
    }

    fn faults(&self, places: &[usize]) -> Condition {
        let faults = places.iter().filter_map(|&place| self.drill.faults.get(place));
        faults::condition(&faults.cloned().collect::<Vec<_>>())
    }

    fn of(&mut self, places: &[usize]) -> Result<Reads, MeasureProblem> {
        if let Some(known) = self.known.get(places) {
            return Ok(known.clone());
        }
        let reads = self.reads(&self.faults(places))?;
        self.known.insert(places.to_vec(), reads.clone());
        Ok(reads)
    }

    /// The fewest of the faults left that what is named cannot be told from: neither alone, nor with
    /// the others that are left.
    fn alike_to(
        &mut self,
        left: &[usize],
        named: &Condition,
    ) -> Result<Option<Vec<usize>>, MeasureProblem> {
        let sets = self.not_told(left, named)?;
        if sets.is_empty() {
            return Ok(None);
        }
        let Ok(alone) = self.reads(named) else { return Ok(None) };
        for set in sets {
            if !alone.is_like(&self.of(&set)?) {
                continue;
            }
            let rest: Vec<usize> = left.iter().copied().filter(|one| !set.contains(one)).collect();
            let mut together = self.faults(&rest);
            together.put_on(named);
            let all = self.of(left)?;
            if rest.is_empty() || self.reads(&together).is_ok_and(|reads| reads.is_like(&all)) {
                return Ok(Some(set));
            }
        }
        Ok(None)
    }
}

/// Every choice of one or more, the fewest first.
fn sets_of(places: &[usize]) -> Vec<Vec<usize>> {
    let mut sets: Vec<Vec<usize>> = vec![Vec::new()];
    for &place in places {
        let with = |set: &Vec<usize>| set.iter().copied().chain([place]).collect();
        let more: Vec<Vec<usize>> = sets.iter().map(with).collect();
        sets.extend(more);
    }
    sets.sort_by_key(Vec::len);
    sets.retain(|set| !set.is_empty());
    sets
}

/// What of the catalogue is taken as right though it is not what is wrong, each with the faults that it
/// cannot be told from; of several amounts of one thing the first.
pub(in crate::drill) fn also_right(
    drill: &Drill,
) -> Result<Vec<(PossibleFault, Vec<usize>)>, MeasureProblem> {
    let mut alikes = Alikes::new(drill)?;
    let truths: Vec<Subject> =
        drill.faults.iter().flat_map(|fault| subjects(&fault.change)).collect();
    let is_true = |said: &Subject| truths.iter().any(|truth| said.is(truth));
    let all: Vec<usize> = (0..drill.faults.len()).collect();
    let mut found: Vec<(PossibleFault, Vec<usize>)> = Vec::new();
    for entry in catalogue(&drill.circuit).faults() {
        let is_known = |(known, _): &(PossibleFault, _)| known.is_another_amount_of(entry);
        if found.iter().any(is_known) || subjects(&entry.change).iter().all(is_true) {
            continue;
        }
        let alike = alikes.alike_to(&all, &entry.change)?;
        found.extend(alike.map(|faults| (entry.clone(), faults)));
    }
    Ok(found)
}

/// What a fault is about.
struct Subject {
    /// The joint, cable, pair of conductors or device.
    at: String,
    /// What is wrong there, where that is a question: open is not bad.
    kind: &'static str,
    /// What the supply delivers, volts; the one amount that a reading gives.
    volt: Option<f64>,
}

/// Voltages of a supply this near to each other are one: a display, the drop on the way and the
/// loads leave no student more.
const SUPPLY_WITHIN: f64 = 0.03;

impl Subject {
    fn new(at: String, kind: &'static str) -> Self {
        Self { at, kind, volt: None }
    }

    /// Whether both are the same thing, whatever the ohms.
    fn is(&self, other: &Self) -> bool {
        let amounts = match (self.volt, other.volt) {
            (Some(one), Some(other)) => (one - other).abs() <= SUPPLY_WITHIN * one.max(other),
            _ => true,
        };
        self.at == other.at && self.kind == other.kind && amounts
    }
}

/// What a condition is about, without how bad it is.
fn subjects(condition: &Condition) -> Vec<Subject> {
    let faults = condition.faults.iter().map(subject);
    // A leak that is there once the appliance is on is named as any other leak of it.
    let leaks = condition.attached.iter().map(|leak| {
        Subject::new(
            format!("between {}", pair(leak.between.0.as_str(), leak.between.1.as_str())),
            "",
        )
    });
    let breakers = condition
        .breakers
        .iter()
        .map(|(name, on)| Subject::new(format!("breaker {name} {on}"), ""));
    let switches = condition
        .switches
        .iter()
        .map(|(name, at)| Subject::new(format!("switch {name} {at:?}"), ""));
    faults.chain(leaks).chain(breakers).chain(switches).collect()
}

fn pair(one: &str, other: &str) -> String {
    match one <= other {
        true => format!("{one} and {other}"),
        false => format!("{other} and {one}"),
    }
}

fn subject(fault: &Fault) -> Subject {
    match fault {
        Fault::Open { element, .. } => Subject::new(format!("joint {element}"), "open"),
        Fault::Resistance { element, .. } | Fault::Glowing { element } => {
            Subject::new(format!("joint {element}"), "bad")
        }
        Fault::ExchangedAtCableEnd { end, conductors } => {
            let wires = pair(&conductors.0, &conductors.1);
            Subject::new(format!("exchanged {}.{} {wires}", end.cable, end.end.letter()), "")
        }
        Fault::ExchangedJoints { elements } => {
            Subject::new(format!("exchanged {}", pair(&elements.0, &elements.1)), "")
        }
        Fault::Bridge { between, .. } => {
            let ends = pair(between.0.as_str(), between.1.as_str());
            Subject::new(format!("between {ends}"), "")
        }
        Fault::Broken { cable, conductor, .. } => {
            Subject::new(format!("cable {cable} {conductor}"), "open")
        }
        Fault::ResistanceInCable { cable, conductor, .. } => {
            Subject::new(format!("cable {cable} {conductor}"), "bad")
        }
        Fault::ContactInCable { cable, conductors, .. } => {
            let wires = pair(&conductors.0, &conductors.1);
            Subject::new(format!("touching {cable} {wires}"), "")
        }
        Fault::SupplyVoltage { winding, emf_volt } => Subject {
            volt: Some(emf_volt.magnitude()),
            ..Subject::new(format!("supply {winding}"), "")
        },
        other => Subject::new(format!("{other:?}"), ""),
    }
}
