//! Observation files: what was complained of, what was seen, and what there is to work with, in
//! the notation of circuit files.
//!
//! ```ron
//! (
//!     format: 1,
//!     name: "Cold kiln",
//!     complaints: ["dead from kiln on"],
//!     tools: ["tester", "voltmeter"],
//!     saw: ["tester at kiln: hot-neutral dark, hot-ground lit, neutral-ground lit"],
//! )
//! ```
//!
//! `docs/observation-file.md` has every field. Everything wrong with a file is said in one go:
//! first as a file, then, where it is one, with its names and words.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use crate::circuit::Circuit;
use crate::circuit::diagnostic::{Diagnostic, Diagnostics};
use crate::circuit::file::{FORMAT, FileKind, Placed, read_form};
use crate::condition::file::{place_in, quoted};
use crate::condition::words::WordsProblem;
use crate::instrument::presets;

use super::{Account, Means, Tool, words};

mod check;
mod form;

use form::FileForm;

/// An account and what it is called.
///
/// ```
/// use slotwise::diagnosis::{Account, file::NamedAccount};
/// let blank = NamedAccount { name: "blank".into(), account: Account::default() };
/// assert!(blank.account.complaints.is_empty());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct NamedAccount {
    /// Its name.
    pub name: String,
    /// The account.
    pub account: Account,
}

/// Reads an observation file of this circuit.
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the text.
///
/// ```
/// use slotwise::diagnosis::file;
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let text = r#"(format: 1, name: "Cold kiln", complaints: ["dead from kiln on"])"#;
/// let cold = file::read(&studio, text).unwrap();
/// assert_eq!(cold.account.complaints.len(), 1);
///
/// let text = text.replace("kiln on", "klin on");
/// let said = file::read(&studio, &text).unwrap_err();
/// assert_eq!(said[0].offending(&text), "klin");
/// ```
pub fn read(circuit: &Circuit, text: &str) -> Result<NamedAccount, Diagnostics> {
    let form: FileForm = read_form(text, FileKind::Observations, check::check)?;
    let mut reader = Reader { circuit, text, problems: Vec::new() };
    let account = reader.account(&form);
    let mut problems = reader.problems;
    if problems.is_empty() {
        return Ok(NamedAccount { name: form.name.value, account });
    }
    problems.sort_by_key(|problem| problem.span().start);
    Err(Diagnostics::new(problems, text))
}

/// An observation file that says this account, one canonical sentence a line, figures where they
/// differ from the usual. Instruments of one's own are named and not described; priors are a
/// house's rather than a call-out's and are left out.
///
/// ```
/// use slotwise::diagnosis::{Account, Complaint, file};
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let complaints = vec![Complaint::Dead { places: vec!["door".into()] }];
/// let account = Account { complaints, ..Account::default() };
/// let text = file::write(&studio, "dark door", &account);
/// assert!(text.contains("\"door dead\""));
/// assert_eq!(file::read(&studio, &text).unwrap().account, account);
/// ```
pub fn write(circuit: &Circuit, name: &str, account: &Account) -> String {
    let Account { complaints, observations, means } = account;
    let mut text = format!("(\n    format: {FORMAT},\n    name: {},\n", quoted(name));
    let complaints = complaints.iter().map(|one| words::tell_complaint(circuit, one)).collect();
    list(&mut text, "complaints", complaints);
    let tools = means.tools.iter().map(|tool| tool.name.clone()).collect();
    list(&mut text, "tools", tools);
    text.push_str(&form::means(means));
    let saw = observations.iter().map(|one| words::tell(circuit, &means.tools, one)).collect();
    list(&mut text, "saw", saw);
    text.push_str(")\n");
    text
}

fn list(text: &mut String, field: &str, sentences: Vec<String>) {
    if sentences.is_empty() {
        return;
    }
    // Writing to a String cannot fail.
    let _ = writeln!(text, "    {field}: [");
    for sentence in sentences {
        let _ = writeln!(text, "        {},", quoted(&sentence));
    }
    text.push_str("    ],\n");
}

/// From what is written to what is meant.
struct Reader<'r> {
    circuit: &'r Circuit,
    text: &'r str,
    problems: Vec<Diagnostic>,
}

