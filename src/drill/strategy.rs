//! What it costs to find the faults of a drill with the product's own strategy: an inquiry is
//! told the sheet, asks for tests, is told what they truly show, and says where to go. It has the
//! instruments of the drill and no others.

use std::collections::BTreeMap;

use crate::circuit::{Outlet, PlaceKind};
use crate::condition::catalogue::{FaultKind, PossibleFault};
use crate::condition::{Condition, LoadState};
use crate::diagnosis::{
    Account, Advice, Because, Complaint, Costs, GLANCE_S, GoTo, Inquiry, Means, Moment, NextTest,
    Observation, Protected, SUPPLY_S, Seen, Showed, Stop, Tool, UNPLUG_S,
};
use crate::instrument::{MeasureProblem, Reading, Request, measure};
use crate::lookalike::Placement;
use crate::protection::Protection;

use super::Drill;
use super::complaint::complaints;
use super::faults::condition;
use super::reading::{DrillReading, readings};
use super::scene::{LoadsStand, Scene};

/// The way the strategy took.
///
/// ```
/// # use slotwise::drill::Strategy;
/// fn is_quick(strategy: &Strategy) -> bool { strategy.found && strategy.minutes() < 15.0 }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Strategy {
    /// The tests, in order.
    pub tests: Vec<Test>,
    /// The boxes it opened, in order, the last of each fault that is in one the box with that fault.
    pub boxes: Vec<String>,
    /// Seconds of tests and switching, and of going where nothing is opened.
    pub tests_s: f64,
    /// Seconds of opening boxes.
    pub boxes_s: f64,
    /// Whether every fault was found.
    pub found: bool,
    /// How likely the sheet alone makes a place of a true fault: the highest probability of a
    /// suspect that holds one, to a hundredth.
    pub sheet_share: f64,
}

/// One test of it.
///
/// ```
/// use slotwise::drill::Test;
/// let test = Test { cost_s: 20.0, ..Test::default() };
/// assert!(test.switched.is_empty() && test.readings.is_empty());
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Test {
    /// Loads switched first.
    pub switched: BTreeMap<String, LoadState>,
    /// What was shown.
    pub readings: Vec<DrillReading>,
    /// Seconds.
    pub cost_s: f64,
}

