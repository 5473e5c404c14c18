//! A call-out: a circuit with something wrong that answers every test truly.

use slotwise::circuit::{Circuit, file};
use slotwise::condition::{Condition, Fault};
use slotwise::diagnosis::{
    Advice, Amount, Because, Complaint, GoTo, Inquiry, Means, Moment, NextTest, Observation,
    Protected, Seen, Showed, Stop, SuspectFault, Tool, words,
};
use slotwise::instrument::{Glow, Request, Shown, measure};
use slotwise::lookalike::after_tripping;

pub(crate) fn circuit(text: &str) -> Circuit {
    file::read(text).map(|read| read.circuit).unwrap_or_else(|e| panic!("{e:?}"))
}

/// A condition in words.
pub(crate) fn condition(circuit: &Circuit, words: &[&str]) -> Condition {
    let mut condition = Condition::default();
    for sentence in words {
        condition.say(circuit, sentence).unwrap();
    }
    condition
}

/// An inquiry that has some instruments and was told what sentences say.
pub(crate) fn told<'c>(
    circuit: &'c Circuit,
    tools: &[&str],
    complaint: &str,
    saw: &[&str],
) -> Inquiry<'c> {
    let tools: Vec<Tool> = tools.iter().filter_map(|name| Tool::preset(name)).collect();
    let mut inquiry = Inquiry::new(circuit, Means { tools: tools.clone(), ..Means::default() });
    if !complaint.is_empty() {
        for complaint in words::complaints(circuit, complaint).unwrap() {
            inquiry.complain(&complaint).unwrap();
        }
    }
    for sentence in saw {
        let seen = words::observations(circuit, &tools, sentence).unwrap();
        inquiry.observe_all(&seen).unwrap();
    }
    inquiry
}

/// What a test shows in truth.
pub(crate) fn answers(circuit: &Circuit, truth: &Condition, test: &NextTest) -> Vec<Observation> {
    let mut condition = test.moment.condition.clone();
    // Of a joint that is taken apart for the test nothing is left to be wrong.
    let apart = |fault: &&Fault| {
        let element = |fault: &Fault| match fault {
            Fault::Open { element, .. } | Fault::Resistance { element, .. } => {
                Some(element.clone())
            }
            _ => None,
        };
        let lifted = test.moment.condition.faults.iter().filter_map(element);
        element(fault).is_none_or(|element| lifted.into_iter().all(|other| other != element))
    };
    condition.faults.extend(truth.faults.iter().filter(apart).cloned());
    condition.loads.extend(truth.loads.clone());
    condition.breakers.extend(truth.breakers.clone());
    seen(circuit, &condition, &test.moment, &test.looks)
}

/// What is seen in truth where something was asked in words.
pub(crate) fn read(circuit: &Circuit, truth: &Condition, asked: &Observation) -> Vec<Observation> {
    let Seen::Instrument { request, .. } = &asked.seen else { panic!("it is no reading") };
    seen(circuit, truth, &asked.moment, std::slice::from_ref(request.as_ref()))
}

fn seen(
    circuit: &Circuit,
    condition: &Condition,
    moment: &Moment,
    looks: &[Request],
) -> Vec<Observation> {
    let (condition, _) = after_tripping(circuit, condition).unwrap();
    let readings = measure(circuit, &condition, looks).unwrap();
    let seen = |request: &Request, shown: &Shown| Observation {
        moment: moment.clone(),
        seen: Seen::Instrument { request: Box::new(request.clone()), showed: said(shown) },
    };
    looks.iter().zip(&readings).map(|(request, r)| seen(request, &r.shown)).collect()
}

