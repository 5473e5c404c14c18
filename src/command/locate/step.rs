//! `slotwise locate --step`: one test at a time, each answer a line of standard input.

use slotwise::circuit::Circuit;
use slotwise::condition::words::WordsProblem;
use slotwise::diagnosis::{
    Account, Advice, Complaint, Inquiry, Mended, Moment, NextTest, Observation, Seen, ToldProblem,
    words,
};
use slotwise::report::locate::NextReport;
use slotwise::report::text::DangersSaid;
use slotwise::report::{LocateReport, text};

use super::super::Outcome;
use super::super::input::{LINE_MAX, Lines};
use super::super::output::{Failure, emphasis, print};
use super::report_of;

/// What can be typed at any time.
const HELP: &str = "\
Answer with what is shown, as in the lines behind `if`, or with anything else
that was seen, as `heater runs` or `opened kiln: neutral loose, line side`, or
that was put right or tried, as `mended kiln`, `replaced lamp` or `toaster runs
elsewhere`.
  not sure, skip   leave this test out and ask for another
  back, undo       take the last answer back
  why              what speaks for and against each suspect
  quit             end, with everything known so far
";

/// Which joint of a box, where that was asked back.
const SIDES: [&str; 12] = [
    "line side",
    "load side",
    "line",
    "load",
    "the line side",
    "the load side",
    "supply side",
    "on the line side",
    "on the load side",
    "pigtail",
    "screw",
    "splice",
];

/// That nobody looked, or could.
const SKIPPED: [&str; 32] = [
    "skip",
    "next",
    "not sure",
    "did not look",
    "didn't look",
    "don't know",
    "dont know",
    "do not know",
    "i don't know",
    "i dont know",
    "no idea",
    "dunno",
    "can't",
    "cannot",
    "couldn't",
    "can't do that",
    "can't do it",
    "can't reach it",
    "cant reach it",
    "cannot reach it",
    "couldn't reach it",
    "can't get to it",
    "cant get to it",
    "cannot get to it",
    "couldn't get to it",
    "can't open it",
    "couldn't open it",
    "can't open the panel",
    "can't get in",
    "it is locked",
    "it's locked",
    "not possible",
];

pub(super) fn run<'c>(
    circuit: &'c Circuit,
    account: Account,
    inquiry: Inquiry<'c>,
) -> Result<Outcome, Failure> {
    let mut session = Session {
        circuit,
        account,
        inquiry,
        asked: None,
        tried: None,
        standing: Moment::default(),
        n_answers: 0,
        past: vec![],
        heard: vec![],
        unheard: None,
        is_half: false,
    };
    print(&format!("{}\n{HELP}\n", text::caution()))?;
    let mut lines = Lines::new();
    let mut report = session.report()?;
    let mut said = DangersSaid::default();
    print(&text::locate_step(&report, &mut said, emphasis()))?;
    loop {
        print("> ")?;
        let Some(line) = lines.next()? else { break };
        if line.is_cut {
            print(&format!("An answer has less than {LINE_MAX} bytes. Say it in several.\n"))?;
            continue;
        }
        match session.hear(line.text.trim(), &report)? {
            Heard::More => {
                report = session.report()?;
                print(&format!("\n{}", text::locate_step(&report, &mut said, emphasis())))?;
                if !session.heard.is_empty() {
                    print(&text::heard(&session.heard))?;
                }
            }
            Heard::Again(said) => print(&said)?,
            Heard::Enough => break,
        }
    }
    let report = session.report()?;
    print(&format!("\n{}", text::locate_whole(&report, emphasis())))?;
    Ok(Outcome::Done)
}

/// What an answer comes to.
enum Heard {
    /// Something new is known.
    More,
    /// Nothing new; this is to be said.
    Again(String),
    /// The person has had enough, or the fault was found.
    Enough,
}

struct Session<'c> {
    circuit: &'c Circuit,
    account: Account,
    inquiry: Inquiry<'c>,
    /// The test that was asked for; none where testing has ended.
    asked: Option<NextTest>,
    /// How everything is to stand where something is to be tried before any test.
    tried: Option<Moment>,
    /// How things stood when something was seen last.
    standing: Moment,
    /// The last answer, if it was not understood.
    unheard: Option<String>,
    /// Whether the other half of the last answer was asked for.
    is_half: bool,
    /// What was taken of the last answer, in canonical words.
    heard: Vec<String>,
    /// So many lines were read.
    n_answers: usize,
    /// How it all was before each answer, the last one last.
    past: Vec<Past<'c>>,
}

