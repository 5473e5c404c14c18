//! Complaints and observations told in one breath, each known for what it is.

use std::cell::Cell;

use crate::circuit::Circuit;
use crate::condition::words::lexer::TokenKind;
use crate::condition::words::problem::{Problem, WordsProblem};
use crate::diagnosis::{Complaint, Observation, Seen, Tool};

use super::each_sentence;
use super::mended::{alone, is_put_right};
use super::reader::Reader;

/// What one sentence says.
enum Said {
    Complaint(Complaint),
    Observation(Observation),
}

/// Reads complaints and observations in one text, sentence by sentence: what a sentence can be is
/// what it is. Of what may be both somebody has called, unless there was a complaint before. What is
/// complained of after something was mended is seen since.
///
/// # Errors
///
/// One problem for each sentence that means nothing here.
///
/// ```
/// use slotwise::diagnosis::{Means, words};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let tools = Means::default().tools;
/// let text = "kiln dead; tester at door: all dark";
/// let (complaints, observations) = words::told(&studio, &tools, text, (false, false)).unwrap();
/// assert_eq!((complaints.len(), observations.len()), (1, 1));
/// ```
pub fn told(
    circuit: &Circuit,
    tools: &[Tool],
    text: &str,
    (complained, mended): (bool, bool),
) -> Result<(Vec<Complaint>, Vec<Observation>), Vec<WordsProblem>> {
    let is_mended = Cell::new(mended);
    let said = each_sentence(circuit, text, |reader| {
        let mut seen = reader.clone();
        let complaints = reader.clone().complaint();
        let observations = seen.observations(tools);
        let is_put_right = |said: &Vec<Observation>| said.iter().any(is_put_right);
        is_mended.set(is_mended.get() || observations.as_ref().is_ok_and(is_put_right));
        match (complaints, observations) {
            (Ok(complaints), Err(_)) if is_mended.get() => {
                let again = complaints.into_iter().map(|one| alone(Seen::CalledAgain(one)));
                Ok(again.map(Said::Observation).collect())
            }
            (Ok(complaints), Err(_)) => Ok(all(complaints, Said::Complaint)),
            (Ok(complaints), Ok(_)) if !complained => Ok(all(complaints, Said::Complaint)),
            (_, Ok(observations)) => Ok(all(observations, Said::Observation)),
            (Err(complaint), Err(observation)) => Err(nearer(reader, complaint, observation)),
        }
    })?;
    let (mut complaints, mut observations) = (Vec::new(), Vec::new());
    for one in said {
        match one {
            Said::Complaint(complaint) => complaints.push(complaint),
            Said::Observation(observation) => observations.push(observation),
        }
    }
    Ok((complaints, observations))
}

fn all<T>(said: Vec<T>, kind: impl Fn(T) -> Said) -> Vec<Said> {
    said.into_iter().map(kind).collect()
}

/// The problem of what was probably meant: what is seen is seen at a place, as in `tester at kiln:
/// dark`; else whichever way of hearing it went further.
fn nearer(reader: &Reader<'_>, complaint: Problem, observation: Problem) -> Problem {
    let is_seen =
        reader.rest().iter().any(|token| token.kind == TokenKind::Comma && token.text == ":");
    match is_seen || observation.span.start > complaint.span.start {
        true => observation,
        false => complaint,
    }
}
