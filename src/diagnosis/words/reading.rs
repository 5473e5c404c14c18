//! An instrument, where it was held, and what it showed there.

use crate::circuit::Outlet;
use crate::condition::words::known::Known;
use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;
use crate::diagnosis::{Amount, Parting, Showed, Tool};
use crate::instrument::{Instrument, Place, PlugTester, Request};
use crate::quantity::Address;

use super::amount::Unit;
use super::doubt::DOUBTS;
use super::reader::{Heard, Reader};
use super::seen::BREAKER;
use super::showing::{NO_SHORT, SHORT, SOUNDS};
use super::{showing, spot, tool};

/// A request and what was shown.
pub(super) type Read = (Request, Vec<Showed>);

/// Between what, and what was shown there.
type Between = ((String, String), Vec<Showed>);

/// What a detector does, before at which slots.
const BEEPS: [&str; 10] = [
    "beeps",
    "beeped",
    "beep",
    "beeping",
    "alarms",
    "alarmed",
    "sounds",
    "sounded",
    "lights up",
    "sings",
];

impl Reader<'_> {
    /// Everything an instrument showed at one place, or the same at each of several.
    pub(super) fn readings(&mut self, mut instrument: Instrument) -> Heard<Vec<Read>> {
        if let Instrument::PlugTester(tester) = &mut instrument
            && self.takes_any(&["button pressed", "button"])
        {
            let Some(button) = &mut tester.button else {
                return Err(self.here("this tester has no button"));
            };
            button.pressed = true;
        }
        let Some(receptacles) = self.several_receptacles(&instrument)? else {
            return self.readings_there(instrument);
        };
        let begun = self.clone();
        let mut readings = Vec::new();
        for outlet in receptacles {
            *self = begun.clone();
            self.held_at = Some(outlet);
            readings.extend(self.readings_there(instrument.clone())?);
        }
        self.held_at = None;
        Ok(readings)
    }

    /// The same at one place: one reading, or one for each pair of slots.
    fn readings_there(&mut self, instrument: Instrument) -> Heard<Vec<Read>> {
        match &instrument {
            Instrument::PlugTester(PlugTester { button: Some(button), .. }) if button.pressed => {
                let place = self.plugged_in()?;
                let showed = self.button_showed()?;
                Ok(vec![(Request::new(instrument, place), showed)])
            }
            Instrument::PlugTester(_) | Instrument::LoadedTest(_) => {
                let place = self.plugged_in()?;
                let showed = self.showed(&instrument)?;
                Ok(vec![(Request::new(instrument, place), showed)])
            }
            Instrument::Voltmeter(_)
            | Instrument::StepTester(_)
            | Instrument::Ohmmeter(_)
            | Instrument::Insulation(_) => self.between_probes(&instrument),
            Instrument::NonContact(_) => self.near(&instrument),
            Instrument::Clamp(_) => {
                let place = self.jaw()?;
                let showed = self.showed(&instrument)?;
                Ok(vec![(Request::new(instrument, place), showed)])
            }
            Instrument::Residual(_) | Instrument::TestButton(_) => {
                let device = self.protective_device()?;
                let showed = self.showed(&instrument)?;
                Ok(vec![(Request::new(instrument, Place::Device { device }), showed)])
            }
            Instrument::Person(_) => Err(self
                .here("nobody is an instrument: what someone felt is a complaint")
                .expected(["tingle from heater"])),
        }
    }

    fn plugged_in(&mut self) -> Heard<Place> {
        let outlet = self.receptacle()?;
        let turned = self.takes_any(&["turned round", "turned"]);
        Ok(Place::Receptacle { address: outlet.address.clone(), turned })
    }

    fn button_showed(&mut self) -> Heard<Vec<Showed>> {
        if let Some(nothing) = self.nothing_told() {
            return Ok(nothing);
        }
        self.pass_marks();
        Ok(vec![self.trips()?])
    }

    /// Two probes: between two addresses, or between slots of one receptacle, each pair a
    /// reading of its own.
    fn between_probes(&mut self, instrument: &Instrument) -> Heard<Vec<Read>> {
        if self.held_at.is_none()
            && let Some(place) = self.two_addresses()?
        {
            let showed = self.showed(instrument)?;
            return Ok(vec![(Request::new(instrument.clone(), place), showed)]);
        }
        if matches!(instrument, Instrument::Ohmmeter(_)) && self.takes_any(&BEYOND) {
            return self.beyond(instrument);
        }
        if let Some(readings) = self.at_a_breaker(instrument)? {
            return Ok(readings);
        }
        let outlet = self.receptacle()?;
        let slots: Vec<&str> = outlet.slots.iter().map(|(name, _)| name.as_str()).collect();
        if let Some(nothing) = self.nothing_told() {
            let place = between_slots(outlet, (slots.first(), slots.get(1)));
            return Ok(vec![(Request::new(instrument.clone(), place), nothing)]);
        }
        let mut readings: Vec<Read> = Vec::new();
        self.pass_marks();
        self.takes_any(&["it reads", "it shows", "reads", "shows", "says"]);
        if let Some(in_order) = self.figures_in_order(instrument, outlet) {
            return Ok(in_order);
        }
        while !self.showing_is_over() || readings.is_empty() {
            if !readings.is_empty() && self.doubts_all() {
                readings.iter_mut().for_each(|(_, showed)| *showed = vec![Showed::NotSure]);
                continue;
            }
            self.takes("and");
            if !readings.is_empty() && self.the_rest() || self.all_alike(instrument) {
                let showed = self.one_showed(instrument)?;
                let names = outlet.slots.iter().map(|(name, _)| name.as_str()).enumerate();
                for (at, first) in names {
                    for second in slots.iter().skip(at + 1) {
                        let place = between_slots(outlet, (Some(&first), Some(second)));
                        let request = Request::new(instrument.clone(), place);
                        if !readings.iter().any(|(known, _)| *known == request) {
                            readings.push((request, showed.clone()));
                        }
                    }
                }
                continue;
            }
            if let Some(((first, second), showed)) = self.showed_between(instrument, &slots)? {
                let place = between_slots(outlet, (Some(&first.as_str()), Some(&second.as_str())));
                readings.push((Request::new(instrument.clone(), place), showed));
                continue;
            }
            let natural = spot::natural_pair(&slots);
            let bare = natural.filter(|_| readings.is_empty() && self.is_bare(instrument));
            let pair = match bare {
                Some((first, second)) => (first.to_owned(), second.to_owned()),
                None => self.pair(&slots)?,
            };
            self.takes("=");
            let place = between_slots(outlet, (Some(&pair.0.as_str()), Some(&pair.1.as_str())));
            let showed = self.one_showed(instrument)?;
            readings.push((Request::new(instrument.clone(), place), showed));
        }
        Ok(readings)
    }

    /// Ohms of a whole circuit, between the ends of its wires in the panel; none of another place.
    fn at_a_breaker(&mut self, instrument: &Instrument) -> Heard<Option<Vec<Read>>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["at", "of", "on", "for"]);
        ahead.takes("the");
        ahead.takes_any(&BREAKER);
        let is_dead = matches!(instrument, Instrument::Ohmmeter(_) | Instrument::Insulation(_));
        let Some(circuit) = ahead.name(&[Class::Circuit]).filter(|_| is_dead) else {
            return Ok(None);
        };
        ahead.takes_any(&BREAKER);
        let ends: Vec<(&str, Address)> = ["hot", "hot2", "hot3", "neutral", "ground"]
            .into_iter()
            .filter_map(|name| {
                Some((name, spot::terminal(self.known, &format!("{circuit}.load.{name}"))?))
            })
            .collect();
        let names: Vec<&str> = ends.iter().map(|(name, _)| *name).collect();
        let end = |slot: &str| {
            let found = ends.iter().find(|(name, _)| *name == slot);
            found.map_or_else(Address::earth, |(_, end)| end.clone())
        };
        let mut readings: Vec<Read> = Vec::new();
        while !ahead.showing_is_over() || readings.is_empty() {
            ahead.takes("and");
            let before = ahead.clone();
            let (first, second) = ahead.pair(&names)?;
            if first == "neutral" && !ahead.is_said_anywhere(&["disconnected", "removed"]) {
                let name = speak::name(&circuit);
                let message =
                    "neutral and ground are joined in the panel: was the neutral off its bar?";
                return Err(before
                    .here(message)
                    .expected([format!("with neutral disconnected at {name}, bar")]));
            }
            let place = Place::Between { from: end(&first), to: end(&second) };
            let showed = ahead.one_showed(instrument)?;
            readings.push((Request::new(instrument.clone(), place), showed));
        }
        *self = ahead;
        self.measured_dead = Some(circuit);
        Ok(Some(readings))
    }

    /// Passes `all` where what every pair of slots showed comes next.
    fn all_alike(&mut self, instrument: &Instrument) -> bool {
        let mut ahead = self.clone();
        let is_so = ahead.takes_any(&["all of them", "all", "every pair", "everything"])
            && ahead.clone().one_showed(instrument).is_ok();
        if is_so {
            *self = ahead;
        }
        is_so
    }

    /// `lit lit dark`: each indicator in the order of the tester, and nothing else.
    fn in_order_alone(&mut self, tester: &PlugTester) -> Option<Vec<Showed>> {
        if self.doubted_in_order(tester) {
            return Some(vec![Showed::NotSure]);
        }
        let mut ahead = self.clone();
        let mut glows = ahead.glows_in_order(tester)?;
        if ahead.doubts_all() {
            glows = vec![Showed::NotSure];
        }
        if !ahead.clone().showing_is_over() {
            return None;
        }
        *self = ahead;
        Some(glows)
    }

    /// `226 226 0`: each two of three slots in their order, and nothing else.
    fn figures_in_order(&mut self, instrument: &Instrument, outlet: &Outlet) -> Option<Vec<Read>> {
        let slots: Vec<&str> = outlet.slots.iter().map(|(name, _)| name.as_str()).collect();
        let [first, second, third] = slots.as_slice() else { return None };
        let mut ahead = self.clone();
        let pairs = [(first, second), (first, third), (second, third)];
        let read = pairs.into_iter().map(|(one, other)| {
            ahead.pass_marks();
            ahead.takes_any(&["and", "/"]);
            let showed = ahead.is_bare(instrument).then(|| ahead.one_showed(instrument).ok())??;
            let place = between_slots(outlet, (Some(one), Some(other)));
            Some((Request::new(instrument.clone(), place), showed))
        });
        let read: Vec<Read> = read.collect::<Option<_>>()?;
        if !ahead.clone().showing_is_over() {
            return None;
        }
        *self = ahead;
        Some(read)
    }

    /// Whether volts come next without between what: of a receptacle they are its voltage.
    fn is_bare(&self, instrument: &Instrument) -> bool {
        let shows = matches!(instrument, Instrument::Voltmeter(_) | Instrument::StepTester(_));
        let mut ahead = self.clone();
        shows && (ahead.amount_is_next() || ahead.one_showed(instrument).is_ok())
    }

    /// An ohmmeter on the conductors of a cable that is taken off in a box, each two of them a
    /// reading of its own.
    fn beyond(&mut self, instrument: &Instrument) -> Heard<Vec<Read>> {
        let parting = self.parting()?;
        let pairs = parting.pairs(self.known.circuit);
        self.parted = Some(parting);
        let mut conductors: Vec<&str> = Vec::new();
        for name in pairs.iter().flat_map(|((first, second), _)| [first, second]) {
            if !conductors.contains(&name.as_str()) {
                conductors.push(name);
            }
        }
        let requests: Vec<Request> = pairs
            .iter()
            .map(|(_, (from, to))| (from.clone(), to.clone()))
            .map(|(from, to)| Request::new(instrument.clone(), Place::Between { from, to }))
            .collect();
        if let Some(nothing) = self.nothing_told() {
            return Ok(requests.into_iter().take(1).map(|one| (one, nothing.clone())).collect());
        }
        let mut readings: Vec<Read> = Vec::new();
        while !self.showing_is_over() || readings.is_empty() {
            self.takes("and");
            if self.takes_any(&["all", "everything", "every pair"]) {
                let showed = self.one_showed(instrument)?;
                readings.extend(requests.iter().map(|one| (one.clone(), showed.clone())));
                continue;
            }
            if let Some(showed) = self.same_everywhere(instrument) {
                readings.extend(requests.iter().map(|one| (one.clone(), showed.clone())));
                continue;
            }
            if !readings.is_empty() && self.the_rest() {
                let showed = self.one_showed(instrument)?;
                let is_read = |one: &Request| readings.iter().any(|(known, _)| known == one);
                let rest: Vec<&Request> = requests.iter().filter(|one| !is_read(one)).collect();
                readings.extend(rest.into_iter().map(|one| (one.clone(), showed.clone())));
                continue;
            }
            let ((first, second), showed) = match self.showed_between(instrument, &conductors)? {
                Some(both) => both,
                None => (self.pair(&conductors)?, self.one_showed(instrument)?),
            };
            let is = |(one, other): &(String, String)| {
                (*one == first && *other == second) || (*one == second && *other == first)
            };
            let asked = pairs.iter().zip(&requests).find(|((names, _), _)| is(names));
            readings.extend(asked.map(|(_, request)| (request.clone(), showed)));
        }
        Ok(readings)
    }

    /// `0.3 ohm between hot and neutral`: what is shown is said before between what.
    fn showed_between(
        &mut self,
        instrument: &Instrument,
        slots: &[&str],
    ) -> Heard<Option<Between>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["there is a", "there is", "a"]);
        let Ok(showed) = ahead.one_showed(instrument) else { return Ok(None) };
        let is_between = ahead.takes_any(&["between", "from", "across"]);
        // `0.3 ohm hot-ground`: no further figure is after that.
        let mut bare = ahead.clone();
        let is_bare = bare.pair(slots).is_ok() && !bare.amount_is_next();
        let is_first = self.amount_is_next() || self.clone().takes_any(&SHORT);
        if !(is_between || is_bare && is_first) {
            return Ok(None);
        }
        let pair = ahead.pair(slots)?;
        *self = ahead;
        Ok(Some((pair, showed)))
    }

    /// `OL everywhere`, `open between all`, `no shorts`: the same between every two.
    fn same_everywhere(&mut self, instrument: &Instrument) -> Option<Vec<Showed>> {
        let mut ahead = self.clone();
        let is_all = ahead.clone().takes_any(&NO_SHORT);
        let showed = ahead.one_showed(instrument).ok()?;
        let is_said = ahead.takes_any(&EVERYWHERE);
        (is_said || is_all && ahead.showing_is_over()).then(|| {
            *self = ahead;
            showed
        })
    }

    /// What each of several looks showed, in their order and without between what; none if it is not
    /// said so.
    pub(super) fn showed_in_order(&mut self, looks: &[Request]) -> Option<Vec<Vec<Showed>>> {
        if let [only] = looks {
            let Instrument::PlugTester(tester) = &only.instrument else { return None };
            return Some(vec![self.glows_in_order(tester)?]);
        }
        let each = looks.iter().map(|look| {
            self.pass_marks();
            self.takes_any(&["and", "/"]);
            self.one_showed(&look.instrument).ok()
        });
        each.collect()
    }

    /// A detector near slots of a receptacle, or near any terminal.
    fn near(&mut self, instrument: &Instrument) -> Heard<Vec<Read>> {
        let request =
            |terminal: &Address| Request::new(instrument.clone(), Place::near(terminal.clone()));
        let mut ahead = self.clone();
        if ahead.takes_any(&["near", "at", "held near", "held to"]) && ahead.address_is_next() {
            *self = ahead;
            let terminal = self.address()?;
            return Ok(vec![(request(&terminal), self.showed(instrument)?)]);
        }
        let outlet = self.receptacle()?;
        let slots: Vec<&str> = outlet.slots.iter().map(|(name, _)| name.as_str()).collect();
        let terminal = |slot: &str| {
            outlet.slots.iter().find(|(name, _)| name == slot).map(|(_, terminal)| terminal)
        };
        if let Some(nothing) = self.nothing_told() {
            let first = outlet.slots.first().map(|(_, terminal)| request(terminal));
            return Ok(first.into_iter().map(|request| (request, nothing.clone())).collect());
        }
        let mut readings: Vec<Read> = Vec::new();
        while !self.showing_is_over() || readings.is_empty() {
            self.takes_any(&["and", "but"]);
            let before = self.clone();
            if self.alarms_on(outlet, instrument, &mut readings)? {
                continue;
            }
            if let Some(several) = self.slots_together(outlet)? {
                let alarm = self.alarm()?;
                self.takes_any(&ALL_SLOTS);
                let at = several.iter().filter_map(|slot| terminal(slot));
                let new: Vec<Read> =
                    at.map(|at| (request(at), vec![Showed::Alarm(alarm)])).collect();
                let is_denied = |(request, showed): &Read| {
                    readings.iter().any(|(known, other)| known == request && other != showed)
                };
                if new.iter().any(is_denied) {
                    let said = "a slot is said to be silent and to beep";
                    return Err(before.here(said).expected(["each slot once"]));
                }
                readings.extend(new);
                continue;
            }
            let mut is_only = self.takes_any(&["only", "just"]);
            let mut named = vec![self.slot(&slots)?];
            self.pass_marks();
            while self.takes("and") || self.slot_is_next(&slots) {
                named.push(self.slot(&slots)?);
                self.pass_marks();
            }
            is_only |= self.takes("only");
            let alarm = match self.nothing_told().is_some() || self.takes_any(&DOUBTS) {
                true => {
                    self.choice(&SOUNDS);
                    Showed::NotSure
                }
                false => Showed::Alarm(self.alarm()?),
            };
            let alarm = if self.takes("?") { Showed::NotSure } else { alarm };
            is_only |= self.takes("only");
            if is_only && alarm == Showed::Alarm(true) {
                // Then no other does.
                let others = slots.iter().filter(|slot| !named.iter().any(|one| one == *slot));
                let silent = others.filter_map(|slot| terminal(slot)).map(request);
                let unsaid = |one: &Request| !readings.iter().any(|(known, _)| known == one);
                let silent: Vec<Request> = silent.filter(unsaid).collect();
                readings.extend(silent.into_iter().map(|one| (one, vec![Showed::Alarm(false)])));
            }
            let at = named.iter().filter_map(|slot| terminal(slot));
            readings.extend(at.map(|terminal| (request(terminal), vec![alarm.clone()])));
        }
        Ok(readings)
    }

    /// `beeps on hot, not on ground`, `others silent`: whether it is said so.
    fn alarms_on(
        &mut self,
        outlet: &Outlet,
        instrument: &Instrument,
        readings: &mut Vec<Read>,
    ) -> Heard<bool> {
        let slots: Vec<&str> = outlet.slots.iter().map(|(name, _)| name.as_str()).collect();
        let read = |terminal: &Address, alarm: bool| {
            let request = Request::new(instrument.clone(), Place::near(terminal.clone()));
            (request, vec![Showed::Alarm(alarm)])
        };
        let others = if !readings.is_empty() && self.the_rest() {
            Some(self.alarm()?)
        } else {
            let Some((alarm, is_only)) = self.alarm_on() else { return Ok(false) };
            let mut named = match self.takes_any(&["both slots", "both"]) {
                true => slots
                    .iter()
                    .filter(|slot| **slot != "ground")
                    .map(|one| (*one).to_owned())
                    .collect(),
                false => vec![self.slot(&slots)?],
            };
            self.takes_any(&["slots", "slot", "side", "wire", "hole", "terminal"]);
            loop {
                let mut ahead = self.clone();
                ahead.takes("and");
                if !ahead.slot_is_next(&slots) {
                    break;
                }
                named.push(ahead.slot(&slots)?);
                *self = ahead;
            }
            let is_only = self.takes_any(&["only", "alone"]) || is_only;
            let at = outlet.slots.iter().filter(|(slot, _)| named.contains(slot));
            readings.extend(at.map(|(_, terminal)| read(terminal, alarm)));
            is_only.then_some(!alarm)
        };
        if let Some(alarm) = others {
            for (_, terminal) in &outlet.slots {
                let one = read(terminal, alarm);
                if !readings.iter().any(|(known, _)| *known == one.0) {
                    readings.push(one);
                }
            }
        }
        Ok(true)
    }

    /// Passes `beeps on`, `only beeps at`, `not on`: whether it does at the slots that come, and whether
    /// only there.
    fn alarm_on(&mut self) -> Option<(bool, bool)> {
        let mut ahead = self.clone();
        let is_only = ahead.takes_any(&["only", "just"]);
        let alarm = match ahead.takes_any(&["not", "nothing", "silent", "quiet"]) {
            true => false,
            false => ahead.takes_any(&BEEPS).then_some(true)?,
        };
        let is_only = ahead.takes_any(&["only", "just"]) || is_only;
        let is_at = ahead.takes_any(&["on", "at", "near", "by"]);
        ahead.takes("the");
        let is_slot = ahead.token(0).is_some_and(|token| spot::slot(token.text).is_some());
        (is_at || is_slot).then(|| {
            *self = ahead;
            (alarm, is_only)
        })
    }

    /// The slots of `both beep` (hot and neutral), and of `all silent` and a bare `nothing`, of
    /// which only those count that were asked for. Which of several beeped has to be said.
    fn slots_together<'o>(&mut self, outlet: &'o Outlet) -> Heard<Option<Vec<&'o str>>> {
        let slots: Vec<&str> = outlet.slots.iter().map(|(name, _)| name.as_str()).collect();
        let mut ahead = self.clone();
        let both = ahead.takes("both");
        let all = !both && ahead.takes_any(&["all", "everything"]);
        if ahead.slot_is_next(&slots) {
            return Ok(None);
        }
        let mut bare = ahead.clone();
        let is_bare_no = bare.takes_any(&["no", "nope", "nah"]) && bare.is_done();
        let Ok(alarm) = ahead.alarm() else { return Ok(None) };
        let is_all = all || ahead.takes_any(&ALL_SLOTS);
        let is_asked = |terminal: &Address| self.asked.is_empty() || self.asked.contains(terminal);
        let held = outlet.slots.iter().filter(|(_, terminal)| is_asked(terminal));
        let held = held.map(|(slot, _)| slot.as_str());
        let held: Vec<&str> = held.filter(|slot| !both || *slot != "ground").collect();
        if alarm && !both && !is_all && held.len() > 1 {
            let vocabulary = self.known.circuit.parts().vocabulary;
            let words = held.iter().map(|slot| showing::slot_word(vocabulary, slot));
            let forms = words.map(|word| format!("{word} beeps"));
            let forms = forms.chain(["all beep".to_owned(), "both beep".to_owned()]);
            return Err(self.here("which slot beeped?").expected(forms));
        }
        if is_bare_no && held.len() > 1 {
            let message = "does it beep nowhere, or was it not held there?";
            return Err(self.here(message).expected(["all silent", "did not look"]));
        }
        self.skip(usize::from(both || all));
        Ok(Some(held))
    }

    fn slot_is_next(&self, slots: &[&str]) -> bool {
        let named = self.token(0).and_then(|token| spot::slot(token.text));
        named.is_some_and(|slot| slots.contains(&slot))
    }

    /// All that an instrument showed whose place is known.
    pub(super) fn showed(&mut self, instrument: &Instrument) -> Heard<Vec<Showed>> {
        if let Some(nothing) = self.nothing_told() {
            return Ok(nothing);
        }
        self.takes_any(&[
            "it shows", "it reads", "i get", "i got", "shows", "showed", "reads", "read",
        ]);
        self.takes_any(&["it is", "its", "it"]);
        self.pass_marks();
        match instrument {
            Instrument::PlugTester(tester) => match &tester.button {
                Some(button) if button.pressed => Ok(vec![self.trips()?]),
                _ => match self.in_order_alone(tester) {
                    Some(glows) => Ok(glows),
                    None => self.indicators(tester),
                },
            },
            Instrument::LoadedTest(test) => self.losses(test),
            _ => self.one_showed(instrument),
        }
    }

    /// The one thing that an instrument showed.
    fn one_showed(&mut self, instrument: &Instrument) -> Heard<Vec<Showed>> {
        if let Some(nothing) = self.nothing_told() {
            return Ok(nothing);
        }
        let one = match instrument {
            Instrument::Voltmeter(_) if self.takes_any(&DEAD) => {
                Showed::Volt(Amount::Under(DEAD_VOLT))
            }
            Instrument::Voltmeter(_) => Showed::Volt(self.amount(Unit::Volt)?),
            Instrument::StepTester(tester) => self.step(tester)?,
            Instrument::NonContact(_) => Showed::Alarm(self.alarm()?),
            Instrument::Clamp(_) => Showed::Ampere(self.amount(Unit::Ampere)?),
            Instrument::Ohmmeter(meter) => self.ohms(meter)?,
            Instrument::Insulation(_) => Showed::Ohm(self.amount(Unit::Ohm)?),
            Instrument::Residual(_) if self.amount_is_next() => {
                Showed::Ampere(self.amount(Unit::Ampere)?)
            }
            Instrument::Residual(_) | Instrument::TestButton(_) => self.trips()?,
            Instrument::PlugTester(_) | Instrument::LoadedTest(_) | Instrument::Person(_) => {
                return self.showed(instrument);
            }
        };
        Ok(vec![one])
    }
}

