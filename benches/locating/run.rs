//! One scenario put to the diagnosis: telephone, tests, stop, and boxes opened until a true fault
//! is seen.

use std::time::Instant;

use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::diagnosis::{
    Advice, Because, Costs, Effort, Findings, GoTo, Inquiry, Means, Moment, Observation,
    ReadingError, Seen, Stop, ToldProblem,
};

use crate::after::{self, Round, Spot};
use crate::building::Building;
use crate::hidden::Trouble;
use crate::names;
use crate::policy::{Policy, Test, Thumb};
use crate::random::Chance;
use crate::scenario::Scenario;
use crate::score::Tally;
use crate::shows::shows;
use crate::truth::Truth;
use crate::visit::{Scene, told};

/// More tests than this nobody makes.
const TESTS_MAX: usize = 25;

/// More boxes than this nobody opens.
const BOXES_MAX: u32 = 12;

/// More repairs than this no call takes.
const REPAIRS_MAX: usize = 5;

/// Looking at a breaker's handle, seconds.
const GLANCE_S: f64 = 20.0;

/// Unplugging what a breaker feeds and closing it, seconds.
const UNPLUG_S: f64 = 60.0;

/// A break inside a cable is seen from one of its ends in so many of two.
const SEEN_FROM_AN_END: f64 = 0.5;

/// One case: a circuit with somebody who follows one policy.
pub(crate) struct Case<'a, 'c> {
    /// As described.
    pub(crate) building: &'a Building,
    /// The same as the library reads it.
    pub(crate) circuit: &'c Circuit,
    /// An inquiry into it that has been told nothing.
    pub(crate) blank: &'a Inquiry<'c>,
    /// What is there and who calls.
    pub(crate) scenario: &'a Scenario,
    /// Who chooses tests.
    pub(crate) policy: Policy,
    /// What every receptacle is read with after a repair.
    pub(crate) round: Round,
    /// Whether each case is told in full.
    pub(crate) tells: bool,
}

/// An inquiry into a circuit for one policy, told nothing yet.
pub(crate) fn blank(circuit: &Circuit, policy: Policy) -> Inquiry<'_> {
    let error = match policy {
        Policy::Naive => ReadingError::of_instruments_alone(),
        _ => ReadingError::default(),
    };
    let steps = if policy == Policy::OneStep { 1 } else { Effort::default().steps };
    // No rule of thumb has a place for parting the run: it stops and opens box after box.
    let parts = matches!(policy, Policy::Computed | Policy::OneStep | Policy::Naive);
    let means = Means { may_switch_breakers: parts, ..Means::default() };
    Inquiry::with(circuit, means, error, Effort { steps, ..Effort::default() })
}

/// How far it got.
struct Tested<'c> {
    inquiry: Inquiry<'c>,
    stop: Option<Stop>,
    seconds: f64,
    tests: usize,
    /// Breakers whose handles were looked at.
    looked_at: Vec<String>,
    /// Boxes opened, and what true fault was seen in the last, and where.
    opened: u32,
    found: Option<(Spot, Vec<Trouble>)>,
    /// In words, if each case is told.
    done: Vec<String>,
}

