//! Three ports between three nodes: whatever is attached to the slots of one receptacle.

use nalgebra::Complex;

use super::PortSight;
use crate::network::{LANES, Wide, complex, phasor, reciprocal};
use crate::quantity::{Impedance, Phasor};

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
    #[inline]
    pub fn new(ports: [PortSight; 3]) -> Self {
        Self { ports }
    }

    /// The ports themselves.
    pub fn ports(&self) -> &[PortSight; 3] {
        &self.ports
    }

    /// Voltages across the three with these attached, `None` for nothing; one of them is the sum or
    /// the difference of the others. `None` where a voltage
    /// is undetermined or an impedance is zero.
    pub fn attached(&self, burden: [Option<Impedance>; 3]) -> Option<[Phasor; 3]> {
        Self::attached_to(&self.ports, burden)
    }

    /// The same of ports that stay where they are.
    pub fn attached_to(
        ports: &[PortSight; 3],
        burden: [Option<Impedance>; 3],
    ) -> Option<[Phasor; 3]> {
        let mut open = [Complex::ZERO; 3];
        let mut own = [Complex::ZERO; 3];
        let mut y = [Complex::ZERO; 3];
        for port in 0..3 {
            let PortSight { voltage_volt, impedance } = ports[port];
            let z = impedance?;
            open[port] = complex(voltage_volt?);
            own[port] = Complex::new(z.resistance_ohm, z.reactance_ohm);
            y[port] = match burden[port] {
                None => Complex::ZERO,
                // Most testers have three alike.
                same if port > 0 && same == burden[port - 1] => y[port - 1],
                Some(burden) => {
                    reciprocal(Complex::new(burden.resistance_ohm, burden.reactance_ohm))
                }
            };
        }
        // Of three ports between three nodes two are independent: not the one that sees most, so
        // that what floats takes no digits from the port that does not.
        let size = own.map(|z| z.l1_norm());
        // v₁₃ = v₁₂ + v₂₃, and with another left out the same turned round.
        let all = if size[1] > size[0] && size[1] >= size[2] {
            let [first, last] = pair_held::<0, 2>(&open, &own, &y);
            [first, first + last, last]
        } else if size[2] > size[0] {
            let [first, second] = pair_held::<0, 1>(&open, &own, &y);
            [first, second, second - first]
        } else {
            let [second, last] = pair_held::<1, 2>(&open, &own, &y);
            [second - last, second, last]
        };
        let is_finite = |v: &Complex<f64>| v.re.is_finite() && v.im.is_finite();
        all.iter().all(is_finite).then(|| all.map(phasor))
    }
}

/// Admittances of what is attached to three ports.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Admittances([Complex<f64>; 3]);

impl Admittances {
    /// Of nothing none.
    pub(crate) fn of(burden: [Option<Impedance>; 3]) -> Self {
        Self(burden.map(|burden| {
            let of = |burden: Impedance| Complex::new(burden.resistance_ohm, burden.reactance_ohm);
            burden.map_or(Complex::ZERO, |burden| reciprocal(of(burden)))
        }))
    }
}

/// Of each of four receptacles two of its three ports: not the one that sees most.
struct Two {
    left_out: [usize; LANES],
    /// What both see, and the one left out.
    own: [Wide; 3],
    /// Open voltages of both. Where the middle port is left out, the second is turned round.
    open: [Wide; 2],
    /// What is attached to both with what is attached to the third, and that by itself.
    y: [Wide; 3],
}

impl Two {
    /// By the port that is left out: the two others, and itself.
    const ORDER: [[usize; 3]; 3] = [[1, 2, 0], [0, 2, 1], [0, 1, 2]];

    #[inline(always)]
    fn of(open: &[Wide; 3], own: &[Wide; 3], y: &[Complex<f64>; 3]) -> Self {
        let sizes = [own[0].sizes(), own[1].sizes(), own[2].sizes()];
        let (left_out, zero) = ([0; LANES], Wide::ZERO);
        let mut two = Self { left_out, own: [zero; 3], open: [zero; 2], y: [zero; 3] };
        for (lane, left_out) in two.left_out.iter_mut().enumerate() {
            let size = [sizes[0][lane], sizes[1][lane], sizes[2][lane]];
            *left_out = if size[1] > size[0] && size[1] >= size[2] {
                1
            } else if size[2] > size[0] {
                2
            } else {
                0
            };
        }
        if two.left_out == [two.left_out[0]; LANES] {
            // As mostly: all are taken as they are.
            let [i, j, out] = Self::ORDER[two.left_out[0]];
            two.own = [own[i], own[j], own[out]];
            two.open = [open[i], open[j]];
            if out == 1 {
                two.open[1] = Wide::ZERO;
                two.open[1].subtract(&open[j]);
            }
            two.y = [y[i] + y[out], y[j] + y[out], y[out]].map(Wide::all);
            return two;
        }
        for lane in 0..LANES {
            let [i, j, out] = Self::ORDER[two.left_out[lane]];
            for (into, port) in two.own.iter_mut().zip([i, j, out]) {
                into.set(lane, own[port].get(lane));
            }
            let second = open[j].get(lane);
            two.open[0].set(lane, open[i].get(lane));
            two.open[1].set(lane, if out == 1 { -second } else { second });
            for (into, y) in two.y.iter_mut().zip([y[i] + y[out], y[j] + y[out], y[out]]) {
                into.set(lane, y);
            }
        }
        two
    }
}

