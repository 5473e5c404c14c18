//! `slotwise drill --live`: a line in, an answer out, over a terminal or a pipe.

use slotwise::circuit::Vocabulary;
use slotwise::drill::Drill;
use slotwise::drill::live::Live;
use slotwise::report::SheetReport;
use slotwise::report::text::{self, Emphasis, LIVE_HELP};

use super::{key, no_drill};
use crate::command::Outcome;
use crate::command::input::Lines;
use crate::command::output::{Failure, emphasis, print};

pub(super) fn run(drill: Drill, quick: bool) -> Result<Outcome, Failure> {
    let marks = emphasis();
    let sheet = SheetReport::new(&drill);
    let vocabulary = sheet.vocabulary;
    print(&text::sheet(&sheet, marks))?;
    print(&format!("\nSay what you do; each act costs its time.\n{LIVE_HELP}"))?;
    let mut live = Live::new(drill).map_err(no_drill)?;
    let mut lines = Lines::new();
    while !live.ended() {
        if lines.at_terminal() {
            print("> ")?;
        }
        let Some(line) = lines.next()? else { break };
        let said = match line.text.trim() {
            "" => continue,
            "help" | "?" => LIVE_HELP.to_owned(),
            "sheet" => text::sheet_body(&sheet, marks),
            "time" => text::live_time(&live),
            line => answered(&mut live, line, vocabulary, marks),
        };
        print(&said)?;
    }
    let strategy = if quick { None } else { live.drill().strategy().ok() };
    let score = strategy.as_ref().map_or_else(|| live.score(), |way| live.score_beside(way));
    print(&format!("\n{}\n", text::live_score(&score)))?;
    print(&text::key_body(&key(live.drill(), quick)?, marks))?;
    Ok(Outcome::Done)
}

/// What a line comes to, with what it costs and has cost so far.
fn answered(live: &mut Live, line: &str, vocabulary: Vocabulary, marks: Emphasis) -> String {
    let before = live.spent_s();
    match live.understand(line).and_then(|act| live.act(&act)) {
        Ok(answer) => {
            let spent = text::live_spent(live, before);
            text::live_answer(&answer, vocabulary, marks) + &spent
        }
        Err(problem) => text::told(&problem.to_string()),
    }
}
