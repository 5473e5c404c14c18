//! A circuit with everything that may be so in it, and the rows that were solved.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::circuit::reach::Reach;
use crate::circuit::{Circuit, DeviceKind};
use crate::condition::catalogue::{FaultKind, Priors};
use crate::condition::{Condition, LoadState};
use crate::instrument::{Instrument, Request};

use super::look::{Looks, Measure};
use super::possible::{Possible, possibilities};
use super::predictions::{Predictor, Row};
use super::reading_error::{Chances, ReadingError};
use super::route::Routes;
use super::stated::Stated;
use super::symptom::is_load_among;

/// A few possibilities that are so at once, by number, in order: up to three, and what was put right
/// before.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Set([u32; Set::ROOM]);

const NONE: u32 = u32::MAX;

impl Set {
    /// No more are tried together.
    pub(super) const ROOM: usize = 6;

    pub(super) const SOUND: Self = Self([NONE; Self::ROOM]);

    pub(super) fn of(all: &[usize]) -> Self {
        let mut set = [NONE; Self::ROOM];
        for (at, one) in set.iter_mut().zip(all) {
            *at = *one as u32;
        }
        set.sort_unstable();
        Self(set)
    }

    pub(super) fn with(self, one: usize) -> Self {
        let mut all: Vec<usize> = self.iter().collect();
        all.push(one);
        Self::of(&all)
    }

    pub(super) fn iter(self) -> impl Iterator<Item = usize> {
        self.0.into_iter().filter(|&one| one != NONE).map(|one| one as usize)
    }

    pub(super) fn len(self) -> usize {
        self.iter().count()
    }

    pub(super) fn contains(self, one: usize) -> bool {
        self.0.contains(&(one as u32))
    }
}

/// Numbers of settings that every model has.
pub(super) const DESCRIBED: usize = 0;
pub(super) const ALL_OFF: usize = 1;
pub(super) const ALL_ON: usize = 2;
pub(super) const ALL_UNPLUGGED: usize = 3;

/// See the module. Clones share the rows that any of them has solved.
#[derive(Clone)]
pub(super) struct Model<'c> {
    pub(super) circuit: &'c Circuit,
    pub(super) possibles: Arc<Vec<Possible>>,
    /// Of each joint, the possibility that it is open.
    opens: Arc<HashMap<String, usize>>,
    pub(super) instruments: Vec<Instrument>,
    pub(super) predictor: Predictor<'c>,
    pub(super) chances: Chances,
    pub(super) routes: Arc<Routes>,
    /// How loads, switches and breakers may stand; numbered alike in all clones.
    pub(super) settings: Vec<Condition>,
    /// Of each setting, the first in which everything stands as in it, however that is said.
    alike: Vec<usize>,
    solved: Arc<Mutex<Solved>>,
}

/// What clones share.
#[derive(Clone, Default)]
struct Solved {
    settings: Vec<Condition>,
    rows: HashMap<(Set, usize), Option<Arc<Row>>>,
}

impl<'c> Model<'c> {
    pub(super) fn new(
        circuit: &'c Circuit,
        instruments: Vec<Instrument>,
        fixed_loads: &BTreeSet<String>,
        (priors, error): (&Priors, ReadingError),
    ) -> Self {
        let routes = Routes::of(circuit);
        let chances = Chances::new(error, &supply_volts(circuit), Stated::of(circuit, &routes));
        let looks = Looks::new(circuit, &instruments, chances.nominal());
        let all = |state: LoadState| {
            let mut condition = Condition::default();
            let free = circuit.parts().loads.iter().filter(|load| !fixed_loads.contains(&load.id));
            condition.loads.extend(free.map(|load| (load.id.clone(), state)));
            condition
        };
        let mut unplugged = all(LoadState::Off);
        for (load, state) in &mut unplugged.loads {
            *state = away(circuit, load);
        }
        let settings =
            vec![Condition::default(), all(LoadState::Off), all(LoadState::On), unplugged];
        let possibles = possibilities(circuit, priors);
        let mut model = Self {
            circuit,
            opens: Arc::new(opens(&possibles)),
            possibles: Arc::new(possibles),
            instruments,
            predictor: Predictor::new(circuit, looks),
            chances,
            routes: Arc::new(routes),
            solved: Arc::new(Mutex::new(Solved {
                settings: settings.clone(),
                rows: HashMap::new(),
            })),
            settings,
            alike: Vec::new(),
        };
        model.find_alike();
        let all_on = model.condition(Set::SOUND, ALL_ON);
        if let Some(sound) = model.predictor.whole_row(all_on) {
            let nominal = model.chances.nominal();
            model.predictor.looks_mut().usual(&sound.values, nominal);
            model.forget();
        }
        model
    }

