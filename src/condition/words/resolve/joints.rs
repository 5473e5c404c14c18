//! Which joint is meant.

use std::collections::BTreeSet;

use crate::circuit::{JointKind, Side, Vocabulary};

use super::super::known::{Known, KnownJoint};
use super::super::lexicon::{self, Class, JointWord};
use super::super::phrase::few;
use super::super::problem::{AT_WHICH_PLACE, Problem};
use super::super::sentence::{Said, Spot};
use super::super::speak;
use super::Resolver;

impl<'r> Resolver<'r> {
    /// The one joint that a spot means.
    pub(super) fn joint(&self, spot: &Spot) -> Result<&'r KnownJoint, Problem> {
        if let Some(found) = self.named_joint(spot)? {
            return Ok(found);
        }
        let found = matching(self.known, spot);
        match found.as_slice() {
            [joint] => Ok(*joint),
            [] => Err(self.no_such_joint(spot)),
            several => Err(self.which(spot, several)),
        }
    }

    /// A joint that is named outright: by its address, its element, or as a part of the
    /// service.
    fn named_joint(&self, spot: &Spot) -> Result<Option<&'r KnownJoint>, Problem> {
        let class = spot.class.as_ref().map(|class| class.value);
        match class {
            Some(Class::Service | Class::Leg) => return self.service(spot).map(Some),
            Some(Class::Bond) => return self.bond(spot).map(Some),
            Some(Class::Electrode) => return self.electrode(spot).map(Some),
            _ => {}
        }
        let Some(name) = &spot.name else { return Ok(None) };
        let known = self.known;
        if let Some(joint) = known.joint_at(&name.value) {
            return Ok(Some(joint));
        }
        if known.is_any_name(&name.value) {
            return Ok(None);
        }
        // An address that is no joint: a terminal, with joints about it.
        let about: Vec<&KnownJoint> = known
            .joints
            .iter()
            .filter(|joint| {
                joint.listed
                    && known
                        .elements
                        .get(&joint.joint.element)
                        .is_some_and(|(a, b)| a.as_str() == name.value || b.as_str() == name.value)
            })
            .collect();
        match about.as_slice() {
            [joint] => Ok(Some(*joint)),
            [] => Err(self
                .problem(&name.span, format!("`{}` is no joint", name.value))
                .expected(few(known.listed_joints().map(|j| j.joint.address.to_string())))),
            several => Err(self
                .problem(&name.span, format!("`{}` is a terminal where joints meet", name.value))
                .expected(few(several.iter().map(|j| j.joint.address.to_string())))),
        }
    }

    fn service(&self, spot: &Spot) -> Result<&'r KnownJoint, Problem> {
        let conductors = &self.known.circuit.parts().supply.conductors;
        let wanted = spot.name.as_ref().or(spot.conductor.as_ref());
        let found: Vec<&str> = conductors
            .iter()
            .filter(|conductor| {
                wanted.is_none_or(|wanted| {
                    let bus = conductor.to.as_str().rsplit('.').next();
                    conductor.id == wanted.value
                        || same_conductor(&conductor.id, &wanted.value)
                        || (spot.conductor.is_none() && bus == Some(wanted.value.as_str()))
                })
            })
            .map(|conductor| conductor.id.as_str())
            .collect();
        match found.as_slice() {
            [id] => self.element(&format!("service:{id}"), &spot.span),
            _ => {
                let all = conductors.iter().map(|c| format!("service {}", self.spoken(&c.id)));
                Err(self.problem(&spot.span, "which conductor of the service?").expected(few(all)))
            }
        }
    }

    fn bond(&self, spot: &Spot) -> Result<&'r KnownJoint, Problem> {
        let bonds = &self.known.circuit.parts().supply.bonds;
        let id = match (&spot.name, bonds.as_slice()) {
            (Some(name), _) if bonds.iter().any(|bond| bond.id == name.value) => {
                Some(name.value.as_str())
            }
            (Some(name), _) => {
                let here = self.known.joints.iter().find(|joint| {
                    joint.joint.kind == JointKind::Bond && joint.joint.place == name.value
                });
                return here
                    .ok_or_else(|| self.which_of("bond", spot, bonds.iter().map(|b| &b.id)));
            }
            (None, [bond]) => Some(bond.id.as_str()),
            (None, _) => bonds.iter().map(|bond| bond.id.as_str()).find(|id| *id == "main"),
        };
        match id {
            Some(id) => self.element(&format!("bond:{id}"), &spot.span),
            None => Err(self.which_of("bond", spot, bonds.iter().map(|bond| &bond.id))),
        }
    }

    /// Without a name the building's electrode is meant: the one whose clamp is at a panel.
    fn electrode(&self, spot: &Spot) -> Result<&'r KnownJoint, Problem> {
        let supply = &self.known.circuit.parts().supply;
        let panels: Vec<String> = self
            .known
            .circuit
            .parts()
            .places
            .iter()
            .filter(|place| place.kind == crate::circuit::PlaceKind::Panel)
            .map(|place| format!("{}.", place.id))
            .collect();
        let found: Vec<&str> = supply
            .electrodes
            .iter()
            .filter(|electrode| match &spot.name {
                Some(name) => electrode.id == name.value,
                None => {
                    supply.electrodes.len() == 1
                        || panels.iter().any(|panel| electrode.node.as_str().starts_with(panel))
                }
            })
            .map(|electrode| electrode.id.as_str())
            .collect();
        match found.as_slice() {
            [id] => self.element(&format!("electrode:{id}"), &spot.span),
            _ => Err(self.which_of("electrode", spot, supply.electrodes.iter().map(|e| &e.id))),
        }
    }

    fn which_of<'n>(
        &self,
        what: &str,
        spot: &Spot,
        names: impl Iterator<Item = &'n String>,
    ) -> Problem {
        let names: Vec<String> = names.map(|name| format!("{what} {name}")).collect();
        if names.is_empty() {
            return self.problem(&spot.span, format!("this circuit has no {what}"));
        }
        self.problem(&spot.span, format!("which {what}?")).expected(few(names.into_iter()))
    }

    fn element(
        &self,
        element: &str,
        span: &std::ops::Range<usize>,
    ) -> Result<&'r KnownJoint, Problem> {
        self.known
            .joint_of(element)
            .ok_or_else(|| self.problem(span, format!("`{element}` is no part of this circuit")))
    }

    /// Nothing fits: what does the place have?
    fn no_such_joint(&self, spot: &Spot) -> Problem {
        let Some(name) = &spot.name else {
            let problem = self.problem(&spot.span, AT_WHICH_PLACE);
            return problem.expected([
                "`at` and the name of a box, device, circuit or load",
                "`in cable` and its name",
            ]);
        };
        let here = Spot { name: spot.name.clone(), ..Spot::default() };
        let all = matching(self.known, &here);
        if all.is_empty() {
            let message = format!("`{}` has no joint to speak of", name.value);
            return self.problem(&name.span, message);
        }
        if let Some(conductor) = &spot.conductor {
            let with = Spot { conductor: spot.conductor.clone(), ..here };
            let of_conductor = matching(self.known, &with);
            if of_conductor.is_empty() {
                let mut conductors: Vec<&str> =
                    all.iter().map(|joint| joint.joint.conductor.as_str()).collect();
                conductors.sort_unstable();
                conductors.dedup();
                let message = format!("{} has no {}", name.value, self.spoken(&conductor.value));
                let conductors = conductors.into_iter().filter(|c| !c.is_empty());
                return self
                    .problem(&conductor.span, message)
                    .expected(few(conductors.map(|c| self.spoken(c).to_owned())));
            }
            return self.not_there(spot, name, &of_conductor);
        }
        self.not_there(spot, name, &all)
    }

    fn not_there(&self, spot: &Spot, name: &Said<String>, there: &[&KnownJoint]) -> Problem {
        let last = |side| side == Side::Load && !there.iter().any(|j| j.joint.side == Side::Load);
        let (span, message) = match (&spot.toward, &spot.side, spot.joints.first()) {
            (Some(toward), _, _) => {
                let message = format!("no cable of {} goes to {}", name.value, toward.value);
                (&toward.span, message)
            }
            (None, Some(side), _) if last(side.value) => {
                let message = format!("nothing leaves {}: it has no load side", name.value);
                (&side.span, message)
            }
            (None, _, Some(word)) => {
                let message = format!("{} has no `{}` there", name.value, self.written(&word.span));
                (&word.span, message)
            }
            (None, Some(side), None) => {
                let message =
                    format!("{} has nothing on the {}", name.value, self.written(&side.span));
                (&side.span, message)
            }
            _ => (&spot.span, format!("{} has no such joint", name.value)),
        };
        self.problem(span, message).expected(self.possibilities(there))
    }

    fn which(&self, spot: &Spot, several: &[&KnownJoint]) -> Problem {
        if spot.conductor.is_none() {
            let mut conductors: Vec<&str> =
                several.iter().map(|joint| joint.joint.conductor.as_str()).collect();
            conductors.sort_unstable();
            conductors.dedup();
            let conductors = conductors.into_iter().map(|name| self.spoken(name).to_owned());
            return self.problem(&spot.span, "of which conductor?").expected(few(conductors));
        }
        let what = spot.conductor.as_ref().map_or("joint", |said| self.spoken(&said.value));
        let at = spot.name.as_ref().map_or("this", |name| name.value.as_str());
        let message = match several.iter().all(|joint| joint.cable_end.is_some()) {
            true => {
                format!("{at} has {} {what} joints with cables: which?", several.len())
            }
            false => format!("{at} has {} {what} joints: which?", several.len()),
        };
        self.problem(&spot.span, message).expected(self.possibilities(several))
    }

    fn possibilities(&self, joints: &[&KnownJoint]) -> Vec<String> {
        few(joints.iter().map(|joint| speak::joint_at_place(self.known, joint)))
    }

    /// A conductor in the words of the circuit.
    pub(super) fn spoken<'s>(&self, conductor: &'s str) -> &'s str {
        speak::conductor(self.vocabulary(), conductor)
    }

    pub(super) fn vocabulary(&self) -> Vocabulary {
        self.known.circuit.parts().vocabulary
    }
}

