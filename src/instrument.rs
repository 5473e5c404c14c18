//! Instruments: each the network element it is, all its inputs attached at once, and read from
//! the network solved with it in place.
//!
//! [`measure`] puts any number of instruments to a circuit in one condition;
//! [`measure_netlist`] does the same to a netlist written by hand. Presets of generic kinds are
//! in [`presets`], with the sources of their figures; every figure can be changed. What the
//! results look like as JSON is in `docs/instruments.md`.
//!
//! A reading is a model's: it proves nothing dead.

use serde::{Deserialize, Serialize};

mod band;
mod bench;
mod check;
mod clamp;
mod display;
mod figure;
pub mod file;
mod indicator;
mod loaded_test;
mod many;
mod measure;
mod non_contact;
mod ohmmeter;
mod person;
mod phasor_form;
mod place;
mod plug_tester;
pub mod presets;
mod problem;
mod range;
mod residual;
mod step_tester;
mod voltmeter;

pub use band::{Band, Standing};
pub use check::BadFigure;
pub use clamp::{Clamp, ClampReading};
pub use display::{Display, DisplayRange, Displayed, Prefix, Tolerance};
pub use figure::{Figure, State};
pub use indicator::{Brightness, BrightnessBy, Glow, Indicator, IndicatorLaw, IndicatorReading};
pub use loaded_test::{LoadedReading, LoadedTest};
pub(crate) use many::Held;
pub use many::{Current, ManyConditions, ManyReadings, ManyWork};
pub(crate) use measure::{holds_button, loads, with_button_held, with_load_held};
pub use measure::{measure, measure_netlist, place_of_outlet};
pub use non_contact::{NonContact, NonContactReading};
pub use ohmmeter::{
    InsulationReading, InsulationTester, Jumper, OhmReading, Ohmmeter, Preparation,
};
pub use person::{BodyImpedance, Effect, Person, PersonReading};
pub use place::{Coupled, Place, Slot, Through};
pub use plug_tester::{PlugTester, PlugTesterReading, SpannedIndicator, TripButton};
pub use problem::MeasureProblem;
pub(crate) use range::at_range_ends;
pub use range::{ALL_CORNERS_MAX, BandMethod, FigureBand, ReadingBand, StateShare, measure_band};
pub use residual::{Residual, ResidualReading, TestButton};
pub use step_tester::{Step, StepReading, StepTester};
pub use voltmeter::{Burden, BurdenRise, SettledReading, Voltmeter, VoltmeterReading};

/// An instrument.
///
/// ```
/// use slotwise::instrument::presets;
/// assert_eq!(presets::clamp_meter().name(), "clamp meter");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub enum Instrument {
    /// Plug-in indicator tester.
    PlugTester(PlugTester),
    /// Voltmeter.
    Voltmeter(Voltmeter),
    /// Tester that shows steps of voltage.
    StepTester(StepTester),
    /// Non-contact detector.
    NonContact(NonContact),
    /// Clamp meter.
    Clamp(Clamp),
    /// Ohmmeter or continuity tester.
    Ohmmeter(Ohmmeter),
    /// Insulation tester.
    Insulation(InsulationTester),
    /// Loaded test.
    LoadedTest(LoadedTest),
    /// Sensor of a ground-fault device.
    Residual(Residual),
    /// Own test button of a ground-fault device.
    TestButton(TestButton),
    /// A person.
    Person(Person),
}

/// One instrument at one place.
///
/// ```
/// use slotwise::instrument::{presets, Place, Request};
/// let alone = Request::new(presets::clamp_meter(), Place::Around { conductors: vec![] });
/// assert_eq!(alone.together, None);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// The instrument.
    pub instrument: Instrument,
    /// Where it is held.
    pub place: Place,
    /// For measurements on a dead circuit: what is done first.
    pub preparation: Preparation,
    /// Requests with the same number are attached at the same time. Others are independent.
    pub together: Option<u32>,
}

impl Request {
    /// An instrument alone at a place, nothing prepared. For ohms that is hardly what is meant: the
    /// supply has no voltage, and yet the breakers stand as they do, so that its windings are measured
    /// too; see [`Preparation`] and [`Preparation::breakers_off`].
    pub fn new(instrument: Instrument, place: Place) -> Self {
        Self { instrument, place, preparation: Preparation::default(), together: None }
    }
}

