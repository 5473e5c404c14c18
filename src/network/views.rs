//! Ports seen from every cut of a junction tree.

use nalgebra::Complex;

use super::bag::{BAG_MAX, Gone, View};
use super::columns::{Column, Columns, Loose, Step};
use super::junction::{Junction, NONE, starts};
use super::plan::{Place, Plan};
use super::rerooted::{Crossing, Rerooted};

/// Two rows of one bag, or a row and the reference, whose difference is asked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Port {
    pub(crate) bag: u32,
    /// Place of the other row in the bag; 0 for the reference.
    pub(crate) slot: u8,
    /// Whether the bag's own row is the second of the two.
    pub(crate) reversed: bool,
    /// Its place in the order asked for.
    pub(crate) asked: u32,
}

impl Port {
    /// `None` where the plan does not join the two.
    pub(crate) fn new(plan: &Plan, (a, b): (u32, u32), asked: u32) -> Option<Self> {
        Some(match plan.place(a, b)? {
            Place::Nowhere => return None,
            Place::Shunt { step, reversed } => Self { bag: step, slot: 0, reversed, asked },
            Place::Edge { edge, reversed } => {
                let bag = plan.step(if reversed { b } else { a });
                let slot = (edge - plan.start[bag as usize] + 1) as u8;
                Self { bag, slot, reversed, asked }
            }
        })
    }

    /// What holds of the bag's own row and of the other, in the order of the port.
    pub(super) fn in_order<T: Copy>(&self, [own, other]: [T; 2]) -> [T; 2] {
        if self.reversed { [other, own] } else { [own, other] }
    }

    pub(super) fn view(&self) -> View {
        let mut view = View::nothing();
        let sign = if self.reversed { -Complex::ONE } else { Complex::ONE };
        let slot = usize::from(self.slot);
        view.weight[0] = sign;
        let mut joined = [1, View::TIED];
        match slot {
            0 => view.sum = sign,
            slot => {
                view.weight[slot] = -sign;
                joined[1] = 1 << slot;
            }
        }
        view.joined = self.in_order(joined);
        view
    }
}

/// Views of a set of ports through every cut: each in terms of the rows that a bag has above its
/// own.
#[derive(Clone, Debug)]
pub(crate) struct Views {
    /// Sorted by bag.
    pub(crate) ports: Vec<Port>,
    /// First port of each bag.
    port_at: Vec<u32>,
    pub(super) columns: Columns,
    /// Of each bag, the ports in it and all that hangs from it, seen through its cut.
    pub(super) inside: Vec<Column>,
    /// Of each bag, all other ports.
    pub(super) outside: Vec<Column>,
    loose: Loose,
}

impl Views {
    /// Room for the views of these ports through the cuts of a network of so many bags.
    pub(crate) fn new(mut ports: Vec<Port>, n_bags: usize) -> Self {
        ports.sort_by_key(|port| port.bag);
        let port_at = starts(ports.iter().map(|port| port.bag), n_bags);
        Self {
            ports,
            port_at,
            columns: Columns::default(),
            inside: vec![Column::default(); n_bags],
            outside: vec![Column::default(); n_bags],
            loose: Loose::default(),
        }
    }

    /// Number of ports.
    pub(crate) fn n_ports(&self) -> usize {
        self.ports.len()
    }

    /// The ports of a bag.
    #[inline]
    pub(crate) fn within(&self, bag: u32) -> &[Port] {
        within(&self.ports, &self.port_at, bag)
    }

    /// Looks into a bag from the one it hangs from: its upward numbers are known, and those of all
    /// that hang from it.
    pub(crate) fn look_in(&mut self, network: &Rerooted, bag: usize) {
        let junction = &network.junction;
        let gone = network.up.gone(junction, bag, network.pivot[bag]);
        let step = Step::new(|_| gone, 1, junction.rows(bag));
        self.loose.begin(junction.rows(bag) - 1);
        let Self { ports, port_at, columns, inside, loose, .. } = self;
        gather(
            loose,
            (junction, within(ports, port_at, bag as u32)),
            (bag as u32, NONE),
            (&step, &ALL[..junction.rows(bag)]),
            |child| (columns, &inside[child as usize]),
        );
        self.inside[bag] = self.columns.keep(&mut self.loose);
    }

    /// Looks into every bag.
    pub(crate) fn look_down(&mut self, network: &Rerooted) {
        (0..network.junction.len()).for_each(|bag| self.look_in(network, bag));
    }

    /// Looks out of a bag at everything that does not hang from it.
    pub(crate) fn look_out(&mut self, network: &Rerooted, bag: usize, crossing: &Crossing) {
        let junction = &network.junction;
        let above = junction.parent[bag];
        let step = Step::new(|e| crossing.gone(e), crossing.n_gone, crossing.n_rows);
        self.loose.begin(crossing.n_rows - crossing.n_gone);
        let place = crossing.places();
        let place = &place[..crossing.n_rows];
        let Self { ports, port_at, columns, inside, loose, .. } = self;
        gather(
            loose,
            (junction, within(ports, port_at, above)),
            (above, bag as u32),
            (&step, place),
            |child| (columns, &inside[child as usize]),
        );
        if junction.parent[above as usize] != NONE {
            let column = &self.outside[above as usize];
            self.loose.put_column(&self.columns, column, &step, &place[1..]);
        }
        self.outside[bag] = self.columns.keep(&mut self.loose);
    }
}

fn within<'p>(ports: &'p [Port], port_at: &[u32], bag: u32) -> &'p [Port] {
    &ports[port_at[bag as usize] as usize..port_at[bag as usize + 1] as usize]
}

/// Puts the ports of a bag, of which each row has a place, and of all that hangs from it but for one:
/// each child's column is among those said for it.
pub(super) fn gather<'c, 'g>(
    loose: &mut Loose,
    (junction, ports): (&Junction, &[Port]),
    (bag, without): (u32, u32),
    (step, place): (&Step<impl Fn(usize) -> Gone<'g>>, &[u8]),
    column: impl Fn(u32) -> (&'c Columns, &'c Column),
) {
    for port in ports {
        loose.put_own(port.asked, &port.view(), step, place);
    }
    let mut of_rows = [0; BAG_MAX];
    for &child in junction.children(bag as usize).iter().filter(|&&child| child != without) {
        let positions = junction.positions(child as usize);
        for (of_row, at) in of_rows.iter_mut().zip(positions) {
            *of_row = place[usize::from(*at)];
        }
        let (columns, column) = column(child);
        loose.put_column(columns, column, step, &of_rows[..positions.len()]);
    }
}

/// Each row at its own place.
pub(super) const ALL: [u8; BAG_MAX] = {
    let mut all = [0; BAG_MAX];
    let mut at = 0;
    while at < BAG_MAX {
        all[at] = at as u8;
        at += 1;
    }
    all
};