/// What an answer changes, as it was before.
struct Past<'c> {
    inquiry: Inquiry<'c>,
    n_complaints: usize,
    n_observations: usize,
    standing: Moment,
}

impl<'c> Session<'c> {
    fn report(&mut self) -> Result<LocateReport, Failure> {
        let advice = self.inquiry.advise();
        let report = report_of(&self.inquiry, &advice)?;
        self.tried = match &advice {
            Advice::Stop(stop) => stop.moment.clone(),
            Advice::Test(_) => None,
        };
        // Before what was found is mended nothing is asked for.
        self.asked = match (advice, &report.next) {
            (Advice::Test(test), NextReport::Test(_)) => Some(*test),
            _ => None,
        };
        Ok(report)
    }

    fn hear(&mut self, line: &str, report: &LocateReport) -> Result<Heard, Failure> {
        let unheard = self.unheard.take();
        if let Some(before) = unheard.filter(|_| SIDES.contains(&line.to_lowercase().as_str())) {
            return self.hear(&format!("{before}, {line}"), report);
        }
        self.n_answers += 1;
        self.heard.clear();
        match line.to_lowercase().replace('\u{2019}', "'").as_str() {
            "" | "help" | "?" => return Ok(Heard::Again(HELP.to_owned())),
            "quit" | "q" | "exit" => return Ok(Heard::Enough),
            "why" => return Ok(Heard::Again(text::locate_why(report, emphasis()))),
            "back" | "undo" => {
                return Ok(match self.past.pop() {
                    Some(past) => {
                        self.return_to(past);
                        Heard::More
                    }
                    None => Heard::Again("There is no answer to take back.\n".to_owned()),
                });
            }
            "no wait" | "wait" => return self.hear("back", report),
            said if SKIPPED.contains(&said.trim_end_matches(['.', '!'])) => {
                return Ok(self.skip(report));
            }
            _ => {}
        }
        let tools = &self.account.means.tools;
        // Where else something was seen depends on all that was told before.
        let understood = match words::is_of_others(self.circuit, tools, line) {
            true => Err(Vec::new()),
            false => self.understood(line, report),
        };
        let seen = match understood {
            // Of a switch that nobody threw nothing is known.
            Ok(seen) if seen.is_empty() => return Ok(self.skip(report)),
            Ok(seen) => seen,
            Err(problems) => {
                self.unheard = Some(line.to_owned());
                return match words::told_after(self.circuit, &self.account, line, true) {
                    // `all dark` is an answer that was not understood, and no dead house.
                    Ok((complaints, _)) if is_of_all(&complaints, line) => {
                        Ok(Heard::Again(self.misunderstood(line, &problems)))
                    }
                    Ok((complaints, seen)) => self.called(complaints, seen),
                    Err(others) => {
                        Ok(Heard::Again(self.misunderstood(line, &nearer(problems, others))))
                    }
                };
            }
        };
        self.called(Vec::new(), seen)
    }