fn said(shown: &Shown) -> Vec<Showed> {
    match shown {
        Shown::PlugTester(tester) => tester
            .indicators
            .iter()
            .map(|one| Showed::Indicator {
                between: one.between.clone(),
                glow: Glow::certain(one.glow.at_least),
            })
            .collect(),
        Shown::Voltmeter(meter) => {
            let volt = meter.voltage_volt.map_or(0.0, |volt| volt.magnitude());
            vec![Showed::Volt(Amount::Exactly((volt * 10.0).round() / 10.0))]
        }
        Shown::NonContact(detector) => {
            vec![Showed::Alarm(detector.alarm.unwrap_or(false))]
        }
        Shown::LoadedTest(test) => {
            vec![Showed::LostVolt(Amount::Exactly(test.drop_volt.unwrap_or(0.0)))]
        }
        Shown::Ohmmeter(meter) => vec![Showed::Ohm(match meter.resistance_ohm {
            Some(ohm) if ohm < 20e6 => Amount::Exactly((ohm * 10.0).round() / 10.0),
            _ => Amount::Over(20e6),
        })],
        _ => vec![Showed::NotSure],
    }
}

/// How a call-out went.
pub(crate) struct Course<'c> {
    pub(crate) inquiry: Inquiry<'c>,
    pub(crate) tests: Vec<NextTest>,
    pub(crate) stop: Stop,
}

impl Course<'_> {
    pub(crate) fn seconds(&self) -> f64 {
        self.tests.iter().map(|test| test.cost_s).sum()
    }
}

/// Tests until the advice is to stop.
pub(crate) fn locate<'c>(
    circuit: &'c Circuit,
    truth: &Condition,
    complaint: &Complaint,
    means: Means,
) -> Course<'c> {
    locate_until(circuit, Inquiry::new(circuit, means), truth, complaint, &|_| false)
}

/// The same with an inquiry that has been told nothing, until the fault is seen in a box that is
/// opened to part the run there.
pub(crate) fn locate_until<'c>(
    circuit: &'c Circuit,
    mut inquiry: Inquiry<'c>,
    truth: &Condition,
    complaint: &Complaint,
    is_seen_in: &dyn Fn(&str) -> bool,
) -> Course<'c> {
    inquiry.complain(complaint).unwrap();
    let mut tests = Vec::new();
    loop {
        match inquiry.advise() {
            Advice::Test(test) => {
                if let Some(parting) = &test.parting {
                    let place = parting.place.clone();
                    if is_seen_in(&place) {
                        let go_to = vec![GoTo {
                            place,
                            handle: false,
                            name: None,
                            appliance: None,
                            supply: false,
                            chance: 1.0,
                        }];
                        tests.push(*test);
                        let stop =
                            Stop { because: Because::OneBox, go_to, cost_s: 0.0, moment: None };
                        return Course { inquiry, tests, stop };
                    }
                    let seen = Seen::Opened { place, found: Vec::new() };
                    let moment = Moment::default();
                    inquiry.observe(&Observation { moment, seen }).unwrap();
                }
                inquiry.observe_all(&answers(circuit, truth, &test)).unwrap();
                tests.push(*test);
                assert!(tests.len() < 30, "it never stops");
            }
            Advice::Stop(stop)
                if matches!(stop.because, Because::UnpluggedFirst | Because::AddedBack) =>
            {
                inquiry.observe(&closed_once(circuit, truth, &stop)).unwrap();
            }
            Advice::Stop(stop) => return Course { inquiry, tests, stop },
        }
    }
}

/// What comes of closing what is to be closed before any test, in truth.
pub(crate) fn closed_once(circuit: &Circuit, truth: &Condition, stop: &Stop) -> Observation {
    let moment = stop.moment.clone().unwrap();
    let name = stop.go_to[0].name.clone().unwrap();
    let mut stands = truth.clone();
    stands.loads.extend(moment.condition.loads.clone());
    stands.switches.extend(moment.condition.switches.clone());
    let trips = after_tripping(circuit, &stands).unwrap().1.contains(&name);
    let did = if trips { Protected::TripsAtOnce } else { Protected::Holds };
    Observation { moment, seen: Seen::Protection { name, did } }
}

/// How likely a fault is, whatever else is.
pub(crate) fn chance(inquiry: &Inquiry<'_>, is: impl Fn(&SuspectFault) -> bool) -> f64 {
    let suspects = inquiry.findings().suspects;
    let of = suspects.iter().map(|one| {
        let share = one.faults.iter().filter(|fault| is(fault)).map(|one| one.share);
        one.probability * share.sum::<f64>()
    });
    of.sum()
}
