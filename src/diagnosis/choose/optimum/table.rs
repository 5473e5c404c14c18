//! What the library's choice costs beside the cheapest way, state by state.

use super::super::super::{Complaint, Inquiry};
use super::played::{Played, chosen, greedy, played};
use super::runs::after;
use super::{Aim, Certain, Search};

/// States that are followed at most for one answer: as the whole cost is asked for, and as tests
/// alone are, where each asks the library whether it ends.
pub(super) type Most = (usize, usize);

/// Whoever chooses.
pub(super) const CHOOSERS: [&str; 3] = ["look-ahead", "one step", "greedy"];

/// One state, seconds.
pub(super) struct Line {
    /// Hypotheses, what no test parts counted as one; tests; and the weight left out.
    pub(super) size: (usize, usize, f64),
    /// What the cheapest ways cost, tests and boxes, and tests alone where the library's look-ahead
    /// ends; `None` where too much would have to be followed.
    pub(super) least: (Option<f64>, Option<f64>),
    /// What knowing the fault would cost.
    pub(super) knowing_s: f64,
    pub(super) played: [Played; 3],
}

/// The state after a complaint.
pub(super) fn line(inquiry: &Inquiry<'_>, complaint: &Complaint, most: Most) -> Line {
    let (plan, weights, now) = after(inquiry, complaint);
    let certain = Certain::of(&plan, &weights);
    let start = certain.start(now);
    let ahead = played(&certain, start, chosen);
    let one_step = played(&certain.looking_ahead(1, 1), start, chosen);
    let greedy = played(&certain, start, greedy);
    let all = [ahead, one_step, greedy];
    let whole = all.iter().map(|one| one.whole_s()).fold(f64::INFINITY, f64::min);
    let tests = ahead.tests_s.min(greedy.tests_s);
    let whole = Search::new(&certain, Aim::Whole, most.0).least(start, whole);
    let tests = Search::new(&certain, Aim::Tests, most.1).least(start, tests);
    let knowing_s = plan.sites.cost_knowing(&certain.weights);
    let size = (certain.kinds.len(), plan.prospects.len(), certain.left_out);
    Line { size, least: (whole, tests), knowing_s, played: all }
}

/// Mean and worst.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Ratios {
    n: usize,
    sum: f64,
    worst: f64,
}

impl Ratios {
    pub(super) fn add(&mut self, ratio: f64) {
        self.n += 1;
        self.sum += ratio;
        self.worst = self.worst.max(ratio);
    }

