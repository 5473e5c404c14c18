//! What was measured, concluded or found, said as a complaint: with what it is said instead.

use crate::condition::words::speak;
use crate::diagnosis::place_of_load;

use super::super::example::supply_volt;
use super::super::reader::{Heard, Reader};

/// A share of the supply that is low, for an example.
const LOW: f64 = 0.8;

/// Who measured.
const MEASURED: [&str; 11] = [
    "i measured",
    "we measured",
    "measured",
    "measure",
    "i have",
    "got",
    "reads",
    "shows",
    "has only",
    "has",
    "only",
];

/// Between what, before a figure.
const BETWEEN: [&str; 11] = [
    "hot",
    "neutral",
    "ground",
    "to",
    "and",
    "-",
    "hot-neutral",
    "hot-ground",
    "neutral-ground",
    "l-n",
    "h-n",
];

/// What somebody made of a figure that is not said.
const JUDGED: [&str; 14] = [
    "low voltage",
    "high voltage",
    "voltage is low",
    "voltage too low",
    "voltage is too low",
    "voltage is high",
    "voltage is too high",
    "voltage too high",
    "low power",
    "half power",
    "half voltage",
    "brownout",
    "undervoltage",
    "overvoltage",
];

/// What somebody made of what a tester showed.
const CONCLUDED: [&str; 26] = [
    "no open grounds",
    "no open ground",
    "no open neutrals",
    "no open neutral",
    "no open hots",
    "no reversed polarity",
    "no reverse polarity",
    "open grounds",
    "open neutrals",
    "no grounds",
    "polarity is reversed",
    "polarity reversed",
    "wrong polarity",
    "open neutral",
    "open ground",
    "open hot",
    "no ground",
    "no neutral",
    "no earth",
    "reversed polarity",
    "reverse polarity",
    "hot neutral reversed",
    "bootleg ground",
    "lost neutral",
    "bad neutral",
    "bad ground",
];

impl Reader<'_> {
    /// `90 V at sink`, `low voltage at sink`, `no ground at sink`, `neutral loose at sink`.
    pub(super) fn refuse_measured(&self, place: Option<&str>) -> Heard<()> {
        let mut after = self.clone();
        let volts = after.volts_said();
        let is_judged = volts.is_none() && after.judged_said();
        let is_wired = volts.is_none() && !is_judged && after.concluded_said();
        if volts.is_none() && !is_judged && !is_wired {
            return self.refuse_found(place);
        }
        after.takes_any(&["at", "in", "on"]);
        let place = place.map(str::to_owned).or_else(|| after.place().ok());
        let loads = self.known.circuit.parts().loads.iter();
        let mut there = loads.filter(|load| place_of_load(self.known.circuit, load) == place);
        let weak = there.next().map(|load| format!("{} weak", speak::name(&load.id)));
        let at = place.map_or("BOX".to_owned(), |place| speak::name(&place));
        let circuit = self.known.circuit;
        let hot = speak::conductor(circuit.parts().vocabulary, "hot");
        let (message, example) = match (is_wired, &volts) {
            (true, _) => (
                "that was concluded: what was seen, and with what?",
                format!("tester at {at}: {hot}-neutral lit, {hot}-ground dark"),
            ),
            (false, Some(volts)) => (
                "what was measured is said with its instrument",
                format!("voltmeter at {at}: {volts}"),
            ),
            (false, None) => (
                "how many volts, measured with what? or what does a load do there?",
                format!("voltmeter at {at}: {} V", (supply_volt(circuit) * LOW).round()),
            ),
        };
        let mut problem = self.up_to(&after, message).expected(weak.filter(|_| !is_wired));
        problem.example = Some(example);
        Err(problem)
    }

    /// Passes `measured 90 V`, `hot to neutral 90 volts`: as behind an instrument.
    fn volts_said(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        ahead.takes_any(&MEASURED);
        ahead.takes_any(&["only", "about"]);
        let from = ahead.span().start;
        while ahead.takes_unnamed(&BETWEEN) {}
        let between = self.text.get(from..ahead.span_before()).unwrap_or_default().trim();
        let figure = ahead.token(0)?.text;
        if !ahead.skip_number() || !ahead.takes_any(&["volts", "volt", "v"]) {
            return None;
        }
        *self = ahead;
        Some(format!("{between} {figure} V").trim_start().to_owned())
    }

    fn judged_said(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["has", "the", "there is"]);
        let is_so = ahead.takes_any(&JUDGED);
        if is_so {
            *self = ahead;
        }
        is_so
    }

    fn concluded_said(&mut self) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["there is", "has", "is", "it is", "it has"]);
        let is_so = ahead.takes_any(&CONCLUDED);
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// `neutral loose at sink`: what is found is found in an opened box.
    fn refuse_found(&self, place: Option<&str>) -> Heard<()> {
        let bad = ["loose", "burnt", "burned", "corroded", "disconnected", "off", "open"];
        let wires = ["neutral wire", "hot wire", "ground wire", "neutral", "hot", "ground"];
        let mut ahead = self.clone();
        ahead.takes_any(&["there is", "found", "a", "the"]);
        let start = ahead.span().start;
        let before = ahead.takes_any(&bad);
        let is_found = ahead.takes_any(&wires) && {
            let said = ahead.clone();
            before || {
                ahead.takes_any(&["is", "was", "came"]);
                ahead.takes_any(&bad) && said.rest().len() > ahead.rest().len()
            }
        };
        let found = self.text.get(start..ahead.span_before()).unwrap_or_default();
        ahead.takes_any(&["at", "in"]);
        let place = place.map(str::to_owned).or_else(|| ahead.place().ok());
        match place.filter(|_| is_found) {
            Some(place) => {
                let message = "what is found is found in an opened box";
                let form = format!("opened {}: {found}, line side", speak::name(&place));
                Err(self.up_to(&ahead, message).expected([form]))
            }
            None => Ok(()),
        }
    }
}
