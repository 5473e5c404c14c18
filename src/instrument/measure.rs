//! Many instruments at many places in one condition.

use std::borrow::Cow;
use std::collections::HashMap;

use super::bench::{Attached, Bench, Lean, Port};
use super::clamp::through_jaw;
use super::place::{Place, Slot};
use super::plug_tester::contacts;
use super::problem::MeasureProblem;
use super::residual::Poles;
use super::{Instrument, Misfit, Reading, Request, Shown};
use crate::circuit::{Circuit, Configuration, Outlet, UnknownName};
use crate::condition::Condition;
use crate::netlist::{Law, Netlist, NodeId, wire};
use crate::quantity::Address;
use crate::solution::Solution;

mod held;

pub(crate) use held::{holds_button, loads, with_button_held, with_load_held};

/// What each instrument shows on a circuit in a condition, in the order asked. The network is
/// solved once and reduced once to the terminals that are touched; each request is then a small
/// system of its own, so that readings do not influence each other unless
/// [`together`](Request::together) says so.
///
/// Everything is as in the moment before anything trips. What is shown once protection has done its
/// part is measured in the condition that [`operate`](crate::protection::operate) leaves, its
/// `remaining`.
///
/// # Errors
///
/// [`MeasureProblem`]: condition or place names something the circuit does not have, an
/// instrument's figures are impossible, or the network has no answer. An instrument that does
/// not fit a receptacle is no error but the reading [`Shown::DoesNotFit`].
pub fn measure(
    circuit: &Circuit,
    condition: &Condition,
    requests: &[Request],
) -> Result<Vec<Reading>, MeasureProblem> {
    let netlist = wire(circuit, condition)?;
    read_all(&netlist, Some(circuit), requests)
}

/// The same on a netlist written by hand, where a place names terminals and not receptacles.
///
/// # Errors
///
/// As [`measure`].
pub fn measure_netlist(
    netlist: &Netlist,
    requests: &[Request],
) -> Result<Vec<Reading>, MeasureProblem> {
    read_all(netlist, None, requests)
}

/// The slots of an outlet as a place, the usual way round or turned (hot and neutral of the
/// plug exchanged).
pub fn place_of_outlet(outlet: &Outlet, turned: bool) -> Place {
    Place::Slots { slots: slots_of(outlet, turned) }
}

fn slots_of(outlet: &Outlet, turned: bool) -> Vec<Slot> {
    let exchanged = |name: &str| match name {
        "hot" if turned => "neutral".to_owned(),
        "neutral" if turned => "hot".to_owned(),
        name => name.to_owned(),
    };
    let slot = |(name, terminal): &(String, Address)| Slot {
        name: exchanged(name),
        terminal: terminal.clone(),
    };
    outlet.slots.iter().map(slot).collect()
}

pub(super) fn read_all(
    netlist: &Netlist,
    circuit: Option<&Circuit>,
    requests: &[Request],
) -> Result<Vec<Reading>, MeasureProblem> {
    let mut bench = Bench::new(netlist);
    let rigs = Rigs::new(&bench, circuit, requests)?;
    for rig in &rigs.0 {
        let expected = rig.expected(&bench)?;
        bench.expect(expected);
    }
    rigs.read(&bench)
}

/// What instruments see of a network.
#[derive(Default)]
pub(super) struct Touched {
    /// Pairs of terminals that something is put between.
    pub(super) pairs: Vec<(NodeId, NodeId)>,
    /// Nodes whose potential is looked at.
    pub(super) nodes: Vec<NodeId>,
}

/// Requests with their places found.
pub(super) struct Rigs<'r>(Vec<Rig<'r>>);

impl<'r> Rigs<'r> {
    pub(super) fn new(
        bench: &Bench<'_>,
        circuit: Option<&Circuit>,
        requests: impl IntoIterator<Item = &'r Request>,
    ) -> Result<Self, MeasureProblem> {
        let outlets = Outlets::of(circuit);
        let rigs = requests.into_iter().map(|request| Rig::new(bench, &outlets, request));
        Ok(Self(rigs.collect::<Result<_, _>>()?))
    }

