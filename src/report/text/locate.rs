//! [`LocateReport`] as text: the hazard and what to do next within the first five lines.

use std::collections::BTreeMap;

use crate::diagnosis::Because;
use crate::report::caution::CAUTION;
use crate::report::figure::{minutes, percent};
use crate::report::locate::{
    ExpectedReading, LocateReport, NextReport, StopReport, SuspectReport, TestReport,
    WarningReport, WordReport, one_of,
};

use super::Emphasis;
use super::layout::wrapped;

/// Outcomes of a test that are listed.
const BRANCHES_LISTED: usize = 5;

/// A suspect that is less likely than this after a test is not worth naming.
const FAINT: f64 = 0.05;

/// A suspect that is less likely than this after a test leaves it open.
const LEADS_FROM: f64 = 0.3;

/// Suspects less likely than this are counted and not listed, the first three aside ...
const LISTED_FROM: f64 = 0.02;

/// ... which are from this on; the first one always is.
const HARDLY: f64 = 0.005;

/// The suspects that are listed unless they are hardly likely.
const LISTED_AT_LEAST: usize = 3;

/// Suspects that are listed at most.
const LISTED_AT_MOST: usize = 6;

/// Faults of a suspect that are named.
const FAULTS_NAMED: usize = 4;

/// Things told that are named for a suspect, and against it.
const WORDS_NAMED: usize = 2;

/// Dangers that are said at most between two answers.
const DANGERS_SAID: usize = 3;

/// Two suspects are there together, and not one or the other, from this share of the less likely one on.
const TOGETHER_FROM: f64 = 0.5;

/// Outcomes less likely than this are not worth a line.
const REST_FROM: f64 = 0.005;

/// A search in 80 columns.
pub fn locate(report: &LocateReport, emphasis: Emphasis) -> String {
    format!("{}\n{}", locate_whole(report, emphasis), caution())
}

/// The caution in lines, for who says it once for several answers.
pub fn caution() -> String {
    wrapped("", CAUTION)
}

/// What was taken of an answer, for whoever gave it to see.
///
/// ```
/// use slotwise::report::text::heard;
/// let said = heard(&["breaker c1 holds".to_owned(), "kiln dead".to_owned()]);
/// assert_eq!(said, "Heard   breaker c1 holds; kiln dead\n");
/// ```
pub fn heard(said: &[String]) -> String {
    wrapped("Heard   ", &said.join("; "))
}

/// The same where the caution has been said already.
pub fn locate_whole(report: &LocateReport, emphasis: Emphasis) -> String {
    let teller = Teller { report, emphasis };
    let mut text = teller.first_warning();
    text.push_str(&teller.next());
    text.push_str(&teller.how_to_say_it());
    text.push_str(&teller.overloads());
    text.push_str(&teller.other_warnings());
    text.push_str(&teller.conflicts());
    text.push_str(&teller.suspects());
    text.push_str(&teller.told());
    text.push_str(&teller.after());
    text
}

/// The dangers that somebody was told of between answers, so that each is said once, and again when
/// it has grown graver.
///
/// ```
/// use slotwise::report::text::DangersSaid;
/// assert_eq!(DangersSaid::default(), DangersSaid::default());
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DangersSaid {
    /// How grave each was when it was said and where, by its kind.
    said: BTreeMap<&'static str, (Gravity, Vec<String>)>,
}

/// How grave a danger is, beside its severity.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Gravity {
    is_likely: bool,
    /// As things stand, and not only once something is switched on.
    is_now: bool,
}

impl Gravity {
    fn of(warning: &WarningReport) -> Self {
        Self { is_likely: warning.probability >= 0.5, is_now: !warning.once_on }
    }

    const fn is_graver_than(self, other: Self) -> bool {
        self.is_likely && !other.is_likely || self.is_now && !other.is_now
    }
}

