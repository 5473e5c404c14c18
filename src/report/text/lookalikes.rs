//! [`LookAlikeReport`] and [`PatternReport`] as text.

use crate::circuit::Vocabulary;
use crate::condition::catalogue::LoadSetting;
use crate::lookalike::{Counts, Danger, Group, Groups, Member, OwnDanger, Shows};
use crate::report::caution::CAUTION;
use crate::report::lookalikes::{LookAlikeReport, PatternReport, danger_in_words, wrong_in_words};

use crate::report::vocabulary::line;

use super::Emphasis;
use super::layout::wrapped;

/// Look-alikes in 80 columns: what the reading is silent about first, then single faults, then
/// double ones; the dangerous first, then the likely.
pub fn lookalikes(report: &LookAlikeReport, emphasis: Emphasis) -> String {
    let alike = &report.alike;
    let teller = Teller { settings: &alike.load_settings, vocabulary: report.vocabulary, emphasis };
    let in_words = |shows: &Shows| line(report.vocabulary, &shows.to_string());
    let showing: Vec<String> = alike.showing.iter().map(in_words).collect();
    let mut text = wrapped(
        "",
        &format!(
            "What would make a {} at {} show {}:",
            alike.instrument,
            alike.at,
            showing.join(", ")
        ),
    );
    text.push_str(&teller.starting_from(&report.condition));
    text.push_str(&teller.sound(&alike.sound));
    text.push_str(&teller.own(&alike.own_dangers));
    text.push_str(&teller.silent(report));
    text.push_str(&teller.groups("One fault", &alike.singles));
    if alike.counts.pairs > 0 {
        text.push_str(&teller.groups("Two faults at once", &alike.doubles));
    }
    text.push('\n');
    text.push_str(&asked(&alike.counts));
    text.push_str(&wrapped("", CAUTION));
    text
}

/// The table of patterns in 80 columns.
pub fn patterns(report: &PatternReport, emphasis: Emphasis) -> String {
    let table = &report.table;
    let teller = Teller { settings: &table.load_settings, vocabulary: report.vocabulary, emphasis };
    let title = format!("Everything that a {} can show at {}", table.instrument, table.at);
    let mut text = wrapped("", &title);
    text.push_str(&teller.starting_from(&report.condition));
    text.push_str(&teller.own(&table.own_dangers));
    for row in &table.rows {
        let Emphasis { heading, off, .. } = emphasis;
        let pattern = line(report.vocabulary, &row.pattern);
        text.push_str(&format!("\n{heading}{pattern}{off}\n"));
        text.push_str(&teller.sound(&row.sound));
        text.push_str(&teller.rows(&row.singles));
        if row.doubles.members_total > 0 {
            let also = format!(
                "and {} double faults in {} groups",
                row.doubles.members_total,
                row.doubles.groups.len() + row.doubles.groups_not_shown
            );
            text.push_str(&wrapped("  ", &also));
        }
    }
    text.push('\n');
    text.push_str(&asked(&table.counts));
    text.push_str(&wrapped("", CAUTION));
    text
}

struct Teller<'r> {
    settings: &'r [LoadSetting],
    vocabulary: Vocabulary,
    emphasis: Emphasis,
}

