//! A few linear attachments on a linear network: (I + Z Y) v = v₀ without any allocation.

use nalgebra::Complex;

use super::port_system::{AttachedState, Attachment, PortSystem, admittance};
use crate::network::{Refusal, phasor};

/// More attachments than this are left to the general way.
const FEW: usize = 6;

impl PortSystem {
    /// What a few linear attachments see. `None` where it is not that simple: nonlinear elements,
    /// ports between parts that nothing joins, many attachments, or a pivot of zero.
    pub(super) fn attach_few(
        &self,
        attachments: &[Attachment],
    ) -> Result<Option<AttachedState>, Refusal> {
        let n = attachments.len();
        let linear = attachments.iter().all(|attachment| attachment.law.is_linear());
        if n > FEW || !linear || !self.is_linear() {
            return Ok(None);
        }
        let mut y = [Complex::ZERO; FEW];
        for (y, attachment) in y.iter_mut().zip(attachments) {
            *y = admittance(attachment, self.frequency_hz())?;
        }
        let mut open = [Complex::ZERO; FEW];
        let mut z = [[Complex::ZERO; FEW]; FEW];
        for (row, attachment) in attachments.iter().enumerate() {
            let Some(own) = self.open(attachment.port) else { return Ok(None) };
            open[row] = own;
            for (column, other) in attachments.iter().enumerate() {
                let Some(own) = self.between(attachment.port, other.port) else { return Ok(None) };
                z[row][column] = own;
            }
        }
        let v = attached(&open[..n], |row, column| z[row][column], &y[..n]);
        Ok(v.map(|v| AttachedState {
            reached: true,
            voltage_volt: v[..n].iter().map(|&v| Some(phasor(v))).collect(),
            current_ampere: v[..n].iter().zip(&y).map(|(&v, &y)| phasor(v * y)).collect(),
        }))
    }
}

/// Voltages of ports with open voltages v₀ and impedances Z at which admittances are attached;
/// `None` for more than [`FEW`], or where a pivot is zero.
fn attached(
    open: &[Complex<f64>],
    z: impl Fn(usize, usize) -> Complex<f64>,
    y: &[Complex<f64>],
) -> Option<[Complex<f64>; FEW]> {
    let n = open.len();
    if n > FEW || y.len() != n {
        return None;
    }
    let mut system = [[Complex::ZERO; FEW]; FEW];
    let mut v = [Complex::ZERO; FEW];
    v[..n].copy_from_slice(open);
    for (row, of_row) in system.iter_mut().enumerate().take(n) {
        for (column, y) in y.iter().enumerate() {
            of_row[column] = z(row, column) * y;
        }
        of_row[row] += Complex::ONE;
    }
    solve(&mut system, &mut v, n)?;
    Some(v)
}

/// Gauss's elimination with the largest pivot of each column.
fn solve(
    system: &mut [[Complex<f64>; FEW]; FEW],
    v: &mut [Complex<f64>; FEW],
    n: usize,
) -> Option<()> {
    let mut over = [Complex::ZERO; FEW];
    for column in 0..n {
        let mut pivot = column;
        for row in column + 1..n {
            if system[row][column].l1_norm() > system[pivot][column].l1_norm() {
                pivot = row;
            }
        }
        system.swap(column, pivot);
        v.swap(column, pivot);
        let (given, known) = (system[column], v[column]);
        if given[column] == Complex::ZERO {
            return None;
        }
        over[column] = given[column].inv();
        for row in column + 1..n {
            let factor = system[row][column] * over[column];
            for (value, given) in system[row][..n].iter_mut().zip(&given).skip(column + 1) {
                *value -= factor * given;
            }
            v[row] -= factor * known;
        }
    }
    for row in (0..n).rev() {
        for column in row + 1..n {
            let known = system[row][column] * v[column];
            v[row] -= known;
        }
        v[row] *= over[row];
    }
    v.iter().all(|v| v.re.is_finite() && v.im.is_finite()).then_some(())
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::{Law, Netlist, Role};
    use crate::quantity::{Address, Impedance, Phasor};

    /// Two ways to solve one small system differ by rounding only.
    const ROUNDING: f64 = 1e-12;

    #[test]
    fn a_few_attachments_see_what_many_would() {
        let mut netlist = Netlist::new(60.0);
        let [bar, hot, neutral] =
            ["bar", "hot", "neutral"].map(|n| netlist.node(&Address::from(n)));
        let earth = Netlist::EARTH;
        let emf_volt = Phasor::new(120.0, 0.0);
        let law = Law::Source { emf_volt, impedance: Impedance::new(0.02, 0.01) };
        netlist.add("supply", bar, earth, Role::Winding, law).unwrap();
        netlist.add("hot", bar, hot, Role::Wire, Law::resistance(0.4)).unwrap();
        netlist.add("neutral", neutral, earth, Role::Wire, Law::resistance(900.0)).unwrap();
        netlist.add("load", hot, neutral, Role::Load, Law::resistance(50.0)).unwrap();
        let pairs = [(hot, neutral), (hot, earth), (neutral, earth)];
        let ports = PortSystem::new(&netlist, &pairs).unwrap();
        let at = |port, law| Attachment { port, law };
        let few = [
            at(0, Law::resistance(8.0)),
            at(1, Law::Open),
            at(2, Law::Capacitor { capacitance_farad: 1e-6 }),
        ];
        // Looks that change nothing make it too many for the short way.
        let mut many = few.to_vec();
        many.extend([at(0, Law::Open); FEW]);
        assert!(ports.attach_few(&many).unwrap().is_none());
        let (few, many) = (ports.attach(&few).unwrap(), ports.attach(&many).unwrap());
        for port in 0..3 {
            let (one, other) =
                (few[0].voltage_volt[port].unwrap(), many[0].voltage_volt[port].unwrap());
            assert_relative_eq!(one.re, other.re, max_relative = ROUNDING);
            assert_relative_eq!(one.im, other.im, max_relative = ROUNDING, epsilon = ROUNDING);
        }
    }
}
