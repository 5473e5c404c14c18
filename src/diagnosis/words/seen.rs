//! What loads, breakers and protective devices did.

use crate::circuit::{BranchCircuit, DeviceKind};
use crate::condition::LoadState;
use crate::condition::words::known::Known;
use crate::condition::words::lexer::{TokenKind, tokens};
use crate::condition::words::lexicon::Class;
use crate::condition::words::problem::Problem;
use crate::condition::words::{few, speak};
use crate::diagnosis::symptom::{fed, number};
use crate::diagnosis::{
    LoadSeen, Moment, Observation, Protected, Seen, Tool, place_of_handle, place_of_load,
};
use crate::instrument::Instrument;

use super::amount::Unit;
use super::reader::{Heard, Reader};

const LOADS: [(&str, LoadSeen); 49] = [
    ("heats properly", LoadSeen::Runs),
    ("heats normally", LoadSeen::Runs),
    ("heats well", LoadSeen::Runs),
    ("heats fine", LoadSeen::Runs),
    ("not sure", LoadSeen::NotSure),
    ("unsure", LoadSeen::NotSure),
    ("did not look", LoadSeen::NotSure),
    ("dead", LoadSeen::Dead),
    ("dark", LoadSeen::Dead),
    ("cold", LoadSeen::Dead),
    ("out", LoadSeen::Dead),
    ("too bright", LoadSeen::TooBright),
    ("very bright", LoadSeen::TooBright),
    ("too fast", LoadSeen::TooBright),
    ("too hot", LoadSeen::TooBright),
    ("bright", LoadSeen::TooBright),
    ("glares", LoadSeen::TooBright),
    ("runs weak", LoadSeen::Weak),
    ("runs slow", LoadSeen::Weak),
    ("runs at half speed", LoadSeen::Weak),
    ("runs dim", LoadSeen::Weak),
    ("very dim", LoadSeen::Weak),
    ("weak", LoadSeen::Weak),
    ("dim", LoadSeen::Weak),
    ("slow", LoadSeen::Weak),
    ("lukewarm", LoadSeen::Weak),
    ("barely warm", LoadSeen::Weak),
    ("barely gets warm", LoadSeen::Weak),
    ("runs", LoadSeen::Runs),
    ("run", LoadSeen::Runs),
    ("running", LoadSeen::Runs),
    ("works", LoadSeen::Runs),
    ("work", LoadSeen::Runs),
    ("working", LoadSeen::Runs),
    ("lit", LoadSeen::Runs),
    ("burns", LoadSeen::Runs),
    ("burn", LoadSeen::Runs),
    ("fine", LoadSeen::Runs),
    ("ok", LoadSeen::Runs),
    ("okay", LoadSeen::Runs),
    ("normal", LoadSeen::Runs),
    ("back on", LoadSeen::Runs),
    ("came back on", LoadSeen::Runs),
    ("came back", LoadSeen::Runs),
    ("back", LoadSeen::Runs),
    ("spins", LoadSeen::Runs),
    ("plays", LoadSeen::Runs),
    ("hot again", LoadSeen::Runs),
    ("warm again", LoadSeen::Runs),
];

/// Said after that a load runs, and no more than that.
const WELL: [&str; 12] = [
    "fine",
    "ok",
    "okay",
    "well",
    "good",
    "great",
    "perfectly",
    "normal",
    "normally",
    "as usual",
    "again",
    "now",
];

const HOLDS: [&str; 34] = [
    "resets and holds",
    "reset and holds",
    "resets and stays in",
    "does not trip any more",
    "does not trip anymore",
    "no longer trips",
    "has stopped tripping",
    "stopped tripping",
    "never trips",
    "never tripped",
    "is holding",
    "holding",
    "resets and stays on",
    "resets fine",
    "resets normally",
    "holds fine",
    "does not trip",
    "did not trip",
    "stays on",
    "stayed on",
    "stays in",
    "not tripped",
    "is not tripped",
    "has not tripped",
    "is not tripping",
    "not tripping",
    "on",
    "closed",
    "fine",
    "ok",
    "held",
    "holds",
    "hold",
    "resets",
];

