//! The order of elimination: minimum degree, then postorder.
//!
//! Eliminating a row joins its remaining neighbours with one another. Taking the row with the
//! fewest neighbours first keeps the joins few (Tinney & Walker 1967, scheme 2; Markowitz for
//! symmetric patterns); relabelling by postorder of the elimination tree keeps what is used
//! together close in memory and changes no join (Liu 1990).

/// Rows in the order of elimination, and for each the neighbours it still has then.
pub(super) struct Order {
    /// Row eliminated at each step.
    pub(super) row: Vec<u32>,
    /// Where each step's neighbours start in `upper`; one more entry than steps.
    pub(super) start: Vec<u32>,
    /// Neighbours as steps, ascending within a step.
    pub(super) upper: Vec<u32>,
}

/// Orders `n_rows` rows joined by `edges`. Rows in `last` are kept to the end.
///
/// Linear in rows and joins, except that the longest neighbour list but one of each step is
/// scanned.
pub(super) fn order(n_rows: usize, edges: &[(u32, u32)], last: &[u32]) -> Order {
    postorder(&minimum_degree(n_rows, edges, last))
}

const NONE: u32 = u32::MAX;

/// Elimination as it comes out of the minimum-degree rule: neighbours are rows, not steps.
struct Raw {
    row: Vec<u32>,
    start: Vec<u32>,
    upper: Vec<u32>,
}

fn minimum_degree(n_rows: usize, edges: &[(u32, u32)], last: &[u32]) -> Raw {
    let mut graph = Joins::new(n_rows, edges);
    let mut queue = Queue::new(n_rows, last);
    for row in 0..n_rows as u32 {
        queue.push(row, graph.degree[row as usize]);
    }
    let mut raw = Raw {
        row: Vec::with_capacity(n_rows),
        start: vec![0],
        upper: Vec::with_capacity(edges.len() * 2),
    };
    while let Some(row) = queue.pop(&graph.degree) {
        graph.eliminate(row, &mut queue);
        raw.row.push(row);
        raw.upper.extend_from_slice(&graph.around);
        raw.start.push(raw.upper.len() as u32);
    }
    raw
}

/// The graph of the rows not yet eliminated.
struct Joins {
    neighbours: Vec<Vec<u32>>,
    degree: Vec<u32>,
    eliminated: Vec<bool>,
    stamp: Vec<u32>,
    stamps: u32,
    /// Neighbours of the row eliminated last.
    around: Vec<u32>,
}

impl Joins {
    fn new(n_rows: usize, edges: &[(u32, u32)]) -> Self {
        let mut neighbours = vec![Vec::new(); n_rows];
        for &(a, b) in edges {
            if a != b {
                neighbours[a as usize].push(b);
                neighbours[b as usize].push(a);
            }
        }
        for list in &mut neighbours {
            list.sort_unstable();
            list.dedup();
        }
        let degree = neighbours.iter().map(|list| list.len() as u32).collect();
        Self {
            neighbours,
            degree,
            eliminated: vec![false; n_rows],
            stamp: vec![0; n_rows],
            stamps: 0,
            around: Vec::new(),
        }
    }

    /// Takes `row` out and joins its neighbours; they end up in `around`.
    fn eliminate(&mut self, row: u32, queue: &mut Queue) {
        self.eliminated[row as usize] = true;
        let mut around = std::mem::take(&mut self.around);
        around.clear();
        let list = std::mem::take(&mut self.neighbours[row as usize]);
        around.extend(list.iter().copied().filter(|&i| !self.eliminated[i as usize]));
        // Shortest list first, so that a bus with a thousand neighbours is never scanned.
        around.sort_unstable_by_key(|&i| (self.neighbours[i as usize].len(), i));
        for (place, &i) in around.iter().enumerate() {
            self.degree[i as usize] -= 1;
            let later = &around[place + 1..];
            if !later.is_empty() {
                self.join(i, later);
            }
        }
        for &i in &around {
            queue.push(i, self.degree[i as usize]);
        }
        self.around = around;
    }

    /// Joins `i` with those of `others` it is not yet joined with.
    fn join(&mut self, i: u32, others: &[u32]) {
        self.stamps += 1;
        let mut list = std::mem::take(&mut self.neighbours[i as usize]);
        list.retain(|&j| !self.eliminated[j as usize]);
        for &j in &list {
            self.stamp[j as usize] = self.stamps;
        }
        for &j in others {
            if self.stamp[j as usize] != self.stamps {
                list.push(j);
                self.neighbours[j as usize].push(i);
                self.degree[i as usize] += 1;
                self.degree[j as usize] += 1;
            }
        }
        self.neighbours[i as usize] = list;
    }
}

