//! What was told, for and against each suspect, and what of it does not go together.

use super::belief::{Evidence, Hypothesis};
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::look::{Channel, Measure};
use super::told::showed;
use super::{Amount, Conflict, Showed, SuspectFault, Word};
use crate::instrument::{Brightness, Glow, MeasureProblem, Reading, Request, measure};

/// What is told fits a hypothesis if that gives it at least this chance for each fact of it.
const FITS: f64 = 0.04;

/// What explains something is heard if it is this likely beside what leads.
const CREDIBLE: f64 = 0.02;

impl Inquiry<'_> {
    /// What everything that was told says of a suspect: for each thing, how much likelier it is
    /// with the suspect than without, and what the suspect would have shown. Empty for a suspect
    /// that is not there.
    pub fn why(&self, suspect: usize) -> Vec<Word> {
        let Some((group, suspect)) = self.suspects.get(suspect) else { return Vec::new() };
        let group = *group;
        let with =
            |one: &Hypothesis| self.groups_of(one).is_some_and(|groups| groups.contains(&group));
        let hypotheses = &self.belief.hypotheses;
        let Some(best) = hypotheses.iter().find(|one| with(one)) else { return Vec::new() };
        // What was found speaks for what it is, and not for what is suspected besides.
        let is_another = |told: usize| match self.evidence.get(told) {
            Some(Evidence::Opened { found, .. }) => {
                let is_it = |one: &SuspectFault| {
                    found.iter().any(|found| found.is_among(&one.fault.change.faults))
                };
                !found.is_empty() && !suspect.faults.iter().any(is_it)
            }
            _ => false,
        };
        (0..self.evidence.len())
            .map(|told| {
                let chance = self.chance_of(told, &with);
                let without = self.chance_of(told, &|one| !with(one));
                let times = if without > 0.0 { chance / without } else { f64::INFINITY };
                Word {
                    told,
                    times: if is_another(told) { times.min(1.0) } else { times },
                    chance,
                    would_show: self.would_show(best, told),
                }
            })
            .collect()
    }

    /// The chance of a thing told among some hypotheses, by their odds without that thing.
    fn chance_of(&self, told: usize, among: &dyn Fn(&Hypothesis) -> bool) -> f64 {
        let (mut sum, mut total) = (0.0, 0.0);
        for one in self.belief.hypotheses.iter().filter(|one| among(one)) {
            let ln = one.by_evidence.get(told).copied().unwrap_or(0.0);
            // What is believed without it: a weight that was nearly ruled out by it counts again.
            let before = one.weight / ln.exp().max(1e-12);
            sum += before * ln.exp();
            total += before;
        }
        if total > 0.0 { sum / total } else { 0.0 }
    }

    /// What a hypothesis would have shown where something was seen.
    fn would_show(&self, one: &Hypothesis, told: usize) -> Vec<Showed> {
        let Some(Evidence::Seen { settings, facts, .. }) = self.evidence.get(told) else {
            return Vec::new();
        };
        // What makes contact now and then would have shown one thing as well as another.
        if one.is_intermittent() {
            return Vec::new();
        }
        let leads = self.closed.then(one.leads, &self.evidence, told);
        let Some(row) = settings.first().and_then(|&at| self.model.row(leads, at)) else {
            return Vec::new();
        };
        let looks = &self.model.predictor.looks;
        let of = |fact: &Fact| {
            let at = fact.channel()?;
            let channel = looks.channels.get(at)?;
            showed(&channel.measure, &predicted(channel, at, row.value(at))?)
        };
        facts.iter().filter_map(of).collect()
    }

    /// The chance of what was seen beside the likeliest figures that a hypothesis makes, a logarithm; of
    /// anything else, the chance itself.
    fn ln_beside_the_likeliest(&self, one: &Hypothesis, told: usize) -> f64 {
        let ln = one.by_evidence.get(told).copied().unwrap_or(0.0);
        let Some(Evidence::Seen { settings, facts, .. }) = self.evidence.get(told) else {
            return ln;
        };
        let leads = self.closed.then(one.leads, &self.evidence, told);
        let row = settings.first().and_then(|&at| self.model.row(leads, at));
        let chances = &self.model.chances;
        let Some((row, usual)) = row.zip(chances.usual()) else { return ln };
        let looks = &self.model.predictor.looks;
        let each = facts
            .iter()
            .map(|fact| fact.chance_beside_the_likeliest(chances, looks, (&row, usual)));
        each.map(f64::ln).sum::<f64>().max(ln)
    }

    /// Whether most of what is believed makes a thing seen as likely as what fits it.
    pub(super) fn is_explained(&self, told: usize) -> bool {
        let known = self.belief.hypotheses.iter().filter(|one| self.groups_of(one).is_some());
        let fits = known.filter(|one| self.ln_beside_the_likeliest(one, told) >= FITS.ln());
        fits.map(|one| one.weight).sum::<f64>() > 0.5
    }

    /// What was told and fits nothing that is known: single things, and where every single one
    /// fits something, two that fit nothing together.
    pub fn conflicts(&self) -> Vec<Conflict> {
        let hypotheses = &self.belief.hypotheses;
        let fits = |told: usize| {
            let facts = match self.evidence.get(told) {
                Some(Evidence::Seen { facts, .. }) => facts.len().max(1),
                _ => 1,
            };
            FITS.ln() * facts as f64
        };
        // What somebody saw in a box is so, whatever else is.
        let is_found = |told: usize| matches!(self.evidence.get(told), Some(Evidence::Opened { found, .. }) if !found.is_empty());
        let off = |one: &Hypothesis, told: usize| {
            let ln = one.by_evidence.get(told).copied().unwrap_or(0.0);
            ln < fits(told)
                && !is_found(told)
                && self.ln_beside_the_likeliest(one, told) < fits(told)
        };
        let is_known = |one: &&Hypothesis| self.groups_of(one).is_some();
        let leads = hypotheses.iter().find(is_known).map_or(0.0, |one| one.weight);
        let credible = |one: &&Hypothesis| is_known(one) && one.weight >= CREDIBLE * leads;
        let known = || hypotheses.iter().filter(credible);
        let all: Vec<usize> = (0..self.evidence.len()).collect();
        // One explanation, with which everything goes together, is enough.
        if known().any(|one| all.iter().all(|&told| !off(one, told))) {
            return Vec::new();
        }
        let alone: Vec<usize> =
            all.iter().copied().filter(|&told| known().all(|one| off(one, told))).collect();
        if !alone.is_empty() {
            let conflict = |told: usize| {
                let mut any = hypotheses.iter().filter(is_known);
                Conflict { told: vec![told], is_explained: any.any(|one| !off(one, told)) }
            };
            return alone.into_iter().map(conflict).collect();
        }
        let mut conflicts = Vec::new();
        for (at, &one) in all.iter().enumerate() {
            for &other in all.iter().skip(at + 1) {
                if known().all(|hypothesis| off(hypothesis, one) || off(hypothesis, other)) {
                    conflicts.push(Conflict { told: vec![one, other], is_explained: false });
                }
            }
        }
        if conflicts.is_empty() && self.belief.unknown() > 0.5 {
            // No two contradict each other: the leading explanation leaves these over.
            if let Some(best) = known().next() {
                let left = all.iter().copied().filter(|&told| off(best, told)).collect();
                conflicts.push(Conflict { told: left, is_explained: false });
            }
        }
        conflicts
    }

    /// Every reading of every instrument at hand, at every receptacle in reach, that the circuit
    /// shows with nothing wrong, as things stand: what a repair is confirmed by.
    ///
    /// # Errors
    ///
    /// The circuit as described has no solution.
    pub fn after_repair(&self) -> Result<Vec<Reading>, MeasureProblem> {
        let looks = &self.model.predictor.looks;
        let mut asked: Vec<usize> = Vec::new();
        for (outlet, (place, _)) in self.model.circuit.outlets().enumerate() {
            if self.means.out_of_reach.contains(&place.id) {
                continue;
            }
            for tool in 0..self.means.tools.len() {
                asked.extend(looks.of(tool, outlet).map(|(_, channel)| channel.request));
            }
        }
        asked.dedup();
        let requests: Vec<Request> =
            asked.iter().filter_map(|&at| looks.requests.get(at).cloned()).collect();
        let condition = self.model.settings.get(self.now).cloned().unwrap_or_default();
        measure(self.model.circuit, &condition, &requests)
    }
}

