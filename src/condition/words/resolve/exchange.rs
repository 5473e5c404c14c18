//! Conductors exchanged, and breakers on the wrong bus.

use crate::circuit::{JointKind, Side};
use crate::condition::{EndOfCable, Fault};
use crate::quantity::Address;

use super::super::Edit;
use super::super::known::{KnownJoint, is_protective};
use super::super::lexicon::Class;
use super::super::phrase::few;
use super::super::problem::Problem;
use super::super::sentence::{Said, Spot};
use super::Resolver;
use super::joints::{matching, same_conductor};

type Conductors = (Said<String>, Said<String>);

impl<'r> Resolver<'r> {
    pub(super) fn exchanged(
        &self,
        conductors: &Conductors,
        at: &Spot,
    ) -> Result<Vec<Edit>, Problem> {
        if same_conductor(&conductors.0.value, &conductors.1.value) {
            let message = "a conductor cannot be exchanged with itself";
            return Err(self.problem(&conductors.1.span, message).expected(["another conductor"]));
        }
        if let Some(cable) = &at.cable {
            let Some(end) = &at.end else { return Err(self.which_end(cable)) };
            let first = self.cable_conductor(cable, Some(&conductors.0))?;
            let second = self.cable_conductor(cable, Some(&conductors.1))?;
            let end = EndOfCable { cable: cable.value.clone(), end: end.value };
            return Ok(vec![at_cable_end(end, (first, second))]);
        }
        if at.side.is_none() && at.joints.is_empty() && at.half.is_none() {
            return self.at_device(conductors, at);
        }
        let first = self.joint(&of(&conductors.0, at))?;
        let second = self.joint(&of(&conductors.1, at))?;
        Ok(vec![two_joints(first, second)])
    }

    /// At the device itself: all that lands on its terminals is exchanged, so its slots are
    /// reversed and what lies past it is not.
    fn at_device(&self, conductors: &Conductors, at: &Spot) -> Result<Vec<Edit>, Problem> {
        let (first, second) = (&of(&conductors.0, at), &of(&conductors.1, at));
        if let ([one], [another]) =
            (self.own_links(first).as_slice(), self.own_links(second).as_slice())
        {
            return Ok(vec![two_joints(one, another)]);
        }
        let lands = |spot: &Spot| -> Vec<&'r KnownJoint> { matching(self.known, spot) };
        let (all_first, all_second) = (lands(first), lands(second));
        let contacts = |joints: &[&'r KnownJoint]| -> Vec<&'r KnownJoint> {
            joints.iter().copied().filter(|joint| joint.cable_end.is_some()).collect()
        };
        let (firsts, seconds) = (contacts(&all_first), contacts(&all_second));
        let on_terminals = firsts
            .iter()
            .chain(&seconds)
            .all(|joint| matches!(joint.joint.kind, JointKind::Screw | JointKind::PushIn));
        let paired: Vec<Edit> = firsts
            .iter()
            .filter_map(|one| {
                let other = seconds.iter().find(|other| other.cable_end == one.cable_end)?;
                Some(two_joints(one, other))
            })
            .collect();
        if on_terminals && !paired.is_empty() && paired.len() == firsts.len().max(seconds.len()) {
            return Ok(paired);
        }
        if let (Some(one), Some(another)) =
            (self.device_terminal(first), self.device_terminal(second))
        {
            return Ok(vec![two_joints(one, another)]);
        }
        // One of them is missing, or they land in different ways: the general answers serve.
        self.joint(first)?;
        self.joint(second)?;
        Err(self
            .problem(&at.span, "these two do not land on one device: on which side of the box?")
            .expected(["line side", "load side"]))
    }

    /// The terminal of the device that a conductor is on, by a pigtail or as the end of a cable.
    fn device_terminal(&self, spot: &Spot) -> Option<&'r KnownJoint> {
        let own = self.own_links(spot);
        let is_terminal = |kind| matches!(kind, JointKind::Screw | JointKind::PushIn);
        let landing: Vec<&KnownJoint> = matching(self.known, spot)
            .into_iter()
            .filter(|joint| joint.cable_end.is_some() && is_terminal(joint.joint.kind))
            .collect();
        match (own.as_slice(), landing.as_slice()) {
            ([only], _) | ([], [only]) => Some(*only),
            _ => None,
        }
    }

