//! Breakers, protective devices, switches, loads and the supply: what is set.

use crate::circuit::reach::Branches;
use crate::circuit::{Device, DeviceKind, Load, LoadKind, Vocabulary};
use crate::condition::{Fault, LoadState, SwitchPosition};
use crate::quantity::Phasor;

use super::super::Edit;
use super::super::known::{is_protective, is_switch};
use super::super::lexicon::{Class, Verb};
use super::super::phrase::few;
use super::super::problem::Problem;
use super::super::sentence::{Said, SaidVolts};
use super::super::suggest::nearest;
use super::Resolver;

/// More than this share of the stated voltage is taken for a voltage between legs (√3 or 2
/// times that to neutral) said by mistake.
const SUPPLY_SHARE_MAX: f64 = 1.5;

/// A share from here on is written with a power of ten, per cent.
const PERCENT_WRITTEN_OUT: f64 = 1e6;

impl Resolver<'_> {
    pub(super) fn set(
        &self,
        names: &[Said<String>],
        class: Option<&Said<Class>>,
        state: &Said<Verb>,
    ) -> Result<Vec<Edit>, Problem> {
        names.iter().map(|name| self.set_one(name, class, state)).collect()
    }

    fn set_one(
        &self,
        name: &Said<String>,
        class: Option<&Said<Class>>,
        state: &Said<Verb>,
    ) -> Result<Edit, Problem> {
        let is = |class| self.known.is(class, &name.value);
        let wants = |wanted| class.is_none_or(|class| class.value == wanted);
        if is(Class::Circuit) && (wants(Class::Breaker) || wants(Class::Circuit)) {
            return self.breaker(name, state);
        }
        let kind = |wanted: fn(&DeviceKind) -> bool| self.known.device_of_kind(&name.value, wanted);
        let device_wanted = wants(Class::Device) || wants(Class::Place);
        if let Some(device) = kind(is_switch)
            && (wants(Class::Switch) || device_wanted)
        {
            return self.switch(device, name, state);
        }
        // `switch on the heater` speaks of no switch.
        if is(Class::Load) && (wants(Class::Load) || wants(Class::Switch)) {
            return self.load(name, state);
        }
        if let Some(device) = kind(is_protective)
            && (wants(Class::Breaker) || device_wanted)
        {
            return self.breaker(&Said::new(device.id.clone(), name.span.clone()), state);
        }
        Err(self.nothing_to_set(name, state))
    }

    /// A breaker or a protective device.
    fn breaker(&self, name: &Said<String>, state: &Said<Verb>) -> Result<Edit, Problem> {
        let closed = match state.value {
            Verb::On | Verb::Closed | Verb::Reset => true,
            Verb::Off | Verb::Open | Verb::Tripped => false,
            _ => {
                let message = format!("{} cannot be `{}`", name.value, self.written(&state.span));
                return Err(self
                    .problem(&state.span, message)
                    .expected(["on", "off", "tripped", "reset"]));
            }
        };
        Ok(Edit::Breaker { name: name.value.clone(), closed })
    }

    fn switch(
        &self,
        device: &Device,
        name: &Said<String>,
        state: &Said<Verb>,
    ) -> Result<Edit, Problem> {
        use SwitchPosition as P;
        let up_is_on = self.known.circuit.parts().vocabulary == Vocabulary::NorthAmerican;
        let position = match (&device.kind, state.value) {
            (DeviceKind::Switch { .. }, Verb::Closed | Verb::On) => Some(P::Closed),
            (DeviceKind::Switch { .. }, Verb::Open | Verb::Off) => Some(P::Open),
            (DeviceKind::Switch { .. }, Verb::Up) => {
                Some(if up_is_on { P::Closed } else { P::Open })
            }
            (DeviceKind::Switch { .. }, Verb::Down) => {
                Some(if up_is_on { P::Open } else { P::Closed })
            }
            (DeviceKind::ThreeWay { .. }, Verb::One | Verb::Up) => Some(P::One),
            (DeviceKind::ThreeWay { .. }, Verb::Two | Verb::Down) => Some(P::Two),
            (DeviceKind::FourWay { .. }, Verb::Straight | Verb::Up) => Some(P::Straight),
            (DeviceKind::FourWay { .. }, Verb::Crossed | Verb::Down) => Some(P::Crossed),
            _ => None,
        };
        position.map(|position| Edit::Switch { name: device.id.clone(), position }).ok_or_else(
            || {
                let written = self.written(&state.span);
                let (what, expected) = match device.kind {
                    DeviceKind::ThreeWay { .. } => (
                        "a three-way switch leads to one traveller or the other",
                        ["position 1", "position 2"],
                    ),
                    DeviceKind::FourWay { .. } => {
                        ("a four-way switch is straight or crossed", ["straight", "crossed"])
                    }
                    _ => ("a switch is closed or open", ["closed", "open"]),
                };
                let message = format!("{} cannot be `{written}`: {what}", name.value);
                self.problem(&state.span, message).expected(expected)
            },
        )
    }

    fn load(&self, name: &Said<String>, state: &Said<Verb>) -> Result<Edit, Problem> {
        let Some(load) = self.known.circuit.load(&name.value) else {
            return Err(self.nothing_to_set(name, state));
        };
        let wired_in = load.plug_links.is_empty();
        let problem = |message: String| self.problem(&state.span, message);
        let state = match state.value {
            Verb::On => LoadState::On,
            Verb::PluggedIn if !wired_in => LoadState::On,
            Verb::Off => LoadState::Off,
            Verb::Unplugged if !wired_in => LoadState::Unplugged,
            Verb::Unplugged | Verb::PluggedIn => {
                let message = format!("{} is wired in and has no plug", name.value);
                return Err(problem(message).expected(["on", "off"]));
            }
            Verb::Stalled if matches!(load.kind, LoadKind::Motor { .. }) => LoadState::Stalled,
            Verb::Stalled => {
                let message = format!("{} is no motor and cannot stall", name.value);
                return Err(problem(message).expected(["on", "off"]));
            }
            _ => {
                let message = format!("{} cannot be `{}`", name.value, self.written(&state.span));
                let motor = matches!(load.kind, LoadKind::Motor { .. });
                let states = ["on", "off"].into_iter();
                let states = states.chain((!wired_in).then_some("unplugged"));
                return Err(problem(message).expected(states.chain(motor.then_some("stalled"))));
            }
        };
        Ok(Edit::Load { name: name.value.clone(), state })
    }

    /// `all loads off`; a load that is wired in is off when all are unplugged.
    pub(super) fn all_loads(
        &self,
        of: Option<&str>,
        state: &Said<Verb>,
    ) -> Result<Vec<Edit>, Problem> {
        let loads: Vec<&Load> = match of {
            None => self.known.circuit.parts().loads.iter().collect(),
            Some(pole) => {
                let circuit = self.known.circuit;
                let first = circuit.branch_circuit(pole);
                let first = first.map_or(pole, |pole| Branches::first_pole(&pole.id));
                Branches::of(circuit).loads(circuit).remove(first).unwrap_or_default()
            }
        };
        if loads.is_empty() {
            let whose = of.map_or("this circuit".to_owned(), |of| format!("`{of}`"));
            return Err(self.problem(&state.span, format!("{whose} has no loads")));
        }
        loads
            .iter()
            .map(|load| {
                let name = Said::new(load.id.clone(), state.span.clone());
                let wired_in = load.plug_links.is_empty();
                let value = match state.value {
                    Verb::Unplugged if wired_in => Verb::Off,
                    Verb::PluggedIn if wired_in => Verb::On,
                    other => other,
                };
                self.load(&name, &Said::new(value, state.span.clone()))
            })
            .collect()
    }

    fn nothing_to_set(&self, name: &Said<String>, state: &Said<Verb>) -> Problem {
        let parts = self.known.circuit.parts();
        let switches = parts.devices.iter().filter(|device| is_switch(&device.kind));
        let names: Vec<&str> = parts
            .branch_circuits
            .iter()
            .map(|branch| branch.id.as_str())
            .chain(switches.map(|device| device.id.as_str()))
            .chain(parts.loads.iter().map(|load| load.id.as_str()))
            .collect();
        if names.contains(&name.value.as_str()) {
            let message = "that is not of the kind that is said: its name alone will do";
            return self.problem(&name.span, message).expected([name.value.clone()]);
        }
        let message = format!(
            "`{}` is no breaker, protective device, switch or load, and cannot be {}",
            name.value,
            self.written(&state.span)
        );
        self.problem(&name.span, message)
            .suggesting(nearest(&name.value, names.iter().copied()))
            .expected(few(names.iter().map(|name| (*name).to_owned())))
    }

    pub(super) fn supply(
        &self,
        winding: Option<&Said<String>>,
        volts: &SaidVolts,
    ) -> Result<Vec<Edit>, Problem> {
        let windings = &self.known.circuit.parts().supply.windings;
        let mut edits = Vec::new();
        for stated in windings {
            if winding.is_some_and(|wanted| wanted.value != stated.id) {
                continue;
            }
            let nominal = stated.emf_volt;
            let emf_volt = match volts {
                SaidVolts::Magnitude(volt) => {
                    self.plausible(volt, volt.value / nominal.magnitude(), nominal)?;
                    with_magnitude(nominal, volt.value)
                }
                SaidVolts::Fraction(fraction) => {
                    self.plausible(fraction, fraction.value, nominal)?;
                    times(nominal, fraction.value)
                }
                SaidVolts::Parts(re, im, span) => {
                    let said = Phasor::new(*re, *im);
                    let share = said.magnitude() / nominal.magnitude();
                    self.plausible(&Said::new((), span.clone()), share, nominal)?;
                    said
                }
            };
            let winding = stated.id.clone();
            edits.push(Edit::Fault(Fault::SupplyVoltage { winding, emf_volt }));
        }
        match (edits.is_empty(), winding) {
            (true, Some(name)) => Err(self
                .problem(&name.span, format!("no winding is called `{}`", name.value))
                .expected(few(windings.iter().map(|winding| format!("winding {}", winding.id))))),
            (true, None) => Err(self.problem(&(0..self.text.len()), "this circuit has no supply")),
            _ => Ok(edits),
        }
    }

    fn plausible<T>(&self, said: &Said<T>, share: f64, nominal: Phasor) -> Result<(), Problem> {
        if (0.0..=SUPPLY_SHARE_MAX).contains(&share) {
            return Ok(());
        }
        let percent = share * 100.0;
        let percent = match percent.abs() < PERCENT_WRITTEN_OUT {
            true => format!("{percent:.0}"),
            false => format!("{percent:.1e}"),
        };
        let message = format!(
            "a winding is stated as {:.0} V to neutral, and this would be {percent} % of it: say \
             what one leg has to neutral, from 0 to {:.0} %",
            nominal.magnitude(),
            SUPPLY_SHARE_MAX * 100.0
        );
        let tenth_less = format!("{:.0} V", nominal.magnitude() * 0.9);
        Err(self.problem(&said.span, message).expected([tenth_less, "90 %".into()]))
    }
}

/// The same angle with another magnitude.
pub(crate) fn with_magnitude(nominal: Phasor, volt: f64) -> Phasor {
    times(nominal, volt / nominal.magnitude())
}

fn times(phasor: Phasor, factor: f64) -> Phasor {
    Phasor::new(phasor.re * factor, phasor.im * factor)
}
