//! Naming what is wrong: what it costs, and mending what is named rightly.

use crate::condition::Condition;

use super::borne_out::Known;
use super::verdict;
use super::{ActProblem, Answer, Live, Looked, Verdict};

impl Live {
    pub(super) fn name(&mut self, named: &Condition) -> Result<Answer, ActProblem> {
        let verdict = verdict::judge(&self.drill, (&self.named, &self.opened), named)
            .map_err(|problem| ActProblem::new("", problem.to_string()))?;
        let (mut in_vain, mut untested) = (None, 0);
        match &verdict {
            Verdict::Right { faults, .. } | Verdict::Alike { faults, .. } => {
                let is_untested = |fault: &&usize| self.known_of(**fault) == Known::Nothing;
                untested = faults.iter().filter(is_untested).count();
                self.untested += untested;
                self.spent_s += self.going_there_s(faults);
                self.mend(faults);
            }
            Verdict::Mended { .. } => {}
            _ => {
                let looked = Looked::of(&self.drill.circuit, named);
                self.wrong_names += 1;
                self.spent_s += looked.cost_s(&self.costs);
                in_vain = Some(looked);
            }
        }
        Ok(Answer::Named { verdict, in_vain, untested })
    }

    /// What it costs to go to faults that have not been seen, seconds: each place once.
    fn going_there_s(&self, faults: &[usize]) -> f64 {
        let mut been: Vec<(Looked, Option<&String>)> = Vec::new();
        let mut spent_s = 0.0;
        for &place in faults {
            let Some(fault) = self.drill.faults.get(place) else { continue };
            let looked = Looked::for_fault(&self.drill.circuit, fault);
            let there = (looked, fault.places.first());
            if self.known_of(place) == Known::Seen || been.contains(&there) {
                continue;
            }
            been.push(there);
            spent_s += looked.cost_s(&self.costs);
        }
        spent_s
    }

    /// Whether a fault has been named rightly, and mended.
    pub(super) fn is_named(&self, fault: usize) -> bool {
        self.named.get(fault) == Some(&true)
    }

    /// What is named rightly is mended, so that what it hid can be seen.
    fn mend(&mut self, faults: &[usize]) {
        for &fault in faults {
            if let Some(named) = self.named.get_mut(fault) {
                *named = true;
            }
        }
        // What was off as a fault may be on again.
        self.proven.clear();
        self.closed_onto.clear();
        self.ended = self.named.iter().all(|named| *named);
    }
}
