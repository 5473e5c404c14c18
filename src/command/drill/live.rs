//! `slotwise drill --live`: a line in, an answer out, over a terminal or a pipe.

use std::io::{BufRead, IsTerminal, Read};

use slotwise::circuit::Vocabulary;
use slotwise::drill::Drill;
use slotwise::drill::live::Live;
use slotwise::report::SheetReport;
use slotwise::report::text::{self, Emphasis, LIVE_HELP};

use super::{key, no_drill};
use crate::command::Outcome;
use crate::command::output::{Failure, emphasis, print};

/// More of a line than this is thrown away: no act is so long.
const LINE_MAX: u64 = 4096;

pub(super) fn run(drill: Drill, quick: bool) -> Result<Outcome, Failure> {
    let marks = emphasis();
    let sheet = SheetReport::new(&drill);
    let vocabulary = sheet.vocabulary;
    print(&text::sheet(&sheet, marks))?;
    print(&format!("\nSay what you do; each act costs its time.\n{LIVE_HELP}"))?;
    let mut live = Live::new(drill).map_err(no_drill)?;
    let mut lines = Lines::new();
    while !live.ended() {
        lines.prompt()?;
        let Some(line) = lines.next()? else { break };
        let said = match line.trim() {
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

/// Standard input line by line, whatever is in it.
struct Lines {
    input: std::io::StdinLock<'static>,
    at_terminal: bool,
}

impl Lines {
    fn new() -> Self {
        let input = std::io::stdin();
        Self { at_terminal: input.is_terminal(), input: input.lock() }
    }

    fn prompt(&self) -> Result<(), Failure> {
        if self.at_terminal { print("> ") } else { Ok(()) }
    }

    /// The next line, its first [`LINE_MAX`] bytes; nothing at the end.
    fn next(&mut self) -> Result<Option<String>, Failure> {
        let mut bytes = Vec::new();
        let failed = |error| Failure::unusable(format!("slotwise: cannot read: {error}"));
        let read = self.input.by_ref().take(LINE_MAX).read_until(b'\n', &mut bytes);
        if read.map_err(failed)? == 0 {
            return Ok(None);
        }
        if bytes.last() != Some(&b'\n') {
            self.input.skip_until(b'\n').map_err(failed)?;
        }
        // Nothing that a terminal would obey is echoed.
        let line: String =
            String::from_utf8_lossy(&bytes).chars().filter(|c| !c.is_control()).collect();
        Ok(Some(line))
    }
}
