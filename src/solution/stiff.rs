//! A few lamps on ports so stiff that the state of each shows at once.
//!
//! With v = v₀ - Z I(v) and no attachment conducting more than yₘ, let
//!
//! ```text
//! ρᵢ = Σⱼ |Zᵢⱼ| yₘⱼ,      ρ = max ρᵢ,      |vᵢ - v₀ᵢ| <= ρᵢ max |v₀| / (1 - ρ)
//! ```
//!
//! whichever lamps are lit. Where that margin brings no lamp near a threshold, there is one state
//! only, the voltages with nothing attached tell which, and v ← v₀ - Z I(v) runs to it by a factor
//! of about ρ a step. Whatever is not so is left to the general way.

use nalgebra::Complex;

use super::port_system::{AttachedState, Attachment, PortSystem, admittance};
use crate::netlist::Law;
use crate::network::{Refusal, phasor};

/// More attachments than this are left to the general way.
const FEW: usize = 6;

/// ρ up to which ports are stiff.
const STIFF: f64 = 0.02;

/// Steps at most: ρ to this power is far below rounding.
const STEPS_MAX: usize = 12;

/// Change of a voltage, as a share of the largest, at which it is found.
const FOUND: f64 = 1e-15;

/// What is attached, as far as its current goes.
#[derive(Clone, Copy)]
enum Conducts {
    Fixed(Complex<f64>),
    Lamp(Lamp),
}

#[derive(Clone, Copy)]
struct Lamp {
    /// Below this it is dark, whatever was before, volts.
    dark_below_volt: f64,
    /// From this on it is lit, whatever was before, volts.
    lit_from_volt: f64,
    gap_volt: f64,
    dark_siemens: f64,
    series_siemens: f64,
    lit: bool,
}

impl PortSystem {
    /// What a few attachments see, lamps among them, where the ports are stiff and no lamp is near
    /// a threshold: then in the only state there is.
    pub(super) fn attach_stiff(
        &self,
        attachments: &[Attachment],
    ) -> Result<Option<AttachedState>, Refusal> {
        let n = attachments.len();
        if n > FEW || !self.is_linear() {
            return Ok(None);
        }
        let mut conducts = [Conducts::Fixed(Complex::ZERO); FEW];
        for (conducts, attachment) in conducts.iter_mut().zip(attachments) {
            *conducts = match Lamp::of(&attachment.law) {
                Some(lamp) => Conducts::Lamp(lamp),
                None if attachment.law.is_linear() => {
                    Conducts::Fixed(admittance(attachment, self.frequency_hz())?)
                }
                None => return Ok(None),
            };
        }
        let Some((open, z)) = self.seen(attachments) else { return Ok(None) };
        let conducts = &mut conducts[..n];
        if !decide(conducts, &open, &z) {
            return Ok(None);
        }
        Ok(settle(conducts, &open, &z).map(|v| AttachedState {
            reached: true,
            voltage_volt: v[..n].iter().map(|&v| Some(phasor(v))).collect(),
            current_ampere: conducts.iter().zip(v).map(|(c, v)| phasor(c.current(v))).collect(),
        }))
    }

    /// v₀ and Z of the ports in use; `None` where one lies between parts that nothing joins.
    fn seen(&self, attachments: &[Attachment]) -> Option<(Column, [Column; FEW])> {
        let mut open = [Complex::ZERO; FEW];
        let mut z = [[Complex::ZERO; FEW]; FEW];
        for (row, attachment) in attachments.iter().enumerate() {
            open[row] = self.open(attachment.port)?;
            for (column, other) in attachments.iter().enumerate() {
                z[row][column] = self.between(attachment.port, other.port)?;
            }
        }
        Some((open, z))
    }
}

type Column = [Complex<f64>; FEW];

