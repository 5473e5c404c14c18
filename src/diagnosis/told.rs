//! Observations put to a model: which setting they were made in and which channels they are of.

use super::evidence::Fact;
use super::look::{Measure, between_slots};
use super::model::{Model, Set};
use super::parting::Feeding;
use super::symptom::number;
use super::{Complaint, Mended, Moment, Observation, Parting, Seen, Showed};
use crate::circuit::{Circuit, Outlet, UnknownName};
use crate::condition::words::known::Known;
use crate::condition::{Condition, LoadState, SwitchPosition};
use crate::instrument::{Instrument, MeasureProblem, Place, Request, measure};
use crate::quantity::Address;

/// Why something told cannot be used.
///
/// ```
/// use slotwise::diagnosis::ToldProblem;
/// let problem = ToldProblem::Impossible { what: "a clamp shows no volts".into() };
/// assert_eq!(problem.to_string(), "a clamp shows no volts");
/// ```
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ToldProblem {
    /// There is nothing of that name.
    #[error("{0}")]
    Unknown(UnknownName),
    /// It is nothing that could be seen there.
    #[error("{what}")]
    Impossible {
        /// Why not.
        what: String,
    },
    /// The circuit as described has no answer in that state.
    #[error("the circuit as described cannot be solved in that state")]
    Unsolvable,
}

fn impossible<T>(what: impl Into<String>) -> Result<T, ToldProblem> {
    Err(ToldProblem::Impossible { what: what.into() })
}

/// The settings of a moment: one, or several where it is not known how things stood.
pub(super) fn settings_of(
    model: &mut Model<'_>,
    moment: &Moment,
) -> Result<Vec<usize>, ToldProblem> {
    moment.condition.loads.keys().try_for_each(|name| check_load(model.circuit, name))?;
    let mut ways = vec![moment.condition.clone()];
    let unknown_loads: Vec<&String> =
        moment.unknown.iter().filter(|name| model.circuit.load(name).is_some()).collect();
    if !unknown_loads.is_empty() {
        let with = |state: LoadState| {
            let mut condition = moment.condition.clone();
            condition.loads.extend(unknown_loads.iter().map(|&name| (name.clone(), state)));
            condition
        };
        ways.extend([with(LoadState::On), with(LoadState::Off)]);
    }
    for name in &moment.unknown {
        if model.circuit.load(name).is_some() {
            continue;
        }
        let more: Vec<Condition> = ways
            .iter()
            .filter_map(|way| {
                let mut way = way.clone();
                if let Some(device) = model.circuit.device(name) {
                    use crate::circuit::DeviceKind::{Protective, Switch};
                    match device.kind {
                        Switch { closed, .. } => {
                            let other =
                                if closed { SwitchPosition::Open } else { SwitchPosition::Closed };
                            way.switches.insert(name.clone(), other);
                        }
                        Protective { closed, .. } => {
                            way.breakers.insert(name.clone(), !closed);
                        }
                        _ => return None,
                    }
                } else {
                    model.circuit.branch_circuit(name)?;
                    way.breakers.insert(name.clone(), false);
                }
                Some(way)
            })
            .collect();
        ways.extend(more);
        ways.truncate(MOST_WAYS);
    }
    let mut settings: Vec<usize> = Vec::new();
    for way in ways {
        let setting = model.setting(way);
        if model.row(Set::SOUND, setting).is_none() {
            return Err(ToldProblem::Unsolvable);
        }
        if !settings.contains(&setting) {
            settings.push(setting);
        }
    }
    Ok(settings)
}

/// What is measured dead is looked at, if that is where something was seen: beyond a parting, or
/// between the slots of every receptacle.
pub(super) fn look_where_dead(model: &mut Model<'_>, observation: &Observation) {
    let Seen::Instrument { request, .. } = &observation.seen else { return };
    let Place::Between { from, to } = &request.place else { return };
    let meter = &request.instrument;
    let plain = Request::new(meter.clone(), request.place.clone());
    let sound = meter.bad_figures().is_empty();
    if !matches!(meter, Instrument::Ohmmeter(_)) || **request != plain || !sound {
        return;
    }
    let (circuit, stands) = (model.circuit, &observation.moment.condition);
    if let Some((parting, _)) = Parting::of_ends(circuit, (from, to)) {
        if parting.is_in(circuit, stands) {
            let looks = parting.looks(circuit, meter);
            model.look_further(meter, looks, |known| parting.is_in(circuit, known));
        }
        return;
    }
    let outlets = circuit.outlets();
    let all: Vec<Request> = outlets.flat_map(|(_, outlet)| between_slots(outlet, meter)).collect();
    if all.contains(request) && stands.breakers.values().any(|closed| !closed) {
        model.look_further(meter, all, |known| known.breakers.values().any(|closed| !closed));
    }
}

