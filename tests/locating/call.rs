//! A call-out: a circuit with something wrong that answers every test truly.

use slotwise::circuit::{Circuit, file};
use slotwise::condition::Condition;
use slotwise::diagnosis::{
    Advice, Amount, Complaint, Inquiry, Means, NextTest, Observation, Seen, Showed, Stop,
};
use slotwise::instrument::{Glow, Shown, measure};
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

/// What a test shows in truth.
pub(crate) fn answers(circuit: &Circuit, truth: &Condition, test: &NextTest) -> Vec<Observation> {
    let mut condition = test.moment.condition.clone();
    condition.faults.extend(truth.faults.iter().cloned());
    condition.loads.extend(truth.loads.clone());
    condition.breakers.extend(truth.breakers.clone());
    let (condition, _) = after_tripping(circuit, &condition).unwrap();
    let readings = measure(circuit, &condition, &test.looks).unwrap();
    let seen = |request: &slotwise::instrument::Request, shown: &Shown| Observation {
        moment: test.moment.clone(),
        seen: Seen::Instrument { request: Box::new(request.clone()), showed: said(shown) },
    };
    test.looks.iter().zip(&readings).map(|(request, r)| seen(request, &r.shown)).collect()
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
    let mut inquiry = Inquiry::new(circuit, means);
    inquiry.complain(complaint).unwrap();
    let mut tests = Vec::new();
    loop {
        match inquiry.advise() {
            Advice::Test(test) => {
                for observation in answers(circuit, truth, &test) {
                    inquiry.observe(&observation).unwrap();
                }
                tests.push(*test);
                assert!(tests.len() < 30, "it never stops");
            }
            Advice::Stop(stop) => return Course { inquiry, tests, stop },
        }
    }
}
