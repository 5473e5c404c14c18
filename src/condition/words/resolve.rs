//! What was said, into edits of a condition: where the circuit is asked whether it can be so.

use std::ops::Range;

use crate::circuit::{CableEnd, DeviceKind, JointKind, Part, Place, Side, Vocabulary};
use crate::condition::{AttachedLaw, Attachment, EndOfCable, Fault, Gap};
use crate::quantity::Address;

use super::Edit;
use super::known::{Known, KnownJoint};
use super::lexicon::{Class, JointWord};
use super::phrase::few;
use super::problem::{Problem, WordsProblem};
use super::sentence::{Attached, JointState, Said, SaidGap, Sentence, Spot};

mod bridge;
mod exchange;
pub(crate) mod joints;
pub(crate) mod settings;
mod terminals;

/// Asks one circuit about one text.
pub(crate) struct Resolver<'r> {
    pub(crate) known: &'r Known<'r>,
    pub(crate) text: &'r str,
}

impl<'r> Resolver<'r> {
    /// The edits that one sentence asks for.
    pub(crate) fn edits(&self, sentence: &Sentence) -> Result<Vec<Edit>, Problem> {
        match sentence {
            Sentence::Joint { spots, state } => {
                spots.iter().map(|spot| self.joint_state(spot, state)).collect()
            }
            Sentence::Exchanged { conductors, at } => self.exchanged(conductors, at),
            Sentence::ExchangedPair { first, second, at } => {
                self.exchanged_pair(first, second, at.as_ref())
            }
            Sentence::LegsExchanged { circuits } => self.legs_exchanged(circuits),
            Sentence::LineLoadExchanged { device } => self.line_load_exchanged(device),
            Sentence::Bridged { first, second, ohm, called } => {
                self.bridged(first, second, ohm.as_ref(), called.as_ref())
            }
            Sentence::Bootleg { at, ohm, called } => {
                self.bootleg(at, ohm.as_ref(), called.as_ref())
            }
            Sentence::Borrowed { borrower, lender } => self.borrowed(borrower, lender),
            Sentence::OnBus { circuit, bus } => self.on_bus(circuit, bus),
            Sentence::Landed { wire, to } => self.landed(wire, to),
            Sentence::Tab { at, intact } => self.tab(at, *intact),
            Sentence::Supply { winding, volts } => self.supply(winding.as_ref(), volts),
            Sentence::Set { names, class, state } => self.set(names, class.as_ref(), state),
            Sentence::AllLoads { of, state } => self.all_loads(of.as_deref(), state),
            Sentence::Attached { first, second, value, called } => {
                self.attached(first, second, *value, called.as_ref())
            }
        }
    }

