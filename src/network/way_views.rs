//! Ports on the ways between changed bags.

use super::columns::{Column, Columns, Loose, Step};
use super::junction::NONE;
use super::lanes::LANES;
use super::rerooted::Rerooted;
use super::views::{Views, gather};
use super::ways::{KEPT_MAX, LaidOut, Made, PORT_USUAL, Ways};

/// Ports of one set that lie on ways, seen from the rows at both ends.
#[derive(Clone, Debug)]
pub(super) struct WayViews {
    /// The ports on each way, if that was made.
    column: Vec<Option<Column>>,
    pub(super) columns: Columns,
    loose: Loose,
    forgotten: u32,
    /// Ways whose views are to be made, those made of others before these.
    missing: Vec<u32>,
}

impl WayViews {
    pub(super) fn new(n_ways: usize, n_ports: usize) -> Self {
        // Of a chain's ports a way holds a third on average.
        let n = (n_ways * n_ports / 3).min(KEPT_MAX / PORT_USUAL / 2);
        Self {
            column: Vec::with_capacity(n_ways),
            // Ports of one conductor share a block.
            columns: Columns::with_room(2 * n / LANES, PORT_USUAL),
            loose: Loose::with_room(n_ports),
            forgotten: 0,
            missing: Vec::with_capacity(n_ways.min(1 << 12)),
        }
    }

    /// Whether too much is kept.
    pub(super) fn is_full(&self) -> bool {
        self.columns.len() > KEPT_MAX
    }

    /// Forgets everything if the ways are others now.
    pub(super) fn make_room(&mut self, ways: &Ways) {
        if self.forgotten != ways.forgotten {
            self.column.clear();
            self.columns.clear();
            self.forgotten = ways.forgotten;
        }
    }

    /// Makes the views of a way.
    pub(super) fn see(&mut self, network: &Rerooted, views: &Views, ways: &Ways, at: u32) {
        self.column.resize(ways.ways.len().max(self.column.len()), None);
        self.missing.clear();
        let mut missing = at;
        while self.column.get(missing as usize).is_some_and(Option::is_none) {
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
        let shorter = (from != NONE).then(|| ways.way(from));
        let rows = way.rows().iter().copied();
        let laid_out = LaidOut::new(junction, way.made, shorter, rows);
        let Some(LaidOut { added: added_at, shorter: shorter_at, .. }) = laid_out else { return };
        let [n_gone, n_rows] = [way.n_gone, way.n_rows].map(usize::from);
        let step = Step::new(|e| ways.gone(way, e), n_gone, n_gone + n_rows);
        self.loose.begin(n_rows);
        if let Some(column) = self.column.get(from as usize).copied().flatten() {
            let n = shorter.map_or(0, |way| usize::from(way.n_rows));
            self.loose.put_column(&self.columns, &column, &step, &shorter_at[..n]);
        }
        gather(
            &mut self.loose,
            (junction, views.within(added)),
            (added, without),
            (&step, &added_at[..junction.rows(added as usize)]),
            |child| (&views.columns, &views.inside[child as usize]),
        );
        self.column[at as usize] = Some(self.columns.keep(&mut self.loose));
    }

    /// The ports on a way, if there are any.
    pub(super) fn column(&self, at: u32) -> Option<&Column> {
        self.column.get(at as usize)?.as_ref()
    }
}