/// Rows by degree; entries whose degree has changed since are passed over. The latest comes
/// first, which keeps the elimination local.
struct Queue {
    bucket: Vec<Vec<u32>>,
    lowest: usize,
    taken: Vec<bool>,
    kept_back: Vec<bool>,
    last: Vec<u32>,
}

impl Queue {
    fn new(n_rows: usize, last: &[u32]) -> Self {
        let mut kept_back = vec![false; n_rows];
        for &row in last {
            kept_back[row as usize] = true;
        }
        let last = last.iter().rev().copied().collect();
        Self { bucket: Vec::new(), lowest: 0, taken: vec![false; n_rows], kept_back, last }
    }

    fn push(&mut self, row: u32, degree: u32) {
        if self.kept_back[row as usize] {
            return;
        }
        let degree = degree as usize;
        if self.bucket.len() <= degree {
            self.bucket.resize_with(degree + 1, Vec::new);
        }
        self.bucket[degree].push(row);
        self.lowest = self.lowest.min(degree);
    }

    fn pop(&mut self, degree: &[u32]) -> Option<u32> {
        while let Some(bucket) = self.bucket.get_mut(self.lowest) {
            match bucket.pop() {
                None => self.lowest += 1,
                Some(row) => {
                    let current = degree[row as usize] as usize == self.lowest;
                    if current && !self.taken[row as usize] {
                        self.taken[row as usize] = true;
                        return Some(row);
                    }
                }
            }
        }
        while let Some(row) = self.last.pop() {
            if !self.taken[row as usize] {
                self.taken[row as usize] = true;
                return Some(row);
            }
        }
        None
    }
}

/// Relabels steps by a postorder of the elimination tree, in which a step's parent is the
/// first of its neighbours to go.
fn postorder(raw: &Raw) -> Order {
    let n = raw.row.len();
    let mut raw_step = vec![0_u32; n];
    for (step, &row) in raw.row.iter().enumerate() {
        raw_step[row as usize] = step as u32;
    }
    let upper = |step: usize| &raw.upper[raw.start[step] as usize..raw.start[step + 1] as usize];
    let new_step = postorder_steps(n, |step| {
        upper(step).iter().map(|&row| raw_step[row as usize]).min().unwrap_or(NONE)
    });
    let mut order = Order {
        row: vec![0; n],
        start: Vec::with_capacity(n + 1),
        upper: Vec::with_capacity(raw.upper.len()),
    };
    let mut old_step = vec![0_u32; n];
    for (old, &new) in new_step.iter().enumerate() {
        old_step[new as usize] = old as u32;
    }
    order.start.push(0);
    for (new, &old) in old_step.iter().enumerate() {
        order.row[new] = raw.row[old as usize];
        let from = order.upper.len();
        let steps = upper(old as usize).iter();
        order.upper.extend(steps.map(|&row| new_step[raw_step[row as usize] as usize]));
        order.upper[from..].sort_unstable();
        order.start.push(order.upper.len() as u32);
    }
    order
}

/// New number of each old step in a postorder of the forest given by `parent`, whose parents
/// come later than their children.
fn postorder_steps(n: usize, parent: impl Fn(usize) -> u32) -> Vec<u32> {
    let (mut first_child, mut sibling) = (vec![NONE; n], vec![NONE; n]);
    let mut roots = Vec::new();
    for step in (0..n).rev() {
        match parent(step) {
            NONE => roots.push(step as u32),
            parent => {
                sibling[step] = first_child[parent as usize];
                first_child[parent as usize] = step as u32;
            }
        }
    }
    let mut new_step = vec![0_u32; n];
    let mut count = 0;
    let mut stack = roots;
    while let Some(&top) = stack.last() {
        let child = first_child[top as usize];
        if child == NONE {
            new_step[top as usize] = count;
            count += 1;
            stack.pop();
        } else {
            first_child[top as usize] = sibling[child as usize];
            stack.push(child);
        }
    }
    new_step
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tree_is_eliminated_from_its_leaves_without_a_join() {
        let edges: Vec<_> = (1..50_u32).map(|i| (i, i / 3)).collect();
        let order = order(50, &edges, &[]);
        assert_eq!(order.upper.len(), edges.len());
    }

    #[test]
    fn every_row_is_eliminated_once_and_neighbours_come_later() {
        let path = (1..20_u32).map(|i| (i - 1, i));
        let edges: Vec<_> = path.chain((0..9).map(|i| (i * 2, (i * 7 + 3) % 20))).collect();
        let order = order(20, &edges, &[4, 9]);
        let mut rows = order.row.clone();
        assert_eq!(&rows[18..], &[4, 9]);
        rows.sort_unstable();
        assert_eq!(rows, (0..20).collect::<Vec<_>>());
        for step in 0..20 {
            let upper = &order.upper[order.start[step] as usize..order.start[step + 1] as usize];
            assert!(upper.iter().all(|&later| later as usize > step));
            assert!(upper.is_sorted());
        }
    }
}
