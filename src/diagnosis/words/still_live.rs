//! What is live although what should make it dead is off: `kiln still live with c1 off`.

use crate::circuit::Outlet;
use crate::condition::Condition;
use crate::condition::words::lexicon::Class;
use crate::diagnosis::{Amount, LoadSeen, Moment, Observation, Seen, Showed};
use crate::instrument::presets::voltmeter_low_impedance;
use crate::instrument::{Place, Request};
use crate::quantity::Address;

use super::complaint::JOINS;
use super::reader::{Heard, Reader};
use super::spot;

/// That it is live, of a place.
const LIVE: [&str; 20] = [
    "running",
    "burning",
    "live",
    "hot",
    "alive",
    "energised",
    "energized",
    "powered",
    "under power",
    "under voltage",
    "has power",
    "have power",
    "has voltage",
    "has current",
    "has electricity",
    "on",
    "works",
    "work",
    "working",
    "runs",
];

/// That it is not, of a place.
const NOT_LIVE: [&str; 9] = [
    "goes dead",
    "went dead",
    "dead",
    "not live",
    "not hot",
    "no longer live",
    "has no power",
    "has no voltage",
    "dead then",
];

/// That it is so still, before it.
const STILL: [&str; 14] = [
    "is still",
    "are still",
    "was still",
    "were still",
    "stays",
    "stayed",
    "remains",
    "remained",
    "keeps",
    "still",
    "is",
    "are",
    "was",
    "were",
];

/// What comes before a breaker that is off.
const THOUGH: [&str; 13] = [
    "even though",
    "even with",
    "even when",
    "even after",
    "even if",
    "although",
    "though",
    "after",
    "with",
    "when",
    "while",
    "if",
    "but",
];

/// Somebody switches it off.
const SWITCHING: [&str; 23] = [
    "i shut off",
    "we shut off",
    "shutting off",
    "shut off",
    "shut",
    "i switched off",
    "i turned off",
    "we switched off",
    "we turned off",
    "i switch off",
    "i turn off",
    "we switch off",
    "we turn off",
    "switching off",
    "turning off",
    "switched off",
    "turned off",
    "i switched",
    "i turned",
    "switching",
    "turning",
    "switched",
    "turned",
];

/// That a breaker is off.
const OFF: [&str; 9] = [
    "switched off",
    "turned off",
    "tripped",
    "trips",
    "trip",
    "off",
    "open",
    "out",
    "in the off position",
];

/// That it makes nothing dead, after a breaker that is off.
const KILLS_NOT: [&str; 7] =
    ["does not", "did not", "do not", "will not", "would not", "cannot", "can not"];

const KILL: [&str; 13] = [
    "kill the power to",
    "cut the power to",
    "cut power to",
    "turn off",
    "turn",
    "switch off",
    "switch",
    "shut off",
    "kill",
    "stop",
    "cut off",
    "affect",
    "disconnect",
];

/// From so many volts to the soil on somebody calls a hot live; judgement.
const CALLED_LIVE_VOLT: f64 = 50.0;

/// Up to so many volts to the soil somebody calls it dead; judgement.
const CALLED_DEAD_VOLT: f64 = 10.0;

/// What is live.
enum What<'c> {
    Load(String),
    At(&'c Outlet),
}

impl<'r> Reader<'r> {
    /// What is live with its breaker off; nothing is passed if that is not what is said.
    pub(super) fn still_live(&mut self) -> Heard<Option<Vec<Observation>>> {
        self.refuse_nothing_named()?;
        if let Some(dead) = self.dead_with_off() {
            return Ok(Some(vec![dead]));
        }
        for whole in [Self::live_though_off, Self::off_but_live, Self::off_kills_not] {
            let mut ahead = self.clone();
            if let Some((what, off)) = whole(&mut ahead)
                && ahead.is_done()
            {
                *self = ahead;
                let seen = match what {
                    What::Load(load) => Seen::Load { load, seen: LoadSeen::Runs },
                    What::At(outlet) => hot_to_soil(outlet, Amount::Over(CALLED_LIVE_VOLT)),
                };
                return Ok(Some(vec![Observation { moment: off, seen }]));
            }
        }
        Ok(None)
    }

    /// `kiln dead with c2 off`: of a place, as of a load.
    fn dead_with_off(&mut self) -> Option<Observation> {
        let mut ahead = self.clone();
        ahead.takes("the");
        let outlet = ahead.receptacle().ok()?;
        ahead.takes_any(&STILL);
        ahead.takes_any(&NOT_LIVE).then_some(())?;
        let moment = ahead.stood_off()?;
        *self = ahead;
        let seen = hot_to_soil(outlet, Amount::Under(CALLED_DEAD_VOLT));
        Some(Observation { moment, seen })
    }

