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
}
