//! Sentences about two things: exchanged, bridged, landed on, borrowed from.

use super::super::lexicon::{Class, JointWord, Verb};
use super::super::sentence::{Attached, JointState, Link, Said, Sentence, Spot};
use super::reading::Reading;
use super::{Gathered, Grammar, POLARITY};

impl Reading<'_> {
    /// Two things and, if said apart from them, where.
    pub(super) fn pair(&self, what: &str) -> Grammar<(Spot, Spot, Option<Spot>)> {
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

    /// `neutrals of desk and sink tied at kiln`: a third place is of neither.
    fn no_place_over(&self, (first, second): (&Spot, &Spot), place: Option<&Spot>) -> Grammar<()> {
        match place {
            Some(place) if first.has_place() && second.has_place() => Err(self.left_over(place)),
            _ => Ok(()),
        }
    }

    /// Two terminals, each with its place.
    fn terminals(&self, what: &str) -> Grammar<(Spot, Spot)> {
        let (mut first, mut second, place) = self.pair(what)?;
        self.not_alone(&first, &second, what)?;
        self.no_place_over((&first, &second), place.as_ref())?;
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

    pub(super) fn line_and_load(&self) -> Grammar<Vec<Sentence>> {
        let exchanged = self.has(Verb::Exchanged) || self.has(Verb::Crossed);
        if !exchanged {
            return Err(self
                .problem(&self.said.span, "line and load sides can only be exchanged")
                .expected(["exchanged"]));
        }
        let of_device = |spot: Spot| match &spot.name {
            Some(device) if !spot.has_subject() => {
                Ok(Sentence::LineLoadExchanged { device: device.clone() })
            }
            _ => Err(self.where_is_it("a ground-fault or arc-fault device")),
        };
        match self.listed()? {
            spots if spots.is_empty() => {
                Err(self.where_is_it("a ground-fault or arc-fault device"))
            }
            spots => spots.into_iter().map(of_device).collect(),
        }
    }

    pub(super) fn attached(&self) -> Grammar<Sentence> {
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

    pub(super) fn borrowed(&self) -> Grammar<Sentence> {
        let (mut borrower, lender, place) = self.pair("borrowing")?;
        self.no_place_over((&borrower, &lender), place.as_ref())?;
        if let Some(second) = [&borrower, &lender].into_iter().find(|spot| self.is_second(spot)) {
            return Err(self.left_over(second));
        }
        // `desk borrows neutral from sink`: the conductor was said between the two.
        if let Some(lender_name) = place {
            borrower.of_same_conductor_as(&lender);
            return Ok(Sentence::Borrowed { borrower, lender: lender_name });
        }
        borrower.of_same_conductor_as(&lender);
        Ok(Sentence::Borrowed { borrower, lender })
    }

    /// A second conductor of a list, where one only is moved.
    fn is_second(&self, spot: &Spot) -> bool {
        self.said.spots.len() > 2 && spot.has_subject() && spot.is_after(Link::And)
    }

    pub(super) fn landed(&self) -> Grammar<Sentence> {
        let (mut wire, mut to, place) = self.pair("landing")?;
        self.no_place_over((&wire, &to), place.as_ref())?;
        if self.is_second(&to) {
            return Err(self.left_over(&to));
        }
        if let Some(place) = place {
            wire.at_same_place_as(&place);
        }
        if wire.cable.is_some() && wire.end.is_none() {
            wire.end = to.end.take();
        }
        Ok(Sentence::Landed { wire, to })
    }

    pub(super) fn bridged(&self) -> Grammar<Sentence> {
        let (first, second) = self.terminals("a bridge")?;
        let (ohm, called) = (self.said.ohm.clone(), self.said.called.clone());
        if let Some(farad) = &self.said.farad {
            return Err(self
                .problem(&farad.span, "a bridge has a resistance")
                .expected(["a resistance, as `300 ohm`"]));
        }
        Ok(Sentence::Bridged { first, second, ohm, called })
    }

    pub(super) fn exchanged(&self) -> Grammar<Sentence> {
        let polarity = |spot: &Spot| spot.conductor.as_ref().is_some_and(|c| c.value == POLARITY);
        if let Some(subject) = self.said.spots.iter().find(|spot| polarity(spot)) {
            let mut at = subject.clone();
            let said = subject.conductor.as_ref().map_or(0..0, |said| said.span.clone());
            at.conductor = None;
            if let Some(place) = self.said.spots.iter().find(|spot| !polarity(spot)) {
                if place.has_subject() {
                    let message = "polarity is of hot and neutral, and this is a third";
                    return Err(self.problem(&place.span, message).expected(["hot and neutral"]));
                }
                at.at_same_place_as(place);
            }
            let conductors =
                (Said::new("hot".to_owned(), said.clone()), Said::new("neutral".to_owned(), said));
            return Ok(Sentence::Exchanged { conductors, at });
        }
        let (first, second, place) = self.pair("an exchange")?;
        let circuit = |spot: &Spot| {
            spot.name.as_ref().is_some_and(|name| self.known.is(Class::Circuit, &name.value))
        };
        let legs = self.legs(&first, &second);
        if legs.is_some() || !(circuit(&first) && circuit(&second)) {
            self.no_place_over((&first, &second), place.as_ref())?;
        }
        if let Some(legs) = legs {
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
    pub(super) fn crossed(&self, verb: Said<Verb>) -> Grammar<Vec<Sentence>> {
        let names = !self.said.spots.iter().any(Spot::has_subject);
        if names { self.set(verb) } else { self.at_each_place(Reading::exchanged) }
    }

    /// `hot and ground contact at kiln`, and `ground contact` of who knows what.
    pub(super) fn contact(&self) -> Grammar<Vec<Sentence>> {
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
            let reading = Reading { known: self.known, text: self.text, said };
            return reading.at_each_place(Reading::bridged);
        }
        if let Some(ohm) = &self.said.ohm {
            return self.joint(JointState::Ohm(ohm.clone()));
        }
        Err(self
            .problem(&self.said.span, "a contact of what with what?")
            .expected(["hot and ground contact", "neutral and ground contact"]))
    }
}