/// Ways in which things may have stood that are followed.
const MOST_WAYS: usize = 6;

/// The facts of an observation; none where it says nothing.
pub(super) fn facts_of(
    model: &mut Model<'_>,
    observation: &Observation,
) -> Result<Vec<Fact>, ToldProblem> {
    match &observation.seen {
        Seen::Instrument { request, showed } => {
            check_dead(model.circuit, request, &observation.moment)?;
            if let Some(figure) = showed.iter().filter_map(Showed::amount).find(|one| !one.can_be())
            {
                return impossible(format!(
                    "no instrument shows {figure:?}: a size is a finite number from zero on, and of \
                     two bounds the lower comes first"
                ));
            }
            let channels = channels_of(model, request)?;
            let telling = showed.iter().filter(|showed| !showed.says_nothing());
            let fact = |showed: &Showed| {
                Fact::of(&model.predictor.looks, &channels, showed).map_or_else(
                    || {
                        let name = request.instrument.name();
                        impossible(format!("a {name} there cannot show that: {showed:?}"))
                    },
                    Ok,
                )
            };
            let shows: Vec<&Showed> =
                telling.clone().filter(|showed| !matches!(showed, Showed::Tripped(_))).collect();
            if shows.is_empty() && telling.count() > 0 {
                return impossible(
                    "what a button makes trip does not tell faults apart here: say what the slots \
                     show once the device has tripped, `with DEVICE off`",
                );
            }
            shows.into_iter().map(fact).collect()
        }
        Seen::Load { load, seen } => {
            let known = model.circuit.load(load).zip(model.predictor.looks.share_of(load));
            let Some((known, channel)) = known else {
                let known = model.circuit.parts().loads.iter().map(|load| load.id.as_str());
                return Err(ToldProblem::Unknown(UnknownName::among(load, "a load", known)));
            };
            Ok(vec![Fact::Load { channel, seen: *seen, kind: known.kind }])
        }
        Seen::Protection { name, did } => {
            check_protection(model, name)?;
            Ok(vec![Fact::Protection { name: name.clone(), did: *did }])
        }
        Seen::Opened { .. }
        | Seen::Mended(_)
        | Seen::TriedElsewhere { .. }
        | Seen::CalledAgain(_) => Ok(Vec::new()),
    }
}

/// Whether there is a place of that name.
pub(super) fn check_place(circuit: &Circuit, name: &str) -> Result<(), ToldProblem> {
    if number(circuit, name).is_some() {
        return Ok(());
    }
    let known = circuit.parts().places.iter().map(|place| place.id.as_str());
    Err(ToldProblem::Unknown(UnknownName::among(name, "a place", known)))
}

/// Whether there is a load of that name.
pub(super) fn check_load(circuit: &Circuit, name: &str) -> Result<(), ToldProblem> {
    if circuit.load(name).is_some() {
        return Ok(());
    }
    let known = circuit.parts().loads.iter().map(|load| load.id.as_str());
    Err(ToldProblem::Unknown(UnknownName::among(name, "a load", known)))
}

/// Whether there is a cable of that name.
fn check_cable(circuit: &Circuit, name: &str) -> Result<(), ToldProblem> {
    let cables = &circuit.parts().cables;
    if cables.iter().any(|cable| cable.id == name) {
        return Ok(());
    }
    let known = cables.iter().map(|cable| cable.id.as_str());
    Err(ToldProblem::Unknown(UnknownName::among(name, "a cable", known)))
}

/// Whether what was put right is there.
pub(super) fn check_mended(circuit: &Circuit, what: &Mended) -> Result<(), ToldProblem> {
    match what {
        Mended::Box { place } => check_place(circuit, place),
        Mended::Load { load } => check_load(circuit, load),
        Mended::Cable { cable } => check_cable(circuit, cable),
        Mended::Supply => Ok(()),
    }
}

