//! `slotwise lookalikes`

use slotwise::lookalike::{
    Bounds, Depth, LookAlikeProblem, Question, Share, Sharing, ShowsProblem, shows,
};
use slotwise::report::{LookAlikeReport, PatternReport, ProblemReport, json, text};

use super::Outcome;
use super::arguments::Lookalikes;
use super::case::Opened;
use super::instruments::instrument;
use super::output::{Failure, emphasis, print};

/// A table has a list a pattern: each of it is shorter.
const MEMBERS_OF_A_TABLE: usize = 2;

pub(super) fn run(arguments: &Lookalikes) -> Result<Outcome, Failure> {
    let opened = Opened::open(&arguments.case.file)?;
    let condition = opened.condition(&arguments.case.condition)?;
    let circuit = &opened.file.circuit;
    let instrument = instrument(arguments.with.as_deref(), circuit)?;
    let depth = if arguments.singles { Depth::Single } else { Depth::Double };
    let usual = match arguments.table {
        true => Bounds { members_shown: MEMBERS_OF_A_TABLE, ..Bounds::default() },
        false => Bounds::default(),
    };
    let bounds = Bounds {
        groups_shown: arguments.groups.unwrap_or(usual.groups_shown),
        members_shown: arguments.members.unwrap_or(usual.members_shown),
        networks_asked: arguments.networks,
        ..usual
    };
    let sharing = Sharing::new(processors(), &at_once);
    let Some(said) = &arguments.shows else {
        let asked = (&instrument, arguments.at.as_str());
        let report = PatternReport::shared(circuit, &condition, asked, (depth, &bounds), &sharing)
            .map_err(no_answer)?;
        print(&match arguments.json {
            true => json::patterns(&report),
            false => text::patterns(&report, emphasis()),
        })?;
        return Ok(Outcome::Done);
    };
    let showing = shows(said).map_err(|problem| not_shown(said, problem))?;
    let question =
        Question { showing, depth, bounds, ..Question::new(instrument, arguments.at.clone()) };
    let report =
        LookAlikeReport::shared(circuit, &condition, &question, &sharing).map_err(no_answer)?;
    print(&match arguments.json {
        true => json::lookalikes(&report),
        false => text::lookalikes(&report, emphasis()),
    })?;
    Ok(Outcome::Done)
}

fn no_answer(problem: LookAlikeProblem) -> Failure {
    match problem {
        LookAlikeProblem::Unknown(unknown) => Failure::unknown([&unknown]),
        other => Failure::problem(other.to_string()),
    }
}

/// What the words behind `--shows` do not say.
fn not_shown(said: &str, problem: ShowsProblem) -> Failure {
    let message = format!("in `{said}`, {problem}");
    let ShowsProblem { found, expected, .. } = problem;
    let report = ProblemReport {
        found: Some(found),
        expected: (!expected.is_empty()).then(|| expected.join(", ")),
        ..ProblemReport::new(message)
    };
    Failure::plain(Outcome::Problems, report)
}

fn processors() -> usize {
    std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
}

/// Every share on a thread of its own.
fn at_once(shares: usize, share: &Share<'_>) {
    std::thread::scope(|scope| {
        for number in 1..shares {
            scope.spawn(move || share(number));
        }
        share(0);
    });
}
