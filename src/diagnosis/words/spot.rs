//! Where an instrument was held: a receptacle, two addresses, conductors of a cable.

use crate::circuit::{Cable, Circuit, DeviceKind, Outlet};
use crate::condition::words::known::Known;
use crate::condition::words::lexer::TokenKind;
use crate::condition::words::lexicon::{self, Class};
use crate::condition::words::problem::{Problem, WordsProblem};
use crate::condition::words::suggest::nearest;
use crate::condition::words::{few, speak};
use crate::diagnosis::Parting;
use crate::instrument::{Place, Through};
use crate::lookalike::{LookAlikeProblem, outlet_at};
use crate::quantity::Address;

use super::reader::{Heard, Reader};
use super::seen::{BREAKER, GROUND_FAULT, is_within};

/// Words of remote earth, which `earth` alone is not: that is a conductor.
const SOIL: [&str; 3] = ["soil", "earth-reference", "rod"];

/// What an instrument does, said before where it was.
const SHOWS: [&str; 9] =
    ["says", "said", "shows", "showed", "reads", "read", "indicates", "indicated", "gives"];

impl<'r> Reader<'r> {
    /// The receptacle after `at`.
    pub(super) fn receptacle(&mut self) -> Heard<&'r Outlet> {
        if let Some(held) = self.held_at {
            return Ok(held);
        }
        self.takes_any(&["plugged into", "plugged in", "held", "still"]);
        self.takes_any(&["at", "in", "into", "to"]);
        self.takes("the");
        self.part_word();
        self.takes("at");
        let known = self.known;
        let Some(token) = self.token(0) else {
            return Err(self.none_of("a receptacle", &[]).expected(receptacles(known.circuit)));
        };
        if token.kind == TokenKind::Comma {
            return Err(self
                .here("at which receptacle?")
                .expected(few(receptacles(known.circuit).into_iter())));
        }
        let said = known.spelling(token.text).unwrap_or(token.text);
        match outlet_at(known.circuit, said) {
            Ok(outlet) => {
                self.skip(1);
                self.part_word();
                self.pass_still();
                Ok(outlet)
            }
            Err(LookAlikeProblem::WhichReceptacle { at, one_of }) => {
                Err(self.here(format!("{at} has several receptacles: say which")).expected(one_of))
            }
            Err(_) => {
                let names = receptacles(known.circuit);
                let near = nearest(token.text, names.iter().map(String::as_str));
                let is_verb = self.clone().takes_any(&SHOWS);
                let what = match known.is_any_name(said) {
                    false if is_verb => {
                        "where it was held comes first; then which pairs of slots were lit, or what a \
                         meter read"
                            .to_owned()
                    }
                    true => format!("there is no receptacle at `{said}`"),
                    false => format!("no receptacle is called `{}`", token.text),
                };
                Err(self.here(what).suggesting(near).expected(few(names.into_iter())))
            }
        }
    }

    /// Passes that it is so still.
    fn pass_still(&mut self) {
        let mut ahead = self.clone();
        ahead.pass_marks();
        if ahead.takes_any(&[
            "it is still",
            "is still",
            "still",
            "it is now",
            "is now",
            "now",
            "again",
        ]) {
            *self = ahead;
        }
    }

    /// The box, and where several cables leave it the place towards which, after `beyond`.
    pub(super) fn parting(&mut self) -> Heard<Parting> {
        self.takes_any(&["the box", "box", "the"]);
        let known = self.known;
        let before = self.clone();
        let place = self.due_name(&[Class::Place], "box")?;
        let here: Vec<Parting> =
            Parting::all(known.circuit).into_iter().filter(|one| one.place == place).collect();
        let towards = |one: &Parting| one.towards(known.circuit).unwrap_or_default().to_owned();
        if self.takes_any(&["towards", "toward", "to"]) {
            let names: Vec<String> = here.iter().map(towards).collect();
            let Some(token) = self.token(0) else {
                return Err(self.none_of("a box", &[]).expected(names));
            };
            let found = here.iter().find(|one| towards(one).eq_ignore_ascii_case(token.text));
            let Some(found) = found else {
                let near = nearest(token.text, names.iter().map(String::as_str));
                let what = format!("no cable leads from {place} to `{}`", token.text);
                return Err(self.here(what).suggesting(near).expected(names));
            };
            self.skip(1);
            return Ok(found.clone());
        }
        match here.as_slice() {
            [only] => Ok(only.clone()),
            [] => {
                Err(before.here(format!("nothing leads on from {place}: nothing lies beyond it")))
            }
            several => {
                let names =
                    several.iter().map(|one| format!("beyond {place} towards {}", towards(one)));
                let what = format!("several cables leave {place}: say towards which");
                Err(before.here(what).expected(names))
            }
        }
    }

    /// Two addresses after `between` or `from`; nothing is passed if neither comes next.
    pub(super) fn two_addresses(&mut self) -> Heard<Option<Place>> {
        let between = self.takes("between");
        if !between && !self.takes("from") {
            return Ok(None);
        }
        let from = self.address()?;
        let parts: &[&str] = if between { &["and", "to"] } else { &["to", "and"] };
        if !self.takes_any(parts) {
            return Err(self.none_of("where the second probe was", parts));
        }
        let to = self.address()?;
        Ok(Some(Place::Between { from, to }))
    }

    /// One address of a terminal, or the soil.
    pub(super) fn address(&mut self) -> Heard<Address> {
        self.takes("the");
        if self.takes_any(&SOIL) {
            return Ok(Address::earth());
        }
        let Some(token) = self.token(0) else {
            return Err(self.none_of("an address", &[]).expected(["PLACE.CONDUCTOR", "soil"]));
        };
        let known = self.known;
        let found = known.spelling(token.text).and_then(|said| terminal(known, said));
        if let Some(address) = found {
            self.skip(1);
            return Ok(address);
        }
        if let Some(address) = self.slot_of_place() {
            return Ok(address);
        }
        let addresses = known.circuit.terminals().map(Address::as_str);
        let near = nearest(token.text, addresses);
        let message = format!("`{}` is no terminal of this circuit", token.text);
        let expected =
            ["PLACE.CONDUCTOR", "of a joint PLACE.line.CONDUCTOR or PLACE.load.CONDUCTOR", "soil"];
        Err(self.here(message).suggesting(near).expected(expected))
    }

    /// `desk neutral`, `neutral at the desk`: a slot of the only receptacle there.
    fn slot_of_place(&mut self) -> Option<Address> {
        let mut ahead = self.clone();
        let named = |ahead: &mut Self| {
            let place = ahead.name(&[Class::Place])?;
            ahead.part_word();
            outlet_at(ahead.known.circuit, &place).ok()
        };
        let said = |ahead: &mut Self| {
            let slot = slot(ahead.token(0)?.text)?;
            ahead.skip(1);
            ahead.takes_any(&["slot", "terminal", "screw", "wire"]);
            Some(slot)
        };
        let (outlet, slot) = match named(&mut ahead) {
            Some(outlet) => (outlet, said(&mut ahead)?),
            None => {
                let slot = said(&mut ahead)?;
                ahead.takes_any(&["at", "of", "in"]);
                ahead.takes("the");
                (named(&mut ahead)?, slot)
            }
        };
        let (_, terminal) = outlet.slots.iter().find(|(name, _)| name == slot)?;
        *self = ahead;
        Some(terminal.clone())
    }

    /// Whether the next word is the address of a terminal.
    pub(super) fn address_is_next(&self) -> bool {
        let spelling = self.token(0).and_then(|token| self.known.spelling(token.text));
        spelling.is_some_and(|said| terminal(self.known, said).is_some())
    }

    /// Two slots: `hot-neutral`, `hot to ground`, `H/N`, in the order of the receptacle; the
    /// second may be the soil.
    pub(super) fn pair(&mut self, slots: &[&str]) -> Heard<(String, String)> {
        let Some(token) = self.token(0) else { return Err(self.no_pair(slots)) };
        let span = token.span.clone();
        let dashed = token.text.split_once('-');
        let (first, second) = match dashed.or_else(|| letters(token.text)) {
            Some((first, second)) => {
                let both = slot(first).zip(slot(second).or(soil(second)));
                let Some(both) = both else { return Err(self.no_pair(slots)) };
                self.skip(1);
                both
            }
            None => {
                let Some(first) = slot(token.text) else { return Err(self.no_pair(slots)) };
                self.skip(1);
                let is_joined = self.takes_any(&["to", "and", "/", "-", "\u{2013}"]);
                if !is_joined && self.token(0).and_then(|next| slot(next.text)).is_none() {
                    let message = "one slot alone: between which two?";
                    return Err(self.here(message).expected(pairs(slots)));
                }
                let next = self.token(0).map_or("", |token| token.text);
                let Some(second) = slot(next).or(soil(next)) else {
                    return Err(self.no_pair(slots));
                };
                self.skip(1);
                (first, second)
            }
        };
        let problem = |message: &str| {
            let found = self.text.get(span.clone()).unwrap_or_default();
            WordsProblem::new(span.clone(), found, message).expected(pairs(slots))
        };
        // `hot to hot`, where there are two.
        let second = match (first, second) {
            ("hot", "hot") if slots.contains(&"hot2") => "hot2",
            _ => second,
        };
        if first == second {
            return Err(problem("two different slots are meant"));
        }
        let rank = |slot: &str| slots.iter().position(|known| *known == slot);
        match (rank(first), rank(second)) {
            (Some(a), Some(b)) if a > b => Ok((second.to_owned(), first.to_owned())),
            (Some(_), Some(_)) => Ok((first.to_owned(), second.to_owned())),
            (Some(_), None) if second == "earth" => Ok((first.to_owned(), second.to_owned())),
            (None, _) => Err(problem(&format!("there is no {first} slot there"))),
            (_, None) => Err(problem(&format!("there is no {second} slot there"))),
        }
    }

    fn no_pair(&self, slots: &[&str]) -> Problem {
        let pairs = pairs(&self.called(slots));
        let message = match self.token(0) {
            Some(_) if self.amount_is_next() => "between which slots?".to_owned(),
            Some(token) => format!("`{}` is no pair of slots", token.text),
            None => "between which slots? what was shown is missing".to_owned(),
        };
        let near =
            self.token(0).map_or(Vec::new(), |t| nearest(t.text, pairs.iter().map(String::as_str)));
        self.here(message).suggesting(near).expected(pairs)
    }

    /// One slot: `hot`, `neutral`, `ground`.
    pub(super) fn slot(&mut self, slots: &[&str]) -> Heard<String> {
        let found = self.token(0).and_then(|token| slot(token.text));
        match found.filter(|slot| slots.contains(slot)) {
            Some(found) => {
                self.skip(1);
                Ok(found.to_owned())
            }
            None => Err(self.none_of("a slot of this receptacle", &self.called(slots))),
        }
    }

    /// Slots in the words of this circuit.
    fn called<'s>(&self, slots: &[&'s str]) -> Vec<&'s str> {
        let vocabulary = self.known.circuit.parts().vocabulary;
        slots.iter().map(|&slot| speak::conductor(vocabulary, slot)).collect()
    }

    /// `neutral of cable wheel-kiln`, `hot and neutral in cable wheel-kiln`, or between two
    /// boxes in place of the cable.
    pub(super) fn jaw(&mut self) -> Heard<Place> {
        self.takes_any(&["on", "around"]);
        self.takes("the");
        let circuit = self.name(&[Class::Circuit]);
        let mut conductors = Vec::new();
        loop {
            self.pass_small();
            self.takes("and");
            self.pass_small();
            let token = self.token(0);
            let Some(conductor) = token.and_then(|token| lexicon::conductor(token.text)) else {
                break;
            };
            self.skip(1);
            self.takes_any(&["wire", "conductor"]);
            conductors.push(conductor);
        }
        if conductors.is_empty() {
            let words = ["hot", "neutral", "ground"];
            let problem = self.none_of("a conductor in the jaw", &words);
            let forms =
                self.jaws_near(speak::conductor(self.known.circuit.parts().vocabulary, "hot"));
            return Err(if forms.is_empty() { problem } else { problem.expected(forms) });
        }
        let cable = match circuit {
            Some(circuit) => self.first_cable(&circuit)?,
            None => self.cable()?,
        };
        self.takes_any(&["at the panel", "in the panel", "at the breaker"]);
        let own = self.known.circuit.cable(&cable);
        let through = conductors.iter().map(|conductor| {
            let there = own
                .is_some_and(|cable| cable.conductors.iter().any(|known| known.name == *conductor));
            if !there {
                return Err(self.here(format!("cable {cable} has no {conductor}")));
            }
            Ok(Through { element: format!("wire:{cable}.{conductor}"), sign: 1.0 })
        });
        Ok(Place::Around { conductors: through.collect::<Heard<_>>()? })
    }

    /// A clamp around a conductor of each cable at a place or a breaker that the sentence names.
    fn jaws_near(&self, conductor: &str) -> Vec<String> {
        let named: Vec<String> = self.places_named().chain(self.only_circuit_named()).collect();
        let cables = &self.known.circuit.parts().cables;
        let ends = |cable: &str| {
            named.iter().any(|name| {
                let rest = cable.strip_prefix(name.as_str()).map(|rest| rest.starts_with('-'));
                rest == Some(true)
                    || cable.strip_suffix(name.as_str()).is_some_and(|rest| rest.ends_with('-'))
            })
        };
        let near = cables.iter().filter(|cable| ends(&cable.id));
        few(near.map(|cable| format!("clamp on {conductor} of cable {}", speak::name(&cable.id))))
    }

    fn cable(&mut self) -> Heard<String> {
        self.pass_small();
        if self.takes_any(&["between", "from"]) {
            let first = self.due_name(&[Class::Place, Class::Circuit], "box")?;
            self.takes_any(&["and", "to"]);
            let second = self.due_name(&[Class::Place, Class::Circuit], "box")?;
            let cables = self.known.cables_between(&first, &second);
            return match cables.as_slice() {
                [only] => Ok(only.clone()),
                [] => Err(self.here(format!("no cable joins {first} and {second}"))),
                several => {
                    Err(self.here("several cables join them: which?").expected(several.to_vec()))
                }
            };
        }
        self.takes("cable");
        let mut ahead = self.clone();
        ahead.takes_any(&BREAKER);
        if let Some(circuit) = ahead.name(&[Class::Circuit]) {
            ahead.takes_any(&BREAKER);
            *self = ahead;
            return self.first_cable(&circuit);
        }
        let named = self.due_name(&[Class::Cable], "cable");
        named.map_err(|problem| {
            let hot = speak::conductor(self.known.circuit.parts().vocabulary, "hot");
            let forms = self.jaws_near(hot);
            if forms.is_empty() { problem } else { problem.expected(forms) }
        })
    }

    /// The cable that leaves the panel for a circuit.
    fn first_cable(&self, circuit: &str) -> Heard<String> {
        let cables = self.known.circuit.parts().cables.iter();
        let leaves = |cable: &&Cable| {
            let joint = self.known.joint_at(&format!("{circuit}.load.hot"));
            let end = joint.and_then(|joint| joint.joint.element.strip_prefix("contact:"));
            end.is_some_and(|end| is_within(end, &format!("{}.a", cable.id)))
        };
        let ids: Vec<String> = cables.filter(leaves).map(|cable| cable.id.clone()).collect();
        match ids.as_slice() {
            [only] => Ok(only.clone()),
            _ => Err(self.here("around which cable?").expected(self.jaws_near("neutral"))),
        }
    }

    /// A protective device.
    pub(super) fn protective_device(&mut self) -> Heard<String> {
        self.takes_any(&["at", "of", "in", "on"]);
        self.takes("the");
        let known = self.known;
        let protective = |kind: &DeviceKind| matches!(kind, DeviceKind::Protective { .. });
        let spelt = self.token(0).and_then(|token| known.spelling(token.text));
        if let Some(device) = spelt.and_then(|said| known.device_of_kind(said, protective)) {
            self.skip(1);
            self.takes_any(&GROUND_FAULT);
            return Ok(device.id.clone());
        }
        if let Some(circuit) = self.clone().name(&[Class::Circuit]) {
            let message =
                "the button of a breaker tells nothing of the wiring: what else trips it?";
            let trips = format!("breaker {} trips at once", speak::name(&circuit));
            return Err(self.here(message).expected([trips]));
        }
        let devices = known.circuit.parts().devices.iter();
        let names: Vec<String> = devices
            .filter(|device| protective(&device.kind))
            .map(|device| known.name_of_device(&device.id))
            .collect();
        Err(self.no_such("protective device", names.iter().map(String::as_str).collect()))
    }
}

