//! Views of many ports side by side, four in a block, in the order in which they are read.
//!
//! All ports beyond one cut are read from the same few rows, and all take the same steps from one
//! cut to the next: four do so at once, without a word of any machine's own instructions. Ports of
//! either half of a block have their largest weight at the same row, from which they are read.

use super::bag::{BAG_MAX, Gone, View};
use super::junction::NONE;
use super::lanes::{LANES, Wide};

/// Threes of ports at most that are not as in another column.
const THREES_MAX: usize = 4;

/// Ports put together at once for which there is room from the beginning, at most.
const PORTS_USUAL: usize = 1 << 12;

/// What one lane of a block is.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Lane {
    /// Its place in the order asked for; [`NONE`] for a lane that is not filled.
    asked: u32,
    /// As in [`View::joined`].
    joined: [u16; 2],
}

impl Lane {
    const EMPTY: Self = Self { asked: NONE, joined: [View::TIED; 2] };
}

/// Lanes whose ports have their largest weight at the same row.
const HALF: usize = LANES / 2;

/// Four ports at most.
#[derive(Clone, Copy, Debug)]
pub(super) struct Block {
    lane: [Lane; LANES],
    /// The row with the largest weight, of either half.
    strongest: [u8; 2],
}

impl Block {
    fn strongest(&self, lane: usize) -> u8 {
        self.strongest[lane / HALF]
    }
}

/// Numbers of one block: open, impedance, λ, and the weight of each row.
const NUMBERS: usize = 3;
const OPEN: usize = 0;
const IMPEDANCE: usize = 1;
const SUM: usize = 2;

/// Some ports seen from the same rows: where they are among [`Columns`].
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Column {
    block: u32,
    n_blocks: u32,
    number: u32,
    rows: u8,
    /// Whether each end of each port is joined with some row, or the reference.
    is_joined: bool,
}

/// How many numbers each block of a column has.
pub(super) fn numbers_of(column: &Column) -> usize {
    NUMBERS + usize::from(column.rows)
}

impl Column {
    pub(super) fn is_empty(&self) -> bool {
        self.n_blocks == 0
    }
}

/// Views of ports from the rows of many cuts.
#[derive(Clone, Debug, Default)]
pub(super) struct Columns {
    block: Vec<Block>,
    number: Vec<Wide>,
}

impl Columns {
    /// With room for so many blocks of so many numbers each.
    pub(super) fn with_room(n_blocks: usize, numbers: usize) -> Self {
        Self { block: Vec::with_capacity(n_blocks), number: Vec::with_capacity(n_blocks * numbers) }
    }

    pub(super) fn clear(&mut self) {
        self.block.clear();
        self.number.clear();
    }

    /// Numbers kept, those of lanes not filled among them.
    pub(super) fn len(&self) -> usize {
        self.number.len() * LANES
    }

    fn blocks(&self, column: &Column) -> impl Iterator<Item = (&Block, &[Wide])> {
        let blocks = &self.block[column.block as usize..(column.block + column.n_blocks) as usize];
        let each = NUMBERS + usize::from(column.rows);
        let numbers = &self.number[column.number as usize..];
        // In chunks they would be counted, which is a division.
        blocks.iter().enumerate().map(move |(nth, block)| (block, &numbers[nth * each..][..each]))
    }

