//! What a student does, and understanding it as typed.

use crate::circuit::PlaceKind;
use crate::condition::{Condition, words};
use crate::drill::reading::tools;

use super::Live;

/// Something a student does.
///
/// ```
/// use slotwise::drill::live::Act;
/// let act = Act::Open { place: "kiln".into() };
/// assert_ne!(act, Act::GiveUp);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub enum Act {
    /// Holds an instrument to a receptacle.
    Read {
        /// The instrument, by the name of its preset.
        tool: String,
        /// The receptacle.
        at: String,
    },
    /// Sets loads, switches or breakers; no faults.
    Set(Condition),
    /// Proves a box dead: a rated instrument on every conductor, checked on a known live source
    /// before and after.
    ProveDead {
        /// The box.
        place: String,
    },
    /// Opens a box and looks at every joint.
    Open {
        /// The box.
        place: String,
    },
    /// Says what is wrong: faults, and nothing else.
    Name(Condition),
    /// Gives up.
    GiveUp,
}

/// Why an act cannot be done, or a line is not understood.
///
/// ```
/// use slotwise::drill::live::ActProblem;
/// let problem = ActProblem {
///     found: "klin".into(),
///     message: "there is no box of that name".into(),
///     instead: vec!["kiln".into()],
/// };
/// assert!(problem.to_string().contains("kiln"));
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ActProblem {
    /// The words it is about; may be empty.
    pub found: String,
    /// What is the matter.
    pub message: String,
    /// What could stand there.
    pub instead: Vec<String>,
}

impl ActProblem {
    pub(super) fn new(found: &str, message: impl Into<String>) -> Self {
        Self { found: found.to_owned(), message: message.into(), instead: Vec::new() }
    }

    pub(super) fn over() -> Self {
        Self::new("", "it is over")
    }

    /// The same with what could stand there, the likest first.
    fn among<'n>(mut self, names: impl Iterator<Item = &'n str>) -> Self {
        const SHOWN: usize = 12;
        let found = self.found.clone();
        let likeness = |name: &&str| strsim::jaro_winkler(&found, name);
        let mut names: Vec<&str> = names.collect();
        names.sort_by(|a, b| likeness(b).total_cmp(&likeness(a)));
        self.instead = names.into_iter().take(SHOWN).map(str::to_owned).collect();
        self
    }
}

impl std::fmt::Display for ActProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.found.as_str() {
            "" => f.write_str(&self.message)?,
            found => write!(f, "`{found}`: {}", self.message)?,
        }
        match self.instead.as_slice() {
            [] if self.message.contains("help") => Ok(()),
            [] => f.write_str(" (`help` says what can be done)"),
            names => write!(f, " (there are: {})", names.join(", ")),
        }
    }
}

impl std::error::Error for ActProblem {}

/// How a reading is asked for.
const READ_AS: &str = "say which instrument and where, as `read tester at kiln`";

/// Longest line that is looked at, bytes.
const LINE_MAX: usize = 1000;

