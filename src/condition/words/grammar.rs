//! Phrases of one sentence into what it says. Phrases may stand in any order a speaker
//! would choose; what no sentence of that kind has room for is answered.

use std::ops::Range;

use super::known::Known;
use super::lexicon::{Class, JointWord, Verb};
use super::phrase::{Phrase, Placed, WHAT_COULD_STAND};
use super::problem::{Problem, WordsProblem};
use super::sentence::{Attached, JointState, Said, SaidGap, SaidVolts, Sentence, Spot};

/// The phrases of one sentence, sorted.
#[derive(Debug, Default)]
pub(crate) struct Gathered {
    /// Spots in the order spoken; `and`, `to` and a verb that needs two part them.
    pub(crate) spots: Vec<Spot>,
    pub(crate) verbs: Vec<Said<Verb>>,
    pub(crate) ohm: Option<Said<f64>>,
    pub(crate) farad: Option<Said<f64>>,
    pub(crate) gap: SaidGap,
    gap_said: bool,
    pub(crate) volts: Vec<Said<f64>>,
    pub(crate) quadrature: bool,
    pub(crate) called: Option<Said<String>>,
    pub(crate) all: bool,
    pub(crate) onto: bool,
    pub(crate) between: bool,
    pub(crate) line_and_load: bool,
    pub(crate) span: Range<usize>,
}

type Grammar<T> = Result<T, Problem>;

/// Reads one sentence.
pub(crate) fn sentence(known: &Known<'_>, phrases: &[Placed], text: &str) -> Grammar<Sentence> {
    let gathered = gather(known, phrases, text)?;
    Reading { known, text, said: gathered }.sentence()
}

/// Sorts the phrases.
pub(crate) fn gather(known: &Known<'_>, phrases: &[Placed], text: &str) -> Grammar<Gathered> {
    let start = phrases.first().map_or(0, |(_, span)| span.start);
    let end = phrases.last().map_or(start, |(_, span)| span.end);
    let mut said = Gathered { span: start..end, ..Gathered::default() };
    let mut spot = Spot::default();
    for (phrase, span) in phrases {
        let written = text.get(span.clone()).unwrap_or_default();
        let twice = || {
            let message = format!("`{written}` says a second time what was said already");
            WordsProblem::new(span.clone(), written, message)
                .expected(["`;` and a sentence of its own, or `and` between two things"])
        };
        if said.take(phrase, span).ok_or_else(twice)? {
            continue;
        }
        if parts_spots(phrase) {
            said.close(&mut spot);
            continue;
        }
        if spot.name.as_ref().is_some_and(|name| known.is_address(&name.value))
            && says_where(phrase)
        {
            // An address is whole: what follows says where something else is.
            said.close(&mut spot);
        }
        if spot.is_empty() {
            spot.span = span.clone();
        }
        spot.span.end = span.end;
        put(known, &mut spot, phrase, span).ok_or_else(twice)?;
    }
    said.close(&mut spot);
    Ok(said)
}

fn says_where(phrase: &Phrase) -> bool {
    matches!(phrase, Phrase::Name(_) | Phrase::Stretch(_) | Phrase::Side(_))
}

fn parts_spots(phrase: &Phrase) -> bool {
    matches!(phrase, Phrase::And | Phrase::Onto | Phrase::Between | Phrase::Verb(_))
}

impl Gathered {
    fn close(&mut self, spot: &mut Spot) {
        let closed = std::mem::take(spot);
        if !closed.is_empty() {
            self.spots.push(closed);
        }
    }