    /// What was complained of only now, and what was seen. Of one answer all is taken or nothing.
    fn called(
        &mut self,
        complaints: Vec<Complaint>,
        seen: Vec<Observation>,
    ) -> Result<Heard, Failure> {
        self.unheard = None;
        let past = self.now();
        let beyond = self.not_measured_beyond(&seen);
        self.is_half = beyond.is_some();
        for one in complaints {
            // Said twice is said once.
            if self.account.complaints.contains(&one) {
                continue;
            }
            let contradicted = self.account.contradicted_by(self.circuit, &one);
            let taken = contradicted.map_or_else(|| self.inquiry.complain(&one), Err);
            if let Err(problem) = taken {
                self.return_to(past);
                return Ok(refused(&words::tell_complaint(self.circuit, &one), &problem));
            }
            self.heard.push(words::tell_complaint(self.circuit, &one));
            self.account.complaints.push(one);
        }
        let mended = self.mended_before(&seen);
        let note = mended.as_ref().map(|one| {
            let said = words::tell(self.circuit, &self.account.means.tools, one);
            format!("Heard as seen after `{said}`: if it is not, `back` takes both back.\n")
        });
        for one in mended.into_iter().chain(seen) {
            if let Err(problem) = self.inquiry.observe(&one) {
                self.return_to(past);
                let said = words::tell(self.circuit, &self.account.means.tools, &one);
                return Ok(refused(&said, &problem));
            }
            let is_whole = one.moment.condition.faults.is_empty();
            if is_whole && matches!(one.seen, Seen::Instrument { .. } | Seen::Load { .. }) {
                self.standing = one.moment.clone();
                // A tester's own load is gone with it.
                self.standing.condition.attached.clear();
            }
            self.heard.push(words::tell(self.circuit, &self.account.means.tools, &one));
            self.account.observations.push(one);
        }
        self.past.push(past);
        if let Some(note) = note {
            print(&note)?;
        }
        Ok(beyond.map_or(Heard::More, Heard::Again))
    }

    /// Asks for what was to be measured in a box, once, where nothing was found in it and that is all that is said.
    fn not_measured_beyond(&self, seen: &[Observation]) -> Option<String> {
        let test = self.asked.as_ref().filter(|_| !self.is_half)?;
        let parting = test.parting.as_ref()?;
        let is_opened = |one: &Observation| matches!(&one.seen, Seen::Opened { place, found } if *place == parting.place && found.is_empty());
        if !seen.iter().all(is_opened) {
            return None;
        }
        let asks = text::told(&format!(
            "Heard: nothing was found in {0}. And beyond it? With the conductors of cable {1} taken off their \
             joints there, say what the {2} shows, or `skip`.",
            parting.place, parting.cable, test.instrument
        ));
        // It begins a line of its own, behind no prompt.
        Some(format!("\n{asks}"))
    }

    /// That what was found was mended, where something is seen live after it and nobody said so.
    fn mended_before(&self, seen: &[Observation]) -> Option<Observation> {
        let place = self.account.found_and_not_mended()?.to_owned();
        let mended =
            Observation { moment: Moment::default(), seen: Seen::Mended(Mended::Box { place }) };
        seen.first().is_some_and(Observation::is_of_what_is_live).then_some(mended)
    }

    /// What was not understood of an answer, with its line and column.
    fn misunderstood(&self, line: &str, problems: &[WordsProblem]) -> String {
        let said = problems.iter().map(|problem| {
            let before = line.get(..problem.span.start).unwrap_or(line);
            let column = before.chars().count() + 1;
            // The line itself stands as it was typed, with what marks the place under it.
            let rendered = problem.render(line);
            let lines = rendered.lines().enumerate().map(|(at, line)| match at {
                0 | 1 => format!("{line}\n"),
                _ => text::told(line),
            });
            format!("your answers:{}:{column}\n{}", self.n_answers, lines.collect::<String>())
        });
        said.collect()
    }

