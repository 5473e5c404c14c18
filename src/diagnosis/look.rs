//! What can be looked at: every instrument at every receptacle, as numbers behind what it shows.
//!
//! A *channel* is one number of a solved network that something shows or a person notices: the
//! volts across an indicator, the figure of a meter, the potential near a detector, the share of
//! its voltage that a load gets. Observations and predictions meet in channels and nowhere else.

use super::predictions::Row;
use super::vital::{Life, Metal};
use crate::circuit::{Circuit, Load, Outlet, PlaceKind};
use crate::instrument::presets::{non_contact_detector, voltmeter_ideal};
use crate::instrument::{
    Band, Burden, Display, Instrument, Place, Reading, Request, Shown, Voltmeter, place_of_outlet,
};
use crate::quantity::Address;

/// What a channel is.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Measure {
    /// An indicator, with what makes it dim and lit.
    Indicator { between: (String, String), dim: Band, lit: Band },
    /// A meter between two slots, or between the two points of a request of its own.
    Volt { between: (String, String) },
    /// The highest step of a step tester, by the volts that decide.
    Step { between: (String, String), steps: Vec<(String, Band)> },
    /// A detector at a slot.
    Alarm { slot: String, band: Band },
    /// Volts lost in a loaded test.
    Lost,
    /// The part of them along one conductor.
    LostAlong { conductor: &'static str },
    /// Amperes in a jaw.
    Ampere,
    /// Ohms between two probes, the circuit dead, with those of the leads; and what a reading of
    /// few ohms is off.
    Ohm { lead_ohm: f64, off_ohm: f64 },
    /// The share of its rated voltage that a load gets.
    Share { load: String },
    /// The share of its usual voltage that a lamp gets which somebody plugs in.
    Lamp,
    /// Potential to earth of a slot, looked at by nobody: for dangers.
    Potential { slot: String },
    /// Potential to earth of the metal case of a load or a panel, felt and not measured.
    Case { of: String },
}

/// A channel with where its number comes from.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Channel {
    pub(super) measure: Measure,
    /// The receptacle, by its place in the circuit.
    pub(super) outlet: Option<usize>,
    /// The instrument, by its place among those in hand; `None` where nobody holds one.
    pub(super) instrument: Option<usize>,
    /// Numbers of the same pair of slots, or of one slot with each other, under a load of
    /// [`REFERENCE_OHM`].
    pub(super) leaned_on: Vec<usize>,
    pub(super) request: usize,
    part: usize,
    /// What the number is divided by.
    pub(super) per: f64,
}

/// An indicator's worth of load, to tell a conductor that floats from one that is held: ohms.
const REFERENCE_OHM: f64 = 150e3;

/// A lamp that somebody plugs in draws so much: judgement.
const LAMP_WATT: f64 = 60.0;

/// A test current below this is none: there is nothing to load.
pub(super) const NO_AMPERE: f64 = 1e-9;

/// What an ohmmeter makes of nothing at all.
pub(super) const OPEN_OHM: f64 = 1e9;

/// Everything that is read of one network.
#[derive(Clone, Debug, Default)]
pub(super) struct Looks {
    pub(super) requests: Vec<Request>,
    pub(super) channels: Vec<Channel>,
    /// By what a place counts as dead, for each place of the circuit.
    pub(super) life: Vec<Life>,
    /// What dangers are told by, for each receptacle.
    pub(super) metal: Vec<Metal>,
    /// A lamp tried there, for each receptacle that one fits.
    pub(super) lamps: Vec<Option<usize>>,
}