    /// Takes a phrase that is of the whole sentence. `Some(true)`: taken and done with.
    fn take(&mut self, phrase: &Phrase, span: &Range<usize>) -> Option<bool> {
        let once = |slot: &mut Option<Said<f64>>, value: f64| {
            slot.replace(Said::new(value, span.clone())).is_none().then_some(true)
        };
        match phrase {
            Phrase::Verb(verb) => {
                self.verbs.push(Said::new(*verb, span.clone()));
                // A verb between two things parts them; `and` does at other verbs.
                Some(!pairs(*verb))
            }
            Phrase::Onto => {
                self.onto = true;
                Some(false)
            }
            Phrase::Between => {
                self.between = true;
                Some(false)
            }
            Phrase::Ohm(value) => once(&mut self.ohm, *value),
            Phrase::Farad(value) => once(&mut self.farad, *value),
            Phrase::Volt(value) => {
                self.volts.push(Said::new(*value, span.clone()));
                Some(true)
            }
            Phrase::Gap => {
                let nothing_said = self.ohm.is_none() && self.farad.is_none();
                self.gap_said = true;
                if !nothing_said {
                    self.gap.ohm = self.ohm.take().map(|ohm| ohm.value);
                    self.gap.farad = self.farad.take().map(|farad| farad.value);
                }
                Some(true)
            }
            Phrase::Called(name) => {
                self.called.replace(Said::new(name.clone(), span.clone())).is_none().then_some(true)
            }
            Phrase::All => {
                self.all = true;
                Some(true)
            }
            Phrase::LineAndLoad => {
                self.line_and_load = true;
                Some(true)
            }
            Phrase::Quadrature => {
                self.quadrature = true;
                Some(true)
            }
            Phrase::Through | Phrase::Solid | Phrase::InPhase => Some(true),
            _ => Some(false),
        }
    }
}

/// Verbs that stand between two things.
fn pairs(verb: Verb) -> bool {
    matches!(
        verb,
        Verb::Exchanged
            | Verb::Crossed
            | Verb::Bridged
            | Verb::Borrowed
            | Verb::Landed
            | Verb::Attached
            | Verb::Moisture
            | Verb::Breakdown
            | Verb::Nicked
    )
}

/// Puts a phrase into a spot; `None` if that is said already.
fn put(known: &Known<'_>, spot: &mut Spot, phrase: &Phrase, span: &Range<usize>) -> Option<()> {
    fn once<T>(slot: &mut Option<Said<T>>, value: T, span: &Range<usize>) -> Option<()> {
        slot.replace(Said::new(value, span.clone())).is_none().then_some(())
    }
    match phrase {
        Phrase::Conductor { name, plural, earth } => {
            (spot.plural, spot.earth) = (*plural, *earth);
            once(&mut spot.conductor, name.clone(), span)
        }
        // Hot here, neutral with it: the exchange knows.
        Phrase::Polarity => once(&mut spot.conductor, POLARITY.to_owned(), span),
        Phrase::Soil => {
            spot.soil = true;
            Some(())
        }
        Phrase::Frame => {
            spot.frame = true;
            Some(())
        }
        Phrase::Class(Class::Joint) => Some(()),
        Phrase::Class(class) => match spot.class {
            // `hot open at c1, breaker`: the second word says which joint.
            Some(_) => {
                spot.joints.push(Said::new(joint_of_class(*class)?, span.clone()));
                Some(())
            }
            None => once(&mut spot.class, *class, span),
        },
        Phrase::Name(name) if known.cable(name).is_some() => {
            once(&mut spot.cable, name.clone(), span)
        }
        Phrase::Stretch(cable) => once(&mut spot.cable, cable.clone(), span),
        Phrase::Name(name) => once(&mut spot.name, name.clone(), span),
        Phrase::Side(side) => once(&mut spot.side, *side, span),
        Phrase::Toward(place) => once(&mut spot.toward, place.clone(), span),
        Phrase::Joint(joint) => {
            spot.joints.push(Said::new(*joint, span.clone()));
            Some(())
        }
        Phrase::Half(half) => once(&mut spot.half, *half, span),
        Phrase::End(end) => once(&mut spot.end, *end, span),
        Phrase::Fraction(fraction) => once(&mut spot.along, *fraction, span),
        _ => Some(()),
    }
}

/// Stands for both conductors of `polarity reversed`.
const POLARITY: &str = "polarity";

pub(crate) fn joint_of_class(class: Class) -> Option<JointWord> {
    Some(match class {
        Class::Breaker => JointWord::Breaker,
        Class::Bond => JointWord::Bond,
        Class::Electrode => JointWord::Electrode,
        Class::Service => JointWord::Service,
        _ => return None,
    })
}

/// It speaks of a contact, which is a joint of a switch or two things that touch.
fn touches(spot: &Spot) -> bool {
    spot.joints.iter().any(|joint| joint.value == JointWord::Contact)
}

/// A sentence being told.
struct Reading<'r> {
    known: &'r Known<'r>,
    text: &'r str,
    said: Gathered,
}