impl Live {
    /// Understands a line: `read tester at kiln`, `heater off`, `breaker c1 off`, `prove kiln`,
    /// `open kiln`, `name neutral open at kiln, line side`, `give up`.
    ///
    /// # Errors
    ///
    /// What of it is not understood, and what could stand there.
    pub fn understand(&self, line: &str) -> Result<Act, ActProblem> {
        let line = line.trim();
        if line.len() > LINE_MAX {
            return Err(ActProblem::new("", format!("a line has at most {LINE_MAX} bytes")));
        }
        let (verb, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let rest = rest.trim();
        match verb.to_lowercase().as_str() {
            "" => Err(ActProblem::new("", "say what to do, or `help`")),
            "read" => self.reading(rest),
            "prove" => Ok(Act::ProveDead { place: self.a_box(rest)? }),
            "open" => Ok(Act::Open { place: self.a_box(rest)? }),
            "name" => self.naming(rest),
            "give" | "quit" if matches!(rest, "" | "up") => Ok(Act::GiveUp),
            tool if self.tool(tool).is_some() => Err(self.read_it(tool, rest)),
            _ => self.setting(line),
        }
    }

    fn reading(&self, text: &str) -> Result<Act, ActProblem> {
        let words: Vec<&str> = text.split_whitespace().filter(|word| *word != "at").collect();
        let [tool, at @ ..] = words.as_slice() else { return Err(ActProblem::new(text, READ_AS)) };
        let Some(tool) = self.tool(tool) else {
            let found = words.first().copied().unwrap_or_default();
            let known = self.tool_names();
            return Err(ActProblem::new(found, "there is no such instrument").among(known));
        };
        let outlets = || self.drill.circuit.outlets().map(|(_, outlet)| outlet.address.as_str());
        // Half a duplex is `nursery.top` or, as a sheet has it, `nursery, top`.
        let joined = at.join(".").replace(",.", ".");
        match at {
            [] => Err(ActProblem::new(text, READ_AS)),
            _ if outlets().any(|outlet| outlet == joined) => {
                Ok(Act::Read { tool: tool.to_owned(), at: joined })
            }
            [at] => Err(ActProblem::new(at, "there is no such receptacle").among(outlets())),
            _ => Err(ActProblem::new(text, READ_AS)),
        }
    }

    fn tool_names(&self) -> impl Iterator<Item = &'static str> {
        let iec = self.drill.circuit.parts().vocabulary == crate::circuit::Vocabulary::Iec;
        tools(iec).into_iter().map(|(name, _)| name)
    }

    /// An instrument by its name; the tester of either supply answers to its short one.
    fn tool(&self, name: &str) -> Option<&'static str> {
        let is_it = |known: &&'static str| {
            *known == name || (name == "tester" && known.starts_with("tester"))
        };
        self.tool_names().find(is_it)
    }

    /// Who says what an instrument shows is told how it is read here.
    fn read_it(&self, tool: &str, rest: &str) -> ActProblem {
        let mut words = rest.split(|c: char| c.is_whitespace() || c == ':');
        let outlets = || self.drill.circuit.outlets().map(|(_, outlet)| outlet.address.as_str());
        let at = words.find(|word| outlets().any(|outlet| outlet == *word));
        let at = at.or_else(|| outlets().next()).unwrap_or_default();
        ActProblem::new("", format!("the drill says what it shows: say `read {tool} at {at}`"))
    }

    fn a_box(&self, name: &str) -> Result<String, ActProblem> {
        let places = &self.drill.circuit.parts().places;
        let boxes = places.iter().filter(|place| place.kind == PlaceKind::Box);
        match places.iter().find(|place| place.id == name) {
            Some(place) => Ok(place.id.clone()),
            None => Err(ActProblem::new(name, "there is no box of that name")
                .among(boxes.map(|place| place.id.as_str()))),
        }
    }

    fn naming(&self, text: &str) -> Result<Act, ActProblem> {
        let named = self.said(text)?;
        if named.faults.is_empty() && named.breakers.is_empty() && named.switches.is_empty() {
            return Err(ActProblem::new(text, "that names nothing wrong"));
        }
        Ok(Act::Name(named))
    }

    fn setting(&self, text: &str) -> Result<Act, ActProblem> {
        let setting = self.said(text)?;
        if !setting.faults.is_empty() {
            return Err(ActProblem::new(
                text,
                "nothing is broken on purpose here; to say what is wrong begin with `name`",
            ));
        }
        Ok(Act::Set(setting))
    }

    /// A condition in words; the first problem with it.
    fn said(&self, text: &str) -> Result<Condition, ActProblem> {
        let edits = words::parse(&self.drill.circuit, text).map_err(|problems| {
            let Some(first) = problems.first() else {
                return ActProblem::new(text, "not understood");
            };
            let found = text.get(first.span.clone()).unwrap_or_default();
            let mut message = first.message.clone();
            if let Some(example) = &first.example {
                message.push_str(&format!("; say for example `{example}`"));
            }
            // The message has the word where it is about one.
            let found = if message.contains(&format!("`{found}`")) { "" } else { found };
            let instead = first.suggestions.clone();
            ActProblem { found: found.to_owned(), message, instead }
        })?;
        let mut condition = Condition::default();
        edits.into_iter().for_each(|edit| edit.apply(&mut condition));
        Ok(condition)
    }
}
