//! After a repair: what was complained of is looked at first, and nobody is sent to other circuits for it.

use std::collections::BTreeSet;

use super::act::Act;
use super::belief::Evidence;
use super::choose::{Plan, Prospect};
use super::closed::last_repair;
use super::evidence::Fact;
use super::inquiry::Inquiry;
use super::look::Measure;
use super::symptom::{fed, place_of_load};
use super::{Complaint, LoadSeen, Protected};
use crate::instrument::Instrument;

/// What was put right is believed to be all from this probability on, so that it is looked for there.
const LIKELY_ALL_FROM: f64 = 0.5;

impl Inquiry<'_> {
    /// A look at what was complained of, by an instrument that draws something, where something was put right
    /// and nobody has looked there or said that it works since.
    pub(super) fn look_where_it_was<'p>(&self, plan: &'p Plan) -> Option<&'p Prospect> {
        if self.nothing_left() < LIKELY_ALL_FROM {
            return None;
        }
        // Whether what tripped holds is asked by closing it.
        let called = self.called_places(false);
        let seen = self.seen_since_the_repair();
        if called.iter().any(|place| seen.contains(place)) {
            return None;
        }
        let of_prospect = |one: &Prospect| {
            let Act { instrument, outlet, setting } = one.act;
            let place = self.model.routes.place_of(outlet)?;
            let nth = called.iter().position(|known| *known == place)?;
            let rank = match self.model.instruments.get(instrument)? {
                Instrument::PlugTester(_) => 0,
                Instrument::Voltmeter(_) => 1,
                Instrument::LoadedTest(_) => 2,
                _ => return None,
            };
            (setting == self.now).then_some((rank, nth))
        };
        let known = plan.prospects.iter().filter_map(|one| Some((of_prospect(one)?, one)));
        known.min_by_key(|(rank, _)| *rank).map(|(_, one)| one)
    }

    /// Whether a look is at a circuit that nothing was complained of on and nothing put right, after what was
    /// complained of was seen to be well.
    pub(super) fn is_elsewhere_since_the_repair(&self, test: &Prospect) -> bool {
        let called = self.called_places(true);
        let seen = self.seen_since_the_repair();
        if called.is_empty()
            || !self.is_held_since() && !called.iter().any(|place| seen.contains(place))
        {
            return false;
        }
        let circuits = |place: usize| {
            let all = self.model.circuit.parts().branch_circuits.iter();
            all.filter(move |one| fed(self.model.circuit, &one.id).contains(&place))
        };
        let concerned: BTreeSet<&str> =
            called.iter().flat_map(|&place| circuits(place)).map(|one| one.id.as_str()).collect();
        let at = self.model.routes.place_of(test.act.outlet);
        at.is_some_and(|at| !circuits(at).any(|one| concerned.contains(one.id.as_str())))
    }

    /// The places that were complained of before the last repair, in the order in which they were; those that
    /// something feeds which trips if they count too.
    fn called_places(&self, trips_too: bool) -> Vec<usize> {
        use Complaint::{Trips, WontReset};
        let last = last_repair(&self.evidence).unwrap_or(0);
        let mut called: Vec<usize> = Vec::new();
        for told in self.evidence.iter().take(last) {
            let Evidence::Symptom(symptom) = told else { continue };
            let trips = matches!(symptom.complaint, Trips { .. } | WontReset { .. });
            if symptom.complaint.is_of_something_wrong() && (trips_too || !trips) {
                called.extend(symptom.amiss(self.model.circuit));
            }
        }
        called
    }

    /// Whether something was said to hold since the last repair.
    fn is_held_since(&self) -> bool {
        let since = last_repair(&self.evidence).map_or(0, |last| last + 1);
        self.evidence.iter().skip(since).any(|told| {
            let Evidence::Seen { facts, .. } = told else { return false };
            let holds =
                |fact: &Fact| matches!(fact, Fact::Protection { did: Protected::Holds, .. });
            facts.iter().any(holds)
        })
    }

    /// Places where something was seen since the last repair.
    fn seen_since_the_repair(&self) -> BTreeSet<usize> {
        let circuit = self.model.circuit;
        let since = last_repair(&self.evidence).map_or(0, |last| last + 1);
        let channels = &self.model.predictor.looks.channels;
        let of_load = |fact: &Fact| {
            let Fact::Load { channel, seen: LoadSeen::Runs, .. } = fact else { return None };
            let Measure::Share { load } = &channels.get(*channel)?.measure else { return None };
            let at = place_of_load(circuit, circuit.load(load)?)?;
            circuit.parts().places.iter().position(|place| place.id == at)
        };
        let since = self.evidence.iter().skip(since);
        since
            .flat_map(|told| match told {
                Evidence::Seen { facts, .. } => {
                    let loads = facts.iter().filter_map(of_load);
                    loads.chain(self.at(told)).collect()
                }
                Evidence::Symptom(symptom) => symptom.said_to_work().to_vec(),
                _ => Vec::new(),
            })
            .collect()
    }
}