    pub(super) fn mean(&self) -> f64 {
        self.sum / self.n as f64
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::print_stdout, reason = "the long run says what it came to")]

    use super::super::ROUNDING_S;
    use super::super::runs::{EIGHT, FOUR, Run, singly, untold};
    use super::*;
    use crate::diagnosis::Effort;

    /// Nobody needs a test worth the name below this, seconds.
    const NO_TEST_S: f64 = 1.0;

    /// On four boxes nearly all is finished within these, on eight what is finished in seconds.
    const MOST_OF_FOUR: Most = (40_000, 15_000);
    const MOST_OF_EIGHT: Most = (3_000, 1_500);

    /// The dearest of three complaints was measured at 1.010 of the whole and 1.16 of the tests.
    const DEARER: f64 = 1.015;
    const TESTS_DEARER: f64 = 1.2;

    /// By chooser.
    #[derive(Default)]
    struct Sums {
        whole: [Ratios; 3],
        tests: [Ratios; 3],
        beyond: [(f64, f64); 3],
        left_out: (usize, usize),
        no_test: usize,
        states: usize,
    }

    impl Sums {
        fn add(&mut self, line: &Line) {
            self.states += 1;
            let (whole, tests) = line.least;
            self.left_out.0 += usize::from(whole.is_none());
            self.left_out.1 += usize::from(tests.is_none());
            self.no_test += usize::from(tests.is_some_and(|tests| tests < NO_TEST_S));
            for (at, played) in line.played.iter().enumerate() {
                if let Some(whole) = whole {
                    assert!(played.whole_s() > whole - ROUNDING_S, "cheaper than the cheapest");
                    self.whole[at].add(played.whole_s() / whole);
                    self.beyond[at].0 += played.whole_s() - line.knowing_s;
                    self.beyond[at].1 += whole - line.knowing_s;
                }
                // One step ends elsewhere.
                let ends_alike = CHOOSERS[at] != "one step";
                if let Some(tests) = tests.filter(|tests| ends_alike && *tests >= NO_TEST_S) {
                    assert!(played.tests_s > tests - ROUNDING_S, "cheaper than the cheapest");
                    self.tests[at].add(played.tests_s / tests);
                }
            }
        }

        fn print(&self, name: &str) {
            let (whole, tests) = self.left_out;
            println!(
                "{name}: {} states; not finished {whole} (whole), {tests} (tests); no test \
                 needed {}",
                self.states, self.no_test
            );
            for (at, chooser) in CHOOSERS.iter().enumerate() {
                let (whole, tests) = (self.whole[at], self.tests[at]);
                println!(
                    "  {chooser:<10} whole {:.4} (worst {:.3}), beyond knowing {:.3}, tests {:.3} \
                     (worst {:.2})",
                    whole.mean(),
                    whole.worst,
                    self.beyond[at].0 / self.beyond[at].1,
                    tests.mean(),
                    tests.worst,
                );
            }
        }
    }

    fn number(seconds: Option<f64>) -> String {
        seconds.map_or_else(|| "-".to_owned(), |seconds| format!("{seconds:.1}"))
    }

    fn measure(runs: &[Run], effort: Effort, most: Most, name: &str) {
        let mut sums = Sums::default();
        for run in runs {
            let circuit = run.circuit();
            let inquiry = untold(&circuit, effort);
            for (said, complaint) in run.complaints() {
                let line = line(&inquiry, &complaint, most);
                let (kinds, tests, left_out) = line.size;
                let [ahead, one_step, greedy] = line.played;
                println!(
                    "{}, {said}: {kinds} parted by {tests}, {:.1} % left out; tests {} | {:.1} \
                     {:.1} {:.1}; whole {} | {:.1} {:.1} {:.1}",
                    run.name,
                    100.0 * left_out,
                    number(line.least.1),
                    ahead.tests_s,
                    one_step.tests_s,
                    greedy.tests_s,
                    number(line.least.0),
                    ahead.whole_s(),
                    one_step.whole_s(),
                    greedy.whole_s(),
                );
                sums.add(&line);
            }
        }
        sums.print(name);
    }

    #[test]
    fn after_a_complaint_finding_it_costs_little_more_than_the_cheapest_way() {
        let run = &FOUR[2];
        let circuit = run.circuit();
        let inquiry = untold(&circuit, singly());
        let said = ["dead from hearth on", "dead from rack on", "dead from drain on"];
        for (name, complaint) in
            run.complaints().iter().filter(|(name, _)| said.contains(&name.as_str()))
        {
            let line = line(&inquiry, complaint, MOST_OF_EIGHT);
            let (Some(whole), Some(tests)) = line.least else { panic!("{name}: not finished") };
            let ahead = line.played[0];
            assert!(ahead.whole_s() > whole - ROUNDING_S, "{name}: {ahead:?} {whole}");
            assert!(ahead.tests_s > tests - ROUNDING_S, "{name}: {ahead:?} {tests}");
            assert!(ahead.whole_s() < DEARER * whole, "{name}: {ahead:?} {whole}");
            assert!(ahead.tests_s < TESTS_DEARER * tests, "{name}: {ahead:?} {tests}");
        }
    }

    #[test]
    #[ignore = "every way of testing: many minutes"]
    fn four_boxes_with_pairs_beside_the_cheapest_way() {
        measure(&FOUR, Effort::default(), MOST_OF_FOUR, "4 boxes with pairs");
    }

    #[test]
    #[ignore = "every way of testing: many minutes"]
    fn eight_boxes_with_singles_beside_the_cheapest_way() {
        measure(&EIGHT, singly(), MOST_OF_EIGHT, "8 boxes with singles");
    }
}