/// Of four receptacles, as [`SlotsSight::attached_to`]: what their three ports show each, and what
/// admittances are attached to each of them.
#[inline]
pub(crate) fn attached_abreast(
    open: &[Wide; 3],
    own: &[Wide; 3],
    Admittances(y): &Admittances,
) -> [Option<[Phasor; 3]>; LANES] {
    let mut held = [Wide::ZERO; 2];
    let left_out = two_held(open, own, y, &mut held);
    let [before, last] = held;
    std::array::from_fn(|lane| {
        let (a, b) = (before.get(lane), last.get(lane));
        let all = match left_out[lane] {
            1 => [a, a - b, -b],
            2 => [a, b, b - a],
            _ => [a - b, a, b],
        };
        let is_finite = |v: &Complex<f64>| v.re.is_finite() && v.im.is_finite();
        all.iter().all(is_finite).then(|| [phasor(all[0]), phasor(all[1]), phasor(all[2])])
    })
}

/// Voltages of two of the three ports of four receptacles with all admittances attached, and which
/// is left out. Not put in where it is called: there the compiler would put the parts of each side by
/// side, and not receptacles.
#[inline(never)]
fn two_held(
    open: &[Wide; 3],
    own: &[Wide; 3],
    y: &[Complex<f64>; 3],
    held: &mut [Wide; 2],
) -> [usize; LANES] {
    let Two { left_out, own: [first, second, left], open: [mut v_first, mut v_second], y } =
        Two::of(open, own, y);
    let [y_first, y_second, y_left] = y;
    let mut mutual = first;
    mutual.add(&second);
    mutual.subtract(&left);
    let mutual = mutual.half();
    let mut one = [first.times(&y_first), mutual.times(&y_second)];
    let mut other = [mutual.times(&y_first), second.times(&y_second)];
    one[0].subtract(&mutual.times(&y_left));
    one[1].subtract(&first.times(&y_left));
    other[0].subtract(&second.times(&y_left));
    other[1].subtract(&mutual.times(&y_left));
    one[0].add(&Wide::ONE);
    other[1].add(&Wide::ONE);
    let is_turned: [bool; LANES] = {
        let [a, b] = [one[0].sizes(), other[0].sizes()];
        std::array::from_fn(|lane| a[lane] < b[lane])
    };
    for lane in (0..LANES).filter(|&lane| is_turned[lane]) {
        for (a, b) in one.iter_mut().zip(&mut other).chain([(&mut v_first, &mut v_second)]) {
            let (was, now) = (a.get(lane), b.get(lane));
            a.set(lane, now);
            b.set(lane, was);
        }
    }
    let over = one[0].reciprocals();
    let factor = other[0].times(&over);
    let mut pivot = other[1];
    pivot.subtract(&factor.times(&one[1]));
    let mut last = v_second;
    last.subtract(&factor.times(&v_first));
    let last = last.times(&pivot.reciprocals());
    let mut before = v_first;
    before.subtract(&one[1].times(&last));
    *held = [before.times(&over), last];
    left_out
}

/// Voltages of two of the three ports with all admittances attached.
#[inline(always)]
fn pair_held<const I: usize, const J: usize>(
    open: &[Complex<f64>; 3],
    own: &[Complex<f64>; 3],
    y: &[Complex<f64>; 3],
) -> [Complex<f64>; 2] {
    let left_out = 3 - I - J;
    let sign = if left_out == 1 { 1.0 } else { -1.0 };
    let [yi, yj, across] = [y[I] + y[left_out], y[J] + y[left_out], y[left_out] * sign];
    let [zi, zj, mutual] = [own[I], own[J], between(own, I, J)];
    let one = [zi * yi + mutual * across + 1.0, zi * across + mutual * yj];
    let other = [mutual * yi + zj * across, mutual * across + zj * yj + 1.0];
    match one[0].l1_norm() < other[0].l1_norm() {
        true => solved([other, one], [open[J], open[I]]),
        false => solved([one, other], [open[I], open[J]]),
    }
}

