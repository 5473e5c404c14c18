//! The way between changed bags, done again: up to where they meet, there solved, and down again.

use nalgebra::Complex;

use super::bag::{BAG_MAX, Gone, Seen, View, pair, row};
use super::junction::{Junction, NONE};
use super::rerooted::{Branching, Numbers, Rerooted, Scratch, worse};
use super::views::Views;

/// What a port shows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Sight {
    /// U of its first row less that of its second.
    pub(crate) difference: Complex<f64>,
    /// What it sees; meaningless if impedances were not asked for.
    pub(crate) impedance: Complex<f64>,
    /// Which of its ends lead to the reference. Where one does not, the rest is reckoned from the
    /// zero of a row that lies as it does; where neither does, from two that need not be one.
    pub(crate) tied: [bool; 2],
}

impl Sight {
    /// Whether both ends lead to the reference.
    pub(crate) fn is_tied(&self) -> bool {
        self.tied == [true; 2]
    }
}

/// Numbers of one walk, kept from one to the next so that nothing is allocated.
#[derive(Clone, Debug)]
pub(crate) struct Walk {
    now: Numbers,
    pivot: Vec<Complex<f64>>,
    scratch: Box<Scratch>,
    potential: Vec<Complex<f64>>,
    difference: Vec<Complex<f64>>,
    impedance: Vec<Complex<f64>>,
    distance: Vec<Complex<f64>>,
    tied: Vec<bool>,
    /// The bags done again, each before the one it hangs from.
    steps: Vec<u32>,
    /// Walk in which each bag was last done again.
    done_in: Vec<u32>,
    /// Walk in which a bag that hangs from it was last done again, how many were, and the last.
    met_in: Vec<u32>,
    n_met: Vec<u32>,
    last_met: Vec<u32>,
    this: u32,
    with_impedances: bool,
    view: CutView,
}

impl Walk {
    pub(crate) fn new(junction: &Junction) -> Self {
        let now = Numbers::zero(junction);
        let (nodes, pairs, n) = (now.shunt.len(), now.pair.len(), junction.len());
        Self {
            now,
            pivot: vec![Complex::ZERO; n],
            scratch: Box::default(),
            potential: vec![Complex::ZERO; nodes],
            difference: vec![Complex::ZERO; pairs],
            impedance: vec![Complex::ZERO; nodes],
            distance: vec![Complex::ZERO; pairs],
            tied: vec![false; nodes],
            steps: Vec::with_capacity(n),
            done_in: vec![0; n],
            met_in: vec![0; n],
            n_met: vec![0; n],
            last_met: vec![NONE; n],
            this: 0,
            with_impedances: false,
            view: CutView::default(),
        }
    }

    /// Solves with these changes, which are sorted by bag. Returns the largest cancellation met.
    pub(crate) fn go(
        &mut self,
        network: &Rerooted,
        changes: &[Branching],
        with_impedances: bool,
    ) -> f64 {
        self.begin(with_impedances);
        let junction = &network.junction;
        let Some(root) = (junction.len() as u32).checked_sub(1) else { return 1.0 };
        let first = changes.first().map_or(root, |change| change.bag);
        let last = changes.last().map_or(root, |change| change.bag);
        let mut top = first;
        while top < last {
            top = junction.parent[top as usize];
        }
        let (mut cancellation, mut at, mut bag) = (1.0, 0, first);
        loop {
            let from = at;
            while changes.get(at).is_some_and(|change| change.bag == bag) {
                at += 1;
            }
            self.put(network, bag, &changes[from..at]);
            self.steps.push(bag);
            self.done_in[bag as usize] = self.this;
            if bag == top {
                cancellation = worse(cancellation, self.turn(network, bag));
                break;
            }
            cancellation = worse(cancellation, self.rise(junction, bag));
            let above = junction.parent[bag as usize];
            // What else hangs from there comes first.
            bag = match changes.get(at) {
                Some(next) if next.bag < above => next.bag,
                _ => above,
            };
        }
        for step in (0..self.steps.len() - 1).rev() {
            self.descend(junction, self.steps[step]);
        }
        cancellation
    }

    fn begin(&mut self, with_impedances: bool) {
        self.with_impedances = with_impedances;
        self.steps.clear();
        if self.this == u32::MAX {
            self.done_in.fill(0);
            self.met_in.fill(0);
            self.this = 0;
        }
        self.this += 1;
    }

    fn is_done(&self, bag: u32) -> bool {
        self.done_in[bag as usize] == self.this
    }

