//! With what something is so, said first: `when the kettle runs, lights dim`.

use crate::condition::words::problem::Problem;
use crate::condition::words::{few, speak};
use crate::diagnosis::{Complaint, WhenItTrips, place_of_load};

use super::super::reader::{Given, Heard, Reader};
use super::super::seen::tell_protected;
use super::lists::EVERYWHERE;

impl Reader<'_> {
    /// Passes a condition that stands first, if one does.
    pub(super) fn said_first(&mut self) -> Heard<Option<Given>> {
        let mut ahead = self.clone();
        let given = if ahead.weather() {
            Given::NowAndThen
        } else if ahead.when() {
            Given::Load(ahead.running()?)
        } else {
            return Ok(None);
        };
        ahead.pass_marks();
        ahead.takes("then");
        if ahead.is_done() {
            let forms = ["lights dim", "breaker CIRCUIT trips", "LOAD brightens"];
            return Err(ahead.here("and what happens then?").expected(forms));
        }
        *self = ahead;
        Ok(Some(given))
    }

    /// The load that was said first, if one was.
    pub(super) fn given_load(&self) -> Option<String> {
        match &self.given {
            Some(Given::Load(load)) => Some(load.clone()),
            _ => None,
        }
    }

    /// `the power went out when I turned on the kettle`: a breaker has tripped, or it is dead now.
    pub(super) fn refuse_all_off_when(&self) -> Heard<()> {
        let mut ahead = self.clone();
        let all = ahead.no_power_said() || ahead.takes_any(&EVERYWHERE) || {
            ahead.takes("everything") && {
                ahead.pass_before();
                ahead.takes_any(&["off", "out", "dark"]) || ahead.is_dead().is_ok()
            }
        };
        let mut goes = self.clone();
        let goes_off = goes.takes("everything") && {
            goes.takes("keeps");
            goes.takes_any(&["goes off", "going off", "goes out", "cuts out", "cutting out"])
        };
        if goes_off && goes.is_done() && self.given_load().is_none() {
            return Err(goes.reaching(self.all_off_when(None)));
        }
        let load = match all && ahead.when() {
            true => ahead.running().ok(),
            false => self.given_load().filter(|_| all && ahead.is_done()),
        };
        load.map_or(Ok(()), |load| Err(ahead.reaching(self.all_off_when(Some(&load)))))
    }

    /// What goes off, with a load or now and then, goes off by a breaker, or is dead.
    pub(super) fn all_off_when(&self, load: Option<&str>) -> Problem {
        let when = match load {
            Some(load) => format!("when {} runs", speak::name(load)),
            None => "now and then".to_owned(),
        };
        let trips = |name: &str| format!("{} trips {when}", tell_protected(self.known, "", name));
        let likely = load.and_then(|load| self.feeding(load)).map(|name| trips(&name));
        let dims = match load {
            Some(_) => format!("lights dim {when}"),
            None => "lights flicker".to_owned(),
        };
        let all = self.breakers().map(trips).chain([dims, "everything dead".to_owned()]);
        self.here("does a breaker trip then, is it only the lights, or is all dead since?")
            .suggesting(likely.into_iter().collect())
            .expected(few(all))
    }

    /// `it sparks when I plug in the kettle`: where that is plugged in.
    pub(super) fn sparks_with(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["it", "there are", "there is", "i see", "we see"]);
        ahead.takes_any(&["a", "some"]);
        if !ahead.takes_any(&["sparks", "sparked", "sparking", "spark"]) || !ahead.when() {
            return Ok(None);
        }
        let load = ahead.running()?;
        let circuit = self.known.circuit;
        let Some(place) = circuit.load(&load).and_then(|load| place_of_load(circuit, load)) else {
            return Ok(None);
        };
        *self = ahead;
        Ok(Some(vec![Complaint::Warm { place }]))
    }

    /// What is so only with what was said first.
    pub(super) fn given_first(
        &self,
        given: &Given,
        complaints: Vec<Complaint>,
    ) -> Heard<Vec<Complaint>> {
        complaints.into_iter().map(|one| self.only_given(given, one)).collect()
    }

    fn only_given(&self, given: &Given, complaint: Complaint) -> Heard<Complaint> {
        let load = match given {
            Given::Load(load) => load.clone(),
            Given::NowAndThen => {
                return match complaint {
                    Complaint::LoadDead { load } => Ok(Complaint::Flickers { loads: vec![load] }),
                    Complaint::Dead { places } => self.comes_and_goes(&places),
                    other => Ok(other),
                };
            }
        };
        let when = Some(load.clone());
        Ok(match complaint {
            Complaint::Dim { loads, places, when: None } => Complaint::Dim { loads, places, when },
            Complaint::Flickers { loads } => Complaint::Dim { loads, places: Vec::new(), when },
            Complaint::Bright { loads, places, when: None } => {
                Complaint::Bright { loads, places, when }
            }
            Complaint::Trips { breaker, when: WhenItTrips::NowAndThen | WhenItTrips::AtOnce } => {
                Complaint::Trips { breaker, when: WhenItTrips::WithLoad { load } }
            }
            Complaint::LoadDead { load: dead } if dead == load => {
                Complaint::LoadDead { load: dead }
            }
            Complaint::LoadDead { load: dead } => {
                return Err(self.dead_when(&[dead], &load));
            }
            Complaint::Dead { places } => return Err(self.places_dead_when(&places, &load)),
            other => other,
        })
    }
}
