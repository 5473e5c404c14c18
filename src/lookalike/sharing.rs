//! A search split into shares, which whoever asks may do at once.

/// Does the share of a number.
///
/// ```
/// use slotwise::lookalike::Share;
/// fn backwards(n: usize, share: &Share<'_>) {
///     (0..n).rev().for_each(share);
/// }
/// ```
pub type Share<'s> = dyn Fn(usize) + Sync + 's;

/// How the shares of a search are done. The library starts no thread: it says what each share is,
/// and the caller does them, one after the other or at once. The answer is the same with any
/// number of shares.
///
/// ```
/// use slotwise::lookalike::{Share, Sharing};
/// // Two threads, a share each.
/// let at_once = |n: usize, share: &Share<'_>| {
///     std::thread::scope(|scope| {
///         for number in 0..n {
///             scope.spawn(move || share(number));
///         }
///     });
/// };
/// let sharing = Sharing::new(2, &at_once);
/// assert_eq!(sharing.shares(), 2);
/// ```
#[derive(Clone, Copy)]
pub struct Sharing<'r> {
    shares: usize,
    run: &'r dyn Fn(usize, &Share<'_>),
}

impl std::fmt::Debug for Sharing<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Sharing").field("shares", &self.shares).finish_non_exhaustive()
    }
}

impl<'r> Sharing<'r> {
    /// So many shares at most, done by `run`: given a number of shares, it calls what it is given
    /// once for each number below that, from any thread, and returns when all are done. A share
    /// that is not done is missing in the answer.
    pub fn new(shares: usize, run: &'r dyn Fn(usize, &Share<'_>)) -> Self {
        Self { shares, run }
    }

    /// Everything in one share.
    pub fn alone() -> Sharing<'static> {
        Sharing { shares: 1, run: &|n, share| (0..n).for_each(share) }
    }

    /// The number of shares at most.
    pub fn shares(&self) -> usize {
        self.shares
    }

    pub(super) fn run(&self, shares: usize, share: &Share<'_>) {
        (self.run)(shares, share);
    }
}
