//! Looks that nobody acts without: what one place alone showed is put to the test at another, and where
//! everything was dark something that needs no second conductor is held there.

use std::collections::BTreeSet;

use super::Warning;
use super::act::Act;
use super::belief::Evidence;
use super::choose::{Plan, Prospect};
use super::closed::last_repair;
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::look::Measure;
use super::possible::Possible;
use super::symptom::run;
use crate::condition::catalogue::FaultKind;
use crate::instrument::{Brightness, Instrument};

/// A tester that is dark and a meter below this, volts, leave open whether anything is live: judgement.
const DARK_BELOW_VOLT: f64 = 10.0;

/// Nobody leaves metal that is as likely as this to be live without another look, if any tells: judgement.
const MAY_KILL_FROM: f64 = 0.1;

impl Inquiry<'_> {
    /// Before the utility is called for what one place alone showed, a look at another that is not
    /// beyond it, touching no metal: an open neutral and ground there show the same as a lost neutral of the service everywhere. None
    /// where nothing would be told by it.
    pub(super) fn look_elsewhere_first<'p>(
        &self,
        plan: &'p Plan,
        weights: &[f64],
    ) -> Option<&'p Prospect> {
        let looked_at = self.outlets_looked_at(|_| true);
        let places: BTreeSet<usize> =
            looked_at.iter().filter_map(|&outlet| self.model.routes.place_of(outlet)).collect();
        if self.is_panel_felt() || places.len() != 1 {
            return None;
        }
        let names = &self.model.circuit.parts().places;
        let named = places.iter().filter_map(|&place| names.get(place));
        let beyond: BTreeSet<usize> =
            named.flat_map(|place| run(self.model.circuit, &place.id).1).collect();
        let is_elsewhere = |one: &Prospect| {
            let Act { instrument, outlet, setting } = one.act;
            let place = self.model.routes.place_of(outlet);
            setting == self.now
                && place.is_some_and(|at| !places.contains(&at) && !beyond.contains(&at))
                && matches!(
                    self.model.instruments.get(instrument),
                    Some(Instrument::NonContact(_) | Instrument::PlugTester(_))
                )
        };
        let ranked = plan.ranked(weights, self.standing()).into_iter();
        ranked.filter_map(|(at, _)| plan.prospects.get(at)).find(|one| is_elsewhere(one))
    }

    /// Where every slot was dark or near nothing and a hot is believed to be open, a detector there, once:
    /// slots that are all at one potential are as dark, and may all be live.
    pub(super) fn dark_is_not_dead<'p>(&self, plan: &'p Plan) -> Option<&'p Prospect> {
        let first = self.belief.hypotheses.first()?.set()?;
        let is_open_hot = |at: usize| {
            use FaultKind::{BrokenConductor, LeakyOpen, OpenJoint};
            let class = self.classes.get(at);
            let possible = class.and_then(|class| self.model.possibles.get(class.lead));
            possible.and_then(Possible::fault).is_some_and(|fault| {
                matches!(fault.kind, OpenJoint | LeakyOpen | BrokenConductor)
                    && fault.conductors.iter().all(|name| name != "neutral" && name != "ground")
            })
        };
        if !self.still(first).iter().any(is_open_hot) {
            return None;
        }
        // Each figure is told by itself.
        let lit = self.outlets_looked_at(|facts| !facts.iter().all(is_dark));
        let dark = self.outlets_looked_at(|facts| facts.iter().all(is_dark));
        let held = self
            .outlets_looked_at(|facts| facts.iter().any(|fact| matches!(fact, Fact::Alarm { .. })));
        plan.prospects.iter().find(|one| {
            let Act { instrument, outlet, setting } = one.act;
            setting == self.now
                && self.is_detector(instrument)
                && dark.contains(&outlet)
                && !lit.contains(&outlet)
                && !held.contains(&outlet)
        })
    }

    /// Where nothing is believed to be wrong although metal or a neutral may well be live, the look that parts
    /// the two best: what beeps at a ground is not outvoted by a tester, which is joined to no soil.
    pub(super) fn live_metal_is_left<'p>(
        &self,
        plan: &'p Plan,
        weights: &[f64],
    ) -> Option<&'p Prospect> {
        if self.nothing_left() < 0.5 || self.is_anything_mended() {
            return None;
        }
        let may_kill = |warning: &Warning| {
            matches!(warning.danger.code, "energised_ground" | "energised_case")
                && !warning.once_on
                && warning.probability >= MAY_KILL_FROM
        };
        if !self.warnings().iter().any(may_kill) {
            return None;
        }
        let ranked = plan.ranked(weights, self.standing()).into_iter();
        let prospects = ranked.filter_map(|(at, _)| plan.prospects.get(at));
        prospects.into_iter().find(|one| one.act.setting == self.now)
    }

    /// The receptacles, by number, at which something like this was seen since something was put right.
    fn outlets_looked_at(&self, is_so: impl Fn(&[Fact]) -> bool) -> BTreeSet<usize> {
        let channels = &self.model.predictor.looks.channels;
        let since = last_repair(&self.evidence).map_or(0, |at| at + 1);
        let seen = self.evidence.iter().skip(since).filter_map(|told| match told {
            Evidence::Seen { settings, facts, .. } if is_so(facts) && self.is_fed_in(settings) => {
                facts.iter().find_map(|fact| {
                    let channel = channels.get(fact.channel()?)?;
                    channel.outlet.filter(|_| !matches!(channel.measure, Measure::Share { .. }))
                })
            }
            _ => None,
        });
        seen.collect()
    }

    /// Whether no breaker was open that is closed as described.
    fn is_fed_in(&self, settings: &[usize]) -> bool {
        let off = |setting: &usize| {
            let stands = self.model.settings.get(*setting);
            stands.is_some_and(|stands| stands.breakers.values().any(|closed| !closed))
        };
        !settings.iter().any(off)
    }
}

/// Whether a fact leaves open whether what it is of is live.
fn is_dark(fact: &Fact) -> bool {
    match fact {
        Fact::Glow { glow, .. } => glow.at_most == Brightness::Dark,
        Fact::Figure { amount, .. } => amount.bounds().1 < DARK_BELOW_VOLT,
        Fact::Step { label, .. } => label.is_none(),
        _ => false,
    }
}
