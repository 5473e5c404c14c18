//! What kind of sentence it is, and sentences about one thing.

use std::ops::Range;

use super::super::known::Known;
use super::super::lexicon::{Class, JointWord, Verb};
use super::super::phrase::WHAT_COULD_STAND;
use super::super::problem::{Problem, WordsProblem};
use super::super::sentence::{JointState, Link, Said, SaidVolts, Sentence, Spot};
use super::{Gathered, Grammar};

/// It speaks of a contact, which is a joint of a switch or two things that touch.
fn touches(spot: &Spot) -> bool {
    spot.joints.iter().any(|joint| joint.value == JointWord::Contact)
}

/// A sentence being told.
pub(super) struct Reading<'r> {
    pub(super) known: &'r Known<'r>,
    pub(super) text: &'r str,
    pub(super) said: Gathered,
}

impl Reading<'_> {
    pub(super) fn written(&self, span: &Range<usize>) -> &str {
        self.text.get(span.clone()).unwrap_or_default()
    }

    pub(super) fn problem(&self, span: &Range<usize>, message: impl Into<String>) -> Problem {
        WordsProblem::new(span.clone(), self.written(span), message)
    }

    pub(super) fn has(&self, verb: Verb) -> bool {
        self.said.verbs.iter().any(|said| said.value == verb)
    }

    /// What is said, with nothing of it left over.
    pub(super) fn sentences(mut self) -> Grammar<Vec<Sentence>> {
        let told = self.told()?;
        match told.iter().find_map(|sentence| self.over(sentence)) {
            Some(problem) => Err(problem),
            None => Ok(told),
        }
    }

    fn told(&mut self) -> Grammar<Vec<Sentence>> {
        self.leave_gaps_to_opens()?;
        if self.said.line_and_load {
            return self.line_and_load();
        }
        if self.has(Verb::Bootleg) {
            return self.bootleg();
        }
        if self.has(Verb::Attached) {
            return self.at_each_place(Reading::attached);
        }
        if self.has(Verb::Borrowed) {
            return Ok(vec![self.borrowed()?]);
        }
        if self.has(Verb::Landed) {
            return Ok(vec![self.landed()?]);
        }
        let bridging = [Verb::Bridged, Verb::Moisture, Verb::Breakdown, Verb::Nicked];
        if self.said.between || bridging.into_iter().any(|verb| self.has(verb)) {
            return self.at_each_place(Reading::bridged);
        }
        self.single_verb()?;
        match self.said.verbs.first().cloned() {
            Some(verb) if verb.value == Verb::Exchanged => self.at_each_place(Reading::exchanged),
            Some(verb) if verb.value == Verb::Crossed => self.crossed(verb),
            Some(verb) if verb.value == Verb::Open => self.open(),
            Some(verb) if verb.value == Verb::Glowing => self.joint(JointState::Glowing),
            Some(verb) if verb.value == Verb::LeftIn => self.tab(true),
            Some(verb) => self.set(verb),
            None if self.said.onto => self.on_bus(),
            None => self.without_verb(),
        }
    }

    /// `across the gap` belongs to something open.
    fn leave_gaps_to_opens(&self) -> Grammar<()> {
        if self.said.gap_said && !self.has(Verb::Open) {
            let message = "only what is open has a gap";
            return Err(self.problem(&self.said.span, message).expected(["open"]));
        }
        Ok(())
    }

    fn single_verb(&mut self) -> Grammar<()> {
        let verbs = &mut self.said.verbs;
        // `plugged in and off` is one state; `plugged in and on` another.
        if verbs.len() == 2 && verbs[0].value == Verb::PluggedIn {
            verbs.remove(0);
        }
        match self.said.verbs.as_slice() {
            [first, second, ..] if first.value != second.value => {
                let message = format!(
                    "one sentence says one thing, and `{}` was said already",
                    self.written(&first.span)
                );
                Err(self.problem(&second.span, message).expected(["`;` and a new sentence"]))
            }
            _ => Ok(()),
        }
    }

    pub(super) fn where_is_it(&self, of: &str) -> Problem {
        self.problem(&self.said.span, format!("where? the name of {of} is missing"))
            .expected([format!("at, and the name of {of}")])
    }

    fn bootleg(&self) -> Grammar<Vec<Sentence>> {
        let spots = self.listed()?;
        let named: Vec<Spot> = spots.into_iter().filter(Spot::has_place).collect();
        if let (Some(called), [_, _, ..]) = (&self.said.called, named.as_slice()) {
            let message = "several bridges cannot all be called this";
            return Err(self.problem(&called.span, message).expected(["a sentence for each"]));
        }
        if named.is_empty() {
            return Err(self.where_is_it("a receptacle"));
        }
        let (ohm, called) = (&self.said.ohm, &self.said.called);
        let one = |at| Sentence::Bootleg { at, ohm: ohm.clone(), called: called.clone() };
        Ok(named.into_iter().map(one).collect())
    }

    fn open(&self) -> Grammar<Vec<Sentence>> {
        let spots = self.listed()?;
        let switch = |spot: &Spot| {
            let said = spot.class.as_ref().map(|class| class.value);
            let plain = spot.conductor.is_none() && spot.joints.is_empty() && spot.side.is_none();
            let named = spot.name.as_ref().is_some_and(|n| self.known.is(Class::Switch, &n.value));
            plain && (said == Some(Class::Switch) || said == Some(Class::Breaker) || named)
        };
        if !spots.is_empty()
            && spots.iter().all(switch)
            && let Some(verb) = self.said.verbs.first()
        {
            return self.set(verb.clone());
        }
        let tab = |spot: &Spot| {
            spot.side.is_none()
                && spot.joints.iter().any(|j| matches!(j.value, JointWord::Tab | JointWord::Strap))
        };
        if !spots.is_empty()
            && spots.iter().all(tab)
            && ["broken", "removed", "missing"].into_iter().any(|word| self.written_verb(word))
        {
            return self.tab(false);
        }
        if let Some(ohm) = &self.said.ohm {
            let across = format!("{} across the gap", self.written(&ohm.span));
            return Err(self
                .problem(&ohm.span, "open, and yet a resistance: is it across the gap?")
                .expected([across, "no word of `open`, if it is the joint's resistance".into()]));
        }
        self.joint(JointState::Open(self.said.gap))
    }

    fn written_verb(&self, word: &str) -> bool {
        self.said.verbs.iter().any(|verb| self.written(&verb.span).eq_ignore_ascii_case(word))
    }

    pub(super) fn joint(&self, state: JointState) -> Grammar<Vec<Sentence>> {
        let spots = self.listed()?;
        if spots.is_empty() {
            return Err(self
                .problem(&self.said.span, "of what, and where?")
                .expected([WHAT_COULD_STAND[0], WHAT_COULD_STAND[2]]));
        }
        Ok(vec![Sentence::Joint { spots, state }])
    }

    fn tab(&self, intact: bool) -> Grammar<Vec<Sentence>> {
        let spots = self.listed()?;
        if spots.is_empty() {
            return Err(self.where_is_it("a duplex receptacle"));
        }
        Ok(spots.into_iter().map(|at| Sentence::Tab { at, intact }).collect())
    }

    pub(super) fn set(&self, state: Said<Verb>) -> Grammar<Vec<Sentence>> {
        if let Some(all) = &self.said.all {
            return Ok(vec![Sentence::AllLoads { of: all.value.clone(), state }]);
        }
        let mut names = Vec::new();
        let mut class = None;
        for spot in &self.said.spots {
            if let Some(extra) = &spot.conductor {
                let message = format!(
                    "`{}` is said of breakers, switches and loads, not of a conductor",
                    self.written(&state.span)
                );
                return Err(self.problem(&extra.span, message).expected(["open", "0.4 ohm"]));
            }
            class = class.or_else(|| spot.class.clone());
            names.extend(spot.name.clone());
        }
        if names.is_empty() {
            let word = self.written(&state.span);
            let message = format!("what is {word}? a name is missing");
            return Err(self
                .problem(&self.said.span, message)
                .expected(["the name of a breaker, switch or load"]));
        }
        Ok(vec![Sentence::Set { names, class, state }])
    }

    /// `c1 on L2`; several sit on one.
    fn on_bus(&self) -> Grammar<Vec<Sentence>> {
        let what = || {
            self.problem(&self.said.span, "what sits on which bus?")
                .expected(["the name of a circuit, `on`, and a leg"])
        };
        let Some((bus, circuits)) = self.said.spots.split_last() else { return Err(what()) };
        let named = |spot: &Spot| spot.name.clone().filter(|_| !spot.has_subject());
        let Some(bus) = named(bus).filter(|_| bus.is_after(Link::Onto)) else {
            return Err(what());
        };
        let sentences = circuits.iter().enumerate().map(|(at, spot)| {
            if at > 0 && !spot.is_after(Link::And) {
                return Err(self.left_over(spot));
            }
            let circuit = named(spot).ok_or_else(what)?;
            Ok(Sentence::OnBus { circuit, bus: bus.clone() })
        });
        let sentences: Vec<Sentence> = sentences.collect::<Grammar<_>>()?;
        if sentences.is_empty() { Err(what()) } else { Ok(sentences) }
    }

    fn without_verb(&self) -> Grammar<Vec<Sentence>> {
        let first = self.said.spots.first();
        let class = first.and_then(|spot| spot.class.as_ref()).map(|class| class.value);
        if matches!(class, Some(Class::Supply | Class::Winding)) || !self.said.volts.is_empty() {
            return self.supply();
        }
        if self.said.spots.iter().any(touches) {
            return self.contact();
        }
        // `30 ohm neutral to ground at sink`: from the one to the other.
        let to = |spot: &Spot| spot.has_subject() && spot.is_after(Link::To);
        match &self.said.ohm {
            Some(_) if self.said.spots.iter().skip(1).any(to) => {
                self.at_each_place(Reading::bridged)
            }
            Some(ohm) => self.joint(JointState::Ohm(ohm.clone())),
            None => Err(self
                .problem(&self.said.span, "this says where, but not what is so there")
                .expected(["open", "0.4 ohm", "glowing", "exchanged", "bridged", "on", "off"])),
        }
    }

    fn supply(&self) -> Grammar<Vec<Sentence>> {
        let said = &self.said;
        let along = said.spots.iter().filter_map(|spot| spot.along.clone()).collect::<Vec<_>>();
        let volts = match (said.volts.as_slice(), along.as_slice()) {
            ([volt], []) => SaidVolts::Magnitude(volt.clone()),
            ([re, im], []) if said.quadrature => {
                SaidVolts::Parts(re.value, im.value, re.span.start..im.span.end)
            }
            ([], [fraction]) => SaidVolts::Fraction(fraction.clone()),
            _ => {
                return Err(self
                    .problem(&said.span, "the supply delivers what? one voltage is wanted")
                    .expected(["a voltage to neutral, as `108 V`", "a share, as `90 %`"]));
            }
        };
        let of_supply =
            |spot: &Spot| spot.class.is_some() || spot.name.is_some() || spot.along.is_some();
        if let Some(other) = said.spots.iter().find(|spot| !of_supply(spot) || spot.has_subject()) {
            return Err(self.left_over(other));
        }
        let mut windings: Vec<_> = said.spots.iter().map(|spot| spot.name.clone()).collect();
        if windings.iter().any(Option::is_some) {
            windings.retain(Option::is_some);
        } else {
            windings = vec![None];
        }
        let one = |winding| Sentence::Supply { winding, volts: volts.clone() };
        Ok(windings.into_iter().map(one).collect())
    }
}
