//! How the next test is chosen: by the diagnosis itself, or by the rules of thumb it is held
//! against. All of them share its inference and its stop.

use slotwise::condition::Condition;
use slotwise::diagnosis::{Costs, Findings, NextTest};
use slotwise::instrument::{Instrument, Place, Request, presets};

use crate::building::Building;
use crate::caller::Call;
use crate::hidden::WIRES;
use crate::person::PAIRS;

/// Who chooses.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Policy {
    /// The diagnosis, with look-ahead.
    Computed,
    /// The diagnosis, one step.
    OneStep,
    /// The box in the middle of what is suspected.
    HalfSplit,
    /// The box that halves the probability.
    WeightedHalfSplit,
    /// One box after the other from the panel.
    Walk,
    /// The diagnosis, with a likelihood that trusts every figure within the meter's tolerance.
    Naive,
}

impl Policy {
    /// As asked for and printed.
    pub(crate) const ALL: [(Self, &'static str); 6] = [
        (Self::Computed, "computed"),
        (Self::OneStep, "one-step"),
        (Self::HalfSplit, "half-split"),
        (Self::WeightedHalfSplit, "weighted"),
        (Self::Walk, "walk"),
        (Self::Naive, "naive"),
    ];
}

/// A test to make.
pub(crate) struct Test {
    /// What is held where.
    pub(crate) looks: Vec<Request>,
    /// How things stand.
    pub(crate) condition: Condition,
    /// The box that is opened for it.
    pub(crate) opens: Option<String>,
    /// Seconds.
    pub(crate) cost_s: f64,
}

impl From<NextTest> for Test {
    fn from(test: NextTest) -> Self {
        Self {
            looks: test.looks,
            condition: test.moment.condition,
            opens: test.parting.map(|parting| parting.place),
            cost_s: test.cost_s,
        }
    }
}

/// Instruments in the order in which the trade takes them to a box.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Held {
    Tester,
    Meter,
    Loaded,
    Detector,
}

/// A rule of thumb with what it has done already.
pub(crate) struct Thumb<'a> {
    policy: Policy,
    building: &'a Building,
    n: usize,
    order: [Held; 4],
    done: Vec<(usize, Held)>,
}

/// A box of less probability is not suspected.
const SUSPECTED: f64 = 0.01;

impl<'a> Thumb<'a> {
    /// On the run of a building.
    pub(crate) fn new(policy: Policy, building: &'a Building, call: &Call) -> Self {
        let order = match call {
            // Nothing is dead: a tester would tell nothing.
            Call::Dim(_) | Call::Bright(_) => {
                [Held::Loaded, Held::Meter, Held::Tester, Held::Detector]
            }
            _ => [Held::Tester, Held::Meter, Held::Loaded, Held::Detector],
        };
        Self { policy, building, n: building.boxes.len(), order, done: Vec::new() }
    }

    /// The next test, if any is left.
    pub(crate) fn next(&mut self, findings: &Findings, standing: &Condition) -> Option<Test> {
        let wanted = self.wanted(findings);
        let held = |done: &[(usize, Held)], at: usize| {
            self.order.into_iter().find(|held| !done.contains(&(at, *held)))
        };
        // All done there: the nearest box where something is left.
        let mut boxes: Vec<usize> = (0..self.n).collect();
        match self.policy {
            // The whole run with one instrument, then with the next.
            Policy::Walk => boxes.sort_by_key(|&at| {
                (self.done.iter().filter(|(known, _)| *known == at).count(), at)
            }),
            _ => boxes.sort_by_key(|&at| (at.abs_diff(wanted), at)),
        }
        let (at, held) = boxes.into_iter().find_map(|at| Some((at, held(&self.done, at)?)))?;
        let walked = self.done.last().map_or(0.0, |(from, _)| self.metres(*from, at));
        self.done.push((at, held));
        let mut test = test(at, held, standing);
        test.cost_s += walked * Costs::default().walk_100_m_s / 100.0;
        Some(test)
    }

    /// Metres of cable between two boxes.
    fn metres(&self, one: usize, other: usize) -> f64 {
        let between = self.building.boxes.iter().take(one.max(other) + 1).skip(one.min(other) + 1);
        between.map(|arrives| arrives.metres).sum()
    }

    /// The box where it wants to test.
    fn wanted(&self, findings: &Findings) -> usize {
        let mut of = vec![0.0; self.n];
        for suspect in &findings.suspects {
            let boxes: Vec<usize> =
                suspect.boxes.iter().filter_map(|name| self.building.number(name)).collect();
            // The panel is before the first box; the cellar is no part of the run.
            let boxes: Vec<usize> = match boxes.as_slice() {
                [] => vec![0],
                some => some.iter().map(|&at| at.min(self.n - 1)).collect(),
            };
            for &at in &boxes {
                of[at] += suspect.probability / boxes.len() as f64;
            }
        }
        if self.policy == Policy::HalfSplit {
            let first = of.iter().position(|p| *p > SUSPECTED).unwrap_or(0);
            let last = of.iter().rposition(|p| *p > SUSPECTED).unwrap_or(self.n - 1);
            return first.midpoint(last);
        }
        let half = of.iter().sum::<f64>() / 2.0;
        let mut up_to = 0.0;
        let found = of.iter().position(|p| {
            up_to += p;
            up_to >= half
        });
        found.unwrap_or(0)
    }
}

fn test(at: usize, held: Held, standing: &Condition) -> Test {
    let name = Building::name(at);
    let slot = |wire: usize| format!("{name}.{}", WIRES[wire]);
    let plugged =
        |instrument: Instrument| vec![Request::new(instrument, Place::receptacle(name.as_str()))];
    let costs = Costs::default();
    let (looks, cost_s) = match held {
        Held::Tester => (plugged(presets::plug_tester_resistive()), costs.plug_in_s),
        Held::Loaded => (plugged(presets::loaded_test()), costs.loaded_test_s),
        Held::Meter => {
            let between = PAIRS.map(|(from, to)| {
                let place = Place::between(slot(from).as_str(), slot(to).as_str());
                Request::new(presets::voltmeter_high_impedance(), place)
            });
            (between.to_vec(), costs.meter_s)
        }
        Held::Detector => {
            let near = [0, 1, 2].map(|wire| {
                Request::new(presets::non_contact_detector(), Place::near(slot(wire).as_str()))
            });
            (near.to_vec(), costs.detector_s)
        }
    };
    Test { looks, condition: standing.clone(), opens: None, cost_s }
}
