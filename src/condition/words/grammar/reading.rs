//! What kind of sentence it is, and sentences about one thing.

use std::ops::Range;

use super::super::known::Known;
use super::super::lexicon::{Class, JointWord, Verb};
use super::super::phrase::WHAT_COULD_STAND;
use super::super::problem::{Problem, WordsProblem};
use super::super::sentence::{JointState, Said, SaidVolts, Sentence, Spot};
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

    pub(super) fn sentence(mut self) -> Grammar<Sentence> {
        self.leave_gaps_to_opens()?;
        if self.said.line_and_load {
            return self.line_and_load();
        }
        if self.has(Verb::Bootleg) {
            return self.bootleg();
        }
        if self.has(Verb::Attached) {
            return self.attached();
        }
        if self.has(Verb::Borrowed) {
            return self.borrowed();
        }
        if self.has(Verb::Landed) {
            return self.landed();
        }
        let bridging = [Verb::Bridged, Verb::Moisture, Verb::Breakdown, Verb::Nicked];
        if self.said.between || bridging.into_iter().any(|verb| self.has(verb)) {
            return self.bridged();
        }
        self.single_verb()?;
        match self.said.verbs.first().cloned() {
            Some(verb) if verb.value == Verb::Exchanged => self.exchanged(),
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

    /// The spots, what each lacks taken from its neighbours.
    pub(super) fn shared(&self) -> Vec<Spot> {
        let mut spots = self.said.spots.clone();
        for at in (0..spots.len().saturating_sub(1)).rev() {
            let (before, after) = spots.split_at_mut(at + 1);
            if let (Some(spot), Some(next)) = (before.last_mut(), after.first()) {
                spot.at_same_place_as(next);
            }
        }
        for at in 1..spots.len() {
            let (before, after) = spots.split_at_mut(at);
            if let (Some(previous), Some(spot)) = (before.last(), after.first_mut()) {
                spot.of_same_conductor_as(previous);
                spot.at_same_place_as(previous);
            }
        }
        spots
    }

    pub(super) fn where_is_it(&self, of: &str) -> Problem {
        self.problem(&self.said.span, format!("where? the name of {of} is missing"))
            .expected([format!("at, and the name of {of}")])
    }

    fn bootleg(&self) -> Grammar<Sentence> {
        match self.shared().into_iter().rfind(|spot| spot.name.is_some()) {
            Some(at) => Ok(Sentence::Bootleg {
                at,
                ohm: self.said.ohm.clone(),
                called: self.said.called.clone(),
            }),
            None => Err(self.where_is_it("a receptacle")),
        }
    }

    fn open(&self) -> Grammar<Sentence> {
        let spots = self.shared();
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
        if let [spot] = spots.as_slice()
            && spot.side.is_none()
            && spot.joints.iter().any(|j| matches!(j.value, JointWord::Tab | JointWord::Strap))
            && ["broken", "removed", "missing"].into_iter().any(|word| self.written_verb(word))
        {
            return Ok(Sentence::Tab { at: spot.clone(), intact: false });
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

    pub(super) fn joint(&self, state: JointState) -> Grammar<Sentence> {
        let spots = self.shared();
        if spots.is_empty() {
            return Err(self
                .problem(&self.said.span, "of what, and where?")
                .expected([WHAT_COULD_STAND[0], WHAT_COULD_STAND[2]]));
        }
        Ok(Sentence::Joint { spots, state })
    }

    fn tab(&self, intact: bool) -> Grammar<Sentence> {
        match self.shared().into_iter().next_back() {
            Some(at) => Ok(Sentence::Tab { at, intact }),
            None => Err(self.where_is_it("a duplex receptacle")),
        }
    }

    pub(super) fn set(&self, state: Said<Verb>) -> Grammar<Sentence> {
        if self.said.all {
            return Ok(Sentence::AllLoads { state });
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
        Ok(Sentence::Set { names, class, state })
    }

    /// `c1 on L2`.
    fn on_bus(&self) -> Grammar<Sentence> {
        let (first, second, _) = self.pair("`on`")?;
        match (first.name, second.name) {
            (Some(circuit), Some(bus)) => Ok(Sentence::OnBus { circuit, bus }),
            _ => Err(self
                .problem(&self.said.span, "what sits on which bus?")
                .expected(["the name of a circuit, `on`, and a leg"])),
        }
    }

    fn without_verb(&self) -> Grammar<Sentence> {
        let first = self.said.spots.first();
        let class = first.and_then(|spot| spot.class.as_ref()).map(|class| class.value);
        if matches!(class, Some(Class::Supply | Class::Winding)) || !self.said.volts.is_empty() {
            return self.supply();
        }
        if self.said.spots.iter().any(touches) {
            return self.contact();
        }
        match &self.said.ohm {
            Some(ohm) => self.joint(JointState::Ohm(ohm.clone())),
            None => Err(self
                .problem(&self.said.span, "this says where, but not what is so there")
                .expected(["open", "0.4 ohm", "glowing", "exchanged", "bridged", "on", "off"])),
        }
    }

    fn supply(&self) -> Grammar<Sentence> {
        let spot = self.said.spots.first();
        let winding = spot.and_then(|spot| spot.name.clone());
        let said = &self.said;
        let volts = match (said.volts.as_slice(), spot.and_then(|spot| spot.along.clone())) {
            ([volt], None) => SaidVolts::Magnitude(volt.clone()),
            ([re, im], None) if said.quadrature => {
                SaidVolts::Parts(re.value, im.value, re.span.start..im.span.end)
            }
            ([], Some(fraction)) => SaidVolts::Fraction(fraction),
            _ => {
                return Err(self
                    .problem(&said.span, "the supply delivers what? one voltage is wanted")
                    .expected(["a voltage to neutral, as `108 V`", "a share, as `90 %`"]));
            }
        };
        Ok(Sentence::Supply { winding, volts })
    }
}