impl Looks {
    /// Everything that the instruments show at every receptacle, what every load gets, and what
    /// dangers are told by.
    pub(super) fn new(circuit: &Circuit, instruments: &[Instrument], nominal_volt: f64) -> Self {
        let mut looks = Self::default();
        for (outlet, (_, at)) in circuit.outlets().enumerate() {
            looks.reference(outlet, at);
            let lamp = looks.lamp(outlet, at, nominal_volt);
            looks.lamps.push(lamp);
        }
        for (number, instrument) in instruments.iter().enumerate() {
            looks.hold_everywhere(circuit, number, instrument);
        }
        for load in &circuit.parts().loads {
            looks.load(load);
        }
        for panel in circuit.parts().places.iter().filter(|at| at.kind == PlaceKind::Panel) {
            // Its metal is bonded to the bar of the grounds.
            if let Ok(bar) = circuit.terminal(&format!("{}.ground", panel.id)) {
                looks.case(&panel.id, bar);
            }
        }
        looks.metal = (0..circuit.outlets().count()).map(|outlet| looks.metal_of(outlet)).collect();
        looks.life = circuit.parts().places.iter().map(|p| looks.life_of(circuit, &p.id)).collect();
        looks
    }

    /// An instrument at every receptacle that it fits.
    pub(super) fn hold_everywhere(
        &mut self,
        circuit: &Circuit,
        number: usize,
        instrument: &Instrument,
    ) {
        for (outlet, (_, at)) in circuit.outlets().enumerate() {
            self.hold(number, instrument, (outlet, at));
        }
    }

    /// The channels of an instrument at a receptacle.
    pub(super) fn of(
        &self,
        instrument: usize,
        outlet: usize,
    ) -> impl Iterator<Item = (usize, &Channel)> {
        self.channels.iter().enumerate().filter(move |(_, channel)| {
            channel.instrument == Some(instrument) && channel.outlet == Some(outlet)
        })
    }

    /// The first channel that is this at this receptacle.
    pub(super) fn find(&self, outlet: usize, is: impl Fn(&Measure) -> bool) -> Option<usize> {
        self.channels
            .iter()
            .position(|channel| channel.outlet == Some(outlet) && is(&channel.measure))
    }

    /// The channel of a load.
    pub(super) fn share_of(&self, name: &str) -> Option<usize> {
        self.channels
            .iter()
            .position(|channel| matches!(&channel.measure, Measure::Share { load } if load == name))
    }

    /// Adds a request of its own, as between two terminals that are no receptacle's.
    pub(super) fn add(&mut self, instrument: usize, request: Request) -> Option<usize> {
        let measure = match &request.instrument {
            Instrument::Voltmeter(_) => Measure::Volt { between: Default::default() },
            Instrument::StepTester(tester) => {
                Measure::Step { between: Default::default(), steps: steps(tester) }
            }
            Instrument::NonContact(detector) => {
                Measure::Alarm { slot: String::new(), band: detector.threshold_volt }
            }
            Instrument::Clamp(_) => Measure::Ampere,
            Instrument::Ohmmeter(meter) => {
                Measure::Ohm { lead_ohm: meter.lead_ohm, off_ohm: off_ohm(&meter.display) }
            }
            Instrument::Insulation(tester) => {
                Measure::Ohm { lead_ohm: 0.0, off_ohm: off_ohm(&tester.display) }
            }
            _ => return None,
        };
        self.requests.push(request);
        self.channel(measure, None, Some(instrument));
        Some(self.channels.len() - 1)
    }

    /// The channel of a request of its own.
    pub(super) fn asked(&self, request: &Request) -> Option<usize> {
        let is = |channel: &Channel| self.requests.get(channel.request) == Some(request);
        self.channels.iter().position(is)
    }

    /// What the loads get, and nothing that anybody holds: to be added to.
    pub(super) fn loads_alone(&self) -> Self {
        let mut alone = Self::default();
        for channel in &self.channels {
            let of_load = matches!(channel.measure, Measure::Share { .. } | Measure::Case { .. });
            if let (true, Some(request)) = (of_load, self.requests.get(channel.request)) {
                let request_at = alone.requests.len();
                alone.requests.push(request.clone());
                alone.channels.push(Channel { request: request_at, ..channel.clone() });
            }
        }
        alone
    }

