//! One reading at several receptacles: `tester at organ and vestry: lit lit dark`, `meter everywhere else:
//! 118 V`.

use crate::circuit::{Circuit, Outlet};
use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind, tokens};
use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::Problem;
use crate::condition::words::sentences;
use crate::diagnosis::symptom::{fed, number, run};
use crate::diagnosis::{Observation, Seen, Tool};
use crate::instrument::{Instrument, Place};
use crate::lookalike::outlet_at;
use crate::quantity::Address;

use super::mended::is_put_right;
use super::reader::{Heard, Reader};
use super::{spot, tool};

/// Every receptacle, without the word.
const EVERYWHERE: [&str; 3] = ["everywhere", "all over", "all of them"];

/// Of those that are left, without the word.
const THE_OTHERS: [&str; 8] = [
    "everywhere else",
    "anywhere else",
    "all the others",
    "all others",
    "all the rest",
    "the others",
    "the rest",
    "others",
];

/// Before what receptacles are called.
const EVERY: [&str; 6] = ["all of the", "all the", "all", "every", "each of the", "each"];

/// What they are called.
const OUTLETS: [&str; 10] = [
    "wall outlets",
    "socket-outlets",
    "socket-outlet",
    "outlets",
    "outlet",
    "receptacles",
    "receptacle",
    "sockets",
    "socket",
    "plugs",
];

/// The same of those that are left.
const OTHER: [&str; 4] = ["other", "remaining", "single other", "single"];

/// Further from the panel than a place.
const PAST: [&str; 6] = ["past", "beyond", "after", "downstream of", "downstream from", "behind"];

/// Before what is left out.
const BUT: [&str; 6] = ["except for", "except at", "except", "apart from", "other than", "but"];

/// Whether a sentence of the text says what an instrument showed wherever it was not held before.
///
/// ```
/// use slotwise::diagnosis::{Means, words};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let tools = Means::default().tools;
/// assert!(words::is_of_others(&studio, &tools, "tester everywhere else: lit lit dark"));
/// assert!(!words::is_of_others(&studio, &tools, "tester everywhere: lit lit dark"));
/// ```
pub fn is_of_others(circuit: &Circuit, tools: &[Tool], text: &str) -> bool {
    let known = Known::of(circuit);
    let tokens = tokens(text);
    sentences(text, &tokens).into_iter().any(|sentence| {
        let mut reader = Reader::new(&known, text, sentence);
        reader.tool(tools).is_some() && reader.every_place().is_some_and(|(others, _)| others)
    })
}

/// How many tokens say of several receptacles where they are; none if they say it of one.
pub(super) fn places_length(known: &Known<'_>, tokens: &[Token<'_>]) -> Option<usize> {
    let mut reader = Reader::new(known, "", tokens);
    match reader.every_place() {
        Some(_) => {
            reader.left_out().ok()?;
        }
        None => {
            reader.listed_receptacles().ok()??;
        }
    }
    Some(tokens.len() - reader.rest().len())
}

