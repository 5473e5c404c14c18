//! How much is solved for an answer.

/// How much is solved for an answer: what bounds its time. Counted in networks and acts and not
/// in seconds, so that the same question has the same answer on any machine.
///
/// ```
/// use slotwise::diagnosis::Effort;
/// let quick = Effort { pairs: 50, ..Effort::default() };
/// assert!(quick.pairs < Effort::default().pairs);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Pairs of faults solved at most, the likeliest at best.
    pub pairs: usize,
    /// Triples solved at most, and only where nothing less explains what was seen; once something was
    /// put right, as many with one thing more beside it, and with two and with three where one leaves
    /// something.
    pub triples: usize,
    /// Hypotheses solved at most to better one that leaves much unexplained, one fault of it at a
    /// time.
    pub revised: usize,
    /// Hypotheses that the choice of the next test is made among, the likeliest.
    pub weighed: usize,
    /// Acts that are looked at further than one step.
    pub looked_ahead: usize,
    /// Steps looked ahead; 1 is none.
    pub steps: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Self { pairs: 1500, triples: 300, revised: 3000, weighed: 150, looked_ahead: 5, steps: 3 }
    }
}
