//! What was seen live where it must not be: metal, a neutral, and what a breaker should have made dead.

use std::collections::BTreeMap;

use super::LoadSeen;
use super::act::Act;
use super::belief::{Evidence, Hypothesis, Who};
use super::choose::{Plan, Prospect};
use super::closed::last_repair;
use super::evidence::Fact;
use super::first::MISREAD_LN;
use super::inquiry::Inquiry;
use super::look::{Looks, Measure};
use super::model::Set;
use super::symptom::fed;
use crate::instrument::{Brightness, Instrument, Place};
use crate::quantity::Address;

/// Metal is live from such a voltage to the soil on: extra-low voltage that wet hands feel (IEC 61140's
/// conventional limits are 50 V dry and 25 V wet).
const LIVE_FROM_VOLT: f64 = 25.0;

/// What is live although its breaker is off, as a danger.
pub(super) const DESPITE_BREAKER: &str = "live_with_breaker_off";

/// More between two slots than what is plugged in there is made for, as a danger.
const TOO_MUCH: &str = "outlet_over_voltage";

/// So much between a neutral and a ground that one of them is live, as a danger.
pub(super) const NEUTRAL_OR_GROUND: &str = "neutral_or_ground";

/// What is measured is too much from this share of what a sound circuit shows there: well above the
/// 10 % that a supply may be off (IEC 60038, EN 50160).
const TOO_MUCH_FROM: f64 = 1.2;

/// A sound circuit makes what is live with its breaker off less likely than this.
const HARDLY_SOUND: f64 = 0.1;

/// What makes a thing seen less likely than this, a logarithm, does not explain it.
pub(super) const HARDLY_EXPLAINED_LN: f64 = 2.0 * MISREAD_LN;

/// The soil, as an address.
const SOIL: &str = "earth";

/// Something that was seen live.
pub(super) struct Live {
    /// What danger that is.
    pub(super) code: &'static str,
    pub(super) address: Address,
    /// What it was seen in, of all that was told.
    pub(super) at: usize,
}