    pub(super) fn read(&self, bench: &Bench<'_>) -> Result<Vec<Reading>, MeasureProblem> {
        let mut readings = Vec::with_capacity(self.0.len());
        for rig in &self.0 {
            readings.push(Reading {
                instrument: rig.request.instrument.name().to_owned(),
                place: rig.request.place.clone(),
                shown: self.shown(rig, bench)?,
            });
        }
        Ok(readings)
    }

    /// What each shows, one after the other.
    pub(super) fn show(&self, bench: &Bench<'_>) -> Result<Vec<Shown>, MeasureProblem> {
        self.0.iter().map(|rig| self.shown(rig, bench)).collect()
    }

    fn shown(&self, rig: &Rig<'_>, bench: &Bench<'_>) -> Result<Shown, MeasureProblem> {
        match rig.request.together {
            None => rig.shown(bench, &[rig]),
            together => {
                let group: Vec<&Rig<'_>> =
                    self.0.iter().filter(|other| other.request.together == together).collect();
                rig.shown(bench, &group)
            }
        }
    }

    /// The pairs of terminals that the instruments are put between and the nodes whose potential
    /// they look at; `None` where one of them looks at more than that.
    pub(super) fn seen(&self, bench: &Bench<'_>) -> Result<Option<Touched>, MeasureProblem> {
        let Touched { mut pairs, mut nodes } = Touched::default();
        for rig in &self.0 {
            match (&rig.request.instrument, &rig.request.place) {
                _ if rig.request.together.is_some() => return Ok(None),
                (Instrument::NonContact(_), Place::Near { terminal, behind }) => {
                    nodes.push(bench.node(behind.as_ref().unwrap_or(terminal))?);
                }
                (
                    Instrument::PlugTester(_)
                    | Instrument::Voltmeter(_)
                    | Instrument::StepTester(_)
                    | Instrument::LoadedTest(_)
                    | Instrument::Person(_),
                    _,
                ) => {
                    let ports = rig.expected(bench)?.into_iter();
                    pairs.extend(ports.map(|port| (port.from, port.to)));
                }
                _ => return Ok(None),
            }
        }
        Ok(Some(Touched { pairs, nodes }))
    }
}

/// One request with its place found.
struct Rig<'r> {
    request: &'r Request,
    spot: Spot<'r>,
}

/// A place with its nodes found.
enum Spot<'r> {
    Slots(Cow<'r, [Slot]>),
    Between(NodeId, NodeId),
    Cable(Vec<(NodeId, f64)>),
    /// Nothing to be attached, or found by the instrument itself.
    Other,
    Misfit(Misfit),
}

impl<'r> Rig<'r> {
    fn new(
        bench: &Bench<'_>,
        outlets: &Outlets<'_>,
        request: &'r Request,
    ) -> Result<Self, MeasureProblem> {
        let instrument = &request.instrument;
        if let Some(bad) = instrument.bad_figures().first() {
            let (instrument, what) = (instrument.name().to_owned(), bad.to_string());
            return Err(MeasureProblem::BadInstrument { instrument, what });
        }
        let spot = match &request.place {
            Place::Receptacle { address, turned } => {
                at_receptacle(outlets, instrument, address, *turned)?
            }
            Place::Slots { slots } => Spot::Slots(Cow::Borrowed(slots.as_slice())),
            Place::Between { from, to } => Spot::Between(bench.node(from)?, bench.node(to)?),
            Place::Cable { near } => Spot::Cable(
                near.iter()
                    .map(|coupled| Ok((bench.node(&coupled.terminal)?, coupled.capacitance_farad)))
                    .collect::<Result<_, MeasureProblem>>()?,
            ),
            Place::Near { .. } | Place::Around { .. } | Place::Device { .. } => Spot::Other,
        };
        let rig = Self { request, spot: fitted(bench, instrument, spot)? };
        let alone = !rig.only_looks() && rig.ports(bench, Lean::Willing)?.is_none();
        if request.together.is_some() && alone {
            return Err(rig.not_there("cannot be attached together with others"));
        }
        Ok(rig)
    }

