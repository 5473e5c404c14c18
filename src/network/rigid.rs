//! Points that elements without impedance hold together.

use nalgebra::Complex;

use super::sum::Sum;

/// An element of no impedance: V_a - V_b = emf.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RigidBranch {
    /// Number of the element in its netlist.
    pub(crate) element: u32,
    pub(crate) a: u32,
    pub(crate) b: u32,
    pub(crate) emf: Complex<f64>,
}

/// Nodes merged into groups.
#[derive(Clone, Debug, Default)]
pub(crate) struct Groups {
    /// Group of each node.
    pub(crate) of_node: Vec<u32>,
    /// V(node) - V(group) of each node; empty where no two nodes are one group.
    rise: Vec<Sum>,
    /// Number of groups.
    pub(crate) count: usize,
}

/// EMFs around a loop without impedance may miss zero by this share of the largest, which is
/// what decimal figures of three-phase sets leave.
const LOOP_EMF_TOLERANCE: f64 = 1e-9;

impl Groups {
    /// Merges the ends of every rigid branch.
    ///
    /// # Errors
    /// The number of an element that closes a loop whose EMFs do not add up to zero.
    pub(crate) fn new(n_nodes: usize, rigid: &[RigidBranch]) -> Result<Self, u32> {
        let mut at_node = vec![Vec::new(); if rigid.is_empty() { 0 } else { n_nodes }];
        for branch in rigid {
            at_node[branch.a as usize].push(branch);
            at_node[branch.b as usize].push(branch);
        }
        let mut groups = Self {
            of_node: vec![u32::MAX; n_nodes],
            rise: vec![Sum::default(); at_node.len()],
            count: 0,
        };
        let mut stack = Vec::new();
        for node in 0..n_nodes {
            if groups.of_node[node] != u32::MAX {
                continue;
            }
            groups.of_node[node] = groups.count as u32;
            stack.push(node as u32);
            while let Some(near) = stack.pop() {
                for branch in at_node.get(near as usize).into_iter().flatten() {
                    if let Some(new) = groups.follow(branch, near)? {
                        stack.push(new);
                    }
                }
            }
            groups.count += 1;
        }
        Ok(groups)
    }

    /// V(node) - V(group) of a node.
    pub(crate) fn rise(&self, node: u32) -> Sum {
        self.rise.get(node as usize).copied().unwrap_or_default()
    }

    /// Whether any node is held to another.
    pub(crate) fn rises(&self) -> bool {
        !self.rise.is_empty()
    }

    /// Takes the far end of a branch into the group of its near end; `None` if it is there.
    fn follow(&mut self, branch: &RigidBranch, near: u32) -> Result<Option<u32>, u32> {
        let (far, emf) =
            if near == branch.a { (branch.b, -branch.emf) } else { (branch.a, branch.emf) };
        // V(far) = V(near) + emf
        let mut rise = self.rise[near as usize];
        rise.add(emf);
        if self.of_node[far as usize] == u32::MAX {
            self.of_node[far as usize] = self.of_node[near as usize];
            self.rise[far as usize] = rise;
            return Ok(Some(far));
        }
        let known = self.rise[far as usize];
        let miss = rise.minus(known).value().l1_norm();
        let size = emf.l1_norm() + known.value().l1_norm();
        if miss > LOOP_EMF_TOLERANCE * size {
            return Err(branch.element);
        }
        Ok(None)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn loop_of(emfs: [f64; 3]) -> Result<Groups, u32> {
        let ends = [(0, 1), (1, 2), (2, 0)];
        let branch = |(element, ((a, b), emf)): (usize, ((u32, u32), f64))| RigidBranch {
            element: element as u32,
            a,
            b,
            emf: Complex::new(emf, 0.0),
        };
        let rigid: Vec<_> = ends.into_iter().zip(emfs).enumerate().map(branch).collect();
        Groups::new(3, &rigid)
    }

    #[test]
    fn sources_in_a_loop_without_impedance_agree_to_a_thousand_millionth_of_their_size() {
        assert_eq!(loop_of([120.0, 120.0, -240.0]).unwrap().count, 1);
        assert!(loop_of([120.0, 120.0, -239.0]).is_err());
        // Near the tolerance, of small EMFs and of large ones.
        assert!(loop_of([0.01, 0.02, -0.03 * (1.0 + 3e-10)]).is_ok());
        assert!(loop_of([0.01, 0.02, -0.03 * (1.0 + 1e-8)]).is_err());
        assert!(loop_of([1e6, 2e6, -3e6 * (1.0 + 3e-10)]).is_ok());
        assert!(loop_of([1e6, 2e6, -3e6 * (1.0 + 1e-8)]).is_err());
    }

    #[test]
    fn nodes_rise_above_their_group_only_where_something_without_impedance_is() {
        assert!(loop_of([120.0, 120.0, -240.0]).unwrap().rises());
        let apart = Groups::new(3, &[]).unwrap();
        assert!(!apart.rises() && apart.count == 3 && apart.rise(1).is_zero());
    }
}