impl Reader<'_> {
    fn account(&mut self, form: &FileForm) -> Account {
        let mut account = Account { means: self.means(form), ..Account::default() };
        let said =
            [(&form.complaints, false, "complaint-words"), (&form.saw, true, "observation-words")];
        for (sentences, is_seen, code) in said {
            for sentence in sentences {
                match words::told_after(self.circuit, &account, &sentence.value, is_seen) {
                    Ok((complained, seen)) => {
                        account.complaints.extend(complained);
                        account.observations.extend(seen);
                    }
                    Err(problems) => self.put(sentence, code, problems),
                }
            }
        }
        account
    }

    fn means(&mut self, form: &FileForm) -> Means {
        let usual = Means::of(self.circuit);
        let own: Vec<Tool> = form.instruments.iter().cloned().map(Tool::own).collect();
        let tools = match &form.tools {
            None if own.is_empty() => usual.tools.clone(),
            None => own,
            Some(named) => {
                let listed = named.iter().filter_map(|name| self.tool(name, &own)).collect();
                with_unlisted(listed, &own)
            }
        };
        let mut means = Means {
            tools,
            out_of_reach: self.names(&form.out_of_reach, "a box", self.boxes()),
            fixed_loads: self.names(&form.leave_alone, "a load", self.loads()),
            ..usual
        };
        form.settle(&mut means);
        means
    }

    /// A preset, or an instrument of the file's own.
    fn tool(&mut self, name: &Placed<String>, own: &[Tool]) -> Option<Tool> {
        let named = own.iter().find(|tool| tool.name == name.value).cloned();
        let found = named.or_else(|| Tool::preset(&name.value));
        if found.is_none() {
            let mut known: Vec<&str> = own.iter().map(|tool| tool.name.as_str()).collect();
            presets::names().for_each(|name| known.push(name));
            self.unknown(name, "an instrument", (words::preset_called(&name.value), &known));
        }
        found
    }

    fn names(
        &mut self,
        said: &[Placed<String>],
        what: &str,
        known: Vec<String>,
    ) -> BTreeSet<String> {
        let known: Vec<&str> = known.iter().map(String::as_str).collect();
        for name in said {
            if !known.contains(&name.value.as_str()) {
                self.unknown(name, what, (None, &known));
            }
        }
        said.iter().map(|name| name.value.clone()).collect()
    }

    fn boxes(&self) -> Vec<String> {
        self.circuit.parts().places.iter().map(|place| place.id.clone()).collect()
    }

    fn loads(&self) -> Vec<String> {
        self.circuit.parts().loads.iter().map(|load| load.id.clone()).collect()
    }

    /// A name that none of those known is, and what is meant by it if that is known too.
    fn unknown(
        &mut self,
        name: &Placed<String>,
        what: &str,
        (meant, known): (Option<&str>, &[&str]),
    ) {
        let message =
            format!("there is no {} `{}`", what.trim_start_matches(['a', 'n', ' ']), name.value);
        let mut said = Diagnostic::error("unknown-name", message, name.span.clone());
        let near = crate::condition::words::suggest::nearest(&name.value, known.iter().copied());
        said = match meant.or_else(|| near.first().map(AsRef::as_ref)) {
            Some(near) => {
                said.with_replacement(quoted(near)).with_help(format!("did you mean `{near}`?"))
            }
            None => said.with_expected(known.join(", ")),
        };
        self.problems.push(said);
    }

    fn put(&mut self, said: &Placed<String>, code: &'static str, problems: Vec<WordsProblem>) {
        for problem in problems {
            let span = place_in(self.text, &said.span, &said.value, &problem.span);
            let mut diagnostic = problem.diagnostic(span);
            diagnostic.code = code.into();
            self.problems.push(diagnostic);
        }
    }
}

/// The instruments listed, and those of the file's own that are not among them.
fn with_unlisted(listed: Vec<Tool>, own: &[Tool]) -> Vec<Tool> {
    let more: Vec<Tool> = own.iter().filter(|tool| !listed.contains(tool)).cloned().collect();
    listed.into_iter().chain(more).collect()
}
