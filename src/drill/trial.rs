//! Faults tried on a circuit: whether they make a drill, and which.

use crate::condition::Condition;
use crate::condition::catalogue::PossibleFault;
use crate::diagnosis::{Complaint, place_of_load};
use crate::instrument::MeasureProblem;
use crate::solution::Holding;

use super::chance::Chance;
use super::complaint::complaints;
use super::faults::{self, Wanted};
use super::misleading::{Misleading, Walk, judge};
use super::reading::{DrillReading, alike};
use super::scene::{LoadsStand, Scene, Standing};

/// Faults that make a drill.
pub(super) struct Trial {
    pub(super) faults: Vec<PossibleFault>,
    pub(super) condition: Condition,
    pub(super) complaints: Vec<Complaint>,
    pub(super) first: Vec<DrillReading>,
    pub(super) misleading: Misleading,
}

/// Of the faults that only an instrument shows, this share becomes a drill, as a check of the
/// wiring; the others are drawn again. They are most of all faults, and a drill mostly begins
/// with something that somebody noticed.
const CHECKS: f64 = 0.12;

/// Where the tester and the voltmeter stand among the tools of a scene.
pub(super) const TESTER: usize = 0;
const VOLTMETER: usize = 1;

impl Trial {
    /// Draws faults; nothing where they cannot be together, nobody would notice, or they are not
    /// what is wanted.
    pub(super) fn draw(
        scene: &Scene<'_>,
        possible: &[PossibleFault],
        wanted: &Wanted,
        chance: &mut Chance,
    ) -> Option<Self> {
        let faults = faults::draw(possible, wanted, chance)?;
        // What cannot be solved is no drill: two faults may ask the impossible of one wire.
        Self::of(scene, faults, wanted, chance).ok().flatten()
    }

    fn of(
        scene: &Scene<'_>,
        faults: Vec<PossibleFault>,
        wanted: &Wanted,
        chance: &mut Chance,
    ) -> Result<Option<Self>, MeasureProblem> {
        let condition = faults::condition(&faults);
        let as_found = LoadsStand::as_found();
        let standing = scene.standing(&condition, &as_found)?;
        let mut complaints = complaints(scene, &condition, &standing)?;
        let now = scene.readings_of(TESTER, &standing, &as_found)?;
        let sound = scene.readings_of(TESTER, scene.sound(), &as_found)?;
        let walk = Walk { now: &now, sound: &sound };
        if complaints.is_empty() {
            if walk.amiss().next().is_none() || !chance.happens(CHECKS) {
                return Ok(None);
            }
            complaints.push(Complaint::NothingSeen);
        }
        if wanted.hiding && !hides(scene, &faults)? {
            return Ok(None);
        }
        if faults.len() > 1 && !wanted.hiding && !each_shows(scene, &faults)? {
            return Ok(None);
        }
        let first = first_readings(scene, (&standing, &as_found), &complaints, &walk, chance)?;
        let live = live_receptacles(scene, &standing);
        let misleading =
            judge(scene.circuit, &faults, (&walk, !standing.tripped.is_empty()), &live);
        Ok(Some(Self { faults, condition, complaints, first, misleading }))
    }
}

