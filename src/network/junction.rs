//! The tree of bags of an elimination: each step's row with the rows it still had as neighbours.
//!
//! A step's bag hangs from that of the first of its neighbours to go, which holds all of them: a
//! junction tree (Shafer & Shenoy 1990). Cut between the two, the network falls into two halves
//! that meet in those neighbours alone.

use super::bag::{BAG_MAX, pairs};
use super::plan::Plan;

/// No bag.
pub(crate) const NONE: u32 = u32::MAX;

/// Where each bag's begin in a list sorted by bag, and where the last one's end.
pub(super) fn starts(bags: impl Iterator<Item = u32>, n_bags: usize) -> Vec<u32> {
    let mut starts = vec![0_u32; n_bags + 1];
    for bag in bags {
        starts[bag as usize + 1] += 1;
    }
    for bag in 0..n_bags {
        starts[bag + 1] += starts[bag];
    }
    starts
}

/// Bags, one a step of a plan, in its order: each before the one it hangs from.
#[derive(Clone, Debug)]
pub(crate) struct Junction {
    /// The bag it hangs from; [`NONE`] for the last of all. Roots of separate networks hang from
    /// one another by no row at all, so that there is one tree.
    pub(crate) parent: Vec<u32>,
    /// First bag of those that hang from it, directly or not: they are all from there to it.
    pub(crate) first: Vec<u32>,
    /// Number of bags above it.
    pub(crate) depth: Vec<u32>,
    /// One of the bags above it, far up (Myers 1983, Information Processing Letters 17): from one
    /// to the next any is reached in a number of leaps that grows as the logarithm.
    leap: Vec<u32>,
    upper_at: Vec<u32>,
    /// The rows of each bag but its own.
    upper: Vec<u32>,
    /// Place of each neighbour in the bag that this one hangs from.
    position: Vec<u8>,
    child_at: Vec<u32>,
    child: Vec<u32>,
    node_at: Vec<u32>,
    pair_at: Vec<u32>,
}

impl Junction {
    /// `None` where a bag would hold too many rows.
    pub(crate) fn new(plan: &Plan) -> Option<Self> {
        let n = plan.n_rows();
        let upper = |step: usize| &plan.upper[plan.edges(step)];
        let mut next_root = NONE;
        let mut parent = vec![NONE; n];
        for step in (0..n).rev() {
            parent[step] = upper(step).first().copied().unwrap_or(next_root);
            if upper(step).is_empty() {
                next_root = step as u32;
            }
        }
        let mut first: Vec<u32> = (0..n as u32).collect();
        for (step, &above) in parent.iter().enumerate() {
            if let Some(first_above) = first.get(above as usize).copied() {
                first[above as usize] = first_above.min(first[step]);
            }
        }
        let child_at = starts(parent.iter().copied().filter(|&above| above != NONE), n);
        let mut child = vec![0; *child_at.last()? as usize];
        let mut free = child_at.clone();
        let (mut upper_at, mut node_at, mut pair_at) = (vec![0], vec![0], vec![0]);
        let mut position = Vec::with_capacity(plan.n_edges());
        let (mut nodes, mut all_pairs) = (0_u32, 0_u32);
        for (step, &above) in parent.iter().enumerate() {
            let rows = 1 + upper(step).len();
            if rows > BAG_MAX {
                return None;
            }
            nodes += rows as u32;
            all_pairs += pairs(rows) as u32;
            node_at.push(nodes);
            pair_at.push(all_pairs);
            for &row in upper(step) {
                let place = match row == above {
                    true => 0,
                    false => 1 + upper(above as usize).binary_search(&row).ok()?,
                };
                position.push(place as u8);
            }
            upper_at.push(position.len() as u32);
            if let Some(free) = free.get_mut(above as usize).filter(|_| above != NONE) {
                child[*free as usize] = step as u32;
                *free += 1;
            }
        }
        let (mut depth, mut leap) = (vec![0; n], vec![NONE; n]);
        for bag in (0..n).rev() {
            let above = parent[bag] as usize;
            let Some(&far) = leap.get(above) else { continue };
            depth[bag] = depth[above] + 1;
            let beyond = leap.get(far as usize).copied().unwrap_or(NONE);
            let even = beyond != NONE
                && depth[above] - depth[far as usize]
                    == depth[far as usize] - depth[beyond as usize];
            leap[bag] = if even { beyond } else { above as u32 };
        }
        Some(Self {
            parent,
            first,
            depth,
            leap,
            upper_at,
            upper: plan.upper.clone(),
            position,
            child_at,
            child,
            node_at,
            pair_at,
        })
    }