/// The terminal of an address; of a joint that ends a cable's conductor, the conductor's end.
pub(super) fn terminal(known: &Known<'_>, address: &str) -> Option<Address> {
    let conductor = || known.joint_at(address)?.joint.element.strip_prefix("contact:");
    known.terminal(address).or_else(|| known.terminal(conductor()?))
}

/// The two letters of `hn`, each a slot; none of a word that is one slot.
pub(super) fn letters(written: &str) -> Option<(&str, &str)> {
    if lexicon::conductor(written).is_some() {
        return None;
    }
    let splits = (1..written.len()).filter_map(|at| written.split_at_checked(at));
    let short = |part: &str| part.trim_end_matches(['1', '2', '3']).len() == 1;
    let mut both = splits.filter(|(first, second)| {
        short(first) && short(second) && slot(first).is_some() && slot(second).is_some()
    });
    both.next()
}

/// The two slots between which a receptacle has its voltage, where no others could be meant.
pub(super) fn natural_pair<'s>(slots: &[&'s str]) -> Option<(&'s str, &'s str)> {
    let hots: Vec<&str> = slots.iter().copied().filter(|slot| slot.starts_with("hot")).collect();
    let neutral = slots.iter().copied().find(|slot| *slot == "neutral");
    match (hots.as_slice(), neutral) {
        ([hot], Some(neutral)) => Some((hot, neutral)),
        ([first, second], None) => Some((first, second)),
        _ => None,
    }
}

