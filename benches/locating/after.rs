//! What comes after a true fault was seen: it is put right, every receptacle is read again, as the
//! report says, and the search goes on until it ends with nothing left to repair.

use slotwise::circuit::{CableEnd, Circuit};
use slotwise::condition::{Condition, EndOfCable, Fault};
use slotwise::diagnosis::{
    Costs, Found, Inquiry, Means, Mended, Moment, Observation, Seen, ToldProblem, words,
};
use slotwise::instrument::{Instrument, Place, Request, presets};

use crate::building::Building;
use crate::hidden::{Trouble, WIRES};
use crate::names;
use crate::random::Chance;
use crate::scenario::Scenario;
use crate::visit::Scene;

/// Where something true was seen.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Spot {
    /// In a box.
    Box(String),
    /// At a breaker's handle.
    Handle(String),
    /// In an appliance.
    Appliance(String),
    /// In what the supply delivers.
    Supply,
}

/// What was seen at a spot is put right: the scenario without it, and what is told of it.
pub(crate) fn put_right(
    (building, circuit): (&Building, &Circuit),
    scenario: &Scenario,
    (spot, seen): (&Spot, &[Trouble]),
) -> (Scenario, Vec<Observation>) {
    let mut hidden = scenario.hidden.clone();
    hidden.troubles.retain(|trouble| !seen.contains(trouble));
    let alone = |seen| Observation { moment: Moment::default(), seen };
    let told = match spot {
        Spot::Box(place) => {
            let found: Vec<Found> =
                seen.iter().flat_map(|one| found(building, circuit, *one)).collect();
            let mended = Seen::Mended(Mended::Box { place: place.clone() });
            vec![alone(Seen::Opened { place: place.clone(), found }), alone(mended)]
        }
        Spot::Appliance(load) => {
            vec![alone(Seen::Mended(Mended::Load { load: load.clone() }))]
        }
        Spot::Supply => vec![alone(Seen::Mended(Mended::Supply))],
        // It was closed as it was looked at.
        Spot::Handle(_) => Vec::new(),
    };
    let (person, call) = (scenario.person.clone(), scenario.call.clone());
    (Scenario { hidden, person, call }, told)
}

/// A trouble as it is told once it is seen in a box.
fn found(building: &Building, circuit: &Circuit, trouble: Trouble) -> Vec<Found> {
    let in_words = |said: &str| {
        let tools = Means::default().tools;
        let heard = words::observations(circuit, &tools, said).unwrap_or_default();
        let found = heard.into_iter().filter_map(|one| match one.seen {
            Seen::Opened { found, .. } => Some(found),
            _ => None,
        });
        found.flatten().collect::<Vec<Found>>()
    };
    match (trouble, names::fault(building, trouble)) {
        (_, Some(Fault::Open { element, .. } | Fault::Resistance { element, .. })) => {
            vec![Found::BadJoint { element }]
        }
        (_, Some(fault)) => vec![Found::Fault(fault)],
        (Trouble::ExchangedAtDevice { at, wires }, None) => {
            let name = |wire: usize| WIRES[wire];
            let (one, two) = (name(wires.0), name(wires.1));
            in_words(&format!("opened {}: {one} and {two} exchanged", Building::name(at)))
        }
        (Trouble::NeutralOnOtherLeg, None) => {
            let end = EndOfCable { cable: Building::cable(0), end: CableEnd::A };
            let (conductor, to) = ("neutral".to_owned(), "panel.L2".into());
            vec![Found::Fault(Fault::WrongLanding { end, conductor, to })]
        }
        _ => Vec::new(),
    }
}

/// What every receptacle is read with after a repair.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Round {
    /// The plug-in tester.
    Tester,
    /// The tester, and then the loaded test.
    TesterAndLoad,
}

impl Round {
    /// Each with its name on the command line.
    pub(crate) const ALL: [(Self, &'static str); 2] =
        [(Self::Tester, "tester"), (Self::TesterAndLoad, "loaded-test")];

    /// The instruments, and what reading one receptacle with each takes, seconds.
    fn instruments(self) -> Vec<(Instrument, f64)> {
        let costs = Costs::default();
        let tester = (presets::plug_tester_resistive(), costs.plug_in_s);
        let load = (presets::loaded_test(), costs.loaded_test_s);
        match self {
            Self::Tester => vec![tester],
            Self::TesterAndLoad => vec![tester, load],
        }
    }
}

/// Every receptacle is read as it is after a repair: what was shown, and the seconds it took.
pub(crate) fn round(
    scene: &Scene<'_>,
    inquiry: &mut Inquiry<'_>,
    with: Round,
    chance: &mut Chance,
) -> Result<f64, ToldProblem> {
    let n = scene.building.boxes.len();
    let mut seconds = 0.0;
    for (instrument, cost_s) in with.instruments() {
        for at in 0..n {
            let place = Place::receptacle(Building::name(at).as_str());
            let request = Request::new(instrument.clone(), place);
            if let Some(one) = scene.perform(&request, &Condition::default(), chance) {
                inquiry.observe(&one)?;
            }
        }
        seconds += n as f64 * cost_s;
    }
    Ok(seconds)
}
