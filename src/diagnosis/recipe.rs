//! How the number behind a channel comes from what pairs of terminals show with nothing attached.

use crate::circuit::Circuit;
use crate::instrument::{
    BrightnessBy, Burden, IndicatorLaw, Instrument, Place, PlugTester, Request, Slot,
};
use crate::quantity::{Address, Impedance, Phasor};
use crate::solution::{PortSight, SlotsSight};

use super::look::{Channel, Looks, Measure, NO_AMPERE, OPEN_OHM, same};

/// What is read of a network for all recipes, each thing once.
#[derive(Clone, Debug, Default)]
pub(super) struct Sources {
    /// Pairs of terminals, with what is seen into them.
    pub(super) between: Vec<(Address, Address)>,
    /// Terminals against earth, by voltage alone.
    pub(super) to_earth: Vec<(Address, Address)>,
    /// What is attached to three slots at once.
    plugged: Vec<Plugged>,
    /// Elements whose currents are asked for.
    pub(super) elements: Vec<String>,
}

/// Three pairs of slots, and what is attached to each.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Plugged {
    pairs: [usize; 3],
    attached: [Option<Impedance>; 3],
}

/// What the sources show.
#[derive(Clone, Debug)]
pub(super) struct Seen<'s> {
    between: &'s [PortSight],
    to_earth: &'s [PortSight],
    currents: &'s [Phasor],
    /// Voltages with everything attached.
    plugged: Vec<Option<[Phasor; 3]>>,
}

/// See the module.
#[derive(Clone, Debug)]
pub(super) enum Recipe {
    /// The voltage of a pair, alone or behind an impedance, divided by something.
    Pair { pair: usize, behind: Option<Impedance>, per: f64 },
    /// One of three voltages between three slots, with what is attached, divided by something.
    Slots { plugged: usize, port: usize, per: f64 },
    /// What attaching a load between the first two of three slots takes from one of the three
    /// voltages: of the first in magnitude, of others along the conductor.
    Lost { pairs: [usize; 3], plugged: usize, load_ohm: f64, port: usize },
    /// The same where there is no third slot.
    LostAlone { pair: usize, load: Impedance },
    /// A potential to earth.
    Potential { terminal: usize },
    /// The resistance of a pair, the circuit dead, with that of the leads.
    Ohms { pair: usize, lead_ohm: f64 },
    /// The sum of the currents in a jaw, each with its sign.
    Jaw { through: Vec<(usize, f64)> },
    /// Nothing that is ever known.
    Never,
}

impl Recipe {
    /// The recipe of a channel; `None` where it takes the whole network.
    pub(super) fn of(
        circuit: &Circuit,
        looks: &Looks,
        channel: &Channel,
        sources: &mut Sources,
    ) -> Option<Self> {
        let request = looks.requests.get(channel.request)?;
        let frequency_hz = circuit.parts().frequency_hz;
        match (&request.instrument, &request.place) {
            (Instrument::Voltmeter(meter), Place::Between { from, to }) => {
                let behind = match meter.burden {
                    Burden::Ideal => None,
                    Burden::Parallel { resistance_ohm, capacitance_farad } => {
                        Some(parallel(resistance_ohm, capacitance_farad, frequency_hz))
                    }
                    burden @ Burden::OhmPerVolt { .. } => {
                        burden.resistance_ohm().map(Impedance::resistance)
                    }
                };
                let pair = sources.number(from, to);
                Some(Self::Pair { pair, behind, per: channel.per })
            }
            (Instrument::StepTester(tester), Place::Between { from, to }) => {
                let reactance = std::f64::consts::TAU * frequency_hz * tester.inductance_henry;
                let behind = Some(Impedance::new(tester.resistance_ohm, reactance));
                Some(Self::Pair { pair: sources.number(from, to), behind, per: channel.per })
            }
            (Instrument::NonContact(_), Place::Near { terminal, behind: None }) => {
                Some(Self::Potential { terminal: sources.earth(terminal) })
            }
            (Instrument::PlugTester(tester), Place::Slots { slots }) => {
                Self::plugged_in(tester, slots, channel, sources)
            }
            (Instrument::LoadedTest(test), Place::Slots { slots }) => {
                Self::lost(test.load, slots, channel, sources)
            }
            (Instrument::Ohmmeter(_) | Instrument::Insulation(_), Place::Between { from, to })
                if *request == Request::new(request.instrument.clone(), request.place.clone()) =>
            {
                let Measure::Ohm { lead_ohm, .. } = channel.measure else { return None };
                Some(Self::Ohms { pair: sources.number(from, to), lead_ohm })
            }
            (Instrument::Clamp(_), Place::Around { conductors }) => {
                let each = conductors.iter();
                let through = each.map(|one| (sources.element(&one.element), one.sign)).collect();
                Some(Self::Jaw { through })
            }
            _ => None,
        }
    }

