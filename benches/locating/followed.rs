//! A call-out followed to its end: every test that is asked for is made on the circuit with what is
//! truly wrong, by instruments and a person without fault.

use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::diagnosis::{Advice, Amount, Inquiry, Moment, NextTest, Observation, Seen, Showed};
use slotwise::instrument::{Reading, Request, Shown, measure};
use slotwise::protection::operate;

/// More tests than this no story takes.
const TESTS_MAX: usize = 15;

/// A detector that is not sure sounds from about this many volts.
const SOUNDS_VOLT: f64 = 70.0;

/// Makes tests until told to stop; how many.
pub(crate) fn follow(inquiry: &mut Inquiry<'_>, circuit: &Circuit, truth: &Condition) -> usize {
    for made in 0..TESTS_MAX {
        let Advice::Test(test) = inquiry.advise() else { return made };
        let seen: Vec<Observation> = look(circuit, truth, &test).into_iter().flatten().collect();
        if seen.is_empty() {
            inquiry.leave_out(&test);
            continue;
        }
        if let Err((_, problem)) = inquiry.observe_all(&seen) {
            panic!("{problem}");
        }
    }
    TESTS_MAX
}

fn look(circuit: &Circuit, truth: &Condition, test: &NextTest) -> Option<Vec<Observation>> {
    let mut condition = truth.clone();
    condition.loads.extend(test.moment.condition.loads.clone());
    let remaining = operate(circuit, &condition).ok()?.remaining;
    let readings = measure(circuit, &remaining, &test.looks).ok()?;
    let seen = |(request, reading): (&Request, &Reading)| {
        let seen =
            Seen::Instrument { request: Box::new(request.clone()), showed: showed(reading)? };
        let moment = Moment { condition: test.moment.condition.clone(), ..Moment::default() };
        Some(Observation { moment, seen })
    };
    Some(test.looks.iter().zip(&readings).filter_map(seen).collect())
}

/// What a person reads off.
fn showed(reading: &Reading) -> Option<Vec<Showed>> {
    let volt = |volt: f64| Amount::Exactly((volt * 10.0).round() / 10.0);
    Some(match &reading.shown {
        Shown::PlugTester(tester) => tester
            .indicators
            .iter()
            .map(|one| Showed::Indicator { between: one.between.clone(), glow: one.glow })
            .collect(),
        Shown::Voltmeter(meter) => vec![Showed::Volt(volt(meter.voltage_volt?.magnitude()))],
        Shown::NonContact(detector) => {
            let potential = detector.potential_volt.map_or(0.0, |volt| volt.magnitude());
            vec![Showed::Alarm(detector.alarm.unwrap_or(potential > SOUNDS_VOLT))]
        }
        Shown::LoadedTest(test) => {
            let ampere = test.test_current_ampere.magnitude();
            let mut all = vec![Showed::LostVolt(volt(test.drop_volt?.max(0.0)))];
            let along = [("hot", test.hot_share_ohm), ("neutral", test.neutral_share_ohm)];
            all.extend(along.into_iter().filter_map(|(conductor, ohm)| {
                let lost = volt(ohm?.magnitude() * ampere);
                Some(Showed::LostAlong { conductor: conductor.to_owned(), volt: lost })
            }));
            all
        }
        _ => return None,
    })
}
