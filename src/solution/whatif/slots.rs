//! Three ports between three nodes: whatever is attached to the slots of one receptacle.

use nalgebra::Complex;

use super::PortSight;
use crate::network::{complex, phasor};
use crate::quantity::{Impedance, Phasor};
use crate::solution::few::attached;

/// What the three slots of a receptacle show each other with nothing attached, and so what any
/// linear instruments in them would read, all attached at once.
///
/// ```
/// use slotwise::quantity::{Impedance, Phasor};
/// use slotwise::solution::{PortSight, SlotsSight};
/// // 120 V behind an ohm in hot and neutral each; the ground held by 40 kilohms.
/// let sight = |volt, ohm| PortSight {
///     voltage_volt: Some(Phasor::new(volt, 0.0)),
///     impedance: Some(Impedance::resistance(ohm)),
/// };
/// let slots = SlotsSight::new([sight(120.0, 2.0), sight(60.0, 40e3), sight(-60.0, 40e3)]);
/// let ohm = Impedance::resistance;
/// // A tester of 40 kilohms an indicator: the ground is pulled to the middle still.
/// let lit = slots.attached([Some(ohm(40e3)); 3]).unwrap();
/// assert!((lit[0].re - 120.0).abs() < 0.02 && (lit[1].re - 60.0).abs() < 0.02);
/// // A load between hot and neutral, looked at from the ground.
/// let loaded = slots.attached([Some(ohm(12.0)), None, None]).unwrap();
/// assert!((loaded[0].re - 120.0 * 12.0 / 14.0).abs() < 1e-9);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlotsSight {
    ports: [PortSight; 3],
}

impl SlotsSight {
    /// From the ports first-second, first-third and second-third: hot-neutral, hot-ground and
    /// neutral-ground.
    pub fn new(ports: [PortSight; 3]) -> Self {
        Self { ports }
    }

    /// The ports themselves.
    pub fn ports(&self) -> &[PortSight; 3] {
        &self.ports
    }

    /// Voltages across the three with these attached, `None` for nothing. `None` where a voltage
    /// is undetermined or an impedance is zero.
    pub fn attached(&self, burden: [Option<Impedance>; 3]) -> Option<[Phasor; 3]> {
        let mut open = [Complex::ZERO; 3];
        let mut own = [Complex::ZERO; 3];
        let mut y = [Complex::ZERO; 3];
        for port in 0..3 {
            let PortSight { voltage_volt, impedance } = self.ports[port];
            let z = impedance?;
            open[port] = complex(voltage_volt?);
            own[port] = Complex::new(z.resistance_ohm, z.reactance_ohm);
            y[port] = match burden[port] {
                None => Complex::ZERO,
                // Most testers have three alike.
                same if port > 0 && same == burden[port - 1] => y[port - 1],
                Some(burden) => Complex::new(burden.resistance_ohm, burden.reactance_ohm).inv(),
            };
        }
        let all: [Complex<f64>; 3] = attached(&open, |one, other| between(&own, one, other), &y)?;
        Some(all.map(phasor))
    }
}

/// Impedance between two of the three ports, from what each sees: with v₁₂ + v₂₃ = v₁₃, twice
/// Z(12, 13) is Z₁₂ + Z₁₃ - Z₂₃, and so on.
fn between(own: &[Complex<f64>; 3], one: usize, other: usize) -> Complex<f64> {
    if one == other {
        return own[one];
    }
    let third = 3 - one - other;
    match third {
        // Port 1-2 with 2-3 share their middle node the other way round.
        1 => (own[third] - own[one] - own[other]) * 0.5,
        _ => (own[one] + own[other] - own[third]) * 0.5,
    }
}