    /// An indicator of a tester with all its indicators in three slots.
    fn plugged_in(
        tester: &PlugTester,
        slots: &[Slot],
        channel: &Channel,
        sources: &mut Sources,
    ) -> Option<Self> {
        let [first, second, third] = slots else { return None };
        let spans = [(first, second), (first, third), (second, third)];
        let mut attached = [None; 3];
        for spanned in &tester.indicators {
            let IndicatorLaw::Resistance { resistance_ohm } = spanned.indicator.law else {
                return None;
            };
            let at = spans
                .iter()
                .position(|(p, q)| same(&spanned.between, &(p.name.clone(), q.name.clone())))?;
            if let Some(slot) = attached.get_mut(at) {
                *slot = Some(Impedance::resistance(resistance_ohm));
            }
        }
        let Measure::Indicator { between, .. } = &channel.measure else { return None };
        let port =
            spans.iter().position(|(p, q)| same(between, &(p.name.clone(), q.name.clone())))?;
        let per = match tester.indicators.first()?.indicator.brightness_by {
            BrightnessBy::Volt => 1.0,
            BrightnessBy::Ampere => attached.get(port)?.as_ref()?.resistance_ohm,
        };
        let pairs = spans.map(|(p, q)| sources.number(&p.terminal, &q.terminal));
        Some(Self::Slots { plugged: sources.plugged(Plugged { pairs, attached }), port, per })
    }

    /// What a load between hot and its return takes away.
    fn lost(
        load: Impedance,
        slots: &[Slot],
        channel: &Channel,
        sources: &mut Sources,
    ) -> Option<Self> {
        let terminal = |name: &str| slots.iter().find(|slot| slot.name == name);
        let hot = &terminal("hot")?.terminal;
        let back = &terminal("neutral").or_else(|| terminal("hot2"))?.terminal;
        let Some(ground) = terminal("ground").map(|slot| &slot.terminal) else {
            return Some(match channel.measure {
                Measure::Lost => Self::LostAlone { pair: sources.number(hot, back), load },
                _ => Self::Never,
            });
        };
        let port = match &channel.measure {
            Measure::LostAlong { conductor: "hot" } => 1,
            Measure::LostAlong { .. } => 2,
            _ => 0,
        };
        let spans = [(hot, back), (hot, ground), (back, ground)];
        let pairs = spans.map(|(p, q)| sources.number(p, q));
        let plugged = sources.plugged(Plugged { pairs, attached: [Some(load), None, None] });
        Some(Self::Lost { pairs, plugged, load_ohm: magnitude(load), port })
    }

    /// The number.
    pub(super) fn value(&self, seen: &Seen<'_>) -> f64 {
        self.found(seen).unwrap_or(f64::NAN)
    }

    fn found(&self, seen: &Seen<'_>) -> Option<f64> {
        let plugged = |plugged: usize| *seen.plugged.get(plugged)?;
        Some(match self {
            Self::Pair { pair, behind, per } => {
                let sight = seen.between.get(*pair)?;
                let volt = match behind {
                    // Between parts that nothing joins, what is attached carries nothing.
                    Some(_) if sight.voltage_volt.is_none() => Phasor::ZERO,
                    Some(attached) => sight.behind(*attached)?,
                    None => sight.voltage_volt?,
                };
                volt.magnitude() / per
            }
            Self::Slots { plugged: at, port, per } => plugged(*at)?.get(*port)?.magnitude() / per,
            Self::Lost { pairs, plugged: at, load_ohm, port } => {
                let volt = |at: usize| seen.between.get(*pairs.get(at)?)?.voltage_volt;
                if volt(0).is_none() && *port > 0 {
                    // No current, no loss along a conductor.
                    return Some(0.0);
                }
                let before = volt(*port)?;
                let attached = plugged(*at)?;
                let after = *attached.get(*port)?;
                let ampere = attached.first()?.magnitude() / load_ohm;
                match port {
                    1.. if ampere <= NO_AMPERE => 0.0,
                    0 => before.magnitude() - after.magnitude(),
                    _ => (before - after).magnitude(),
                }
            }
            Self::LostAlone { pair, load } => {
                let sight = seen.between.get(*pair)?;
                sight.voltage_volt?.magnitude() - sight.behind(*load)?.magnitude()
            }
            Self::Potential { terminal } => seen.to_earth.get(*terminal)?.voltage_volt?.magnitude(),
            Self::Ohms { pair, lead_ohm } => {
                direct_ohm(seen.between.get(*pair)?.impedance) + lead_ohm
            }
            Self::Jaw { through } => {
                let mut sum = Phasor::ZERO;
                for &(element, sign) in through {
                    let ampere = seen.currents.get(element)?;
                    sum = sum + Phasor::new(sign * ampere.re, sign * ampere.im);
                }
                sum.magnitude()
            }
            Self::Never => return None,
        })
    }
}

