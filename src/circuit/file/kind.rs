//! What a text is that is not the file wanted: a file of another kind, or no file of ours at all.
//! Its fields would all be called unknown one by one.

use crate::circuit::diagnostic::Diagnostic;

use super::tree::{Field, Node, Span, Value};

/// A kind of file in the notation of circuit files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FileKind {
    Circuit,
    Condition,
    Observations,
    Instruments,
    Family,
}

impl FileKind {
    const ALL: [Self; 5] =
        [Self::Family, Self::Circuit, Self::Condition, Self::Observations, Self::Instruments];

    const fn name(self) -> &'static str {
        match self {
            Self::Circuit => "a circuit file",
            Self::Condition => "a condition file",
            Self::Observations => "an observation file",
            Self::Instruments => "an instrument file",
            Self::Family => "a family file",
        }
    }

    /// The command that reads it.
    const fn reader(self) -> &'static str {
        match self {
            Self::Circuit => "slotwise check FILE",
            Self::Condition => "slotwise read CIRCUIT --condition FILE",
            Self::Observations => "slotwise locate CIRCUIT --observations FILE",
            Self::Instruments => "slotwise read CIRCUIT --with FILE",
            Self::Family => "slotwise drill --family FILE",
        }
    }

    /// How one begins.
    const fn beginning(self) -> &'static str {
        match self {
            Self::Circuit => "`(format: 1, circuits: [...], boxes: [...])`",
            Self::Condition => "`(format: 1, name: \"...\", sentences: [\"...\"])`",
            Self::Observations => {
                "`(format: 1, name: \"...\", complaints: [\"...\"], saw: [\"...\"])`"
            }
            Self::Instruments => "`(format: 1, instruments: [...])`",
            Self::Family => {
                "`(format: 1, name: \"...\", buildings: [\"...\"], breakers: [...], ...)`"
            }
        }
    }

    /// The field that only a file of this kind has.
    fn mark(self, fields: &[Field]) -> Option<&Field> {
        let named =
            |names: &[&str]| fields.iter().find(|field| names.contains(&field.name.text.as_str()));
        match self {
            Self::Family => named(&["buildings", "box_names"]),
            Self::Circuit => named(&["supply", "subpanels", "cables"]).or_else(|| {
                let is_list = |field: &&Field| matches!(field.value.value, Value::List(_));
                named(&["circuits"]).filter(is_list).or_else(|| named(&["boxes"]).filter(is_list))
            }),
            Self::Condition => named(&["sentences"]),
            Self::Observations => named(&["saw", "complaints", "tools"]),
            Self::Instruments => named(&["instruments"]).filter(|_| named(&["name"]).is_none()),
        }
    }
}

/// Says what kind of file this is, if it is plainly another one than wanted.
pub(crate) fn other_kind(root: &Node, wanted: FileKind) -> Option<Diagnostic> {
    let Value::Fields { fields, .. } = &root.value else { return None };
    if wanted.mark(fields).is_some() {
        return None;
    }
    let (kind, mark) = FileKind::ALL.iter().find_map(|kind| Some((kind, kind.mark(fields)?)))?;
    let message = format!("this is {}, and {} is wanted here", kind.name(), wanted.name());
    let said = Diagnostic::error("other-kind-of-file", message, mark.name.span.clone());
    let said = said.saying(format!("as in {}", kind.name()));
    Some(
        said.with_expected(wanted.beginning())
            .with_help(format!("it is read by `{}`", kind.reader())),
    )
}