    /// The inputs, for instruments that are simply attached and read.
    fn ports(&self, bench: &Bench<'_>, lean: Lean) -> Result<Option<Vec<Port>>, MeasureProblem> {
        let frequency_hz = bench.netlist().frequency_hz();
        Ok(match (&self.request.instrument, &self.spot) {
            (_, Spot::Misfit(_)) => Some(Vec::new()),
            (Instrument::PlugTester(tester), Spot::Slots(slots)) => {
                Some(tester.ports(&contacts(bench, slots)?, lean))
            }
            (Instrument::Voltmeter(meter), &Spot::Between(from, to)) => Some(meter.ports(from, to)),
            (Instrument::StepTester(tester), &Spot::Between(from, to)) => {
                Some(tester.ports(from, to, frequency_hz))
            }
            (Instrument::NonContact(detector), Spot::Cable(near)) => {
                Some(detector.over_cable(near))
            }
            _ => None,
        })
    }

    /// Between what terminals it will attach something.
    fn expected(&self, bench: &Bench<'_>) -> Result<Vec<Port>, MeasureProblem> {
        Ok(match (&self.request.instrument, &self.spot) {
            (Instrument::LoadedTest(test), Spot::Slots(_)) => {
                let (hot, back, reference) = self.loaded_slots(bench)?;
                test.looks((hot, back), reference)
            }
            (Instrument::Person(_), &Spot::Between(from, to)) => {
                vec![Port { from, to, law: Law::Open }]
            }
            _ => self.ports(bench, Lean::Willing)?.unwrap_or_default(),
        })
    }

    /// Whether it touches nothing and only looks at the network.
    fn only_looks(&self) -> bool {
        matches!(
            (&self.request.instrument, &self.request.place),
            (Instrument::NonContact(_), Place::Near { .. })
                | (Instrument::Clamp(_), Place::Around { .. })
                | (Instrument::Residual(_), Place::Around { .. } | Place::Device { .. })
        )
    }

    fn remembers(&self) -> bool {
        matches!(&self.request.instrument, Instrument::PlugTester(tester) if tester.remembers())
    }

    fn is_uncertain(&self) -> bool {
        matches!(&self.request.instrument, Instrument::PlugTester(tester) if tester.is_uncertain())
    }

