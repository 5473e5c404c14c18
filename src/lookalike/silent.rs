//! What a reading is silent about: the dangers among everything that looks the same.

use super::LookAlikes;
use super::danger::Danger;
use super::group::Member;

/// A danger that a reading does not rule out.
///
/// ```
/// # use slotwise::lookalike::SilentDanger;
/// fn an_example(silent: &SilentDanger) -> String { silent.for_example.join("; ") }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct SilentDanger {
    /// The danger.
    pub danger: Danger,
    /// The likeliest faults that carry it, in words.
    pub for_example: Vec<String>,
    /// Odds of the look-alikes examined that carry it: judgement.
    pub odds: f64,
    /// Number of look-alikes examined that carry it.
    pub count: usize,
    /// One fault is enough for it.
    pub single: bool,
    /// Odds of the example, to tell which is likeliest.
    #[serde(skip)]
    example_odds: f64,
}

/// The dangers that a reading does not rule out: those of its look-alikes, the gravest first.
/// Every single fault counts; of double faults those that were examined.
pub fn silent(alike: &LookAlikes) -> Vec<SilentDanger> {
    let mut all = Silence::default();
    for known in alike.singles.silent.iter().chain(&alike.doubles.silent) {
        all.merge(known.clone());
    }
    all.into_dangers()
}

/// Dangers being gathered.
#[derive(Default)]
pub(super) struct Silence {
    found: Vec<SilentDanger>,
}

impl Silence {
    pub(super) fn hear(&mut self, member: &Member) {
        for &danger in member.dangers.iter().flatten() {
            self.merge(SilentDanger {
                danger,
                for_example: member.faults.clone(),
                odds: member.odds,
                count: 1,
                single: member.faults.len() == 1,
                example_odds: member.odds,
            });
        }
    }

    fn merge(&mut self, more: SilentDanger) {
        match self.found.iter_mut().find(|known| known.danger == more.danger) {
            Some(known) => {
                known.odds += more.odds;
                known.count += more.count;
                known.single |= more.single;
                if more.example_odds > known.example_odds {
                    known.for_example = more.for_example;
                    known.example_odds = more.example_odds;
                }
            }
            None => self.found.push(more),
        }
    }

    pub(super) fn into_dangers(mut self) -> Vec<SilentDanger> {
        self.found.sort_by(|a, b| a.danger.cmp(&b.danger).then(b.odds.total_cmp(&a.odds)));
        self.found
    }
}
