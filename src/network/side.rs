//! One side of a cut with changes on it, reduced to the rows of the cut: how it is made.

use nalgebra::Complex;

use super::bag::Bag;
use super::columns::{Column, Columns, Loose, Step};
use super::junction::{Junction, NONE};
use super::lanes::LANES;
use super::rerooted::{Branching, Crossing, Numbers, Rerooted, Scratch, worse};
use super::views::{ALL, Views, gather};
use super::ways::{KEPT_MAX, PORT_USUAL};

/// A cut, by the bag below it, and a side of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Face {
    pub(super) bag: u32,
    /// Whether it is the side of that bag.
    pub(super) inside: bool,
}

/// Sides done again on the way to one for which there is room from the beginning.
const CARRIED: usize = 64;

/// Ports on a side that was done again.
#[derive(Clone, Copy, Debug)]
struct Carried {
    face: Face,
    column: Column,
}

/// Room to make sides in.
#[derive(Clone, Debug)]
pub(super) struct Maker {
    /// What hangs from bags that were done again, as [`Rerooted::up`].
    now: Numbers,
    /// What lies beyond such bags, as [`Rerooted::down`].
    beyond: Numbers,
    /// The sides that were done again.
    done: Vec<Face>,
    to_do: Vec<u32>,
    carried: Vec<Carried>,
    /// Those of the sides on the way to the one asked for.
    columns: Columns,
    loose: Loose,
    scratch: Box<Scratch>,
}

impl Maker {
    /// For sets of so many ports at most.
    pub(super) fn new(junction: &Junction, n_ports: usize) -> Self {
        let n_blocks = (CARRIED * n_ports.div_ceil(LANES)).min(KEPT_MAX / PORT_USUAL / LANES);
        Self {
            now: Numbers::zero(junction),
            beyond: Numbers::zero(junction),
            done: Vec::with_capacity(CARRIED),
            to_do: Vec::with_capacity(CARRIED),
            carried: Vec::with_capacity(CARRIED),
            columns: Columns::with_room(n_blocks, PORT_USUAL),
            loose: Loose::with_room(n_ports),
            scratch: Box::default(),
        }
    }

    pub(super) fn begin(&mut self) {
        self.done.clear();
        self.to_do.clear();
        self.carried.clear();
        self.columns.clear();
    }

    /// A side that was made before, to go on from: the shunts, currents and pairs of so many rows.
    pub(super) fn start_from(
        &mut self,
        junction: &Junction,
        face: Face,
        rows: usize,
        kept: &[Complex<f64>],
    ) {
        let into = self.made(junction, face);
        let (shunt, rest) = kept.split_at(rows);
        let (current, rest) = rest.split_at(rows);
        into.shunt.copy_from_slice(shunt);
        into.current.copy_from_slice(current);
        into.pair.copy_from_slice(&rest[..into.pair.len()]);
        self.done.push(face);
    }

    /// The ports of such a side, among those kept: as in one column, but for those in another.
    pub(super) fn carry_on(
        &mut self,
        face: Face,
        kept: &Columns,
        column: &Column,
        others: Option<&Column>,
    ) {
        let column = match others.filter(|others| !others.is_empty()) {
            Some(others) => self.columns.copy_but(kept, column, others),
            None => self.columns.copy(kept, column),
        };
        self.carried.push(Carried { face, column });
    }

    fn of(&mut self, face: Face) -> &mut Numbers {
        if face.inside { &mut self.now } else { &mut self.beyond }
    }

