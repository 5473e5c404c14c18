//! What is counted, and how sure the counts are.

use std::fmt::Write as _;

/// A share with its count.
#[derive(Clone, Copy, Default, Debug)]
pub(crate) struct Share {
    /// So many ...
    pub(crate) right: usize,
    /// ... of so many.
    pub(crate) of: usize,
}

impl Share {
    /// Counts one more.
    pub(crate) fn count(&mut self, right: bool) {
        self.of += 1;
        self.right += usize::from(right);
    }

    /// In per cent; not a number of none.
    pub(crate) fn percent(self) -> f64 {
        100.0 * self.right as f64 / self.of as f64
    }

    /// Wilson's interval at 95 %, in per cent.
    pub(crate) fn interval(self) -> (f64, f64) {
        const Z: f64 = 1.96;
        if self.of == 0 {
            return (0.0, 100.0);
        }
        let (n, p) = (self.of as f64, self.right as f64 / self.of as f64);
        let middle = (p + Z * Z / (2.0 * n)) / (1.0 + Z * Z / n);
        let half = Z / (1.0 + Z * Z / n) * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
        (100.0 * (middle - half), 100.0 * (middle + half))
    }

    /// As printed.
    pub(crate) fn words(self) -> String {
        if self.of == 0 {
            return "none".to_owned();
        }
        let (low, high) = self.interval();
        format!("{:.1} % ({low:.1} to {high:.1}; {} of {})", self.percent(), self.right, self.of)
    }
}

/// Claims with what came of them.
#[derive(Clone, Default, Debug)]
pub(crate) struct Claims(Vec<(f64, bool)>);

impl Claims {
    /// A probability claimed, and whether it was so.
    pub(crate) fn claim(&mut self, probability: f64, so: bool) {
        self.0.push((probability.clamp(0.0, 1.0), so));
    }

    /// Expected calibration error over ten bins of equal width.
    pub(crate) fn calibration_error(&self) -> f64 {
        let mut bins = [(0.0, 0.0, 0usize); 10];
        for &(claimed, so) in &self.0 {
            let bin = &mut bins[((claimed * 10.0) as usize).min(9)];
            bin.0 += claimed;
            bin.1 += f64::from(u8::from(so));
            bin.2 += 1;
        }
        let n = self.0.len() as f64;
        bins.iter().filter(|bin| bin.2 > 0).map(|bin| (bin.0 - bin.1).abs() / n).sum()
    }

    /// Mean squared distance of claim and outcome.
    pub(crate) fn brier(&self) -> f64 {
        mean(self.0.iter().map(|&(claimed, so)| (claimed - f64::from(u8::from(so))).powi(2)))
    }

    /// Claimed minus observed, in points.
    pub(crate) fn overclaimed(&self) -> f64 {
        100.0 * mean(self.0.iter().map(|&(claimed, so)| claimed - f64::from(u8::from(so))))
    }

    /// The mean claim, in per cent.
    pub(crate) fn claimed(&self) -> f64 {
        100.0 * mean(self.0.iter().map(|&(claimed, _)| claimed))
    }
}

/// The mean; zero of none.
pub(crate) fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = values.fold((0.0, 0usize), |(sum, n), value| (sum + value, n + 1));
    if n == 0 { 0.0 } else { sum / n as f64 }
}