    /// Forgets every row: what is looked at has changed. Other clones keep theirs.
    pub(super) fn forget(&mut self) {
        let rows = HashMap::new();
        let settings = self.settings.clone();
        self.predictor.prepare_anew();
        self.solved = Arc::new(Mutex::new(Solved { settings, rows }));
    }

    /// Has these looked at too, with this instrument, each two conductors in conditions like this
    /// one. Rows that are known stay where nothing of it is looked at in any of them.
    pub(super) fn look_further(
        &mut self,
        meter: &Instrument,
        requests: Vec<Request>,
        is_like: impl Fn(&Condition) -> bool,
    ) {
        let number = self.instrument(meter);
        let looks = self.predictor.looks_mut();
        let new: Vec<Request> =
            requests.into_iter().filter(|one| !looks.requests.contains(one)).collect();
        if new.is_empty() {
            return;
        }
        for request in new {
            looks.add(number, request);
        }
        if self.settings.iter().any(is_like) {
            return self.forget();
        }
        self.predictor.look_further();
        // Others number what they look at next in another way.
        let known = self.solved().clone();
        self.solved = Arc::new(Mutex::new(known));
    }

    fn solved(&self) -> MutexGuard<'_, Solved> {
        // What is kept is only ever added to whole, so that it is good whoever broke off.
        self.solved.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The number of a setting, new or known.
    pub(super) fn setting(&mut self, condition: Condition) -> usize {
        let mut solved = self.solved();
        let known = solved.settings.iter().position(|known| *known == condition);
        let number = known.unwrap_or_else(|| {
            solved.settings.push(condition);
            solved.settings.len() - 1
        });
        let new = solved.settings.get(self.settings.len()..).unwrap_or_default().to_vec();
        drop(solved);
        self.settings.extend(new);
        self.find_alike();
        number
    }

    /// The first setting in which everything stands as in this one: one row serves for both.
    pub(super) fn alike(&self, setting: usize) -> usize {
        self.alike.get(setting).copied().unwrap_or(setting)
    }

    fn find_alike(&mut self) {
        if self.alike.len() == self.settings.len() {
            return;
        }
        let wall_switches = &self.predictor.wall_switches;
        let stated = |setting: &Condition| {
            let mut stated = setting.clone();
            for load in &self.circuit.parts().loads {
                // Of what is off as described somebody may have forgotten that it was on.
                if wall_switches.is_on_as_described(self.circuit, &load.id) {
                    stated.loads.entry(load.id.clone()).or_insert(LoadState::On);
                }
            }
            stated
        };
        let all: Vec<Condition> = self.settings.iter().map(stated).collect();
        for at in self.alike.len()..all.len() {
            let first = all.iter().position(|one| Some(one) == all.get(at));
            self.alike.push(first.unwrap_or(at));
        }
    }

    /// The number of an instrument, which is held everywhere if it is new.
    pub(super) fn instrument(&mut self, instrument: &Instrument) -> usize {
        if let Some(known) = self.instruments.iter().position(|known| known == instrument) {
            return known;
        }
        let number = self.instruments.len();
        self.instruments.push(instrument.clone());
        self.predictor.looks_mut().hold_everywhere(self.circuit, number, instrument);
        self.forget();
        number
    }

    /// Whether a breaker or device feeds the load that a channel is of.
    pub(super) fn feeds(&self, handle: &str, channel: usize) -> bool {
        let channel = self.predictor.looks.channels.get(channel);
        let Some(Measure::Share { load }) = channel.map(|channel| &channel.measure) else {
            return false;
        };
        let Some(load) = self.circuit.load(load) else { return false };
        let fed = Reach::behind_all(self.circuit, [handle]).terminals;
        is_load_among(self.circuit, load, &fed)
    }

    /// What a set would show in a setting; `None` where it cannot be so or has no answer.
    pub(super) fn row(&self, set: Set, setting: usize) -> Option<Arc<Row>> {
        let setting = self.alike(setting);
        if let Some(known) = self.known_row(set, setting) {
            return known;
        }
        let row = self.solve(set, setting);
        self.solved().rows.insert((set, setting), row.clone());
        row
    }

    /// The same, which is not kept if it was not known.
    pub(super) fn row_for_now(&self, set: Set, setting: usize) -> Option<Arc<Row>> {
        let setting = self.alike(setting);
        self.known_row(set, setting).unwrap_or_else(|| self.solve(set, setting))
    }