    fn shown(&self, bench: &Bench<'_>, group: &[&Rig<'_>]) -> Result<Shown, MeasureProblem> {
        if let Spot::Misfit(misfit) = &self.spot {
            return Ok(Shown::DoesNotFit(misfit.clone()));
        }
        if self.only_looks() {
            let mut ports = Vec::new();
            for rig in group {
                ports.extend(rig.ports(bench, Lean::Reluctant)?.unwrap_or_default());
            }
            return match ports.is_empty() {
                true => self.looked(bench, None),
                false => self.looked(bench, Some(&bench.solve_with(&ports)?.0)),
            };
        }
        match self.ports(bench, Lean::Reluctant)? {
            Some(own) => self.shown_attached(bench, group, own.len()),
            None => self.shown_alone(bench),
        }
    }

    /// What an instrument that touches nothing shows, of a solution with others attached or of
    /// the network by itself.
    fn looked(
        &self,
        bench: &Bench<'_>,
        others: Option<&Solution>,
    ) -> Result<Shown, MeasureProblem> {
        let solution = || match others {
            Some(solution) => Ok(solution),
            None => bench.live(),
        };
        Ok(match (&self.request.instrument, &self.request.place) {
            (Instrument::NonContact(detector), Place::Near { terminal, behind }) => {
                let seen = bench.node(behind.as_ref().unwrap_or(terminal))?;
                bench.node(terminal)?;
                let potential = match others {
                    Some(solution) => solution.potential(seen),
                    None => bench.potential(seen)?,
                };
                Shown::NonContact(detector.near(potential, behind.as_ref()))
            }
            (Instrument::Clamp(clamp), Place::Around { conductors }) => {
                Shown::Clamp(clamp.around(through_jaw(bench, solution()?, conductors)?))
            }
            (Instrument::Residual(sensor), Place::Around { conductors }) => {
                Shown::Residual(sensor.read(through_jaw(bench, solution()?, conductors)?))
            }
            (Instrument::Residual(sensor), Place::Device { device }) => {
                Shown::Residual(sensor.read(Poles::find(bench, device)?.residual(solution()?)))
            }
            _ => return Err(self.not_used_there()),
        })
    }

    /// Attaches the whole group and reads this one of it.
    fn shown_attached(
        &self,
        bench: &Bench<'_>,
        group: &[&Rig<'_>],
        n_own: usize,
    ) -> Result<Shown, MeasureProblem> {
        let mut first = 0;
        let (mut reluctant, mut willing) = (Vec::new(), Vec::new());
        for rig in group {
            if std::ptr::eq(*rig, self) {
                first = reluctant.len();
            }
            reluctant.extend(rig.ports(bench, Lean::Reluctant)?.unwrap_or_default());
            willing.extend(rig.ports(bench, Lean::Willing)?.unwrap_or_default());
        }
        let attach = |ports: &[Port]| match group.iter().any(|rig| rig.remembers()) {
            true => bench.attach(ports),
            false => bench.attach_reached(ports),
        };
        let attached = attach(&reluctant)?;
        let other = match group.iter().any(|rig| rig.is_uncertain()) {
            true => Some(attach(&willing)?),
            false => None,
        };
        self.read(bench, &attached, other.as_ref().unwrap_or(&attached), first, n_own)
    }

    fn read(
        &self,
        bench: &Bench<'_>,
        attached: &Attached,
        willing: &Attached,
        first: usize,
        n_own: usize,
    ) -> Result<Shown, MeasureProblem> {
        Ok(match (&self.request.instrument, &self.spot) {
            (Instrument::PlugTester(tester), _) => {
                Shown::PlugTester(tester.read(attached, willing, first))
            }
            (Instrument::Voltmeter(meter), &Spot::Between(from, to)) => {
                let mut reading = meter.read(attached, first, n_own);
                reading.settled = meter.settle(bench, (from, to), &reading)?;
                Shown::Voltmeter(reading)
            }
            (Instrument::StepTester(tester), _) => Shown::StepTester(tester.read(attached, first)),
            (Instrument::NonContact(detector), Spot::Cable(near)) => {
                Shown::NonContact(detector.read_over_cable(near, attached, first))
            }
            _ => return Err(self.not_there("cannot be read there")),
        })
    }

    /// Instruments with a procedure of their own.
    fn shown_alone(&self, bench: &Bench<'_>) -> Result<Shown, MeasureProblem> {
        let preparation = &self.request.preparation;
        Ok(match (&self.request.instrument, &self.spot, &self.request.place) {
            (Instrument::TestButton(button), _, Place::Device { device }) => {
                Shown::Residual(button.press(bench, device)?)
            }
            (Instrument::Ohmmeter(meter), &Spot::Between(from, to), _) => {
                Shown::Ohmmeter(meter.read(bench, (from, to), preparation)?)
            }
            (Instrument::Insulation(tester), &Spot::Between(from, to), _) => {
                Shown::Insulation(tester.read(bench, (from, to), preparation)?)
            }
            (Instrument::Person(person), &Spot::Between(from, to), _) => {
                Shown::Person(person.touch(bench, from, to)?)
            }
            (Instrument::LoadedTest(test), Spot::Slots(_), _) => {
                let (hot, back, reference) = self.loaded_slots(bench)?;
                Shown::LoadedTest(test.read(bench, (hot, back), reference)?)
            }
            _ => return Err(self.not_used_there()),
        })
    }

    /// Hot, return and reference of a loaded test.
    fn loaded_slots(
        &self,
        bench: &Bench<'_>,
    ) -> Result<(NodeId, NodeId, Option<NodeId>), MeasureProblem> {
        let Spot::Slots(slots) = &self.spot else { return Err(self.not_used_there()) };
        let contacts = contacts(bench, slots)?;
        let node = |name| contacts.iter().find(|c| c.name == name).map(|c| c.node);
        match (node("hot"), node("neutral").or_else(|| node("hot2"))) {
            (Some(hot), Some(back)) => Ok((hot, back, node("ground"))),
            _ => Err(self.not_there("needs a hot and a return slot")),
        }
    }

    fn not_used_there(&self) -> MeasureProblem {
        self.not_there(&format!("is not used at {}", self.request.place.in_words()))
    }

    fn not_there(&self, what: &str) -> MeasureProblem {
        MeasureProblem::NotThere {
            instrument: self.request.instrument.name().to_owned(),
            what: what.to_owned(),
        }
    }
}

