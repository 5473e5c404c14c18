//! Currents of elements without impedance.
//!
//! Their ends are one point, so no voltage tells their current; Kirchhoff's current law does:
//! what the other elements bring to a node must leave through these. Where they form a loop the
//! split is that of equal vanishing resistances, and the same elimination on edges computes it,
//! with one siemens each.

use nalgebra::Complex;

use crate::network::{Place, Plan, REFERENCE, RigidBranch, Sum, Workspace};

/// Current of every rigid branch from `a` to `b`, given the current the other elements take out
/// of each node.
pub(super) fn currents(rigid: &[RigidBranch], taken: &[Sum]) -> Vec<Complex<f64>> {
    let rows = Rows::new(rigid, taken.len());
    let ends: Vec<_> = rigid.iter().map(|b| (rows.row(b.a), rows.row(b.b))).collect();
    let plan = Plan::new(rows.count as usize, &ends, &[]);
    let place: Vec<Place> =
        ends.iter().map(|&(a, b)| plan.place(a, b).unwrap_or(Place::Nowhere)).collect();
    let mut work = Workspace::default();
    work.clear(&plan);
    for &place in &place {
        work.join(place, Complex::ONE);
    }
    work.eliminate(&plan);
    for (node, &row) in rows.of_node.iter().enumerate() {
        if row != REFERENCE {
            work.inject_sum(plan.step(row), taken[node].negative());
        }
    }
    work.solve(&plan);
    place.iter().map(|&place| work.difference(place)).collect()
}

/// A row for every node at a rigid branch but one of each group.
struct Rows {
    of_node: Vec<u32>,
    count: u32,
}

impl Rows {
    fn new(rigid: &[RigidBranch], n_nodes: usize) -> Self {
        let mut group = petgraph::unionfind::UnionFind::new(n_nodes);
        let mut touched = vec![false; n_nodes];
        for branch in rigid {
            group.union(branch.a as usize, branch.b as usize);
            touched[branch.a as usize] = true;
            touched[branch.b as usize] = true;
        }
        let mut rows = Self { of_node: vec![REFERENCE; n_nodes], count: 0 };
        for (node, row) in rows.of_node.iter_mut().enumerate() {
            if touched[node] && group.find(node) != node {
                *row = rows.count;
                rows.count += 1;
            }
        }
        rows
    }

    fn row(&self, node: u32) -> u32 {
        self.of_node[node as usize]
    }
}
