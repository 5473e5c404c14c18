//! Terminals joined that should not be, and conductors that touch inside a cable.

use crate::circuit::JointKind;
use crate::condition::{Fault, Gap};
use crate::quantity::Address;

use super::super::lexicon::JointWord;
use super::super::problem::Problem;
use super::super::sentence::{Said, Spot};
use super::super::{Edit, SOLID_BRIDGE_OHM};
use super::joints::matching;
use super::{Resolver, bridge_id};
use crate::circuit::Vocabulary;

impl Resolver<'_> {
    pub(super) fn bridged(
        &self,
        first: &Spot,
        second: &Spot,
        ohm: Option<&Said<f64>>,
        called: Option<&Said<String>>,
    ) -> Result<Vec<Edit>, Problem> {
        let resistance_ohm = ohm.map_or(Ok(SOLID_BRIDGE_OHM), |ohm| self.ohm(ohm))?;
        if let Some(cable) = first.cable.as_ref().or(second.cable.as_ref())
            && first.end.is_none()
            && second.end.is_none()
        {
            return self.touching(cable, (first, second), resistance_ohm);
        }
        if let Some(along) = first.along.as_ref().or(second.along.as_ref()) {
            let message = "this says how far along a cable: along which?";
            return Err(self.problem(&along.span, message).expected(["in cable CABLE"]));
        }
        Ok(vec![bridge(self.two_terminals(first, second)?, resistance_ohm, called)])
    }

    fn touching(
        &self,
        cable: &Said<String>,
        (first, second): (&Spot, &Spot),
        resistance_ohm: f64,
    ) -> Result<Vec<Edit>, Problem> {
        let conductors = (self.in_cable(cable, first)?, self.in_cable(cable, second)?);
        if conductors.0 == conductors.1 {
            let message = format!("both are the {} of it", self.spoken(&conductors.0));
            return Err(self
                .problem(&second.span, message)
                .expected(["another conductor", "soil"]));
        }
        let at_fraction =
            self.fraction(cable, if first.along.is_some() { first } else { second })?;
        let cable = cable.value.clone();
        let fault = Fault::ContactInCable { cable, conductors, at_fraction, resistance_ohm };
        Ok(vec![Edit::Fault(fault)])
    }

    /// A conductor of a cable, or the soil it lies in.
    fn in_cable(&self, cable: &Said<String>, spot: &Spot) -> Result<String, Problem> {
        if spot.soil {
            return Ok("earth".to_owned());
        }
        let found = self.cable_conductor(cable, spot.conductor.as_ref());
        if spot.earth && self.vocabulary() == Vocabulary::NorthAmerican {
            return match found {
                Ok(_) => Err(self.which_earth(spot)),
                Err(_) => Ok("earth".to_owned()),
            };
        }
        found
    }

    pub(super) fn bootleg(
        &self,
        at: &Spot,
        ohm: Option<&Said<f64>>,
        called: Option<&Said<String>>,
    ) -> Result<Vec<Edit>, Problem> {
        let end = |conductor: &str| {
            let span = at.conductor.as_ref().map_or(at.span.clone(), |said| said.span.clone());
            let conductor = Some(Said::new(conductor.to_owned(), span));
            self.terminal(&Spot { conductor, ..at.clone() })
        };
        let resistance_ohm = ohm.map_or(Ok(SOLID_BRIDGE_OHM), |ohm| self.ohm(ohm))?;
        Ok(vec![bridge((end("neutral")?, end("ground")?), resistance_ohm, called)])
    }

    /// The borrower's own conductor is off its wiring and on the lender's.
    pub(super) fn borrowed(&self, borrower: &Spot, lender: &Spot) -> Result<Vec<Edit>, Problem> {
        let mut lender = lender.clone();
        lender.of_same_conductor_as(borrower);
        let ends = self.two_terminals(borrower, &lender)?;
        let pigtail = Spot {
            joints: vec![Said::new(JointWord::Pigtail, borrower.span.clone())],
            ..borrower.clone()
        };
        let own: Vec<_> = matching(self.known, &pigtail)
            .into_iter()
            .filter(|joint| joint.joint.kind == JointKind::Pigtail)
            .collect();
        let own = match own.as_slice() {
            [joint] => *joint,
            _ => match self.device_joint(borrower).as_slice() {
                [joint] => *joint,
                _ => self.joint(borrower)?,
            },
        };
        let element = own.joint.element.clone();
        let open = Edit::Fault(Fault::Open { element, gap: Gap::NONE });
        Ok(vec![open, bridge(ends, SOLID_BRIDGE_OHM, None)])
    }
}

fn bridge(between: (Address, Address), resistance_ohm: f64, called: Option<&Said<String>>) -> Edit {
    let id = called.map_or_else(|| bridge_id(&between), |called| called.value.clone());
    Edit::Fault(Fault::Bridge { id, between, resistance_ohm })
}