    /// Whether a channel is between two conductors that loads are between.
    pub(super) fn is_across_loads(&self, channel: &Channel) -> bool {
        let place = self.requests.get(channel.request).map(|request| &request.place);
        let Some(Place::Between { from, to }) = place else { return false };
        ![from, to].iter().any(|end| end.as_str().ends_with(".ground"))
    }

    /// Takes back what was added last.
    pub(super) fn take_back(&mut self) {
        self.channels.pop();
        self.requests.pop();
    }

    /// The numbers behind the readings, `NaN` for what is undetermined or shows nothing.
    pub(super) fn values(&self, readings: &[Reading]) -> Vec<f64> {
        self.channels.iter().map(|channel| channel.value(readings)).collect()
    }

    /// A lamp between hot and return.
    fn lamp(&mut self, outlet: usize, at: &Outlet, nominal_volt: f64) -> Option<usize> {
        let slot = |wanted: &str| {
            at.slots.iter().find(|(name, _)| name == wanted).map(|(_, terminal)| terminal)
        };
        let from = slot("hot").or_else(|| slot("hot2"))?;
        let to = slot("neutral").or_else(|| slot("hot2")).filter(|to| *to != from)?;
        let lamp = loading(nominal_volt * nominal_volt / LAMP_WATT);
        self.requests.push(Request::new(lamp, Place::between(from.clone(), to.clone())));
        self.channel(Measure::Lamp, Some(outlet), None);
        self.last(|channel| channel.per = nominal_volt);
        Some(self.channels.len() - 1)
    }

    fn reference(&mut self, outlet: usize, at: &Outlet) {
        let meter = loading(REFERENCE_OHM);
        for ((p, from), (q, to)) in pairs(&at.slots) {
            let place = Place::between(from.clone(), to.clone());
            self.requests.push(Request::new(meter.clone(), place));
            let between = (p.clone(), q.clone());
            self.channel(Measure::Volt { between }, Some(outlet), None);
        }
        for (slot, terminal) in &at.slots {
            self.requests.push(Request::new(non_contact_detector(), Place::near(terminal.clone())));
            self.channel(Measure::Potential { slot: slot.clone() }, Some(outlet), None);
        }
    }

    fn hold(&mut self, number: usize, instrument: &Instrument, (outlet, at): (usize, &Outlet)) {
        let here = (Some(outlet), Some(number));
        match instrument {
            Instrument::PlugTester(tester) => {
                if !tester.goes_into(at) {
                    return;
                }
                self.requests.push(Request::new(instrument.clone(), place_of_outlet(at, false)));
                for (part, spanned) in tester.indicators.iter().enumerate() {
                    let measure = Measure::Indicator {
                        between: spanned.between.clone(),
                        dim: spanned.indicator.dim_from,
                        lit: spanned.indicator.lit_from,
                    };
                    self.channel(measure, here.0, here.1);
                    self.last(|channel| channel.part = part);
                }
            }
            Instrument::Voltmeter(_) | Instrument::StepTester(_) => {
                for ((p, from), (q, to)) in pairs(&at.slots) {
                    let place = Place::between(from.clone(), to.clone());
                    self.requests.push(Request::new(instrument.clone(), place));
                    let between = (p.clone(), q.clone());
                    let measure = match instrument {
                        Instrument::StepTester(t) => Measure::Step { between, steps: steps(t) },
                        _ => Measure::Volt { between },
                    };
                    self.channel(measure, here.0, here.1);
                }
            }
            Instrument::NonContact(detector) => {
                for (slot, terminal) in &at.slots {
                    let place = Place::near(terminal.clone());
                    self.requests.push(Request::new(instrument.clone(), place));
                    let band = detector.threshold_volt;
                    self.channel(Measure::Alarm { slot: slot.clone(), band }, here.0, here.1);
                }
            }
            Instrument::LoadedTest(_) => {
                let has = |wanted: &[&str]| at.slots.iter().any(|(n, _)| wanted.contains(&&**n));
                if !has(&["hot"]) || !has(&["neutral", "hot2"]) {
                    return;
                }
                self.requests.push(Request::new(instrument.clone(), place_of_outlet(at, false)));
                self.channel(Measure::Lost, here.0, here.1);
                for conductor in ["hot", "neutral"] {
                    self.channel(Measure::LostAlong { conductor }, here.0, here.1);
                }
            }
            _ => {}
        }
    }