    fn now(&self) -> Past<'c> {
        Past {
            inquiry: self.inquiry.clone(),
            n_complaints: self.account.complaints.len(),
            n_observations: self.account.observations.len(),
            standing: self.standing.clone(),
        }
    }

    fn return_to(&mut self, past: Past<'c>) {
        self.inquiry = past.inquiry;
        self.account.complaints.truncate(past.n_complaints);
        self.account.observations.truncate(past.n_observations);
        self.standing = past.standing;
    }

    /// An answer to the test, what was found in the box that was to be opened, or anything else
    /// that was seen.
    fn understood(
        &self,
        line: &str,
        report: &LocateReport,
    ) -> Result<Vec<Observation>, Vec<WordsProblem>> {
        let understood = self.understood_as_said(line, report).or_else(|problems| {
            let full = words::in_full(self.circuit, &self.account, line);
            let full = full.or_else(|| self.of_what_was_tried(line)).ok_or(problems)?;
            self.understood_as_said(&full, report)
        });
        let mut seen = understood?;
        if let Some(moment) = &self.tried {
            let is_it = |one: &&mut Observation| {
                matches!(one.seen, Seen::Protection { .. } | Seen::Load { .. })
            };
            // What the answer says of loads and switches itself holds.
            for one in seen.iter_mut().filter(is_it) {
                let (said, asked) = (&mut one.moment.condition, moment.condition.clone());
                for (load, state) in asked.loads {
                    said.loads.entry(load).or_insert(state);
                }
                for (switch, position) in asked.switches {
                    said.switches.entry(switch).or_insert(position);
                }
            }
        }
        Ok(seen)
    }

    /// `runs`, where it was asked what the load does that was said to be dead.
    fn of_what_was_tried(&self, line: &str) -> Option<String> {
        self.tried.as_ref()?;
        let load = self.account.complaints.iter().find_map(|complaint| match complaint {
            Complaint::LoadDead { load } => Some(load),
            Complaint::Flickers { loads } => match loads.as_slice() {
                [only] => Some(only),
                _ => None,
            },
            _ => None,
        })?;
        let does = line.strip_prefix("it ").unwrap_or(line);
        Some(format!("\"{load}\" {does}"))
    }

    fn understood_as_said(
        &self,
        line: &str,
        report: &LocateReport,
    ) -> Result<Vec<Observation>, Vec<WordsProblem>> {
        let tools = &self.account.means.tools;
        if let Some(test) = &self.asked {
            return words::answers(self.circuit, tools, test, &self.standing, line);
        }
        if let Some(handle) = handle_asked(report)
            && let Some(said) = words::of_handle(self.circuit, handle, line)
        {
            return Ok(said);
        }
        // It is the switch that was asked for.
        if let Some(handle) = handle_asked(report)
            && let Some(full) = words::of_switch(self.circuit, handle, line)
            && let Ok(seen) = words::observations(self.circuit, tools, &full)
        {
            return Ok(seen);
        }
        // What names its own place is of that place.
        let problems = match words::observations(self.circuit, tools, line) {
            Ok(seen) => return Ok(seen),
            Err(problems) => problems,
        };
        // `mended` alone is of the box where something was found last.
        if let Some(place) = self.account.found_and_not_mended()
            && let Ok(mended) =
                words::observations(self.circuit, tools, &format!("{line} \"{place}\""))
        {
            return Ok(mended);
        }
        if let NextReport::Stop(stop) = &report.next
            && let Some(first) = stop.go_to.first()
            && let Ok(opened) = words::found_in(self.circuit, tools, &first.place, line)
        {
            return Ok(opened);
        }
        Err(problems)
    }

    /// Leaves out the test, or the handle, that was asked for.
    fn skip(&mut self, report: &LocateReport) -> Heard {
        let past = self.now();
        match (self.asked.take(), handle_asked(report)) {
            (Some(test), _) => self.inquiry.leave_out(&test),
            (None, Some(handle)) => self.inquiry.leave_handle(handle),
            (None, None) => return Heard::Again(HELP.to_owned()),
        }
        self.past.push(past);
        Heard::More
    }
}

/// Whether it is complained of every circuit by a line that says no more than `all`.
fn is_of_all(complaints: &[Complaint], line: &str) -> bool {
    complaints.iter().any(|one| matches!(one, Complaint::AllDead { .. }))
        && line.split_whitespace().next().is_some_and(|first| first.eq_ignore_ascii_case("all"))
}

/// The handle or switch that is to be looked at before anything is tested.
fn handle_asked(report: &LocateReport) -> Option<&str> {
    match &report.next {
        NextReport::Stop(stop) if stop.because.is_a_beginning() => {
            stop.go_to.first()?.name.as_deref()
        }
        _ => None,
    }
}

/// What cannot be taken as it was said.
fn refused(said: &str, problem: &ToldProblem) -> Heard {
    Heard::Again(text::told(&format!("`{said}`: {problem}")))
}

/// What is wrong with a line as an answer, or as anything else: whichever way of hearing it went
/// further, or knows what was meant.
fn nearer(answer: Vec<WordsProblem>, other: Vec<WordsProblem>) -> Vec<WordsProblem> {
    let begins = |all: &[WordsProblem]| {
        let first = all.first();
        first.map(|one| (one.span.start, !one.suggestions.is_empty()))
    };
    if begins(&other) > begins(&answer) { other } else { answer }
}
