//! Ports on the ways between changed bags.

use std::ops::Range;

use nalgebra::Complex;

use super::bag::View;
use super::junction::{Junction, NONE};
use super::rerooted::Rerooted;
use super::views::{Kept, Views};
use super::ways::{KEPT_MAX, LaidOut, Made, PORT_USUAL, Way, Ways};

/// Ports of one set that lie on ways, seen from the rows at both ends.
#[derive(Clone, Debug)]
pub(super) struct WayViews {
    /// Where the views of each way start, in numbers and in ports; [`NONE`] if not made.
    start: Vec<[u32; 2]>,
    data: Vec<Complex<f64>>,
    joined: Vec<[u16; 2]>,
    strongest: Vec<u8>,
    forgotten: u32,
    /// Ways whose views are to be made, those made of others before these.
    missing: Vec<u32>,
}

impl WayViews {
    pub(super) fn new(n_ways: usize, n_ports: usize) -> Self {
        // Of a chain's ports a way holds a third on average.
        let n = (n_ways * n_ports / 3).min(KEPT_MAX / PORT_USUAL);
        Self {
            start: Vec::with_capacity(n_ways),
            data: Vec::with_capacity(n * PORT_USUAL),
            joined: Vec::with_capacity(n),
            strongest: Vec::with_capacity(n),
            forgotten: 0,
            missing: Vec::with_capacity(n_ways.min(1 << 12)),
        }
    }

    /// Whether too much is kept.
    pub(super) fn is_full(&self) -> bool {
        self.data.len() > KEPT_MAX
    }

    /// Forgets everything if the ways are others now.
    pub(super) fn make_room(&mut self, ways: &Ways) {
        if self.forgotten != ways.forgotten {
            self.start.clear();
            self.data.clear();
            self.joined.clear();
            self.strongest.clear();
            self.forgotten = ways.forgotten;
        }
    }

    /// Makes the views of a way.
    pub(super) fn see(&mut self, network: &Rerooted, views: &Views, ways: &Ways, at: u32) {
        self.start.resize(ways.ways.len().max(self.start.len()), [NONE; 2]);
        self.missing.clear();
        let mut missing = at;
        while self.start.get(missing as usize) == Some(&[NONE; 2]) {
            self.missing.push(missing);
            missing = ways.way(missing).made.from;
        }
        while let Some(missing) = self.missing.pop() {
            self.see_one(network, views, ways, missing);
        }
    }

    fn see_one(&mut self, network: &Rerooted, views: &Views, ways: &Ways, at: u32) {
        let junction = &network.junction;
        let way = ways.way(at);
        let Made { from, bag: added, without } = way.made;
        let n_gone = usize::from(way.n_gone);
        let shorter = (from != NONE).then(|| ways.way(from));
        let is_of_shorter =
            shorter.map(|shorter| ports(junction, views, shorter)).unwrap_or_default();
        let start = [self.data.len() as u32, self.joined.len() as u32];
        self.start[at as usize] = start;
        let rows = way.rows().iter().copied();
        let laid_out = LaidOut::new(junction, way.made, shorter, rows);
        let Some(LaidOut { added: added_at, shorter: shorter_at, .. }) = laid_out else { return };
        for port in ports(junction, views, way).into_iter().flatten() {
            let bag = views.ports[port].bag;
            let mut view = if is_of_shorter.iter().any(|ports| ports.contains(&port)) {
                shorter.map_or(View::nothing(), |way| {
                    self.kept(way, from, port, views, junction).at(|row| shorter_at[row])
                })
            } else if bag == added {
                let rows = added_at[..junction.rows(added as usize)].iter();
                views.ports[port].view().moved(rows.enumerate().map(|(row, &to)| (row, to)))
            } else {
                let children = junction.children(added as usize).iter();
                let mut children = children.filter(|&&child| child != without);
                let child = children.find(|&&child| junction.is_under(bag, child));
                child.map_or(View::nothing(), |&child| {
                    let positions = junction.positions(child as usize);
                    let kept = views.kept(child as usize, positions.len(), port);
                    kept.at(|row| added_at[usize::from(positions[row])])
                })
            };
            for (e, gone) in ways.gone(way).enumerate() {
                view.substitute(e, gone);
            }
            self.keep(n_gone, usize::from(way.n_rows), &view);
        }
    }

    fn keep(&mut self, first: usize, rows: usize, view: &View) {
        let weights = &view.weight[first..first + rows];
        self.data.extend_from_slice(&[view.open, view.impedance, view.sum]);
        self.data.extend_from_slice(weights);
        // As a view of rows 1, 2, ...
        let joined =
            view.joined.map(|joined| joined & View::TIED | (joined & !View::TIED) >> first << 1);
        self.joined.push(joined);
        self.strongest.push(View::strongest(weights));
    }

    /// A port on a way.
    #[inline]
    pub(super) fn kept(
        &self,
        way: &Way,
        at: u32,
        port: usize,
        views: &Views,
        junction: &Junction,
    ) -> Kept<'_> {
        let [below, above] = ports(junction, views, way);
        let nth = match below.contains(&port) {
            true => port - below.start,
            false => below.len() + port - above.start,
        };
        self.nth(way, at, nth)
    }

    /// The port at a place among those of a way.
    #[inline]
    pub(super) fn nth(&self, way: &Way, at: u32, nth: usize) -> Kept<'_> {
        let n = 3 + usize::from(way.n_rows);
        let [data, marks] = self.start[at as usize];
        let from = data as usize + nth * n;
        Kept::new(
            &self.data[from..from + n],
            self.joined[marks as usize + nth],
            self.strongest[marks as usize + nth],
        )
    }
}

/// The ports on a way: those before its bag's own and those after.
pub(super) fn ports(junction: &Junction, views: &Views, way: &Way) -> [Range<usize>; 2] {
    let first = |bag: u32| junction.first[bag as usize];
    [views.within(first(way.top), first(way.bag)), views.within(way.bag + 1, way.top + 1)]
}