/// Lights the lamps that are lit. False where the ports are not stiff, or a lamp may be either.
fn decide(conducts: &mut [Conducts], open: &Column, z: &[Column; FEW]) -> bool {
    let n = conducts.len();
    let pull = |row: usize, conducts: &[Conducts]| -> f64 {
        z[row][..n].iter().zip(conducts).map(|(z, c)| z.norm() * c.most_siemens()).sum()
    };
    let pulls: [f64; FEW] =
        std::array::from_fn(|row| if row < n { pull(row, conducts) } else { 0.0 });
    let worst = pulls.iter().copied().fold(0.0, f64::max);
    if worst.is_nan() || worst > STIFF {
        return false;
    }
    let largest = open[..n].iter().map(|v| v.norm()).fold(0.0, f64::max);
    for (row, conducts) in conducts.iter_mut().enumerate() {
        let Conducts::Lamp(lamp) = conducts else { continue };
        let (volt, margin) = (open[row].norm(), pulls[row] * largest / (1.0 - worst));
        lamp.lit = volt - margin > lamp.lit_from_volt;
        if !lamp.lit && volt + margin >= lamp.dark_below_volt {
            return false;
        }
    }
    true
}

/// v ← v₀ - Z I(v) to rest.
fn settle(conducts: &[Conducts], open: &Column, z: &[Column; FEW]) -> Option<Column> {
    let n = conducts.len();
    let largest = open[..n].iter().map(|v| v.norm()).fold(0.0, f64::max);
    let mut v = *open;
    for _ in 0..STEPS_MAX {
        let mut currents = [Complex::ZERO; FEW];
        for ((current, c), &v) in currents.iter_mut().zip(conducts).zip(&v) {
            *current = c.current(v);
        }
        let mut moved: f64 = 0.0;
        for row in 0..n {
            let drop: Complex<f64> =
                z[row][..n].iter().zip(&currents).map(|(z, current)| z * current).sum();
            let next = open[row] - drop;
            moved = moved.max((next - v[row]).norm());
            v[row] = next;
        }
        if moved <= FOUND * largest {
            break;
        }
    }
    v[..n].iter().all(|v| v.re.is_finite() && v.im.is_finite()).then_some(v)
}

impl Lamp {
    fn of(law: &Law) -> Option<Self> {
        law.check().ok()?;
        let (dark_below_volt, lit_from_volt, gap_volt, off_ohm, series_ohm) = match *law {
            Law::ThresholdLamp { threshold_volt: at, off_ohm, series_ohm } => {
                (at, at, at, off_ohm, series_ohm)
            }
            Law::StrikeLamp { strike_volt, hold_volt, maintain_volt, off_ohm, series_ohm } => {
                (hold_volt.min(strike_volt), strike_volt, maintain_volt, off_ohm, series_ohm)
            }
            _ => return None,
        };
        Some(Self {
            dark_below_volt,
            lit_from_volt,
            gap_volt,
            dark_siemens: 1.0 / off_ohm,
            series_siemens: 1.0 / series_ohm,
            lit: false,
        })
    }
}

impl Conducts {
    /// The most it conducts at any voltage, siemens.
    fn most_siemens(&self) -> f64 {
        match self {
            Self::Fixed(y) => y.norm(),
            Self::Lamp(lamp) => lamp.dark_siemens + lamp.series_siemens,
        }
    }

