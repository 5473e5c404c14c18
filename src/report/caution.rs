//! The safety paragraph, in one place; every output carries it once.

/// What every output that speaks of voltages says once.
pub const CAUTION: &str = "A model proves nothing dead and nothing safe. Before touching \
anything, switch off, lock off, and prove it dead with a rated instrument checked on a known \
live source before and after. Work inside boxes and panels is for licensed people; local codes \
govern.";

#[cfg(test)]
mod tests {
    use super::CAUTION;

    #[test]
    fn the_caution_says_how_to_prove_a_circuit_dead() {
        assert!(CAUTION.contains("known live source before and after"));
        assert!(CAUTION.contains("licensed"));
    }
}