impl Teller<'_> {
    fn starting_from(&self, condition: &[String]) -> String {
        if condition.is_empty() {
            return String::new();
        }
        wrapped("  ", &format!("on top of: {}", condition.join("; ")))
    }

    fn sound(&self, settings: &[usize]) -> String {
        if settings.is_empty() {
            return String::new();
        }
        wrapped("  ", &format!("nothing wrong at all{}", self.when(settings)))
    }

    /// In which load states, behind a semicolon; nothing where there is only one.
    fn when(&self, settings: &[usize]) -> String {
        const NAMED_AT_MOST: usize = 3;
        let name = |at: &usize| self.settings.get(*at).map_or("", |s| s.name.as_str());
        match settings.len() {
            _ if self.settings.len() == 1 => String::new(),
            all if all == self.settings.len() => "; whatever is on".to_owned(),
            few if few <= NAMED_AT_MOST => {
                format!("; with {}", settings.iter().map(name).collect::<Vec<_>>().join(", or "))
            }
            some => format!("; in {some} of {} load states", self.settings.len()),
        }
    }

    /// What no fault is to blame for.
    fn own(&self, own: &[OwnDanger]) -> String {
        if own.is_empty() {
            return String::new();
        }
        let Emphasis { heading, off, .. } = self.emphasis;
        let mut text = format!("\n{heading}The circuit has by itself{off}\n");
        for one in own {
            let words = danger_in_words(&one.danger, self.vocabulary);
            let says = format!("{words}{}", self.when(&one.load_settings));
            text.push_str(&self.marked(self.mark(Some(&one.danger)), &says));
        }
        text
    }

    fn silent(&self, report: &LookAlikeReport) -> String {
        if report.silent_about.is_empty() {
            return String::new();
        }
        let Emphasis { heading, off, .. } = self.emphasis;
        let mut text = format!("\n{heading}This reading does not rule out{off}\n");
        for silent in &report.silent_about {
            let mark = self.mark(Some(&silent.danger));
            let words = danger_in_words(&silent.danger, self.vocabulary);
            let faults = silent.for_example.join(", with ");
            let says = format!("{words}: {faults} ({})", odds(silent.odds));
            text.push_str(&self.marked(mark, &says));
        }
        text
    }

    /// The word in the margin.
    fn mark(&self, danger: Option<&Danger>) -> &'static str {
        match danger {
            Some(danger) if danger.is_grave() => "DANGER",
            Some(_) => "warning",
            None => "",
        }
    }

    fn marked(&self, mark: &str, says: &str) -> String {
        let text = wrapped(&format!("  {mark:<8}"), says);
        match mark {
            "DANGER" => {
                let Emphasis { alarm, off, .. } = self.emphasis;
                text.replacen("DANGER", &format!("{alarm}DANGER{off}"), 1)
            }
            _ => text,
        }
    }

    fn groups(&self, title: &str, groups: &Groups) -> String {
        let Emphasis { heading, off, .. } = self.emphasis;
        let number = groups.groups.len() + groups.groups_not_shown;
        let head = match groups.members_total {
            0 => format!("{title}: none"),
            total => format!("{title}: {total} in {number} groups"),
        };
        format!("\n{heading}{head}{off}\n{}", self.rows(groups))
    }

    fn rows(&self, groups: &Groups) -> String {
        let mut text = String::new();
        for group in &groups.groups {
            text.push_str(&self.group(group));
        }
        if groups.groups_not_shown > 0 {
            let more = format!("... and {} more groups, less likely", groups.groups_not_shown);
            text.push_str(&wrapped("  ", &more));
        }
        text
    }

    fn group(&self, group: &Group) -> String {
        let wrong: Vec<String> =
            group.wrong.iter().map(|wrong| wrong_in_words(wrong, self.vocabulary)).collect();
        let mut says = format!("{} ({})", wrong.join(", with "), odds(group.odds));
        if !group.dangers.is_empty() {
            let mut dangers: Vec<String> = Vec::new();
            for danger in &group.dangers {
                let words = danger_in_words(danger, self.vocabulary);
                if !dangers.contains(&words) {
                    dangers.push(words);
                }
            }
            says.push_str(&format!(": {}", dangers.join(", ")));
        }
        if group.wrong.len() == 2 && !group.needs_both {
            says.push_str("; one of the two is enough, and hides the other");
        }
        let mut text = self.marked(self.mark(group.dangers.first()), &says);
        for member in &group.members {
            text.push_str(&self.member(member));
        }
        let rest = group.members_total - group.members.len().min(group.members_total);
        if rest > 0 {
            text.push_str(&wrapped("            ", &format!("and {rest} more like it")));
        }
        text
    }

    fn member(&self, member: &Member) -> String {
        let mut says =
            format!("{}{}", member.faults.join(", with "), self.when(&member.load_settings));
        if !member.trips.is_empty() {
            says.push_str(&format!("; after {} has tripped", member.trips.join(" and ")));
        }
        wrapped("            ", &says)
    }
}

fn odds(odds: f64) -> String {
    match odds {
        odds if odds >= 0.01 => format!("{:.0} in 100", odds * 100.0),
        odds if odds >= 0.001 => format!("{:.0} in 1,000", odds * 1e3),
        odds if odds >= 1e-5 => format!("{:.0} in 100,000", odds * 1e5),
        odds => format!("{odds:.0e}"),
    }
}

fn asked(counts: &Counts) -> String {
    let pairs = match counts.pairs {
        0 => String::new(),
        pairs => format!(" and {pairs} pairs of them"),
    };
    let states = if counts.load_settings == 1 { "state" } else { "states" };
    let left_out = match counts.pairs_not_asked {
        0 => String::new(),
        some => format!("; {some} less likely pairs were not asked (--networks asks more)"),
    };
    let unanswered = match counts.unanswered {
        0 => String::new(),
        some => format!("; {some} had no answer, as two faults that cannot both be so"),
    };
    wrapped(
        "",
        &format!(
            "Solved: {} faults{pairs} in {} load {states}, {} networks{unanswered}{left_out}. Odds are \
             judgement, for a random dwelling; docs/faults.md lists them.",
            counts.singles, counts.load_settings, counts.asked
        ),
    )
}
