//! What loads, breakers and protective devices did.

use crate::circuit::DeviceKind;
use crate::condition::LoadState;
use crate::condition::words::lexicon::Class;
use crate::diagnosis::{LoadSeen, Moment, Observation, Protected, Seen, Tool};

use super::reader::{Heard, Reader};

const LOADS: [(&str, LoadSeen); 30] = [
    ("not sure", LoadSeen::NotSure),
    ("unsure", LoadSeen::NotSure),
    ("did not look", LoadSeen::NotSure),
    ("does not run", LoadSeen::Dead),
    ("does not work", LoadSeen::Dead),
    ("does nothing", LoadSeen::Dead),
    ("not running", LoadSeen::Dead),
    ("not working", LoadSeen::Dead),
    ("dead", LoadSeen::Dead),
    ("dark", LoadSeen::Dead),
    ("cold", LoadSeen::Dead),
    ("too bright", LoadSeen::TooBright),
    ("too fast", LoadSeen::TooBright),
    ("too hot", LoadSeen::TooBright),
    ("bright", LoadSeen::TooBright),
    ("runs weak", LoadSeen::Weak),
    ("runs slow", LoadSeen::Weak),
    ("runs dim", LoadSeen::Weak),
    ("weak", LoadSeen::Weak),
    ("dim", LoadSeen::Weak),
    ("slow", LoadSeen::Weak),
    ("lukewarm", LoadSeen::Weak),
    ("runs", LoadSeen::Runs),
    ("running", LoadSeen::Runs),
    ("works", LoadSeen::Runs),
    ("working", LoadSeen::Runs),
    ("lit", LoadSeen::Runs),
    ("burns", LoadSeen::Runs),
    ("fine", LoadSeen::Runs),
    ("normal", LoadSeen::Runs),
];

const PROTECTION: [(&str, Protected); 20] = [
    ("found off", Protected::FoundOff),
    ("was off", Protected::FoundOff),
    ("trips at once", Protected::TripsAtOnce),
    ("tripped at once", Protected::TripsAtOnce),
    ("trips immediately", Protected::TripsAtOnce),
    ("trips after a while", Protected::TripsLater),
    ("tripped after a while", Protected::TripsLater),
    ("trips later", Protected::TripsLater),
    ("trips", Protected::TripsAtOnce),
    ("tripped", Protected::TripsAtOnce),
    ("does not reset", Protected::WontReset),
    ("will not reset", Protected::WontReset),
    ("did not reset", Protected::WontReset),
    ("wont reset", Protected::WontReset),
    ("does not trip", Protected::Holds),
    ("did not trip", Protected::Holds),
    ("stays on", Protected::Holds),
    ("stayed on", Protected::Holds),
    ("held", Protected::Holds),
    ("holds", Protected::Holds),
];

impl Reader<'_> {
    /// One sentence: what was seen, and how things stood.
    pub(super) fn observations(&mut self, tools: &[Tool]) -> Heard<Vec<Observation>> {
        self.pass_marks();
        if self.takes_any(&["opened", "open box"]) {
            let seen = self.opened()?;
            return Ok(vec![Observation { moment: Moment::default(), seen }]);
        }
        if let Some(instrument) = self.tool(tools) {
            let readings = self.readings(instrument)?;
            let mut moment = self.moment()?;
            if let Some(parting) = self.parted.take() {
                let mut stands = parting.condition(self.known.circuit);
                stands.loads.retain(|load, _| !moment.unknown.contains(load));
                stands.put_on(&moment.condition);
                moment.condition = stands;
            }
            let observation = |(request, showed)| Observation {
                moment: moment.clone(),
                seen: Seen::Instrument { request: Box::new(request), showed },
            };
            return Ok(readings.into_iter().map(observation).collect());
        }
        if let Some(name) = self.protection() {
            let did = self.protection_did()?;
            let moment = self.moment()?;
            return Ok(vec![Observation { moment, seen: Seen::Protection { name, did } }]);
        }
        let Some(load) = self.load() else {
            self.no_tool(tools)?;
            return Ok(Vec::new());
        };
        let seen = self.load_seen()?;
        let mut moment = self.moment()?;
        let stated = moment.condition.loads.contains_key(&load) || moment.unknown.contains(&load);
        if !stated {
            moment.condition.loads.insert(load.clone(), LoadState::On);
        }
        Ok(vec![Observation { moment, seen: Seen::Load { load, seen } }])
    }

    /// A load by name, with or without the word.
    pub(super) fn load(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes("the");
        ahead.takes_any(&["load", "appliance"]);
        let load = ahead.name(&[Class::Load])?;
        *self = ahead;
        Some(load)
    }

    /// A breaker or protective device by name, with or without the word.
    pub(super) fn protection(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes("the");
        ahead.takes_any(&["breaker of", "breaker", "circuit", "device"]);
        let name = match ahead.name(&[Class::Circuit]) {
            Some(circuit) => circuit,
            None => {
                let protective = |kind: &DeviceKind| matches!(kind, DeviceKind::Protective { .. });
                let known = ahead.known;
                let said = ahead.token(0).and_then(|token| known.spelling(token.text))?;
                let device = known.device_of_kind(said, protective)?.id.clone();
                ahead.skip(1);
                device
            }
        };
        *self = ahead;
        Some(name)
    }

    pub(super) fn protection_did(&mut self) -> Heard<Protected> {
        self.pass_marks();
        let words =
            ["holds", "trips at once", "trips after a while", "does not reset", "found off"];
        self.choice(&PROTECTION).ok_or_else(|| self.none_of("what a breaker does", &words))
    }

    pub(super) fn load_seen(&mut self) -> Heard<LoadSeen> {
        self.pass_marks();
        self.takes_any(&["is", "was", "burns too", "runs too", "glows"]);
        let words = ["runs", "dim", "too bright", "dead", "not sure"];
        self.choice(&LOADS).ok_or_else(|| self.none_of("what a load does", &words))
    }
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