    /// Of each block of a column its numbers, what the row from which it is read is, and its lanes by
    /// place and order asked for.
    #[inline]
    pub(super) fn each(
        &self,
        column: &Column,
        mut read: impl FnMut(Kept<'_>, [(u32, [u16; 2]); LANES]),
    ) {
        for (block, number) in self.blocks(column) {
            let kept = Kept { number, strongest: block.strongest.map(usize::from) };
            read(kept, block.lane.map(|lane| (lane.asked, lane.joined)));
        }
    }

    /// The ports of a column, by their places in the order asked for.
    pub(super) fn asked(&self, column: &Column) -> impl Iterator<Item = u32> {
        let lanes = self.blocks(column).flat_map(|(block, _)| block.lane);
        lanes.map(|lane| lane.asked).filter(|&asked| asked != NONE)
    }

    /// Of each block of a column its place among them, and of each lane the row from which it is read
    /// and what is asked for.
    pub(super) fn lanes(&self, column: &Column) -> impl Iterator<Item = (u32, [(u8, u32); LANES])> {
        let blocks = self.blocks(column).enumerate();
        blocks.map(|(nth, (block, _))| {
            let of_lane = |lane: usize| (block.strongest(lane), block.lane[lane].asked);
            (nth as u32, std::array::from_fn(of_lane))
        })
    }

    /// The numbers of a block of a column.
    pub(super) fn numbers(&self, column: &Column, nth: u32) -> &[Wide] {
        self.block(column, nth).map_or(&[], |(_, numbers)| numbers)
    }

    /// Keeps some of the ports of a column in one of their own.
    pub(super) fn keep_some(&mut self, column: &Column, is: impl Fn(u32) -> bool) -> Column {
        let (first, number) = (self.block.len(), self.number.len() as u32);
        let each = numbers_of(column);
        for nth in 0..column.n_blocks {
            let mut block = self.block[(column.block + nth) as usize];
            let others = block.lane.iter_mut().filter(|lane| lane.asked != NONE && !is(lane.asked));
            others.for_each(|lane| *lane = Lane::EMPTY);
            if block.lane.iter().any(|lane| lane.asked != NONE) {
                self.block.push(block);
                let from = column.number as usize + nth as usize * each;
                self.number.extend_from_within(from..from + each);
            }
        }
        let n_blocks = (self.block.len() - first) as u32;
        Column { block: first as u32, n_blocks, number, ..*column }
    }

    /// Keeps a column of others, but of some of its ports what another column has.
    pub(super) fn copy_but(&mut self, from: &Self, column: &Column, others: &Column) -> Column {
        let copied = self.copy(from, column);
        for asked in from.asked(others) {
            let lanes = self.block[copied.block as usize..].iter_mut().flat_map(|b| &mut b.lane);
            lanes.filter(|lane| lane.asked == asked).for_each(|lane| *lane = Lane::EMPTY);
        }
        let others = self.copy(from, others);
        let is_joined = copied.is_joined && others.is_joined;
        Column { n_blocks: copied.n_blocks + others.n_blocks, is_joined, ..copied }
    }

    /// Of the ports of a column, the block and the lane where they are.
    pub(super) fn find(&self, column: &Column, places: &mut Vec<(u32, u8)>) {
        for (nth, (block, _)) in self.blocks(column).enumerate() {
            for (lane, Lane { asked, .. }) in block.lane.iter().enumerate() {
                if *asked == NONE {
                    continue;
                }
                let at = *asked as usize;
                if at >= places.len() {
                    places.resize(at + 1, (0, 0));
                }
                places[at] = (nth as u32, lane as u8);
            }
        }
    }

    fn block(&self, column: &Column, nth: u32) -> Option<(&Block, &[Wide])> {
        let each = NUMBERS + usize::from(column.rows);
        let from = column.number as usize + nth as usize * each;
        let block =
            self.block.get((column.block + nth) as usize).filter(|_| nth < column.n_blocks)?;
        Some((block, self.number.get(from..from + each)?))
    }

    /// Keeps a column of others.
    pub(super) fn copy(&mut self, from: &Self, column: &Column) -> Column {
        let [block, number] = [self.block.len() as u32, self.number.len() as u32];
        let blocks = column.block as usize..(column.block + column.n_blocks) as usize;
        let n = blocks.len() * (NUMBERS + usize::from(column.rows));
        self.block.extend_from_slice(&from.block[blocks]);
        self.number.extend_from_slice(&from.number[column.number as usize..][..n]);
        Column { block, number, ..*column }
    }

    /// Keeps what was put together, those of one strongest row side by side, two at least.
    pub(super) fn keep(&mut self, loose: &mut Loose) -> Column {
        let each = NUMBERS + loose.rows;
        let block = self.block.len() as u32;
        let number = self.number.len() as u32;
        self.block.extend_from_slice(&loose.full);
        self.number.extend_from_slice(&loose.number_of_full);
        if loose.port.len() > 1 {
            loose.port.sort_unstable_by_key(|one| one.strongest);
        }
        let of_rows = loose.port.chunk_by(|a, b| a.strongest == b.strongest);
        let mut halves = of_rows.flat_map(|of_row| of_row.chunks(HALF));
        while let Some(one) = halves.next() {
            let other = halves.next().unwrap_or_default();
            let strongest = [one, if other.is_empty() { one } else { other }];
            let strongest = strongest.map(|half| half[0].strongest);
            let mut block = Block { lane: [Lane::EMPTY; LANES], strongest };
            let first = self.number.len();
            self.number.resize(first + each, Wide::ZERO);
            for (lane, one) in (0..HALF).zip(one).chain((HALF..LANES).zip(other)) {
                block.lane[lane] = one.lane;
                let numbers = &loose.number[one.from as usize..one.from as usize + each];
                for (own, number) in self.number[first..].iter_mut().zip(numbers) {
                    own.set(lane, number.get(usize::from(one.from_lane)));
                }
            }
            self.block.push(block);
        }
        let n_blocks = self.block.len() as u32 - block;
        Column { block, n_blocks, number, rows: loose.rows as u8, is_joined: loose.is_joined }
    }
}

impl Column {
    /// Whether all ends lead to the reference if these rows do, as in [`View::joined`].
    #[inline]
    pub(super) fn is_tied(&self, tied: u16) -> bool {
        let all = (1 << (self.rows + 1)) - 2;
        self.is_joined && tied & all == all
    }
}

/// The numbers of one block.
#[derive(Clone, Copy)]
pub(super) struct Kept<'k> {
    number: &'k [Wide],
    /// The row from which it is read, of either half.
    pub(super) strongest: [usize; 2],
}