    /// Puts a bag together anew.
    fn put(&mut self, network: &Rerooted, bag: u32, changes: &[Branching]) {
        let junction = &network.junction;
        let at = bag as usize;
        let mut own = self.scratch.bag(junction.rows(at));
        let n_met = if self.met_in[at] == self.this { self.n_met[at] } else { 0 };
        if changes.is_empty() && n_met == 1 {
            let met = self.last_met[at] as usize;
            network.copy_except(&mut own, met);
            own.add_reduced(junction, &self.now, met);
            return;
        }
        match changes {
            [] => own.copy(junction, &network.own, at),
            changes => network.put_changed(&mut own, bag, changes),
        }
        for &child in junction.children(at) {
            let done = self.done_in[child as usize] == self.this;
            let from = if done { &self.now } else { &network.up };
            own.add_reduced(junction, from, child as usize);
        }
    }

    /// Eliminates the bag's row.
    fn rise(&mut self, junction: &Junction, bag: u32) -> f64 {
        let at = bag as usize;
        let mut own = self.scratch.bag(junction.rows(at));
        let pivot = own.eliminate(0);
        self.now.bag(junction, at).set(&own);
        self.pivot[at] = pivot.impedance;
        let above = junction.parent[at] as usize;
        if self.met_in[above] != self.this {
            (self.met_in[above], self.n_met[above]) = (self.this, 0);
        }
        self.n_met[above] += 1;
        self.last_met[above] = bag;
        pivot.cancellation
    }

    /// Solves the topmost bag with all that lies beyond it.
    fn turn(&mut self, network: &Rerooted, bag: u32) -> f64 {
        let junction = &network.junction;
        let at = bag as usize;
        let t = junction.rows(at);
        let mut own = self.scratch.bag(t);
        own.add_beyond(junction, &network.down, at);
        let mut impedance = [Complex::ZERO; BAG_MAX];
        let mut cancellation = 1.0;
        for (e, impedance) in impedance[..t].iter_mut().enumerate() {
            let pivot = own.eliminate(e);
            *impedance = pivot.impedance;
            cancellation = worse(cancellation, pivot.cancellation);
        }
        let (nodes, pairs) = (junction.nodes(at), junction.pairs(at));
        let mut seen = Seen {
            potential: &mut self.potential[nodes.clone()],
            difference: &mut self.difference[pairs.clone()],
            impedance: &mut self.impedance[nodes.clone()],
            distance: &mut self.distance[pairs],
            tied: &mut self.tied[nodes],
        };
        for e in (0..t).rev() {
            let from = row(t, e);
            let gone = Gone {
                weight: &own.pair[from..from + t - 1 - e],
                to_reference: own.shunt[e],
                drive: own.current[e],
                impedance: impedance[e],
            };
            seen.extend(e, gone, self.with_impedances);
        }
        cancellation
    }

    /// Solves a bag from the one it hangs from.
    fn descend(&mut self, junction: &Junction, bag: u32) {
        let at = bag as usize;
        let above = junction.parent[at] as usize;
        let positions = junction.positions(at);
        let (nodes, pairs) = (junction.nodes(at), junction.pairs(at));
        let (above_nodes, above_pairs) = (junction.nodes(above), junction.pairs(above));
        let t_above = above_nodes.len();
        let mut next = pairs.start + positions.len();
        for (i, &place) in positions.iter().enumerate() {
            let place = usize::from(place);
            let (to, from) = (nodes.start + 1 + i, above_nodes.start + place);
            self.potential[to] = self.potential[from];
            self.impedance[to] = self.impedance[from];
            self.tied[to] = self.tied[from];
            let row = above_pairs.start + row(t_above, place);
            for &later in &positions[i + 1..] {
                let from = row + usize::from(later) - place - 1;
                self.difference[next] = self.difference[from];
                self.distance[next] = self.distance[from];
                next += 1;
            }
        }
        let mut seen = Seen {
            potential: &mut self.potential[nodes.clone()],
            difference: &mut self.difference[pairs.clone()],
            impedance: &mut self.impedance[nodes.clone()],
            distance: &mut self.distance[pairs],
            tied: &mut self.tied[nodes],
        };
        let gone = self.now.gone(junction, at, self.pivot[at]);
        seen.extend(0, gone, self.with_impedances);
    }

    /// What every port of a set shows after the walk, in the order asked for.
    pub(crate) fn read(&mut self, network: &Rerooted, views: &Views, shown: &mut [Sight]) {
        let junction = &network.junction;
        let Some(&top) = self.steps.last() else { return };
        if junction.parent[top as usize] != NONE {
            let (from, to) = (junction.first[top as usize], top + 1);
            let outside = [views.within(0, from), views.within(to, junction.len() as u32)];
            if outside.iter().any(|ports| !ports.is_empty()) {
                let places = 1..junction.rows(top as usize);
                self.look(junction, top as usize, places.map(|place| place as u8));
                for ports in outside {
                    self.read_through(views, top as usize, ports, shown);
                }
            }
        }
        for step in 0..self.steps.len() {
            let bag = self.steps[step];
            self.read_in(junction, views, bag, shown);
            for &child in junction.children(bag as usize) {
                let ports = views.within(junction.first[child as usize], child + 1);
                if !ports.is_empty() && !self.is_done(child) {
                    let positions = junction.positions(child as usize).iter().copied();
                    self.look(junction, bag as usize, positions);
                    self.read_through(views, child as usize, ports, shown);
                }
            }
        }
    }