fn between_slots(outlet: &Outlet, pair: (Option<&&str>, Option<&&str>)) -> Place {
    let terminal = |slot: Option<&&str>| {
        let found = slot.and_then(|slot| outlet.slots.iter().find(|(name, _)| name == slot));
        found.map_or_else(Address::earth, |(_, terminal)| terminal.clone())
    };
    Place::Between { from: terminal(pair.0), to: terminal(pair.1) }
}

/// What is said of a voltmeter that shows nothing to speak of, and what that is less than.
pub(super) const DEAD: [&str; 5] = ["dead", "no voltage", "no volts", "nothing", "zero"];
const DEAD_VOLT: f64 = 5.0;

/// At every slot.
const ALL_SLOTS: [&str; 3] = ["everywhere", "on all", "at all"];

/// Between every two conductors.
const EVERYWHERE: [&str; 12] = [
    "everywhere",
    "throughout",
    "all round",
    "on all three",
    "on all pairs",
    "on all",
    "between all three",
    "between all of them",
    "between all",
    "between every pair",
    "between any two",
    "between any",
];

/// What lies beyond a box, its cable taken off there.
const BEYOND: [&str; 2] = ["beyond", "past"];

/// An instrument, its place and what it showed, in words that are heard as them; whether the run
/// is parted there.
pub(super) fn tell(
    known: &Known<'_>,
    tools: &[Tool],
    (request, parted): (&Request, bool),
    showed: &[Showed],
) -> String {
    let (held, before) = tell_place(known, tools, (request, parted));
    format!("{held}: {before}{}", showing::tell(known, Some(&request.instrument), showed))
}