impl<'k> Kept<'k> {
    #[inline(always)]
    pub(super) fn new(number: &'k [Wide], strongest: usize) -> Self {
        Self { number, strongest: [strongest; 2] }
    }

    #[inline(always)]
    pub(super) fn open(&self) -> &'k Wide {
        &self.number[OPEN]
    }

    #[inline(always)]
    pub(super) fn impedance(&self) -> &'k Wide {
        &self.number[IMPEDANCE]
    }

    #[inline(always)]
    pub(super) fn sum(&self) -> &'k Wide {
        &self.number[SUM]
    }

    #[inline(always)]
    pub(super) fn weight(&self) -> &'k [Wide] {
        &self.number[NUMBERS..]
    }
}

/// A port put together.
#[derive(Clone, Copy, Debug)]
struct Put {
    lane: Lane,
    strongest: u8,
    /// Where its numbers are, and in which lane.
    from_lane: u8,
    from: u32,
}

/// Ports seen from some rows as they are put together.
#[derive(Clone, Debug, Default)]
pub(super) struct Loose {
    rows: usize,
    is_joined: bool,
    /// Blocks that stay as they are.
    full: Vec<Block>,
    number_of_full: Vec<Wide>,
    /// The others, in no order yet.
    port: Vec<Put>,
    number: Vec<Wide>,
}

/// How ports come from some rows to others: first each row has another place, then the first rows
/// go.
pub(super) struct Step<F> {
    /// What the row at a place left.
    gone: F,
    n_gone: usize,
    n_places: usize,
    /// As in [`Gone::further`].
    further: [u16; BAG_MAX],
}

impl<'g, F: Fn(usize) -> Gone<'g>> Step<F> {
    /// Of so many places so many go, in order from the first.
    pub(super) fn new(gone: F, n_gone: usize, n_places: usize) -> Self {
        let mut further = [0; BAG_MAX];
        for (e, further) in further[..n_gone].iter_mut().enumerate() {
            *further = gone(e).further(e);
        }
        Self { gone, n_gone, n_places, further }
    }

    /// What an end is joined with once the rows that go have gone.
    fn joined_after(&self, joined: u16, places: &[u8]) -> u16 {
        let mut after = joined & View::TIED;
        for (row, place) in places.iter().enumerate() {
            after |= (joined >> (row + 1) & 1) << place;
        }
        for (e, further) in self.further[..self.n_gone].iter().enumerate() {
            if after >> e & 1 == 1 {
                after = after & !(1 << e) | further;
            }
        }
        stayed(after, self.n_gone)
    }
}

impl Loose {
    /// With room for so many ports, whatever they are seen from.
    pub(super) fn with_room(n_ports: usize) -> Self {
        let n_ports = n_ports.min(PORTS_USUAL);
        let n_blocks = n_ports.div_ceil(LANES);
        let numbers = NUMBERS + BAG_MAX;
        Self {
            rows: 0,
            is_joined: true,
            full: Vec::with_capacity(n_blocks),
            number_of_full: Vec::with_capacity(n_blocks * numbers),
            port: Vec::with_capacity(n_ports),
            number: Vec::with_capacity(n_ports * numbers),
        }
    }

    /// Starts anew, for ports seen from so many rows.
    pub(super) fn begin(&mut self, rows: usize) {
        self.rows = rows;
        self.is_joined = true;
        self.full.clear();
        self.number_of_full.clear();
        self.port.clear();
        self.number.clear();
    }

