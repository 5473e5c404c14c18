//! What the diagnosis asks for, done on the hidden circuit, and handed over as a person would say
//! it.

use slotwise::condition::{Condition, LoadState};
use slotwise::diagnosis::{
    Amount, Complaint, Moment, Observation, Protected, Seen, Showed, WhenItTrips,
};
use slotwise::instrument::{Brightness, Glow, Instrument, Place, Request, presets};

use crate::building::Building;
use crate::caller::{Call, slots};
use crate::hidden::{Hidden, Trouble, WIRES};
use crate::person::{Bright, Person};
use crate::random::Chance;
use crate::wired::{Sitting, Standing};

/// A scene: the building, what is hidden in it, and who is there.
pub(crate) struct Scene<'a> {
    /// As described.
    pub(crate) building: &'a Building,
    /// As it is.
    pub(crate) hidden: &'a Hidden,
    /// Who measures.
    pub(crate) person: &'a Person,
}

impl Scene<'_> {
    /// Holds an instrument where it is asked for, everything standing as asked; `None` for what
    /// nobody here can do.
    pub(crate) fn perform(
        &self,
        request: &Request,
        asked: &Condition,
        chance: &mut Chance,
    ) -> Option<Observation> {
        let fickle_closed = chance.happens(0.5);
        let mut standing = standing(asked, fickle_closed);
        let beyond = self.beyond(request);
        standing.parted = beyond.map(|(at, _)| at);
        let sitting = Sitting { building: self.building, hidden: self.hidden, standing };
        let showed = match (&request.instrument, &request.place) {
            (Instrument::PlugTester(_), Place::Receptacle { address, .. }) => {
                let at = self.building.number(address.as_str())?;
                glows(self.person.tester(&sitting, at, chance)?)
            }
            (Instrument::Voltmeter(_), Place::Between { from, to }) => {
                let (at, first) = self.slot(from.as_str())?;
                let (_, second) = self.slot(to.as_str())?;
                let volt = self.person.meter(&sitting, at, (first, second), chance)?;
                vec![Showed::Volt(Amount::Exactly(volt))]
            }
            (Instrument::LoadedTest(_), Place::Receptacle { address, .. }) => {
                let at = self.building.number(address.as_str())?;
                let [all, hot, neutral] = self.person.loaded_test(&sitting, at, chance)?;
                let along = |conductor: &str, volt| Showed::LostAlong {
                    conductor: conductor.to_owned(),
                    volt: Amount::Exactly(volt),
                };
                vec![
                    Showed::LostVolt(Amount::Exactly(all)),
                    along("hot", hot),
                    along("neutral", neutral),
                ]
            }
            (Instrument::NonContact(_), Place::Near { terminal, .. }) => {
                let (at, wire) = self.slot(terminal.as_str())?;
                vec![Showed::Alarm(self.person.detector(&sitting, at, wire, chance)?)]
            }
            (Instrument::Ohmmeter(meter), Place::Between { from, to }) => {
                let held = match beyond {
                    Some((_, wires)) => (None, wires),
                    None => {
                        let (at, first) = self.slot(from.as_str())?;
                        (Some(at), (first, self.slot(to.as_str())?.1))
                    }
                };
                let ohm = self.person.ohmmeter(&sitting, held, chance)?;
                let over = Amount::Over(meter.over_range_ohm);
                vec![Showed::Ohm(ohm.map_or(over, Amount::Exactly))]
            }
            _ => return None,
        };
        Some(Observation {
            moment: Moment { condition: asked.clone(), ..Moment::default() },
            seen: Seen::Instrument { request: Box::new(request.clone()), showed },
        })
    }

    /// What a breaker does when its handle is looked at, and closed if it has tripped: the run's, or
    /// another, which holds.
    pub(crate) fn handle(
        &self,
        name: &str,
        moment: Moment,
        chance: &mut Chance,
    ) -> Option<Observation> {
        let sitting = Sitting {
            building: self.building,
            hidden: self.hidden,
            standing: standing(&moment.condition, chance.happens(0.5)),
        };
        let tripped = sitting.volts(&[])?.tripped;
        let did = match self.hidden.troubles.contains(&Trouble::BreakerOff) {
            true => Protected::FoundOff,
            false if tripped => Protected::TripsAtOnce,
            false => Protected::Holds,
        };
        let did = if name == "c1" { did } else { Protected::Holds };
        let seen = Seen::Protection { name: name.to_owned(), did };
        Some(Observation { moment, seen })
    }

    /// `b2-b3.a.hot` and its neutral as the third box and the two conductors of its cable, off in
    /// the box before.
    fn beyond(&self, request: &Request) -> Option<(usize, (usize, usize))> {
        let Place::Between { from, to } = &request.place else { return None };
        let wire = |end: &str| {
            let (cable, wire) = end.split_once(".a.")?;
            let at = (0..self.building.boxes.len()).find(|&at| Building::cable(at) == cable)?;
            Some((at, WIRES.iter().position(|known| *known == wire)?))
        };
        let ((at, first), (_, second)) = (wire(from.as_str())?, wire(to.as_str())?);
        Some((at, (first, second)))
    }

    /// `b3.neutral` as the third box and the neutral.
    fn slot(&self, terminal: &str) -> Option<(usize, usize)> {
        let (name, wire) = terminal.split_once('.')?;
        let wire = WIRES.iter().position(|known| *known == wire)?;
        Some((self.building.number(name)?, wire))
    }
}