impl Reading<'_> {
    fn written(&self, span: &Range<usize>) -> &str {
        self.text.get(span.clone()).unwrap_or_default()
    }

    fn problem(&self, span: &Range<usize>, message: impl Into<String>) -> Problem {
        WordsProblem::new(span.clone(), self.written(span), message)
    }

    fn has(&self, verb: Verb) -> bool {
        self.said.verbs.iter().any(|said| said.value == verb)
    }

    fn sentence(mut self) -> Grammar<Sentence> {
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
    fn shared(&self) -> Vec<Spot> {
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

    /// Two things and, if said apart from them, where.
    fn pair(&self, what: &str) -> Grammar<(Spot, Spot, Option<Spot>)> {
        let mut spots = self.said.spots.clone();
        // Of three the one without a subject says where; of several such, the last.
        let place = match spots.iter().rposition(|spot| !spot.has_subject()) {
            Some(at) if spots.len() == 3 => Some(spots.remove(at)),
            _ => None,
        };
        let mut spots = spots.into_iter();
        match (spots.next(), spots.next(), spots.next()) {
            (Some(first), Some(second), None) => Ok((first, second, place)),
            (_, _, Some(third)) => {
                let message = format!("{what} takes two things, and this is a third");
                Err(self.problem(&third.span, message))
            }
            _ => {
                let message = format!("{what} takes two things: what, and with what?");
                Err(self
                    .problem(&self.said.span, message)
                    .expected(["a second conductor or terminal, after `and`"]))
            }
        }
    }

    /// `hot exchanged at kiln`: with what? One subject will do for two places only.
    fn not_alone(&self, first: &Spot, second: &Spot, what: &str) -> Grammar<()> {
        let alone = |subject: &Spot, other: &Spot| {
            let outright =
                other.name.as_ref().is_some_and(|name| self.known.is_address(&name.value));
            subject.has_subject()
                && !other.has_subject()
                && !outright
                && subject.name.is_none()
                && !subject.plural
        };
        let (one, other) = (alone(first, second), alone(second, first));
        if !one && !other {
            return Ok(());
        }
        let subject = if one { first } else { second };
        let message = format!("{what} takes two things: this with what?");
        Err(self.problem(&subject.span, message).expected(["a second conductor, after `and`"]))
    }

    /// Two terminals, each with its place.
    fn terminals(&self, what: &str) -> Grammar<(Spot, Spot)> {
        let (mut first, mut second, place) = self.pair(what)?;
        self.not_alone(&first, &second, what)?;
        for spot in [&mut first, &mut second] {
            if let Some(place) = &place {
                spot.at_same_place_as(place);
            }
        }
        let (before, after) = (first.clone(), second.clone());
        first.at_same_place_as(&after);
        second.at_same_place_as(&before);
        second.of_same_conductor_as(&before);
        first.of_same_conductor_as(&after);
        Ok((first, second))
    }

    fn line_and_load(&self) -> Grammar<Sentence> {
        let exchanged = self.has(Verb::Exchanged) || self.has(Verb::Crossed);
        match (exchanged, self.said.spots.as_slice()) {
            (true, [spot]) => match &spot.name {
                Some(device) => Ok(Sentence::LineLoadExchanged { device: device.clone() }),
                None => Err(self.where_is_it("a ground-fault or arc-fault device")),
            },
            (true, _) => Err(self.where_is_it("a ground-fault or arc-fault device")),
            (false, _) => Err(self
                .problem(&self.said.span, "line and load sides can only be exchanged")
                .expected(["exchanged"])),
        }
    }

    fn where_is_it(&self, of: &str) -> Problem {
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

    fn attached(&self) -> Grammar<Sentence> {
        let (first, second) = self.terminals("what is attached")?;
        let value = match (&self.said.ohm, &self.said.farad) {
            (Some(ohm), None) => Attached::Ohm(ohm.value),
            (None, Some(farad)) => Attached::Farad(farad.value),
            _ => {
                return Err(self
                    .problem(&self.said.span, "what is attached? one value is wanted")
                    .expected(["a resistance, as `15 kohm`", "a capacitance, as `10 nF`"]));
            }
        };
        Ok(Sentence::Attached { first, second, value, called: self.said.called.clone() })
    }

    fn borrowed(&self) -> Grammar<Sentence> {
        let (mut borrower, lender, place) = self.pair("borrowing")?;
        // `desk borrows neutral from sink`: the conductor was said between the two.
        if let Some(lender_name) = place {
            borrower.of_same_conductor_as(&lender);
            return Ok(Sentence::Borrowed { borrower, lender: lender_name });
        }
        borrower.of_same_conductor_as(&lender);
        Ok(Sentence::Borrowed { borrower, lender })
    }

    fn landed(&self) -> Grammar<Sentence> {
        let (mut wire, mut to, place) = self.pair("landing")?;
        if let Some(place) = place {
            wire.at_same_place_as(&place);
        }
        if wire.cable.is_some() && wire.end.is_none() {
            wire.end = to.end.take();
        }
        Ok(Sentence::Landed { wire, to })
    }

    fn bridged(&self) -> Grammar<Sentence> {
        let (first, second) = self.terminals("a bridge")?;
        let (ohm, called) = (self.said.ohm.clone(), self.said.called.clone());
        if let Some(farad) = &self.said.farad {
            return Err(self
                .problem(&farad.span, "a bridge has a resistance")
                .expected(["a resistance, as `300 ohm`"]));
        }
        Ok(Sentence::Bridged { first, second, ohm, called })
    }

    fn exchanged(&self) -> Grammar<Sentence> {
        let polarity = |spot: &Spot| spot.conductor.as_ref().is_some_and(|c| c.value == POLARITY);
        if let Some(subject) = self.said.spots.iter().find(|spot| polarity(spot)) {
            let mut at = subject.clone();
            let said = subject.conductor.as_ref().map_or(0..0, |said| said.span.clone());
            at.conductor = None;
            if let Some(place) = self.said.spots.iter().find(|spot| !polarity(spot)) {
                at.at_same_place_as(place);
            }
            let conductors =
                (Said::new("hot".to_owned(), said.clone()), Said::new("neutral".to_owned(), said));
            return Ok(Sentence::Exchanged { conductors, at });
        }
        let (first, second, place) = self.pair("an exchange")?;
        if let Some(legs) = self.legs(&first, &second) {
            return Ok(legs);
        }
        self.not_alone(&first, &second, "an exchange")?;
        let (mut first, mut second) = (first, second);
        let named = |spot: &Spot| spot.name.is_some() || spot.cable.is_some();
        let two_names = named(&first) && named(&second);
        if !two_names
            && let Some(conductors) = first.conductor.clone().zip(second.conductor.clone())
        {
            let mut at = place.unwrap_or_default();
            at.at_same_place_as(&second);
            at.at_same_place_as(&first);
            return Ok(Sentence::Exchanged { conductors, at });
        }
        second.of_same_conductor_as(&first.clone());
        first.of_same_conductor_as(&second.clone());
        Ok(Sentence::ExchangedPair { first, second, at: place })
    }

    /// `legs of c1 and c2 exchanged`.
    fn legs(&self, first: &Spot, second: &Spot) -> Option<Sentence> {
        let leg = first.class.as_ref().is_some_and(|class| class.value == Class::Leg);
        let circuits = first.name.clone().zip(second.name.clone())?;
        leg.then_some(Sentence::LegsExchanged { circuits })
    }

    /// A four-way switch is crossed; two conductors are, too.
    fn crossed(&self, verb: Said<Verb>) -> Grammar<Sentence> {
        let one_name = matches!(self.said.spots.as_slice(), [spot] if spot.conductor.is_none());
        if one_name { self.set(verb) } else { self.exchanged() }
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
            && self.written_verb("broken")
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

    fn joint(&self, state: JointState) -> Grammar<Sentence> {
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

    fn set(&self, state: Said<Verb>) -> Grammar<Sentence> {
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

    /// `hot and ground contact at kiln`, and `ground contact` of who knows what.
    fn contact(&self) -> Grammar<Sentence> {
        let mut said = self.said.spots.clone();
        for spot in &mut said {
            spot.joints.retain(|joint| joint.value != JointWord::Contact);
        }
        let subjects = said.iter().filter(|spot| spot.has_subject()).count();
        if subjects == 2 {
            let spots = std::mem::take(&mut said);
            let said = Gathered {
                spots,
                ohm: self.said.ohm.clone(),
                called: self.said.called.clone(),
                span: self.said.span.clone(),
                ..Gathered::default()
            };
            return Reading { known: self.known, text: self.text, said }.bridged();
        }
        if let Some(ohm) = &self.said.ohm {
            return self.joint(JointState::Ohm(ohm.clone()));
        }
        Err(self
            .problem(&self.said.span, "a contact of what with what?")
            .expected(["hot and ground contact", "neutral and ground contact"]))
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