fn soil(written: &str) -> Option<&'static str> {
    SOIL.iter().any(|word| word.eq_ignore_ascii_case(written)).then_some("earth")
}

/// The slot that a word names.
pub(super) fn slot(written: &str) -> Option<&'static str> {
    let word = written.to_lowercase();
    match word.as_str() {
        "l1" | "hot1" => Some("hot"),
        "l2" => Some("hot2"),
        "l3" => Some("hot3"),
        _ => lexicon::conductor(&word),
    }
}

/// Every two slots, joined by a hyphen.
fn pairs(slots: &[&str]) -> Vec<String> {
    let each = slots.iter().enumerate().flat_map(|(at, first)| {
        slots.iter().skip(at + 1).map(move |second| format!("{first}-{second}"))
    });
    each.collect()
}

fn receptacles(circuit: &Circuit) -> Vec<String> {
    circuit.outlets().map(|(_, outlet)| outlet.address.to_string()).collect()
}

/// The receptacle and slot that a terminal is, if it is one of a plug's contacts.
pub(super) fn slot_of<'c>(
    circuit: &'c Circuit,
    terminal: &Address,
) -> Option<(&'c Outlet, &'c str)> {
    circuit.outlets().find_map(|(_, outlet)| {
        let (name, _) = outlet.slots.iter().find(|(_, at)| at == terminal)?;
        Some((outlet, name.as_str()))
    })
}