    /// Puts one port, seen from its own bag of which each row has a place.
    pub(super) fn put_own<'g>(
        &mut self,
        asked: u32,
        own: &View,
        step: &Step<impl Fn(usize) -> Gone<'g>>,
        places: &[u8],
    ) {
        let places = places.iter().map(|place| usize::from(*place));
        let mut view = own.moved(places.enumerate());
        for e in 0..step.n_gone {
            view.substitute(e, (step.gone)(e));
        }
        let weights = &view.weight[step.n_gone..step.n_places];
        let from = self.number.len() as u32;
        for number in [view.open, view.impedance, view.sum].iter().chain(weights) {
            let mut wide = Wide::ZERO;
            wide.set(0, *number);
            self.number.push(wide);
        }
        let strongest = View::strongest(weights);
        let joined = view.joined.map(|joined| stayed(joined, step.n_gone));
        self.is_joined &= joined.iter().all(|joined| *joined != 0);
        self.port.push(Put { lane: Lane { asked, joined }, strongest, from, from_lane: 0 });
    }

    /// Puts those ports of a column that are not, to the last bit, as in a column of the same
    /// ports, which are at these places; whether they are few.
    pub(super) fn put_others(
        &mut self,
        (columns, column): (&Columns, &Column),
        (kept, like): (&Columns, &Column),
        places: &[(u32, u8)],
    ) -> bool {
        self.begin(usize::from(column.rows));
        if column.rows != like.rows {
            return false;
        }
        // Three ports, from each third on, go together.
        let mut others = [NONE; THREES_MAX];
        let mut n = 0;
        for (block, numbers) in columns.blocks(column) {
            for (at, lane) in block.lane.iter().enumerate().filter(|(_, lane)| lane.asked != NONE) {
                let place = places.get(lane.asked as usize);
                let other = place.and_then(|&(nth, at)| Some((kept.block(like, nth)?, at)));
                let is_alike = other.is_some_and(|((other, others), other_at)| {
                    let other_at = usize::from(other_at);
                    other.lane[other_at] == *lane
                        && other.strongest(other_at) == block.strongest(at)
                        && numbers.iter().zip(others).all(|(a, b)| a.is_lane(at, b, other_at))
                });
                if is_alike || others[..n].contains(&(lane.asked / 3)) {
                    continue;
                }
                let Some(free) = others.get_mut(n) else { return false };
                *free = lane.asked / 3;
                n += 1;
            }
        }
        for (block, numbers) in columns.blocks(column) {
            let mut from = None;
            let is_other =
                |lane: &Lane| lane.asked != NONE && others[..n].contains(&(lane.asked / 3));
            for (at, lane) in block.lane.iter().enumerate().filter(|(_, lane)| is_other(lane)) {
                let from = *from.get_or_insert_with(|| {
                    self.number.extend_from_slice(numbers);
                    (self.number.len() - numbers.len()) as u32
                });
                let strongest = block.strongest(at);
                self.port.push(Put { lane: *lane, strongest, from, from_lane: at as u8 });
                self.is_joined &= lane.joined.iter().all(|joined| *joined != 0);
            }
        }
        true
    }

    /// Puts all ports of a column, of which each row has a place.
    pub(super) fn put_column<'g>(
        &mut self,
        columns: &Columns,
        column: &Column,
        step: &Step<impl Fn(usize) -> Gone<'g>>,
        places: &[u8],
    ) {
        // Ports side by side are mostly joined with the same rows: of each end, those of the last.
        let mut known = [(0, 0); 2];
        let mut weight = [Wide::ZERO; BAG_MAX];
        let is_whole = places.len() == step.n_places;
        for (block, numbers) in columns.blocks(column) {
            if !is_whole {
                weight[..step.n_places].fill(Wide::ZERO);
            }
            for (place, own) in places.iter().zip(&numbers[NUMBERS..]) {
                weight[usize::from(*place)] = *own;
            }
            let [mut open, mut impedance, mut sum] =
                [OPEN, IMPEDANCE, SUM].map(|number| numbers[number]);
            for e in 0..step.n_gone {
                let (gone, t) = ((step.gone)(e), weight[e]);
                for (own, w) in weight[e + 1..].iter_mut().zip(gone.weight) {
                    own.add_times(&t, *w);
                }
                sum.add_times(&t, -gone.to_reference);
                open.add_times(&t, gone.drive);
                let mut through = Wide::ZERO;
                through.add_times(&t, gone.impedance);
                impedance.add_product(&t, &through);
            }
            let weights = &weight[step.n_gone..step.n_places];
            let strongest = strongest(weights);
            let mut lanes = block.lane;
            for lane in lanes.iter_mut().filter(|lane| lane.asked != NONE) {
                for (end, known) in lane.joined.iter_mut().zip(&mut known) {
                    if *end != known.0 {
                        *known = (*end, step.joined_after(*end, places));
                    }
                    *end = known.1;
                    self.is_joined &= *end != 0;
                }
            }
            let is_full = lanes.iter().all(|lane| lane.asked != NONE)
                && strongest.chunks(HALF).all(|half| half[0] == half[1]);
            let numbers = match is_full {
                true => {
                    let strongest = [strongest[0], strongest[HALF]];
                    self.full.push(Block { lane: lanes, strongest });
                    &mut self.number_of_full
                }
                false => {
                    let from = self.number.len() as u32;
                    for (at, lane) in lanes.into_iter().enumerate() {
                        if lane.asked != NONE {
                            let strongest = strongest[at];
                            self.port.push(Put { lane, strongest, from, from_lane: at as u8 });
                        }
                    }
                    &mut self.number
                }
            };
            numbers.extend_from_slice(&[open, impedance, sum]);
            numbers.extend_from_slice(weights);
        }
    }
}