    /// Keeps what a set shows in these settings.
    pub(super) fn keep(&self, set: Set, settings: &[usize], rows: &[Option<Arc<Row>>]) {
        let mut solved = self.solved();
        for (&setting, row) in settings.iter().zip(rows) {
            solved.rows.insert((set, self.alike(setting)), row.clone());
        }
    }

    fn known_row(&self, set: Set, setting: usize) -> Option<Option<Arc<Row>>> {
        self.solved().rows.get(&(set, setting)).cloned()
    }

    fn solve(&self, set: Set, setting: usize) -> Option<Arc<Row>> {
        let these: Vec<usize> = set.iter().collect();
        let stands = self.settings.get(setting)?;
        self.predictor.row(&self.possibles, &these, stands).map(Arc::new)
    }

    /// The condition of a set in a setting.
    pub(super) fn condition(&self, set: Set, setting: usize) -> Condition {
        let stands = self.settings.get(setting).cloned().unwrap_or_default();
        let these: Vec<&Possible> = self.these(set).collect();
        self.predictor.wall_switches.condition(&these, &stands)
    }

    pub(super) fn these(&self, set: Set) -> impl Iterator<Item = &Possible> {
        set.iter().filter_map(|one| self.possibles.get(one))
    }

    /// Boxes where a set has a joint that heats, or makes contact now and then. One in a ground
    /// alone carries nothing that would heat it or be missed.
    pub(super) fn bad_joints(&self, set: Set) -> Vec<usize> {
        let bad = |possible: &&Possible| makes_poor_contact(possible);
        self.these(set).filter(bad).flat_map(|possible| possible.boxes.clone()).collect()
    }

    /// What is there in a setting while a joint of a set that is bad or loose makes no contact, of each
    /// that carries anything, and whether it makes some now.
    pub(super) fn interrupted(&self, set: Set, setting: usize) -> Vec<(Arc<Row>, bool)> {
        let joints = self.these(set).filter_map(|possible| {
            let makes_some = makes_poor_contact(possible);
            (makes_some || makes_no_contact(possible)).then_some((possible, makes_some))
        });
        let open = joints.flat_map(|(possible, makes_some)| {
            possible.elements().filter_map(move |joint| Some((*self.opens.get(joint)?, makes_some)))
        });
        open.filter_map(|(open, makes_some)| {
            Some((self.row(Set::of(&[open]), setting)?, makes_some))
        })
        .collect()
    }

    /// How a load stands in a setting.
    pub(super) fn is_on(&self, load: &str, setting: usize) -> bool {
        let stated = self.settings.get(setting).and_then(|setting| setting.loads.get(load));
        match stated {
            Some(state) => matches!(state, LoadState::On | LoadState::Stalled),
            None => self.predictor.wall_switches.is_on_as_described(self.circuit, load),
        }
    }

    /// How a load stands in a setting, as far as a person brings it about: on, off or unplugged.
    pub(super) fn state(&self, load: &str, setting: usize) -> LoadState {
        let stated = self.settings.get(setting).and_then(|setting| setting.loads.get(load));
        let plugged_in = || self.circuit.load(load).is_some_and(|load| load.plugged_in);
        match stated {
            Some(LoadState::Unplugged) => LoadState::Unplugged,
            None if !plugged_in() => away(self.circuit, load),
            _ if self.is_on(load, setting) => LoadState::On,
            _ => LoadState::Off,
        }
    }

    /// Whether a breaker or protective device is closed in a setting.
    pub(super) fn is_closed(&self, handle: &str, setting: usize) -> bool {
        let stated = self.settings.get(setting).and_then(|setting| setting.breakers.get(handle));
        let pole = || Some(self.circuit.branch_circuit(handle)?.breaker.closed);
        let device = || match self.circuit.device(handle)?.kind {
            DeviceKind::Protective { closed, .. } => Some(closed),
            _ => None,
        };
        stated.copied().or_else(pole).or_else(device).unwrap_or(true)
    }

    /// Breakers that stand another way in two settings, and whether each is closed in the second.
    pub(super) fn handles(&self, from: usize, to: usize) -> BTreeMap<String, bool> {
        let named = [from, to].map(|setting| self.settings.get(setting));
        let named: BTreeSet<&String> =
            named.into_iter().flatten().flat_map(|setting| setting.breakers.keys()).collect();
        let differs = |name: &&String| self.is_closed(name, from) != self.is_closed(name, to);
        let moved = named.into_iter().filter(differs);
        moved.map(|name| (name.clone(), self.is_closed(name, to))).collect()
    }