    fn load(&mut self, load: &Load) {
        let (from, to) = load.between.clone();
        self.requests.push(Request::new(voltmeter_ideal(), Place::Between { from, to }));
        self.channel(Measure::Share { load: load.id.clone() }, None, None);
        if let Some(frame) = &load.frame {
            self.case(&load.id, frame);
        }
    }

    fn case(&mut self, of: &str, metal: &Address) {
        self.requests.push(Request::new(non_contact_detector(), Place::near(metal.clone())));
        self.channel(Measure::Case { of: of.to_owned() }, None, None);
    }

    /// Says what a load gets when nothing is wrong, by a row of a sound circuit in which it is
    /// on: the rest is a share of it.
    pub(super) fn usual(&mut self, sound: &[f64], nominal_volt: f64) {
        for (channel, volt) in self.channels.iter_mut().zip(sound) {
            if matches!(channel.measure, Measure::Share { .. } | Measure::Lamp) {
                let volt = volt * channel.per;
                let works = volt.is_finite() && volt > 0.5 * nominal_volt;
                channel.per = if works { volt } else { nominal_volt };
            }
        }
    }

    fn channel(&mut self, measure: Measure, outlet: Option<usize>, instrument: Option<usize>) {
        let leaned_on = match (&measure, outlet) {
            (Measure::Volt { between } | Measure::Step { between, .. }, Some(outlet)) => {
                self.references_of(outlet, |pair| same(pair, between))
            }
            (Measure::Alarm { slot, .. }, Some(outlet)) => {
                self.references_of(outlet, |(p, q)| p == slot || q == slot)
            }
            _ => Vec::new(),
        };
        let request = self.requests.len().saturating_sub(1);
        let per = 1.0;
        self.channels.push(Channel {
            measure,
            outlet,
            instrument,
            leaned_on,
            request,
            part: 0,
            per,
        });
    }

    fn references_of(&self, outlet: usize, is: impl Fn(&(String, String)) -> bool) -> Vec<usize> {
        let of = |channel: &Channel| {
            channel.instrument.is_none()
                && channel.outlet == Some(outlet)
                && matches!(&channel.measure, Measure::Volt { between } if is(between))
        };
        let all = self.channels.iter().enumerate();
        all.filter(|(_, channel)| of(channel)).map(|(at, _)| at).collect()
    }

    fn last(&mut self, change: impl FnOnce(&mut Channel)) {
        if let Some(channel) = self.channels.last_mut() {
            change(channel);
        }
    }
}

impl Channel {
    /// Volts by which what is there gives way to an indicator's worth of load: nothing where a
    /// conductor is held, most of it where one floats.
    pub(super) fn gives_way(&self, value: f64, row: &Row) -> f64 {
        let leaned = self.leaned_on.iter().map(|&at| row.value(at)).filter(|volt| !volt.is_nan());
        let Some(held) = leaned.reduce(f64::max) else { return 0.0 };
        match &self.measure {
            // One slot is held if it stands against any other.
            Measure::Alarm { .. } => (value - held).max(0.0),
            _ => (value - held).abs(),
        }
    }