/// That it was closed again, before what it did then.
const RESET: [&str; 4] = ["reset and", "resets and", "reset but", "resets but"];

/// What opens a branch circuit.
pub(super) const BREAKER: [&str; 7] =
    ["circuit breaker", "breaker switch", "breaker", "circuit", "fuse", "mcb", "breakers"];

/// What stands for a device that looks for a ground fault.
pub(super) const GROUND_FAULT: [&str; 8] = [
    "ground-fault device",
    "reset button",
    "ground-fault breaker",
    "ground-fault receptacle",
    "gfci",
    "gfi",
    "rcd",
    "rcbo",
];

impl Reader<'_> {
    /// One sentence: what was seen, and how things stood.
    pub(super) fn observations(&mut self, tools: &[Tool]) -> Heard<Vec<Observation>> {
        self.pass_marks();
        if self.takes_any(&["opened", "open box"]) {
            return self.opened_and_mended();
        }
        if let Some(said) = self.after_repair(tools)? {
            return Ok(said);
        }
        if let Some(said) = self.without_a_load(tools)? {
            return Ok(said);
        }
        let breakers = self.all_breakers()?;
        if !breakers.is_empty() {
            return Ok(breakers);
        }
        if let Some(live) = self.still_live()? {
            return Ok(live);
        }
        self.refuse_reading_first(tools)?;
        if let Some(instrument) = self.tool(tools) {
            let readings = self.readings(instrument)?;
            let mut moment = self.moment()?;
            if let Some(parting) = self.parted.take() {
                let mut stands = parting.condition(self.known.circuit);
                stands.loads.retain(|load, _| !moment.unknown.contains(load));
                stands.put_on(&moment.condition);
                moment.condition = stands;
            }
            if let Some(circuit) = self.measured_dead.take() {
                moment.condition.breakers.entry(circuit).or_insert(false);
            }
            let observation = |(request, showed)| Observation {
                moment: moment.clone(),
                seen: Seen::Instrument { request: Box::new(request), showed },
            };
            return Ok(readings.into_iter().map(observation).collect());
        }
        let begun = self.clone();
        let mut seen = self.done(tools, true)?;
        let moment = self.moment()?;
        let on = moment.condition.loads.values().filter(|state| **state == LoadState::On);
        if on.count() > 1 && !begun.says_at_once() {
            // What trips by several loads does so by all they draw, and takes its time.
            let senses_load = |name: &str| {
                self.known.circuit.branch_circuit(name).is_some() && !self.senses_residual(name)
            };
            for one in &mut seen {
                if let Seen::Protection { name, did: did @ Protected::TripsAtOnce } = one
                    && senses_load(name)
                {
                    *did = Protected::TripsLater;
                }
            }
        }
        Ok(seen.into_iter().map(|seen| at_moment(seen, &moment)).collect())
    }

    /// The loads that are said to be unplugged: those that are named, or everything that can be.
    fn loads_away(&mut self) -> Option<Vec<String>> {
        if self.takes_any(&["everything on it", "everything", "all of it", "it all", "all"]) {
            let loads = self.known.circuit.parts().loads.iter();
            let plugged = loads.filter(|load| !load.plug_links.is_empty());
            return Some(plugged.map(|load| load.id.clone()).collect());
        }
        let mut loads = vec![self.load()?];
        loop {
            let mut ahead = self.clone();
            ahead.pass_marks();
            ahead.takes("and");
            // What comes next may be what was seen of it.
            let mut behind = ahead.clone();
            let Some(load) = behind.load().filter(|_| {
                let next = behind.clone();
                next.is_done()
                    || next.token(0).is_some_and(|one| one.kind == TokenKind::Comma)
                    || next.clone().takes_any(&["and", "but", "unplugged"])
            }) else {
                return Some(loads);
            };
            loads.push(load);
            *self = behind;
        }
    }

    /// `unplugged boiler, toaster still dead`: what was seen with loads away; `None` if it is not said so.
    fn without_a_load(&mut self, tools: &[Tool]) -> Heard<Option<Vec<Observation>>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["i have", "i", "we have", "we"]);
        let is_done = ahead.takes_any(&["unplugged", "disconnected"]);
        let is_with = !is_done && ahead.takes("with");
        if !is_done && !is_with && !ahead.takes("without") {
            return Ok(None);
        }
        let Some(loads) = ahead.loads_away() else { return Ok(None) };
        if is_with && !ahead.takes_any(&["unplugged", "disconnected"]) {
            return Ok(None);
        }
        ahead.pass_marks();
        ahead.takes_any(&["and now", "and then", "and", "but", "now", "then"]);
        ahead.pass_marks();
        let said = loads.iter().map(|load| speak::name(load)).collect::<Vec<_>>().join(" and ");
        if ahead.is_done() {
            let parts = self.known.circuit.parts();
            let others = parts.loads.iter().find(|other| !loads.contains(&other.id));
            let other = others.map_or("LOAD".to_owned(), |other| speak::name(&other.id));
            let forms = [format!("{other} runs with {said} unplugged")];
            return Err(self.here("and what is seen then?").expected(forms));
        }
        let circuit = self.known.circuit;
        let is_wired =
            |load: &str| circuit.load(load).is_some_and(|load| load.plug_links.is_empty());
        let mut seen = Self::new(self.known, self.text, ahead.rest()).observations(tools)?;
        for one in &mut seen {
            for load in &loads {
                let state = if is_wired(load) { LoadState::Off } else { LoadState::Unplugged };
                one.moment.condition.loads.entry(load.clone()).or_insert(state);
            }
        }
        self.skip(self.rest().len());
        Ok(Some(seen))
    }

    /// `the meter reads 60 V at bench`: a meter has two ends, and where both were has to be said.
    fn refuse_reading_first(&self, tools: &[Tool]) -> Heard<()> {
        let mut ahead = self.clone();
        let Some(Instrument::Voltmeter(_)) = ahead.tool(tools) else { return Ok(()) };
        if !ahead.takes_any(&["reads", "read", "shows", "showed", "says", "said"]) {
            return Ok(());
        }
        let start = ahead.span().start;
        if ahead.amount(Unit::Volt).is_err() {
            return Ok(());
        }
        let figure = self.text.get(start..ahead.span_before()).unwrap_or_default();
        ahead.takes_any(&["at", "in", "on", "by"]);
        ahead.takes("the");
        let hot = speak::conductor(self.known.circuit.parts().vocabulary, "hot");
        let place =
            ahead.name(&[Class::Place]).map_or("BOX".to_owned(), |place| speak::name(&place));
        Err(self
            .up_to(&ahead, "a meter reads between two points: say the place, then between what")
            .expected([format!("voltmeter at {place}: {hot}-neutral {figure}")]))
    }

    /// What one part of a sentence says was seen; an instrument's readings go to the end.
    pub(super) fn one_observation(&mut self, tools: &[Tool]) -> Heard<Vec<Observation>> {
        let is_reading = self.clone().tool(tools).is_some();
        if is_reading || self.clone().takes_any(&["opened", "open box"]) {
            return self.observations(tools);
        }
        let breakers = self.all_breakers()?;
        if !breakers.is_empty() {
            return Ok(breakers);
        }
        let seen = self.done(tools, false)?;
        Ok(seen.into_iter().map(|seen| at_moment(seen, &Moment::default())).collect())
    }

    /// What a breaker or loads did; whether more may follow of other loads.
    fn done(&mut self, tools: &[Tool], and_more: bool) -> Heard<Vec<Seen>> {
        let mut reset = self.clone();
        reset.takes_any(&["i", "we"]);
        let was_reset = reset.takes_any(&["reset", "closed"]);
        if was_reset && let Some(name) = reset.protection().or_else(|| reset.the_only_breaker()) {
            reset.pass_marks();
            reset.takes_any(&["and", "but"]);
            reset.takes("it");
            let did = reset.protection_did()?;
            *self = reset;
            return Ok(vec![Seen::Protection { name: self.handle_of(name), did }]);
        }
        if let Some(name) = self.found_off()? {
            return Ok(vec![Seen::Protection { name, did: Protected::FoundOff }]);
        }
        let mut unnamed = self.clone();
        if unnamed.unnamed_breaker() {
            let mut said = unnamed.clone();
            let did = said.protection_did();
            // What holds is that which feeds what is spoken of.
            let own = || match did {
                Ok(Protected::Holds) => self.feeding_all_named(),
                _ => None,
            };
            let Some(name) = self.only_breaker().or_else(own) else {
                return Err(self.which_breaker(&unnamed));
            };
            let did = did?;
            *self = said;
            return Ok(vec![Seen::Protection { name, did }]);
        }
        if let Some(name) = self.protection().map(|pole| self.handle_of(pole)) {
            self.refuse_untested(&name)?;
            self.refuse_label(&name)?;
            let did = self.protection_did()?;
            return Ok(vec![Seen::Protection { name, did }]);
        }
        let loads = self.loads_seen(and_more)?;
        if loads.is_empty() {
            self.which_ground_fault()?;
            self.no_tool(tools)?;
        }
        if let [(load, _), ..] = loads.as_slice()
            && self.is_elsewhere(load)
        {
            return loads.into_iter().map(|(load, did)| self.elsewhere(load, did)).collect();
        }
        Ok(loads.into_iter().map(|(load, seen)| Seen::Load { load, seen }).collect())
    }

    /// The breaker that alone feeds everything that the sentence names.
    pub(super) fn feeding_all_named(&self) -> Option<String> {
        let circuit = self.known.circuit;
        let mut feeding: Option<String> = None;
        for name in self.places_named().chain(self.loads_named()) {
            let own = match circuit.load(&name) {
                Some(_) => self.feeding(&name),
                None => number(circuit, &name).and_then(|at| self.feeding_place(at)),
            }?;
            if feeding.as_ref().is_some_and(|other| *other != own) {
                return None;
            }
            feeding = Some(own);
        }
        feeding.or_else(|| self.only_circuit_named().map(|pole| self.handle_of(pole)))
    }

    /// `found c2 off`, `c2 tripped`: its name; none if that is not all that is said of it.
    fn found_off(&mut self) -> Heard<Option<String>> {
        const OFF: [&str; 4] = ["off", "tripped", "open", "in the off position"];
        let mut ahead = self.clone();
        ahead.takes_any(&["i", "we"]);
        let found = ahead.takes("found");
        let is_off = |ahead: &mut Self| match found {
            true => ahead.takes_any(&OFF),
            false => ahead.tripped_once(),
        };
        let mut named = ahead.clone();
        if let Some(name) = named.protection() {
            return Ok(is_off(&mut named).then(|| {
                *self = named;
                self.handle_of(name)
            }));
        }
        if !ahead.unnamed_breaker() || !is_off(&mut ahead) {
            return Ok(None);
        }
        let Some(only) = self.only_breaker() else {
            let forms = self.breakers().map(|name| format!("{} found off", speak::name(name)));
            return Err(self.up_to(&ahead, "which breaker?").expected(few(forms)));
        };
        *self = ahead;
        Ok(Some(only))
    }

    /// Passes `tripped` where nothing is said of when: it was found so, and whether it does it again is
    /// not said.
    pub(super) fn tripped_once(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["has", "had", "is", "was"]);
        let is_said = ahead.takes_any(&["found tripped", "tripped"])
            && ahead.token(0).is_none_or(|next| {
                next.kind == TokenKind::Comma
                    || next.text == "."
                    || ["and", "but", "with"]
                        .iter()
                        .any(|word| next.text.eq_ignore_ascii_case(word))
            });
        if is_said {
            *self = ahead;
        }
        is_said
    }

    /// Loads and what each of them did, all at one moment; none if none is named.
    fn loads_seen(&mut self, and_more: bool) -> Heard<Vec<(String, LoadSeen)>> {
        let mut seen: Vec<(String, LoadSeen)> = Vec::new();
        loop {
            let mut ahead = self.clone();
            ahead.pass_marks();
            ahead.takes_any(&["and", "but"]);
            let parted = seen.is_empty() || ahead.rest().len() < self.rest().len();
            let Some(first) = ahead.load().filter(|_| parted) else { return Ok(seen) };
            let mut loads = vec![first];
            while let Some(load) = ahead.another_load() {
                loads.push(load);
            }
            let did = match () {
                () if ahead.gets_no_heat(&loads) => LoadSeen::Dead,
                () if ahead.gets_too_hot(&loads) => LoadSeen::TooBright,
                () => ahead.load_seen()?,
            };
            if let (LoadSeen::Dead | LoadSeen::Weak, [load]) = (did, loads.as_slice()) {
                ahead.but_a_part_works(load);
            }
            seen.extend(loads.into_iter().map(|load| (load, did)));
            *self = ahead;
            if !and_more {
                return Ok(seen);
            }
        }
    }

    /// The next of several loads that are named together.
    fn another_load(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.pass_marks();
        ahead.takes("and");
        let load = ahead.load().filter(|_| ahead.rest().len() + 1 < self.rest().len())?;
        *self = ahead;
        Some(load)
    }

    /// A load by name, with or without the word.
    pub(super) fn load(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes("the");
        ahead.takes_any(&["load", "appliance"]);
        ahead.bulb_in();
        let load = ahead.load_of_place().or_else(|| ahead.name(&[Class::Load]))?;
        ahead.bulb_of(&load);
        ahead.pass_place_of(&load);
        *self = ahead;
        Some(load)
    }

    /// Passes `at sink` behind a load that is there.
    fn pass_place_of(&mut self, load: &str) {
        let mut ahead = self.clone();
        if !ahead.takes_any(&["at", "in", "by", "near"]) {
            return;
        }
        ahead.takes("the");
        let said = ahead.name(&[Class::Place]);
        let circuit = self.known.circuit;
        let at = circuit.load(load).and_then(|load| place_of_load(circuit, load));
        if said.is_some_and(|said| at.is_some_and(|at| is_within(&at, &said))) {
            *self = ahead;
        }
    }

    /// `window lamp`: the lamp that is at the window.
    fn load_of_place(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        let place = ahead.name(&[Class::Place])?;
        let load = ahead.name(&[Class::Load])?;
        let circuit = self.known.circuit;
        let at = circuit.load(&load).and_then(|load| place_of_load(circuit, load))?;
        is_within(&at, &place).then(|| {
            *self = ahead;
            load
        })
    }

    /// A breaker or protective device by name, with or without the word.
    pub(super) fn protection(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes("the");
        if !ahead.takes_any(&["breaker of", "fuse of", "device"]) && !ahead.breaker_for() {
            ahead.takes_any(&BREAKER);
        }
        let mut called = ahead.clone();
        let mut is_ground_fault = false;
        if called.takes_any(&GROUND_FAULT) {
            // `RCBO wet`, as `breaker wet`.
            let mut name = called.clone();
            if name.name(&[Class::Circuit]).is_some() || name.protective_device_next().is_some() {
                ahead = called;
                is_ground_fault = true;
            }
        }
        let circuit = ahead.name(&[Class::Circuit]);
        let mut at = ahead.clone();
        let unplaced = ahead.clone();
        if circuit.is_none() && at.takes_any(&GROUND_FAULT) && at.takes_any(&["at", "in", "by"]) {
            at.takes("the");
            ahead = at;
        }
        let named = circuit.or_else(|| ahead.protective_device_next());
        let name = named.or_else(|| {
            ahead = unplaced;
            ahead.only_ground_fault().or_else(|| {
                ahead = self.clone();
                ahead.that_feeds()
            })
        })?;
        is_ground_fault |= ahead.takes_any(&GROUND_FAULT);
        if self.known.is(Class::Circuit, &name) {
            ahead.takes_any(&BREAKER);
        }
        // A breaker that senses no leak is not meant: the only device on its circuit that does is.
        let device = (is_ground_fault && !self.senses_residual(&name))
            .then(|| self.ground_fault_on(&name))
            .flatten();
        *self = ahead;
        Some(device.unwrap_or(name))
    }

    /// Passes `breaker for the` where a circuit is named next.
    fn breaker_for(&mut self) -> bool {
        let mut ahead = self.clone();
        let is_one = ahead.takes_any(&BREAKER) || ahead.takes_any(&GROUND_FAULT);
        // `put a new breaker in for`
        ahead.takes("in");
        let is_so = is_one && ahead.takes("for") && {
            ahead.takes("the");
            ahead.clone().name(&[Class::Circuit]).is_some()
        };
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// The only ground-fault device on a branch circuit.
    fn ground_fault_on(&self, name: &str) -> Option<String> {
        let circuit = self.known.circuit;
        circuit.branch_circuit(name)?;
        let places = fed(circuit, name);
        let is_there = |id: &&String| {
            let at = circuit.parts().places.iter().position(|place| place.devices.contains(*id));
            at.is_some_and(|at| places.contains(&at))
        };
        let all = self.ground_faults();
        let mut there = all.iter().filter(is_there);
        there.next().filter(|_| there.next().is_none()).cloned()
    }

    /// What the handle of a breaker is called: that of its first pole, which the others move with.
    pub(super) fn handle_of(&self, pole: String) -> String {
        let first = self.known.circuit.branch_circuit(&pole).and_then(first_pole);
        first.map_or(pole, str::to_owned)
    }

    /// `RCBO of the pump`, `bedroom breaker`: what feeds that load or place.
    fn that_feeds(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes("the");
        let of = ["of", "for", "that feeds", "feeding"];
        let class = [&GROUND_FAULT[..], &BREAKER].concat();
        let is_first = ahead.takes_any(&class);
        if is_first && !ahead.takes_any(&of) {
            return None;
        }
        ahead.takes("the");
        let feeding = ahead.fed_here()?;
        let is_last = ahead.takes_any(&class);
        if !is_first && !is_last {
            return None;
        }
        *self = ahead;
        Some(feeding)
    }

    /// Passes a load or a place: the only breaker that feeds it.
    fn fed_here(&mut self) -> Option<String> {
        let mut by_load = self.clone();
        if let Some(feeding) = by_load.load_and_no_place().and_then(|load| self.feeding(&load)) {
            *self = by_load;
            return Some(feeding);
        }
        let place = self.name(&[Class::Place])?;
        let at = number(self.known.circuit, &place)?;
        self.feeding_place(at)
    }

    pub(super) fn protective_device_next(&mut self) -> Option<String> {
        let protective = |kind: &DeviceKind| matches!(kind, DeviceKind::Protective { .. });
        let known = self.known;
        let said = self.token(0).and_then(|token| known.spelling(token.text))?;
        let device = known.device_of_kind(said, protective)?.id.clone();
        self.skip(1);
        Some(device)
    }

    /// The only one there is of breakers and devices that look for a ground fault, where it is
    /// called by what it is.
    fn only_ground_fault(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        if !ahead.takes_any(&GROUND_FAULT) {
            return None;
        }
        // Where it is said to be is its box, or the circuit that it is the breaker of.
        let mut there = ahead.clone();
        let is_said = there.takes_any(&["in", "on", "at", "of", "for"]);
        there.takes("the");
        let named = is_said.then(|| there.name(&[Class::Circuit, Class::Place])).flatten();
        let mut all = self.ground_faults();
        if let Some(named) = &named {
            there.takes_any(&["circuit", "box"]);
            ahead = there.clone();
            let at = |id: &str| place_of_handle(self.known.circuit, id);
            if all.len() > 1 {
                all.retain(|id| id == named || at(id).as_ref() == Some(named));
            }
        }
        if all.len() > 1
            && !is_said
            && let Some(own) = self.feeding_all_named()
        {
            // Of several it is that which feeds what is spoken of.
            let device = self.ground_fault_on(&own);
            all.retain(|id| *id == own || Some(id) == device.as_ref());
        }
        let only = all.pop().filter(|_| all.is_empty())?;
        // `in the garage`: of the only one it needs not be known where that is.
        let is_unknown = |reader: &Self| {
            let next = reader.token(0);
            next.is_some_and(|next| {
                next.kind == TokenKind::Word && self.known.spelling(next.text).is_none()
            })
        };
        if is_said && named.is_none() && is_unknown(&there) {
            there.skip(1);
            ahead = there;
        }
        *self = ahead;
        Some(only)
    }

    fn ground_faults(&self) -> Vec<String> {
        let parts = self.known.circuit.parts();
        let devices = parts.devices.iter();
        let devices = devices.filter(|one| matches!(one.kind, DeviceKind::Protective { .. }));
        let breakers = parts.branch_circuits.iter();
        let breakers = breakers.filter(|one| one.breaker.residual_trip_ampere.is_some());
        devices.map(|one| one.id.clone()).chain(breakers.map(|one| one.id.clone())).collect()
    }

    /// Of several ground-fault devices it has to be said which.
    pub(super) fn which_ground_fault(&self) -> Heard<()> {
        if !self.clone().takes_any(&GROUND_FAULT) {
            return Ok(());
        }
        let all = self.ground_faults();
        let message = match all.as_slice() {
            [] => "this circuit has no ground-fault device",
            _ => "which one?",
        };
        Err(self.here(message).expected(all.iter().map(|id| self.known.name_of_device(id))))
    }

    pub(super) fn protection_did(&mut self) -> Heard<Protected> {
        self.pass_marks();
        let words =
            ["holds", "trips at once", "trips after a while", "does not reset", "found off"];
        if self.takes_any(&["found off", "was off"]) {
            return Ok(Protected::FoundOff);
        }
        self.pass_before();
        let mut reset = self.clone();
        if reset.takes("reset") && reset.token(0).is_some_and(|one| one.kind == TokenKind::Comma) {
            reset.pass_marks();
            *self = reset;
        }
        if self.takes_any(&RESET) {
            self.pass_before();
        }
        if self.takes_any(&HOLDS) {
            self.takes_any(&["now", "again"]);
            // `is on, not tripped`
            let mut again = self.clone();
            again.pass_marks();
            again.takes("and");
            if again.takes_any(&HOLDS) {
                *self = again;
            }
            return Ok(Protected::Holds);
        }
        if self.wont_reset() {
            return Ok(Protected::WontReset);
        }
        if self.wont_hold() || self.wont_stay() {
            return Ok(Protected::TripsAtOnce);
        }
        if self.trip_verb() {
            let at_once = self.at_once() || self.when_it_is_reset();
            let later = !at_once && self.later();
            return Ok(if later { Protected::TripsLater } else { Protected::TripsAtOnce });
        }
        if self.clone().takes("reset") {
            let forms = ["holds", "trips at once", "trips after a while"];
            return Err(self.here("and what did it do once it was reset?").expected(forms));
        }
        if self.clone().takes_any(&["off", "open"]) {
            let message = "was it found so, or switched off for what was seen then?";
            let forms = ["found off", "what was seen then, `with` it off"];
            return Err(self.here(message).expected(forms));
        }
        Err(self.none_of("what a breaker does", &words))
    }

    pub(super) fn load_seen(&mut self) -> Heard<LoadSeen> {
        self.pass_marks();
        let words = ["runs", "dim", "too bright", "dead", "not sure"];
        // When it does not is not said.
        if self.clone().takes_any(&["only works", "works only", "only runs", "runs only"]) {
            return Err(self.none_of("what a load does", &words));
        }
        self.pass_before();
        self.takes("only");
        self.takes_any(&["burns too", "runs too", "glows"]);
        let mut ahead = self.clone();
        if ahead.takes_any(&["on", "off", "plugged in", "unplugged", "switched on", "switched off"])
            && ahead.is_done()
        {
            return Err(self.stood());
        }
        if self.does_not_run() {
            return Ok(LoadSeen::Dead);
        }
        let did = self.choice(&LOADS).ok_or_else(|| self.none_of("what a load does", &words))?;
        if did == LoadSeen::Runs {
            while self.takes_any(&WELL) {}
        }
        Ok(did)
    }
}

