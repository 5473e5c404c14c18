//! With what something is so, said first: `when the kettle runs, lights dim`.

use crate::condition::words::speak;
use crate::diagnosis::{Complaint, WhenItTrips};

use super::super::reader::{Given, Heard, Reader};
use super::trips::WEATHER;

impl Reader<'_> {
    /// Passes a condition that stands first, if one does.
    pub(super) fn said_first(&mut self) -> Heard<Option<Given>> {
        let mut ahead = self.clone();
        let given = if ahead.takes_any(&WEATHER) {
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
                    Complaint::Dim { loads, when: None } => Ok(Complaint::Flickers { loads }),
                    other => Ok(other),
                };
            }
        };
        let when = Some(load.clone());
        Ok(match complaint {
            Complaint::Dim { loads, when: None } | Complaint::Flickers { loads } => {
                Complaint::Dim { loads, when }
            }
            Complaint::Bright { loads, when: None } => Complaint::Bright { loads, when },
            Complaint::Trips { breaker, when: WhenItTrips::NowAndThen | WhenItTrips::AtOnce } => {
                Complaint::Trips { breaker, when: WhenItTrips::WithLoad { load } }
            }
            Complaint::LoadDead { load: dead } if dead == load => {
                Complaint::LoadDead { load: dead }
            }
            Complaint::LoadDead { load: dead } => {
                let when = format!("with {} on", speak::name(&load));
                return Err(self.dead_when(&[dead], &load, &when));
            }
            Complaint::Dead { places } => return Err(self.places_dead_when(&places, &load)),
            other => other,
        })
    }
}
