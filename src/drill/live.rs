//! A live drill: a state machine that answers one act after another. It does no input and no
//! output and keeps no clock: each act costs the time it would take.
//!
//! Nothing a student does here can hurt, so what would hurt is pointed out, counted, and paid
//! for in minutes.

use std::collections::BTreeSet;

use crate::circuit::PlaceKind;
use crate::condition::Condition;
use crate::condition::catalogue::PossibleFault;
use crate::diagnosis::Costs;
use crate::instrument::MeasureProblem;

use super::reading::DrillReading;
use super::scene::{LoadsStand, Scene, Standing};
use super::{Drill, DrillProblem};

mod act;
mod borne_out;
mod danger;
mod naming;
mod score;
mod verdict;

use borne_out::Known;

pub use act::{Act, ActProblem};
pub use danger::UnsafeAct;
pub use score::Score;
pub(super) use verdict::also_right;
pub use verdict::{Looked, Verdict};

/// A drill being worked on.
///
/// ```
/// use slotwise::drill::live::{Act, Answer, Live};
/// use slotwise::drill::{Drill, Family, Wanted};
/// let family = Family::read(include_str!("../../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// let at = drill.first[0].at.clone();
/// let mut live = Live::new(drill).unwrap();
/// let act = live.understand(&format!("read voltmeter at {at}")).unwrap();
/// assert!(matches!(live.act(&act).unwrap(), Answer::Read { .. }));
/// assert_eq!(live.spent_s(), 40.0);
/// ```
#[derive(Clone, Debug)]
pub struct Live {
    drill: Drill,
    costs: Costs,
    /// Loads, switches and breakers as the student has set them and as they have tripped.
    set: Condition,
    /// Places proven dead since a breaker was last closed.
    proven: BTreeSet<String>,
    /// Boxes of which every joint was looked at.
    opened: BTreeSet<String>,
    /// Places where an instrument was held since a breaker was last switched.
    read_at: BTreeSet<String>,
    /// Breakers that the student has switched off; one that tripped is not among them.
    off_by_hand: BTreeSet<String>,
    /// Breakers that tripped when they were closed, as long as nothing has been changed since.
    closed_onto: BTreeSet<String>,
    /// For each hidden fault, whether it has been named.
    named: Vec<bool>,
    /// For each hidden fault, what the student's own tests have shown of it.
    known: Vec<Known>,
    /// Faults named rightly of which no test of the student's showed anything.
    untested: usize,
    /// How things were set when the student came.
    found_set: Condition,
    spent_s: f64,
    wrong_names: usize,
    unsafe_acts: Vec<UnsafeAct>,
    ended: bool,
}

/// What comes of an act.
///
/// ```
/// use slotwise::drill::live::Answer;
/// let sound = Answer::Opened { place: "kiln".into(), found: vec![], warning: None };
/// assert_ne!(sound, Answer::Stopped(slotwise::drill::live::UnsafeAct::NotProven {
///     place: "kiln".into(),
///     after_one_instrument: true,
/// }));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// What an instrument shows.
    Read {
        /// Its readings.
        readings: Vec<DrillReading>,
    },
    /// Something is set; what tripped at once, by name.
    Set {
        /// Breakers and protective devices.
        tripped: Vec<String>,
        /// What was done wrongly on the way.
        warnings: Vec<UnsafeAct>,
    },
    /// A place was tried with a rated instrument, checked on a known live source before and
    /// after.
    Proved {
        /// The place.
        place: String,
        /// The highest voltage there between any two conductors or to earth, rounded; below
        /// [`DEAD_BELOW_VOLT`] it is dead.
        volt: f64,
        /// Breakers that may feed it and that nobody has switched off: dead as it is, it is not
        /// proven so.
        not_off: Vec<String>,
    },
    /// A box was opened and every joint in it looked at.
    Opened {
        /// The box.
        place: String,
        /// What is wrong in it, in the words of a condition.
        found: Vec<String>,
        /// What was done wrongly on the way.
        warning: Option<UnsafeAct>,
    },
    /// Nothing was done: it would have hurt.
    Stopped(UnsafeAct),
    /// A fault was named; one that is right is mended.
    Named {
        /// What the name is worth.
        verdict: Verdict,
        /// What was looked at in vain for a name that is wrong.
        in_vain: Option<Looked>,
        /// Of the faults named rightly now, how many no test of the student's shows: guesses, or what
        /// the sheet says.
        untested: usize,
    },
    /// It is over.
    Ended,
}

/// Below this a place counts as dead to a rated instrument, volts: what a sound conductor that is
/// joined to earth can show.
pub const DEAD_BELOW_VOLT: f64 = 5.0;

/// What opening a live box costs, in seconds on top of the box: the talk afterwards.
pub const OPENED_LIVE_S: f64 = 900.0;

/// What proving a place dead takes, seconds; the rest of the cost of opening a box is switching its
/// breaker off, opening it, looking at every joint, and closing it.
pub const PROVE_S: f64 = 60.0;