/// A stage of the way, for who tells it as it goes.
pub(crate) enum Stage<'a, 'c> {
    /// A fault has been mended, and this is what is complained of now.
    Again(&'a [Complaint]),
    /// An inquiry that has been told an account advises this: a test, or one place to go to.
    Advised(&'a Inquiry<'c>, &'a Advice),
    /// A test was made.
    Made(&'a Test),
    /// A place was gone to: what was found there, in the words of a condition, and seconds.
    Went(Vec<String>, f64),
}

/// Tells a stage of the way.
type Watch<'w> = &'w mut dyn FnMut(Stage<'_, '_>) -> Result<(), MeasureProblem>;

/// Tests made for one fault at most.
const TESTS_MAX: usize = 25;

impl Strategy {
    /// Minutes in all, to a tenth.
    pub fn minutes(&self) -> f64 {
        ((self.tests_s + self.boxes_s) / 6.0).round() / 10.0
    }
}

impl Drill {
    /// Follows the product's own strategy through this drill. Faults found are mended, and what
    /// is left is looked for anew.
    ///
    /// # Errors
    ///
    /// A state that a test asks for has no answer.
    pub fn strategy(&self) -> Result<Strategy, MeasureProblem> {
        self.strategy_told(&mut |_| Ok(()))
    }

    /// The same, each stage told as it comes.
    pub(crate) fn strategy_told(&self, watch: Watch<'_>) -> Result<Strategy, MeasureProblem> {
        let scene = Scene::new(&self.circuit)?;
        let mut search = Search::new(&scene, self);
        search.round(&self.complaints, &self.first, watch)?;
        for _ in 1..self.faults.len() {
            if search.left.is_empty() || !search.way.found {
                break;
            }
            let condition = condition(&search.left);
            let standing = scene.standing(&condition, &LoadsStand::as_found())?;
            let mut again = complaints(&scene, &condition, &standing)?;
            if again.is_empty() {
                again.push(Complaint::NothingSeen);
            }
            watch(Stage::Again(&again))?;
            search.round(&again, &[], watch)?;
        }
        search.way.found &= search.left.is_empty();
        Ok(search.way)
    }
}

impl Drill {
    /// All that can be told of this drill: its complaints, how the handles of breakers and
    /// protective devices stand, and what its instruments show, with the loads as found, all off
    /// and all on.
    ///
    /// # Errors
    ///
    /// A load state has no answer.
    pub fn account(&self) -> Result<Account, MeasureProblem> {
        let scene = Scene::new(&self.circuit)?;
        let search = Search::new(&scene, self);
        let mut account = search.account(&self.complaints);
        let outlets: Vec<&Outlet> = self.circuit.outlets().map(|(_, outlet)| outlet).collect();
        for state in scene.states() {
            let condition = Condition { loads: state.loads.clone(), ..Condition::default() };
            let moment = Moment { condition, ..Moment::default() };
            account.observations.extend(search.handles(state, &moment)?);
            let placements = outlets.iter().flat_map(|outlet| {
                scene.instruments().filter_map(|one| Placement::new(one, outlet).ok())
            });
            let looks: Vec<Request> = placements.flat_map(|placement| placement.requests).collect();
            account.observations.extend(search.look(&looks, &moment)?.1);
        }
        Ok(account)
    }
}

struct Search<'s> {
    scene: &'s Scene<'s>,
    drill: &'s Drill,
    left: Vec<PossibleFault>,
    way: Strategy,
    untold: Option<Inquiry<'s>>,
}

impl<'s> Search<'s> {
    fn new(scene: &'s Scene<'s>, drill: &'s Drill) -> Self {
        let way = Strategy {
            tests: Vec::new(),
            boxes: Vec::new(),
            tests_s: 0.0,
            boxes_s: 0.0,
            found: false,
            sheet_share: 0.0,
        };
        Self { scene, drill, left: drill.faults.clone(), way, untold: None }
    }

    /// Looks for the first fault of those left.
    fn round(
        &mut self,
        complaints: &[Complaint],
        first: &[DrillReading],
        watch: Watch<'_>,
    ) -> Result<(), MeasureProblem> {
        let mut account = self.account(complaints);
        account.observations = self.sheet(first)?;
        let mut inquiry = told(self.untold(&account.means), &mut account);
        if !first.is_empty() {
            self.way.sheet_share = self.share_of_truth(&inquiry);
        }
        self.way.found = false;
        for _ in 0..TESTS_MAX {
            let advice = inquiry.advise();
            match &advice {
                Advice::Test(test) => {
                    watch(Stage::Advised(&inquiry, &advice))?;
                    let made = self.make((&mut inquiry, &mut account), test)?;
                    watch(Stage::Made(&made))?;
                    self.way.tests.push(made);
                }
                Advice::Stop(stop) if stop.moment.is_some() => {
                    self.try_first((&mut inquiry, &mut account), stop)?;
                }
                Advice::Stop(stop) if stop.because == Because::NothingWrong => return Ok(()),
                Advice::Stop(stop) => return self.go((&account, &inquiry), stop, watch),
            }
        }
        Ok(())
    }

    /// Goes to the places of a stop until a fault is seen.
    fn go(
        &mut self,
        (account, inquiry): (&Account, &Inquiry<'_>),
        stop: &Stop,
        watch: Watch<'_>,
    ) -> Result<(), MeasureProblem> {
        for go_to in &stop.go_to {
            let there = Advice::Stop(Stop { go_to: vec![go_to.clone()], ..stop.clone() });
            watch(Stage::Advised(inquiry, &there))?;
            let before = self.left.clone();
            let is_a_box = self.is_a_box(go_to);
            let cost_s = cost_of(go_to, is_a_box, &account.means.costs);
            if is_a_box {
                self.way.boxes.push(go_to.place.clone());
                self.way.boxes_s += cost_s;
            } else {
                self.way.tests_s += cost_s;
            }
            self.way.found = match go_to.opens_a_box() {
                true => self.mends(&go_to.place),
                false => self.mends_outside(go_to),
            };
            let found = before.iter().filter(|fault| !self.left.contains(fault));
            let found = found.map(|fault| fault.sentence(self.scene.circuit)).collect();
            watch(Stage::Went(found, cost_s))?;
            if self.way.found {
                break;
            }
        }
        Ok(())
    }

    /// Whether a box is opened there. A panel, and the service before it, stays closed: who may work
    /// there is called.
    fn is_a_box(&self, go_to: &GoTo) -> bool {
        let place = self.scene.circuit.place(&go_to.place);
        go_to.opens_a_box() && place.is_some_and(|place| place.kind == PlaceKind::Box)
    }

    /// An inquiry of these means that has been told nothing: one for all rounds, which share what it
    /// solves.
    fn untold(&mut self, means: &Means) -> Inquiry<'s> {
        let untold = || Inquiry::new(self.scene.circuit, means.clone());
        self.untold.get_or_insert_with(untold).clone()
    }

    /// Whether a fault is in a place; it is mended.
    fn mends(&mut self, place: &str) -> bool {
        let here = |fault: &PossibleFault| match fault.places.is_empty() {
            // What has no box is at the panel, or before it.
            true => place == "panel",
            false => fault.places.iter().any(|one| one == place),
        };
        self.mend(here)
    }

    /// Whether a fault is in a handle or an appliance, for which nothing is opened; it is mended.
    fn mends_outside(&mut self, go_to: &GoTo) -> bool {
        let circuit = self.scene.circuit;
        let here = |fault: &PossibleFault| match &go_to.appliance {
            Some(load) => fault.appliance(circuit).is_some_and(|one| one.id == *load),
            None if go_to.supply => fault.kind == FaultKind::SupplyVoltage,
            None => fault.kind.is_setting() && fault.places.contains(&go_to.place),
        };
        self.mend(here)
    }

    /// Mends the faults that are here; whether there were any.
    fn mend(&mut self, here: impl Fn(&PossibleFault) -> bool) -> bool {
        let before = self.left.len();
        self.left.retain(|fault| !here(fault));
        self.left.len() < before
    }

    /// An account of these complaints, with the odds of the building's age.
    fn account(&self, complaints: &[Complaint]) -> Account {
        let usual = Means::of(self.scene.circuit);
        // Whoever solves it is not charged for walking.
        let costs = Costs { walk_100_m_s: 0.0, ..usual.costs };
        let is_at_hand = |tool: &Tool| self.scene.called(&tool.name).is_some();
        let tools = usual.tools.into_iter().filter(is_at_hand).collect();
        let means = Means { priors: self.drill.age.priors(), costs, tools, ..Means::default() };
        Account { complaints: complaints.to_vec(), observations: Vec::new(), means }
    }

    /// What the sheet says, as it was truly read.
    fn sheet(&self, first: &[DrillReading]) -> Result<Vec<Observation>, MeasureProblem> {
        let mut held: Vec<(&str, &str)> =
            first.iter().map(|one| (one.tool.as_str(), one.at.as_str())).collect();
        held.dedup();
        let outlet_at = |at: &str| {
            let mut outlets = self.scene.circuit.outlets().map(|(_, outlet)| outlet);
            outlets.find(|outlet| outlet.address.as_str() == at)
        };
        let placements = held.iter().filter_map(|(tool, at)| {
            Placement::new(self.scene.instrument(tool)?, outlet_at(at)?).ok()
        });
        let looks: Vec<Request> = placements.flat_map(|placement| placement.requests).collect();
        Ok(self.look(&looks, &Moment::default())?.1)
    }

    fn make(
        &mut self,
        (inquiry, account): (&mut Inquiry<'_>, &mut Account),
        test: &NextTest,
    ) -> Result<Test, MeasureProblem> {
        let (shown, seen) = self.look(&test.looks, &test.moment)?;
        for observation in seen {
            // What the inquiry cannot use, such as a display over its range, tells it nothing.
            if inquiry.observe(&observation).is_ok() {
                account.observations.push(observation);
            }
        }
        self.way.tests_s += test.cost_s;
        let readings = self.read(test, &shown);
        Ok(Test { switched: test.switch.clone(), readings, cost_s: test.cost_s })
    }

    /// What was shown, as a sheet has it.
    fn read(&self, test: &NextTest, shown: &[Reading]) -> Vec<DrillReading> {
        let outlet = self.scene.circuit.outlets().find(|(_, outlet)| outlet.address == test.at);
        let (tool, instrument) = self.scene.called(&test.instrument).unzip();
        let placement = instrument
            .zip(outlet)
            .and_then(|(instrument, (_, outlet))| Placement::new(instrument, outlet).ok());
        let at = test.at.as_str();
        placement.zip(tool).map_or_else(Vec::new, |(placement, tool)| {
            readings(("loads as set", tool, at), &placement, shown)
        })
    }

    /// Tries what is to be tried before anything is tested: a handle closed with nothing plugged in, or
    /// a light with its switches thrown.
    fn try_first(
        &mut self,
        (inquiry, account): (&mut Inquiry<'_>, &mut Account),
        stop: &Stop,
    ) -> Result<(), MeasureProblem> {
        let asked = stop.go_to.first().and_then(|first| first.name.as_deref()).unwrap_or_default();
        if let (Some(moment), Because::UnpluggedFirst | Because::AddedBack) =
            (&stop.moment, stop.because)
        {
            let state =
                LoadsStand { loads: moment.condition.loads.clone(), ..LoadsStand::as_set() };
            let is_asked =
                |seen: &Seen| matches!(seen, Seen::Protection { name, .. } if name == asked);
            for observation in self.handles(&state, moment)? {
                if is_asked(&observation.seen) && inquiry.observe(&observation).is_ok() {
                    account.observations.push(observation);
                }
            }
            self.way.tests_s += UNPLUG_S;
        }
        // Never twice, whatever came of it. What a light does is on no sheet.
        inquiry.leave_handle(asked);
        Ok(())
    }

    /// How every handle truly stands.
    fn handles(
        &self,
        state: &LoadsStand,
        moment: &Moment,
    ) -> Result<Vec<Observation>, MeasureProblem> {
        let truth = condition(&self.left);
        let standing = self.scene.standing(&truth, state)?;
        let stands = |name: &str| match () {
            () if standing.tripped.iter().any(|tripped| tripped == name) => Protected::TripsAtOnce,
            () if standing.condition.breakers.get(name) == Some(&false) => Protected::FoundOff,
            () => Protected::Holds,
        };
        let protection = Protection::new(self.scene.circuit);
        let handle = |name: &str| {
            let seen = Seen::Protection { name: name.to_owned(), did: stands(name) };
            Observation { moment: moment.clone(), seen }
        };
        Ok(protection.devices().map(handle).collect())
    }

    /// Looks at the circuit as it truly is.
    fn look(
        &self,
        looks: &[Request],
        moment: &Moment,
    ) -> Result<(Vec<Reading>, Vec<Observation>), MeasureProblem> {
        let truth = condition(&self.left);
        let mut standing: Condition = moment.condition.clone();
        let left = truth.faults.into_iter().filter(|fault| !moment.condition.takes_apart(fault));
        standing.faults.splice(0..0, left.collect::<Vec<_>>());
        for (name, on) in truth.breakers {
            standing.breakers.entry(name).or_insert(on);
        }
        for (name, at) in truth.switches {
            standing.switches.entry(name).or_insert(at);
        }
        let standing = self.scene.standing(&standing, &LoadsStand::as_found())?;
        // Looks may name receptacles, which only the circuit knows.
        let readings = measure(self.scene.circuit, &standing.condition, looks)?;
        let observation = |(request, reading): (&Request, &Reading)| {
            let request = Box::new(request.clone());
            let seen = Seen::Instrument { request, showed: Showed::of_reading(reading) };
            Observation { moment: moment.clone(), seen }
        };
        let seen = looks.iter().zip(&readings).map(observation).collect();
        Ok((readings, seen))
    }

    fn share_of_truth(&self, inquiry: &Inquiry<'_>) -> f64 {
        let holds = |boxes: &[String]| {
            let true_places = self.left.iter().flat_map(|fault| &fault.places);
            true_places.into_iter().any(|place| boxes.contains(place))
        };
        // What the supply does is in no box.
        let is_it = |one: &PossibleFault| {
            self.left.iter().any(|left| {
                (left.kind, &left.conductors, &left.places)
                    == (one.kind, &one.conductors, &one.places)
            })
        };
        let findings = inquiry.findings();
        let suspects = findings.suspects.iter().filter(|suspect| {
            holds(&suspect.boxes) || suspect.faults.iter().any(|one| is_it(&one.fault))
        });
        let share = suspects.map(|suspect| suspect.probability).fold(0.0, f64::max);
        (share * 100.0).round() / 100.0
    }
}

/// What going to a place costs, seconds.
const fn cost_of(go_to: &GoTo, is_a_box: bool, costs: &Costs) -> f64 {
    match go_to.appliance {
        _ if is_a_box => costs.open_box_s,
        Some(_) => UNPLUG_S,
        None if go_to.handle => GLANCE_S,
        None => SUPPLY_S,
    }
}

/// An inquiry told an account, but for what of it cannot be used: a tingle felt at a place without
/// a case, a display over its range.
fn told<'c>(untold: Inquiry<'c>, account: &mut Account) -> Inquiry<'c> {
    loop {
        match untold.clone().tell_all(account) {
            Ok(inquiry) => return inquiry,
            Err((at, _)) if at < account.complaints.len() => {
                account.complaints.remove(at);
            }
            Err((at, _)) if at - account.complaints.len() < account.observations.len() => {
                account.observations.remove(at - account.complaints.len());
            }
            Err(_) => return untold,
        }
    }
}