/// Whoever measures ohms between the slots of a receptacle has it dead: else it is no reading.
fn check_dead(circuit: &Circuit, request: &Request, moment: &Moment) -> Result<(), ToldProblem> {
    let Place::Between { from, to } = &request.place else { return Ok(()) };
    if !matches!(request.instrument, Instrument::Ohmmeter(_) | Instrument::Insulation(_)) {
        return Ok(());
    }
    let held = circuit.outlets().find(|(_, outlet)| has(outlet, from) && has(outlet, to));
    let Some((place, _)) = held else { return Ok(()) };
    let is_on = |pole: &&String| {
        let described = circuit.branch_circuit(pole).is_some_and(|pole| pole.breaker.closed);
        let closed = moment.condition.breakers.get(*pole).copied().unwrap_or(described);
        closed && !moment.unknown.contains(*pole)
    };
    let off = Feeding::of(&Known::of(circuit)).off_at(&place.id);
    let on: Vec<&str> = off.keys().filter(is_on).map(String::as_str).collect();
    if on.is_empty() {
        return Ok(());
    }
    let name = request.instrument.name();
    let said = on.iter().map(|pole| format!("{pole} off")).collect::<Vec<_>>().join(" and ");
    impossible(format!("the {name} is only held to what is proven dead: say `with {said}`"))
}

fn check_protection(model: &Model<'_>, name: &str) -> Result<(), ToldProblem> {
    let parts = model.circuit.parts();
    if model.circuit.branch_circuit(name).is_some() || model.circuit.device(name).is_some() {
        return Ok(());
    }
    let poles = parts.branch_circuits.iter().map(|pole| pole.id.as_str());
    let devices = parts.devices.iter().map(|device| device.id.as_str());
    let unknown = UnknownName::among(name, "a breaker or device", poles.chain(devices));
    Err(ToldProblem::Unknown(unknown))
}

/// Whether a terminal is a slot of a receptacle.
fn has(outlet: &Outlet, terminal: &Address) -> bool {
    outlet.slots.iter().any(|(_, known)| known == terminal)
}

/// The channels of a request, new ones if it is none that is held to a receptacle.
fn channels_of(model: &mut Model<'_>, request: &Request) -> Result<Vec<usize>, ToldProblem> {
    if let Some(bad) = request.instrument.bad_figures().first() {
        return impossible(bad.to_string());
    }
    let number = model.instrument(&request.instrument);
    let outlet_where =
        |is: &dyn Fn(&Outlet) -> bool| model.circuit.outlets().position(|(_, outlet)| is(outlet));
    let outlet = match &request.place {
        Place::Receptacle { address, .. } => {
            let found = outlet_where(&|outlet| outlet.address == *address);
            if found.is_none() {
                let known = model.circuit.outlets().map(|(_, outlet)| outlet.address.as_str());
                let unknown = UnknownName::among(address.as_str(), "a receptacle", known);
                return Err(ToldProblem::Unknown(unknown));
            }
            found
        }
        Place::Slots { slots } => {
            outlet_where(&|outlet| slots.iter().all(|slot| has(outlet, &slot.terminal)))
        }
        Place::Between { from, to } => outlet_where(&|outlet| has(outlet, from) && has(outlet, to)),
        Place::Near { terminal, behind: None } => outlet_where(&|outlet| has(outlet, terminal)),
        _ => None,
    };
    if let Some(outlet) = outlet {
        let looks = &model.predictor.looks;
        let of_place = |at: &usize| {
            let asked = looks.channels.get(*at).and_then(|c| looks.requests.get(c.request));
            match (&request.place, asked.map(|asked| &asked.place)) {
                (Place::Between { from, to }, Some(Place::Between { from: a, to: b })) => {
                    (from == a && to == b) || (from == b && to == a)
                }
                (Place::Near { terminal, .. }, Some(Place::Near { terminal: known, .. })) => {
                    terminal == known
                }
                _ => true,
            }
        };
        let channels: Vec<usize> =
            looks.of(number, outlet).map(|(at, _)| at).filter(of_place).collect();
        if !channels.is_empty() {
            return Ok(channels);
        }
        if matches!(request.instrument, Instrument::PlugTester(_) | Instrument::LoadedTest(_)) {
            let name = request.instrument.name();
            return impossible(format!("a {name} does not go into that receptacle"));
        }
    }
    own_channel(model, number, request)
}