impl Reader<'_> {
    /// How a load stood belongs to what was seen then.
    pub(super) fn stood(&self) -> Problem {
        let message = "how it stood is said with what was seen then; what it did, if it was \
                       looked at";
        let mut problem = self.here(message).expected(["runs", "dim", "dead"]);
        let circuit = self.known.circuit;
        problem.example = circuit.outlets().next().map(|(_, outlet)| {
            let at = speak::name(outlet.address.as_str());
            let hot = speak::conductor(circuit.parts().vocabulary, "hot");
            format!("tester at {at}: {hot}-neutral lit with {}", self.sentence())
        });
        problem
    }
}

/// What was seen at a moment; a load that was looked at was on unless something else is said.
fn at_moment(seen: Seen, moment: &Moment) -> Observation {
    let mut moment = moment.clone();
    if let Seen::Load { load, .. } = &seen
        && !moment.unknown.contains(load)
    {
        moment.condition.loads.entry(load.clone()).or_insert(LoadState::On);
    }
    Observation { moment, seen }
}

/// Whether an address is that of a place, or of something in it.
pub(crate) fn is_within(address: &str, place: &str) -> bool {
    address.strip_prefix(place).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

/// The first pole of a breaker that has several, where this is another of them.
pub(super) fn first_pole(pole: &BranchCircuit) -> Option<&str> {
    let (first, _) = pole.id.rsplit_once('.')?;
    pole.tied_with.iter().any(|tied| tied == first).then_some(first)
}

/// A breaker or protective device in words that are heard as it, in quotes only where it would be
/// taken for something else.
pub(super) fn tell_protected(known: &Known<'_>, class: &str, name: &str) -> String {
    let called = match known.circuit.branch_circuit(name) {
        Some(_) => name.to_owned(),
        None => known.name_of_device(name),
    };
    let plain = format!("{class}{called}");
    let tokens = tokens(&plain);
    let mut reader = Reader::new(known, &plain, &tokens);
    let is_heard = reader.protection().is_some_and(|heard| heard == name) && reader.is_done();
    if is_heard { plain } else { format!("{class}{}", speak::name(&called)) }
}

/// What a load did in words that are heard as it.
pub(super) const fn tell_load(seen: LoadSeen) -> &'static str {
    match seen {
        LoadSeen::Runs => "runs",
        LoadSeen::Weak => "dim",
        LoadSeen::TooBright => "too bright",
        LoadSeen::Dead => "dead",
        LoadSeen::NotSure => "not sure",
    }
}

/// What a breaker did in words that are heard as it.
pub(super) const fn tell_protection(did: Protected) -> &'static str {
    match did {
        Protected::Holds => "holds",
        Protected::TripsAtOnce => "trips at once",
        Protected::TripsLater => "trips after a while",
        Protected::WontReset => "does not reset",
        Protected::FoundOff => "found off",
    }
}
