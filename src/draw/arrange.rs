//! Where each box stands: the panel on the left, the run from it to the right in rows, branches
//! in rows below.

use std::collections::HashSet;

use crate::circuit::{CableEnd, PlaceKind};

use super::survey::Survey;

/// Boxes in a row beside the panel: with more, what is printed on letter or A4 cannot be read
/// at arm's length.
const COLUMNS_MAX: usize = 3;

/// A place in the grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Cell {
    pub(super) row: usize,
    pub(super) column: usize,
}

/// A side of a drawn box.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Flank {
    Left,
    Right,
}

/// Where a cable meets a box.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Port {
    pub(super) run: usize,
    pub(super) end: CableEnd,
    pub(super) flank: Flank,
    /// On the lanes that run through the row; others have their own below.
    pub(super) main: bool,
}

/// The boxes in their grid.
#[derive(Debug)]
pub(super) struct Arrangement {
    pub(super) cells: Vec<Cell>,
    pub(super) rows: usize,
    pub(super) columns: usize,
    /// The ports of each box: at most one main one on either flank.
    pub(super) ports: Vec<Vec<Port>>,
    /// The cable that each box is reached by, walking from its panel.
    pub(super) reached_by: Vec<Option<usize>>,
}

/// The cables as a tree from the panel outward.
struct Tree {
    /// Boxes in walking order.
    order: Vec<usize>,
    /// The cable each is reached by.
    by_run: Vec<Option<usize>>,
    children: Vec<Vec<usize>>,
    /// Boxes on the longest way on, itself included.
    reach: Vec<usize>,
}

impl Arrangement {
    pub(super) fn of(survey: &Survey<'_>) -> Self {
        let tree = Tree::of(survey);
        let longest = tree.reach.iter().copied().max().unwrap_or(1).max(1);
        let columns = columns(longest, survey.spots.len());
        let mut grid = Grid { columns, taken: HashSet::new(), rows: 0, full_above: 0 };
        let mut cells = vec![Cell { row: 0, column: 0 }; survey.spots.len()];
        // Chains still to be placed, each with the place of the box it leaves.
        let roots = tree.order.iter().filter(|&&spot| tree.by_run[spot].is_none()).rev();
        let mut chains: Vec<(usize, Option<Cell>)> = roots.map(|&spot| (spot, None)).collect();
        while let Some((head, parent)) = chains.pop() {
            let chain = tree.chain(head);
            grid.place(&chain, parent, &mut cells);
            for &spot in &chain {
                let branches = tree.branches(spot).rev();
                chains.extend(branches.map(|branch| (branch, Some(cells[spot]))));
            }
        }
        let ports = ports(survey, &tree);
        Self { cells, rows: grid.rows, columns, ports, reached_by: tree.by_run }
    }

    /// Whether a cable runs straight from one box to its right neighbour along the lanes.
    pub(super) fn is_straight(&self, survey: &Survey<'_>, run: usize) -> bool {
        let mains = survey.runs[run].ends.map(|spot| {
            let spot = spot?;
            let port = self.ports[spot].iter().find(|port| port.run == run && port.main)?;
            Some((self.cells[spot], port.flank))
        });
        let [Some((one, flank)), Some((other, other_flank))] = mains else { return false };
        let (left, right) = match (flank, other_flank) {
            (Flank::Right, Flank::Left) => (one, other),
            (Flank::Left, Flank::Right) => (other, one),
            _ => return false,
        };
        left.row == right.row && left.column + 1 == right.column
    }
}

/// One column for panels, and rows of equal length beside it.
fn columns(longest: usize, boxes: usize) -> usize {
    let run = longest.saturating_sub(1);
    if run == 0 {
        return 1;
    }
    let even = run.div_ceil(run.div_ceil(COLUMNS_MAX));
    let square = (1..COLUMNS_MAX).find(|side| side * side + 1 >= boxes).unwrap_or(COLUMNS_MAX);
    1 + even.max(square)
}

impl Tree {
    /// Walks every cable from its end a to its end b, from panels first, then against it where
    /// nothing else leads to a box.
    fn of(survey: &Survey<'_>) -> Self {
        let boxes = survey.spots.len();
        let mut leaving = vec![Vec::new(); boxes];
        let mut arriving = vec![Vec::new(); boxes];
        for (run, [a, b]) in survey.runs.iter().map(|run| run.ends).enumerate() {
            if let (Some(a), Some(b)) = (a, b) {
                leaving[a].push((run, b));
                arriving[b].push((run, a));
            }
        }
        let mut tree = Self {
            order: Vec::with_capacity(boxes),
            by_run: vec![None; boxes],
            children: vec![Vec::new(); boxes],
            reach: vec![1; boxes],
        };
        let mut seen = vec![false; boxes];
        let fed = |spot: usize| arriving[spot].iter().any(|&(_, from)| from != spot);
        let rank = |spot: usize| match (survey.spots[spot].kind, fed(spot)) {
            (PlaceKind::Panel, false) => 0,
            (_, false) => 1,
            (PlaceKind::Panel, true) => 2,
            _ => 3,
        };
        let mut roots: Vec<usize> = (0..boxes).collect();
        roots.sort_by_key(|&spot| rank(spot));
        for root in roots {
            tree.walk(root, &leaving, &arriving, &mut seen);
        }
        for &spot in tree.order.iter().rev() {
            let ahead = tree.children[spot].iter().map(|&child| tree.reach[child]).max();
            tree.reach[spot] = 1 + ahead.unwrap_or(0);
        }
        tree
    }

