//! Who calls, and what they say: a customer who finds something dead, dim, too bright or
//! tingling, or else someone who checks receptacles with a tester and finds one that looks
//! wrong.

use crate::building::{Building, Draws};
use crate::hidden::{GROUND, HOT, Hidden, NEUTRAL};
use crate::network::C;
use crate::person::{Bright, PAIRS, Person};
use crate::random::Chance;
use crate::wired::{Input, Sitting, Standing, TO_EARTH_ITSELF};

/// What is said on the telephone.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Call {
    /// Nothing works at these boxes.
    Dead(Vec<usize>),
    /// Nothing works from this box on.
    DeadFrom(usize),
    /// Lamps dim, always or when a load runs.
    Dim(Option<String>),
    /// Lamps burn brighter, always or when a load runs.
    Bright(Option<String>),
    /// A tingle from the case of a load.
    Tingle(String),
    /// The breaker trips as soon as it is closed.
    Trips,
    /// A tester showed this at a box.
    Tester(usize, [Bright; 3]),
}

/// A table lamp to try a receptacle with, siemens.
const TRIED: f64 = 60.0 / (120.0 * 120.0);

/// Volts below which it does not light, below which it is dim, above which it glares.
const DEAD_VOLT: f64 = 55.0;
const DIM_VOLT: f64 = 104.0;
const GLARE_VOLT: f64 = 134.0;
/// Volts of a change that people see; volts of a case to earth that they feel.
const SEEN_VOLT: f64 = 7.0;
const FELT_VOLT: f64 = 30.0;
/// From a hand on the case through shoes to a damp floor.
const BODY_OHM: f64 = 20e3;

/// Who is on the telephone.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Caller {
    /// Somebody whose things do not work.
    Customer,
    /// Somebody who goes round with a tester.
    Checker,
}

/// What the caller has to say; nothing if there is nothing to find. Loads are as described.
pub(crate) fn call(
    caller: Caller,
    building: &Building,
    hidden: &Hidden,
    person: &Person,
    chance: &mut Chance,
) -> Option<Call> {
    let sitting = Sitting { building, hidden, standing: Standing::default() };
    if caller == Caller::Checker {
        return checked(&sitting, person, chance);
    }
    if sitting.volts(&[])?.tripped {
        return Some(Call::Trips);
    }
    let tried = tried(&sitting);
    dead(&tried, chance)
        .or_else(|| {
            let light = always(&tried, chance).or_else(|| with_a_load(building, hidden, &tried))?;
            (!was_ever_so(building, hidden, &light)).then_some(light)
        })
        .or_else(|| tingle(&sitting))
}

/// Volts at a table lamp tried at each box.
fn tried(sitting: &Sitting<'_>) -> Vec<f64> {
    let tried = |at: usize| {
        let lamp = Input { at, wires: (HOT, NEUTRAL), y: C::new(TRIED, 0.0) };
        sitting.volts(&[lamp]).map_or(0.0, |volts| volts.across(at, (HOT, NEUTRAL)).norm())
    };
    (0..sitting.building.boxes.len()).map(tried).collect()
}

/// Whether the light was so before anything was wrong, as at the end of a long run: nobody calls
/// for that.
fn was_ever_so(building: &Building, hidden: &Hidden, said: &Call) -> bool {
    if hidden.troubles.is_empty() {
        return false;
    }
    let sound = Hidden { troubles: Vec::new(), ..hidden.clone() };
    let standing = Standing::default();
    let tried = tried(&Sitting { building, hidden: &sound, standing });
    match said {
        Call::Dim(None) => tried.iter().any(|volt| *volt < DIM_VOLT),
        Call::Bright(None) => tried.iter().any(|volt| *volt > GLARE_VOLT),
        said => with_a_load(building, &sound, &tried).as_ref() == Some(said),
    }
}

