//! Readings as a careful person reports them to an inquiry.

use crate::diagnosis::{Amount, Showed};
use crate::instrument::{Displayed, Reading, Shown};

/// What an instrument showed; nothing where it showed nothing that can be reported.
pub(super) fn showed(reading: &Reading) -> Vec<Showed> {
    match &reading.shown {
        Shown::PlugTester(shown) => shown
            .indicators
            .iter()
            .map(|one| Showed::Indicator { between: one.between.clone(), glow: one.glow })
            .collect(),
        Shown::Voltmeter(shown) => {
            shown.display.iter().map(|one| Showed::Volt(amount(one))).collect()
        }
        Shown::NonContact(shown) => shown.alarm.map(Showed::Alarm).into_iter().collect(),
        Shown::Ohmmeter(shown) => vec![Showed::Ohm(amount(&shown.display))],
        // To a tenth, as a display gives it.
        Shown::LoadedTest(shown) => shown
            .drop_volt
            .map(|volt| Showed::LostVolt(Amount::Exactly((volt * 10.0).round() / 10.0)))
            .into_iter()
            .collect(),
        _ => Vec::new(),
    }
}

fn amount(display: &Displayed) -> Amount {
    display.value.map_or(Amount::Over(display.low), Amount::Exactly)
}