/// Two equations in two unknowns, by Gauss's elimination from the first.
#[inline(always)]
fn solved(
    [one, other]: [[Complex<f64>; 2]; 2],
    [known, other_known]: [Complex<f64>; 2],
) -> [Complex<f64>; 2] {
    let over = reciprocal(one[0]);
    let factor = other[0] * over;
    let second = (other_known - factor * known) * reciprocal(other[1] - factor * one[1]);
    [(known - one[1] * second) * over, second]
}

/// Impedance between two of the three ports, from what each sees: with v₁₂ + v₂₃ = v₁₃, twice
/// Z(12, 13) is Z₁₂ + Z₁₃ - Z₂₃, and so on.
#[inline(always)]
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::netlist::{Law, Netlist, NodeId, Role};
    use crate::quantity::Address;
    use crate::solution::{Attachment, PortSystem};

    const VOLT: f64 = 120.0;

    /// A receptacle of which one slot hangs on so many ohms.
    fn receptacle(floating: usize, ohm: f64) -> (Netlist, [(NodeId, NodeId); 3]) {
        let mut netlist = Netlist::new(60.0);
        let slots = ["hot", "neutral", "ground"].map(|name| netlist.node(&Address::from(name)));
        let emf_volt = Phasor::new(VOLT, 0.0);
        for (nth, &slot) in slots.iter().enumerate() {
            let impedance = Impedance::new(if nth == floating { ohm } else { 0.3 }, 0.1);
            let emf_volt = if nth == 0 { emf_volt } else { Phasor::new(0.0, 1.0) };
            let law = Law::Source { emf_volt, impedance };
            netlist.add(format!("s{nth}"), slot, Netlist::EARTH, Role::Wire, law).unwrap();
        }
        (netlist, [(0, 1), (0, 2), (1, 2)].map(|(p, q)| (slots[p], slots[q])))
    }

    #[test]
    fn whatever_is_held_to_three_slots_reads_as_in_the_network_whichever_of_them_floats() {
        let ohm = |ohm| Some(Impedance::resistance(ohm));
        let burdens = [
            [ohm(40e3); 3],
            [ohm(40e3), ohm(70e3), None],
            [ohm(12.0), None, None],
            [None, Some(Impedance::new(3e3, 200.0)), ohm(10e6)],
            [None; 3],
        ];
        for (floating, apart_ohm) in (0..3).flat_map(|slot| [1.0, 1e5, 1e10].map(|z| (slot, z))) {
            let (netlist, pairs) = receptacle(floating, apart_ohm);
            let ports = PortSystem::new(&netlist, &pairs).unwrap();
            let slots = SlotsSight::new([0, 1, 2].map(|port| PortSight {
                voltage_volt: ports.open_circuit(port),
                impedance: ports.impedance(port, port),
            }));
            for burden in burdens {
                let held = [0, 1, 2].map(|port| Attachment {
                    port,
                    law: burden[port].map_or(Law::Open, Law::Impedance),
                });
                let all = &ports.attach(&held).unwrap()[0];
                let shown = slots.attached(burden).unwrap();
                let mut four = [[Wide::ZERO; 3]; 2];
                for (port, seen) in slots.ports().iter().enumerate() {
                    let z = seen.impedance.unwrap();
                    let of_port = [
                        complex(seen.voltage_volt.unwrap()),
                        Complex::new(z.resistance_ohm, z.reactance_ohm),
                    ];
                    // The others are of other receptacles, turned about.
                    for lane in 0..LANES {
                        let at = if lane == 2 { port } else { (port + lane) % 3 };
                        four[0][at].set(lane, of_port[0]);
                        four[1][at].set(lane, of_port[1]);
                    }
                }
                let abreast = attached_abreast(&four[0], &four[1], &Admittances::of(burden));
                for (one, other) in abreast[2].unwrap().iter().zip(shown) {
                    let apart = (*one - other).magnitude();
                    assert!(apart <= 1e-14 * VOLT, "{apart:e}, four side by side: {burden:?}");
                }
                // What is seen between two ports has the last digit of what the slot hangs on.
                let ampere = all.current_ampere.iter().map(|i| i.magnitude()).fold(0.0, f64::max);
                let rounding_volt = 1e-14 * VOLT + f64::EPSILON * apart_ohm * ampere;
                for (attachment, expected) in held.iter().zip(&all.voltage_volt) {
                    let apart = (shown[attachment.port] - expected.unwrap()).magnitude();
                    let what = format!("{floating} by {apart_ohm}: {burden:?}");
                    assert!(apart <= rounding_volt, "{apart:e} {what}");
                }
            }
        }
    }
}