fn dead(tried: &[f64], chance: &mut Chance) -> Option<Call> {
    let dead: Vec<usize> = (0..tried.len()).filter(|&at| tried[at] < DEAD_VOLT).collect();
    let one = *dead.get(chance.below(dead.len().max(1)))?;
    let first = dead[0];
    let all_beyond = dead.len() == tried.len() - first;
    Some(if dead.len() > 1 && all_beyond && chance.happens(0.3) {
        Call::DeadFrom(first)
    } else if dead.len() > 1 && chance.happens(0.4) {
        let other = dead[chance.below(dead.len())];
        let mut both = vec![one, other];
        both.sort_unstable();
        both.dedup();
        Call::Dead(both)
    } else {
        Call::Dead(vec![one])
    })
}

fn always(tried: &[f64], chance: &mut Chance) -> Option<Call> {
    let (dim, glare): (Vec<f64>, Vec<f64>) = (
        tried.iter().copied().filter(|volt| *volt < DIM_VOLT).collect(),
        tried.iter().copied().filter(|volt| *volt > GLARE_VOLT).collect(),
    );
    match (dim.is_empty(), glare.is_empty()) {
        (true, true) => None,
        (false, true) => Some(Call::Dim(None)),
        (true, false) => Some(Call::Bright(None)),
        (false, false) if chance.happens(0.5) => Some(Call::Dim(None)),
        (false, false) => Some(Call::Bright(None)),
    }
}

/// A heater is switched over, and the lamps that people have plugged in change.
fn with_a_load(building: &Building, hidden: &Hidden, tried: &[f64]) -> Option<Call> {
    for load in building.loads.iter().filter(|load| load.draws == Draws::Heat) {
        let loads = [(load.id.clone(), !load.on)].into();
        let standing = Standing { loads, ..Standing::default() };
        let other = Sitting { building, hidden, standing };
        let changed = |at: usize| -> Option<f64> {
            let lamp = Input { at, wires: (HOT, NEUTRAL), y: C::new(TRIED, 0.0) };
            let now = other.volts(&[lamp])?.across(at, (HOT, NEUTRAL)).norm();
            Some(if load.on { tried[at] - now } else { now - tried[at] })
        };
        let lamps = building.loads.iter().filter(|other| other.draws == Draws::Filament);
        let here = |at: &usize| *at < building.boxes.len();
        for at in lamps.map(|lamp| lamp.at).filter(here) {
            let with = changed(at)?;
            if with < -SEEN_VOLT {
                return Some(Call::Dim(Some(load.id.clone())));
            }
            if with > SEEN_VOLT {
                return Some(Call::Bright(Some(load.id.clone())));
            }
        }
    }
    None
}

/// A heater's case is felt.
fn tingle(sitting: &Sitting<'_>) -> Option<Call> {
    sitting.building.loads.iter().filter(|load| load.draws == Draws::Heat).find_map(|load| {
        let at = load.at;
        let body = Input { at, wires: (GROUND, TO_EARTH_ITSELF), y: C::new(1.0 / BODY_OHM, 0.0) };
        let felt = sitting.volts(&[body])?.slot(at, GROUND).norm() > FELT_VOLT;
        felt.then(|| Call::Tingle(load.id.clone()))
    })
}

/// Somebody goes round with a tester and stops at one of the receptacles that look wrong.
fn checked(sitting: &Sitting<'_>, person: &Person, chance: &mut Chance) -> Option<Call> {
    let good = [Bright::Lit, Bright::Lit, Bright::Dark];
    let wrong: Vec<usize> = (0..sitting.building.boxes.len())
        .filter(|&at| person.lamps(sitting, at).is_some_and(|shown| shown != good))
        .collect();
    let at = *wrong.get(chance.below(wrong.len().max(1)))?;
    Some(Call::Tester(at, person.tester(sitting, at, chance)?))
}

/// The names of a pair of slots.
pub(crate) fn slots(pair: usize) -> (&'static str, &'static str) {
    let (from, to) = PAIRS[pair];
    let name = |wire: usize| match wire {
        HOT => "hot",
        NEUTRAL => "neutral",
        _ => "ground",
    };
    (name(from), name(to))
}