/// What one instrument shows at one place.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Place, Request};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// # let mut netlist = Netlist::new(60.0);
/// # let hot = netlist.node(&Address::from("hot"));
/// # let emf_volt = Phasor::new(120.0, 0.0);
/// # let impedance = Impedance::resistance(0.1);
/// # netlist.add("supply", hot, Netlist::EARTH, Role::Winding, Law::Source { emf_volt, impedance }).unwrap();
/// let request =
///     Request::new(presets::voltmeter_high_impedance(), Place::between("hot", "earth"));
/// let readings = measure_netlist(&netlist, &[request]).unwrap();
/// let json = serde_json::to_value(&readings[0]).unwrap();
/// assert_eq!(json["kind"], "voltmeter");
/// assert_eq!(json["display"]["text"], "120.0 V");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// Name of the instrument.
    pub instrument: String,
    /// Where it was held.
    pub place: Place,
    /// What it shows.
    #[serde(flatten)]
    pub shown: Shown,
}

/// What an instrument shows.
///
/// ```
/// use slotwise::instrument::{Misfit, Shown};
/// let shown = Shown::DoesNotFit(Misfit {
///     configuration: Some("NEMA 6-15".into()),
///     why: "the receptacle has no neutral slot".into(),
/// });
/// assert_eq!(serde_json::to_value(&shown).unwrap()["kind"], "does_not_fit");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Shown {
    /// A plug-in indicator tester.
    PlugTester(PlugTesterReading),
    /// A voltmeter.
    Voltmeter(VoltmeterReading),
    /// A tester that shows steps.
    StepTester(StepReading),
    /// A non-contact detector.
    NonContact(NonContactReading),
    /// A clamp meter.
    Clamp(ClampReading),
    /// An ohmmeter or continuity tester.
    Ohmmeter(OhmReading),
    /// An insulation tester.
    Insulation(InsulationReading),
    /// A loaded test.
    LoadedTest(LoadedReading),
    /// A residual current.
    Residual(ResidualReading),
    /// A person; a warning.
    Person(PersonReading),
    /// The instrument does not go into the receptacle.
    DoesNotFit(Misfit),
}

/// Why an instrument does not go into a receptacle.
///
/// ```
/// use slotwise::instrument::Misfit;
/// let misfit = Misfit { configuration: None, why: "its plug is another".into() };
/// assert!(misfit.why.contains("plug"));
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Misfit {
    /// The receptacle's configuration, where the place is one of the circuit's.
    pub configuration: Option<String>,
    /// Why.
    pub why: String,
}

impl Instrument {
    /// What it is called.
    pub fn name(&self) -> &str {
        match self {
            Self::PlugTester(instrument) => &instrument.name,
            Self::Voltmeter(instrument) => &instrument.name,
            Self::StepTester(instrument) => &instrument.name,
            Self::NonContact(instrument) => &instrument.name,
            Self::Clamp(instrument) => &instrument.name,
            Self::Ohmmeter(instrument) => &instrument.name,
            Self::Insulation(instrument) => &instrument.name,
            Self::LoadedTest(instrument) => &instrument.name,
            Self::Residual(instrument) => &instrument.name,
            Self::TestButton(instrument) => &instrument.name,
            Self::Person(instrument) => &instrument.name,
        }
    }

    /// The word for its kind in a file.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::PlugTester(_) => "PlugTester",
            Self::Voltmeter(_) => "Voltmeter",
            Self::StepTester(_) => "StepTester",
            Self::NonContact(_) => "NonContact",
            Self::Clamp(_) => "Clamp",
            Self::Ohmmeter(_) => "Ohmmeter",
            Self::Insulation(_) => "Insulation",
            Self::LoadedTest(_) => "LoadedTest",
            Self::Residual(_) => "Residual",
            Self::TestButton(_) => "TestButton",
            Self::Person(_) => "Person",
        }
    }

    /// Every figure of it that no instrument can have.
    pub fn bad_figures(&self) -> Vec<BadFigure> {
        let mut check = check::Check::default();
        check.that("name", !self.name().is_empty(), "is empty");
        match self {
            Self::PlugTester(instrument) => instrument.check(&mut check),
            Self::Voltmeter(instrument) => instrument.check(&mut check),
            Self::StepTester(instrument) => instrument.check(&mut check),
            Self::NonContact(instrument) => instrument.check(&mut check),
            Self::Clamp(instrument) => instrument.check(&mut check),
            Self::Ohmmeter(instrument) => instrument.check(&mut check),
            Self::Insulation(instrument) => instrument.check(&mut check),
            Self::LoadedTest(instrument) => instrument.check(&mut check),
            Self::Residual(instrument) => instrument.check(&mut check),
            Self::TestButton(instrument) => instrument.check(&mut check),
            Self::Person(instrument) => instrument.check(&mut check),
        }
        check.into_bad()
    }
}