impl Live {
    /// Begins: everything as the customer left it.
    ///
    /// # Errors
    ///
    /// The circuit has no answer; that of a drill has one.
    pub fn new(drill: Drill) -> Result<Self, DrillProblem> {
        let set = {
            let scene = Scene::new(&drill.circuit)?;
            let standing = scene.standing(&drill.condition, &LoadsStand::as_found())?;
            tripped(&Condition::default(), &standing)
        };
        Ok(Self {
            named: vec![false; drill.faults.len()],
            known: vec![Known::Nothing; drill.faults.len()],
            untested: 0,
            found_set: set.clone(),
            drill,
            costs: Costs::default(),
            set,
            proven: BTreeSet::new(),
            opened: BTreeSet::new(),
            read_at: BTreeSet::new(),
            off_by_hand: BTreeSet::new(),
            closed_onto: BTreeSet::new(),
            spent_s: 0.0,
            wrong_names: 0,
            unsafe_acts: Vec::new(),
            ended: false,
        })
    }

    /// The drill, answers included.
    pub fn drill(&self) -> &Drill {
        &self.drill
    }

    /// Seconds of work so far.
    pub fn spent_s(&self) -> f64 {
        self.spent_s
    }

    /// Whether it is over.
    pub fn ended(&self) -> bool {
        self.ended
    }

    /// Does something, and pays for it.
    ///
    /// # Errors
    ///
    /// The act names something that is not there, or it is over. Nothing is paid for that.
    pub fn act(&mut self, act: &Act) -> Result<Answer, ActProblem> {
        if self.ended {
            return Err(ActProblem::over());
        }
        match act {
            Act::Read { tool, at } => self.read(tool, at),
            Act::Set(setting) => self.set(setting),
            Act::ProveDead { place } => self.prove(place),
            Act::Open { place } => self.open(place),
            Act::Name(named) => self.name(named),
            Act::GiveUp => {
                self.ended = true;
                Ok(Answer::Ended)
            }
        }
    }

    fn read(&mut self, tool: &str, at: &str) -> Result<Answer, ActProblem> {
        let all = self.with_standing(|scene, standing| {
            scene.readings_at(standing, &LoadsStand::as_set(), tool, at)
        })?;
        let Some(readings) = all.filter(|readings| !readings.is_empty()) else {
            return Err(ActProblem::new(at, format!("the {tool} is not held there")));
        };
        self.spent_s += match tool {
            "voltmeter" => self.costs.meter_s,
            "non-contact" => self.costs.detector_s,
            "loaded-test" => self.costs.loaded_test_s,
            _ => self.costs.plug_in_s,
        };
        let outlets = self.drill.circuit.outlets();
        let here = outlets.filter(|(_, outlet)| outlet.address.as_str() == at);
        let places: Vec<String> = here.map(|(place, _)| place.id.clone()).collect();
        self.read_at.extend(places);
        self.note_reading((tool, at), &readings);
        Ok(Answer::Read { readings })
    }

    fn set(&mut self, setting: &Condition) -> Result<Answer, ActProblem> {
        let before = self.clone();
        let set = self.pay_and_set(setting);
        if set.is_err() {
            *self = before;
        }
        set
    }

    /// Breakers first, as a person at the panel begins; then switches and loads.
    fn pay_and_set(&mut self, setting: &Condition) -> Result<Answer, ActProblem> {
        let Condition { breakers, switches, loads, .. } = setting;
        self.spent_s += self.costs.switch_breaker_s * breakers.len().min(1) as f64;
        self.spent_s += self.costs.switch_load_s * (switches.len() + loads.len()) as f64;
        if !breakers.is_empty() {
            self.read_at.clear();
        }
        if breakers.values().any(|on| *on) {
            self.proven.clear();
        }
        let opened = breakers.iter().filter(|(_, on)| !**on);
        self.set.breakers.extend(opened.clone().map(|(name, on)| (name.clone(), *on)));
        let off: Vec<String> = opened.flat_map(|(name, _)| self.on_one_handle(name)).collect();
        self.off_by_hand.extend(off);
        let mut warnings = self.handled_live(loads, false)?;
        self.set.breakers.extend(breakers.clone());
        let closed = breakers.iter().filter(|(_, on)| **on);
        let closed: Vec<String> = closed.flat_map(|(name, _)| self.on_one_handle(name)).collect();
        self.off_by_hand.retain(|name| !closed.contains(name));
        self.set.switches.extend(switches.clone());
        self.set.loads.extend(loads.clone());
        if !switches.is_empty() || !loads.is_empty() {
            self.closed_onto.clear();
        }
        for after in self.handled_live(loads, true)? {
            if !warnings.iter().any(|before| before.is_of_the_same_load(&after)) {
                warnings.push(after);
            }
        }
        self.note_trips();
        let (tripped, after) = self.with_standing(|_, standing| {
            Ok((standing.tripped.clone(), tripped(&Condition::default(), standing)))
        })?;
        warnings.extend(self.closed_again(breakers, &tripped));
        self.set.breakers.extend(after.breakers);
        self.unsafe_acts.extend(warnings.iter().cloned());
        Ok(Answer::Set { tripped, warnings })
    }