/// Joined with rows by their places, of which the first have gone, as with rows 1, 2, ...
fn stayed(joined: u16, n_gone: usize) -> u16 {
    joined & View::TIED | (joined & !View::TIED) >> n_gone << 1
}

/// Of each lane the row with the largest weight.
fn strongest(weights: &[Wide]) -> [u8; LANES] {
    // Rows as numbers of the same kind, so that lanes stay side by side.
    let (mut strongest, mut largest) = ([0.0; LANES], [0.0; LANES]);
    for (row, w) in weights.iter().enumerate() {
        let row = row as f64;
        for (lane, size) in w.squares().into_iter().enumerate() {
            let is_larger = size > largest[lane];
            strongest[lane] = if is_larger { row } else { strongest[lane] };
            largest[lane] = if is_larger { size } else { largest[lane] };
        }
    }
    strongest.map(|row| row as u8)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use nalgebra::Complex;

    use super::*;

    /// A port as it is seen from some rows: of its weights that of one row is the largest, and its
    /// ends are joined with rows by their places from zero on.
    #[derive(Clone, Copy)]
    struct Port {
        asked: u32,
        strongest: usize,
        joined: [u16; 2],
    }

    fn port(asked: u32, strongest: usize) -> Port {
        Port { asked, strongest, joined: [0b01, 0b10] }
    }

    impl Port {
        /// Numbers that no other port has.
        fn view(&self, rows: usize) -> View {
            let own = f64::from(self.asked) + 1.0;
            let mut view = View::nothing();
            for (row, weight) in view.weight[..rows].iter_mut().enumerate() {
                *weight = Complex::new(own / 100.0, row as f64 / 10.0);
            }
            view.weight[self.strongest] = Complex::new(5.0, own);
            (view.open, view.impedance) = (Complex::new(own, 1.0), Complex::new(own, 2.0));
            view.sum = Complex::new(own, 3.0);
            view.joined = self.joined;
            view
        }

        /// As it is read again; rows are then counted from one.
        fn as_read(&self, rows: usize) -> Read {
            let view = self.view(rows);
            let first = [view.open, view.impedance, view.sum];
            let numbers = first.iter().chain(&view.weight[..rows]).copied().collect();
            (numbers, self.strongest, self.joined.map(|joined| joined << 1))
        }
    }

    type Read = (Vec<Complex<f64>>, usize, [u16; 2]);

    const PLACES: [u8; 3] = [0, 1, 2];

    /// No row goes, each stays where it is.
    fn as_it_is<'g>(rows: usize) -> Step<impl Fn(usize) -> Gone<'g>> {
        Step::new(|_| -> Gone<'g> { unreachable!("nothing goes") }, 0, rows)
    }

    fn put(loose: &mut Loose, rows: usize, ports: &[Port]) {
        loose.begin(rows);
        for port in ports {
            loose.put_own(port.asked, &port.view(rows), &as_it_is(rows), &PLACES[..rows]);
        }
    }

    fn kept(columns: &mut Columns, rows: usize, ports: &[Port]) -> Column {
        let mut loose = Loose::with_room(ports.len());
        put(&mut loose, rows, ports);
        columns.keep(&mut loose)
    }

    fn read(columns: &Columns, column: &Column) -> BTreeMap<u32, Read> {
        let mut all = BTreeMap::new();
        columns.each(column, |kept, lanes| {
            for (lane, (asked, joined)) in lanes.into_iter().enumerate() {
                if asked != NONE {
                    let numbers = kept.number.iter().map(|number| number.get(lane)).collect();
                    let seen = (numbers, kept.strongest[lane / HALF], joined);
                    assert!(all.insert(asked, seen).is_none(), "port {asked} is there twice");
                }
            }
        });
        all
    }

    fn expected(rows: usize, ports: &[Port]) -> BTreeMap<u32, Read> {
        ports.iter().map(|port| (port.asked, port.as_read(rows))).collect()
    }

    /// Twelve ports read from three rows in turn, so that no two neighbours are read alike.
    fn twelve() -> Vec<Port> {
        (0..12).map(|asked| port(asked, asked as usize % 3)).collect()
    }

    #[test]
    fn ports_are_read_as_they_were_put_each_from_the_row_of_its_largest_weight() {
        let mut columns = Columns::with_room(8, 6);
        let few = [port(20, 1), port(21, 0), port(22, 1)];
        let (first, second) = (kept(&mut columns, 2, &few), kept(&mut columns, 3, &twelve()));
        assert_eq!(read(&columns, &first), expected(2, &few));
        assert_eq!(read(&columns, &second), expected(3, &twelve()));
        // Four of each row are two halves, so that six halves fill three blocks of four lanes. Of
        // three ports of two rows the halves fill one.
        assert_eq!((first.n_blocks, second.n_blocks), (1, 3));
        assert_eq!(columns.len(), (5 + 3 * 6) * LANES);
        let asked: std::collections::BTreeSet<u32> = columns.asked(&second).collect();
        assert_eq!(asked, (0..12).collect());
        assert!(Column::default().is_empty() && !first.is_empty());
        columns.clear();
        assert_eq!(columns.len(), 0);
    }

    #[test]
    fn a_port_is_found_at_its_block_and_its_lane() {
        let mut columns = Columns::default();
        kept(&mut columns, 2, &[port(3, 0), port(4, 1)]);
        let column = kept(&mut columns, 3, &twelve());
        let mut places = Vec::new();
        columns.find(&column, &mut places);
        assert_eq!(places.len(), 12);
        let lanes: Vec<_> = columns.lanes(&column).collect();
        for port in twelve() {
            let (nth, lane) = places[port.asked as usize];
            let (strongest, asked) = lanes[nth as usize].1[usize::from(lane)];
            assert_eq!((usize::from(strongest), asked), (port.strongest, port.asked));
            let numbers = columns.numbers(&column, nth).iter();
            let numbers: Vec<_> = numbers.map(|number| number.get(usize::from(lane))).collect();
            assert_eq!(numbers, port.as_read(3).0);
        }
        assert!(columns.numbers(&column, 3).is_empty(), "there are three blocks");
    }

    #[test]
    fn some_ports_of_a_column_are_kept_by_themselves_and_the_others_stay() {
        let mut columns = Columns::default();
        kept(&mut columns, 2, &[port(3, 0), port(4, 1)]);
        let column = kept(&mut columns, 3, &twelve());
        for some in [vec![0, 5, 11], vec![7], vec![1, 4, 7, 10], (0..12).collect(), vec![]] {
            let of_them = columns.keep_some(&column, |asked| some.contains(&asked));
            let ports: Vec<Port> = twelve();
            let ports = ports.into_iter().filter(|port| some.contains(&port.asked));
            assert_eq!(read(&columns, &of_them), expected(3, &ports.collect::<Vec<_>>()));
            assert_eq!(of_them.is_empty(), some.is_empty());
        }
        assert_eq!(read(&columns, &column), expected(3, &twelve()));
    }

    #[test]
    fn a_column_is_copied_but_for_the_ports_that_another_has() {
        let mut from = Columns::default();
        let column = kept(&mut from, 3, &twelve());
        // Ports 2 and 9 are seen from another row than before.
        let others = [port(2, 0), port(9, 1)];
        let others_column = kept(&mut from, 3, &others);
        let mut columns = Columns::default();
        kept(&mut columns, 3, &[port(30, 0)]);
        let copied = columns.copy_but(&from, &column, &others_column);
        let mut ports = twelve();
        (ports[2], ports[9]) = (others[0], others[1]);
        assert_eq!(read(&columns, &copied), expected(3, &ports));
        assert!(copied.is_tied(0b1110));
        let loose_end = kept(&mut from, 3, &[Port { joined: [0b01, 0], ..port(2, 0) }]);
        assert!(!columns.copy_but(&from, &column, &loose_end).is_tied(0b1110));
        assert!(!columns.copy_but(&from, &loose_end, &others_column).is_tied(0b1110));
    }

    #[test]
    fn a_column_is_tied_where_every_end_is_joined_and_every_row_leads_to_the_reference() {
        let mut columns = Columns::default();
        let column = kept(&mut columns, 2, &[port(0, 0), port(1, 1)]);
        // Its rows are the first and the second above the bag's own.
        assert!(column.is_tied(0b110) && column.is_tied(0b1111));
        assert!(!column.is_tied(0b100) && !column.is_tied(0b010));
        for at in 0..3 {
            let mut ports = [port(0, 0), port(1, 1), port(2, 0)];
            ports[at].joined = [0b01, 0];
            let column = kept(&mut columns, 2, &ports);
            assert!(!column.is_tied(0b110), "an end of port {at} hangs loose");
        }
    }

    /// A row with shares of the two after it, and something to the reference.
    const SHARES: [Complex<f64>; 2] = [Complex::new(0.25, 0.0), Complex::new(0.75, 0.0)];

    fn gone(_: usize) -> Gone<'static> {
        Gone {
            weight: &SHARES,
            to_reference: Complex::new(0.5, 0.0),
            drive: Complex::new(4.0, 0.0),
            impedance: Complex::new(3.0, 0.0),
        }
    }

    #[test]
    fn a_row_that_goes_leaves_its_weight_to_the_others_by_their_shares() {
        let mut view = View::nothing();
        view.weight[..3].copy_from_slice(&[2.0, 0.0, 1.0].map(Complex::from));
        (view.sum, view.open) = (Complex::from(3.0), Complex::from(5.0));
        (view.impedance, view.joined) = (Complex::from(7.0), [0b001, 0b100]);
        let step = Step::new(gone, 1, 3);
        // U = 2 U₀ + U₂ + 5 with U₀ = U₁/4 + 3/4 U₂ - 1/2 of the reference + 4.
        let numbers = [5.0 + 2.0 * 4.0, 7.0 + 4.0 * 3.0, 3.0 - 2.0 * 0.5, 0.5, 1.0 + 1.5];
        let numbers: Vec<_> = numbers.map(Complex::from).to_vec();
        // The first end had but the row that went, which leads everywhere.
        let joined = [View::TIED | 0b110, 0b100];
        let mut loose = Loose::with_room(1);
        loose.begin(2);
        loose.put_own(6, &view, &step, &PLACES);
        let mut columns = Columns::default();
        let column = columns.keep(&mut loose);
        assert_eq!(read(&columns, &column), [(6, (numbers.clone(), 1, joined))].into());
        assert!(column.is_tied(0b110));
        // The same of a whole column at once.
        loose.begin(3);
        loose.put_own(6, &view, &as_it_is(3), &PLACES);
        let all = columns.keep(&mut loose);
        loose.begin(2);
        loose.put_column(&columns, &all, &step, &PLACES);
        let column = columns.keep(&mut loose);
        assert_eq!(read(&columns, &column), [(6, (numbers, 1, joined))].into());
    }

    #[test]
    fn an_end_is_joined_with_what_the_row_that_went_was_joined_with() {
        let step = Step::new(gone, 1, 3);
        let after = |joined| step.joined_after(joined, &PLACES);
        // Rows are counted from one before and after.
        assert_eq!(after(0b0010), View::TIED | 0b110);
        assert_eq!(after(0b0110), View::TIED | 0b110);
        assert_eq!(after(0b1100), 0b110);
        assert_eq!(after(0b1000), 0b100);
        assert_eq!(after(View::TIED | 0b0100), View::TIED | 0b010);
        assert_eq!(stayed(View::TIED | 0b11_0100, 2), View::TIED | 0b1_1010);
    }

    #[test]
    fn ports_of_one_block_are_read_apart_once_their_largest_weights_are_at_different_rows() {
        let mut columns = Columns::default();
        // Of the first four ports the last has its largest weight elsewhere than was said.
        let ports = [port(0, 0), port(1, 0), port(2, 1), port(3, 1)];
        let column = kept(&mut columns, 2, &ports);
        let whole = kept(&mut columns, 2, &[port(4, 0), port(5, 0), port(6, 1), port(7, 1)]);
        let mut odd = Columns::default();
        let odd_column = odd.copy(&columns, &column);
        odd.block[odd_column.block as usize].strongest = [0, 0];
        odd.number[NUMBERS].set(3, Complex::new(9.0, 0.0));
        let mut loose = Loose::with_room(8);
        loose.begin(2);
        loose.put_column(&odd, &odd_column, &as_it_is(2), &PLACES[..2]);
        loose.put_column(&columns, &whole, &as_it_is(2), &PLACES[..2]);
        assert_eq!((loose.full.len(), loose.port.len()), (1, 4), "one block stays as it is");
        let together = columns.keep(&mut loose);
        let found = read(&columns, &together);
        let strongest: Vec<usize> = found.values().map(|(_, strongest, _)| *strongest).collect();
        assert_eq!(strongest, [0, 0, 1, 0, 0, 0, 1, 1]);
        assert!(together.is_joined);
        // An end of one port that hangs loose is one of the column's, and so are two.
        let loose_end = |asked| Port { joined: [0, 0b01], ..port(asked, 0) };
        for ports in [vec![port(0, 0), loose_end(1)], vec![loose_end(0), loose_end(1)]] {
            let hanging = kept(&mut columns, 2, &ports);
            loose.begin(2);
            loose.put_column(&columns, &hanging, &as_it_is(2), &PLACES[..2]);
            loose.put_column(&columns, &whole, &as_it_is(2), &PLACES[..2]);
            assert!(!columns.keep(&mut loose).is_joined);
        }
    }

    /// Of a column, the ports that are not as in another, as [`Loose::put_others`] tells them.
    fn others(column: &[Port], like: &[Port]) -> Option<(Vec<u32>, bool)> {
        let (mut columns, mut known) = (Columns::default(), Columns::default());
        kept(&mut columns, 3, &[port(40, 0)]);
        kept(&mut known, 3, &[port(40, 2)]);
        let of_them = kept(&mut columns, 3, column);
        let like = kept(&mut known, 3, like);
        let mut places = Vec::new();
        known.find(&like, &mut places);
        let mut loose = Loose::with_room(column.len());
        let are_few = loose.put_others((&columns, &of_them), (&known, &like), &places);
        let is_joined = loose.is_joined;
        are_few.then(|| {
            let put = columns.keep(&mut loose);
            let found = read(&columns, &put);
            let ports: Vec<Port> =
                column.iter().filter(|port| found.contains_key(&port.asked)).copied().collect();
            assert_eq!(found, expected(3, &ports));
            (found.into_keys().collect(), is_joined)
        })
    }

    #[test]
    fn three_ports_go_together_where_one_of_them_is_not_to_the_last_bit_as_before() {
        let like = twelve();
        assert_eq!(others(&like, &like), Some((vec![], true)));
        // The same in another order are in other lanes.
        let turned: Vec<Port> = like.iter().rev().copied().collect();
        assert_eq!(others(&turned, &like), Some((vec![], true)));
        let mut changed = twelve();
        changed[4].strongest = 2;
        changed[7].joined = [0b101, 0b010];
        assert_eq!(others(&changed, &like), Some((vec![3, 4, 5, 6, 7, 8], true)));
        // Two of the same three are one three.
        changed[3].joined = [0b101, 0b010];
        assert_eq!(others(&changed, &like), Some((vec![3, 4, 5, 6, 7, 8], true)));
        changed[8].joined = [0b101, 0];
        assert_eq!(others(&changed, &like), Some((vec![3, 4, 5, 6, 7, 8], false)));
        // All four threes are few, five are not.
        let all: Vec<Port> =
            twelve().into_iter().map(|port| Port { joined: [0b100, 0b001], ..port }).collect();
        assert_eq!(others(&all, &like), Some(((0..12).collect(), true)));
        let more = |joined| -> Vec<Port> {
            (0..15).map(|asked| Port { joined, ..port(asked, asked as usize % 3) }).collect()
        };
        assert_eq!(others(&more([0b100, 0b001]), &more([0b001, 0b010])), None);
    }

    #[test]
    fn one_bit_of_one_number_makes_a_port_another() {
        let mut columns = Columns::default();
        let column = kept(&mut columns, 3, &twelve());
        let mut places = Vec::new();
        columns.find(&column, &mut places);
        let (nth, lane) = places[10];
        let mut known = columns.clone();
        let at = column.number as usize + nth as usize * numbers_of(&column) + IMPEDANCE;
        let number = known.number[at].get(usize::from(lane));
        let turned = Complex::new(number.re, f64::from_bits(number.im.to_bits() ^ 1));
        known.number[at].set(usize::from(lane), turned);
        let mut loose = Loose::with_room(12);
        assert!(loose.put_others((&columns, &column), (&known, &column), &places));
        let mut put: Vec<u32> = loose.port.iter().map(|put| put.lane.asked).collect();
        put.sort_unstable();
        assert_eq!(put, [9, 10, 11]);
        assert!(loose.is_joined, "all three are");
        let of_two_rows = kept(&mut known, 2, &[port(0, 0)]);
        assert!(!loose.put_others((&columns, &column), (&known, &of_two_rows), &places));
    }
}
