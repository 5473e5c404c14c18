//! An inquiry: it is told things one by one and says what to suspect and what to do next.

use std::collections::BTreeSet;

use super::act::breakers_moved;
use super::asking::{Reckoned, worked_on};
use super::belief::{Belief, Evidence, Hypothesis, Who};
use super::class::{Apart, Class, classes};
use super::closed::{Closed, last_repair};
use super::concern::Fed;
use super::evidence::Fact;
use super::group::{groups, suspects};
use super::look::Channel;
use super::model::{ALL_OFF, ALL_ON, DESCRIBED, Model, Set};
use super::overload::overload;
use super::possible::Possible;
use super::symptom::{Symptom, Way, dead_without, halves, more_on, number, switches_before};
use super::told::{
    ToldProblem, check_complaint, check_load, check_mended, check_place, facts_of, look_where_dead,
    settings_of,
};
use super::{
    Account, Complaint, Effort, Explanation, Findings, Means, Moment, NextTest, Observation,
    Overload, Parting, ReadingError, Seen, Suspect, Told,
};
use crate::circuit::{Circuit, LoadKind};
use crate::condition::{Condition, SwitchPosition};
use crate::instrument::{Instrument, Place, Request};

/// A search for what is wrong with one circuit. It does no input or output: it is told what was
/// seen and answers.
///
/// ```
/// use slotwise::circuit::file;
/// use slotwise::diagnosis::{Complaint, Inquiry, Means};
/// let text = "(format: 1, name: \"Potting shed\", circuits: [(id: \"c1\", amperes: 15)],
///     boxes: [(id: \"door\", from: \"c1\", feet: 20), (id: \"bench\", from: \"door\", feet: 9)])";
/// let circuit = file::read(text).unwrap().circuit;
/// let mut inquiry = Inquiry::new(&circuit, Means::default());
/// inquiry.complain(&Complaint::DeadFrom { place: "bench".into() }).unwrap();
/// let findings = inquiry.findings();
/// // Somewhere from the load side of the door's box on: an open hot or an open neutral.
/// assert!(findings.suspects[0].boxes.contains(&"door".to_string()), "its load side");
/// assert!(findings.nothing_wrong < 0.1);
/// ```
///
/// The whole way, with a condition that the inquiry is not told in place of a building: each test is
/// answered from it as the test has things stand, once what trips then has tripped.
///
/// ```
/// use slotwise::Condition;
/// use slotwise::circuit::file;
/// use slotwise::diagnosis::{
///     Advice, Because, Complaint, Inquiry, Means, Observation, Protected, Seen, Showed,
/// };
/// use slotwise::instrument::measure;
/// use slotwise::protection::operate;
/// let text = "(format: 1, name: \"Potting shed\", circuits: [(id: \"c1\", amperes: 15)],
///     boxes: [(id: \"door\", from: \"c1\", feet: 20), (id: \"bench\", from: \"door\", feet: 9)])";
/// let circuit = file::read(text).unwrap().circuit;
/// let mut hidden = Condition::default();
/// hidden.say(&circuit, "neutral open at bench, line side").unwrap();
/// let mut inquiry = Inquiry::new(&circuit, Means::default());
/// inquiry.complain(&Complaint::DeadFrom { place: "bench".into() }).unwrap();
/// let stop = loop {
///     let seen = match inquiry.advise() {
///         Advice::Test(test) => {
///             // Where the run is parted, what is wrong with a joint that is off for it is left out.
///             let mut stands = hidden.clone();
///             stands.put_on(&test.moment.condition);
///             let stands = operate(&circuit, &stands).unwrap().remaining;
///             let readings = measure(&circuit, &stands, &test.looks).unwrap();
///             let looks = test.looks.into_iter().zip(&readings);
///             let looks = looks.map(|(look, reading)| {
///                 let (request, showed) = (Box::new(look), Showed::of_reading(reading));
///                 let seen = Seen::Instrument { request, showed };
///                 Observation { moment: test.moment.clone(), seen }
///             });
///             looks.collect::<Vec<_>>()
///         }
///         // A handle is looked at before anything is tested.
///         Advice::Stop(stop) if stop.because == Because::HandleFirst => {
///             let name = stop.go_to[0].name.clone().unwrap();
///             let stands = operate(&circuit, &hidden).unwrap().remaining;
///             let did = match stands.breakers.get(&name) {
///                 Some(false) => Protected::TripsAtOnce,
///                 _ => Protected::Holds,
///             };
///             let seen = Seen::Protection { name, did };
///             vec![Observation { moment: Default::default(), seen }]
///         }
///         Advice::Stop(stop) => break stop,
///     };
///     inquiry.observe_all(&seen).unwrap();
/// };
/// // Where to go, in this order, until the fault is seen.
/// assert!(stop.go_to.iter().any(|one| one.place == "bench"));
/// ```
///
/// A clone goes its own way and shares what has been solved: one inquiry that has been told
/// nothing serves many cases of one circuit.
#[derive(Clone)]
pub struct Inquiry<'c> {
    pub(super) model: Model<'c>,
    pub(super) means: Means,
    pub(super) effort: Effort,
    pub(super) fed: Fed,
    pub(super) evidence: Vec<Evidence>,
    /// What each piece of evidence is of, in the same order.
    told: Vec<Told>,
    reckoned: Reckoned,
    /// What was found off and closed since.
    pub(super) closed: Closed,
    pub(super) classes: Vec<Class>,
    /// The settings that classes were judged in, and what else they were parted by.
    judged: Vec<usize>,
    apart: Apart,
    /// Numbers of channels and possibilities that classes were made of.
    n_channels: usize,
    pub(super) belief: Belief,
    /// The group of each class.
    pub(super) groups: Vec<Option<usize>>,
    /// Suspects with their groups.
    pub(super) suspects: Vec<(usize, Suspect)>,
    /// How things stand, by number of the setting.
    pub(super) now: usize,
    /// Boxes where the run is not to be taken apart.
    pub(super) not_parted: Vec<Parting>,
    /// Tools at receptacles that are not to be asked for, by their numbers.
    left_out: BTreeSet<(usize, usize)>,
    /// The same of what was looked at twice and showed the same, until something is put right.
    seen_twice: BTreeSet<(usize, usize)>,
    /// Handles and switches that are not to be looked at first.
    pub(super) handles_left: BTreeSet<String>,
}

