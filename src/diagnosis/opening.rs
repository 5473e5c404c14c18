//! What finding the fault still costs: boxes are opened in the order of chance by cost until the
//! first fault is seen.

use super::model::Model;
use crate::circuit::PlaceKind;

/// Where a person goes to find a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Site {
    /// A place, by number.
    Place(usize),
    /// A handle that is looked at: a possibility, by number.
    Handle(usize),
    /// An appliance that is unplugged: a possibility in it, by number.
    Appliance(usize),
    /// What the supply delivers is measured.
    Supply,
}

/// Looking at a breaker or a switch, seconds.
pub(crate) const GLANCE_S: f64 = 20.0;

/// Unplugging an appliance, and trying the circuit without it, seconds.
pub(crate) const UNPLUG_S: f64 = 60.0;

/// Having what arrives at the panel measured, seconds.
pub(crate) const SUPPLY_S: f64 = 120.0;

/// A panel or a supply is not opened like a box: so many times its cost.
const PANEL_TIMES: f64 = 2.0;

/// Nor is the one that the service feeds, in which something stays live, like one that can be made dead.
const MAIN_TIMES: f64 = 2.2;

/// The sites of a set of hypotheses with what each costs, and of each hypothesis the chances
/// with which it is at them.
#[derive(Clone, Debug, Default)]
pub(super) struct Sites {
    pub(super) sites: Vec<(Site, f64)>,
    /// Of each hypothesis, of each of its faults: site and chance. A hypothesis without is not
    /// looked for in any box.
    pub(super) of: Vec<Vec<Vec<(usize, f64)>>>,
}

impl Sites {
    /// The sites of hypotheses, each given by what may be each of its faults: possibilities with
    /// shares that add up to one.
    pub(super) fn new(
        model: &Model<'_>,
        hypotheses: impl Iterator<Item = Vec<Vec<(usize, f64)>>>,
        open_box_s: f64,
    ) -> Self {
        let mut found = Self::default();
        for faults in hypotheses {
            let faults = faults.iter().map(|members| found.of_fault(model, members, open_box_s));
            let faults: Vec<_> = faults.filter(|fault| !fault.is_empty()).collect();
            found.of.push(faults);
        }
        found
    }

    fn of_fault(
        &mut self,
        model: &Model<'_>,
        members: &[(usize, f64)],
        open_box_s: f64,
    ) -> Vec<(usize, f64)> {
        let mut at_sites: Vec<(usize, f64)> = Vec::new();
        for &(member, share) in members {
            let Some(possible) = model.possibles.get(member) else { continue };
            let sites: Vec<Site> = if possible.is_setting() {
                vec![Site::Handle(member)]
            } else if let Some(load) = possible.appliance(model.circuit) {
                vec![self.appliance(model, &load.id).unwrap_or(Site::Appliance(member))]
            } else if possible.is_of_the_supply() {
                vec![Site::Supply]
            } else {
                possible.boxes.iter().map(|&place| Site::Place(place)).collect()
            };
            for &site in &sites {
                let number = self.number(model, site, open_box_s);
                let part = share / sites.len() as f64;
                match at_sites.iter_mut().find(|(known, _)| *known == number) {
                    Some((_, sum)) => *sum += part,
                    None => at_sites.push((number, part)),
                }
            }
        }
        at_sites
    }

    /// The site of an appliance that is one already.
    fn appliance(&self, model: &Model<'_>, load: &str) -> Option<Site> {
        let is_it = |site: &Site| match site {
            Site::Appliance(at) => {
                let known = model.possibles.get(*at).and_then(|one| one.appliance(model.circuit));
                known.is_some_and(|known| known.id == load)
            }
            _ => false,
        };
        self.sites.iter().map(|(site, _)| *site).find(is_it)
    }

    fn number(&mut self, model: &Model<'_>, site: Site, open_box_s: f64) -> usize {
        if let Some(known) = self.sites.iter().position(|(known, _)| *known == site) {
            return known;
        }
        let cost = match site {
            Site::Handle(_) => GLANCE_S,
            Site::Appliance(_) => UNPLUG_S,
            Site::Supply => SUPPLY_S,
            Site::Place(place) => {
                let (circuit, place) = (model.circuit, model.circuit.parts().places.get(place));
                let times = match place {
                    Some(one) if one.kind == PlaceKind::Box => 1.0,
                    Some(one) if circuit.is_fed_by_no_cable(one) => MAIN_TIMES,
                    _ => PANEL_TIMES,
                };
                times * open_box_s
            }
        };
        self.sites.push((site, cost));
        self.sites.len() - 1
    }