    fn current(&self, v: Complex<f64>) -> Complex<f64> {
        match self {
            Self::Fixed(y) => v * y,
            Self::Lamp(lamp) if lamp.lit => {
                let beyond = (1.0 - lamp.gap_volt / v.norm()).max(0.0);
                v * (lamp.dark_siemens + beyond * lamp.series_siemens)
            }
            Self::Lamp(lamp) => v * lamp.dark_siemens,
        }
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::{Netlist, Role};
    use crate::quantity::{Address, Impedance, Phasor};

    /// The general way finds a size to this.
    const GENERAL: f64 = 1e-11;

    /// Hot and neutral of a receptacle behind their wires, a load between them.
    fn receptacle(emf_volt: f64, [hot_ohm, neutral_ohm]: [f64; 2]) -> PortSystem {
        let mut netlist = Netlist::new(60.0);
        let [bar, hot, neutral] =
            ["bar", "hot", "neutral"].map(|n| netlist.node(&Address::from(n)));
        let earth = Netlist::EARTH;
        let emf_volt = Phasor::polar(emf_volt, 20.0);
        let law = Law::Source { emf_volt, impedance: Impedance::new(0.02, 0.01) };
        netlist.add("supply", bar, earth, Role::Winding, law).unwrap();
        netlist.add("hot", bar, hot, Role::Wire, Law::resistance(hot_ohm)).unwrap();
        netlist.add("neutral", neutral, earth, Role::Wire, Law::resistance(neutral_ohm)).unwrap();
        netlist.add("load", hot, neutral, Role::Load, Law::resistance(50.0)).unwrap();
        PortSystem::new(&netlist, &[(hot, neutral), (hot, earth), (neutral, earth)]).unwrap()
    }

    fn lamps() -> [[Attachment; 3]; 2] {
        let threshold = Law::ThresholdLamp { threshold_volt: 2.0, off_ohm: 1e9, series_ohm: 33e3 };
        let strike = Law::StrikeLamp {
            strike_volt: 64.0,
            hold_volt: 54.0,
            maintain_volt: 54.0,
            off_ohm: 1e9,
            series_ohm: 100e3,
        };
        [threshold, strike].map(|law| [0, 1, 2].map(|port| Attachment { port, law }))
    }

    /// Holds the short way to the general one; whether it was taken.
    fn agree(ports: &PortSystem, lamps: &[Attachment; 3]) -> bool {
        let Some(short) = ports.attach_stiff(lamps).unwrap() else { return false };
        // Looks that change nothing make it too many for the short way.
        let mut many = lamps.to_vec();
        many.extend([Attachment { port: 0, law: Law::Open }; FEW]);
        assert!(ports.attach_stiff(&many).unwrap().is_none());
        let general = ports.attach(&many).unwrap();
        assert_eq!(general.len(), 1, "there is one state only");
        for port in 0..3 {
            let (one, other) =
                (short.voltage_volt[port].unwrap(), general[0].voltage_volt[port].unwrap());
            assert_relative_eq!((one - other).magnitude(), 0.0, epsilon = GENERAL * 120.0);
            let (one, other) = (short.current_ampere[port], general[0].current_ampere[port]);
            assert_relative_eq!((one - other).magnitude(), 0.0, epsilon = GENERAL * 4e-3);
        }
        true
    }

    #[test]
    fn lamps_on_stiff_ports_show_what_the_general_way_finds() {
        let mut taken = 0;
        for step in 0..60 {
            let emf_volt = 1.5 + 2.31 * f64::from(step);
            for neutral_ohm in [0.4, 20.0, 90.0] {
                let ports = receptacle(emf_volt, [0.4, neutral_ohm]);
                taken += lamps().iter().filter(|lamps| agree(&ports, lamps)).count();
            }
        }
        assert!(taken > 250, "of 360 only {taken} were taken the short way");
    }

    #[test]
    fn soft_ports_and_lamps_near_a_threshold_are_left_to_the_general_way() {
        let [threshold, strike] = lamps();
        assert!(receptacle(120.0, [20e3, 20e3]).attach_stiff(&threshold).unwrap().is_none());
        // Between hold and strike a lamp with memory may be either.
        assert!(receptacle(60.0, [0.4, 0.4]).attach_stiff(&strike).unwrap().is_none());
        assert!(receptacle(64.3, [0.4, 0.4]).attach_stiff(&strike).unwrap().is_none());
        assert!(receptacle(120.0, [0.4, 0.4]).attach_stiff(&strike).unwrap().is_some());
    }

    /// One lamp on a port of so many ohms, and whether its state is told: lit or dark.
    fn decided(volt: f64, ohm: f64, lamp: &Lamp) -> Option<bool> {
        let mut conducts = [Conducts::Lamp(*lamp)];
        let (mut open, mut z) = ([Complex::ZERO; FEW], [[Complex::ZERO; FEW]; FEW]);
        open[0] = Complex::new(0.0, volt);
        z[0][0] = Complex::from(ohm);
        let told = decide(&mut conducts, &open, &z);
        let [Conducts::Lamp(Lamp { lit, .. })] = conducts else { panic!("it was a lamp") };
        told.then_some(lit)
    }

    #[test]
    fn a_lamp_is_told_only_outside_the_margin_that_its_own_current_could_make() {
        let lamp = Lamp {
            dark_below_volt: 50.0,
            lit_from_volt: 80.0,
            gap_volt: 45.0,
            dark_siemens: 0.25e-6,
            series_siemens: 9.75e-6,
            lit: false,
        };
        // 2 kilohms times 10 microsiemens are 0.02, and of that margin at 100 V are 100 x 0.02/0.98
        // volts.
        assert_eq!(decided(100.0, 2e3, &lamp), Some(true));
        let share = 0.02 / 0.98;
        let lit_from = 80.0 / (1.0 - share);
        assert_eq!(decided(lit_from + 0.01, 2e3, &lamp), Some(true));
        assert_eq!(decided(lit_from - 0.01, 2e3, &lamp), None);
        let dark_below = 50.0 / (1.0 + share);
        assert_eq!(decided(dark_below - 0.01, 2e3, &lamp), Some(false));
        assert_eq!(decided(dark_below + 0.01, 2e3, &lamp), None);
        assert_eq!(decided(100.0, 2.01e3, &lamp), None, "not stiff");
    }

    #[test]
    fn the_margin_is_of_the_largest_voltage_of_any_port() {
        let lamp = Lamp {
            dark_below_volt: 50.0,
            lit_from_volt: 80.0,
            gap_volt: 45.0,
            dark_siemens: 0.0,
            series_siemens: 10e-6,
            lit: false,
        };
        // 0.01 of 120 V beside it are 1.2 V and not half a volt.
        let told = |volt: f64| {
            let mut conducts = [Conducts::Lamp(lamp), Conducts::Fixed(Complex::ZERO)];
            let (mut open, mut z) = ([Complex::ZERO; FEW], [[Complex::ZERO; FEW]; FEW]);
            (open[0], open[1]) = (Complex::from(volt), Complex::from(120.0));
            z[0][0] = Complex::from(1e3);
            decide(&mut conducts, &open, &z)
        };
        assert!(told(48.7) && !told(48.9));
    }

    #[test]
    fn a_meter_beside_the_lamps_draws_by_its_ohms_and_a_dark_lamp_by_its_insulation() {
        let ports = receptacle(50.0, [0.4, 0.4]);
        let lamp = Law::StrikeLamp {
            strike_volt: 64.0,
            hold_volt: 54.0,
            maintain_volt: 40.0,
            off_ohm: 1e6,
            series_ohm: 100e3,
        };
        let held = [
            Attachment { port: 0, law: lamp },
            Attachment { port: 1, law: Law::Impedance(Impedance::new(3e3, 4e3)) },
        ];
        let seen = ports.attach_stiff(&held).unwrap().unwrap();
        let [lamp_volt, meter_volt] = [0, 1].map(|at| seen.voltage_volt[at].unwrap());
        // Between what its gap takes and what holds it, a dark lamp stays dark.
        assert!(lamp_volt.magnitude() > 45.0 && lamp_volt.magnitude() < 50.0);
        let expected = lamp_volt.magnitude() / 1e6;
        assert_relative_eq!(seen.current_ampere[0].magnitude(), expected, max_relative = 1e-12);
        let expected = meter_volt.magnitude() / 5e3;
        assert_relative_eq!(seen.current_ampere[1].magnitude(), expected, max_relative = 1e-12);
        let turned = seen.current_ampere[1].re * 4e3 + seen.current_ampere[1].im * 3e3;
        assert_relative_eq!(turned, meter_volt.im, max_relative = 1e-9);
    }

    #[test]
    fn a_bulb_among_the_lamps_is_left_to_the_general_way() {
        let ports = receptacle(120.0, [0.4, 0.4]);
        let bulb = Law::Filament {
            rated_watt: 60.0,
            rated_volt: 120.0,
            cold_fraction: 0.08,
            exponent: 0.6,
        };
        let held = [Attachment { port: 1, law: bulb }, lamps()[0][0]];
        assert!(ports.attach_stiff(&held).unwrap().is_none());
        let seen = &ports.attach(&held).unwrap()[0];
        let bulb_volt = seen.voltage_volt[0].unwrap().magnitude();
        let rise = libm::pow(bulb_volt / 120.0, 0.6);
        let siemens = 60.0 / (120.0 * 120.0) / (0.08 + 0.92 * rise);
        let expected = bulb_volt * siemens;
        assert_relative_eq!(seen.current_ampere[0].magnitude(), expected, max_relative = 1e-9);
    }
}