    fn written(&self, span: &Range<usize>) -> &'r str {
        self.text.get(span.clone()).unwrap_or_default()
    }

    fn problem(&self, span: &Range<usize>, message: impl Into<String>) -> Problem {
        WordsProblem::new(span.clone(), self.written(span), message)
    }

    /// A resistance: zero or more.
    fn ohm(&self, said: &Said<f64>) -> Result<f64, Problem> {
        if said.value >= 0.0 {
            return Ok(said.value);
        }
        Err(self
            .problem(&said.span, "a resistance is zero or more")
            .expected(["0.4 ohm", "20 kohm"]))
    }

    fn gap(&self, said: SaidGap, span: &Range<usize>) -> Result<Gap, Problem> {
        let negative = |value: &Option<f64>| value.is_some_and(|value| value < 0.0);
        if negative(&said.ohm) || negative(&said.farad) {
            return Err(self.problem(span, "what is across a gap is zero or more"));
        }
        Ok(Gap { resistance_ohm: said.ohm, capacitance_farad: said.farad })
    }

    fn joint_state(&self, spot: &Spot, state: &JointState) -> Result<Edit, Problem> {
        let in_cable = spot.end.is_none() && spot.side.is_none() && spot.joints.is_empty();
        if let (Some(_), Some(name), Some(along)) = (&spot.cable, &spot.name, &spot.along) {
            let message = format!("along the cable, or at {}?", name.value);
            return Err(self
                .problem(&along.span, message)
                .expected(["either the box or how far along the cable"]));
        }
        if let Some(cable) = &spot.cable
            && in_cable
            && spot.name.is_none()
        {
            return self.inside_cable(cable, spot, state);
        }
        if let Some(along) = &spot.along {
            let cables = self.known.named(Class::Cable);
            return Err(self
                .problem(&along.span, "this says how far along a cable: along which?")
                .expected(few(cables.map(|id| format!("in cable {id}")))));
        }
        let joint = if spot.joints.iter().any(|said| said.value == JointWord::Pin) {
            self.pin(spot)?
        } else {
            self.joint(spot)?
        };
        let element = joint.joint.element.clone();
        Ok(Edit::Fault(match state {
            JointState::Open(gap) => Fault::Open { element, gap: self.gap(*gap, &spot.span)? },
            JointState::Ohm(_) | JointState::Glowing if self.is_load(&element) => {
                let message = "that is a load itself: bad joints are in what feeds it";
                return Err(self.problem(&spot.span, message));
            }
            JointState::Ohm(ohm) => Fault::Resistance { element, resistance_ohm: self.ohm(ohm)? },
            JointState::Glowing => Fault::Glowing { element },
        }))
    }

    fn is_load(&self, element: &str) -> bool {
        self.known.circuit.connections().any(|path| {
            path.element == element
                && matches!(path.part, Part::Load(_) | Part::Lumped(_) | Part::Winding(_))
        })
    }

    /// The pin of a load's plug, or what a device's contact of that name hangs on.
    fn pin(&self, spot: &Spot) -> Result<&'r KnownJoint, Problem> {
        let load = spot.name.as_ref().is_some_and(|name| self.known.is(Class::Load, &name.value));
        if load {
            return self.joint(spot);
        }
        let mut without = spot.clone();
        without.joints.retain(|said| said.value != JointWord::Pin);
        match self.device_joint(&without).as_slice() {
            [joint] => Ok(*joint),
            _ => self.joint(&without),
        }
    }

    /// The joint by which a device's own contact hangs on the wiring: its screw, or the
    /// arriving wire that lands on it.
    fn device_joint(&self, spot: &Spot) -> Vec<&'r KnownJoint> {
        let on_terminal =
            |joint: &KnownJoint| matches!(joint.joint.kind, JointKind::Screw | JointKind::PushIn);
        let all = joints::matching(self.known, spot);
        let of = |side: Side| -> Vec<&'r KnownJoint> {
            all.iter()
                .copied()
                .filter(|j| on_terminal(j) && j.joint.side == side && j.load.is_none())
                .collect()
        };
        let own = of(Side::Here);
        if own.is_empty() { of(Side::Line) } else { own }
    }

    fn inside_cable(
        &self,
        cable: &Said<String>,
        spot: &Spot,
        state: &JointState,
    ) -> Result<Edit, Problem> {
        let conductor = self.cable_conductor(cable, spot.conductor.as_ref())?;
        let at_fraction = self.fraction(cable, spot)?;
        let cable = cable.value.clone();
        Ok(Edit::Fault(match state {
            JointState::Open(gap) => {
                let gap = self.gap(*gap, &spot.span)?;
                Fault::Broken { cable, conductor, at_fraction, gap }
            }
            JointState::Ohm(ohm) => {
                let resistance_ohm = self.ohm(ohm)?;
                Fault::ResistanceInCable { cable, conductor, at_fraction, resistance_ohm }
            }
            JointState::Glowing => {
                let message = "only a joint glows, and inside a cable there is none";
                return Err(self.problem(&spot.span, message).expected(["at a box"]));
            }
        }))
    }

    /// Where along a cable from its end a; halfway unless said.
    fn fraction(&self, cable: &Said<String>, spot: &Spot) -> Result<f64, Problem> {
        let said = spot.along.as_ref();
        if let (Some(from), Some(along)) = (&spot.along_from, said) {
            let own = Said::new(along.value, along.span.start..from.span.end);
            let of_end = |place: &&Place| place.line_cables.contains(&cable.value);
            let places = || self.known.circuit.parts().places.iter();
            let far = places().find(of_end);
            if far.is_some_and(|place| place.id == from.value) {
                return Ok(1.0 - self.inside(&own)?);
            }
            let near = places().find(|place| place.load_cables.contains(&cable.value));
            if near.is_some_and(|place| place.id == from.value) {
                return self.inside(&own);
            }
            let message = format!("cable {} has no end at {}", cable.value, from.value);
            let ends = near.into_iter().chain(far).map(|place| place.id.clone());
            return Err(self.problem(&from.span, message).expected(few(ends)));
        }
        said.map_or(Ok(0.5), |said| self.inside(said))
    }

    fn inside(&self, said: &Said<f64>) -> Result<f64, Problem> {
        match said {
            said if said.value > 0.0 && said.value < 1.0 => Ok(said.value),
            said => Err(self
                .problem(&said.span, "that is not inside the cable: its ends are joints at boxes")
                .expected(["30 %", "halfway"])),
        }
    }

    /// The cable's own name of a conductor of it.
    fn cable_conductor(
        &self,
        cable: &Said<String>,
        said: Option<&Said<String>>,
    ) -> Result<String, Problem> {
        let names: Vec<&str> = self
            .known
            .cable(&cable.value)
            .map(|cable| cable.conductors.iter().map(|c| c.name.as_str()).collect())
            .unwrap_or_default();
        let offer = || few(names.iter().map(|name| self.spoken(name).to_owned()));
        let Some(said) = said else {
            let message = format!("which conductor of cable {}?", cable.value);
            return Err(self.problem(&cable.span, message).expected(offer()));
        };
        let found = names.iter().find(|name| joints::same_conductor(name, &said.value));
        found.map(|name| (*name).to_owned()).ok_or_else(|| {
            let message = format!("cable {} has no {}", cable.value, self.spoken(&said.value));
            self.problem(&said.span, message).expected(offer())
        })
    }

    fn tab(&self, at: &Spot, intact: bool) -> Result<Vec<Edit>, Problem> {
        let Some(name) = &at.name else {
            return Err(self.problem(&at.span, "at which duplex receptacle?"));
        };
        let is_duplex = |kind: &DeviceKind| matches!(kind, DeviceKind::Duplex { .. });
        match self.known.device_of_kind(&name.value, is_duplex) {
            Some(device) => {
                let said = at.conductor.as_ref().map_or("hot", |said| said.value.as_str());
                if said != "hot" && said != "neutral" {
                    let span = at.conductor.as_ref().map_or(&at.span, |said| &said.span);
                    let message = "a duplex has tabs between its hot and its neutral halves";
                    return Err(self.problem(span, message).expected(["hot", "neutral"]));
                }
                let (device, conductor) = (device.id.clone(), said.to_owned());
                Ok(vec![Edit::Fault(Fault::Tab { device, conductor, intact })])
            }
            None if !intact => {
                Ok(vec![self.joint_state(at, &JointState::Open(SaidGap::default()))?])
            }
            None => {
                let message = format!("{} is no duplex and has no tab to leave in", name.value);
                Err(self.problem(&name.span, message))
            }
        }
    }

    fn landed(&self, wire: &Spot, to: &Spot) -> Result<Vec<Edit>, Problem> {
        let mut wire = wire.clone();
        wire.at_same_place_as(to);
        let (cable, end, conductor) = match (&wire.cable, &wire.end) {
            (Some(cable), Some(end)) => {
                let conductor = self.cable_conductor(cable, wire.conductor.as_ref())?;
                (cable.value.clone(), end.value, conductor)
            }
            (Some(cable), None) => return Err(self.which_end(cable)),
            (None, _) => self.cable_end_of(self.wire_joint(&wire)?, &wire.span)?,
        };
        let mut target = to.clone();
        let outright =
            target.name.as_ref().is_some_and(|name| self.known.terminal(&name.value).is_some());
        if !outright {
            target.of_same_conductor_as(&wire);
            target.at_same_place_as(&wire);
        }
        let to = self.terminal(&target)?;
        let end = EndOfCable { cable, end };
        Ok(vec![Edit::Fault(Fault::WrongLanding { end, conductor, to })])
    }

    /// The wire's joint; of a circuit that at the panel.
    fn wire_joint(&self, wire: &Spot) -> Result<&'r KnownJoint, Problem> {
        match &wire.name {
            Some(circuit)
                if self.known.is(Class::Circuit, &circuit.value)
                    && wire.side.is_none()
                    && wire.joints.is_empty() =>
            {
                self.joint_of_circuit(circuit, wire, None)
            }
            _ => self.joint(wire),
        }
    }

    fn cable_end_of(
        &self,
        joint: &KnownJoint,
        span: &Range<usize>,
    ) -> Result<(String, CableEnd, String), Problem> {
        match joint.contact() {
            Some((cable, end, conductor)) => Ok((cable.to_owned(), end, conductor.to_owned())),
            None => {
                let message = format!("{} is not the end of a cable", joint.joint.address);
                Err(self.problem(span, message).expected([
                    "line side",
                    "load side",
                    "cable CABLE, end a",
                ]))
            }
        }
    }

    fn which_end(&self, cable: &Said<String>) -> Problem {
        let message =
            format!("at which end of cable {}: a, towards the supply, or b?", cable.value);
        self.problem(&cable.span, message).expected(["end a", "end b"])
    }

    fn attached(
        &self,
        first: &Spot,
        second: &Spot,
        value: Attached,
        called: Option<&Said<String>>,
    ) -> Result<Vec<Edit>, Problem> {
        let between = self.two_terminals(first, second)?;
        let law = match value {
            Attached::Ohm(ohm) => AttachedLaw::ResistanceOhm(ohm),
            Attached::Farad(farad) => AttachedLaw::CapacitanceFarad(farad),
        };
        if matches!(value, Attached::Ohm(value) | Attached::Farad(value) if value < 0.0) {
            return Err(self.problem(&(first.span.start..second.span.end), "zero or more"));
        }
        let id = called.map_or_else(
            || format!("attached.{}", bridge_id(&between)),
            |called| called.value.clone(),
        );
        Ok(vec![Edit::Attach(Attachment { id, between, law })])
    }

    /// Two terminals that differ.
    fn two_terminals(&self, first: &Spot, second: &Spot) -> Result<(Address, Address), Problem> {
        let ends = (self.end(first)?, self.end(second)?);
        if ends.0 == ends.1 {
            let span = first.span.start.min(second.span.start)..first.span.end.max(second.span.end);
            let message = format!("both are `{}`: one terminal, joined already", ends.0);
            return Err(self.problem(&span, message).expected(["two different terminals"]));
        }
        Ok(ends)
    }

    /// An end of a bridge. `earth` is a conductor to some and the soil to others; where the
    /// circuit's own words leave it open and both are there, the speaker is asked.
    fn end(&self, spot: &Spot) -> Result<Address, Problem> {
        if spot.earth && self.vocabulary() == Vocabulary::NorthAmerican {
            let as_ground = Spot { earth: false, ..spot.clone() };
            return match self.terminal(&as_ground) {
                Ok(_) => Err(self.which_earth(spot)),
                Err(_) => Ok(Address::earth()),
            };
        }
        self.terminal(spot)
    }

    fn which_earth(&self, spot: &Spot) -> Problem {
        let span = spot.conductor.as_ref().map_or(&spot.span, |said| &said.span);
        self.problem(span, "`earth`: the grounding conductor, or the soil itself?")
            .expected(["ground", "soil"])
    }
}

/// The name of a bridge that was given none: its terminals, what they share said once.
pub(crate) fn bridge_id((a, b): &(Address, Address)) -> String {
    match (a.as_str().rsplit_once('.'), b.as_str().rsplit_once('.')) {
        (Some((place, _)), Some((other, last))) if place == other => format!("{a}-{last}"),
        _ => format!("{a}-{b}"),
    }
}