    /// Number of bags.
    pub(crate) fn len(&self) -> usize {
        self.parent.len()
    }

    /// Number of rows of a bag.
    pub(crate) fn rows(&self, bag: usize) -> usize {
        (self.node_at[bag + 1] - self.node_at[bag]) as usize
    }

    /// Where the rows of a bag are kept.
    pub(crate) fn nodes(&self, bag: usize) -> std::ops::Range<usize> {
        self.node_at[bag] as usize..self.node_at[bag + 1] as usize
    }

    /// Where the pairs of a bag are kept.
    pub(crate) fn pairs(&self, bag: usize) -> std::ops::Range<usize> {
        self.pair_at[bag] as usize..self.pair_at[bag + 1] as usize
    }

    /// For each row of a bag but its own, ascending, the place in the bag it hangs from.
    pub(crate) fn positions(&self, bag: usize) -> &[u8] {
        &self.position[self.upper_at[bag] as usize..self.upper_at[bag + 1] as usize]
    }

    /// The rows of a bag but its own, ascending, each by the bag whose own it is.
    pub(crate) fn upper(&self, bag: usize) -> &[u32] {
        &self.upper[self.upper_at[bag] as usize..self.upper_at[bag + 1] as usize]
    }

    /// The bags that hang from one.
    pub(crate) fn children(&self, bag: usize) -> &[u32] {
        &self.child[self.child_at[bag] as usize..self.child_at[bag + 1] as usize]
    }

    /// The last bag before `bound` on the way up from a bag that is before it.
    pub(crate) fn climb(&self, bag: u32, bound: u32) -> u32 {
        let mut at = bag as usize;
        loop {
            at = match (self.leap[at], self.parent[at]) {
                (leap, _) if leap < bound => leap as usize,
                (_, parent) if parent < bound => parent as usize,
                _ => return at as u32,
            };
        }
    }

    /// Whether a bag is another or hangs from it, directly or not.
    pub(crate) fn is_under(&self, bag: u32, top: u32) -> bool {
        self.first[top as usize] <= bag && bag <= top
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_bag_is_held_by_the_one_it_hangs_from() {
        // A ring of twelve with a tail, and a lone pair.
        let ring = (0..12_u32).map(|i| (i, (i + 1) % 12));
        let ends: Vec<_> = ring.chain([(3, 12), (12, 13), (14, 15)]).collect();
        let plan = Plan::new(16, &ends, &[]);
        let junction = Junction::new(&plan).unwrap();
        assert_eq!(junction.len(), 16);
        assert_eq!(junction.parent.iter().filter(|&&parent| parent == NONE).count(), 1);
        for bag in 0..16_usize {
            let upper = &plan.upper[plan.edges(bag)];
            assert_eq!(junction.rows(bag), 1 + upper.len());
            let parent = junction.parent[bag];
            for (&row, &place) in upper.iter().zip(junction.positions(bag)) {
                let above = &plan.upper[plan.edges(parent as usize)];
                let there = if place == 0 { parent } else { above[place as usize - 1] };
                assert_eq!(there, row);
            }
            assert!(junction.positions(bag).is_sorted());
            if parent != NONE {
                assert!(junction.is_under(bag as u32, parent));
                assert!(junction.children(parent as usize).contains(&(bag as u32)));
            }
        }
        assert!((0..16).all(|bag| junction.is_under(bag, 15)));
        for bag in 0..16_u32 {
            for bound in bag + 1..16 {
                let mut one_by_one = bag;
                while junction.parent[one_by_one as usize] < bound {
                    one_by_one = junction.parent[one_by_one as usize];
                }
                assert_eq!(junction.climb(bag, bound), one_by_one);
            }
        }
    }
}
