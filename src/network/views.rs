//! Ports seen from every cut of a junction tree.

use nalgebra::Complex;

use super::bag::View;
use super::junction::{NONE, starts};
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

    /// What is told of the bag's own row and of the other, in the order of the port.
    pub(crate) fn in_order(&self, [own, other]: [bool; 2]) -> [bool; 2] {
        if self.reversed { [other, own] } else { [own, other] }
    }

    pub(super) fn view(&self) -> View {
        let mut view = View::nothing();
        let sign = if self.reversed { -Complex::ONE } else { Complex::ONE };
        let slot = usize::from(self.slot);
        view.weight[0] = sign;
        view.joined = [1, View::TIED];
        match slot {
            0 => view.sum = sign,
            slot => {
                view.weight[slot] = -sign;
                view.joined[1] = 1 << slot;
            }
        }
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
    /// Where the views through each bag's cut start.
    start: Vec<u32>,
    /// For each cut and port: open, impedance, λ, and the weights of the rows of the cut.
    data: Vec<Complex<f64>>,
    joined: Vec<[u16; 2]>,
    strongest: Vec<u8>,
}

impl Kept<'_> {
    /// From what is kept of it: open, impedance, λ and the weights.
    #[inline]
    pub(crate) fn new(data: &[Complex<f64>], joined: [u16; 2], strongest: u8) -> Kept<'_> {
        Kept {
            open: data[0],
            impedance: data[1],
            sum: data[2],
            weight: &data[3..],
            joined,
            strongest,
        }
    }

    /// As a view in which each row has a place of its own.
    pub(crate) fn at(&self, place: impl Fn(usize) -> usize) -> View {
        let mut view = View {
            open: self.open,
            impedance: self.impedance,
            sum: self.sum,
            joined: self.joined.map(|joined| joined & View::TIED),
            ..View::nothing()
        };
        for (row, w) in self.weight.iter().enumerate() {
            let to = place(row);
            view.weight[to] = *w;
            for (joined, from) in view.joined.iter_mut().zip(self.joined) {
                *joined |= (from >> (row + 1) & 1) << to;
            }
        }
        view
    }

    /// As a view of the rows above a bag's own.
    pub(crate) fn view(&self) -> View {
        let mut view = View::nothing();
        view.weight[1..=self.weight.len()].copy_from_slice(self.weight);
        View {
            open: self.open,
            impedance: self.impedance,
            sum: self.sum,
            joined: self.joined,
            ..view
        }
    }
}

/// One kept view.
#[derive(Clone, Copy)]
pub(crate) struct Kept<'v> {
    pub(crate) open: Complex<f64>,
    pub(crate) impedance: Complex<f64>,
    pub(crate) sum: Complex<f64>,
    pub(crate) weight: &'v [Complex<f64>],
    pub(crate) joined: [u16; 2],
    /// The row of the cut with the largest weight.
    pub(crate) strongest: u8,
}

impl Views {
    /// Room for the views of these ports through the cuts of a network of so many bags.
    pub(crate) fn new(mut ports: Vec<Port>, n_bags: usize) -> Self {
        ports.sort_by_key(|port| port.bag);
        let port_at = starts(ports.iter().map(|port| port.bag), n_bags);
        let n = n_bags * ports.len();
        Self {
            ports,
            port_at,
            start: vec![0; n_bags],
            data: Vec::new(),
            joined: vec![[0; 2]; n],
            strongest: vec![0; n],
        }
    }

    /// Number of ports.
    pub(crate) fn n_ports(&self) -> usize {
        self.ports.len()
    }

    /// Ports in bags `from..to`.
    #[inline]
    pub(crate) fn within(&self, from: u32, to: u32) -> std::ops::Range<usize> {
        self.port_at[from as usize] as usize..self.port_at[to as usize] as usize
    }

    /// A port through a bag's cut of so many rows.
    #[inline]
    pub(crate) fn kept(&self, bag: usize, rows: usize, port: usize) -> Kept<'_> {
        let n = 3 + rows;
        let from = self.start[bag] as usize + port * n;
        let place = bag * self.ports.len() + port;
        Kept::new(&self.data[from..from + n], self.joined[place], self.strongest[place])
    }

    fn view(&self, network: &Rerooted, bag: usize, port: usize) -> View {
        self.kept(bag, network.junction.rows(bag) - 1, port).view()
    }

    fn keep(&mut self, bag: usize, port: usize, rows: usize, view: &View) {
        let n = 3 + rows;
        let from = self.start[bag] as usize + port * n;
        self.data[from..from + 3].copy_from_slice(&[view.open, view.impedance, view.sum]);
        self.data[from + 3..from + n].copy_from_slice(&view.weight[1..=rows]);
        let place = bag * self.ports.len() + port;
        self.joined[place] = view.joined;
        self.strongest[place] = View::strongest(&view.weight[1..=rows]);
    }

    /// Looks into a bag from the one it hangs from: all upward numbers are known.
    pub(crate) fn look_down(&mut self, network: &Rerooted) {
        let junction = &network.junction;
        for bag in 0..junction.len() {
            let rows = junction.rows(bag) - 1;
            self.start[bag] = self.data.len() as u32;
            let room = self.data.len() + self.ports.len() * (3 + rows);
            self.data.resize(room, Complex::ZERO);
            let gone = network.up.gone(junction, bag, network.pivot[bag]);
            for port in self.within(bag as u32, bag as u32 + 1) {
                let mut view = self.ports[port].view();
                view.substitute(0, gone);
                self.keep(bag, port, rows, &view);
            }
            for &child in junction.children(bag) {
                let positions = junction.positions(child as usize);
                for port in self.within(junction.first[child as usize], child + 1) {
                    let mut view = self.view(network, child as usize, port).raised(positions);
                    view.substitute(0, gone);
                    self.keep(bag, port, rows, &view);
                }
            }
        }
    }

    /// Looks out of a bag at everything that does not hang from it.
    pub(crate) fn look_out(&mut self, network: &Rerooted, bag: usize, crossing: &Crossing) {
        let junction = &network.junction;
        let (rows, above) = (junction.rows(bag) - 1, junction.parent[bag]);
        let inside = self.within(junction.first[bag], bag as u32 + 1);
        let keep = |views: &mut Self, port: usize, view: View| {
            if !inside.contains(&port) {
                views.keep(bag, port, rows, &view.crossed(crossing));
            }
        };
        for port in self.within(above, above + 1) {
            let view = self.ports[port].view();
            keep(self, port, view);
        }
        for &child in junction.children(above as usize).iter().filter(|&&c| c as usize != bag) {
            let positions = junction.positions(child as usize);
            for port in self.within(junction.first[child as usize], child + 1) {
                let view = self.view(network, child as usize, port).raised(positions);
                keep(self, port, view);
            }
        }
        if junction.parent[above as usize] != NONE {
            for port in (0..self.ports.len())
                .filter(|&port| !junction.is_under(self.ports[port].bag, above))
                .collect::<Vec<_>>()
            {
                let view = self.view(network, above as usize, port);
                keep(self, port, view);
            }
        }
    }
}