/// Whether each of the faults alone changes what a person could read, loads as they can be
/// switched: what changes nothing is asked of nobody.
fn each_shows(scene: &Scene<'_>, faults: &[PossibleFault]) -> Result<bool, MeasureProblem> {
    let read = |condition: &Condition, state: &LoadsStand| {
        let standing = scene.standing(condition, state)?;
        Ok::<_, MeasureProblem>((scene.readings(&standing, state)?, standing.tripped))
    };
    let mut sound = Vec::new();
    for state in scene.states() {
        sound.push((state, read(&Condition::default(), state)?));
    }
    for fault in faults {
        let alone = faults::condition(std::slice::from_ref(fault));
        let mut shows = false;
        for (state, (readings, tripped)) in &sound {
            let (now, now_tripped) = read(&alone, state)?;
            shows |= now_tripped != *tripped || !alike(&now, readings);
        }
        if !shows {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Whether the first of two faults hides the second: in every load state both together read as
/// the first alone, although the second alone would show.
fn hides(scene: &Scene<'_>, faults: &[PossibleFault]) -> Result<bool, MeasureProblem> {
    let [first, second] = faults else { return Ok(false) };
    // Two things wrong with one joint are one thing to mend.
    if first.places.is_empty() || first.places.iter().any(|place| second.places.contains(place)) {
        return Ok(false);
    }
    let conditions = [
        faults::condition(faults),
        faults::condition(std::slice::from_ref(first)),
        faults::condition(std::slice::from_ref(second)),
        Condition::default(),
    ];
    let mut shows = false;
    for state in scene.states() {
        let read = |condition: &Condition| {
            let standing = scene.standing(condition, state)?;
            let words = scene.readings(&standing, state)?.into_iter().map(|one| one.shows);
            Ok::<_, MeasureProblem>((words.collect::<Vec<_>>(), standing.tripped))
        };
        let [both, first, second, none] = &conditions;
        if read(both)? != read(first)? {
            return Ok(false);
        }
        shows |= read(second)? != read(none)?;
    }
    Ok(shows)
}

/// Receptacles with a contact that is live to earth. What only floats there, as past a contact that
/// has tripped, gives nobody anything.
fn live_receptacles(scene: &Scene<'_>, standing: &Standing) -> Vec<String> {
    /// Above any limit for touch.
    const LIVE_VOLT: f64 = 50.0;
    let holding = Holding::new(&standing.netlist, &standing.solution);
    let live = |address: &crate::quantity::Address| {
        let node = standing.netlist.find_node(address).filter(|&node| !holding.is_weak(node));
        let potential = node.and_then(|node| standing.solution.potential(node));
        potential.is_some_and(|volt| volt.magnitude().round() > LIVE_VOLT)
    };
    let outlets = scene.circuit.outlets().map(|(_, outlet)| outlet);
    let with = outlets.filter(|outlet| outlet.slots.iter().any(|(_, slot)| live(slot)));
    with.map(|outlet| outlet.address.to_string()).collect()
}

/// What was read before the student came: the tester where it was complained of and at one
/// receptacle more, and now and then the voltmeter at the first.
fn first_readings(
    scene: &Scene<'_>,
    (standing, as_found): (&Standing, &LoadsStand),
    complaints: &[Complaint],
    walk: &Walk<'_>,
    chance: &mut Chance,
) -> Result<Vec<DrillReading>, MeasureProblem> {
    let place = complaints.first().and_then(|complaint| complained_at(scene, complaint));
    let at_place = |reading: &&DrillReading| {
        let place = place.as_deref();
        place.is_some_and(|place| {
            let rest = reading.at.strip_prefix(place);
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        })
    };
    let first = match walk.now.iter().find(at_place) {
        Some(there) => Some(there),
        None => walk.amiss().next().or(walk.now.first()),
    };
    let Some(first) = first else { return Ok(Vec::new()) };
    let mut taken = vec![first.clone()];
    let others: Vec<&DrillReading> =
        walk.now.iter().filter(|reading| reading.at != first.at).collect();
    taken.extend(chance.one_of(&others).map(|&other| other.clone()));
    if chance.happens(0.5) {
        let volts = scene.readings_of(VOLTMETER, standing, as_found)?;
        taken.extend(volts.into_iter().filter(|reading| reading.at == first.at));
    }
    Ok(taken)
}

/// The box that a complaint is about, if it is about one.
fn complained_at(scene: &Scene<'_>, complaint: &Complaint) -> Option<String> {
    let of_load = |name: &String| {
        let load = scene.circuit.load(name)?;
        place_of_load(scene.circuit, load)
    };
    match complaint {
        Complaint::LoadDead { load } => of_load(load),
        Complaint::Dead { places } => places.first().cloned(),
        Complaint::Dim { loads, .. } | Complaint::Bright { loads, .. } => {
            loads.first().and_then(of_load)
        }
        Complaint::Tingle { from } => of_load(from),
        Complaint::Warm { place } => Some(place.clone()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_floats_past_a_contact_that_has_tripped_is_not_live() {
        let text = r#"(format: 1, circuits: [(id: "c1", amperes: 20)],
            boxes: [
                (id: "stairs", from: "c1", feet: 20),
                (id: "landing", from: "stairs", feet: 15, device: GroundFault(feeds: true)),
            ],
            loads: [(id: "heater", at: "stairs", kind: Resistive(watts: 1500))])"#;
        let circuit = crate::circuit::file::read(text).unwrap().circuit;
        let scene = Scene::new(&circuit).unwrap();
        let mut hidden = Condition::default();
        hidden.say(&circuit, "bootleg ground at landing").unwrap();
        let standing = scene.standing(&hidden, &LoadsStand::as_found()).unwrap();
        assert_eq!(standing.tripped, ["landing.gf"]);
        // All of the voltage stands across the open contact, and nothing is behind it.
        let hot = standing.netlist.find_node(&"landing.gf.load.hot".into()).unwrap();
        assert!(standing.solution.potential(hot).unwrap().magnitude() > 100.0);
        assert_eq!(live_receptacles(&scene, &standing), ["stairs"]);
    }
}
