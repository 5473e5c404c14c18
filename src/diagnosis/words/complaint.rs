//! What was complained of: `dead from kiln on`, `lights brighten when the oven starts`.

use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;
use crate::diagnosis::{Complaint, WhenItTrips};

use super::reader::{Heard, Reader};

mod does;
mod tell;

use does::{DOES, Does};
pub(super) use tell::tell;

const LIGHTS: [&str; 5] = ["the lights", "lights", "lamps", "the lamps", "everything"];

const TINGLES: [&str; 8] = [
    "a tingle from",
    "a shock from",
    "tingle from",
    "tingles from",
    "tingling from",
    "shock from",
    "shocks from",
    "tingle at",
];

const WARM: [&str; 10] = [
    "hot",
    "sparks",
    "warm",
    "warm plate",
    "smells",
    "smells burnt",
    "smells of burning",
    "scorched",
    "buzzes",
    "crackles",
];

const WARM_AT: [&str; 9] = [
    "a burning smell at",
    "burning smell at",
    "smell at",
    "smoke at",
    "sparks at",
    "sparking at",
    "arcing at",
    "buzzing at",
    "crackling at",
];

/// What a complaint may begin with, for who said something else.
const FORMS: [&str; 9] = [
    "dead from BOX on",
    "BOX dead",
    "half of BOX dead",
    "lights dim",
    "lights brighten when LOAD runs",
    "breaker CIRCUIT trips at once",
    "DEVICE does not reset",
    "tingle from LOAD",
    "nothing noticed",
];