/// Every joint that a spot can mean. A box is asked before the plugs that are in it.
pub(crate) fn matching<'k>(known: &'k Known<'_>, spot: &Spot) -> Vec<&'k KnownJoint> {
    let breaker = spot.class.as_ref().is_some_and(|class| class.value == Class::Breaker);
    let fits = |joint: &&KnownJoint| {
        joint.metal
            && owned(known, joint, spot.name.as_ref().map(|name| name.value.as_str()))
            && spot
                .conductor
                .as_ref()
                .is_none_or(|said| same_conductor(&joint.joint.conductor, &said.value))
            && spot.side.as_ref().is_none_or(|side| joint.joint.side == side.value)
            && spot.toward.as_ref().is_none_or(|to| joint.toward.as_ref() == Some(&to.value))
            && spot.half.as_ref().is_none_or(|half| of_half(joint, half.value.word()))
            && spot.joints.iter().all(|word| word.value.means(joint.joint.kind))
            && spot.cable.as_ref().is_none_or(|cable| {
                joint.cable_end.as_ref().is_some_and(|(id, end)| {
                    *id == cable.value && spot.end.as_ref().is_none_or(|said| said.value == *end)
                })
            })
            && (!breaker || joint.joint.kind == JointKind::Breaker)
    };
    let mut found: Vec<&KnownJoint> = known.joints.iter().filter(fits).collect();
    // A joint may have several addresses.
    let mut elements = BTreeSet::new();
    found.retain(|joint| elements.insert(joint.joint.element.as_str()));
    let load_named = |joint: &KnownJoint| {
        joint
            .load
            .as_ref()
            .is_some_and(|load| spot.name.as_ref().is_some_and(|name| name.value == *load))
    };
    let plug_meant = spot.joints.iter().any(|word| {
        matches!(
            word.value,
            JointWord::Slot | JointWord::Plug | JointWord::Pin | JointWord::Contact
        )
    });
    if !plug_meant && found.iter().any(|joint| joint.load.is_none()) {
        found.retain(|joint| joint.load.is_none() || load_named(joint));
    }
    found
}

/// Whether two names are of the same conductor, however written.
pub(crate) fn same_conductor(one: &str, another: &str) -> bool {
    let usual = |name: &str| lexicon::conductor(name).map_or(name.to_owned(), str::to_owned);
    one == another || usual(one) == usual(another)
}

fn of_half(joint: &KnownJoint, half: &str) -> bool {
    joint.joint.address.as_str().split('.').any(|word| word == half)
}

/// Whether a joint is at, or part of, what bears the name.
fn owned(known: &Known<'_>, joint: &KnownJoint, name: Option<&str>) -> bool {
    let Some(name) = name else { return false };
    let begins = |text: &str| text.strip_prefix(name).is_some_and(|rest| rest.starts_with('.'));
    if joint.joint.place == name
        || joint.load.as_deref() == Some(name)
        || begins(joint.joint.address.as_str())
    {
        return true;
    }
    // Without an address of its own a joint belongs where its ends are.
    !joint.listed
        && known
            .elements
            .get(&joint.joint.element)
            .is_some_and(|(a, b)| begins(a.as_str()) || begins(b.as_str()))
}