/// Everything counted over one set of scenarios.
#[derive(Clone, Default, Debug)]
pub(crate) struct Tally {
    /// Drawn, but with nothing that anyone could notice.
    pub(crate) without_symptom: usize,
    /// Put to the diagnosis and refused, with the reason of the first.
    pub(crate) refused: (usize, Option<String>),
    /// The leading place holds a true fault.
    pub(crate) first: Share,
    /// One of the first three places does.
    pub(crate) among_three: Share,
    /// The leading set is the true one, up to its group.
    pub(crate) exact: Share,
    /// The same but for what shows in nothing that is looked at live.
    pub(crate) exact_as_shown: Share,
    /// Of the leading place: single, double and triple faults apart.
    pub(crate) first_by_count: [Share; 3],
    /// The exact set, by the same.
    pub(crate) exact_by_count: [Share; 3],
    /// What was claimed of the leading place.
    pub(crate) claims: Claims,
    /// Seconds of testing.
    pub(crate) seconds: Vec<f64>,
    /// Tests made.
    pub(crate) tests: Vec<f64>,
    /// Boxes opened until a true fault was found.
    pub(crate) boxes: Vec<f64>,
    /// By the end of the call, repairs and what was read after them included, all that was wrong is
    /// mended.
    pub(crate) mended: Share,
    /// The same but for what shows in nothing that is looked at live.
    pub(crate) mended_as_shown: Share,
    /// The same by single, double and triple faults.
    pub(crate) mended_by_count: [Share; 3],
    /// Boxes opened in the whole call, and seconds of testing.
    pub(crate) boxes_in_all: Vec<f64>,
    /// See there.
    pub(crate) seconds_in_all: Vec<f64>,
    /// Scenarios in which all boxes that were named were opened in vain.
    pub(crate) never_found: usize,
    /// Scenarios stopped by the bound on tests.
    pub(crate) capped: usize,
    /// Said that nothing fits although it was in the list.
    pub(crate) false_alarm: Share,
    /// Said that nothing fits when it was not.
    pub(crate) nothing_fits: Share,
    /// Where that was not said, the leading suspect is mostly at the wire, in the box or cable,
    /// where it is.
    pub(crate) unlisted_place: Share,
    /// The true place was first, of a joint that comes and goes.
    pub(crate) intermittent_first: Share,
    /// Found that nothing was wrong when nothing was.
    pub(crate) nothing_wrong: Share,
    /// Milliseconds of each choice.
    pub(crate) choice_ms: Vec<f64>,
}

impl Tally {
    /// What came of calls that were followed to their end.
    fn of_whole_calls(&self) -> Vec<(String, String)> {
        vec![
            ("all mended by the end of the call".to_owned(), self.mended.words()),
            ("the same but for what shows in nothing".to_owned(), self.mended_as_shown.words()),
            (
                "boxes in the whole call; seconds of tests".to_owned(),
                format!(
                    "{:.2}; {:.0}",
                    mean(self.boxes_in_all.iter().copied()),
                    mean(self.seconds_in_all.iter().copied())
                ),
            ),
        ]
    }

    /// The rows of one column.
    pub(crate) fn words(&self) -> String {
        let mut out = String::new();
        let mut row = |name: &str, value: String| {
            let _ = writeln!(out, "  {name:<42} {value}");
        };
        row("true place first", self.first.words());
        row("among the first three", self.among_three.words());
        row("exact set, up to its group", self.exact.words());
        row("exact set, but for what shows in nothing", self.exact_as_shown.words());
        for (what, shares) in [
            ("place first", &self.first_by_count),
            ("exact set", &self.exact_by_count),
            ("all mended by the end", &self.mended_by_count),
        ] {
            for (n, share) in shares.iter().enumerate() {
                row(&format!("{what}, {} at once", ["one", "two", "three"][n]), share.words());
            }
        }
        row(
            "claimed; claimed minus observed, points",
            format!("{:.1} %; {:+.1}", self.claims.claimed(), self.claims.overclaimed()),
        );
        row(
            "calibration error; Brier",
            format!("{:.3}; {:.3}", self.claims.calibration_error(), self.claims.brier()),
        );
        row(
            "test seconds, mean; tests, mean",
            format!(
                "{:.0}; {:.1}",
                mean(self.seconds.iter().copied()),
                mean(self.tests.iter().copied())
            ),
        );
        let over_two = Share {
            right: self.boxes.iter().filter(|boxes| **boxes > 2.0).count(),
            of: self.boxes.len(),
        };
        row(
            "boxes to the first true fault, mean; over 2",
            format!("{:.2}; {}", mean(self.boxes.iter().copied()), over_two.words()),
        );
        for (name, value) in self.of_whole_calls() {
            row(&name, value);
        }
        row("nothing fits said of a listed fault", self.false_alarm.words());
        row("nothing fits said of an unlisted fault", self.nothing_fits.words());
        row("not said, but its wire and place first", self.unlisted_place.words());
        row("first, of a joint that comes and goes", self.intermittent_first.words());
        row("nothing wrong found where nothing is", self.nothing_wrong.words());
        row(
            "unnoticed; refused; at the bound; in vain",
            format!(
                "{}; {}; {}; {}",
                self.without_symptom, self.refused.0, self.capped, self.never_found
            ),
        );
        if let Some(reason) = &self.refused.1 {
            row("first refusal", reason.clone());
        }
        let mut ms = self.choice_ms.clone();
        ms.sort_by(f64::total_cmp);
        if let (Some(median), Some(late)) = (ms.get(ms.len() / 2), ms.get(ms.len() * 95 / 100)) {
            row("one choice, ms, median; 95th", format!("{median:.1}; {late:.1}"));
        }
        out
    }
}
