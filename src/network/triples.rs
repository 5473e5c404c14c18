//! Ports by three, those between three nodes, four threes side by side: what is attached to all
//! three nodes at once is reckoned from them.
//!
//! Port 3k and the two after it are three k.

use super::columns::{Column, Columns, Kept, numbers_of};
use super::junction::NONE;
use super::lanes::{LANES, Wide};

/// Four threes at most.
#[derive(Clone, Copy, Debug)]
struct Block {
    /// [`NONE`] for a lane that is not filled.
    three: [u32; LANES],
    /// Of each of the three ports.
    strongest: [u8; 3],
}

/// The threes of one column, and those of its ports of which the three are not all there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Triple {
    block: u32,
    n_blocks: u32,
    number: u32,
    /// As those of the column.
    pub(super) column: Column,
    pub(super) rest: Column,
}

/// Views of threes from the rows of many cuts.
#[derive(Clone, Debug, Default)]
pub(super) struct Triples {
    block: Vec<Block>,
    number: Vec<Wide>,
    /// Threes as they are put together: what they are read from, and where they are.
    found: Vec<Found>,
}

#[derive(Clone, Copy, Debug)]
struct Found {
    strongest: [u8; 3],
    three: u32,
    n: u8,
    /// Block and lane.
    at: [(u32, u8); 3],
}

impl Triples {
    pub(super) fn clear(&mut self) {
        self.block.clear();
        self.number.clear();
    }

    /// Numbers kept, those of lanes not filled among them.
    pub(super) fn len(&self) -> usize {
        self.number.len() * LANES
    }

    /// Puts together what is in a column.
    pub(super) fn keep(&mut self, columns: &mut Columns, column: Column) -> Triple {
        self.found.clear();
        for (nth, lanes) in columns.lanes(&column) {
            for (lane, (strongest, asked)) in lanes.into_iter().enumerate() {
                if asked == NONE {
                    continue;
                }
                let (three, port) = (asked / 3, (asked % 3) as usize);
                let known = self.found.iter_mut().find(|found| found.three == three);
                let found = match known {
                    Some(found) => found,
                    None => {
                        let (n, at, strongest) = (0, [(0, 0); 3], [0; 3]);
                        self.found.push(Found { strongest, three, n, at });
                        let Some(found) = self.found.last_mut() else { continue };
                        found
                    }
                };
                (found.at[port], found.strongest[port]) = ((nth, lane as u8), strongest);
                found.n += 1;
            }
        }
        let split = |found: &Found| found.n < 3;
        let is_split =
            |asked: u32| self.found.iter().any(|found| split(found) && found.three == asked / 3);
        let rest = columns.keep_some(&column, is_split);
        self.found.retain(|found| !split(found));
        self.found.sort_unstable_by_key(|found| (found.strongest, found.three));
        let (block, number) = (self.block.len() as u32, self.number.len() as u32);
        let each = numbers_of(&column);
        for of_rows in self.found.chunk_by(|a, b| a.strongest == b.strongest) {
            for four in of_rows.chunks(LANES) {
                let mut block = Block { three: [NONE; LANES], strongest: four[0].strongest };
                for (three, found) in block.three.iter_mut().zip(four) {
                    *three = found.three;
                }
                self.block.push(block);
                for port in 0..3 {
                    let first = self.number.len();
                    self.number.resize(first + each, Wide::ZERO);
                    for (lane, found) in four.iter().enumerate() {
                        let (nth, from_lane) = found.at[port];
                        let from = columns.numbers(&column, nth);
                        for (own, number) in self.number[first..].iter_mut().zip(from) {
                            own.set(lane, number.get(usize::from(from_lane)));
                        }
                    }
                }
            }
        }
        let n_blocks = self.block.len() as u32 - block;
        Triple { block, n_blocks, number, column, rest }
    }

    /// Of each four threes their places and the views of their ports.
    pub(super) fn each(&self, triple: &Triple, mut read: impl FnMut([u32; LANES], [Kept<'_>; 3])) {
        let each = numbers_of(&triple.column);
        let blocks = &self.block[triple.block as usize..][..triple.n_blocks as usize];
        let numbers = self.number[triple.number as usize..].chunks_exact(3 * each);
        for (block, numbers) in blocks.iter().zip(numbers) {
            let port = |nth: usize| {
                Kept::new(&numbers[nth * each..][..each], usize::from(block.strongest[nth]))
            };
            read(block.three, [port(0), port(1), port(2)]);
        }
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::Complex;

    use super::super::bag::{Gone, View};
    use super::super::columns::{Loose, Step};
    use super::*;

    /// Numbers of a port seen from two rows, the larger weight at one of them: no two are alike.
    fn view(asked: u32, strongest: usize) -> View {
        let own = f64::from(asked) + 1.0;
        let mut view = View::nothing();
        view.weight[1 - strongest] = Complex::new(own / 100.0, 0.1);
        view.weight[strongest] = Complex::new(5.0, own);
        (view.open, view.impedance) = (Complex::new(own, 1.0), Complex::new(own, 2.0));
        (view.sum, view.joined) = (Complex::new(own, 3.0), [0b01, 0b10]);
        view
    }

    fn kept(columns: &mut Columns, ports: impl Iterator<Item = (u32, usize)>) -> Column {
        let step = Step::new(|_| -> Gone<'static> { unreachable!("nothing goes") }, 0, 2);
        let mut loose = Loose::with_room(16);
        loose.begin(2);
        for (asked, strongest) in ports {
            loose.put_own(asked, &view(asked, strongest), &step, &[0, 1]);
        }
        columns.keep(&mut loose)
    }

    /// The row of the larger weight, other ones for the threes of odd number.
    fn strongest(asked: u32) -> usize {
        let of_three = if (asked / 3).is_multiple_of(2) { [0, 1, 0] } else { [1, 1, 0] };
        of_three[asked as usize % 3]
    }

    #[test]
    fn threes_that_are_all_there_are_read_together_and_the_others_are_left() {
        let mut columns = Columns::default();
        // Of threes 4 and 7 one or two ports are elsewhere.
        let all = (0..24).filter(|asked| ![12, 21, 23].contains(asked));
        let column = kept(&mut columns, all.map(|asked| (asked, strongest(asked))));
        let mut triples = Triples::default();
        for _ in 0..2 {
            // What was kept before is not read with it.
            let triple = triples.keep(&mut columns, column);
            let mut rest: Vec<u32> = columns.asked(&triple.rest).collect();
            rest.sort_unstable();
            assert_eq!(rest, [13, 14, 22]);
            let mut found = Vec::new();
            triples.each(&triple, |threes, ports| {
                for (lane, three) in threes.into_iter().enumerate().filter(|(_, at)| *at != NONE) {
                    found.push(three);
                    for (port, kept) in (3 * three..).zip(&ports) {
                        let view = view(port, strongest(port));
                        assert_eq!(kept.open().get(lane), view.open);
                        assert_eq!(kept.impedance().get(lane), view.impedance);
                        assert_eq!(kept.sum().get(lane), view.sum);
                        let weights = [0, 1].map(|row| kept.weight()[row].get(lane));
                        assert_eq!(weights.as_slice(), &view.weight[..2]);
                        assert_eq!(kept.strongest, [strongest(port); 2]);
                    }
                }
            });
            found.sort_unstable();
            assert_eq!(found, [0, 1, 2, 3, 5, 6]);
        }
        // Three threes of each kind are one block of each, three ports of five numbers, twice.
        assert_eq!(triples.len(), 2 * 2 * 3 * 5 * LANES);
        triples.clear();
        assert_eq!(triples.len(), 0);
    }
}