    /// What a side was reduced to.
    pub(super) fn made(&mut self, junction: &Junction, face: Face) -> Bag<'_> {
        self.of(face).cut(junction, face.bag)
    }

    /// Keeps the ports of a side that was made.
    pub(super) fn keep(&self, face: Face, kept: &mut Columns) -> Option<Column> {
        self.column(face).map(|column| kept.copy(&self.columns, &column))
    }

    /// Keeps those ports of such a side that are not, to the last bit, as in a column of another;
    /// `None` if they are many.
    pub(super) fn keep_others(
        &mut self,
        face: Face,
        kept: &mut Columns,
        like: &Column,
        places: &mut Vec<(u32, u8)>,
    ) -> Option<Column> {
        let column = self.column(face)?;
        kept.find(like, places);
        let Self { columns, loose, .. } = self;
        let are_few = loose.put_others((columns, &column), (kept, like), places);
        are_few.then(|| kept.keep(loose))
    }

    fn column(&self, face: Face) -> Option<Column> {
        self.carried.iter().find(|carried| carried.face == face).map(|carried| carried.column)
    }

    fn carry(&mut self, face: Face) {
        let column = self.columns.keep(&mut self.loose);
        self.carried.push(Carried { face, column });
    }

    /// Makes a side with these changes, all on it, of the base and of what was made before; with
    /// the views of ports if they are asked for. Returns the largest cancellation met.
    pub(super) fn make(
        &mut self,
        network: &Rerooted,
        changes: &[Branching],
        face: Face,
        views: Option<&Views>,
    ) -> f64 {
        let junction = &network.junction;
        let mut turn = NONE;
        for at in 0..self.done.len() {
            match self.done[at] {
                Face { bag, inside: true } => self.will_do(junction.parent[bag as usize]),
                Face { bag, inside: false } => turn = bag,
            }
        }
        changes.iter().for_each(|change| self.will_do(change.bag));
        let mut cancellation = 1.0;
        let mut at = 0;
        while let Some(&bag) = self.to_do.get(at) {
            at += 1;
            if !face.inside && junction.is_under(face.bag, bag) {
                turn = if turn == NONE { bag } else { turn.max(bag) };
                continue;
            }
            cancellation = worse(cancellation, self.rise(network, changes, bag, views));
            if bag != face.bag {
                self.will_do(junction.parent[bag as usize]);
            }
        }
        if !face.inside {
            while turn != face.bag {
                let below = junction.climb(face.bag, turn);
                let met = self.sink(network, changes, (turn, below), views);
                cancellation = worse(cancellation, met);
                turn = below;
            }
        }
        cancellation
    }

    fn will_do(&mut self, bag: u32) {
        if let Err(place) = self.to_do.binary_search(&bag) {
            self.to_do.insert(place, bag);
        }
    }

    /// Puts a bag together with all that hangs from it but one of these.
    fn put(&mut self, network: &Rerooted, changes: &[Branching], bag: u32, without: u32) {
        let junction = &network.junction;
        let mut own = self.scratch.bag(junction.rows(bag as usize));
        match changes.iter().any(|change| change.bag == bag) {
            true => network.put_changed(&mut own, bag, changes),
            false => own.copy(junction, &network.own, bag as usize),
        }
        for &child in junction.children(bag as usize).iter().filter(|&&child| child != without) {
            let is_done = self.done.contains(&Face { bag: child, inside: true });
            let from = if is_done { &self.now } else { &network.up };
            own.add_reduced(junction, from, child as usize);
        }
    }

    fn rise(
        &mut self,
        network: &Rerooted,
        changes: &[Branching],
        bag: u32,
        views: Option<&Views>,
    ) -> f64 {
        let junction = &network.junction;
        self.put(network, changes, bag, NONE);
        let mut own = self.scratch.bag(junction.rows(bag as usize));
        let pivot = own.eliminate(0);
        self.now.bag(junction, bag as usize).set(&own);
        let face = Face { bag, inside: true };
        if let Some(views) = views {
            let rows = junction.rows(bag as usize);
            let gone = self.now.gone(junction, bag as usize, pivot.impedance);
            let step = Step::new(|_| gone, 1, rows);
            self.loose.begin(rows - 1);
            let Self { loose, columns, carried, .. } = self;
            gather(
                loose,
                (junction, views.within(bag)),
                (bag, NONE),
                (&step, &ALL[..rows]),
                |child| inside(carried, columns, views, child),
            );
            self.carry(face);
        }
        self.done.push(face);
        pivot.cancellation
    }

    /// From the far side of a bag's cut to that of one that hangs from it.
    fn sink(
        &mut self,
        network: &Rerooted,
        changes: &[Branching],
        (bag, below): (u32, u32),
        views: Option<&Views>,
    ) -> f64 {
        let junction = &network.junction;
        self.put(network, changes, bag, below);
        let is_done = self.done.contains(&Face { bag, inside: false });
        let beyond = if is_done { &self.beyond } else { &network.down };
        let mut sum = self.scratch.bag(junction.rows(bag as usize));
        sum.add_beyond(junction, beyond, bag as usize);
        let (mut crossing, cancellation) = Crossing::new(&sum, junction.positions(below as usize));
        self.beyond.cut(junction, below).set(&crossing.left());
        let face = Face { bag: below, inside: false };
        if let Some(views) = views {
            let step = Step::new(|e| crossing.gone(e), crossing.n_gone, crossing.n_rows);
            let place = crossing.places();
            let place = &place[..crossing.n_rows];
            self.loose.begin(crossing.n_rows - crossing.n_gone);
            let Self { loose, columns, carried, .. } = self;
            gather(loose, (junction, views.within(bag)), (bag, below), (&step, place), |child| {
                inside(carried, columns, views, child)
            });
            match self.column(Face { bag, inside: false }) {
                Some(column) => {
                    self.loose.put_column(&self.columns, &column, &step, &place[1..]);
                }
                None => {
                    let column = &views.outside[bag as usize];
                    self.loose.put_column(&views.columns, column, &step, &place[1..]);
                }
            }
            self.carry(face);
        }
        self.done.push(face);
        cancellation
    }
}

/// The ports that hang from a bag: as they were carried, or those of the base.
fn inside<'c>(
    carried: &'c [Carried],
    columns: &'c Columns,
    views: &'c Views,
    bag: u32,
) -> (&'c Columns, &'c Column) {
    let face = Face { bag, inside: true };
    match carried.iter().find(|carried| carried.face == face) {
        Some(Carried { column, .. }) => (columns, column),
        None => (&views.columns, &views.inside[bag as usize]),
    }
}