/// Above this no meter shows a figure.
const NO_PATH_OHM: f64 = 1e8;

/// What a channel is predicted to show.
fn predicted(channel: &Channel, at: usize, value: f64) -> Option<Fact> {
    if value.is_nan() {
        return None;
    }
    Some(match &channel.measure {
        Measure::Indicator { dim, lit, .. } => {
            let middle = |band: &crate::instrument::Band| 0.5 * (band.low + band.high);
            let brightness = if value >= middle(lit) {
                Brightness::Lit
            } else if value >= middle(dim) {
                Brightness::Dim
            } else {
                Brightness::Dark
            };
            Fact::Glow { channel: at, glow: Glow::certain(brightness) }
        }
        Measure::Alarm { band, .. } => {
            Fact::Alarm { channel: at, alarm: value >= 0.5 * (band.low + band.high) }
        }
        Measure::Step { steps, .. } => {
            let reached = steps.iter().rev().find(|(_, band)| value >= band.high);
            Fact::Step { channel: at, label: reached.map(|(label, _)| label.clone()) }
        }
        Measure::Share { .. }
        | Measure::Lamp
        | Measure::Potential { .. }
        | Measure::Case { .. } => return None,
        Measure::Ohm { .. } if value >= NO_PATH_OHM => {
            Fact::Figure { channel: at, amount: Amount::Over(value) }
        }
        _ => Fact::Figure { channel: at, amount: Amount::About(value) },
    })
}