/// Where a run is parted; towards which place is said where several cables leave the box.
pub(super) fn tell_parting(circuit: &Circuit, parting: &Parting) -> String {
    let alone = Parting::all(circuit).iter().filter(|one| one.place == parting.place).count() == 1;
    let place = speak::name(&parting.place);
    match parting.towards(circuit).filter(|_| !alone) {
        Some(towards) => format!("beyond {place} towards {}", speak::name(towards)),
        None => format!("beyond {place}"),
    }
}

/// An address, or the soil.
pub(super) fn tell_address(address: &Address) -> String {
    if *address == Address::earth() { "soil".to_owned() } else { speak::name(address.as_str()) }
}

/// Conductors in a jaw and the cable they are in.
pub(super) fn tell_jaw(known: &Known<'_>, conductors: &[Through]) -> String {
    let vocabulary = known.circuit.parts().vocabulary;
    let split = |through: &Through| {
        let inside = through.element.strip_prefix("wire:")?;
        let (cable, conductor) = inside.rsplit_once('.')?;
        Some((cable.to_owned(), speak::conductor(vocabulary, conductor).to_owned()))
    };
    let parts: Vec<(String, String)> = conductors.iter().filter_map(split).collect();
    let cable = parts.first().map_or("", |(cable, _)| cable.as_str());
    let names: Vec<&str> = parts.iter().map(|(_, name)| name.as_str()).collect();
    format!("on {} of cable {}", names.join(" and "), speak::name(cable))
}