/// The receptacles of a circuit, in walking order and by address; of one address the first.
struct Outlets<'c> {
    all: Vec<&'c Outlet>,
    by_address: HashMap<&'c Address, &'c Outlet>,
}

impl<'c> Outlets<'c> {
    fn of(circuit: Option<&'c Circuit>) -> Self {
        let all: Vec<&Outlet> =
            circuit.into_iter().flat_map(Circuit::outlets).map(|(_, outlet)| outlet).collect();
        let by_address = all.iter().rev().map(|&outlet| (&outlet.address, outlet)).collect();
        Self { all, by_address }
    }
}

/// Slots of a receptacle, or why the instrument does not go in.
fn at_receptacle<'r>(
    outlets: &Outlets<'_>,
    instrument: &Instrument,
    address: &Address,
    turned: bool,
) -> Result<Spot<'r>, MeasureProblem> {
    let Some(&outlet) = outlets.by_address.get(address) else {
        let known = outlets.all.iter().map(|outlet| outlet.address.as_str());
        let unknown = UnknownName::among(address.as_str(), "a receptacle", known);
        return Err(MeasureProblem::Unknown(unknown));
    };
    let slots = slots_of(outlet, turned);
    let misfit = |why: String| {
        Ok(Spot::Misfit(Misfit { configuration: Some(outlet.configuration.clone()), why }))
    };
    let polarised = Configuration::named(&outlet.configuration).is_some_and(|c| c.polarised);
    if turned && polarised && matches!(instrument, Instrument::PlugTester(_)) {
        return misfit("a plug goes into it one way round only".to_owned());
    }
    if let Instrument::PlugTester(tester) = instrument
        && let Some(why) = tester.misfit(&outlet.configuration, &slots)
    {
        return misfit(why);
    }
    Ok(Spot::Slots(Cow::Owned(slots)))
}

/// Two-probe instruments go into the first two slots; a plug needs all of its own.
fn fitted<'r>(
    bench: &Bench<'_>,
    instrument: &Instrument,
    spot: Spot<'r>,
) -> Result<Spot<'r>, MeasureProblem> {
    let Spot::Slots(slots) = spot else { return Ok(spot) };
    let misfit = |why| Ok(Spot::Misfit(Misfit { configuration: None, why }));
    match (instrument, slots.as_ref()) {
        (Instrument::PlugTester(tester), _) => match tester.misfit("", &slots) {
            Some(why) => misfit(why),
            None => Ok(Spot::Slots(slots)),
        },
        (Instrument::LoadedTest(_), _) => Ok(Spot::Slots(slots)),
        (_, [first, second, ..]) => {
            Ok(Spot::Between(bench.node(&first.terminal)?, bench.node(&second.terminal)?))
        }
        _ => misfit("two probes need two slots".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instrument::presets;

    #[test]
    fn what_does_not_fit_stays_out_of_what_is_attached_together() {
        let text = include_str!("../../circuits/pottery-studio.ron");
        let circuit = crate::circuit::file::read(text).unwrap().circuit;
        let at_kiln = |instrument| Request {
            together: Some(1),
            ..Request::new(instrument, Place::receptacle("kiln"))
        };
        let requests =
            [at_kiln(presets::plug_tester_two_leg()), at_kiln(presets::voltmeter_low_impedance())];
        let readings = measure(&circuit, &Condition::default(), &requests).unwrap();
        assert!(matches!(readings[0].shown, Shown::DoesNotFit(_)));
        let mut alone = requests[1].clone();
        alone.together = None;
        let expected = measure(&circuit, &Condition::default(), &[alone]).unwrap();
        assert_eq!(readings[1].shown, expected[0].shown);
    }

    #[test]
    fn what_measures_by_itself_is_not_attached_together_with_others() {
        let text = include_str!("../../circuits/pottery-studio.ron");
        let circuit = crate::circuit::file::read(text).unwrap().circuit;
        let request = Request {
            together: Some(1),
            ..Request::new(presets::ohmmeter(), Place::receptacle("kiln"))
        };
        let said = measure(&circuit, &Condition::default(), &[request]).unwrap_err().to_string();
        assert!(said.contains("cannot be attached together with others"), "{said}");
    }
}