/// Says in which other notation a text is, if its first line shows it.
pub(crate) fn other_notation(text: &str, wanted: FileKind) -> Option<Diagnostic> {
    let span = first_line(text)?;
    let (line, rest) = (text.get(span.clone())?, text.get(span.start..)?);
    let (what, help) = if is_json(rest) {
        written_by_us(rest).unwrap_or((
            "JSON",
            "fields stand in `( )` and their names without quotes, fixed words too: \
             `(id: \"c1\", amperes: 20)`",
        ))
    } else if line.starts_with("drill,") {
        DRILLS
    } else if line.starts_with('<') {
        ("a page or a picture", "give the file it was made from")
    } else if is_toml(line) || is_yaml(line) {
        let name = if is_toml(line) { "TOML" } else { "YAML" };
        (
            name,
            "everything stands in one `( )`, fields are `name: value,`, lists stand in `[ ]`, texts in double quotes",
        )
    } else if is_table(line) {
        ("a table", "fields stand in `( )`, as `(id: \"c1\", amperes: 20)`")
    } else {
        return None;
    };
    let message = format!("this looks like {what}, and {} is wanted here", wanted.name());
    let said = Diagnostic::error("other-notation", message, span);
    Some(said.with_expected(wanted.beginning()).with_help(help))
}

/// What drills are as data.
const DRILLS: (&str, &str) = (
    "data of drills",
    "`slotwise drill --circuit` with the same family, seed and number prints the circuit file",
);

/// Where the first line is that is no comment, without blanks around it; none if a comment that may
/// run on comes first.
fn first_line(text: &str) -> Option<Span> {
    let mut start = 0;
    for line in text.split_inclusive(['\n', '\r']) {
        let plain = line.trim_start_matches('\u{FEFF}').trim();
        let is_comment = plain.starts_with('#') || plain.starts_with("//");
        if !plain.is_empty() && !is_comment {
            let start = start + line.find(plain)?;
            return (!plain.starts_with("/*")).then_some(start..start + plain.len());
        }
        start += line.len();
    }
    None
}

/// Whether it begins as JSON does and nothing of ours: fields with quotes, in braces.
fn is_json(text: &str) -> bool {
    let inside = text.strip_prefix('[').map_or(text, str::trim_start);
    let Some(first) = inside.strip_prefix('{').map(str::trim_start) else { return false };
    let name_end = first.strip_prefix('"').and_then(|name| name.split_once('"'));
    name_end.is_some_and(|(_, after)| after.trim_start().starts_with(':'))
}

/// What a JSON text is that this program has written.
fn written_by_us(text: &str) -> Option<(&'static str, &'static str)> {
    let beginning: String =
        text.chars().take(BEGINNING_CHARS).filter(|c| !c.is_whitespace()).collect();
    if beginning.starts_with("{\"drill\":") {
        return Some(DRILLS);
    }
    if !beginning.contains("\"tool\":\"slotwise\"") {
        return None;
    }
    let of_drills = ["\"generator\":", "\"report\":\"drill"];
    Some(if of_drills.iter().any(|mark| beginning.contains(mark)) {
        DRILLS
    } else {
        ("a report as data", "give the circuit file that the report was made from")
    })
}

/// The program's name stands within so many characters of what it writes.
const BEGINNING_CHARS: usize = 400;

/// `[table]`, `[[tables]]` or `name = value`, and no comma behind it.
fn is_toml(line: &str) -> bool {
    let header = line.trim_start_matches('[').trim_end_matches(']');
    let is_header = line.starts_with('[') && line.ends_with(']') && is_word(header);
    is_header
        || line.split_once('=').is_some_and(|(name, value)| is_word(name.trim()) && ends(value))
}

/// `---`, `- item` or `name: value`, and no comma behind it.
fn is_yaml(line: &str) -> bool {
    let is_pair = |(name, value): (&str, &str)| is_word(name) && ends(value);
    line == "---" || line.starts_with("- ") || line.split_once(':').is_some_and(is_pair)
}

/// Words between commas.
fn is_table(line: &str) -> bool {
    line.contains(',') && line.split(',').all(|cell| is_word(cell.trim()))
}

fn is_word(text: &str) -> bool {
    text.starts_with(char::is_alphabetic)
        && text.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | '.'))
}

/// Whether nothing follows in the next line that belongs to this value.
fn ends(value: &str) -> bool {
    !value.ends_with([',', '(', '[', '{', ')'])
}
