//! Sources coupled by mutual impedance, as admittances.
//!
//! Coupled sources obey V - E = Z I with a symmetric matrix Z. Its inverse Y gives each its own
//! admittance, and each pair one admittance y between the voltage of one and the current of the
//! other. In nodes, y is a lattice of four branches: -y between the two ends `a` and between the
//! two ends `b`, +y from each `a` to the other's `b`. Two legs with a common neutral leave three:
//! their own, less y, and one from line to line. No node is added and nothing is approximated.
//! The lattice has negative branches, but the pivots it enters keep positive real parts because Z
//! is passive; `Pivots` watches the cancellation.

use std::collections::BTreeMap;

use nalgebra::{Complex, DMatrix};

use super::branch::at_frequency;
use super::{LinearBranch, Mutual, Refusal, name};
use crate::netlist::{ElementId, Law, Netlist};

/// Admittances of the coupled sources of a netlist.
#[derive(Debug, Default)]
pub(crate) struct Coupled {
    own: BTreeMap<ElementId, Complex<f64>>,
    between: Vec<([ElementId; 2], Complex<f64>)>,
}

impl Coupled {
    pub(crate) fn new(netlist: &Netlist) -> Result<Self, Refusal> {
        let mut coupled = Self::default();
        for cluster in clusters(netlist) {
            coupled.invert(netlist, &cluster)?;
        }
        Ok(coupled)
    }

    /// Admittance of a source with the EMFs and voltages of the others at zero, if it is coupled.
    pub(crate) fn own_admittance(&self, source: ElementId) -> Option<Complex<f64>> {
        self.own.get(&source).copied()
    }

    /// The same between branches, by their places.
    pub(crate) fn mutuals(&self, branches: &[LinearBranch]) -> Vec<Mutual> {
        let place = |id: ElementId| {
            branches.binary_search_by_key(&id.0, |b| b.element).ok().map(|place| place as u32)
        };
        let pair = |&([first, second], y): &([ElementId; 2], Complex<f64>)| {
            Some(Mutual { pair: [place(first)?, place(second)?], y })
        };
        self.between.iter().filter_map(pair).collect()
    }

    fn invert(&mut self, netlist: &Netlist, cluster: &[ElementId]) -> Result<(), Refusal> {
        let frequency_hz = netlist.frequency_hz();
        let place = |id: ElementId| cluster.binary_search(&id).ok();
        let mut z = DMatrix::<Complex<f64>>::zeros(cluster.len(), cluster.len());
        for (i, &id) in cluster.iter().enumerate() {
            if let Law::Source { impedance, .. } = netlist.element(id).law {
                z[(i, i)] = at_frequency(impedance, frequency_hz).unwrap_or_default();
            }
        }
        for coupling in netlist.couplings() {
            if let (Some(i), Some(j)) = (place(coupling.first), place(coupling.second)) {
                let mutual = at_frequency(coupling.mutual, frequency_hz).unwrap_or_default();
                z[(i, j)] = mutual;
                z[(j, i)] = mutual;
            }
        }
        let singular = || Refusal::SingularCoupling { element: name(netlist, cluster[0].0) };
        let y = z.lu().try_inverse().ok_or_else(singular)?;
        if !y.iter().all(|y| y.re.is_finite() && y.im.is_finite()) {
            return Err(singular());
        }
        for (i, &id) in cluster.iter().enumerate() {
            self.own.insert(id, y[(i, i)]);
            for (j, &other) in cluster.iter().enumerate().skip(i + 1) {
                self.between.push(([id, other], y[(i, j)]));
            }
        }
        Ok(())
    }
}

/// Sources that are coupled with one another, directly or through others; each ascending.
fn clusters(netlist: &Netlist) -> Vec<Vec<ElementId>> {
    let mut clusters: Vec<Vec<ElementId>> = Vec::new();
    for coupling in netlist.couplings() {
        let ends = [coupling.first, coupling.second];
        let touches = |cluster: &Vec<ElementId>| ends.iter().any(|end| cluster.contains(end));
        let mut joined = ends.to_vec();
        clusters.retain(|cluster| {
            let touched = touches(cluster);
            if touched {
                joined.extend(cluster);
            }
            !touched
        });
        joined.sort_unstable();
        joined.dedup();
        clusters.push(joined);
    }
    clusters
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::netlist::Role;
    use crate::quantity::{Address, Impedance, Phasor};

    #[test]
    fn windings_are_inverted_together_where_a_chain_of_couplings_leads_from_one_to_the_other() {
        let mut netlist = Netlist::new(60.0);
        let windings: Vec<ElementId> = (0..6)
            .map(|at| {
                let end = netlist.node(&Address::from(format!("w{at}")));
                let emf_volt = Phasor::new(120.0, 0.0);
                let law = Law::Source { emf_volt, impedance: Impedance::new(0.1, 0.2) };
                netlist.add(format!("w{at}"), end, Netlist::EARTH, Role::Winding, law).unwrap()
            })
            .collect();
        let mutual = Impedance::new(0.0, 0.05);
        let mut couple = |a: usize, b: usize| {
            netlist.couple(windings[a], windings[b], mutual).unwrap();
            clusters(&netlist)
        };
        let of = |places: &[usize]| places.iter().map(|&at| windings[at]).collect::<Vec<_>>();
        assert_eq!(couple(0, 1), [of(&[0, 1])]);
        // Two sets that have nothing to do with each other stay two.
        assert_eq!(couple(4, 3), [of(&[0, 1]), of(&[3, 4])]);
        assert_eq!(couple(3, 1), [of(&[0, 1, 3, 4])]);
    }
}