fn own_channel(
    model: &mut Model<'_>,
    number: usize,
    request: &Request,
) -> Result<Vec<usize>, ToldProblem> {
    let looks = &model.predictor.looks;
    let known = looks.channels.iter().position(|channel| {
        channel.outlet.is_none()
            && channel.instrument == Some(number)
            && looks.requests.get(channel.request) == Some(request)
    });
    if let Some(known) = known {
        return Ok(vec![known]);
    }
    let Some(channel) = model.predictor.looks_mut().add(number, request.clone()) else {
        let name = request.instrument.name();
        return impossible(format!("what a {name} shows there is not used to locate a fault"));
    };
    model.forget();
    if model.row(Set::SOUND, super::model::DESCRIBED).is_none() {
        model.predictor.looks_mut().take_back();
        model.forget();
        return Err(not_held(model.circuit, request));
    }
    Ok(vec![channel])
}

/// Why an instrument is not held where it was said to be: the name that is none, if there is one.
fn not_held(circuit: &Circuit, request: &Request) -> ToldProblem {
    match measure(circuit, &Condition::default(), std::slice::from_ref(request)) {
        Err(MeasureProblem::Unknown(unknown)) => ToldProblem::Unknown(unknown),
        _ => {
            let what = format!("a {} is not held there", request.instrument.name());
            ToldProblem::Impossible { what }
        }
    }
}

/// What a channel shows, as a person says it.
pub(super) fn showed(measure: &Measure, fact: &Fact) -> Option<Showed> {
    Some(match (measure, fact) {
        (Measure::Indicator { between, .. }, Fact::Glow { glow, .. }) => {
            Showed::Indicator { between: between.clone(), glow: *glow }
        }
        (Measure::Alarm { .. }, Fact::Alarm { alarm, .. }) => Showed::Alarm(*alarm),
        (Measure::Step { .. }, Fact::Step { label, .. }) => Showed::Step(label.clone()),
        (Measure::Volt { .. }, Fact::Figure { amount, .. }) => Showed::Volt(*amount),
        (Measure::Lost, Fact::Figure { amount, .. }) => Showed::LostVolt(*amount),
        (Measure::LostAlong { conductor }, Fact::Figure { amount, .. }) => {
            Showed::LostAlong { conductor: (*conductor).to_owned(), volt: *amount }
        }
        (Measure::Ampere, Fact::Figure { amount, .. }) => Showed::Ampere(*amount),
        (Measure::Ohm { .. }, Fact::Figure { amount, .. }) => Showed::Ohm(*amount),
        _ => return None,
    })
}

/// Names in a complaint that the circuit does not have.
pub(super) fn check_complaint(model: &Model<'_>, complaint: &Complaint) -> Result<(), ToldProblem> {
    let circuit = model.circuit;
    let place = |name: &String| check_place(circuit, name);
    let load = |name: &String| check_load(circuit, name);
    match complaint {
        Complaint::DeadFrom { place: name }
        | Complaint::HalfDead { place: name }
        | Complaint::Warm { place: name }
        | Complaint::WorkedOn { place: name } => place(name),
        Complaint::Dead { places } | Complaint::Works { places } => {
            places.iter().try_for_each(place)
        }
        Complaint::AllDead { circuit: name } => check_protection(model, name),
        Complaint::Dim { loads, places, when } | Complaint::Bright { loads, places, when } => {
            loads.iter().chain(when).try_for_each(load)?;
            places.iter().try_for_each(place)
        }
        Complaint::Flickers { loads } => loads.iter().try_for_each(load),
        Complaint::LoadDead { load: name } | Complaint::StaysOn { load: name } => load(name),
        Complaint::Trips { breaker, when } => {
            check_protection(model, breaker)?;
            match when {
                super::WhenItTrips::WithLoad { load: name } => load(name),
                _ => Ok(()),
            }
        }
        Complaint::WontReset { breaker } => check_protection(model, breaker),
        Complaint::Tingle { from } => load(from).or_else(|_| place(from)),
        Complaint::HalfTheHouse | Complaint::NothingSeen => Ok(()),
    }
}
