//! Drills: circuits with hidden faults, whose readings are physically true and whose answers are
//! known.
//!
//! A [`Drill`] is drawn from a [`Family`] by seed and number: the same ones give the same drill
//! on every machine, whatever was drawn before. Chance comes from a stated generator; whatever
//! is decided or written is rounded first ([`reading`]); a new way of drawing is a new number
//! of [`GENERATOR`].
//!
//! This room has no words for people but the names of things: sheets, keys and pages are the
//! report's and the drawing's.

mod age;
mod building;
mod chance;
mod complaint;
mod difficulty;
mod family;
mod faults;
pub mod live;
mod misleading;
mod places;
pub mod reading;
mod scene;
mod strategy;
mod trial;

pub use age::Age;
pub use difficulty::{Band, Difficulty};
pub use family::Family;
pub use faults::Wanted;
pub use misleading::Misleading;
pub use reading::DrillReading;
pub(crate) use strategy::Stage;
pub use strategy::{Strategy, Test};

use crate::circuit::diagnostic::{Diagnostic, Diagnostics};
use crate::circuit::{Circuit, file};
use crate::condition::Condition;
use crate::condition::catalogue::PossibleFault;
use crate::diagnosis::Complaint;
use crate::instrument::MeasureProblem;
use crate::lookalike::after_tripping;

use building::Building;
use chance::Chance;
use misleading::{Walk, is_on_the_walk};
use scene::{LoadsStand, Scene};
use trial::Trial;

/// Number of the way in which drills are drawn. The same number, family, seed and drill number
/// give the same drill.
pub const GENERATOR: u32 = 3;

/// A circuit with hidden faults.
///
/// ```
/// use slotwise::drill::{Drill, Family, Wanted};
/// let family = Family::read(include_str!("../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// assert_eq!(drill.condition.faults.is_empty(), drill.faults.is_empty());
/// let again = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// assert_eq!(again.circuit_file, drill.circuit_file);
/// assert_eq!(again.condition, drill.condition);
/// ```
#[derive(Clone, Debug)]
pub struct Drill {
    /// The family's name.
    pub family: String,
    /// The seed it was drawn with.
    pub seed: u64,
    /// Its number under that seed.
    pub number: u64,
    /// Place and kind of building, as `Lapwing Quay pottery studio`.
    pub title: String,
    /// When the building was wired.
    pub age: Age,
    /// The year of that.
    pub year: u16,
    /// The circuit as the student knows it, as a circuit file.
    pub circuit_file: String,
    /// The same, read.
    pub circuit: Circuit,
    /// What is wrong and hidden: entries of the circuit's catalogue.
    pub faults: Vec<PossibleFault>,
    /// The same as a condition: nothing but these faults.
    pub condition: Condition,
    /// What the customer complains of.
    pub complaints: Vec<Complaint>,
    /// What was read before the student came.
    pub first: Vec<DrillReading>,
    /// How misleading the first readings are.
    pub misleading: Misleading,
}

/// Why there is no drill.
///
/// ```
/// use slotwise::drill::DrillProblem;
/// let problem = DrillProblem::NotFound { tried: 400 };
/// assert!(problem.to_string().contains("400"));
/// ```
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DrillProblem {
    /// The family gives a circuit file that is wrong.
    #[error("the family gives a circuit that cannot be: {}", first_of(.0))]
    Circuit(Diagnostics),
    /// No fault that was drawn is what was asked for.
    #[error(
        "none of {tried} faults drawn on this circuit is what was asked for; ask for another \
         seed, another family, or less"
    )]
    NotFound {
        /// How many were drawn.
        tried: usize,
    },
    /// Nothing can be measured.
    #[error(transparent)]
    Measure(#[from] MeasureProblem),
}

fn first_of(diagnostics: &[Diagnostic]) -> &str {
    diagnostics.first().map_or("no reason is known", |first| first.message.as_str())
}

/// Faults drawn on one circuit before a drill is given up.
const TRIES: usize = 400;

/// Drills whose difficulty is worked out before one of a band is given up.
const JUDGED: usize = 40;