impl std::fmt::Debug for Inquiry<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Inquiry")
            .field("circuit", &self.model.circuit.parts().name)
            .field("told", &self.evidence.len())
            .finish_non_exhaustive()
    }
}

impl<'c> Inquiry<'c> {
    /// An inquiry into a circuit with what there is to work with; nothing is told yet.
    pub fn new(circuit: &'c Circuit, means: Means) -> Self {
        Self::with(circuit, means, ReadingError::default(), Effort::default())
    }

    /// The same with another judgement of reading errors and another bound on what is solved.
    pub fn with(circuit: &'c Circuit, means: Means, error: ReadingError, effort: Effort) -> Self {
        let mut inquiry = Self::untold(circuit, means, error, effort);
        inquiry.believe();
        inquiry
    }

    /// The same, which believes nothing yet.
    fn untold(circuit: &'c Circuit, means: Means, error: ReadingError, effort: Effort) -> Self {
        let means = means.sensible();
        let instruments = means.tools.iter().map(|tool| tool.instrument.clone()).collect();
        let model = Model::new(circuit, instruments, &means.fixed_loads, (&means.priors, error));
        Self {
            model,
            means,
            effort,
            fed: Fed::of(circuit),
            evidence: Vec::new(),
            told: Vec::new(),
            reckoned: Reckoned::default(),
            closed: Closed::default(),
            classes: Vec::new(),
            judged: Vec::new(),
            apart: Apart::default(),
            n_channels: 0,
            belief: Belief::default(),
            groups: Vec::new(),
            suspects: Vec::new(),
            now: DESCRIBED,
            not_parted: Vec::new(),
            left_out: BTreeSet::new(),
            seen_twice: BTreeSet::new(),
            handles_left: BTreeSet::new(),
        }
    }