/// Instrument and place, and what stands before each figure (a pair of slots, or nothing).
pub(super) fn tell_place(
    known: &Known<'_>,
    tools: &[Tool],
    (request, parted): (&Request, bool),
) -> (String, String) {
    let circuit = known.circuit;
    let mut instrument = request.instrument.clone();
    let mut button = "";
    if let Instrument::PlugTester(tester) = &mut instrument
        && let Some(pressed) = tester.button.as_mut().filter(|button| button.pressed)
    {
        pressed.pressed = false;
        button = " button";
    }
    let called = tool::tell(&instrument, tools);
    let name = |address: &Address| spot::tell_address(address);
    match &request.place {
        Place::Receptacle { address, turned } => {
            let turned = if *turned { " turned round" } else { "" };
            (format!("{called}{button} at {}{turned}", name(address)), String::new())
        }
        Place::Between { from, to } => {
            if parted
                && matches!(instrument, Instrument::Ohmmeter(_))
                && let Some((parting, pair)) = Parting::of_ends(circuit, (from, to))
            {
                return (
                    format!("{called} {}", spot::tell_parting(circuit, &parting)),
                    format!("{} ", showing::pair_words(known, &pair)),
                );
            }
            let slots = spot::slot_of(circuit, from).and_then(|(outlet, first)| {
                let second = match *to == Address::earth() {
                    true => Some("earth"),
                    false => {
                        let found = outlet.slots.iter().find(|(_, terminal)| terminal == to);
                        found.map(|(name, _)| name.as_str())
                    }
                };
                second.map(|second| (outlet, first.to_owned(), second.to_owned()))
            });
            match slots {
                Some((outlet, first, second)) => (
                    format!("{called} at {}", name(&outlet.address)),
                    format!("{} ", showing::pair_words(known, &(first, second))),
                ),
                None => {
                    (format!("{called} between {} and {}", name(from), name(to)), String::new())
                }
            }
        }
        Place::Near { terminal, .. } => match spot::slot_of(circuit, terminal) {
            Some((outlet, slot)) => {
                let word = showing::slot_word(circuit.parts().vocabulary, slot);
                (format!("{called} at {}", name(&outlet.address)), format!("{word} "))
            }
            None => (format!("{called} near {}", name(terminal)), String::new()),
        },
        Place::Around { conductors } => {
            (format!("{called} {}", spot::tell_jaw(known, conductors)), String::new())
        }
        Place::Device { device } => {
            let device = speak::name(&known.name_of_device(device));
            (format!("{called} at {device}"), String::new())
        }
        Place::Slots { slots } => {
            let at: Vec<String> = slots.iter().map(|slot| slot.terminal.to_string()).collect();
            (format!("{called} at {}", at.join(", ")), String::new())
        }
        Place::Cable { near } => {
            let at: Vec<String> = near.iter().map(|one| one.terminal.to_string()).collect();
            (format!("{called} over {}", at.join(", ")), String::new())
        }
    }
}
