//! What there is to work with, what it costs, and how sure one wants to be.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::circuit::{Circuit, Vocabulary};
use crate::condition::catalogue::Priors;
use crate::instrument::{Instrument, presets};

/// An instrument at hand and what it is called for.
///
/// ```
/// use slotwise::diagnosis::Tool;
/// let tool = Tool::preset("tester").unwrap();
/// assert_eq!(tool.instrument.name(), "plug-in tester, resistive");
/// assert_eq!(Tool::preset("crystal ball"), None);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Tool {
    /// What observations call it: the name of a preset, or its own.
    pub name: String,
    /// The instrument.
    pub instrument: Instrument,
}

impl Tool {
    /// The preset of a name.
    pub fn preset(name: &str) -> Option<Self> {
        presets::named(name).map(|instrument| Self { name: name.to_owned(), instrument })
    }

    /// An instrument of one's own, called by its own name.
    pub fn own(instrument: Instrument) -> Self {
        Self { name: instrument.name().to_owned(), instrument }
    }
}

/// What there is to work with.
///
/// ```
/// use slotwise::diagnosis::Means;
/// let means = Means::default();
/// assert_eq!(means.confidence, 0.99);
/// assert!(means.may_open_boxes && !means.tools.is_empty());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Means {
    /// Instruments at hand.
    pub tools: Vec<Tool>,
    /// Places out of reach: nothing is held there and no box is opened.
    pub out_of_reach: BTreeSet<String>,
    /// Loads that must stay as they are.
    pub fixed_loads: BTreeSet<String>,
    /// Whether boxes may be opened, dead.
    pub may_open_boxes: bool,
    /// Whether breakers may be switched off.
    pub may_switch_breakers: bool,
    /// What each act costs.
    pub costs: Costs,
    /// How sure of the place one wants to be, above 0 and below 1; an inquiry takes what lies outside
    /// for the nearest sense (0.01 or 0.999999), and what is no number for the default.
    pub confidence: f64,
    /// How likely each fault is before anything is seen.
    pub priors: Priors,
}

impl Means {
    /// The same as [`Means::default`] with the plug-in tester that goes with the circuit.
    pub fn of(circuit: &Circuit) -> Self {
        let mut means = Self::default();
        if circuit.parts().vocabulary == Vocabulary::Iec
            && let Some(plug_tester) = means.tools.first_mut()
            && let Some(tester) = Tool::preset("tester-230")
        {
            *plug_tester = tester;
        }
        means
    }
}

impl Means {
    /// The same with figures that can be reckoned with.
    pub(super) fn sensible(mut self) -> Self {
        let usual = Self::default();
        self.confidence = match self.confidence.is_nan() {
            true => usual.confidence,
            false => self.confidence.clamp(0.01, 0.999_999),
        };
        let Costs {
            detector_s,
            plug_in_s,
            meter_s,
            loaded_test_s,
            clamp_s,
            switch_load_s,
            switch_breaker_s,
            dead_test_s,
            open_box_s,
            walk_100_m_s,
        } = &mut self.costs;
        let costs = &usual.costs;
        for (cost, usual) in [
            (detector_s, costs.detector_s),
            (plug_in_s, costs.plug_in_s),
            (meter_s, costs.meter_s),
            (loaded_test_s, costs.loaded_test_s),
            (clamp_s, costs.clamp_s),
            (switch_load_s, costs.switch_load_s),
            (switch_breaker_s, costs.switch_breaker_s),
            (dead_test_s, costs.dead_test_s),
            (open_box_s, costs.open_box_s),
            (walk_100_m_s, costs.walk_100_m_s),
        ] {
            if !cost.is_finite() || *cost < 0.0 {
                *cost = usual;
            }
        }
        self
    }
}

impl Default for Means {
    /// A plug-in tester, a voltmeter, a non-contact detector, a loaded test, and an ohmmeter for
    /// what is dead; everything within reach; 99 in 100.
    fn default() -> Self {
        let tools = ["tester", "voltmeter", "non-contact", "loaded-test", "ohmmeter"];
        Self {
            tools: tools.iter().filter_map(|name| Tool::preset(name)).collect(),
            out_of_reach: BTreeSet::new(),
            fixed_loads: BTreeSet::new(),
            may_open_boxes: true,
            may_switch_breakers: true,
            costs: Costs::default(),
            confidence: 0.99,
            priors: Priors::default(),
        }
    }
}

/// What each act costs, in seconds of work: judgement, every figure replaceable. An inquiry takes a
/// figure that is negative or not finite for the default.
///
/// ```
/// use slotwise::diagnosis::Costs;
/// let stiff_plates = Costs { open_box_s: 900.0, ..Costs::default() };
/// assert!(stiff_plates.open_box_s > Costs::default().open_box_s);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Costs {
    /// Holding a non-contact detector to the slots of one receptacle.
    pub detector_s: f64,
    /// Plugging in a tester and reading its indicators.
    pub plug_in_s: f64,
    /// Reading a meter between the slots of one receptacle.
    pub meter_s: f64,
    /// Plugging in a load and reading the volts it takes away.
    pub loaded_test_s: f64,
    /// A clamp around a conductor that is within reach.
    pub clamp_s: f64,
    /// Switching one load, or plugging it in or out.
    pub switch_load_s: f64,
    /// Switching one breaker and coming back.
    pub switch_breaker_s: f64,
    /// A measurement on what is dead: proving it, and reading.
    pub dead_test_s: f64,
    /// Making a box dead, proving it, opening it, looking at every joint, closing it.
    pub open_box_s: f64,
    /// Walking from one receptacle to another, a hundred metres along the cables.
    pub walk_100_m_s: f64,
}

impl Default for Costs {
    fn default() -> Self {
        Self {
            detector_s: 10.0,
            plug_in_s: 20.0,
            meter_s: 40.0,
            loaded_test_s: 60.0,
            clamp_s: 60.0,
            switch_load_s: 10.0,
            switch_breaker_s: 60.0,
            dead_test_s: 60.0,
            open_box_s: 420.0,
            walk_100_m_s: 100.0,
        }
    }
}
