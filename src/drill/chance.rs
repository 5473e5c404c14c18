//! Chance that is the same on every machine: whole numbers from a stated generator, and every
//! share made a whole number before anything is decided by it.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Shares and weights are counted in steps of this size.
const STEPS: f64 = 1e9;

/// The chance behind one drill.
#[derive(Clone, Debug)]
pub(super) struct Chance(ChaCha8Rng);

impl Chance {
    /// The chance of drill `number` under a seed. Each number has a stream of its own, so that
    /// no drill depends on those before it.
    pub(super) fn new(seed: u64, number: u64) -> Self {
        let mut key = [0; 32];
        let label = *b"drill\0\0\0";
        let words = [seed.to_le_bytes(), u64::from(super::GENERATOR).to_le_bytes(), label];
        for (place, byte) in key.iter_mut().zip(words.into_iter().flatten()) {
            *place = byte;
        }
        let mut generator = ChaCha8Rng::from_seed(key);
        generator.set_stream(number);
        Self(generator)
    }

    /// A number below `n`, each as likely; 0 where `n` is 0.
    pub(super) fn below(&mut self, n: u64) -> u64 {
        if n == 0 {
            return 0;
        }
        // The last, incomplete round of numbers would favour the small ones.
        let whole = u64::MAX - u64::MAX % n;
        loop {
            let drawn = self.0.next_u64();
            if drawn < whole {
                return drawn % n;
            }
        }
    }

    /// A place in a list of `n`.
    pub(super) fn place(&mut self, n: usize) -> usize {
        // It is below `n`.
        self.below(n as u64) as usize
    }

    /// One of a list.
    pub(super) fn one_of<'l, T>(&mut self, list: &'l [T]) -> Option<&'l T> {
        let place = self.place(list.len());
        list.get(place)
    }

    /// Whether something that happens in this share of cases happens.
    pub(super) fn happens(&mut self, share: f64) -> bool {
        self.below(STEPS as u64) < steps(share)
    }

    /// A value from `low` to `high`, both possible, in steps of `step`.
    pub(super) fn between(&mut self, (low, high): (f64, f64), step: f64) -> f64 {
        let n = ((high - low) / step).round().max(0.0) as u64;
        (low + step * self.below(n + 1) as f64).min(high)
    }

    /// A whole number from `low` to `high`, both possible.
    pub(super) fn count(&mut self, (low, high): (usize, usize)) -> usize {
        low + self.place(high.saturating_sub(low) + 1)
    }

    /// The place of one of a list with these weights; `None` where none has any.
    pub(super) fn weighted(&mut self, weights: &[f64]) -> Option<usize> {
        let largest = weights.iter().copied().fold(0.0, f64::max);
        let counts: Vec<u64> = weights.iter().map(|weight| steps(weight / largest)).collect();
        let mut drawn = self.below(counts.iter().sum());
        counts.iter().position(|&count| match drawn.checked_sub(count) {
            Some(rest) => {
                drawn = rest;
                false
            }
            None => true,
        })
    }

    /// The list in another order.
    pub(super) fn shuffle<T>(&mut self, list: &mut [T]) {
        for place in (1..list.len()).rev() {
            let other = self.place(place + 1);
            list.swap(place, other);
        }
    }
}

/// A share as a whole number of steps; nothing below none, and none for what is no number.
fn steps(share: f64) -> u64 {
    (share * STEPS).round().max(0.0) as u64
}

#[cfg(test)]
mod tests {
    use super::Chance;

    #[test]
    fn the_same_seed_and_number_draw_the_same_and_others_do_not() {
        let draw = |seed, number| Chance::new(seed, number).below(u64::MAX);
        assert_eq!(draw(7, 3), draw(7, 3));
        assert_ne!(draw(7, 3), draw(7, 4));
        assert_ne!(draw(7, 3), draw(8, 3));
    }

    #[test]
    fn ends_of_a_range_are_drawn_and_nothing_past_them() {
        let mut chance = Chance::new(1, 1);
        let drawn: Vec<f64> = (0..400).map(|_| chance.between((6.0, 9.0), 0.5)).collect();
        assert!(drawn.iter().all(|&d| (6.0..=9.0).contains(&d)));
        for end in [6.0, 9.0] {
            assert!(drawn.iter().any(|&d| (d - end).abs() < 1e-12), "{end}");
        }
    }

    #[test]
    fn weights_are_kept_and_what_has_none_is_never_drawn() {
        let mut chance = Chance::new(2, 0);
        let mut counts = [0; 3];
        for _ in 0..3000 {
            counts[chance.weighted(&[1.0, 0.0, 2.0]).unwrap()] += 1;
        }
        assert_eq!(counts[1], 0);
        assert!((850..1150).contains(&counts[0]), "{counts:?}");
        assert_eq!(chance.weighted(&[0.0, 0.0]), None);
        assert_eq!(chance.weighted(&[]), None);
    }
}
