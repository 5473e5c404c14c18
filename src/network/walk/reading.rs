//! What the ports show after a walk: in the bags done again, on the ways taken, and beyond.

use super::super::junction::{Junction, NONE};
use super::super::rerooted::Rerooted;
use super::super::views::Views;
use super::{Shows, Sight, Step, Stop, Walk};

impl Walk {
    /// What every port of a set shows after the walk, in the order asked for. `set` is its number
    /// among those that the walk was made for. Impedances are told if they are asked for and the walk
    /// went with them; else they are zero.
    pub(crate) fn read(
        &mut self,
        network: &Rerooted,
        (set, views): (usize, &Views),
        with_impedances: bool,
        shown: &mut (impl Shows + ?Sized),
    ) {
        let with_impedances = with_impedances && self.with_impedances;
        if let Some(met) = self.sides.met() {
            let rows = (&self.view, with_impedances);
            for side in met {
                self.sides.read(network, (set, views), side, rows, shown);
            }
            return;
        }
        let junction = &network.junction;
        let Some(&Step { bag: top, .. }) = self.steps.last() else { return };
        let beyond = &views.outside[top as usize];
        if junction.parent[top as usize] != NONE && !beyond.is_empty() {
            let n = junction.rows(top as usize) - 1;
            self.look(junction, top as usize, (1..=n).map(|place| place as u8));
            let rows = (&self.view, with_impedances);
            match self.beyond {
                Some(Stop { side: Some(side), .. }) => {
                    self.sides.read(network, (set, views), side, rows, shown)
                }
                _ => self.view.read(&views.columns, beyond, with_impedances, shown),
            }
        }
        if self.n_passages > 0 {
            self.read_ways(network, (set, views), with_impedances, shown);
        }
        let mut passage = 0;
        for step in 0..self.steps.len() {
            let Step { bag, passes, side } = self.steps[step];
            if let Some(side) = side {
                self.look_at_cut(junction, bag, passes.then_some(passage));
                let rows = (&self.view, with_impedances);
                self.sides.read(network, (set, views), side, rows, shown);
            }
            passage += usize::from(passes);
            if side.is_some() {
                continue;
            }
            self.read_in(junction, views, bag, shown);
            for &child in junction.children(bag as usize) {
                let inside = &views.inside[child as usize];
                if !inside.is_empty() && !self.is_done(child) {
                    let positions = junction.positions(child as usize);
                    self.look(junction, bag as usize, positions.iter().copied());
                    self.view.read(&views.columns, inside, with_impedances, shown);
                }
            }
        }
    }

    /// Ports on the ways taken.
    fn read_ways(
        &mut self,
        network: &Rerooted,
        (set, views): (usize, &Views),
        with_impedances: bool,
        shown: &mut (impl Shows + ?Sized),
    ) {
        let Some(of_set) = self.way_views.get_mut(set) else { return };
        of_set.make_room(&self.ways);
        for passage in &self.passages[..self.n_passages] {
            of_set.see(network, views, &self.ways, passage.way);
        }
        self.ways.full |= of_set.is_full();
        for at in 0..self.n_passages {
            let passage = &self.passages[at];
            let of_set = &self.way_views[set];
            let Some(column) = of_set.column(passage.way).filter(|column| !column.is_empty())
            else {
                continue;
            };
            let way = self.ways.way(passage.way);
            self.view.set(passage.solved(way), 0..way.n_rows);
            self.view.read(&of_set.columns, column, with_impedances, shown);
        }
    }

    /// Ports of a bag that was done again.
    fn read_in(
        &self,
        junction: &Junction,
        views: &Views,
        bag: u32,
        shown: &mut (impl Shows + ?Sized),
    ) {
        let (node, first) =
            (junction.nodes(bag as usize).start, junction.pairs(bag as usize).start);
        let rows = &self.rows;
        for port in views.within(bag) {
            let slot = usize::from(port.slot);
            let (difference, impedance, other) = match slot {
                0 => (rows.potential[node], rows.impedance[node], true),
                slot => {
                    let pair = first + slot - 1;
                    (rows.difference[pair], rows.distance[pair], rows.tied[node + slot])
                }
            };
            let difference = if port.reversed { -difference } else { difference };
            let tied = port.in_order([rows.tied[node], other]);
            shown.show(port.asked as usize, Sight { difference, impedance, tied });
        }
    }

    /// Gathers the rows of the cut above a bag from the one it hangs from, or from its way.
    fn look_at_cut(&mut self, junction: &Junction, bag: u32, passage: Option<usize>) {
        let positions = junction.positions(bag as usize);
        match passage {
            None => self.look(
                junction,
                junction.parent[bag as usize] as usize,
                positions.iter().copied(),
            ),
            Some(passage) => {
                let passage = &self.passages[passage];
                let way = self.ways.way(passage.way);
                let places = way.place[..positions.len()].iter().copied();
                self.view.set(passage.solved(way), places);
            }
        }
    }

    /// Gathers the rows of a cut from a bag that was done again.
    fn look(&mut self, junction: &Junction, bag: usize, places: impl Iterator<Item = u8> + Clone) {
        let solved = self.rows.solved(junction.nodes(bag), junction.pairs(bag));
        self.view.set(solved, places);
    }
}