impl DangersSaid {
    /// The gravest danger, and those that are new, have grown graver or are likely elsewhere since they were
    /// said; and whether each is one of those.
    fn due<'r>(&mut self, warnings: &'r [WarningReport]) -> Vec<(&'r WarningReport, bool)> {
        let mut grave: Vec<&WarningReport> = Vec::new();
        for warning in warnings.iter().filter(|warning| warning.is_said_at_once()) {
            if !grave.iter().any(|known| known.kind == warning.kind) {
                grave.push(warning);
            }
        }
        // What was over and comes back is new.
        self.said.retain(|kind, _| grave.iter().any(|known| known.kind == *kind));
        let mut to_say = Vec::new();
        for (at, warning) in grave.into_iter().enumerate() {
            let gravity = Gravity::of(warning);
            let known = self.said.get(warning.kind);
            let is_elsewhere = |there: &[String]| {
                let first = warning.addresses.first();
                gravity.is_likely && first.is_some_and(|first| !there.contains(first))
            };
            let is_new = known
                .is_none_or(|(known, there)| gravity.is_graver_than(*known) || is_elsewhere(there));
            if to_say.len() < DANGERS_SAID && (at == 0 || is_new) {
                to_say.push((warning, is_new));
                self.said.insert(warning.kind, (gravity, warning.addresses.clone()));
            }
        }
        to_say
    }
}

/// What to do next alone, as it is said between two answers, below the dangers that have not been
/// said yet; the gravest is said every time.
pub fn locate_step(report: &LocateReport, said: &mut DangersSaid, emphasis: Emphasis) -> String {
    let teller = Teller { report, emphasis };
    let mut text = String::new();
    let mut acts: Vec<&str> = Vec::new();
    for (warning, is_new) in said.due(&report.warnings) {
        // What is likely is told whole once, breaker and all.
        let act = match is_new && warning.is_grave() && warning.probability >= 0.5 {
            true => warning.advice.as_str(),
            false => first_sentence(&warning.advice),
        };
        // What several ask for is said with the first of them.
        let is_said = acts.contains(&act);
        text.push_str(&teller.warning(warning, if is_said { "" } else { act }));
        acts.push(act);
    }
    text.push_str(&teller.next());
    text.push_str(&teller.how_it_stands());
    text.push_str(&teller.overloads());
    text.push_str(&teller.conflicts());
    text.push_str(&teller.so_far());
    text.push_str(&teller.to_read_at_the_end());
    text
}

/// What speaks for and against the suspects, as it is said when asked why.
pub fn locate_why(report: &LocateReport, emphasis: Emphasis) -> String {
    Teller { report, emphasis }.suspects()
}

struct Teller<'r> {
    report: &'r LocateReport,
    emphasis: Emphasis,
}