    /// Whether loads, breakers, switches and all else stand alike in two settings, as a person sees
    /// it.
    pub(super) fn stand_alike(&self, one: usize, other: usize) -> bool {
        let but_loads = |setting: usize| {
            let mut rest = self.settings.get(setting).cloned().unwrap_or_default();
            rest.loads.clear();
            rest.breakers.clear();
            rest
        };
        self.switched(one, other) == 0
            && self.handles(one, other).is_empty()
            && but_loads(one) == but_loads(other)
    }

    /// How many loads a person switches, or plugs in or out, to get from one setting to another.
    pub(super) fn switched(&self, from: usize, to: usize) -> usize {
        let loads = self.circuit.parts().loads.iter();
        loads.filter(|load| self.state(&load.id, from) != self.state(&load.id, to)).count()
    }
}

/// A load taken away: unplugged, or off where it is wired in.
pub(super) fn away(circuit: &Circuit, load: &str) -> LoadState {
    match circuit.load(load).is_some_and(|load| !load.plug_links.is_empty()) {
        true => LoadState::Unplugged,
        false => LoadState::Off,
    }
}

/// Voltages that the supply has between its conductors and to earth.
fn supply_volts(circuit: &Circuit) -> Vec<f64> {
    let windings = &circuit.parts().supply.windings;
    let mut volts: Vec<f64> = windings.iter().map(|winding| winding.emf_volt.magnitude()).collect();
    for (at, one) in windings.iter().enumerate() {
        for other in windings.iter().skip(at + 1) {
            volts.push((one.emf_volt - other.emf_volt).magnitude());
        }
    }
    volts.retain(|volt| *volt > 1.0);
    volts.sort_by(f64::total_cmp);
    volts.dedup_by(|a, b| (*a - *b).abs() < 1.0);
    volts
}

/// Whether it is a joint, not of a ground alone, that heats or makes contact now and then.
pub(super) fn makes_poor_contact(possible: &Possible) -> bool {
    use FaultKind::{BadJoint, LeakyOpen, ServiceBad};
    possible.fault().is_some_and(|fault| {
        matches!(fault.kind, BadJoint | LeakyOpen | ServiceBad)
            && fault.conductors.iter().any(|conductor| conductor != "ground")
    })
}

/// Whether it is a joint that is open.
fn makes_no_contact(possible: &Possible) -> bool {
    use FaultKind::{OpenJoint, ServiceLost};
    possible.fault().is_some_and(|fault| matches!(fault.kind, OpenJoint | ServiceLost))
}

/// Of each joint the possibility that it alone is open.
fn opens(possibles: &[Possible]) -> HashMap<String, usize> {
    let mut opens = HashMap::new();
    for (at, possible) in possibles.iter().enumerate() {
        let mut joints = possible.elements();
        let is_open = makes_no_contact(possible);
        if let (true, Some(joint), None) = (is_open, joints.next(), joints.next()) {
            opens.entry(joint.clone()).or_insert(at);
        }
    }
    opens
}

#[cfg(test)]
mod tests {
    use super::super::Means;
    use super::*;
    use crate::circuit::file;

    #[test]
    fn a_load_said_to_be_on_that_is_on_anyway_is_solved_once() {
        let circuit = |on: bool| {
            let text = format!(
                "(format: 1, name: \"Smokehouse\", circuits: [(id: \"c1\", amperes: 15)],
                boxes: [(id: \"bench\", from: \"c1\", feet: 20)],
                loads: [(id: \"fan\", at: \"bench\", on: {on}, kind: Resistive(watts: 90))])"
            );
            file::read(&text).unwrap().circuit
        };
        for on in [true, false] {
            let (circuit, means) = (circuit(on), Means::default());
            let instruments = means.tools.iter().map(|tool| tool.instrument.clone()).collect();
            let fixed = Default::default();
            let judgement = (&means.priors, ReadingError::default());
            let mut model = Model::new(&circuit, instruments, &fixed, judgement);
            // Of what is off nobody may have said that it was on: said to be off it is another case.
            assert_eq!(model.alike(ALL_ON) == DESCRIBED, on);
            assert_ne!(model.alike(ALL_OFF), DESCRIBED);
            assert_ne!(model.alike(ALL_UNPLUGGED), DESCRIBED);
            let rows = [DESCRIBED, ALL_ON].map(|setting| model.row(Set::SOUND, setting).unwrap());
            assert_eq!(Arc::ptr_eq(&rows[0], &rows[1]), on);
            // A setting that nobody has named before keeps a number of its own.
            let mut stands = Condition::default();
            stands.breakers.insert("c1".to_owned(), false);
            let off = model.setting(stands);
            assert_eq!(model.alike(off), off);
        }
    }
}