impl Inquiry<'_> {
    /// What was measured or seen live. Of what was before something was put right it is what was not seen
    /// otherwise since, unless most of what is believed explains it by that.
    pub(super) fn seen_live(&self) -> Vec<Live> {
        let since = last_repair(&self.evidence);
        let mut live = Vec::new();
        for (at, told) in self.evidence.iter().enumerate() {
            let Evidence::Seen { settings, facts, .. } = told else { continue };
            let mut here: Vec<Live> = Vec::new();
            for fact in facts.iter().filter(|fact| self.is_said_live(fact)) {
                let repaired = since.filter(|since| at < *since);
                if repaired.is_some_and(|since| self.is_read_otherwise((fact, at), since)) {
                    continue;
                }
                let metal =
                    fact.channel().and_then(|c| self.model.predictor.looks.metal_to_soil(c));
                here.extend(metal.map(|(code, address)| Live { code, address, at }));
                if !self.is_read_otherwise((fact, at), at) {
                    let neutral = self.neutral_to_ground(fact);
                    let code = NEUTRAL_OR_GROUND;
                    here.extend(neutral.map(|address| Live { code, address, at }));
                    let too_much = self.too_much(fact, settings);
                    here.extend(too_much.map(|address| Live { code: TOO_MUCH, address, at }));
                    let despite = self.despite_breaker(fact, settings);
                    let code = DESPITE_BREAKER;
                    here.extend(despite.map(|address| Live { code, address, at }));
                }
            }
            let is_before = since.is_some_and(|since| at < since);
            let is_over = || is_before && self.is_explained_by_a_repair(at);
            if !here.is_empty() && !is_over() {
                live.append(&mut here);
            }
        }
        live
    }

    /// Addresses, and loads, that were seen live with the breaker off that feeds them.
    pub(crate) fn live_despite_breaker(&self) -> Vec<Address> {
        let live = self.seen_live().into_iter().filter(|one| one.code == DESPITE_BREAKER);
        live.map(|one| one.address).collect()
    }

    /// The breaker with which that was dead, though it does not feed it as described.
    pub(crate) fn dead_with_another_breaker(&self) -> Option<String> {
        let circuit = self.model.circuit;
        let live = self.seen_live().into_iter().filter(|one| one.code == DESPITE_BREAKER);
        let places: Vec<usize> = live
            .filter_map(|one| {
                let id = one.address.as_str().split('.').next()?.to_owned();
                circuit.parts().places.iter().position(|place| place.id == id)
            })
            .collect();
        self.evidence.iter().rev().find_map(|told| {
            let Evidence::Seen { settings, facts, .. } = told else { return None };
            let is_dead_there = |fact: &Fact| {
                self.place_of(fact).filter(|at| places.contains(at) && !self.is_said_live(fact))
            };
            let place = facts.iter().find_map(is_dead_there)?;
            let stands = self.model.settings.get(*settings.first()?)?;
            let off = || stands.breakers.iter().filter(|(_, closed)| !**closed);
            let feeds = |name: &str| fed(circuit, name).contains(&place);
            if off().any(|(name, _)| feeds(name)) {
                return None;
            }
            let mut others = off().filter(|(name, _)| circuit.branch_circuit(name).is_some());
            others.next().map(|(name, _)| name.clone())
        })
    }

    /// Whether metal, or a neutral, was measured live.
    pub(crate) fn is_metal_seen_live(&self) -> bool {
        let other = [DESPITE_BREAKER, TOO_MUCH, NEUTRAL_OR_GROUND];
        self.seen_live().iter().any(|one: &Live| !other.contains(&one.code))
    }

    /// Whether anything was seen live that must not be, and whether too much was measured between two slots.
    pub(super) fn is_anything_seen_live(&self) -> (bool, bool) {
        let mut live = self.seen_live();
        live.retain(|one| one.code != NEUTRAL_OR_GROUND);
        let is_too_much = |one: &Live| one.code == TOO_MUCH;
        (live.iter().any(|one| !is_too_much(one)), live.iter().any(is_too_much))
    }

    /// Whether too much was measured between two slots, and nothing else was read there since, whatever was
    /// put right.
    pub(super) fn is_too_much_unread(&self) -> bool {
        self.outlets_unread().next().is_some()
    }

    /// The receptacles of that, by number.
    fn outlets_unread(&self) -> impl Iterator<Item = usize> + '_ {
        let looks = &self.model.predictor.looks;
        self.evidence.iter().enumerate().flat_map(move |(at, told)| {
            let (settings, facts): (&[usize], &[Fact]) = match told {
                Evidence::Seen { settings, facts, .. } => (settings, facts),
                _ => (&[], &[]),
            };
            let too_much = facts.iter().filter(|fact| self.too_much(fact, settings).is_some());
            let unread = too_much.filter(move |fact| !self.is_read_otherwise((fact, at), at));
            unread.filter_map(|fact| looks.channels.get(fact.channel()?)?.outlet)
        })
    }

    /// Where too much was measured and something was put right since: a voltmeter there again, as loads stand,
    /// before anything is switched on.
    pub(super) fn too_much_again<'p>(&self, plan: &'p Plan) -> Option<&'p Prospect> {
        let since = self.evidence.get(last_repair(&self.evidence)?..)?;
        let channels = &self.model.predictor.looks.channels;
        let outlet_of = |fact: &Fact| channels.get(fact.channel()?)?.outlet;
        let read_since: Vec<usize> = since
            .iter()
            .filter_map(|told| match told {
                Evidence::Seen { facts, .. } => facts.iter().find_map(outlet_of),
                _ => None,
            })
            .collect();
        let unread: Vec<usize> =
            self.outlets_unread().filter(|outlet| !read_since.contains(outlet)).collect();
        plan.prospects.iter().find(|one| {
            let Act { instrument, outlet, setting } = one.act;
            let instrument = self.model.instruments.get(instrument);
            setting == self.now
                && unread.contains(&outlet)
                && matches!(instrument, Some(Instrument::Voltmeter(_)))
        })
    }

    /// Whether something was seen live with its breaker off that most of what is believed does not explain.
    pub(super) fn is_live_despite_breaker(&self) -> bool {
        let mut live = self.seen_live().into_iter();
        live.any(|one| one.code == DESPITE_BREAKER && self.is_unexplained(one.at))
    }

    /// Whether most of what is believed leaves a piece of evidence to misreading.
    fn is_unexplained(&self, at: usize) -> bool {
        let leaves = |one: &&Hypothesis| {
            one.who == Who::Unknown || one.by_evidence.get(at).is_some_and(|ln| *ln < MISREAD_LN)
        };
        let left = self.belief.hypotheses.iter().filter(leaves);
        left.map(|one| one.weight).sum::<f64>() > 0.5
    }

    /// Whether most of what is believed explains a piece of evidence by what was put right, and not by what
    /// is left.
    pub(super) fn is_explained_by_a_repair(&self, at: usize) -> bool {
        let ln = |one: &Hypothesis| one.by_evidence.get(at).copied().unwrap_or(0.0);
        let known = self.belief.hypotheses.iter().filter(|one| one.who != Who::Unknown);
        let by_leads: BTreeMap<Set, &Hypothesis> =
            known.clone().map(|one| (one.leads, one)).collect();
        // A fine figure is not likely by itself: it is the likelier for what was put right.
        let is_put_right = |one: &&Hypothesis| {
            let left = self.closed.left(one.leads);
            // What is left was not asked where it is hardly so.
            let is_by_what_is_left =
                || by_leads.get(&left).is_none_or(|left| ln(left) > ln(one) + MISREAD_LN);
            left != one.leads && ln(one) >= HARDLY_EXPLAINED_LN && !is_by_what_is_left()
        };
        known.filter(is_put_right).map(|one| one.weight).sum::<f64>() > 0.5
    }

    /// Whether the same as was seen at one time was seen otherwise after another, with things as they stood
    /// then.
    pub(super) fn is_read_otherwise(&self, (fact, at): (&Fact, usize), after: usize) -> bool {
        let Some(Evidence::Seen { settings, .. }) = self.evidence.get(at) else { return false };
        self.evidence.iter().skip(after + 1).any(|told| match told {
            Evidence::Seen { settings: then, facts, .. } if then == settings => {
                facts.iter().any(|later| later.is_of_the_same(fact) && later != fact)
            }
            _ => false,
        })
    }

    /// Whether a fact says that something is live.
    fn is_said_live(&self, fact: &Fact) -> bool {
        let looks = &self.model.predictor.looks;
        let steps_from = |at: usize, named: &str| match &looks.channels.get(at)?.measure {
            Measure::Step { steps, .. } => {
                steps.iter().find(|(label, _)| label == named).map(|(_, band)| band.low)
            }
            _ => None,
        };
        match fact {
            Fact::Load { seen, .. } => {
                matches!(seen, LoadSeen::Runs | LoadSeen::Weak | LoadSeen::TooBright)
            }
            Fact::Glow { glow, .. } => glow.at_least == Brightness::Lit,
            Fact::Alarm { alarm, .. } => *alarm,
            Fact::Step { channel, label: Some(label) } => {
                steps_from(*channel, label).is_some_and(|low| low >= LIVE_FROM_VOLT)
            }
            Fact::Figure { channel, amount } => {
                let channel = looks.channels.get(*channel);
                channel.is_some_and(|one| matches!(one.measure, Measure::Volt { .. }))
                    && amount.bounds().0 >= LIVE_FROM_VOLT
            }
            Fact::Step { .. } | Fact::Protection { .. } => false,
        }
    }

    /// The neutral between which and the ground beside it something was seen that both hands would feel.
    fn neutral_to_ground(&self, fact: &Fact) -> Option<Address> {
        let looks = &self.model.predictor.looks;
        let channel = looks.channels.get(fact.channel()?)?;
        let (Measure::Volt { between }
        | Measure::Indicator { between, .. }
        | Measure::Step { between, .. }) = &channel.measure
        else {
            return None;
        };
        let names = [between.0.as_str(), between.1.as_str()];
        let is_it = names.contains(&"neutral") && names.contains(&"ground");
        let (_, outlet) = self.model.circuit.outlets().nth(channel.outlet.filter(|_| is_it)?)?;
        let slot = |name: &str| outlet.slots.iter().find(|(slot, _)| slot == name);
        slot("neutral").map(|(_, terminal)| terminal.clone())
    }

    /// Where a figure is well above what a sound circuit shows between two slots.
    fn too_much(&self, fact: &Fact, settings: &[usize]) -> Option<Address> {
        let Fact::Figure { channel, amount } = fact else { return None };
        let looks = &self.model.predictor.looks;
        let held = looks.channels.get(*channel)?;
        let Place::Between { from, to } = &looks.requests.get(held.request)?.place else {
            return None;
        };
        // Against a ground that is live or floats much is read where what is plugged in gets its own.
        let is_of_ground = [from, to].into_iter().any(|slot| slot.as_str().ends_with(".ground"));
        if is_of_ground {
            return None;
        }
        let sound = self.model.row(Set::SOUND, *settings.first()?)?.value(*channel);
        let is_fed = sound >= LIVE_FROM_VOLT;
        let is_outlet = held.outlet.is_some() && matches!(held.measure, Measure::Volt { .. });
        let is_too_much = amount.bounds().0 > TOO_MUCH_FROM * sound;
        (is_outlet && is_fed && is_too_much).then(|| from.clone())
    }

    /// Where a fact is live with the breaker off that feeds it: in every setting that it may have been
    /// seen in, and with nothing wrong it would be dead.
    fn despite_breaker(&self, fact: &Fact, settings: &[usize]) -> Option<Address> {
        let looks = &self.model.predictor.looks;
        let usual = self.model.chances.usual()?;
        let place = self.place_of(fact)?;
        let is_despite = |&setting: &usize| {
            let stands = self.model.settings.get(setting)?;
            // A device that lets what it protects live on is wired wrong itself, and its breaker is good.
            let circuit = self.model.circuit;
            let mut off = stands
                .breakers
                .iter()
                .filter(|(name, closed)| !**closed && circuit.branch_circuit(name).is_some());
            let feeds = off.any(|(name, _)| fed(circuit, name).contains(&place));
            let sound = self.model.row(Set::SOUND, setting).filter(|_| feeds)?;
            let chance = fact.chance(&self.model.chances, looks, &sound, usual);
            (chance < HARDLY_SOUND).then_some(())
        };
        settings.iter().map(is_despite).collect::<Option<Vec<()>>>()?;
        let channel = looks.channels.get(fact.channel()?)?;
        Some(match (&channel.measure, &looks.requests.get(channel.request)?.place) {
            (Measure::Share { load }, _) => load.as_str().into(),
            (_, Place::Between { from, .. }) => from.clone(),
            (_, Place::Near { terminal, .. }) => terminal.clone(),
            (_, Place::Receptacle { address, .. }) => address.clone(),
            _ => self.model.circuit.parts().places.get(place)?.id.as_str().into(),
        })
    }

    /// The place that a fact is of, by number.
    fn place_of(&self, fact: &Fact) -> Option<usize> {
        let circuit = self.model.circuit;
        let channel = self.model.predictor.looks.channels.get(fact.channel()?)?;
        let named = |id: &str| circuit.parts().places.iter().position(|place| place.id == id);
        if let Measure::Share { load } = &channel.measure {
            return named(&super::place_of_load(circuit, circuit.load(load)?)?);
        }
        let request = self.model.predictor.looks.requests.get(channel.request)?;
        match channel.outlet {
            Some(outlet) => self.model.routes.place_of(outlet),
            None => self.held_at(&request.place),
        }
    }
}

impl Looks {
    /// The metal or the neutral that a voltmeter is held to, with the soil at its other probe, and what
    /// danger it is if that is live.
    pub(super) fn metal_to_soil(&self, channel: usize) -> Option<(&'static str, Address)> {
        let channel = self.channels.get(channel)?;
        if !matches!(channel.measure, Measure::Volt { .. }) {
            return None;
        }
        let Place::Between { from, to } = &self.requests.get(channel.request)?.place else {
            return None;
        };
        let held = match (from.as_str(), to.as_str()) {
            (SOIL, _) => to,
            (_, SOIL) => from,
            _ => return None,
        };
        let code = match held.as_str().rsplit('.').next()? {
            "frame" => "energised_case",
            "ground" => "energised_ground",
            "neutral" => "energised_neutral",
            _ => return None,
        };
        Some((code, held.clone()))
    }
}