impl Teller<'_> {
    fn heading(&self, title: &str) -> String {
        let Emphasis { heading, off, .. } = self.emphasis;
        format!("\n{heading}{title}{off}\n")
    }

    /// The gravest warning, short enough that what to do next stays in sight.
    fn first_warning(&self) -> String {
        let grave = self.report.warnings.iter().find(|warning| warning.is_grave());
        grave
            .map_or(String::new(), |warning| self.warning(warning, first_sentence(&warning.advice)))
    }

    /// What may be so and how likely, with advice behind it.
    fn warning(&self, warning: &WarningReport, advice: &str) -> String {
        let says = format!("{} {advice}", warning.how_likely());
        let mark = if warning.is_grave() { "DANGER" } else { "warning" };
        let text = wrapped(&format!("{mark:<8}"), &says);
        match warning.is_grave() {
            true => {
                let Emphasis { alarm, off, .. } = self.emphasis;
                text.replacen("DANGER", &format!("{alarm}DANGER{off}"), 1)
            }
            false => text,
        }
    }

    /// What to do about the danger that was said first, then all other warnings, each with what there is to
    /// do about it, if that is not said yet.
    fn other_warnings(&self) -> String {
        let warnings = &self.report.warnings;
        if warnings.is_empty() {
            return String::new();
        }
        let first = warnings.iter().position(WarningReport::is_grave);
        let order = first.into_iter().chain((0..warnings.len()).filter(|at| Some(*at) != first));
        let mut text = self.heading("Before you go on");
        let mut said: Vec<&str> = Vec::new();
        for (at, warning) in order.filter_map(|at| Some((at, warnings.get(at)?))) {
            let advice = warning.advice.as_str();
            // What is said of what to do next is not said again.
            let is_said = said.contains(&advice)
                || matches!(&self.report.next, NextReport::Stop(stop)
                    if stop.says.contains(advice.trim_end_matches('.')));
            let advice = if is_said { "" } else { advice };
            match Some(at) == first {
                true if advice.is_empty() => {}
                true => text.push_str(&wrapped("        ", advice)),
                false => text.push_str(&self.warning(warning, advice)),
            }
            said.push(&warning.advice);
        }
        text
    }

    fn next(&self) -> String {
        match &self.report.next {
            NextReport::Test(test) => self.test(test),
            NextReport::Stop(stop) => self.stop(stop),
            NextReport::Repair(repair) => self.mark("Found", &format!("{}.", repair.says)),
        }
    }

    fn mark(&self, word: &str, says: &str) -> String {
        let Emphasis { heading, off, .. } = self.emphasis;
        wrapped(&format!("{word:<8}"), says).replacen(word, &format!("{heading}{word}{off}"), 1)
    }

    fn test(&self, test: &TestReport) -> String {
        let says = format!("{} ({}).", test.says, minutes(test.cost_second));
        let mut text = self.mark("Next", &says);
        for branch in test.branches.iter().take(BRANCHES_LISTED) {
            let then = match (branch.suspect, branch.suspect_probability) {
                (Some(at), Some(probability)) => self.report.suspects.get(at).map_or_else(
                    || "then something else".to_owned(),
                    |suspect| {
                        let leads = format!("{} ({})", suspect.says, percent(probability));
                        match probability {
                            faint if faint < FAINT => "that alone settles nothing".to_owned(),
                            open if open < LEADS_FROM => format!("still open; {leads}"),
                            _ => leads,
                        }
                    },
                ),
                _ => "nothing wrong, or nothing known".to_owned(),
            };
            // What says nothing either way has no words of its own.
            let shows = match branch.shows.as_str() {
                "" => "whatever it shows".to_owned(),
                shows => format!("if {shows}"),
            };
            let says = match branch.boxes.as_slice() {
                _ if branch.is_seen => "if it is seen there: that is it".to_owned(),
                [] => format!("{shows}: {then}"),
                boxes => format!("{shows}: {}", one_of(boxes)),
            };
            text.push_str(&wrapped(&margin(branch.probability), &says));
        }
        // What is too seldom to be an outcome of its own is anything else too.
        let listed = test.branches.iter().take(BRANCHES_LISTED);
        let rest = 1.0 - listed.map(|branch| branch.probability).sum::<f64>();
        let says = match test.branches.len().saturating_sub(BRANCHES_LISTED) {
            0 if rest < REST_FROM => return text,
            0 => "if anything else: say what it shows".to_owned(),
            1 => "if anything else: 1 outcome more".to_owned(),
            several => format!("if anything else: {several} outcomes more"),
        };
        text.push_str(&wrapped(&margin(rest), &says));
        text
    }

    /// How things stand during the next test, where that is otherwise than described.
    fn stands(&self) -> Option<String> {
        let NextReport::Test(test) = &self.report.next else { return None };
        let is_said = !test.stands.is_empty() && test.breakers_off.is_empty();
        is_said.then(|| test.stands.join(", "))
    }

    /// The same for who types the whole again with one answer more.
    fn how_to_say_it(&self) -> String {
        let say = |stands: String| {
            wrapped(
                "        ",
                &format!("Say what it shows `with {stands}`: so things stand then."),
            )
        };
        self.stands().map_or_else(String::new, say)
    }

    /// The same for who answers: what is said without `with` is heard as seen so.
    fn how_it_stands(&self) -> String {
        let say = |stands: String| {
            let says = format!(
                "It is read with {stands}, and what you say is heard so: if things stand \
                 otherwise, say `with` how."
            );
            wrapped("        ", &says)
        };
        self.stands().map_or_else(String::new, say)
    }

    /// The two likeliest, and whether they are there together.
    fn so_far(&self) -> String {
        let report = self.report;
        let says = self.nothing_wrong();
        let nothing = (None, says.as_str(), report.nothing_wrong);
        let unknown = (None, "something that is on no list", report.nothing_known);
        let suspects = report.suspects.iter().enumerate().take(2);
        let suspects = suspects.map(|(at, one)| (Some(at), one.says.as_str(), one.probability));
        let mut so_far: Vec<(Option<usize>, &str, f64)> =
            [nothing, unknown].into_iter().chain(suspects).collect();
        so_far.sort_by(|a, b| b.2.total_cmp(&a.2));
        so_far.truncate(2);
        let said = so_far.iter().map(|(_, says, p)| format!("{says} ({})", percent(*p)));
        let joined = match so_far.as_slice() {
            [(Some(one), ..), (Some(other), _, less)] if self.are_together(*one, *other, *less) => {
                if *less < 0.5 {
                    "; and perhaps "
                } else {
                    "; and "
                }
            }
            _ => "; else ",
        };
        wrapped("So far  ", &said.collect::<Vec<_>>().join(joined))
    }

    /// Whether two suspects, of which the less likely one has this probability, are mostly there
    /// together.
    fn are_together(&self, one: usize, other: usize, less: f64) -> bool {
        let with_both = self.report.explanations.iter().filter(|explanation| {
            explanation.suspects.contains(&one) && explanation.suspects.contains(&other)
        });
        let both: f64 = with_both.map(|explanation| explanation.probability).sum();
        both >= TOGETHER_FROM * less
    }

    fn stop(&self, stop: &StopReport) -> String {
        let mut text = self.mark("Next", stop.says.trim_end_matches('.'));
        text = format!("{}.\n", text.trim_end());
        if stop.because.is_a_beginning() {
            text.push_str(&wrapped("        ", &format!("First, because {}.", stop.because_says)));
            return text;
        }
        text.push_str(&wrapped("        ", &format!("No more tests: {}.", stop.because_says)));
        // Where there is nothing to repair no place was named yet.
        let is_over = stop.because.is_over();
        for place in stop.go_to.iter().skip(usize::from(!is_over)).take(LISTED_AT_LEAST) {
            let says = match &place.appliance {
                Some(load) => format!("else unplug {load}"),
                None if place.handle => {
                    let handle = place.name.as_ref().filter(|name| **name != place.place);
                    let of = handle.map_or_else(String::new, |name| format!("{name} at "));
                    format!("else look at {of}{}", place.place)
                }
                None if place.supply => "else have the supply measured".to_owned(),
                None if place.service => {
                    format!("else have the service at {} seen to", place.place)
                }
                None => format!("else open {}", place.place),
            };
            text.push_str(&wrapped(&margin(place.chance), &says));
        }
        text
    }

    /// What is on a breaker that trips, where that is not what to do next already.
    fn overloads(&self) -> String {
        if self.report.overloads.is_empty() || self.is_overloaded() {
            return String::new();
        }
        let mut text = self.heading("With nothing wrong");
        for overload in &self.report.overloads {
            text.push_str(&wrapped("  ", &format!("{overload}.")));
        }
        text
    }

    /// Whether what to do next says it.
    fn is_overloaded(&self) -> bool {
        let NextReport::Stop(stop) = &self.report.next else { return false };
        self.report.overloads.iter().any(|overload| stop.says.contains(overload))
    }

    fn conflicts(&self) -> String {
        if self.report.conflicts.is_empty() {
            return String::new();
        }
        let mut text = self.heading("What does not fit");
        for conflict in &self.report.conflicts {
            text.push_str(&wrapped("  ", &format!("{}.", conflict.says)));
        }
        text
    }

    fn suspects(&self) -> String {
        let suspects = &self.report.suspects;
        let mut text = self.heading("Suspects");
        text.push_str(&self.together());
        let listed = suspects.iter().enumerate().filter(|(at, suspect)| {
            let from = if *at < LISTED_AT_LEAST { HARDLY } else { LISTED_FROM };
            *at == 0 || *at < LISTED_AT_MOST && suspect.probability >= from
        });
        let mut n_listed = 0;
        for (_, suspect) in listed {
            text.push_str(&self.suspect(suspect));
            n_listed += 1;
        }
        let rest = &suspects[n_listed..];
        if !rest.is_empty() {
            let likeliest = rest.first().map_or(0.0, |suspect| suspect.probability);
            let likeliest = percent(likeliest).replace("under ", "");
            let says = format!("{} more, none likelier than {likeliest}", rest.len());
            text.push_str(&wrapped("        ", &says));
        }
        let nothing = self.nothing_wrong();
        text.push_str(&wrapped(&margin(self.report.nothing_wrong), &nothing));
        text.push_str(&wrapped(&margin(self.report.nothing_known), "something that is on no list"));
        text
    }

    fn nothing_wrong(&self) -> String {
        let nothing = match self.report.mended.is_empty() {
            true => "nothing is wrong",
            false => "nothing else is wrong",
        };
        match self.report.dead_loads.as_slice() {
            [] => nothing.to_owned(),
            loads => format!("{nothing}, but for {} itself", loads.join(" or ")),
        }
    }

    /// That two faults, and not one, explain what was seen.
    fn together(&self) -> String {
        let Some(leading) = self.report.explanations.first() else { return String::new() };
        if leading.suspects.len() < 2 {
            return String::new();
        }
        let says: Vec<&str> = leading
            .suspects
            .iter()
            .filter_map(|at| self.report.suspects.get(*at))
            .map(|suspect| suspect.says.as_str())
            .collect();
        let says = format!(
            "{} faults together explain this ({}): {}",
            leading.suspects.len(),
            percent(leading.probability),
            says.join("; and ")
        );
        wrapped("  ", &says)
    }

    fn suspect(&self, suspect: &SuspectReport) -> String {
        let mut text = wrapped(&margin(suspect.probability), &suspect.says);
        if suspect.faults.len() > 1 {
            let named = suspect.faults.iter().take(FAULTS_NAMED);
            let mut named: Vec<String> =
                named.map(|one| format!("{} {}", one.sentence, percent(one.share))).collect();
            if suspect.faults.len() > FAULTS_NAMED {
                named.push(format!("{} more", suspect.faults.len() - FAULTS_NAMED));
            }
            text.push_str(&wrapped("        one of: ", &named.join("; ")));
        }
        if let Some(act) = &suspect.parted_by {
            text.push_str(&wrapped("        ", &format!("parted only by {act}")));
        }
        text.push_str(&words("for:     ", &suspect.speaks_for));
        text.push_str(&words("against: ", &suspect.speaks_against));
        text
    }

    fn told(&self) -> String {
        if self.report.told.is_empty() {
            return String::new();
        }
        let mut text = self.heading("As understood");
        let told = &self.report.told;
        for (at, one) in told.iter().enumerate() {
            // What was said with how things stood says it already.
            let with = format!("{one} with ");
            let mut later = told.iter().skip(at + 1);
            if !later.any(|other| other == one || other.starts_with(&with)) {
                text.push_str(&wrapped("  ", one));
            }
        }
        text
    }

    fn readings_after(&self, readings: &[ExpectedReading]) -> String {
        let mut text = self.heading("After the repair, everything should read");
        for reading in readings {
            text.push_str(&expected(reading));
        }
        text
    }

    /// Between two answers: where everything is to be read once more, what it should show.
    fn to_read_at_the_end(&self) -> String {
        match &self.report.next {
            NextReport::Repair(repair) => self.readings_after(&repair.after_repair),
            NextReport::Stop(stop) if stop.because == Because::Mended => {
                self.readings_after(&stop.after_repair)
            }
            _ => String::new(),
        }
    }

    fn after(&self) -> String {
        let mut text = String::new();
        let after_repair = match &self.report.next {
            NextReport::Test(_) => None,
            // Nothing is repaired before a handle was looked at.
            NextReport::Stop(stop) if stop.because.is_a_beginning() => None,
            NextReport::Stop(stop) => Some(&stop.after_repair),
            NextReport::Repair(repair) => Some(&repair.after_repair),
        };
        if let NextReport::Stop(stop) = &self.report.next
            && let Some(first) = stop.go_to.first().filter(|first| !first.look_for.is_empty())
        {
            text.push_str(&self.heading(&format!("What to check at {}", first.place)));
            for look in &first.look_for {
                text.push_str(&wrapped("  ", look));
            }
        }
        if let Some(readings) = after_repair {
            text.push_str(&self.readings_after(readings));
        }
        text.push_str(&self.heading("What stays unproven"));
        for unproven in &self.report.unproven {
            text.push_str(&wrapped("  ", unproven));
        }
        text
    }
}

fn expected(reading: &ExpectedReading) -> String {
    let at = reading.at.join(", ");
    wrapped("  ", &format!("{} at {at}: {}", reading.instrument, reading.shows))
}

fn words(mark: &str, said: &[WordReport]) -> String {
    let mut text = String::new();
    for word in said.iter().take(WORDS_NAMED) {
        text.push_str(&wrapped(&format!("        {mark}"), &word.says));
    }
    text
}

/// A probability in the margin.
fn margin(probability: f64) -> String {
    format!("{:>7} ", percent(probability).replace("under ", "<").replace("over ", ">"))
}

/// The first sentence of an advice.
fn first_sentence(advice: &str) -> &str {
    advice.find(". ").map_or(advice, |at| &advice[..=at])
}
