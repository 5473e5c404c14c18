//! What cannot be taken as it is said, answered with how to say it.

use crate::circuit::{Device, DeviceKind};
use crate::condition::words::known::is_switch;
use crate::condition::words::problem::Problem;
use crate::condition::words::{describe, speak};
use crate::condition::{Condition, SwitchPosition};
use crate::diagnosis::{Complaint, place_of_load};

use super::super::reader::{Heard, Reader};
use super::lists::{HALF, HOUSE, WORKS};

/// What is said of something that is switched, and is about the switch.
const SWITCHED: [&str; 10] = [
    "only works",
    "works only",
    "works from",
    "stays on",
    "does not turn off",
    "does not switch off",
    "does not go off",
    "will not turn off",
    "wont turn off",
    "wont  turn off",
];

impl Reader<'_> {
    /// `part of the house`: of which boxes it is made up nobody can tell.
    pub(super) fn part_of_a_house(&self) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.takes_any(&HALF);
        ahead.takes_any(&["part of", "parts of", "some of"]);
        let begun = ahead.rest().len() < self.rest().len();
        ahead.takes_any(&["the", "my"]);
        let of_it = ["circuit", "run", "room", "outlets", "receptacles"];
        if !begun || !(ahead.takes_any(&HOUSE) || ahead.takes_any(&of_it)) {
            return Ok(());
        }
        let circuits = self.known.circuit.parts().branch_circuits.iter().take(SOME);
        let circuits = circuits.map(|one| format!("everything on {} dead", speak::name(&one.id)));
        let forms = ["BOX dead".to_owned(), "BOX and BOX dead".to_owned()];
        Err(self
            .here("which half is that? name the boxes or the circuits")
            .expected(circuits.chain(forms)))
    }

    /// What comes and goes at places: the loads there cut out and come back.
    pub(super) fn comes_and_goes(&self, places: &[String]) -> Heard<Complaint> {
        let circuit = self.known.circuit;
        let is_in = |said: &str, place: &str| {
            said.strip_prefix(place).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        let loads = circuit.parts().loads.iter();
        let placed: Vec<_> =
            loads.filter_map(|load| Some((load, place_of_load(circuit, load)?))).collect();
        let has_load = |said: &String| placed.iter().any(|(_, place)| is_in(said, place));
        if places.iter().all(has_load) {
            let there =
                placed.iter().filter(|(_, place)| places.iter().any(|said| is_in(said, place)));
            let loads = there.map(|(load, _)| load.id.clone()).collect();
            return Ok(Complaint::Flickers { loads });
        }
        let dead = places.iter().map(|place| speak::name(place)).collect::<Vec<_>>().join(" and ");
        let dead = format!("{dead} dead, if it is so now");
        let message = "no load is there that could cut out: what comes and goes is said of loads";
        Err(self.here(message).expected(["lights flicker".to_owned(), dead]))
    }

    /// What is said of lights and loads and is no complaint yet.
    pub(super) fn refuse_of_loads(&self, loads: &[String]) -> Heard<()> {
        let mut ahead = self.clone();
        if ahead.takes_any(&SWITCHED) && self.first_switch().is_some() {
            return Err(self.at_each_setting(loads.first(), self.first_switch()));
        }
        ahead.takes_any(&["is", "are", "still"]);
        let runs = ahead.takes_any(&["runs", "run", "running"]) && ahead.is_done();
        let name = loads.first().map_or("LOAD".to_owned(), |load| speak::name(load));
        if runs || ahead.takes_any(&WORKS) {
            let message = "what a load does when it is on is no complaint but something seen";
            return Err(self
                .here(message)
                .expected([format!("`{name} runs` with what was seen"), "BOX works".to_owned()]));
        }
        if ahead.takes_any(&["hums", "hum", "buzzes", "buzz"]) {
            let message = "and does it run besides?";
            let forms = [format!("{name} slow"), format!("{name} does not run")];
            return Err(self.here(message).expected(forms));
        }
        if ahead.takes_any(&["gets hot", "gets warm", "hot", "warm", "smells", "smokes", "sparks"])
            && !self.is_heater(loads)
        {
            let circuit = self.known.circuit;
            let load = loads.first().and_then(|load| circuit.load(load));
            let place = load.and_then(|load| place_of_load(circuit, load));
            let place = place.map_or("BOX".to_owned(), |place| speak::name(&place));
            let message = "is it the load itself, or its plug and the plate?";
            let forms = [format!("{place} warm"), format!("{name} too bright, or too fast")];
            return Err(self.here(message).expected(forms));
        }
        Ok(())
    }

    /// Whether it is a heater that is only warm.
    fn is_heater(&self, loads: &[String]) -> bool {
        let mut ahead = self.clone();
        ahead.takes_any(&["is", "gets"]);
        ahead.only_warm(loads).is_some()
    }

    /// A switch is complained of by what its load does at each setting of it.
    pub(super) fn refuse_switch(&self, places: &[String]) -> Heard<()> {
        let [place] = places else { return Ok(()) };
        let mut ahead = self.clone();
        let amiss = ["does not work", "not working", "is not working", "does nothing", "is broken"];
        let switch = self.known.device_of_kind(place, is_switch);
        match switch {
            Some(switch) if ahead.takes_any(&amiss) => {
                Err(self.at_each_setting(None, Some(switch)))
            }
            _ => Ok(()),
        }
    }

    fn first_switch(&self) -> Option<&Device> {
        self.known.circuit.parts().devices.iter().find(|device| is_switch(&device.kind))
    }

    fn at_each_setting(&self, load: Option<&String>, switch: Option<&Device>) -> Problem {
        let load = load.map_or("LOAD".to_owned(), |load| speak::name(load));
        let positions = match switch.map(|switch| &switch.kind) {
            Some(DeviceKind::ThreeWay { .. }) => [SwitchPosition::One, SwitchPosition::Two],
            Some(DeviceKind::FourWay { .. }) => [SwitchPosition::Straight, SwitchPosition::Crossed],
            _ => [SwitchPosition::Closed, SwitchPosition::Open],
        };
        let set = |position| {
            let mut set = Condition::default();
            set.switches.extend(switch.map(|switch| (switch.id.clone(), position)));
            describe(self.known.circuit, &set).join(", ")
        };
        let does = ["dead", "runs"].into_iter().zip(positions);
        let forms = does.map(|(does, position)| format!("`{load} {does} with {}`", set(position)));
        self.here("with what was seen, say what it does at each setting of each switch")
            .expected(forms)
    }
}

/// So many circuits are named as examples.
const SOME: usize = 3;