    /// `kiln still live with c1 off`.
    fn live_though_off(&mut self) -> Option<(What<'r>, Moment)> {
        let what = self.what_is_live()?;
        self.is_live().then_some(())?;
        Some((what, self.stood_off()?))
    }

    /// To the end, how things stood, if a breaker was off.
    fn stood_off(&mut self) -> Option<Moment> {
        self.pass_marks();
        self.takes_any(&JOINS);
        let mut ahead = self.clone();
        ahead.takes_any(&THOUGH);
        if let Some(off) = ahead.is_switched_off().filter(|_| ahead.is_done()) {
            *self = ahead;
            return Some(with_off(off));
        }
        let moment = self.moment().ok()?;
        moment.condition.breakers.values().any(|closed| !closed).then_some(moment)
    }

    /// `c1 off but kiln still hot`.
    fn off_but_live(&mut self) -> Option<(What<'r>, Moment)> {
        self.takes_any(&THOUGH);
        let off = self.is_switched_off()?;
        let before = self.rest().len();
        self.pass_marks();
        self.takes_any(&JOINS);
        self.takes("then");
        (self.rest().len() < before).then_some(())?;
        let what = self.what_is_live()?;
        self.is_live().then_some((what, with_off(off)))
    }

    /// `turning c1 off does not kill kiln`.
    fn off_kills_not(&mut self) -> Option<(What<'r>, Moment)> {
        let mut plain = self.clone();
        let off = match self.is_switched_off() {
            Some(off) => off,
            // `c1 does not turn off kiln`.
            None => {
                let off = plain.protection()?;
                *self = plain;
                self.handle_of(off)
            }
        };
        (self.takes_any(&KILLS_NOT) && self.takes_any(&KILL)).then_some(())?;
        let what = self.what_is_live()?;
        self.takes("off");
        Some((what, with_off(off)))
    }

    /// A breaker, or a device that trips, that is off.
    fn is_switched_off(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        let is_switched = ahead.takes_any(&SWITCHING);
        let first = is_switched && ahead.takes("off");
        let name = ahead.protection().or_else(|| ahead.the_only_breaker())?;
        ahead.takes_any(&["is", "was", "are", "has", "had", "being", "has been"]);
        let is_off = ahead.takes_any(&OFF) || first || is_switched;
        is_off.then(|| {
            *self = ahead;
            self.handle_of(name)
        })
    }

    fn what_is_live(&mut self) -> Option<What<'r>> {
        self.takes("the");
        if let Some(load) = self.load() {
            return Some(What::Load(load));
        }
        let mut ahead = self.clone();
        let outlet = ahead.receptacle().ok()?;
        *self = ahead;
        Some(What::At(outlet))
    }

    fn is_live(&mut self) -> bool {
        self.takes_any(&STILL);
        self.takes("still");
        self.takes_any(&LIVE)
    }

    /// `still live with c1 off`: what is.
    fn refuse_nothing_named(&self) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.takes_any(&["it is", "it stays", "it"]);
        if !ahead.is_live() || ahead.clone().name(&[Class::Place, Class::Load]).is_some() {
            return Ok(());
        }
        let there = ahead.clone();
        ahead.takes_any(&THOUGH);
        let Some(off) = ahead.is_switched_off().filter(|_| ahead.is_done()) else { return Ok(()) };
        let outlet = self.known.circuit.outlets().next();
        let at = outlet.map_or("BOX", |(_, outlet)| outlet.address.as_str());
        let form = format!("{at} live with {off} off");
        Err(self.up_to(&there, "what is live then?").expected([form]))
    }
}

/// How things stood with that off.
fn with_off(name: String) -> Moment {
    let condition = Condition { breakers: [(name, false)].into(), ..Condition::default() };
    Moment { condition, ..Moment::default() }
}

/// So many volts from the hot of a receptacle to the soil, and no ghost of them.
fn hot_to_soil(outlet: &Outlet, volt: Amount) -> Seen {
    let slots: Vec<&str> = outlet.slots.iter().map(|(name, _)| name.as_str()).collect();
    let hot = spot::natural_pair(&slots).map_or("hot", |(hot, _)| hot);
    let from = outlet.slots.iter().find(|(name, _)| name == hot).map(|(_, at)| at.clone());
    let from = from.unwrap_or_else(|| outlet.address.clone());
    let place = Place::Between { from, to: Address::earth() };
    Seen::Instrument {
        request: Box::new(Request::new(voltmeter_low_impedance(), place)),
        showed: vec![Showed::Volt(volt)],
    }
}