impl<'r> Reader<'r> {
    /// The receptacles at which the same was read, where several are meant; nothing is passed if it is one.
    pub(super) fn several_receptacles(
        &mut self,
        instrument: &Instrument,
    ) -> Heard<Option<Vec<&'r Outlet>>> {
        let is_held_at_one = matches!(
            instrument,
            Instrument::Clamp(_)
                | Instrument::Residual(_)
                | Instrument::TestButton(_)
                | Instrument::Person(_)
        );
        if is_held_at_one {
            return Ok(None);
        }
        match self.every_receptacle(instrument)? {
            Some(all) => Ok(Some(all)),
            None => self.listed_receptacles(),
        }
    }

    /// `at organ, vestry and porch`.
    fn listed_receptacles(&mut self) -> Heard<Option<Vec<&'r Outlet>>> {
        let mut ahead = self.clone();
        let Ok(first) = ahead.receptacle() else { return Ok(None) };
        let mut listed = vec![first];
        let begun = ahead.rest().len();
        while let Some(mut next) = ahead.next_listed() {
            let outlet = next.receptacle()?;
            if !listed.iter().any(|known| known.address == outlet.address) {
                listed.push(outlet);
            }
            ahead = next;
        }
        if ahead.rest().len() == begun {
            return Ok(None);
        }
        *self = ahead;
        Ok(Some(listed))
    }

    /// Where another place of a list begins, if one does.
    fn next_listed(&self) -> Option<Self> {
        let mut ahead = self.clone();
        let is_mark = |reader: &Self| {
            reader.token(0).is_some_and(|token| {
                token.kind == TokenKind::Comma && token.text == ","
                    || ["/", "&", "+"].contains(&token.text)
            })
        };
        let marked = is_mark(&ahead);
        ahead.skip(usize::from(marked));
        let joined = ahead.takes_any(&["and at", "and in", "and"]);
        if !marked && !joined {
            return None;
        }
        ahead.takes("the");
        let token = ahead.token(0)?;
        let spelt = self.known.spelling(token.text);
        let is_place = spelt.is_some_and(|said| {
            let named = self.known.spelling_among(&[Class::Place, Class::Device], said);
            named.is_some() || outlet_at(self.known.circuit, said).is_ok()
        });
        let is_slot = token.kind != TokenKind::Quoted && spot::slot(token.text).is_some();
        // What stands before a colon is where it was held.
        let is_before_colon = || ahead.rest().iter().any(|token| token.text == ":");
        (is_place && !is_slot || is_before_colon()).then_some(ahead)
    }

    /// `everywhere`, `at all outlets on nave`, `everywhere else but organ`: the receptacles that the
    /// instrument goes into, or that are of the kind whose volts are meant.
    fn every_receptacle(&mut self, instrument: &Instrument) -> Heard<Option<Vec<&'r Outlet>>> {
        let mut ahead = self.clone();
        let Some((is_other, on)) = ahead.every_place() else { return Ok(None) };
        let circuit = self.known.circuit;
        let mut outlets: Vec<&Outlet> = circuit.outlets().map(|(_, outlet)| outlet).collect();
        let is_plain = |outlet: &Outlet| outlet.slots.iter().any(|(slot, _)| slot == "neutral");
        let some_plain = outlets.iter().any(|outlet| is_plain(outlet));
        outlets.retain(|outlet| match instrument {
            Instrument::PlugTester(tester) => tester.goes_into(outlet),
            _ => is_plain(outlet) || !some_plain,
        });
        if let Some(within) = on {
            let place = |outlet: &Outlet| number(circuit, outlet.address.as_str());
            outlets.retain(|outlet| place(outlet).is_some_and(|at| within.contains(&at)));
        }
        for left_out in ahead.left_out()? {
            outlets.retain(|outlet| outlet.address != left_out.address);
        }
        if is_other {
            let looked = self.looked_at(instrument.kind());
            if looked.is_empty() {
                return Err(self.where_else(instrument));
            }
            outlets.retain(|outlet| !looked.contains(&outlet.address));
        }
        if outlets.is_empty() {
            let message = "no receptacle is left that this could be said of";
            return Err(self.up_to(&ahead, message));
        }
        *self = ahead;
        Ok(Some(outlets))
    }

    /// Passes what stands for every receptacle: whether only those that are left are meant, and the places
    /// among which they are, if that is said.
    fn every_place(&mut self) -> Option<(bool, Option<Vec<usize>>)> {
        let known = self.known;
        let mut ahead = self.clone();
        ahead.takes_any(&["at", "in", "on", "into"]);
        let mut is_other = ahead.takes_any(&THE_OTHERS);
        let mut circuit = None;
        if !is_other && !ahead.takes_any(&EVERYWHERE) {
            if !ahead.takes_any(&EVERY) {
                return None;
            }
            is_other = ahead.takes_any(&OTHER);
            let mut of_circuit = ahead.clone();
            circuit = of_circuit.name(&[Class::Circuit]);
            if circuit.is_some() && of_circuit.takes_any(&OUTLETS) {
                ahead = of_circuit;
            } else {
                circuit = None;
                if !ahead.takes_any(&OUTLETS) {
                    return None;
                }
            }
        }
        is_other |= ahead.takes("else");
        let mut within = circuit.map(|name| fed(known.circuit, &name));
        let mut on = ahead.clone();
        if on.takes_any(&["on", "of", "in", "fed from"])
            && let Some(name) = on.circuit()
        {
            within = Some(fed(known.circuit, &name));
            ahead = on;
        }
        let mut past = ahead.clone();
        if past.takes_any(&PAST)
            && let Some(place) = past.name(&[Class::Place])
        {
            within = Some(run(known.circuit, &place).1);
            ahead = past;
        }
        *self = ahead;
        Some((is_other, within))
    }

    /// Passes `except organ and vestry`.
    fn left_out(&mut self) -> Heard<Vec<&'r Outlet>> {
        let mut ahead = self.clone();
        ahead.pass_marks();
        if !ahead.takes_any(&BUT) {
            return Ok(Vec::new());
        }
        let mut one = ahead.clone();
        let left_out = match ahead.listed_receptacles()? {
            Some(listed) => listed,
            None => {
                let only = one.receptacle()?;
                ahead = one;
                vec![only]
            }
        };
        *self = ahead;
        Ok(left_out)
    }

    /// Where an instrument of this kind was held before.
    fn looked_at(&self, kind: &str) -> Vec<Address> {
        let held = |one: &Observation| {
            let Seen::Instrument { request, .. } = &one.seen else { return None };
            if request.instrument.kind() != kind {
                return None;
            }
            let of = |terminal| spot::slot_of(self.known.circuit, terminal);
            match &request.place {
                Place::Receptacle { address, .. } => Some(address.clone()),
                Place::Between { from: terminal, .. } | Place::Near { terminal, .. } => {
                    of(terminal).map(|(outlet, _)| outlet.address.clone())
                }
                _ => None,
            }
        };
        // What was read before a repair is to be read again.
        let repair = self.seen.iter().rposition(is_put_right).map_or(0, |at| at + 1);
        let since = self.seen.get(repair..).unwrap_or_default();
        let again: Vec<Address> = since.iter().filter_map(held).collect();
        match again.is_empty() {
            true => self.seen.iter().filter_map(held).collect(),
            false => again,
        }
    }

    fn where_else(&self, instrument: &Instrument) -> Problem {
        let name = tool::tell(instrument, &[]);
        self.here("else than where? no look with it was told before")
            .expected([format!("{name} everywhere"), format!("{name} at BOX and BOX")])
    }
}