    /// Screws of pigtails, or contacts of a plug, that belong to the spot itself.
    fn own_links(&self, spot: &Spot) -> Vec<&'r KnownJoint> {
        matching(self.known, spot)
            .into_iter()
            .filter(|joint| {
                joint.joint.side == Side::Here
                    && joint.cable_end.is_none()
                    && matches!(
                        joint.joint.kind,
                        JointKind::Screw | JointKind::PushIn | JointKind::SlotContact
                    )
            })
            .collect()
    }

    /// Two joints named apart, or the same conductor of two circuits.
    pub(super) fn exchanged_pair(
        &self,
        first: &Spot,
        second: &Spot,
        at: Option<&Spot>,
    ) -> Result<Vec<Edit>, Problem> {
        let find = |spot: &Spot| match &spot.name {
            Some(name) if self.known.is(Class::Circuit, &name.value) => {
                self.joint_of_circuit(name, spot, at)
            }
            _ => self.joint(spot),
        };
        let (first, second) = (find(first)?, find(second)?);
        if first.joint.element == second.joint.element {
            let message = format!("both are {}", first.joint.address);
            return Err(self.problem(&(0..self.text.len()), message));
        }
        Ok(vec![two_joints(first, second)])
    }

    /// Where a conductor of a circuit lands: in the panel, or where its cable arrives at a
    /// box that both circuits go through.
    pub(super) fn joint_of_circuit(
        &self,
        circuit: &Said<String>,
        spot: &Spot,
        at: Option<&Spot>,
    ) -> Result<&'r KnownJoint, Problem> {
        let place = at.and_then(|at| at.name.clone());
        let found: Vec<&KnownJoint> = match &place {
            None => {
                let begins = format!("{}.", circuit.value);
                let mut own = matching(self.known, spot);
                own.retain(|joint| joint.joint.kind != JointKind::Breaker);
                let cables: Vec<&KnownJoint> =
                    own.iter().copied().filter(|joint| joint.cable_end.is_some()).collect();
                let landing: Vec<&KnownJoint> = own
                    .iter()
                    .copied()
                    .filter(|joint| joint.joint.element.starts_with(&format!("landing:{begins}")))
                    .collect();
                if landing.is_empty() { cables } else { landing }
            }
            Some(_) => {
                let at = Spot {
                    conductor: spot.conductor.clone(),
                    side: at
                        .and_then(|at| at.side.clone())
                        .or_else(|| Some(Said::new(Side::Line, spot.span.clone()))),
                    ..at.cloned().unwrap_or_default()
                };
                let mut here = matching(self.known, &at);
                let feeds = self.known.fed_by(&circuit.value);
                here.retain(|joint| {
                    joint.cable_end.as_ref().is_some_and(|(cable, _)| feeds.contains(cable))
                });
                here
            }
        };
        match found.as_slice() {
            [joint] => Ok(*joint),
            several => {
                let conductor = spot.conductor.as_ref().map_or("joint", |c| self.spoken(&c.value));
                let where_to =
                    place.map_or("at the panel".to_owned(), |p| format!("at {}", p.value));
                let count =
                    if several.is_empty() { "no".into() } else { several.len().to_string() };
                let message = format!("{} has {count} {conductor} {where_to}", circuit.value);
                Err(self
                    .problem(&circuit.span, message)
                    .expected(few(several.iter().map(|j| j.joint.address.to_string()))))
            }
        }
    }

    pub(super) fn legs_exchanged(
        &self,
        (first, second): &(Said<String>, Said<String>),
    ) -> Result<Vec<Edit>, Problem> {
        let buses = (self.bus_of(first)?, self.bus_of(second)?);
        if buses.0 == buses.1 {
            let message =
                format!("{} and {} both sit on {} already", first.value, second.value, buses.0);
            return Err(self.problem(&(first.span.start..second.span.end), message));
        }
        Ok(vec![
            Edit::Fault(Fault::WrongBus { circuit: first.value.clone(), bus: buses.1 }),
            Edit::Fault(Fault::WrongBus { circuit: second.value.clone(), bus: buses.0 }),
        ])
    }

    fn bus_of(&self, circuit: &Said<String>) -> Result<Address, Problem> {
        match self.known.circuit.branch_circuit(&circuit.value) {
            Some(branch) => Ok(branch.bus.clone()),
            None => {
                let all = self.known.circuit.parts().branch_circuits.iter();
                let message = format!("`{}` is no branch circuit", circuit.value);
                Err(self
                    .problem(&circuit.span, message)
                    .expected(few(all.map(|branch| branch.id.clone()))))
            }
        }
    }

    pub(super) fn on_bus(
        &self,
        circuit: &Said<String>,
        bus: &Said<String>,
    ) -> Result<Vec<Edit>, Problem> {
        let stated = self.bus_of(circuit)?;
        let panel = stated.as_str().rsplit_once('.').map_or("", |(panel, _)| panel);
        let parts = self.known.circuit.parts();
        let mut buses: Vec<&Address> = parts
            .branch_circuits
            .iter()
            .map(|branch| &branch.bus)
            .chain(
                parts
                    .supply
                    .conductors
                    .iter()
                    .filter(|conductor| !same_conductor(&conductor.id, "neutral"))
                    .map(|conductor| &conductor.to),
            )
            .collect();
        buses.sort_unstable();
        buses.dedup();
        let named = |address: &&&Address| {
            let (of, last) = address.as_str().rsplit_once('.').unwrap_or(("", address.as_str()));
            address.as_str() == bus.value || (of == panel && last == bus.value)
        };
        let outright = self.known.terminal(&bus.value);
        match buses.iter().find(named).map(|bus| (*bus).clone()).or(outright) {
            Some(found) if found == stated => {
                let message = format!("{} sits on {found} as described", circuit.value);
                let others = buses.into_iter().filter(|other| **other != stated);
                Err(self.problem(&bus.span, message).expected(few(others.map(ToString::to_string))))
            }
            Some(bus) => {
                Ok(vec![Edit::Fault(Fault::WrongBus { circuit: circuit.value.clone(), bus })])
            }
            None => Err(self
                .problem(&bus.span, format!("`{}` is no bus", bus.value))
                .expected(few(buses.iter().map(ToString::to_string)))),
        }
    }

    pub(super) fn line_load_exchanged(&self, device: &Said<String>) -> Result<Vec<Edit>, Problem> {
        match self.known.device_of_kind(&device.value, is_protective) {
            Some(found) => {
                let device = found.id.clone();
                Ok(vec![Edit::Fault(Fault::LineLoadExchanged { device })])
            }
            None => {
                let devices = self.known.circuit.parts().devices.iter();
                let protective = devices.filter(|device| is_protective(&device.kind));
                let names = protective.map(|device| self.known.name_of_device(&device.id));
                let message = format!("`{}` has no line and load sides of its own", device.value);
                Err(self.problem(&device.span, message).expected(few(names)))
            }
        }
    }
}

fn of(conductor: &Said<String>, at: &Spot) -> Spot {
    Spot { conductor: Some(conductor.clone()), ..at.clone() }
}

/// Two contacts of one cable end exchange landings there; any other two joints exchange the
/// ends that lie away from the wiring.
fn two_joints(first: &KnownJoint, second: &KnownJoint) -> Edit {
    if let (Some((cable, end, one)), Some((other_cable, other_end, another))) =
        (first.contact(), second.contact())
        && cable == other_cable
        && end == other_end
    {
        let end = EndOfCable { cable: cable.to_owned(), end };
        return at_cable_end(end, (one.to_owned(), another.to_owned()));
    }
    Edit::Fault(Fault::ExchangedJoints {
        elements: (first.joint.element.clone(), second.joint.element.clone()),
    })
}

fn at_cable_end(end: EndOfCable, conductors: (String, String)) -> Edit {
    Edit::Fault(Fault::ExchangedAtCableEnd { end, conductors })
}
