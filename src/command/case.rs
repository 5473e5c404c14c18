//! A circuit file opened, and the condition asked for put together.

use std::path::Path;

use slotwise::circuit::Circuit;
use slotwise::circuit::file::{self, CircuitFile};
use slotwise::condition::file::NamedCondition;
use slotwise::condition::words::{self, WordsProblem};
use slotwise::condition::{self, Attachment, Condition, Fault};
use slotwise::report::ReportError;

use super::arguments::ConditionWords;
use super::diagnostics;
use super::input::{self, Source};
use super::output::Failure;

/// A circuit file that could be read.
pub(super) struct Opened {
    pub(super) source: Source,
    pub(super) file: CircuitFile,
}

impl Opened {
    /// Reads a circuit file; what is wrong or doubtful about it is said on standard error.
    pub(super) fn open(name: &str) -> Result<Self, Failure> {
        let source = input::read(name)?;
        match file::read(&source.text) {
            Ok(file) => {
                diagnostics::show(&file.remarks, &source);
                Ok(Self { source, file })
            }
            Err(problems) => Err(Failure::in_text(problems, source)),
        }
    }

    /// The conditions named in the file.
    pub(super) fn named_conditions(&self) -> Result<Vec<NamedCondition>, Failure> {
        condition::file::of_circuit(&self.file, &self.source.text)
            .map_err(|problems| Failure::in_text(problems, self.source.clone()))
    }

    /// The condition asked for: the named ones first, then the words typed.
    pub(super) fn condition(&self, asked: &ConditionWords) -> Result<Condition, Failure> {
        let circuit = &self.file.circuit;
        let mut condition = Condition::default();
        let mut failures = Vec::new();
        for name in &asked.named {
            let added = self.named_condition(name);
            let added = added.and_then(|named| add(circuit, &mut condition, &named));
            failures.extend(added.err());
        }
        let sentences = asked.sentences();
        let texts: Vec<&str> = sentences.iter().map(String::as_str).collect();
        match words::parse_all(circuit, &texts) {
            Ok(edits) => {
                let mut said = Condition::default();
                edits.into_iter().for_each(|edit| edit.apply(&mut said));
                failures.extend(add(circuit, &mut condition, &said).err());
            }
            Err(problems) => {
                let of_words = problems.iter().map(|(at, one)| (*at, one, "condition-words"));
                // What is unusable is said last: by it the run ends.
                failures.insert(0, misunderstood(&sentences, of_words));
            }
        }
        Failure::all(failures).map(|()| condition)
    }

    /// A condition that the circuit file names, or else one in a file of its own.
    fn named_condition(&self, name: &str) -> Result<Condition, Failure> {
        let mut named = self.named_conditions()?;
        if let Some(at) = named.iter().position(|condition| condition.name == name) {
            return Ok(named.swap_remove(at).condition);
        }
        if name != "-" && !Path::new(name).exists() {
            let names: Vec<&str> = named.iter().map(|condition| condition.name.as_str()).collect();
            return Err(Failure::unusable(format!(
                "`{name}` is neither a condition named in {} ({}) nor a file",
                self.source.name,
                if names.is_empty() { "it names none".to_owned() } else { names.join(", ") }
            )));
        }
        let source = input::read(name)?;
        match condition::file::read(&self.file.circuit, &source.text) {
            Ok(named) => Ok(named.condition),
            Err(problems) => Err(Failure::in_text(problems, source)),
        }
    }
}

/// Shows what is wrong with the words typed, an argument a line.
/// Each problem comes with the number of its sentence and the code of its grammar.
pub(super) fn misunderstood<'p>(
    sentences: &[String],
    problems: impl Iterator<Item = (usize, &'p WordsProblem, &'static str)>,
) -> Failure {
    let name = "the words typed".to_owned();
    let source = Source { name, file: None, text: sentences.join("\n") };
    let starts: Vec<usize> = sentences
        .iter()
        .scan(0, |next, sentence| {
            let start = *next;
            *next += sentence.len() + 1;
            Some(start)
        })
        .collect();
    let placed = problems.map(|(number, problem, code)| {
        let start = starts.get(number).copied().unwrap_or_default();
        let mut placed = problem.diagnostic(start + problem.span.start..start + problem.span.end);
        placed.code = code.into();
        placed
    });
    Failure::in_text(placed.collect::<Vec<_>>(), source)
}

/// Both conditions at once; where something is set in both, the later holds.
fn add(circuit: &Circuit, condition: &mut Condition, later: &Condition) -> Result<(), Failure> {
    let mut failures = Vec::new();
    for fault in &later.faults {
        let is_of_it = |known: &Fault| known.subject() == fault.subject();
        if fault.undoes_itself() && condition.faults.iter().any(is_of_it) {
            let only = Condition { faults: vec![fault.clone()], ..Condition::default() };
            let said = words::describe(circuit, &only).join("; ");
            let message = format!("said twice, and twice exchanged is as it was: `{said}`");
            failures.push(Failure::unusable(message));
        }
        condition.faults.retain(|known| !is_of_it(known));
    }
    let is_attached_anew =
        |known: &Attachment| later.attached.iter().any(|later| later.id == known.id);
    condition.attached.retain(|known| !is_attached_anew(known));
    condition.put_on(later);
    Failure::all(failures)
}

/// Says why there is no report.
pub(super) fn no_report(error: ReportError) -> Failure {
    match error {
        ReportError::Unknown(unknown) => Failure::unknown([&unknown]),
        ReportError::SeveralUnknown(unknown) => Failure::unknown(&unknown),
        other => Failure::problem(other.to_string()),
    }
}
