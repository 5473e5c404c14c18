//! What it costs to find the faults of a drill with the product's own strategy: an inquiry is
//! told the sheet, asks for tests, is told what they truly show, and says where to go.

use std::collections::BTreeMap;

use crate::condition::catalogue::PossibleFault;
use crate::condition::{Condition, LoadState};
use crate::diagnosis::{
    Advice, Because, Complaint, Effort, Inquiry, Means, Moment, NextTest, Observation,
    ReadingError, Seen,
};
use crate::instrument::{Request, measure_netlist};
use crate::lookalike::Placement;

use super::complaint::complaints;
use super::faults::condition;
use super::reading::DrillReading;
use super::scene::{LoadsStand, Scene};
use super::seen::showed;
use super::{Drill, DrillProblem};

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
    /// The boxes it went to, in order, the last of each fault the one with that fault in it.
    pub boxes: Vec<String>,
    /// Seconds of tests and switching.
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
/// let test = Test { switched: Default::default(), readings: vec![], cost_s: 20.0 };
/// assert!(test.switched.is_empty());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// Loads switched first.
    pub switched: BTreeMap<String, LoadState>,
    /// What was shown.
    pub readings: Vec<DrillReading>,
    /// Seconds.
    pub cost_s: f64,
}

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
    pub fn strategy(&self) -> Result<Strategy, DrillProblem> {
        let scene = Scene::new(&self.circuit)?;
        let mut search = Search {
            scene: &scene,
            drill: self,
            left: self.faults.clone(),
            way: Strategy {
                tests: Vec::new(),
                boxes: Vec::new(),
                tests_s: 0.0,
                boxes_s: 0.0,
                found: false,
                sheet_share: 0.0,
            },
        };
        search.round(&self.complaints, &self.first)?;
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
            search.round(&again, &[])?;
        }
        search.way.found &= search.left.is_empty();
        Ok(search.way)
    }
}

struct Search<'s> {
    scene: &'s Scene<'s>,
    drill: &'s Drill,
    left: Vec<PossibleFault>,
    way: Strategy,
}

impl Search<'_> {
    /// Looks for the first fault of those left.
    fn round(
        &mut self,
        complaints: &[Complaint],
        first: &[DrillReading],
    ) -> Result<(), DrillProblem> {
        let circuit = self.scene.circuit;
        let means = Means { priors: self.drill.age.priors(), ..Means::of(circuit) };
        let costs = means.costs;
        let (error, effort) = (ReadingError::default(), Effort::default());
        let mut inquiry = Inquiry::with(circuit, means, error, effort);
        for complaint in complaints {
            // What cannot be used is not told: a tingle felt at a place without a case.
            let _ = inquiry.complain(complaint);
        }
        self.tell(&mut inquiry, first)?;
        if !first.is_empty() {
            self.way.sheet_share = self.share_of_truth(&inquiry);
        }
        for _ in 0..TESTS_MAX {
            match inquiry.advise() {
                Advice::Test(test) => self.make(&mut inquiry, &test)?,
                Advice::Stop(stop) => {
                    self.way.found = false;
                    if stop.because == Because::NothingWrong {
                        return Ok(());
                    }
                    for go_to in &stop.go_to {
                        self.way.boxes.push(go_to.place.clone());
                        self.way.boxes_s +=
                            if go_to.handle { costs.plug_in_s } else { costs.open_box_s };
                        if self.mends(&go_to.place) {
                            self.way.found = true;
                            break;
                        }
                    }
                    return Ok(());
                }
            }
        }
        self.way.found = false;
        Ok(())
    }

    /// Whether a fault is in a place; it is mended.
    fn mends(&mut self, place: &str) -> bool {
        let here = |fault: &PossibleFault| match fault.places.is_empty() {
            true => place == "panel",
            false => fault.places.iter().any(|one| one == place),
        };
        let before = self.left.len();
        self.left.retain(|fault| !here(fault));
        self.left.len() < before
    }

    /// Tells what the sheet says, as it was truly read.
    fn tell(
        &self,
        inquiry: &mut Inquiry<'_>,
        first: &[DrillReading],
    ) -> Result<(), DrillProblem> {
        let mut told: Vec<(&str, &str)> = Vec::new();
        for one in first {
            let key = (one.tool.as_str(), one.at.as_str());
            if told.contains(&key) {
                continue;
            }
            told.push(key);
            let outlet = self.scene.circuit.outlets().find(|(_, o)| o.address.as_str() == one.at);
            let placement = outlet.and_then(|(_, outlet)| {
                Placement::new(self.scene.instrument(&one.tool)?, outlet).ok()
            });
            if let Some(placement) = placement {
                self.look(inquiry, &placement.requests, &Moment::default())?;
            }
        }
        Ok(())
    }

    fn make(&mut self, inquiry: &mut Inquiry<'_>, test: &NextTest) -> Result<(), DrillProblem> {
        let readings = self.look(inquiry, &test.looks, &test.moment)?;
        let name = |readings: Vec<DrillReading>| {
            let named = readings.into_iter().map(|one| DrillReading {
                tool: test.instrument.clone(),
                at: test.at.to_string(),
                ..one
            });
            named.collect()
        };
        self.way.tests_s += test.cost_s;
        self.way.tests.push(Test {
            switched: test.switch.clone(),
            readings: name(readings),
            cost_s: test.cost_s,
        });
        Ok(())
    }

    /// Looks at the circuit as it truly is, and tells the inquiry.
    fn look(
        &self,
        inquiry: &mut Inquiry<'_>,
        looks: &[Request],
        moment: &Moment,
    ) -> Result<Vec<DrillReading>, DrillProblem> {
        let truth = condition(&self.left);
        let mut standing: Condition = moment.condition.clone();
        standing.faults.splice(0..0, truth.faults);
        for (name, on) in truth.breakers {
            standing.breakers.entry(name).or_insert(on);
        }
        for (name, at) in truth.switches {
            standing.switches.entry(name).or_insert(at);
        }
        let standing = self.scene.standing(&standing, &LoadsStand::as_found())?;
        let readings = measure_netlist(&standing.netlist, looks)?;
        for (request, reading) in looks.iter().zip(&readings) {
            let seen = Seen::Instrument {
                request: Box::new(request.clone()),
                showed: showed(reading),
            };
            let observation = Observation { moment: moment.clone(), seen };
            // What the inquiry cannot use, such as a display over its range, tells it nothing.
            let _ = inquiry.observe(&observation);
        }
        Ok(self.scene.as_drill_readings(looks, &readings))
    }

    fn share_of_truth(&self, inquiry: &Inquiry<'_>) -> f64 {
        let holds = |boxes: &[String]| {
            let true_places = self.left.iter().flat_map(|fault| &fault.places);
            true_places.into_iter().any(|place| boxes.contains(place))
        };
        let findings = inquiry.findings();
        let suspects = findings.suspects.iter().filter(|suspect| holds(&suspect.boxes));
        let share = suspects.map(|suspect| suspect.probability).fold(0.0, f64::max);
        (share * 100.0).round() / 100.0
    }
}