fn standing(asked: &Condition, fickle_closed: bool) -> Standing {
    let on = |state: &LoadState| matches!(state, LoadState::On | LoadState::Stalled);
    Standing {
        loads: asked.loads.iter().map(|(load, state)| (load.clone(), on(state))).collect(),
        unplugged: asked
            .loads
            .iter()
            .filter(|(_, state)| **state == LoadState::Unplugged)
            .map(|(load, _)| load.clone())
            .collect(),
        parted: None,
        breaker_off: asked.breakers.get("c1") == Some(&false),
        fickle_closed,
    }
}

fn glows(seen: [Bright; 3]) -> Vec<Showed> {
    seen.iter()
        .enumerate()
        .map(|(pair, bright)| {
            let brightness = match bright {
                Bright::Dark => Brightness::Dark,
                Bright::Dim => Brightness::Dim,
                Bright::Lit => Brightness::Lit,
            };
            let (from, to) = slots(pair);
            Showed::Indicator {
                between: (from.to_owned(), to.to_owned()),
                glow: Glow { at_least: brightness, at_most: brightness },
            }
        })
        .collect()
}

/// What was said on the telephone, as the library hears it.
pub(crate) fn told(call: &Call) -> (Complaint, Option<Observation>) {
    let lamps = Vec::new();
    let complaint = match call {
        Call::Dead(boxes) => {
            Complaint::Dead { places: boxes.iter().map(|&at| Building::name(at)).collect() }
        }
        Call::DeadFrom(at) => Complaint::DeadFrom { place: Building::name(*at) },
        Call::Dim(when) => Complaint::Dim { loads: lamps, places: Vec::new(), when: when.clone() },
        Call::Bright(when) => {
            Complaint::Bright { loads: lamps, places: Vec::new(), when: when.clone() }
        }
        Call::Tingle(load) => Complaint::Tingle { from: load.clone() },
        Call::Trips => Complaint::Trips { breaker: "c1".into(), when: WhenItTrips::AtOnce },
        Call::Tester(at, seen) => {
            let place = Place::receptacle(Building::name(*at).as_str());
            let shown = Observation::reading(presets::plug_tester_resistive(), place, glows(*seen));
            return (Complaint::NothingSeen, Some(shown));
        }
    };
    (complaint, None)
}
