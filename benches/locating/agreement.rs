//! Where nothing is off, the generator and the library must draw the same circuit: volts between
//! slots, fault by fault, with a meter attached.

use slotwise::condition::Condition;
use slotwise::instrument::{Place, Request, Shown, measure, presets};

use crate::building::Building;
use crate::draw;
use crate::hidden::{Hidden, Level, WIRES};
use crate::names;
use crate::network::C;
use crate::person::PAIRS;
use crate::random::Chance;
use crate::wired::{Input, Sitting, Standing};

/// The greatest difference between the two over some random circuits and troubles, volts, and the
/// number of readings compared.
pub(crate) fn greatest_difference(seed: u64, circuits: usize) -> (f64, usize) {
    let (mut greatest, mut compared) = (0.0_f64, 0);
    for number in 0..circuits {
        let mut chance = Chance::new(seed, number as u64);
        let building = Building::invent(4 + number % 9, &mut chance);
        let circuit = building.described();
        for _ in 0..20 {
            let mut hidden = Hidden::sound(&building, Level::AsModelled, &mut chance);
            hidden.troubles = draw::listed(&building, Level::AsModelled, &mut chance);
            let told: Option<Vec<_>> =
                hidden.troubles.iter().map(|t| names::fault(&building, *t)).collect();
            let Some(faults) = told else { continue };
            let condition = Condition { faults, ..Condition::default() };
            let at = chance.below(building.boxes.len());
            let wires = PAIRS[chance.below(3)];
            let sitting =
                Sitting { building: &building, hidden: &hidden, standing: Standing::default() };
            let y = C::new(1e-7, std::f64::consts::TAU * 60.0 * 100e-12);
            let Some(volts) = sitting.volts(&[Input { at, wires, y }]) else { continue };
            if volts.tripped {
                // The library measures before anything trips.
                continue;
            }
            let own = volts.across(at, wires).norm();
            let slot = |wire: usize| format!("{}.{}", Building::name(at), WIRES[wire]);
            let place = Place::between(slot(wires.0).as_str(), slot(wires.1).as_str());
            let meter = presets::voltmeter_high_impedance();
            let Ok(readings) = measure(&circuit, &condition, &[Request::new(meter, place)]) else {
                continue;
            };
            let Some(Shown::Voltmeter(shown)) = readings.first().map(|reading| &reading.shown)
            else {
                continue;
            };
            let Some(theirs) = shown.voltage_volt.map(|volt| volt.magnitude()) else { continue };
            compared += 1;
            let off = (own - theirs).abs();
            if off > greatest {
                greatest = off;
                if off > 0.5 {
                    eprintln!(
                        "{:?} at {at} {wires:?}: own {own:.3}, library {theirs:.3}",
                        hidden.troubles
                    );
                }
            }
        }
    }
    (greatest, compared)
}