    /// The chance that any fault is at a site.
    pub(super) fn chance_at(&self, site: usize, weights: &[f64]) -> f64 {
        let here = weights.iter().zip(&self.of).map(|(weight, faults)| {
            let of_fault = |fault: &Vec<(usize, f64)>| {
                fault.iter().filter(|(at, _)| *at == site).map(|(_, share)| share).sum::<f64>()
            };
            weight * (1.0 - faults.iter().map(|fault| 1.0 - of_fault(fault)).product::<f64>())
        });
        here.sum()
    }

    /// Whether a hypothesis is looked for anywhere.
    pub(super) fn is_somewhere(&self, hypothesis: usize) -> bool {
        self.of.get(hypothesis).is_some_and(|faults| !faults.is_empty())
    }

    /// The order in which sites are gone to, with the share of all that is found at each, and
    /// what it costs in all until the first fault is seen, seconds. Weights need not add up to
    /// one: the cost is in proportion.
    pub(super) fn order(&self, weights: &[f64]) -> (Vec<(usize, f64)>, f64) {
        let mut left: Vec<(usize, f64, Vec<f64>)> = Vec::new();
        for (hypothesis, (&weight, faults)) in weights.iter().zip(&self.of).enumerate() {
            if weight > 0.0 && !faults.is_empty() {
                left.push((hypothesis, weight, vec![1.0; faults.len()]));
            }
        }
        let total: f64 = left.iter().map(|(_, weight, _)| weight).sum();
        let mut gone = vec![false; self.sites.len()];
        let (mut order, mut cost, mut remaining) = (Vec::new(), 0.0, total);
        let mut chance = vec![0.0; self.sites.len()];
        while remaining > ENOUGH * total && total > 0.0 {
            chance.fill(0.0);
            for (hypothesis, weight, unfound) in &left {
                for (fault, unfound_here) in self.faults(*hypothesis).iter().zip(unfound) {
                    let others: f64 = unfound.iter().product::<f64>() / unfound_here.max(1e-12);
                    for &(site, share) in fault {
                        if let (Some(sum), Some(false)) = (chance.get_mut(site), gone.get(site)) {
                            *sum += weight * others * share;
                        }
                    }
                }
            }
            let by_cost = |&(site, chance): &(usize, f64)| {
                chance / self.sites.get(site).map_or(1.0, |(_, cost)| *cost)
            };
            let best = chance
                .iter()
                .copied()
                .enumerate()
                .filter(|&(site, chance)| chance > 0.0 && gone.get(site) == Some(&false))
                .max_by(|a, b| by_cost(a).total_cmp(&by_cost(b)).then(b.0.cmp(&a.0)));
            let Some((site, _)) = best else { break };
            cost += remaining * self.sites.get(site).map_or(0.0, |(_, cost)| *cost);
            if let Some(gone) = gone.get_mut(site) {
                *gone = true;
            }
            let before = remaining;
            remaining = 0.0;
            for (hypothesis, weight, unfound) in &mut left {
                for (fault, unfound) in self.faults(*hypothesis).iter().zip(unfound.iter_mut()) {
                    let here = fault.iter().find(|(known, _)| *known == site);
                    *unfound = (*unfound - here.map_or(0.0, |(_, share)| *share)).max(0.0);
                }
                remaining += *weight * unfound.iter().product::<f64>();
            }
            order.push((site, (before - remaining) / total));
        }
        let nowhere: f64 = weights.iter().sum::<f64>() - total;
        let in_vain = order.iter().filter_map(|(site, _)| self.sites.get(*site));
        let in_vain: f64 = in_vain.map(|(_, cost)| cost).take(GIVEN_UP_AFTER).sum();
        (order, cost + nowhere.max(0.0) * in_vain)
    }

    /// What it costs in all until the first fault is seen, seconds.
    pub(super) fn cost(&self, weights: &[f64]) -> f64 {
        self.order(weights).1
    }

    /// What it would cost if everybody knew where.
    pub(super) fn cost_knowing(&self, weights: &[f64]) -> f64 {
        let cheapest = |faults: &Vec<Vec<(usize, f64)>>| {
            let sites = faults.iter().flatten();
            let costs = sites.filter_map(|(site, _)| self.sites.get(*site)).map(|(_, cost)| *cost);
            costs.fold(f64::INFINITY, f64::min)
        };
        let each = weights.iter().zip(&self.of).filter(|(_, faults)| !faults.is_empty());
        each.map(|(weight, faults)| weight * cheapest(faults)).sum()
    }

    fn faults(&self, hypothesis: usize) -> &[Vec<(usize, f64)>] {
        self.of.get(hypothesis).map_or(&[], Vec::as_slice)
    }
}

/// Where there is nothing to find, so many sites are gone to before that is believed.
const GIVEN_UP_AFTER: usize = 2;

/// What is left when so little has not been found is not followed further.
pub(super) const ENOUGH: f64 = 1e-3;
