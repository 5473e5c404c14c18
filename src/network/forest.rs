//! The strongest branches that join everything, and the EMFs moved off them.
//!
//! A source as a current between two nodes would drive kiloamperes in and out again and drown
//! the microampere of interest. Instead V = U + φ, with φ chosen along a spanning forest of the
//! strongest branches so that none of these has an EMF left in terms of U. What is left,
//! emf - (φ_a - φ_b), sits on loads and insulation and drives no more than their current.

use nalgebra::Complex;
use petgraph::unionfind::UnionFind;

use super::LinearBranch;
use super::sum::Sum;

/// One step of a walk over the forest, from a group already visited to a new one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stride {
    /// Place of the branch among the linear branches, twice, and one more if it is walked from its
    /// end `a`.
    packed: u32,
}

impl Stride {
    const fn new(branch: u32, is_forward: bool) -> Self {
        Self { packed: branch << 1 | is_forward as u32 }
    }

    /// Place of the branch among the linear branches.
    pub(crate) const fn branch(self) -> usize {
        (self.packed >> 1) as usize
    }

    /// Whether the branch is walked from its end `a`.
    pub(crate) const fn is_forward(self) -> bool {
        self.packed & 1 == 1
    }
}

/// A spanning forest of the strongest branches, walked from the reference of every part.
#[derive(Clone, Debug, Default)]
pub(crate) struct Forest {
    /// Part of each group.
    pub(crate) part: Vec<u32>,
    /// The group each part is reckoned from.
    pub(crate) reference: Vec<u32>,
    /// Place of each group's φ in `level`.
    level_of_group: Vec<u32>,
    /// Every φ there is; zero, that of references, is the first.
    level: Vec<Sum>,
    /// Every group but the references, each after the one it is reached from.
    pub(crate) walk: Vec<Stride>,
}

const NONE: u32 = u32::MAX;

impl Forest {
    /// Spans `n_groups` groups; every part is reckoned from the group of `preferred` that comes
    /// first, or from its own first.
    pub(crate) fn new(
        n_groups: usize,
        branches: &[LinearBranch],
        emf: impl Fn(u32) -> Complex<f64>,
        preferred: &[u32],
    ) -> Self {
        let tree = Tree::strongest(n_groups, branches);
        let mut forest = Self {
            part: vec![NONE; n_groups],
            reference: Vec::new(),
            level_of_group: vec![0; n_groups],
            level: vec![Sum::default()],
            walk: Vec::with_capacity(n_groups),
        };
        for start in preferred.iter().copied().chain(0..n_groups as u32) {
            if forest.part[start as usize] == NONE {
                forest.visit(start, &tree, branches, &emf);
            }
        }
        forest
    }

    fn visit(
        &mut self,
        start: u32,
        tree: &Tree,
        branches: &[LinearBranch],
        emf: &impl Fn(u32) -> Complex<f64>,
    ) {
        let part = self.reference.len() as u32;
        self.reference.push(start);
        self.part[start as usize] = part;
        let mut reached = vec![start];
        while let Some(from) = reached.pop() {
            for &place in tree.branches_at(from) {
                let branch = &branches[place as usize];
                let is_forward = branch.a == from;
                let to = if is_forward { branch.b } else { branch.a };
                if self.part[to as usize] != NONE {
                    continue;
                }
                self.part[to as usize] = part;
                // φ_a - φ_b = emf
                let emf = emf(place);
                self.level_of_group[to as usize] = if emf == Complex::ZERO {
                    self.level_of_group[from as usize]
                } else {
                    let mut offset = self.offset(from);
                    offset.add(if is_forward { -emf } else { emf });
                    self.level.push(offset);
                    self.level.len() as u32 - 1
                };
                self.walk.push(Stride::new(place, is_forward));
                reached.push(to);
            }
        }
    }

    /// φ of a group; zero at references.
    pub(crate) fn offset(&self, group: u32) -> Sum {
        self.level[self.level_of_group[group as usize] as usize]
    }

    /// Whether φ is the same at both, with no EMF on the way.
    pub(crate) fn is_level(&self, a: u32, b: u32) -> bool {
        self.level_of_group[a as usize] == self.level_of_group[b as usize]
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
        let strengths = branches.iter().enumerate().map(|(i, b)| (b.y.norm_sqr(), i as u32));
        let mut falling: Vec<(f64, u32)> = strengths.collect();
        falling.sort_unstable_by(|(x, i), (y, j)| y.total_cmp(x).then(i.cmp(j)));
        let mut joined = UnionFind::<u32>::new(n_groups);
        let mut kept = Vec::with_capacity(n_groups);
        for (_, i) in falling {
            let branch = &branches[i as usize];
            if joined.union(branch.a, branch.b) {
                kept.push(i);
            }
        }
        let mut start = vec![0_u32; n_groups + 1];
        for &i in &kept {
            start[branches[i as usize].a as usize + 1] += 1;
            start[branches[i as usize].b as usize + 1] += 1;
        }
        for group in 0..n_groups {
            start[group + 1] += start[group];
        }
        let mut next = start.clone();
        let mut branch = vec![0_u32; 2 * kept.len()];
        for &i in &kept {
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