    /// An inquiry that has been told a whole account.
    ///
    /// # Errors
    ///
    /// The first thing told that cannot be used, by its place: complaints first, then
    /// observations.
    pub fn of(circuit: &'c Circuit, account: &Account) -> Result<Self, (usize, ToldProblem)> {
        let (error, effort) = (ReadingError::default(), Effort::default());
        Self::untold(circuit, account.means.clone(), error, effort).tell_all(account)
    }

    /// The circuit that it is into.
    pub const fn circuit(&self) -> &'c Circuit {
        self.model.circuit
    }

    /// What it was told, in order: what [`Word`](super::Word) and [`Conflict`](super::Conflict) count from
    /// zero.
    ///
    /// ```
    /// use slotwise::circuit::file;
    /// use slotwise::diagnosis::{Complaint, Inquiry, Means, Told};
    /// let text = "(format: 1, circuits: [(id: \"c1\", amperes: 15)],
    ///     boxes: [(id: \"door\", from: \"c1\", feet: 20), (id: \"bench\", from: \"door\", feet: 9)])";
    /// let circuit = file::read(text).unwrap().circuit;
    /// let mut inquiry = Inquiry::new(&circuit, Means::default());
    /// let complaint = Complaint::DeadFrom { place: "bench".into() };
    /// inquiry.complain(&complaint).unwrap();
    /// assert_eq!(inquiry.told(), [Told::Complaint(complaint.clone())]);
    /// assert_eq!(inquiry.account().complaints, [complaint]);
    /// ```
    pub fn told(&self) -> &[Told] {
        &self.told
    }

    /// The same as an account, complaints apart, with what there is to work with.
    pub fn account(&self) -> Account {
        let mut account = Account { means: self.means.clone(), ..Account::default() };
        for told in &self.told {
            match told {
                Told::Complaint(one) => account.complaints.push(one.clone()),
                Told::Observation(one) => account.observations.push(one.clone()),
            }
        }
        account
    }

    /// An inquiry that has been told nothing, told a whole account; its means stay its own.
    ///
    /// # Errors
    ///
    /// As [`Inquiry::of`].
    pub(crate) fn tell_all(self, account: &Account) -> Result<Self, (usize, ToldProblem)> {
        let mut inquiry = self;
        for (at, complaint) in account.complaints.iter().enumerate() {
            let before = account.complaints.iter().take(at);
            // Said twice is said once.
            if before.clone().any(|one| one == complaint) {
                continue;
            }
            if let Some(other) = account.contradicts(inquiry.model.circuit, before, complaint) {
                return Err((at, other));
            }
            let told = Told::Complaint(complaint.clone());
            inquiry.hear(told).map_err(|problem| (at, problem))?;
        }
        let n_complaints = account.complaints.len();
        for (at, observation) in account.observations.iter().enumerate() {
            let told = Told::Observation(observation.clone());
            inquiry.hear(told).map_err(|problem| (n_complaints + at, problem))?;
        }
        inquiry.believe();
        Ok(inquiry)
    }

    /// Is told a complaint.
    ///
    /// # Errors
    ///
    /// It names something that the circuit does not have; then nothing is changed.
    pub fn complain(&mut self, complaint: &Complaint) -> Result<(), ToldProblem> {
        self.hear(Told::Complaint(complaint.clone()))?;
        self.believe();
        Ok(())
    }

    /// Is told an observation. One that says nothing changes nothing.
    ///
    /// # Errors
    ///
    /// It cannot be used; then nothing is changed.
    pub fn observe(&mut self, observation: &Observation) -> Result<(), ToldProblem> {
        self.hear(Told::Observation(observation.clone()))?;
        self.believe();
        Ok(())
    }

    /// Is told several observations, as the looks of one test: believes anew only after the last.
    ///
    /// # Errors
    ///
    /// The first that cannot be used, by its place; then nothing is changed.
    pub fn observe_all(&mut self, all: &[Observation]) -> Result<(), (usize, ToldProblem)> {
        let (told, now) = (self.evidence.len(), self.now);
        for (at, observation) in all.iter().enumerate() {
            if let Err(problem) = self.hear(Told::Observation(observation.clone())) {
                self.evidence.truncate(told);
                self.told.truncate(told);
                self.now = now;
                return Err((at, problem));
            }
        }
        self.believe();
        Ok(())
    }

    /// Is told how things stand now, which a test starts from.
    ///
    /// # Errors
    ///
    /// It names something that the circuit does not have.
    pub fn stands(&mut self, moment: &Moment) -> Result<(), ToldProblem> {
        let settings = settings_of(&mut self.model, moment)?;
        self.now = settings.first().copied().unwrap_or(self.now);
        Ok(())
    }

    /// Is told that a test cannot be made: its instrument is not asked for again at its
    /// receptacle, or the run not parted again there.
    pub fn leave_out(&mut self, test: &NextTest) {
        if let Some(parting) = &test.parting {
            self.not_parted.push(parting.clone());
            return;
        }
        let tool = self.means.tools.iter().position(|tool| tool.name == test.instrument);
        let outlet = self.model.circuit.outlets().position(|(_, outlet)| outlet.address == test.at);
        self.left_out.extend(tool.zip(outlet));
    }

    /// Is told that a handle, or a switch, cannot be looked at: it is not asked for before tests again.
    pub fn leave_handle(&mut self, name: &str) {
        self.handles_left.insert(name.to_owned());
    }

    /// Suspects, sets of them, and how likely it is that nothing is wrong or nothing known.
    pub fn findings(&self) -> Findings {
        let mut explanations: Vec<Explanation> = Vec::new();
        let (mut nothing_wrong, mut nothing_known) = (0.0, 0.0);
        for one in &self.belief.hypotheses {
            let Some(groups) = self.groups_of(one) else {
                nothing_known += one.weight;
                continue;
            };
            if groups.is_empty() {
                nothing_wrong += one.weight;
            }
            let suspects: Option<Vec<usize>> = groups.iter().map(|g| self.suspect_of(*g)).collect();
            let Some(mut suspects) = suspects else { continue };
            suspects.sort_unstable();
            match explanations.iter_mut().find(|known| known.suspects == suspects) {
                Some(known) => known.probability += one.weight,
                None => explanations.push(Explanation { suspects, probability: one.weight }),
            }
        }
        explanations.sort_by(|a, b| {
            b.probability.total_cmp(&a.probability).then(a.suspects.cmp(&b.suspects))
        });
        explanations.truncate(EXPLANATIONS);
        Findings {
            suspects: self.suspects.iter().map(|(_, suspect)| suspect.clone()).collect(),
            explanations,
            nothing_wrong,
            nothing_known,
        }
    }

    /// Breakers that are said to trip and have more on them than they carry, with nothing wrong.
    pub fn overloads(&self) -> Vec<Overload> {
        let overload = |told: &Evidence| match told {
            Evidence::Symptom(symptom) => symptom.overload.clone(),
            _ => None,
        };
        self.evidence.iter().filter_map(overload).collect()
    }

    /// The groups that a hypothesis has a fault in, in order; `None` for what is on no list.
    pub(super) fn groups_of(&self, hypothesis: &Hypothesis) -> Option<Vec<usize>> {
        let Who::Classes(set) = hypothesis.who else { return None };
        Some(self.groups_in(set))
    }

    /// The groups that a set of classes has a fault in, in order.
    pub(super) fn groups_in(&self, set: Set) -> Vec<usize> {
        let mut groups: Vec<usize> =
            set.iter().filter_map(|class| self.groups.get(class).copied().flatten()).collect();
        groups.sort_unstable();
        groups.dedup();
        groups
    }

    fn suspect_of(&self, group: usize) -> Option<usize> {
        self.suspects.iter().position(|(known, _)| *known == group)
    }

    /// Takes one thing, and keeps it beside the evidence that it makes.
    fn hear(&mut self, told: Told) -> Result<(), ToldProblem> {
        match &told {
            Told::Complaint(complaint) => self.take_complaint(complaint)?,
            Told::Observation(observation) => self.take(observation)?,
        }
        self.told.push(told);
        Ok(())
    }

    fn take_complaint(&mut self, complaint: &Complaint) -> Result<(), ToldProblem> {
        check_complaint(&self.model, complaint)?;
        use crate::condition::LoadState::{Off, On, Stalled};
        // What does not run, or runs poorly, was switched on by whoever saw it.
        let mut tried_on = Condition::default();
        let is_off = |load: &&String| !self.model.is_on(load, DESCRIBED);
        let tried_loads = Symptom::tried(complaint).iter().filter(is_off);
        tried_on.loads.extend(tried_loads.map(|load| (load.clone(), On)));
        let described = match tried_on.loads.is_empty() {
            true => DESCRIBED,
            false => self.model.setting(tried_on.clone()),
        };
        let mut ways = vec![(described, None)];
        if let Some(load) = Symptom::load(complaint).map(str::to_owned) {
            // What dims when a motor runs does so as it starts.
            let kind = self.model.circuit.load(&load).map(|load| load.kind);
            let starts = matches!(complaint, Complaint::Dim { .. })
                && matches!(kind, Some(LoadKind::Motor { .. }));
            let way = |model: &mut Model<'_>, mut condition: Condition| {
                condition.loads.insert(load.clone(), if starts { Stalled } else { On });
                let with = model.setting(condition.clone());
                condition.loads.insert(load.clone(), Off);
                (with, Some(model.setting(condition)))
            };
            ways = vec![way(&mut self.model, tried_on.clone())];
            // What else ran when something tripped nobody says.
            if let Complaint::Trips { .. } = complaint {
                let all_off = self.model.settings.get(ALL_OFF).cloned().unwrap_or_default();
                ways.push(way(&mut self.model, all_off));
            }
        }
        if let Complaint::StaysOn { load } = complaint {
            ways = self.thrown(load, &tried_on);
        }
        let lit = match complaint {
            Complaint::Flickers { loads } if loads.len() == 1 => loads.first(),
            Complaint::LoadDead { load } => Some(load),
            _ => None,
        };
        if let Some(thrown) = lit.and_then(|load| self.lit_otherwise(load)) {
            ways = vec![(described, Some(thrown))];
        }
        let mut symptom = Symptom::new(self.model.circuit, complaint, ways);
        symptom.overload = overload(&self.model, complaint);
        match complaint {
            Complaint::HalfTheHouse => symptom.halves = halves(&mut self.model),
            Complaint::AllDead { circuit }
                if self.model.circuit.branch_circuit(circuit).is_some() =>
            {
                symptom.dead = dead_without(&mut self.model, &[circuit.as_str()]);
            }
            _ => {}
        }
        self.evidence.push(Evidence::Symptom(symptom));
        self.settle_the_rest();
        Ok(())
    }

    /// Each switch on the way to a load in either position, whatever is supposed of how it stands.
    fn thrown(&mut self, load: &str, tried_on: &Condition) -> Vec<Way> {
        let circuit = self.model.circuit;
        let switches = circuit.load(load).map(|load| switches_before(circuit, load));
        let mut thrown: Vec<Way> = Vec::new();
        for switch in switches.unwrap_or_default() {
            let Some(described) = SwitchPosition::described(&switch.kind) else { continue };
            let mut at = |position: SwitchPosition| {
                let mut condition = tried_on.clone();
                condition.switches.insert(switch.id.clone(), position);
                self.model.setting(condition)
            };
            thrown.push((at(described.thrown()), Some(at(described))));
        }
        // One on the way may be there for something else.
        let share = self.model.predictor.looks.share_of(load);
        let given = |setting| Some(self.model.row(Set::SOUND, setting)?.value(share?));
        let switches = |&(with, without): &Way| {
            let both = given(with).zip(without.and_then(given));
            both.is_some_and(|(with, without)| (with - without).abs() > 0.5)
        };
        let own: Vec<Way> = thrown.iter().copied().filter(switches).collect();
        if own.is_empty() { thrown } else { own }
    }

    /// What is said of all the rest is of what no complaint has anything else to say of, whichever
    /// was told first.
    fn settle_the_rest(&mut self) {
        let circuit = self.model.circuit;
        let symptoms = self.evidence.iter().filter_map(|told| match told {
            Evidence::Symptom(symptom) => Some(symptom),
            _ => None,
        });
        let is_bright = symptoms.clone().any(Symptom::is_bright_at_times);
        let more_on = if is_bright { more_on(&mut self.model) } else { Vec::new() };
        let amiss: BTreeSet<usize> = symptoms.flat_map(|symptom| symptom.amiss(circuit)).collect();
        for (at, told) in self.evidence.iter_mut().enumerate() {
            let Evidence::Symptom(symptom) = told else { continue };
            let is_varied = symptom.varies_with_loads(&more_on);
            if symptom.rest_works(circuit, &amiss) || is_varied {
                self.reckoned.forget(at);
            }
        }
    }

    fn take(&mut self, observation: &Observation) -> Result<(), ToldProblem> {
        if let Seen::Opened { place, found } = &observation.seen {
            check_place(self.model.circuit, place)?;
            let Some(place) = number(self.model.circuit, place) else { return Ok(()) };
            self.evidence.push(Evidence::Opened { place, found: found.clone() });
            return Ok(());
        }
        match &observation.seen {
            Seen::CalledAgain(complaint) => return self.take_complaint(complaint),
            Seen::Mended(what) => {
                check_mended(self.model.circuit, what)?;
                self.evidence.push(Evidence::Mended(what.clone()));
                self.seen_twice.clear();
                return Ok(());
            }
            Seen::TriedElsewhere { load, did } => {
                check_load(self.model.circuit, load)?;
                self.evidence.push(Evidence::Elsewhere { load: load.clone(), did: *did });
                return Ok(());
            }
            _ => {}
        }
        if let Seen::Instrument { request, .. } = &observation.seen
            && observation.says_nothing()
        {
            self.leave_out_what_is_not_sure(request);
        }
        look_where_dead(&mut self.model, observation);
        let moment = self.moment_of(observation);
        let settings = settings_of(&mut self.model, &moment)?;
        // The same look that shows the same again tells nothing: its errors are the same too. Where it
        // showed something else meanwhile, it is not.
        let told = facts_of(&mut self.model, observation)?;
        let last = |fact: &Fact| self.shown_last(&settings, fact);
        let facts: Vec<Fact> = told.iter().filter(|fact| last(fact).is_none()).cloned().collect();
        let again = told.first().filter(|_| facts.is_empty()).and_then(last);
        if facts.is_empty() {
            self.leave_out_what_was_seen(&told);
        }
        // What was taken apart, or made dead for an ohmmeter, is as it was before anything else is
        // done.
        if observation.moment.condition.faults.is_empty() && !is_dead(&observation.seen) {
            let mut stands = settings.first().and_then(|&at| self.model.settings.get(at)).cloned();
            // A tester's own load is gone with it.
            stands.iter_mut().for_each(|stands| stands.attached.clear());
            self.now = stands.map_or(self.now, |stands| self.model.setting(stands));
        }
        // What says nothing keeps its place among what was told.
        self.evidence.push(Evidence::Seen { settings, facts, again });
        Ok(())
    }

    /// How things stood: of a device that is said to trip or not to reset nobody knows, where it was
    /// measured dead and is not spoken of, whether it was closed.
    fn moment_of(&self, observation: &Observation) -> Moment {
        let mut moment = observation.moment.clone();
        if !is_dead(&observation.seen) {
            return moment;
        }
        let trips = self.evidence.iter().filter_map(|told| match told {
            Evidence::Symptom(symptom) => match &symptom.complaint {
                Complaint::Trips { breaker, .. } | Complaint::WontReset { breaker } => {
                    Some(breaker)
                }
                _ => None,
            },
            _ => None,
        });
        let is_unsaid = |name: &&String| {
            self.model.circuit.device(name).is_some()
                && !moment.condition.breakers.contains_key(*name)
        };
        let unsaid: Vec<String> = trips.filter(is_unsaid).cloned().collect();
        moment.unknown.extend(unsaid);
        moment
    }

    /// Where nobody could say what an instrument showed it is not held again: another one is.
    fn leave_out_what_is_not_sure(&mut self, request: &Request) {
        let tool = self.model.instruments.iter().position(|tool| *tool == request.instrument);
        let Some(number) = tool else { return };
        let looks = &self.model.predictor.looks;
        let is_it = |channel: &&Channel| {
            channel.instrument == Some(number)
                && looks.requests.get(channel.request).is_some_and(|one| one.place == request.place)
        };
        let outlet = match &request.place {
            // Whatever slots it is held to there.
            Place::Receptacle { address, .. } => {
                self.model.circuit.outlets().position(|(_, outlet)| outlet.address == *address)
            }
            _ => looks.channels.iter().find(is_it).and_then(|channel| channel.outlet),
        };
        self.left_out.extend(outlet.map(|outlet| (number, outlet)));
    }

    /// What was looked at twice and showed the same stands: it is not asked for again, but where
    /// something makes contact now and then.
    fn leave_out_what_was_seen(&mut self, again: &[Fact]) {
        if self.belief.hypotheses.first().is_some_and(Hypothesis::is_intermittent) {
            return;
        }
        let looks = &self.model.predictor.looks;
        let held = again.iter().filter_map(|fact| {
            let channel = looks.channels.get(fact.channel()?)?;
            channel.instrument.zip(channel.outlet)
        });
        self.seen_twice.extend(held);
    }

    /// Whether an instrument is not asked for at a receptacle.
    pub(super) fn is_left_out(&self, held: (usize, usize)) -> bool {
        self.left_out.contains(&held) || self.seen_twice.contains(&held)
    }

    /// The last look of the same kind, things standing alike, if it showed the same. What is seen after
    /// something was put right is seen of another circuit.
    fn shown_last(&self, at: &[usize], fact: &Fact) -> Option<usize> {
        let (told, last) = self.since_a_repair().find_map(|(told, evidence)| match evidence {
            Evidence::Seen { settings, facts, .. } if self.are_alike(settings, at) => {
                Some((told, facts.iter().find(|told| told.is_of_the_same(fact))?))
            }
            _ => None,
        })?;
        (last == fact).then_some(told)
    }

    fn are_alike(&self, settings: &[usize], at: &[usize]) -> bool {
        let alike = |a: &usize| at.iter().any(|b| self.model.stand_alike(*a, *b));
        settings.len() == at.len() && settings.iter().all(alike)
    }

    /// What was told since something was put right, with its number, the last first.
    pub(super) fn since_a_repair(&self) -> impl Iterator<Item = (usize, &Evidence)> {
        let since = last_repair(&self.evidence).map_or(0, |at| at + 1);
        self.evidence.iter().enumerate().skip(since).rev()
    }

    /// Whether a fact was told of one of these settings before, nothing put right since.
    pub(super) fn is_told(&self, at: &[usize], is: impl Fn(&Fact) -> bool) -> bool {
        self.since_a_repair().any(|(_, evidence)| match evidence {
            Evidence::Seen { settings, facts, .. } => {
                self.are_alike(settings, at) && facts.iter().any(&is)
            }
            _ => false,
        })
    }

    /// Believes anew, after everything that was told.
    fn believe(&mut self) {
        let mut judged = vec![DESCRIBED, ALL_OFF, ALL_ON];
        for evidence in &self.evidence {
            match evidence {
                Evidence::Seen { settings, facts, .. } if !facts.is_empty() => {
                    judged.extend(settings);
                }
                // Two appliances that trip the same breaker are one until somebody says which was on.
                Evidence::Symptom(symptom) => judged.extend(symptom.settings()),
                _ => {}
            }
        }
        judged.extend(breakers_moved(&mut self.model, self.now));
        judged.iter_mut().for_each(|setting| *setting = self.model.alike(*setting));
        judged.sort_unstable();
        judged.dedup();
        let n_channels = self.model.predictor.looks.channels.len();
        let closed = Closed::new(&self.model, &self.evidence);
        let (warm, worked_on) = (self.warm(), worked_on(self.model.circuit, &self.evidence));
        let apart = Apart { mended: closed.mended().clone(), warm, worked_on };
        let is_judged = self.judged == judged && self.n_channels == n_channels;
        if !is_judged || self.apart != apart {
            self.classes = classes(&self.model, &apart, &judged);
            self.apart = apart;
            self.judged = judged;
            self.n_channels = n_channels;
        }
        self.weigh_what_was_tried();
        self.closed = closed;
        let told = (self.evidence.as_slice(), &mut self.reckoned);
        self.belief = Belief::new(&self.model, &self.classes, told, &self.effort);
        let with = (&self.model, &self.closed);
        self.groups = groups(with, &self.classes, &self.belief, &self.judged);
        self.suspects = suspects(&self.model, &self.classes, &self.belief, &self.groups);
    }

    /// Places that are said to be warm, to smell or to spark.
    fn warm(&self) -> BTreeSet<usize> {
        let warm = self.evidence.iter().filter_map(|told| match told {
            Evidence::Symptom(Symptom { complaint: Complaint::Warm { place }, .. }) => {
                number(self.model.circuit, place)
            }
            _ => None,
        });
        warm.collect()
    }

    /// What somebody switched on to see whether it runs is as likely as not still on.
    fn weigh_what_was_tried(&mut self) {
        for class in &mut self.classes {
            let lead = self.model.possibles.get(class.lead);
            let Some(load) = lead.and_then(Possible::forgotten_load) else { continue };
            let channel = self.model.predictor.looks.share_of(load);
            let is_tried = self.evidence.iter().any(|told| match told {
                Evidence::Symptom(one) => {
                    Symptom::tried(&one.complaint).iter().any(|tried| tried == load)
                }
                Evidence::Seen { facts, .. } => facts
                    .iter()
                    .any(|fact| matches!(fact, Fact::Load { .. }) && fact.channel() == channel),
                Evidence::Opened { .. } | Evidence::Mended(_) | Evidence::Elsewhere { .. } => false,
            });
            if is_tried {
                class.odds = STILL_ON_ODDS;
            }
        }
    }

    /// The sets of possibilities that are solved for the likeliest hypotheses, with their
    /// weights.
    pub(super) fn likeliest(&self) -> impl Iterator<Item = (&Hypothesis, Option<Set>)> {
        self.belief.hypotheses.iter().map(|one| match one.who {
            Who::Classes(set) => (one, Some(set)),
            Who::Unknown => (one, None),
        })
    }
}

/// Whether it was seen with an ohmmeter, on what is dead.
fn is_dead(seen: &Seen) -> bool {
    matches!(
        seen,
        Seen::Instrument { request, .. } if matches!(request.instrument, Instrument::Ohmmeter(_))
    )
}

/// Odds that a load that was switched on to be tried was left so: judgement.
const STILL_ON_ODDS: f64 = 1.0;

/// Explanations listed at most.
const EXPLANATIONS: usize = 40;