    /// Ports of a bag that was done again.
    fn read_in(&self, junction: &Junction, views: &Views, bag: u32, shown: &mut [Sight]) {
        let (node, first) =
            (junction.nodes(bag as usize).start, junction.pairs(bag as usize).start);
        for port in &views.ports[views.within(bag, bag + 1)] {
            let slot = usize::from(port.slot);
            let (difference, impedance, other) = match slot {
                0 => (self.potential[node], self.impedance[node], true),
                slot => {
                    let pair = first + slot - 1;
                    (self.difference[pair], self.distance[pair], self.tied[node + slot])
                }
            };
            let difference = if port.reversed { -difference } else { difference };
            let tied = port.in_order([self.tied[node], other]);
            if let Some(shown) = shown.get_mut(port.asked as usize) {
                *shown = Sight { difference, impedance, tied };
            }
        }
    }

    /// Gathers the rows of a cut from a bag that was done again.
    fn look(&mut self, junction: &Junction, bag: usize, places: impl Iterator<Item = u8> + Clone) {
        let (nodes, pairs) = (junction.nodes(bag), junction.pairs(bag));
        let t = nodes.len();
        let view = &mut self.view;
        view.n = 0;
        view.tied = View::TIED;
        for place in places.clone() {
            let at = nodes.start + usize::from(place);
            view.potential[view.n] = self.potential[at];
            view.impedance[view.n] = self.impedance[at];
            view.tied |= u16::from(self.tied[at]) << (view.n + 1);
            view.n += 1;
        }
        for (i, one) in places.clone().enumerate() {
            view.difference[i][i] = Complex::ZERO;
            view.distance[i][i] = Complex::ZERO;
            for (j, other) in places.clone().enumerate().skip(i + 1) {
                let at = pairs.start + pair(t, usize::from(one), usize::from(other));
                view.difference[i][j] = self.difference[at];
                view.difference[j][i] = -self.difference[at];
                view.distance[i][j] = self.distance[at];
            }
        }
    }

    /// Ports beyond a cut that was looked at.
    fn read_through(
        &self,
        views: &Views,
        bag: usize,
        ports: std::ops::Range<usize>,
        shown: &mut [Sight],
    ) {
        let CutView { n, potential, difference, impedance, distance, tied } = &self.view;
        let n = *n;
        for port in ports {
            let kept = views.kept(bag, n, port);
            let mut sight = Sight {
                difference: kept.open,
                impedance: kept.impedance,
                tied: views.ports[port].in_order(kept.joined.map(|joined| joined & tied != 0)),
            };
            let strongest = usize::from(kept.strongest);
            if n > 0 {
                sight.difference += kept.sum * potential[strongest];
                for (w, apart) in kept.weight.iter().zip(&difference[strongest]) {
                    // U of each row less that of the strongest.
                    sight.difference -= w * apart;
                }
            }
            if self.with_impedances {
                let mut nodes = Complex::ZERO;
                for (i, w) in kept.weight.iter().enumerate() {
                    nodes += w * impedance[i];
                    let mut among = Complex::ZERO;
                    for (other, apart) in kept.weight[i + 1..].iter().zip(&distance[i][i + 1..n]) {
                        among += other * apart;
                    }
                    sight.impedance -= w * among;
                }
                sight.impedance += kept.sum * nodes;
            }
            if let Some(shown) = shown.get_mut(views.ports[port].asked as usize) {
                *shown = sight;
            }
        }
    }
}

/// The rows of one cut, each with each.
#[derive(Clone, Debug)]
struct CutView {
    n: usize,
    potential: [Complex<f64>; BAG_MAX],
    difference: [[Complex<f64>; BAG_MAX]; BAG_MAX],
    impedance: [Complex<f64>; BAG_MAX],
    /// Above the diagonal.
    distance: [[Complex<f64>; BAG_MAX]; BAG_MAX],
    /// As in [`View::joined`].
    tied: u16,
}

impl Default for CutView {
    fn default() -> Self {
        Self {
            n: 0,
            potential: [Complex::ZERO; BAG_MAX],
            difference: [[Complex::ZERO; BAG_MAX]; BAG_MAX],
            impedance: [Complex::ZERO; BAG_MAX],
            distance: [[Complex::ZERO; BAG_MAX]; BAG_MAX],
            tied: 0,
        }
    }
}