    fn walk(
        &mut self,
        root: usize,
        leaving: &[Vec<(usize, usize)>],
        arriving: &[Vec<(usize, usize)>],
        seen: &mut [bool],
    ) {
        let mut to_visit = vec![(root, None)];
        while let Some((spot, came)) = to_visit.pop() {
            if std::mem::replace(&mut seen[spot], true) {
                continue;
            }
            self.order.push(spot);
            if let Some((run, from)) = came {
                self.by_run[spot] = Some(run);
                let children: &mut Vec<usize> = &mut self.children[from];
                children.push(spot);
            }
            // The last pushed is walked first: cables along their sense, in their order.
            let along = leaving[spot].iter().rev();
            let against = arriving[spot].iter().rev();
            to_visit.extend(against.chain(along).map(|&(run, next)| (next, Some((run, spot)))));
        }
    }

    /// The longest way on from a box.
    fn trunk(&self, spot: usize) -> Option<usize> {
        let longest = self.children[spot].iter().map(|&child| self.reach[child]).max()?;
        self.children[spot].iter().copied().find(|&child| self.reach[child] == longest)
    }

    fn chain(&self, head: usize) -> Vec<usize> {
        std::iter::successors(Some(head), |&spot| self.trunk(spot)).collect()
    }

    fn branches(&self, spot: usize) -> impl DoubleEndedIterator<Item = usize> {
        let trunk = self.trunk(spot);
        self.children[spot].iter().copied().filter(move |&child| Some(child) != trunk)
    }
}

/// The grid being filled.
struct Grid {
    columns: usize,
    taken: HashSet<Cell>,
    rows: usize,
    /// No row above this one has room.
    full_above: usize,
}

impl Grid {
    /// Places a chain: from a panel in the first column to the right, from another box right of
    /// and below it; wrapped into rows beside the first column.
    fn place(&mut self, chain: &[usize], parent: Option<Cell>, cells: &mut [Cell]) {
        let (mut row, first, rest) = match (parent, chain) {
            (None, [panel, rest @ ..]) => {
                let cell = Cell { row: self.rows, column: 0 };
                cells[*panel] = cell;
                self.rows += 1;
                (cell.row, 1, rest)
            }
            (Some(parent), _) if parent.column + 1 + chain.len() <= self.columns => {
                (parent.row + 1, parent.column + 1, chain)
            }
            (parent, _) => (parent.map_or(self.rows, |parent| parent.row + 1), 1, chain),
        };
        let per_row = self.columns.saturating_sub(first).max(1);
        let mut left = first;
        for part in rest.chunks(per_row) {
            let start = self.room(row, left, part.len());
            for (step, &spot) in part.iter().enumerate() {
                let cell = Cell { row: start.row, column: start.column + step };
                cells[spot] = cell;
                self.taken.insert(cell);
            }
            self.rows = self.rows.max(start.row + 1);
            (row, left) = (start.row + 1, 1);
        }
        let taken = |row| move |column| Cell { row, column };
        while self.columns > 1
            && (1..self.columns).map(taken(self.full_above)).all(|cell| self.taken.contains(&cell))
        {
            self.full_above += 1;
        }
    }

    /// The first free place for some boxes in a row, from a row and column on.
    fn room(&self, row: usize, column: usize, boxes: usize) -> Cell {
        let columns = column..=self.columns.saturating_sub(boxes).max(column);
        let rows = row.max(self.full_above)..;
        let free = |cell: &Cell| {
            (0..boxes)
                .all(|step| !self.taken.contains(&Cell { column: cell.column + step, ..*cell }))
        };
        rows.flat_map(|row| columns.clone().map(move |column| Cell { row, column }))
            .find(free)
            .unwrap_or(Cell { row: self.rows, column })
    }
}

/// Where every cable meets its boxes.
fn ports(survey: &Survey<'_>, tree: &Tree) -> Vec<Vec<Port>> {
    let boxes = survey.spots.len();
    let mut ports: Vec<Vec<Port>> = vec![Vec::new(); boxes];
    let trunk_run: Vec<Option<usize>> =
        (0..boxes).map(|spot| tree.trunk(spot).and_then(|child| tree.by_run[child])).collect();
    let mut leads_on = vec![false; survey.runs.len()];
    for &run in tree.by_run.iter().flatten() {
        leads_on[run] = true;
    }
    for (number, run) in survey.runs.iter().enumerate() {
        for (end, spot) in [CableEnd::A, CableEnd::B].into_iter().zip(run.ends) {
            let Some(spot) = spot else { continue };
            let reached = tree.by_run[spot] == Some(number);
            let is_root = tree.by_run[spot].is_none();
            let flank = if reached || (end == CableEnd::B && !is_root && !leads_on[number]) {
                Flank::Left
            } else {
                Flank::Right
            };
            let main = reached || trunk_run[spot] == Some(number);
            ports[spot].push(Port { run: number, end, flank, main });
        }
    }
    for ports in &mut ports {
        // With no box to go on to, a ring's last cable or a capped one takes the lanes.
        for flank in [Flank::Right, Flank::Left] {
            let has_main = ports.iter().any(|port| port.flank == flank && port.main);
            if let Some(port) = ports.iter_mut().find(|port| port.flank == flank && !has_main) {
                port.main = true;
            }
        }
    }
    ports
}
