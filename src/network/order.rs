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

/// The same with a shallow tree, at the price of more joins: of a long run it is no deeper than some
/// times the logarithm of its length, so that a few rows are told from a few others.
pub(super) fn shallow_order(n_rows: usize, edges: &[(u32, u32)], last: &[u32]) -> Order {
    postorder(&in_rounds(n_rows, edges, last))
}

const NONE: u32 = u32::MAX;

/// Elimination as it comes out of the minimum-degree rule: neighbours are rows, not steps.
struct Raw {
    row: Vec<u32>,
    start: Vec<u32>,
    upper: Vec<u32>,
}

impl Raw {
    fn new(n_rows: usize, n_edges: usize) -> Self {
        Self {
            row: Vec::with_capacity(n_rows),
            start: vec![0],
            upper: Vec::with_capacity(n_edges * 2),
        }
    }

    fn push(&mut self, row: u32, around: &[u32]) {
        self.row.push(row);
        self.upper.extend_from_slice(around);
        self.start.push(self.upper.len() as u32);
    }
}

fn minimum_degree(n_rows: usize, edges: &[(u32, u32)], last: &[u32]) -> Raw {
    let mut raw = Raw::new(n_rows, edges.len());
    let mut graph = Joins::new(n_rows, edges);
    finish(&mut raw, &mut graph, last);
    raw
}

/// Eliminates what is left, a row of the fewest neighbours at a time.
fn finish(raw: &mut Raw, graph: &mut Joins, last: &[u32]) {
    let mut queue = Queue::new(graph.degree.len(), last);
    queue.taken.copy_from_slice(&graph.eliminated);
    for (row, &degree) in graph.degree.iter().enumerate() {
        queue.push(row as u32, degree);
    }
    while let Some(row) = queue.pop(&graph.degree) {
        graph.eliminate(row);
        for &other in &graph.around {
            queue.push(other, graph.degree[other as usize]);
        }
        raw.push(row, &graph.around);
    }
}

/// Where half of the rows have more neighbours than this, the usual rule goes on.
const NEIGHBOURS_MAX: u32 = 32;

/// Of all rows the half with the fewest neighbours is eliminated at once, as far as no two of them are
/// neighbours; then of all that are left. A round takes one row in a hundred at least.
fn in_rounds(n_rows: usize, edges: &[(u32, u32)], last: &[u32]) -> Raw {
    let mut raw = Raw::new(n_rows, edges.len());
    let mut graph = Joins::new(n_rows, edges);
    let mut kept_back = vec![false; n_rows];
    last.iter().for_each(|&row| kept_back[row as usize] = true);
    let mut left: Vec<u32> = (0..n_rows as u32).collect();
    left.retain(|&row| !kept_back[row as usize]);
    let mut touched_in = vec![0_u32; n_rows];
    let mut degrees = Vec::with_capacity(left.len());
    for round in 1.. {
        degrees.clear();
        degrees.extend(left.iter().map(|&row| graph.degree[row as usize]));
        if degrees.is_empty() {
            break;
        }
        let middle = degrees.len() / 2;
        let (_, &mut usual, _) = degrees.select_nth_unstable(middle);
        if usual > NEIGHBOURS_MAX {
            break;
        }
        for &row in &left {
            // What no other of the round has touched has the neighbours that it had.
            let is_free = touched_in[row as usize] != round;
            if is_free && graph.degree[row as usize] <= usual {
                graph.eliminate(row);
                graph.around.iter().for_each(|&other| touched_in[other as usize] = round);
                raw.push(row, &graph.around);
            }
        }
        left.retain(|&row| !graph.eliminated[row as usize]);
    }
    finish(&mut raw, &mut graph, last);
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
    fn eliminate(&mut self, row: u32) {
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

    /// How many rows lead from the first step of an order to its end, at most.
    fn depth(order: &Order) -> usize {
        let n = order.row.len();
        let mut depth = vec![1; n];
        for step in (0..n).rev() {
            let upper = &order.upper[order.start[step] as usize..order.start[step + 1] as usize];
            depth[step] += upper.first().map_or(0, |&next| depth[next as usize]);
        }
        depth.into_iter().max().unwrap_or(0)
    }

    /// A run of boxes of three conductors, each joined with the others in every box and its cable.
    fn run(n_boxes: u32) -> Vec<(u32, u32)> {
        let ends = (0..n_boxes).flat_map(|at| {
            let row = move |conductor: u32| 3 * at + conductor;
            let across = [(row(0), row(1)), (row(1), row(2)), (row(0), row(2))];
            let along = (0..3).map(move |conductor| (row(conductor), row(conductor + 3)));
            across.into_iter().chain(along)
        });
        ends.filter(|&(_, to)| to < 3 * n_boxes).collect()
    }

    #[test]
    fn in_a_run_of_a_thousand_boxes_a_shallow_order_is_shallow_and_joins_not_much_more() {
        let (n, edges) = (3000, run(1000));
        let (deep, shallow) = (order(n, &edges, &[]), shallow_order(n, &edges, &[7]));
        assert!(depth(&deep) > 1000, "{}", depth(&deep));
        assert!(depth(&shallow) < 100, "{}", depth(&shallow));
        assert!(shallow.upper.len() < 3 * deep.upper.len(), "{}", shallow.upper.len());
        assert_eq!(shallow.row.last(), Some(&7));
        let mut rows = shallow.row.clone();
        rows.sort_unstable();
        assert!(rows.into_iter().eq(0..n as u32));
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
