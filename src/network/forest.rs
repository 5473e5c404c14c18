//! The strongest branches that join everything, and the EMFs moved off them.
//!
//! A source as a current between two nodes would drive kiloamperes in and out again and drown
//! the microampere of interest. Instead V = U + φ, with φ chosen along a spanning forest of the
//! strongest branches so that none of these has an EMF left in terms of U. What is left,
//! emf - (φ_a - φ_b), sits on loads and insulation and drives no more than their current.

use std::collections::VecDeque;

use petgraph::unionfind::UnionFind;

use super::LinearBranch;
use super::sum::Sum;

/// One step of a walk over the forest, from a group already visited to a new one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stride {
    pub(crate) from: u32,
    pub(crate) to: u32,
    /// Place of the branch among the linear branches.
    pub(crate) branch: u32,
}

/// A spanning forest of the strongest branches, walked from the reference of every part.
#[derive(Clone, Debug, Default)]
pub(crate) struct Forest {
    /// Part of each group.
    pub(crate) part: Vec<u32>,
    /// The group each part is reckoned from.
    pub(crate) reference: Vec<u32>,
    /// φ of each group; zero at references.
    pub(crate) offset: Vec<Sum>,
    /// Every group but the references, each after the one it is reached from.
    pub(crate) walk: Vec<Stride>,
}

const NONE: u32 = u32::MAX;

impl Forest {
    /// Spans `n_groups` groups; every part is reckoned from the group of `preferred` that comes
    /// first, or from its own first.
    pub(crate) fn new(n_groups: usize, branches: &[LinearBranch], preferred: &[u32]) -> Self {
        let tree = Tree::strongest(n_groups, branches);
        let mut forest = Self {
            part: vec![NONE; n_groups],
            reference: Vec::new(),
            offset: vec![Sum::default(); n_groups],
            walk: Vec::with_capacity(n_groups),
        };
        for start in preferred.iter().copied().chain(0..n_groups as u32) {
            if forest.part[start as usize] == NONE {
                forest.visit(start, &tree, branches);
            }
        }
        forest
    }

    fn visit(&mut self, start: u32, tree: &Tree, branches: &[LinearBranch]) {
        let part = self.reference.len() as u32;
        self.reference.push(start);
        self.part[start as usize] = part;
        let mut queue = VecDeque::from([start]);
        while let Some(from) = queue.pop_front() {
            for &place in tree.branches_at(from) {
                let branch = &branches[place as usize];
                // φ_a - φ_b = emf
                let (to, rise) =
                    if branch.a == from { (branch.b, -branch.emf) } else { (branch.a, branch.emf) };
                if self.part[to as usize] != NONE {
                    continue;
                }
                self.part[to as usize] = part;
                self.offset[to as usize] = self.offset[from as usize];
                self.offset[to as usize].add(rise);
                self.walk.push(Stride { from, to, branch: place });
                queue.push_back(to);
            }
        }
    }

    /// emf - (φ_a - φ_b).
    pub(crate) fn emf_left(&self, branch: &LinearBranch) -> Sum {
        let (a, b) = (self.offset[branch.a as usize], self.offset[branch.b as usize]);
        let mut left = b.minus(a);
        left.add(branch.emf);
        left
    }
}

/// Branches of the spanning forest, by group.
struct Tree {
    start: Vec<u32>,
    branch: Vec<u32>,
}

impl Tree {
    /// Kruskal's algorithm on falling |y|.
    fn strongest(n_groups: usize, branches: &[LinearBranch]) -> Self {
        let mut falling: Vec<u32> = (0..branches.len() as u32).collect();
        let strength: Vec<f64> = branches.iter().map(|b| b.y.norm_sqr()).collect();
        falling.sort_by(|&i, &j| strength[j as usize].total_cmp(&strength[i as usize]));
        let mut joined = UnionFind::new(n_groups);
        falling.retain(|&i| {
            let branch = &branches[i as usize];
            joined.union(branch.a as usize, branch.b as usize)
        });
        let mut start = vec![0_u32; n_groups + 1];
        for &i in &falling {
            start[branches[i as usize].a as usize + 1] += 1;
            start[branches[i as usize].b as usize + 1] += 1;
        }
        for group in 0..n_groups {
            start[group + 1] += start[group];
        }
        let mut next = start.clone();
        let mut branch = vec![0_u32; 2 * falling.len()];
        for &i in &falling {
            for end in [branches[i as usize].a, branches[i as usize].b] {
                branch[next[end as usize] as usize] = i;
                next[end as usize] += 1;
            }
        }
        Self { start, branch }
    }

    fn branches_at(&self, group: u32) -> &[u32] {
        let group = group as usize;
        &self.branch[self.start[group] as usize..self.start[group + 1] as usize]
    }
}