/// Three slots of which one may be joined to nothing: it is taken to hang on more than any
/// insulation, so that what is attached decides where it lies. `None` where nothing joins any.
fn joined(mut ports: [PortSight; 3]) -> Option<SlotsSight> {
    let known: Vec<usize> =
        (0..3).filter(|&at| ports.get(at).is_some_and(|one| one.voltage_volt.is_some())).collect();
    match known.as_slice() {
        [_, _, _] => {}
        [only] => {
            let volt = ports.get(*only)?.voltage_volt?;
            // v₁₂ + v₂₃ = v₁₃
            let (zero, minus) = (Phasor::ZERO, Phasor::ZERO - volt);
            let volts = match only {
                0 => [volt, zero, minus],
                1 => [zero, volt, volt],
                _ => [zero, volt, volt],
            };
            for (at, (port, volt)) in ports.iter_mut().zip(volts).enumerate() {
                if at != *only {
                    port.voltage_volt = Some(volt);
                    port.impedance = Some(Impedance::resistance(NOTHING_OHM));
                }
            }
        }
        _ => return None,
    }
    Some(SlotsSight::new(ports))
}

/// More than any insulation, and little enough that an ohm beside it is not lost in rounding.
const NOTHING_OHM: f64 = 1e11;

impl Sources {
    fn number(&mut self, from: &Address, to: &Address) -> usize {
        let known = self.between.iter().position(|(a, b)| a == from && b == to);
        known.unwrap_or_else(|| {
            self.between.push((from.clone(), to.clone()));
            self.between.len() - 1
        })
    }

    fn plugged(&mut self, plugged: Plugged) -> usize {
        let known = self.plugged.iter().position(|known| *known == plugged);
        known.unwrap_or_else(|| {
            self.plugged.push(plugged);
            self.plugged.len() - 1
        })
    }

    /// What all of them show, from what its pairs and terminals do.
    pub(super) fn seen<'s>(
        &self,
        between: &'s [PortSight],
        to_earth: &'s [PortSight],
        currents: &'s [Phasor],
    ) -> Seen<'s> {
        let sight = |pair: usize| between.get(pair).copied().unwrap_or_default();
        let voltages = |one: &Plugged| joined(one.pairs.map(sight))?.attached(one.attached);
        let plugged = self.plugged.iter().map(voltages).collect();
        Seen { between, to_earth, currents, plugged }
    }

    fn element(&mut self, element: &str) -> usize {
        let known = self.elements.iter().position(|known| known == element);
        known.unwrap_or_else(|| {
            self.elements.push(element.to_owned());
            self.elements.len() - 1
        })
    }

    fn earth(&mut self, terminal: &Address) -> usize {
        let known = self.to_earth.iter().position(|(a, _)| a == terminal);
        known.unwrap_or_else(|| {
            self.to_earth.push((terminal.clone(), Address::earth()));
            self.to_earth.len() - 1
        })
    }
}

/// What an ohmmeter's direct current meets where alternating current meets this: between
/// conductors a resistance with the cables' capacitance beside it, along them one with their
/// inductance in series.
fn direct_ohm(seen: Option<Impedance>) -> f64 {
    let Some(seen) = seen else { return OPEN_OHM };
    let (resistance, reactance) = (seen.resistance_ohm, seen.reactance_ohm);
    match reactance < 0.0 {
        // 1 / Re(1 / Z)
        true => (resistance + reactance * reactance / resistance.max(1e-9)).min(OPEN_OHM),
        false => resistance.min(OPEN_OHM),
    }
}

fn magnitude(impedance: Impedance) -> f64 {
    Phasor::new(impedance.resistance_ohm, impedance.reactance_ohm).magnitude()
}

/// A resistance beside a capacitance: 1 / (1/R + jωC).
fn parallel(resistance_ohm: f64, capacitance_farad: f64, frequency_hz: f64) -> Impedance {
    let (g, b) = (1.0 / resistance_ohm, std::f64::consts::TAU * frequency_hz * capacitance_farad);
    let square = g * g + b * b;
    Impedance::new(g / square, -b / square)
}