impl<'c> Case<'_, 'c> {
    /// Plays it and counts what came of it.
    pub(crate) fn play(&self, tally: &mut Tally, chance: &mut Chance) {
        let tested = match self.test(tally, chance) {
            Ok(tested) => tested,
            Err(problem) => {
                tally.refused.0 += 1;
                tally.refused.1.get_or_insert(problem.to_string());
                return;
            }
        };
        let findings = tested.inquiry.findings();
        if self.tells {
            self.tell(&findings, &tested);
        }
        self.count(&findings, &tested, tally);
        let troubles = &self.scenario.hidden.troubles;
        if !troubles.is_empty() && troubles.iter().all(|trouble| trouble.is_listed()) {
            self.to_the_end(tested, tally, chance);
        }
    }

    /// Opens boxes in the order given until a true fault is seen; that is put right, everything is
    /// read again, and so on until nothing is left to repair.
    fn to_the_end(&self, mut tested: Tested<'c>, tally: &mut Tally, chance: &mut Chance) {
        let n_troubles = self.scenario.hidden.troubles.len();
        let is_counted = self.open(&mut tested, tally, chance);
        if is_counted {
            tally.never_found += usize::from(tested.found.is_none());
            let least = u32::from(tested.found.is_none());
            tally.boxes.push(f64::from(tested.opened.max(least)));
        }
        let mut left = self.scenario.clone();
        for _ in 0..REPAIRS_MAX {
            let Some((spot, seen)) = tested.found.take() else { break };
            let with = (self.building, self.circuit);
            let (after, told) = after::put_right(with, &left, (&spot, &seen));
            left = after;
            let case = Case { scenario: &left, ..*self };
            tested.tests = 0;
            if case.read_again((&mut tested, &spot), &told, tally, chance).is_err() {
                break;
            }
            case.open(&mut tested, tally, chance);
        }
        let is_done = left.hidden.troubles.is_empty();
        tally.mended.count(is_done);
        tally.mended_by_count[n_troubles - 1].count(is_done);
        let hidden = &left.hidden;
        tally.mended_as_shown.count(is_done || !shows(self.building, hidden, &hidden.troubles));
        tally.boxes_in_all.push(f64::from(tested.opened));
        tally.seconds_in_all.push(tested.seconds);
        if self.tells && !is_done {
            println!("  left unmended {:?}", left.hidden.troubles);
        }
    }

    /// After a repair: it is told, every receptacle is read, and testing goes on.
    fn read_again(
        &self,
        (tested, spot): (&mut Tested<'c>, &Spot),
        told: &[Observation],
        tally: &mut Tally,
        chance: &mut Chance,
    ) -> Result<(), ToldProblem> {
        for one in told {
            tested.inquiry.observe(one)?;
        }
        if let Spot::Handle(name) = spot
            && let Some(holds) = self.scene().handle(name, Moment::default(), chance)
        {
            tested.inquiry.observe(&holds)?;
        }
        tested.looked_at.clear();
        tested.seconds += after::round(&self.scene(), &mut tested.inquiry, self.round, chance)?;
        self.go_on(tested, tally, chance)?;
        if self.tells {
            let because = tested.stop.as_ref().map(|stop| stop.because);
            println!("  mended {told:?}; then {because:?}");
        }
        Ok(())
    }

    /// What was there, what was said and done, and what is believed.
    fn tell(&self, findings: &Findings, tested: &Tested<'_>) {
        let truth = Truth { building: self.building, hidden: &self.scenario.hidden };
        println!("there: {:?}", self.scenario.hidden.troubles);
        if let Some(unknown) = &self.scenario.hidden.unknown {
            println!("  unknown load: {unknown:?}");
        }
        println!("  said: {:?}", self.scenario.call);
        for line in &tested.done {
            println!("  {line}");
        }
        let because = tested.stop.as_ref().map(|stop| stop.because);
        let (wrong, known) = (findings.nothing_wrong, findings.nothing_known);
        let exact = truth.is_exactly(findings).0;
        println!(
            "  stop {because:?}; exact {exact}; nothing wrong {wrong:.3}, nothing known {known:.3}"
        );
        for found in findings.explanations.iter().take(3) {
            println!("  together {:.3} {:?}", found.probability, found.suspects);
        }
        for suspect in findings.suspects.iter().take(4) {
            let mark = if truth.holds(suspect) { '+' } else { '-' };
            let faults: Vec<String> = suspect
                .faults
                .iter()
                .take(4)
                .map(|member| {
                    let fault = &member.fault;
                    format!("{} {:?} {:?}", fault.kind.code(), fault.conductors, fault.subjects)
                })
                .collect();
            println!("  {mark} {:.3} {}", suspect.probability, faults.join(" | "));
        }
    }

    fn test(&self, tally: &mut Tally, chance: &mut Chance) -> Result<Tested<'c>, ToldProblem> {
        let mut inquiry = self.blank.clone();
        let (complaint, observation) = told(&self.scenario.call);
        inquiry.complain(&complaint)?;
        if let Some(observation) = observation {
            inquiry.observe(&observation)?;
        }
        let mut tested = Tested {
            inquiry,
            stop: None,
            seconds: 0.0,
            tests: 0,
            looked_at: Vec::new(),
            opened: 0,
            found: None,
            done: Vec::new(),
        };
        self.go_on(&mut tested, tally, chance)?;
        tally.capped += usize::from(tested.stop.is_none() && tested.found.is_none());
        Ok(tested)
    }

    /// Tests until told to stop.
    fn go_on(
        &self,
        tested: &mut Tested<'_>,
        tally: &mut Tally,
        chance: &mut Chance,
    ) -> Result<(), ToldProblem> {
        let scene = self.scene();
        let mut thumb = Thumb::new(self.policy, self.building, &self.scenario.call);
        tested.stop = None;
        while tested.tests < TESTS_MAX {
            let start = Instant::now();
            let advice = tested.inquiry.advise();
            tally.choice_ms.push(start.elapsed().as_secs_f64() * 1e3);
            let computed = match advice {
                Advice::Stop(stop) => {
                    let first = stop.go_to.first().filter(|first| first.handle);
                    let handle = first.map(|first| first.name.clone().unwrap_or_default());
                    let is_unplugged = stop.because == Because::UnpluggedFirst;
                    let is_new = |one: &String| is_unplugged || !tested.looked_at.contains(one);
                    let Some(handle) = handle.filter(is_new) else {
                        tested.stop = Some(stop);
                        return Ok(());
                    };
                    let stands = stop.moment.clone().unwrap_or_default();
                    // Nothing is opened for it: the handle is looked at, and closed again.
                    let Some(seen) = scene.handle(&handle, stands, chance) else { return Ok(()) };
                    if is_unplugged {
                        tested.inquiry.leave_handle(&handle);
                        tested.seconds += UNPLUG_S - GLANCE_S;
                    }
                    if self.tells {
                        tested.done.push(seen_in_words(&seen));
                    }
                    tested.looked_at.push(handle);
                    tested.seconds += GLANCE_S;
                    tested.tests += 1;
                    tested.inquiry.observe(&seen)?;
                    continue;
                }
                Advice::Test(test) => Test::from(*test),
            };
            let test = match self.policy {
                Policy::Computed | Policy::OneStep | Policy::Naive => Some(computed),
                _ => thumb.next(&tested.inquiry.findings(), &Condition::default()),
            };
            let Some(test) = test else { return Ok(()) };
            tested.seconds += test.cost_s;
            tested.tests += 1;
            if let Some(place) = test.opens {
                // Boxes are counted apart.
                tested.seconds -= Costs::default().open_box_s;
                tested.opened += 1;
                if self.tells {
                    tested.done.push(format!("parted the run at {place}"));
                }
                let seen = self.seen_at(&place, chance);
                if !seen.is_empty() {
                    // What is seen is not told, so that the findings are those before it.
                    tested.found = Some((Spot::Box(place), seen));
                    return Ok(());
                }
                tested.inquiry.observe(&nothing_at(place))?;
            }
            let looks = test.looks.iter();
            let seen: Vec<Observation> =
                looks.filter_map(|look| scene.perform(look, &test.condition, chance)).collect();
            if self.tells {
                tested.done.extend(seen.iter().map(seen_in_words));
            }
            tested.inquiry.observe_all(&seen).map_err(|(_, problem)| problem)?;
        }
        Ok(())
    }

    const fn scene(&self) -> Scene<'_> {
        Scene {
            building: self.building,
            hidden: &self.scenario.hidden,
            person: &self.scenario.person,
        }
    }

    fn count(&self, findings: &Findings, tested: &Tested<'_>, tally: &mut Tally) {
        let truth = Truth { building: self.building, hidden: &self.scenario.hidden };
        let troubles = &self.scenario.hidden.troubles;
        let because = tested.stop.as_ref().map(|stop| stop.because);
        let nothing_fits = because == Some(Because::NothingKnown);
        if troubles.is_empty() {
            tally.nothing_wrong.count(because == Some(Because::NothingWrong));
            return;
        }
        if troubles.iter().any(|trouble| !trouble.is_listed()) {
            tally.nothing_fits.count(nothing_fits);
            if !nothing_fits {
                let first = findings.suspects.first();
                tally.unlisted_place.count(first.is_some_and(|one| truth.is_mostly(one)));
            }
            return;
        }
        tally.false_alarm.count(nothing_fits);
        let at = |n: usize| findings.suspects.get(n).is_some_and(|suspect| truth.holds(suspect));
        tally.first.count(at(0));
        if troubles.iter().any(|trouble| matches!(trouble, Trouble::Fickle(_))) {
            tally.intermittent_first.count(at(0));
        }
        tally.first_by_count[troubles.len() - 1].count(at(0));
        tally.among_three.count((0..3).any(at));
        let (exact, as_shown) = truth.is_exactly(findings);
        tally.exact.count(exact);
        tally.exact_by_count[troubles.len() - 1].count(exact);
        tally.exact_as_shown.count(as_shown);
        let claimed = findings.suspects.first().map_or(0.0, |suspect| suspect.probability);
        tally.claims.claim(claimed, at(0));
        tally.seconds.push(tested.seconds);
        tally.tests.push(tested.tests as f64);
    }

    /// Opens boxes in the order given until a true fault is seen; whether there was any to see.
    fn open(&self, tested: &mut Tested<'_>, tally: &mut Tally, chance: &mut Chance) -> bool {
        let troubles = &self.scenario.hidden.troubles;
        // What a box does not show is not looked for in one.
        let is_seen = |trouble: &Trouble| {
            matches!(trouble, Trouble::Sag(_)) || !names::boxes(*trouble).is_empty()
        };
        // Handles and appliances looked at, and boxes.
        let mut seen: Vec<GoTo> = Vec::new();
        let is_same = |a: &GoTo, b: &GoTo| {
            let how = |one: &GoTo| (one.handle, one.supply);
            a.place == b.place && how(a) == how(b) && a.appliance == b.appliance
        };
        while tested.found.is_none() && tested.opened < BOXES_MAX {
            let Some(stop) = tested.stop.take() else { break };
            let unseen = |next: &&GoTo| !seen.iter().any(|known| is_same(known, next));
            let Some(next) = stop.go_to.iter().find(unseen).cloned() else { break };
            seen.push(next.clone());
            if !next.opens_a_box() {
                tested.found = self.seen_outside(&next);
                // Else it stands as it should: the next in the order.
                tested.stop = Some(stop);
                continue;
            }
            tested.opened += 1;
            if self.tells {
                println!("  opened {}", next.place);
            }
            let seen = self.seen_at(&next.place, chance);
            if !seen.is_empty() {
                tested.found = Some((Spot::Box(next.place), seen));
                break;
            }
            let told = tested.inquiry.observe(&nothing_at(next.place));
            if told.is_err() || self.go_on(tested, tally, chance).is_err() {
                break;
            }
        }
        troubles.iter().any(is_seen)
    }

    /// A true fault that is seen without opening anything, and where.
    fn seen_outside(&self, next: &GoTo) -> Option<(Spot, Vec<Trouble>)> {
        let seen = self.scenario.hidden.troubles.iter().find(|trouble| match trouble {
            Trouble::BreakerOff => next.handle,
            Trouble::Sag(_) => next.supply,
            Trouble::CaseLeak { load, .. } => {
                next.appliance.as_deref() == Some(self.building.loads[*load].id.as_str())
            }
            _ => false,
        })?;
        let spot = match (seen, &next.appliance) {
            (Trouble::BreakerOff, _) => Spot::Handle(next.name.clone().unwrap_or_default()),
            (_, Some(load)) => Spot::Appliance(load.clone()),
            _ => Spot::Supply,
        };
        Some((spot, vec![*seen]))
    }

    fn seen_at(&self, place: &str, chance: &mut Chance) -> Vec<Trouble> {
        let number = match place {
            "panel" => None,
            other => match self.building.number(other) {
                None => return Vec::new(),
                number => number,
            },
        };
        let is_seen = |trouble: &&Trouble| {
            let here = names::boxes(**trouble).contains(&number);
            let in_cable = matches!(trouble, Trouble::Broken { .. });
            here && (!in_cable || chance.happens(SEEN_FROM_AN_END))
        };
        self.scenario.hidden.troubles.iter().filter(is_seen).copied().collect()
    }
}

/// A box was opened and every joint looked sound.
fn nothing_at(place: String) -> Observation {
    Observation { moment: Moment::default(), seen: Seen::Opened { place, found: Vec::new() } }
}

fn seen_in_words(seen: &Observation) -> String {
    let loads = &seen.moment.condition.loads;
    match &seen.seen {
        Seen::Instrument { request, showed } => {
            format!("{} {:?} {showed:?} {loads:?}", request.instrument.name(), request.place)
        }
        other => format!("{other:?}"),
    }
}