impl Drill {
    /// Draws a drill.
    ///
    /// # Errors
    ///
    /// No fault on the circuit drawn is what was asked for, or the family gives a circuit that
    /// cannot be read.
    pub fn draw(
        family: &Family,
        seed: u64,
        number: u64,
        wanted: &Wanted,
    ) -> Result<Self, DrillProblem> {
        let mut chance = Chance::new(seed, number);
        let building = Building::draw(family, &mut chance);
        let circuit = file::read(&building.text).map_err(DrillProblem::Circuit)?.circuit;
        let scene = Scene::new(&circuit)?;
        let possible = faults::possible(&circuit, building.age, wanted);
        let mut judged = 0;
        for _ in 0..TRIES {
            let Some(trial) = Trial::draw(&scene, &possible, wanted, &mut chance) else { continue };
            let drill = Self {
                family: family.name().to_owned(),
                seed,
                number,
                title: building.title.clone(),
                age: building.age,
                year: building.year,
                circuit_file: building.text.clone(),
                circuit: circuit.clone(),
                faults: trial.faults,
                condition: trial.condition,
                complaints: trial.complaints,
                first: trial.first,
                misleading: trial.misleading,
            };
            let Some(band) = wanted.band else { return Ok(drill) };
            if drill.difficulty()?.band() == band {
                return Ok(drill);
            }
            judged += 1;
            if judged == JUDGED {
                break;
            }
        }
        Err(DrillProblem::NotFound { tried: if judged > 0 { judged } else { TRIES } })
    }

    /// How hard it is: the product's own strategy is followed through it.
    ///
    /// # Errors
    ///
    /// As [`strategy`](Self::strategy).
    pub fn difficulty(&self) -> Result<Difficulty, MeasureProblem> {
        Ok(Difficulty::of(&self.misleading, &self.strategy()?))
    }

    /// The box that a load is plugged into or wired in.
    pub fn place_of_load(&self, load: &str) -> Option<String> {
        crate::diagnosis::place_of_load(&self.circuit, self.circuit.load(load)?)
    }

    /// The handles that stand tripped when it is read, loads as found, with the condition that this
    /// leaves: the one rule of sheet, readings and key. Poles of one handle go by the first.
    pub(crate) fn as_read(&self) -> Result<(Condition, Vec<String>), MeasureProblem> {
        let (mut standing, poles) = after_tripping(&self.circuit, &self.condition)?;
        let mut handles: Vec<String> = Vec::new();
        for pole in poles {
            standing.breakers.remove(&pole);
            let on_it = self.circuit.branch_circuit(&pole).map(|of| self.circuit.on_one_handle(of));
            let is_on_it = |id: &str| on_it.iter().flatten().any(|one| one.id == id);
            let mut branches = self.circuit.parts().branch_circuits.iter();
            let first = branches.find(|one| is_on_it(&one.id)).map(|first| first.id.clone());
            let handle = first.unwrap_or(pole);
            if !handles.contains(&handle) {
                handles.push(handle);
            }
        }
        standing.breakers.extend(handles.iter().map(|handle| (handle.clone(), false)));
        Ok((standing, handles))
    }

    /// The receptacle where who walks the run with a plug-in tester stops, and whether any of what is
    /// wrong is in a box at all.
    pub(crate) fn walk(&self) -> Result<(Option<String>, bool), MeasureProblem> {
        let (scene, as_found) = (Scene::new(&self.circuit)?, LoadsStand::as_found());
        let standing = scene.standing(&self.condition, &as_found)?;
        let now = scene.readings_of(trial::TESTER, &standing, &as_found)?;
        let sound = scene.readings_of(trial::TESTER, scene.sound(), &as_found)?;
        let walk = Walk { now: &now, sound: &sound };
        let stop = walk.stop(!standing.tripped.is_empty()).map(|stop| stop.at.clone());
        let mut faults = self.faults.iter();
        Ok((stop, faults.any(|fault| is_on_the_walk(&self.circuit, fault))))
    }

    /// What counts as right too because no instrument at any receptacle can tell it from what is wrong,
    /// the same trips and the same is complained of: each with the faults it cannot be told from, by their places in the drill.
    ///
    /// # Errors
    ///
    /// A load state has no answer; those of a drill that was drawn have one.
    ///
    /// ```
    /// use slotwise::drill::{Drill, Family, Wanted};
    /// let family = Family::read(include_str!("../circuits/families/workshops.ron")).unwrap();
    /// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
    /// let also = drill.also_right().unwrap();
    /// assert!(also.iter().all(|(one, _)| !drill.faults.contains(one)));
    /// ```
    pub fn also_right(&self) -> Result<Vec<(PossibleFault, Vec<usize>)>, MeasureProblem> {
        live::also_right(self)
    }

    /// What every instrument of the sheet shows at every receptacle: with the loads as found,
    /// with all of them off, and with all of them on.
    ///
    /// # Errors
    ///
    /// The network of a load state has no answer.
    pub fn readings(&self) -> Result<Vec<DrillReading>, DrillProblem> {
        let scene = Scene::new(&self.circuit)?;
        let mut all = Vec::new();
        for state in scene.states() {
            let standing = scene.standing(&self.condition, state)?;
            all.extend(scene.readings(&standing, state)?);
        }
        Ok(all)
    }
}