    /// A breaker by name and the other poles that its handle moves.
    fn on_one_handle(&self, name: &str) -> Vec<String> {
        let pole = self.drill.circuit.branch_circuit(name);
        let Some(pole) = pole else { return vec![name.to_owned()] };
        let poles = self.drill.circuit.on_one_handle(pole).into_iter();
        poles.map(|pole| pole.id.clone()).collect()
    }

    fn prove(&mut self, place: &str) -> Result<Answer, ActProblem> {
        self.box_called(place)?;
        let volt = self.volt_at(place)?;
        let not_off = self.not_off_at(place);
        self.spent_s += PROVE_S;
        self.note_volts(place);
        if volt < DEAD_BELOW_VOLT && not_off.is_empty() {
            self.proven.insert(place.to_owned());
        }
        Ok(Answer::Proved { place: place.to_owned(), volt, not_off })
    }

    fn open(&mut self, place: &str) -> Result<Answer, ActProblem> {
        self.box_called(place)?;
        let volt = self.volt_at(place)?;
        if volt >= DEAD_BELOW_VOLT {
            self.spent_s += OPENED_LIVE_S;
            let unsafe_act = UnsafeAct::OpenedLive { place: place.to_owned(), volt };
            self.unsafe_acts.push(unsafe_act.clone());
            return Ok(Answer::Stopped(unsafe_act));
        }
        let made_dead_s = self.costs.switch_breaker_s + PROVE_S;
        self.spent_s += (self.costs.open_box_s - made_dead_s).max(0.0);
        self.opened.insert(place.to_owned());
        let breakers = self.not_off_at(place);
        let warning = match (breakers.is_empty(), self.proven.contains(place)) {
            (true, true) => None,
            (false, _) => Some(UnsafeAct::NotSwitchedOff { place: place.to_owned(), breakers }),
            (true, false) => Some(UnsafeAct::NotProven {
                place: place.to_owned(),
                after_one_instrument: self.read_at.contains(place),
            }),
        };
        self.unsafe_acts.extend(warning.clone());
        let is_here = |fault: &PossibleFault| fault.places.iter().any(|p| p == place);
        let left = (0..self.named.len()).filter(|&fault| !self.is_named(fault));
        let here: Vec<usize> =
            left.filter(|&fault| self.drill.faults.get(fault).is_some_and(is_here)).collect();
        let says =
            |&fault: &usize| self.drill.faults.get(fault).map(|f| f.sentence(&self.drill.circuit));
        let found = here.iter().filter_map(says).collect();
        here.into_iter().for_each(|fault| self.learns(fault, Known::Seen));
        Ok(Answer::Opened { place: place.to_owned(), found, warning })
    }

    /// A box of that name; the panel stays closed.
    fn box_called(&self, place: &str) -> Result<(), ActProblem> {
        match self.drill.circuit.place(place).map(|place| place.kind) {
            Some(PlaceKind::Box) => Ok(()),
            Some(_) => Err(ActProblem::new(
                place,
                "it stays closed here: behind its cover conductors stay live with every breaker \
                 off. Tell from readings what is wrong in it",
            )),
            None => Err(ActProblem::new(place, "there is no box of that name")),
        }
    }

    /// The highest potential to earth of anything in a box, rounded to volts. What only
    /// capacitance holds there counts: a rated instrument loads it, and this one does not.
    fn volt_at(&self, place: &str) -> Result<f64, ActProblem> {
        self.with_standing(|_, standing| Ok(volt_in(standing, place)))
    }

    /// The circuit as it stands now.
    fn with_standing<T>(
        &self,
        look: impl FnOnce(&Scene<'_>, &Standing) -> Result<T, MeasureProblem>,
    ) -> Result<T, ActProblem> {
        let looked = || {
            let scene = Scene::new(&self.drill.circuit)?;
            let standing = scene.standing(&self.stands(None), &LoadsStand::as_found())?;
            look(&scene, &standing)
        };
        looked().map_err(|problem| ActProblem::new("", problem.to_string()))
    }
}

/// The highest potential to earth of anything in a box, rounded to volts.
fn volt_in(standing: &Standing, place: &str) -> f64 {
    let inside = format!("{place}.");
    let nodes = standing.netlist.nodes();
    let here = nodes.filter(|&node| standing.netlist.address(node).as_str().starts_with(&inside));
    let potentials = here.filter_map(|node| standing.solution.potential(node));
    potentials.map(|volt| volt.magnitude()).fold(0.0, f64::max).round()
}

/// A condition with what has tripped switched off.
fn tripped(before: &Condition, standing: &Standing) -> Condition {
    let mut condition = before.clone();
    condition.breakers.extend(standing.tripped.iter().map(|name| (name.clone(), false)));
    condition
}