impl Reader<'_> {
    /// One sentence: one complaint, or several where what is fed from a place is meant.
    pub(super) fn complaint(&mut self) -> Heard<Vec<Complaint>> {
        self.pass_marks();
        let one = self.unnamed()?;
        let complaints = match one {
            Some(complaints) => complaints,
            None => vec![self.named()?],
        };
        self.end()?;
        Ok(complaints)
    }

    /// Complaints that begin with no name.
    fn unnamed(&mut self) -> Heard<Option<Vec<Complaint>>> {
        let nothing = [
            "nothing noticed",
            "nothing seen",
            "nothing wrong",
            "nothing to be seen",
            "no complaint",
            "nothing",
        ];
        if self.takes_any(&nothing) {
            return Ok(Some(vec![Complaint::NothingSeen]));
        }
        if self.takes_any(&TINGLES) {
            return Ok(Some(vec![self.tingle()?]));
        }
        if self.takes_any(&WARM_AT) {
            let place = self.place()?;
            return Ok(Some(vec![Complaint::Warm { place }]));
        }
        if self.takes_any(&["no power at", "no power in", "no voltage at"]) {
            let mut places = vec![self.place()?];
            while self.another() {
                places.push(self.place()?);
            }
            return Ok(Some(vec![Complaint::Dead { places }]));
        }
        if self.takes_any(&["half of", "one half of", "half"]) {
            let place = self.place()?;
            self.is_dead()?;
            return Ok(Some(vec![Complaint::HalfDead { place }]));
        }
        let from =
            ["everything dead", "everything is dead", "all dead", "receptacles dead", "dead"];
        if self.takes_any(&from) {
            return self.dead_where().map(Some);
        }
        if self.takes_any(&["everything on", "all of", "everything in", "the whole of", "all on"]) {
            self.takes("circuit");
            let circuit = self.due_name(&[Class::Circuit], "branch circuit")?;
            self.is_dead()?;
            return Ok(Some(vec![Complaint::AllDead { circuit }]));
        }
        if self.takes_any(&["everything past", "everything beyond", "everything after"]) {
            let past = self.past()?;
            self.is_dead()?;
            return Ok(Some(past));
        }
        if self.takes_any(&LIGHTS) {
            return self.does(Vec::new()).map(|complaint| Some(vec![complaint]));
        }
        Ok(None)
    }

    fn tingle(&mut self) -> Heard<Complaint> {
        self.takes("the");
        self.takes_any(&["case of", "metal of", "cover of", "plate of", "plate at", "pipe at"]);
        self.takes("the");
        let from = self.due_name(&[Class::Load, Class::Place, Class::Device], "load or place")?;
        self.takes_any(&["case", "plate"]);
        Ok(Complaint::Tingle { from })
    }

    fn place(&mut self) -> Heard<String> {
        self.takes("the");
        self.takes_any(&["box", "receptacle", "outlet"]);
        if let Some(outlet) = self.outlet_address() {
            return Ok(outlet);
        }
        self.due_name(&[Class::Place, Class::Device], "box or receptacle")
    }

    /// One half of a duplex by its address, as `desk.top`.
    fn outlet_address(&mut self) -> Option<String> {
        let spelt = self.token(0).and_then(|token| self.known.spelling(token.text))?;
        let known = self.known;
        let mut outlets = known.circuit.outlets();
        let found = outlets.find(|(_, outlet)| outlet.address.as_str() == spelt)?;
        if self.known.is(Class::Place, spelt) {
            return None;
        }
        self.skip(1);
        Some(found.1.address.to_string())
    }

    /// After `dead`: from a place on, past a place, at places.
    fn dead_where(&mut self) -> Heard<Vec<Complaint>> {
        if self.takes("from") {
            let place = self.place()?;
            self.takes_any(&["onwards", "onward", "on"]);
            return Ok(vec![Complaint::DeadFrom { place }]);
        }
        if self.takes_any(&["past", "beyond", "after"]) {
            return self.past();
        }
        if self.takes_any(&["at", "in"]) {
            let mut places = vec![self.place()?];
            while self.another() {
                places.push(self.place()?);
            }
            return Ok(vec![Complaint::Dead { places }]);
        }
        Err(self.none_of("where it is dead", &["from", "past", "at"]))
    }

    /// Dead from each place on that is fed from this one.
    fn past(&mut self) -> Heard<Vec<Complaint>> {
        let span = self.span();
        let place = self.place()?;
        let places = &self.known.circuit.parts().places;
        let next = places.iter().filter(|next| next.fed_from.as_deref() == Some(place.as_str()));
        let dead: Vec<Complaint> =
            next.map(|next| Complaint::DeadFrom { place: next.id.clone() }).collect();
        if dead.is_empty() {
            let mut problem = self.here(format!("nothing is fed from {place}: the run ends there"));
            problem.span = span;
            return Err(problem.expected([format!("{} dead", speak::name(&place))]));
        }
        Ok(dead)
    }

    fn another(&mut self) -> bool {
        self.pass_marks();
        self.takes("and");
        !self.is_done()
    }

    fn is_dead(&mut self) -> Heard<()> {
        self.takes_any(&["is", "are", "all", "completely"]);
        match self.takes_any(&["dead", "out", "without power", "does not work"]) {
            true => Ok(()),
            false => Err(self.none_of("what is the matter with it", &["dead"])),
        }
    }

    /// Complaints that begin with a name.
    fn named(&mut self) -> Heard<Complaint> {
        self.takes("the");
        let mut ahead = self.clone();
        if ahead.clone().protection().is_none() && ahead.takes_any(&["breaker", "circuit"]) {
            // Where there is one, it needs no name.
            let poles = &self.known.circuit.parts().branch_circuits;
            let mut unnamed = ahead.clone();
            if let [only] = poles.as_slice()
                && let Some(complaint) = unnamed.protective(only.id.clone())?
            {
                *self = unnamed;
                return Ok(complaint);
            }
            return Err(ahead.no_such("breaker", ahead.names(&[Class::Circuit])));
        }
        if let Some(breaker) = ahead.protection()
            && let Some(complaint) = ahead.protective(breaker)?
        {
            *self = ahead;
            return Ok(complaint);
        }
        let mut loads = Vec::new();
        let mut places = Vec::new();
        loop {
            if let Some(load) = self.load_and_no_place() {
                loads.push(load);
            } else if let Ok(place) = self.clone().place() {
                self.place()?;
                places.push(place);
            } else {
                return Err(self.no_complaint(!loads.is_empty() || !places.is_empty()));
            }
            self.pass_marks();
            if !self.takes("and") && !self.name_is_next() {
                break;
            }
        }
        match (places.is_empty(), loads.is_empty()) {
            (false, true) => self.places_are(places),
            (true, _) => self.does(loads),
            (false, false) => Err(self
                .here("loads and places in one breath: say each in a sentence of its own")
                .expected(["`;` between the two"])),
        }
    }

    fn name_is_next(&self) -> bool {
        let mut ahead = self.clone();
        ahead.name(&[Class::Load, Class::Place, Class::Device]).is_some()
    }

    /// A load that is not also the name of a place: there the place is meant, unless the word
    /// `load` stands before it.
    fn load_and_no_place(&mut self) -> Option<String> {
        let mut ahead = self.clone();
        let load = ahead.load()?;
        let said = self.token(0).is_some_and(|token| {
            ["load", "appliance"].iter().any(|word| token.text.eq_ignore_ascii_case(word))
        });
        if self.known.is(Class::Place, &load) && !said {
            return None;
        }
        *self = ahead;
        Some(load)
    }

    /// What a breaker or a protective device does; none if the name was meant as a place.
    fn protective(&mut self, breaker: String) -> Heard<Option<Complaint>> {
        self.takes_any(&["keeps", "always"]);
        if self.takes_any(&["does not reset", "will not reset", "wont reset", "wont  reset"]) {
            return Ok(Some(Complaint::WontReset { breaker }));
        }
        if self.takes_any(&["all dead", "is dead", "dead", "is all dead"]) {
            return Ok(Some(Complaint::AllDead { circuit: breaker }));
        }
        if !self.takes_any(&["trips", "tripping", "tripped"]) {
            return Ok(None);
        }
        let at_once = [
            "at once",
            "immediately",
            "as soon as it is closed",
            "straight away",
            "instantly",
            "right away",
        ];
        if self.takes_any(&at_once) {
            return Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::AtOnce }));
        }
        if self.takes_any(&["after a while", "after minutes", "later", "after some time"]) {
            return Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::AfterAWhile }));
        }
        if self.takes_any(&["when", "with", "as soon as", "while"]) {
            let load = self.running()?;
            return Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::WithLoad { load } }));
        }
        self.takes_any(&["now and then", "sometimes", "at random"]);
        Ok(Some(Complaint::Trips { breaker, when: WhenItTrips::NowAndThen }))
    }

    /// A load that runs.
    fn running(&mut self) -> Heard<String> {
        let load = match self.load() {
            Some(load) => load,
            None => self.due_name(&[Class::Load], "load")?,
        };
        self.takes_any(&[
            "starts",
            "runs",
            "running",
            "is on",
            "is running",
            "on",
            "comes on",
            "is switched on",
        ]);
        Ok(load)
    }

    fn places_are(&mut self, places: Vec<String>) -> Heard<Complaint> {
        self.takes_any(&["is", "are"]);
        let one = (places.len() == 1).then(|| places.first().cloned()).flatten();
        if let Some(place) = one {
            if self.takes_any(&["half dead", "dead in one half"]) {
                return Ok(Complaint::HalfDead { place });
            }
            if self.takes_any(&WARM) {
                return Ok(Complaint::Warm { place });
            }
            if self.takes_any(&["tingles", "gives shocks", "shocks"]) {
                return Ok(Complaint::Tingle { from: place });
            }
        }
        self.takes_any(&["all", "both"]);
        if self.takes_any(&[
            "dead",
            "out",
            "without power",
            "no power",
            "has no power",
            "do not work",
        ]) {
            return Ok(Complaint::Dead { places });
        }
        Err(self.none_of("what is the matter with a place", &["dead", "half dead", "warm"]))
    }

    fn does(&mut self, loads: Vec<String>) -> Heard<Complaint> {
        self.takes_any(&["is", "are", "burns", "runs", "goes", "gets"]);
        if let [load] = loads.as_slice()
            && self.takes_any(&["tingles", "gives shocks", "shocks"])
        {
            return Ok(Complaint::Tingle { from: load.clone() });
        }
        let words = ["dim", "brighten", "flicker", "dead"];
        let Some(does) = self.choice(&DOES) else {
            return Err(self.none_of("what lights or loads do", &words));
        };
        let when = match self.takes_any(&["when", "while", "as soon as", "with", "if"]) {
            true => Some(self.running()?),
            false => None,
        };
        if let (Some(load), Does::Flickers | Does::Dead) = (&when, does) {
            let message = "only what goes dim or bright is said with `when`";
            let instead = format!("lights dim when {} runs", speak::name(load));
            return Err(self.here(message).expected([instead]));
        }
        Ok(match (does, loads.as_slice()) {
            (Does::Dims, _) => Complaint::Dim { loads, when },
            (Does::Brightens, _) => Complaint::Bright { loads, when },
            (Does::Flickers, _) => Complaint::Flickers { loads },
            (Does::Dead, [load]) => Complaint::LoadDead { load: load.clone() },
            (Does::Dead, _) => {
                let message = "which place is dead? one load is said in a sentence";
                return Err(self.here(message).expected(["BOX dead", "dead from BOX on"]));
            }
        })
    }

    fn no_complaint(&self, name_due: bool) -> crate::condition::words::problem::Problem {
        let mut names = self.names(&[Class::Place, Class::Load, Class::Circuit, Class::Device]);
        if name_due {
            return self.no_such("place or load", names);
        }
        names.extend(["dead", "half", "lights", "breaker", "tingle", "everything", "nothing"]);
        let message = match self.token(0) {
            Some(token) => {
                format!("`{}` begins no complaint and is no name in this circuit", token.text)
            }
            None => "nothing is said".to_owned(),
        };
        let near = self.token(0).map_or(Vec::new(), |token| {
            crate::condition::words::suggest::nearest(token.text, names.iter().copied())
        });
        self.here(message).suggesting(near).expected(FORMS)
    }
}