    fn value(&self, readings: &[Reading]) -> f64 {
        let Some(reading) = readings.get(self.request) else { return f64::NAN };
        let magnitude = |volt: Option<crate::quantity::Phasor>| {
            volt.map_or(f64::NAN, crate::quantity::Phasor::magnitude)
        };
        let value = match (&reading.shown, &self.measure) {
            (Shown::PlugTester(shown), _) => {
                shown.indicators.get(self.part).map_or(f64::NAN, |indicator| {
                    match indicator.voltage_volt {
                        Some(_) => indicator.deciding_value,
                        None => f64::NAN,
                    }
                })
            }
            (Shown::Voltmeter(shown), _) => magnitude(shown.voltage_volt),
            (Shown::StepTester(shown), _) => magnitude(shown.voltage_volt),
            (Shown::NonContact(shown), _) => magnitude(shown.potential_volt),
            (Shown::LoadedTest(shown), Measure::Lost) => shown.drop_volt.unwrap_or(f64::NAN),
            (Shown::LoadedTest(shown), Measure::LostAlong { conductor }) => {
                let ohm = match *conductor {
                    "hot" => shown.hot_share_ohm,
                    _ => shown.neutral_share_ohm,
                };
                let ampere = shown.test_current_ampere.magnitude();
                if ampere > NO_AMPERE { magnitude(ohm) * ampere } else { 0.0 }
            }
            (Shown::Clamp(shown), _) => shown.current_ampere.magnitude(),
            (Shown::Ohmmeter(shown), Measure::Ohm { lead_ohm, .. }) => {
                shown.resistance_ohm.unwrap_or(OPEN_OHM) + lead_ohm
            }
            (Shown::Insulation(shown), _) => shown.resistance_ohm.unwrap_or(OPEN_OHM),
            _ => f64::NAN,
        };
        value / self.per
    }
}

/// The receptacles of one place: a box or device by name, or a receptacle.
pub(super) fn outlets_at(circuit: &Circuit, name: &str) -> Vec<usize> {
    let within = |address: &str| {
        address.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    };
    let found = circuit
        .outlets()
        .enumerate()
        .filter(|(_, (place, outlet))| place.id == name || within(outlet.address.as_str()));
    found.map(|(outlet, _)| outlet).collect()
}

/// What loads two conductors so, seen as a meter.
fn loading(resistance_ohm: f64) -> Instrument {
    Instrument::Voltmeter(Voltmeter {
        name: "reference".to_owned(),
        burden: Burden::Parallel { resistance_ohm, capacitance_farad: 0.0 },
        rise: None,
        display: Display::volts_6000_counts(),
    })
}

/// Of what a display may be off at most, so much is a standard deviation.
const LIMIT_IN_DEVIATIONS: f64 = 0.6;

/// What the tips of two probes are off from one reading to the next, ohms: judgement.
const TIPS_OHM: f64 = 0.03;

/// What an ohmmeter is off in its lowest range, a standard deviation.
fn off_ohm(display: &Display) -> f64 {
    let digit = display.ranges.first().map_or(0.0, |range| range.resolution);
    TIPS_OHM.hypot(LIMIT_IN_DEVIATIONS * display.tolerance.counts * digit)
}

/// A meter between every two slots of a receptacle.
pub(super) fn between_slots(outlet: &Outlet, meter: &Instrument) -> Vec<Request> {
    let held = |from: &Address, to: &Address| {
        Request::new(meter.clone(), Place::between(from.clone(), to.clone()))
    };
    pairs(&outlet.slots).map(|((_, from), (_, to))| held(from, to)).collect()
}

/// Whether two pairs of slots are one.
pub(super) fn same(one: &(String, String), other: &(String, String)) -> bool {
    one == other || (one.0 == other.1 && one.1 == other.0)
}

fn steps(tester: &crate::instrument::StepTester) -> Vec<(String, Band)> {
    tester.steps.iter().map(|step| (step.label.clone(), step.from_volt)).collect()
}

fn pairs<T>(list: &[T]) -> impl Iterator<Item = (&T, &T)> {
    list.iter()
        .enumerate()
        .flat_map(move |(at, first)| list.iter().skip(at + 1).map(move |second| (first, second)))
}
